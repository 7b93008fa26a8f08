package recipe

import (
	"math"
	"slices"

	q "slabside/internal/quantity"
)

// ShareSlack is how far a recipe's shares may sum from one: a tenth of a per cent.
const ShareSlack = 0.001

// Portion returns the portion of an id.
func (r Recipe) Portion(id string) (Portion, bool) {
	for _, p := range r.Portions {
		if p.ID == id {
			return p, true
		}
	}
	return Portion{}, false
}

// Pulled reports whether any portion is pulled.
func (r Recipe) Pulled() bool {
	for _, p := range r.Portions {
		if p.Work == Pulled {
			return true
		}
	}
	return false
}

// PulledShare returns the share of the batch that is pulled.
func (r Recipe) PulledShare() q.Fraction {
	var sum q.Fraction
	for _, p := range r.Portions {
		if p.Work == Pulled {
			sum += p.Share
		}
	}
	return sum
}

// SharesSum returns the sum of the portions' shares and whether it is one.
func (r Recipe) SharesSum() (q.Fraction, bool) {
	var sum float64
	for _, p := range r.Portions {
		sum += float64(p.Share)
	}
	return q.Fraction(sum), math.Abs(sum-1) <= ShareSlack+1e-12
}

// BoilMass returns the mass of the kettle's charge as the recipe is written.
func (r Recipe) BoilMass() q.Kilograms {
	var sum q.Kilograms
	for _, p := range r.Boil {
		sum += p.Mass
	}
	return sum
}

// Ingredients returns the ids of everything the recipe uses, each once, in the
// order of use: charge, additions, finish.
func (r Recipe) Ingredients() []string {
	var ids []string
	seen := map[string]bool{"": true}
	add := func(id string) {
		if !seen[id] {
			seen[id] = true
			ids = append(ids, id)
		}
	}
	for _, p := range r.Boil {
		add(p.Ingredient)
	}
	for _, a := range r.Additions {
		add(a.Ingredient)
	}
	if r.Finish != Plain {
		add(r.FinishWith)
	}
	return ids
}

// KettleIngredients returns the ids of what is in the kettle with the sugar at
// some time: what is boiled, and what is added before the pour, each once.
func (r Recipe) KettleIngredients() []string {
	var ids []string
	add := func(id string) {
		if id != "" && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	for _, p := range r.Boil {
		add(p.Ingredient)
	}
	for _, a := range r.Additions {
		if a.Stage == AtBoil || a.Stage == AtEnd {
			add(a.Ingredient)
		}
	}
	return ids
}

// Limit returns the level of another family the recipe tolerates.
func (f Flavour) Limit(family string) int {
	if l, ok := f.Tolerates[family]; ok && l > f.TaintLimit {
		return l
	}
	return f.TaintLimit
}
