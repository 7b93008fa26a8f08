package boil

import (
	"slices"

	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// PortionHolds is what a portion on the slab is made of, by ingredient as weighed.
type PortionHolds struct {
	ID          string
	Ingredients []Held // charge first, then the additions by stage; each ingredient once
}

// Held is how much of an ingredient is in a portion: what was weighed of it over what
// the portion weighs on the slab, additions in. What boils off or flashes of it counts
// as weighed, so that the shares of a boil sum to more than one.
type Held struct {
	Ingredient ingredient.Ingredient
	Share      q.Estimate
}

// Holds returns what each portion of a simulated boil is made of.
func (p *Plan) Holds(d Draws) ([]PortionHolds, error) {
	c, err := p.columns()
	if err != nil {
		return nil, err
	}
	masses := make([]float64, len(p.portions))
	for j, m := range p.nominal.Portions {
		masses[j] = m.Mass()
	}
	w := p.middle()
	middle := p.sharesIn(w, p.weighed(), p.nominal.Lift.Mass(), p.nominal.Smear, masses)
	draws := make([][][]float64, len(p.portions)) // by portion and weighing
	for j := range draws {
		draws[j] = make([][]float64, len(middle[j]))
	}
	for i := range p.in.Ensemble.Len() {
		for j := range masses {
			masses[j] = d.Portions[j].Mass[i]
		}
		for j, shares := range p.sharesIn(c.world(i), c.weighed(i), d.Mass[i], d.Smear[i], masses) {
			for k, v := range shares {
				draws[j][k] = append(draws[j][k], v)
			}
		}
	}
	var s Ranges
	out := make([]PortionHolds, len(p.portions))
	for j, portion := range p.portions {
		out[j] = PortionHolds{ID: portion.ID, Ingredients: p.gather(middle[j], draws[j], &s)}
	}
	if s.Err != nil {
		return nil, fault.Internal(s.Err, "what the boil holds could not be summarised")
	}
	return out, nil
}

// weighed returns the masses as intended [kg], charge first.
func (p *Plan) weighed() []float64 {
	var out []float64
	for _, l := range p.in.Charge.Lines {
		out = append(out, float64(l.Mass))
	}
	return append(out, p.doses...)
}

// weighed returns the masses of an outcome [kg], charge first.
func (c *columns) weighed(i int) []float64 {
	out := make([]float64, 0, len(c.lines)+len(c.doses))
	for _, l := range c.lines {
		out = append(out, l.mass[i])
	}
	for _, d := range c.doses {
		out = append(out, d.mass[i])
	}
	return out
}

// sharesIn returns, by portion and weighing, what was weighed over the mass of the
// portion. Lift and smear are in kg, as masses are.
func (p *Plan) sharesIn(w world, weighed []float64, lift, smear float64, masses []float64) [][]float64 {
	pot := lift
	for k, d := range p.in.Additions {
		if d.Stage == recipe.AtEnd {
			pot += w.doses[k].afterFlash(w.flash[k].water, w.flash[k].spirit).Mass()
		}
	}
	poured := 1 - min(smear, pot)/pot
	lines := len(p.in.Charge.Lines)
	out := make([][]float64, len(masses))
	for j := range out {
		out[j] = make([]float64, len(weighed))
		for k, m := range weighed {
			part := w.split[j] * poured
			if k >= lines {
				switch d := p.in.Additions[k-lines]; {
				case d.Portion != "" && d.Portion != p.portions[j].ID:
					part = 0
				case d.Portion != "":
					part = 1
				case d.Stage == recipe.AtPour || d.Stage == recipe.AtFold:
					part = w.split[j]
				}
			}
			out[j][k] = m * part / masses[j]
		}
	}
	return out
}

// gather adds up the weighings of each ingredient, leaving out what is not in the
// portion.
func (p *Plan) gather(middle []float64, draws [][]float64, s *Ranges) []Held {
	var of []ingredient.Ingredient
	for _, l := range p.in.Charge.Lines {
		of = append(of, l.Ingredient)
	}
	for _, d := range p.in.Additions {
		of = append(of, d.Ingredient)
	}
	var out []Held
	for k, in := range of {
		if slices.ContainsFunc(of[:k], func(o ingredient.Ingredient) bool { return o.ID == in.ID }) {
			continue
		}
		share, column := middle[k], slices.Clone(draws[k])
		for other := k + 1; other < len(of); other++ {
			if of[other].ID != in.ID {
				continue
			}
			share += middle[other]
			for i, v := range draws[other] {
				column[i] += v
			}
		}
		if share > 0 {
			out = append(out, Held{Ingredient: in, Share: s.Of(column, share)})
		}
	}
	return out
}
