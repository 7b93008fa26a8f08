package boil

import (
	"fmt"

	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// Addition is what one addition brings to the sweet, loses and does. Shares are of the
// finished mass of its portion, of the whole boil where it has none; what of an end
// addition stays in the pan is counted in. Water means water and spirit, which softens
// like it, and that of a stock solution it is weighed from.
type Addition struct {
	Ingredient string
	Name       string
	Form       ingredient.Form
	Spirit     bool // it holds spirit
	Stage      recipe.Stage
	Portion    string // empty: for the whole boil

	DoseFrac    q.Estimate  // as weighed
	AtC         *q.Estimate // °C, true, of the sugar it goes into; nil in the boil itself
	BroughtFrac q.Estimate  // water it brings
	FlashedFrac q.Estimate  // of it, what flashes off or boils away
	LeftFrac    q.Estimate  // of it, what stays in the sweet
	SoftensK    *q.Estimate // by so much less the sweet stands up to for it; nil outside the model's range
	StirS       *q.Estimate // how long it is worked in; nil in the boil itself
	StaysFrac   *q.Estimate // of an oil or essence: the share that stays; nil where nobody knows
	InSweetFrac *q.Estimate // and what that is of the sweet
	DoseTimes   *q.Estimate // what is wanted in the sweet, times this, is weighed

	InWindow bool     // it goes in when practice has it, or practice leaves it free
	When     string   // when that is, in a few words; empty: practice leaves it free
	Window   string   // the same with what it is for
	Does     []string // what else there is to say, a sentence each
	Sources  []source.Key
}

// staying is the share of an oil that stays in the sweet.
type staying struct{ low, value, high float64 }

// stays returns what stays of an oil or a flavour that goes in inside its window. The
// middles are judgement of the trade, no loss has been published; the ranges are
// judgement as well (source key practice). False for what is neither, and for an
// essence nobody has told the class of.
func stays(in ingredient.Ingredient) (staying, bool) {
	if !in.Kind.Flavours() {
		return staying{}, false
	}
	switch in.Volatile {
	case ingredient.Citrus:
		return staying{0.60, 0.80, 0.95}, true
	case ingredient.Mint:
		return staying{0.70, 0.85, 0.95}, true
	case ingredient.Spice:
		return staying{0.80, 0.90, 0.98}, true
	}
	return staying{0.50, 0.80, 0.98}, in.Kind == ingredient.Oil
}

// draws returns the share that stays, a draw each: one column an ingredient, for it is
// lost alike in every boil. Half of the draws lie on either side of the middle.
func (s staying) draws(id string, e numeric.Ensemble) []float64 {
	c := e.Uniform("ingredient:" + id + ":stays")
	for i, u := range c {
		switch {
		case u < 0.5:
			c[i] = s.low + 2*u*(s.value-s.low)
		default:
			c[i] = s.value + (2*u-1)*(s.high-s.value)
		}
	}
	return c
}

// OilDose returns the dose of an oil or flavour of which so much stays in the sweet, by
// the middle share; the range is that of the share that stays. False where that share
// is not known.
func OilDose(in ingredient.Ingredient, wanted q.Fraction) (q.Estimate, bool) {
	s, ok := stays(in)
	if !ok {
		return q.Estimate{}, false
	}
	w := float64(wanted)
	return q.Estimate{Value: w / s.value, Low: w / s.high, High: w / s.low, Basis: q.Estimated}, true
}

// additions works out what every addition brings, loses and does.
func (p *Plan) additions(d Draws, s *Ranges, end q.Estimate) []Addition {
	c, err := p.columns()
	if err != nil {
		s.fail(err)
		return nil
	}
	w, out := p.middle(), make([]Addition, len(p.in.Additions))
	for k, a := range p.in.Additions {
		of, ofMiddle, whole := p.finishedOf(a, d)
		m := p.measure(c, k, of)
		dose, kept := w.doses[k], w.doses[k].afterFlash(w.flash[k].water, w.flash[k].spirit)
		brought, left := dose.wet()/ofMiddle, kept.wet()/ofMiddle
		x := Addition{Ingredient: a.Ingredient.ID, Name: a.Ingredient.Name, Form: a.Ingredient.Form(), Spirit: dose.Spirit > 0, Stage: a.Stage, Portion: a.Portion,
			DoseFrac: s.Of(m.dose, p.doses[k]/ofMiddle), BroughtFrac: s.Of(m.brought, brought), LeftFrac: s.Of(m.left, left),
			FlashedFrac: s.Of(m.flashed, brought-left), InWindow: true, Sources: []source.Key{source.Practice}}
		x.SoftensK = p.softens(c, whole, kept.wet(), m.left, s)
		p.keepsOf(&x, a, m.dose, s)
		p.goesIn(&x, a, end)
		out[k] = x
	}
	return out
}

// finishedOf returns the finished mass an addition is a share of: a draw each, by the
// middle figures, and what that is made of.
func (p *Plan) finishedOf(a Dose, d Draws) (draws []float64, middle float64, whole Makeup) {
	for j, portion := range p.portions {
		if a.Portion != "" && portion.ID == a.Portion {
			whole = p.nominal.Portions[j]
			return d.Portions[j].Mass, whole.Mass(), whole
		}
	}
	whole = p.nominal.whole()
	return d.Finished, whole.Mass(), whole
}

// wet is water and spirit [kg].
func (m Makeup) wet() float64 { return m.Water + m.Spirit }

// measured is what an addition brings and loses as shares of a finished mass, a draw
// each.
type measured struct{ dose, brought, flashed, left []float64 }

func (p *Plan) measure(c *columns, k int, of []float64) measured {
	col := func() []float64 { return make([]float64, len(of)) }
	m := measured{col(), col(), col(), col()}
	for i, mass := range of {
		dose := c.dose(k, i)
		kept := dose.afterFlash(c.doses[k].water[i], c.doses[k].spirit[i])
		m.dose[i] = c.doses[k].mass[i] / mass
		m.brought[i], m.left[i] = dose.wet()/mass, kept.wet()/mass
		m.flashed[i] = m.brought[i] - m.left[i]
	}
	return m
}

// softens returns by how much less a make-up stands up to [K] for water that is in it,
// with the error of the glass transition that is the same with and without.
func (p *Plan) softens(c *columns, whole Makeup, leftKg float64, left []float64, s *Ranges) *q.Estimate {
	bare := whole
	bare.Water -= leftKg // its spirit too: it softens like water
	glass := func(m Makeup) (float64, float64, error) {
		mix := m.phaseMixture()
		t, err := sugar.GlassTransition(mix)
		return float64(t), float64(sugar.GlassSD(mix)), err
	}
	without, sd, err := glass(bare)
	with, _, err2 := glass(whole)
	if err != nil || err2 != nil {
		return nil
	}
	column := make([]float64, len(left))
	for i, share := range left {
		m := bare
		m.Water += share * whole.Mass()
		t, z, err := glass(m)
		if err != nil {
			return nil
		}
		column[i] = without - t + c.stands[i]*(sd-z)
	}
	e := s.Of(column, without-with)
	return &e
}

// keepsOf fills in what stays of an oil.
func (p *Plan) keepsOf(x *Addition, a Dose, dose []float64, s *Ranges) {
	stay, ok := stays(a.Ingredient)
	if w, _ := WindowOf(a.Ingredient); !ok || a.Stage == recipe.AtBoil || !w.holds(a.Stage, p.stageC(a.Stage)) {
		return // it boils away, or nobody knows how much
	}
	share := stay.draws(a.Ingredient.ID, p.in.Ensemble)
	sweet, times := make([]float64, len(share)), make([]float64, len(share))
	for i, v := range share {
		sweet[i], times[i] = v*dose[i], 1/v
	}
	keep, in, more := s.Of(share, stay.value), s.Of(sweet, stay.value*x.DoseFrac.Value), s.Of(times, 1/stay.value)
	x.StaysFrac, x.InSweetFrac, x.DoseTimes = &keep, &in, &more
}

// stageC is the true temperature of a stage by the middle figures [°C].
func (p *Plan) stageC(s recipe.Stage) float64 {
	at, _ := StageTemperature(s, q.ExactOf(p.target.tempC))
	return at.Value
}

// goesIn fills in when it goes in and how long it is stirred.
func (p *Plan) goesIn(x *Addition, a Dose, end q.Estimate) {
	u := p.in.Units
	if w, ok := WindowOf(a.Ingredient); ok {
		x.When, x.Window = w.short(u), w.says(a.Ingredient, u)
		x.InWindow = a.Stage == recipe.AtBoil || w.holds(a.Stage, p.stageC(a.Stage))
		if a.Ingredient.Kind == ingredient.Acid || a.Ingredient.Kind == ingredient.Essence {
			x.Sources = append(x.Sources, source.Greweling2007)
		}
	}
	at, ok := StageTemperature(a.Stage, end)
	if !ok {
		if x.BroughtFrac.Value > 0 {
			x.Does = append(x.Does, "its water becomes part of the boil and leaves with it")
		}
		return
	}
	x.AtC = &at
	low, value, high := stirFor(x.Form, a.Stage)
	x.StirS = &q.Estimate{Value: value, Low: low, High: high, Basis: q.Estimated}
	x.Does = append(x.Does, "stir it in "+untilDone(x.Form)+"; for how long is common practice, no source")
	if x.Spirit {
		x.Does = append(x.Does, "its spirit flashes off, and takes fire near a flame")
	}
	if a.Stage == recipe.AtEnd || a.Stage == recipe.AtPour {
		if g, err := sugar.EvaporatedByCooling(p.nominal.Lift.phaseMixture(), q.Celsius(p.stageC(a.Stage)), 10); err == nil && x.BroughtFrac.Value > 0 {
			x.Does = append(x.Does, fmt.Sprintf("some of its water flashes off, and cools the mass: for every %s it cools by, %s points at most", u.Difference(10, 0), u.Number(float64(g)*100, 1)))
			x.Sources = append(x.Sources, source.Bubnik1995, source.IAPWSIF97)
		}
	}
	if a.Ingredient.Kind == ingredient.Acid && a.Stage != recipe.AtBoil {
		if s := acidOnSlab(u); s != "" {
			x.Does = append(x.Does, s)
			x.Sources = append(x.Sources, source.Vukov1965)
		}
	}
}

// additionCautions are those of additions that go in outside their window, or of which
// nobody has told how fast they leave.
func (p *Plan) additionCautions() []Caution {
	var out []Caution
	for _, a := range p.in.Additions {
		in := a.Ingredient
		if w, ok := WindowOf(in); ok && a.Stage != recipe.AtBoil && !w.holds(a.Stage, p.stageC(a.Stage)) {
			out = append(out, Caution{Code: CodeWindow, Text: fmt.Sprintf("%s goes in at about %s: %s", in.Name,
				p.in.Units.Temperature(q.Celsius(p.stageC(a.Stage)), 0), w.says(in, p.in.Units))})
		}
		if in.Kind == ingredient.Oil && in.Volatile == "" && a.Stage != recipe.AtBoil {
			out = append(out, Caution{Code: CodeVolatile, Text: in.Name + ": the shop book does not say whether it is of citrus, mint or spice; how much of it stays is a wide guess"})
		}
	}
	return out
}
