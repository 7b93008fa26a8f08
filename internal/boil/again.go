package boil

import (
	"fmt"

	"slabside/internal/caution"
	"slabside/internal/ingredient"
	"slabside/internal/inversion"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// The usual cook-back, as a share of a charge (common practice, no source): above the
// most, what is boiled again and again is no longer the same sweet.
const (
	CookBackLeast = q.Fraction(0.05)
	CookBackMost  = q.Fraction(0.10)
)

// CookedBack is what a row of boils does that each take a share of their sugar from the
// one before, dissolved and boiled again. All figures of the [Result] are those of a
// boil late in the row, which is like the one before it; its weighings are those of
// fresh ingredients.
type CookedBack struct {
	Share   q.Fraction
	Reboils float64     // how often the sugar has been boiled again, on average
	Times   *q.Estimate // so many times the sucrose is inverted that one boil of fresh sugar inverts; nil where that is not computed
	AcidKg  float64     // acid, dry, that comes back into the boil, of what was folded in

	BicarbonateKg float64 // would neutralise it
}

// before is the share of the charge's sugar that comes inverted already, late in a row
// of which a boil inverts so much of its own sucrose.
func (p *Plan) before(once float64) float64 {
	if p.in.CookBack == 0 {
		return 0
	}
	limit, err := inversion.CookBackLimit(p.in.CookBack, q.Fraction(min(max(once, 0), 1)))
	if err != nil {
		return 0 // refused when the plan was prepared
	}
	return float64(p.in.CookBack * limit)
}

// both is the share of a whole that is gone after two shares have gone in turn.
func both(first, second float64) float64 { return 1 - (1-first)*(1-second) }

// acidBack is the part of what is folded into a boil that comes back with its cook-back,
// late in the row: r/(1−r).
func (p *Plan) acidBack() q.Kilograms {
	back, err := inversion.MeanReboils(p.in.CookBack)
	if err != nil {
		return 0
	}
	return q.Kilograms(back)
}

// foldedBack lists the acid that comes back into the boil: what was added after an earlier
// one. Its mass takes the place of sugar and is not counted twice.
func (p *Plan) foldedBack(put func(ingredient.Ingredient, q.Kilograms)) {
	if p.in.CookBack == 0 {
		return
	}
	for i, d := range p.in.Additions {
		if d.Stage != recipe.AtBoil {
			put(d.Ingredient, q.Kilograms(p.doses[i])*p.acidBack())
		}
	}
}

// again carries the cook-back through the draws of what inverts in the kettle.
func (p *Plan) again(kettle, slab []float64) {
	for i := range kettle {
		kettle[i] = both(p.before(both(kettle[i], slab[i])), kettle[i])
	}
}

// cookedBack says what the cook-back does; nil without one.
func (p *Plan) cookedBack(s *Ranges) *CookedBack {
	if p.in.CookBack == 0 {
		return nil
	}
	mean, err := inversion.MeanReboils(p.in.CookBack)
	if err != nil {
		s.fail(err)
		return nil
	}
	out := &CookedBack{Share: p.in.CookBack, Reboils: mean}
	p.foldedBack(func(in ingredient.Ingredient, mass q.Kilograms) {
		if a, ok := acidOf(in); ok {
			solids, _ := stated(in)
			acid := float64(mass) * solids
			out.AcidKg += acid
			out.BicarbonateKg += acid * bicarbonate / a.Equivalent() * float64(1-in.Neutralised)
		}
	})
	out.Times = p.against(s)
	return out
}

// bicarbonate is the molar mass of sodium bicarbonate [g/mol], which takes up one hydrogen.
const bicarbonate = 84.007

// against holds what the row inverts against one boil of fresh sugar to the same end; nil
// where either is not computed.
func (p *Plan) against(s *Ranges) *q.Estimate {
	fresh := p.in
	fresh.CookBack = 0
	one, err := Prepare(fresh)
	if err != nil || one.inverting == nil || p.inverting == nil {
		return nil
	}
	c, err := p.columns()
	c1, err1 := one.columns()
	if err != nil || err1 != nil {
		return nil
	}
	times := make([]float64, len(c.invert))
	for i := range times {
		times[i] = both(c.invert[i], c.slab[i]) / both(c1.invert[i], c1.slab[i])
	}
	e := s.Of(times, both(p.inverted(), p.slabInverted())/both(one.inverted(), one.slabInverted()))
	return &e
}

// cookBackCautions are those of cook-back.
func (p *Plan) cookBackCautions(c *CookedBack) []Caution {
	if c == nil {
		return nil
	}
	out := []Caution{caution.Of(caution.CookBack), caution.Of(caution.CookBackAllergens)}
	say := p.in.Units
	if c.Share > CookBackMost {
		out = append(out, Caution{Code: CodeCookBackMost, Text: fmt.Sprintf("%s of cook-back: %s to %s of a charge is the usual cap", say.Percent(c.Share, 1),
			say.Percent(CookBackLeast, 0), say.Percent(CookBackMost, 0))})
	}
	if c.AcidKg > 0 {
		out = append(out, Caution{Code: CodeCookBackAcid, Text: fmt.Sprintf("the cook-back brings %s of acid back into the boil, which inverts there and is reckoned in: cook back sweets without acid, or neutralise it first; %s of bicarbonate takes up all of it",
			say.Mass(q.Kilograms(c.AcidKg)), say.Mass(q.Kilograms(c.BicarbonateKg)))}, caution.Of(caution.Bicarbonate))
	}
	return out
}
