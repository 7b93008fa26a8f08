package boil

import (
	"fmt"
	"math"

	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/inversion"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// An alkalinity that was read off the report is good to a tenth, through the year, and
// to what a report rounds to (judgement).
const (
	statedAlkShare = 0.10 / ninety
	leastAlkSD     = 0.05 // mmol/L
)

// slabTime is how long a pour stays hot on the slab, and to what it cools meanwhile:
// it goes on inverting (common practice, no source).
const (
	slabTime    = 240 // s
	slabCooledC = 90  // °C
)

// acidOf returns the acid of an ingredient that sours a boil, or of its salt. A doctor
// that does not say which is cream of tartar, an acid citric.
func acidOf(in ingredient.Ingredient) (inversion.Acid, bool) {
	if !in.Kind.Sours() {
		return inversion.Acid{}, false
	}
	switch in.Acid {
	case ingredient.CreamOfTartar:
		return inversion.CreamOfTartar(), true
	case ingredient.Tartaric:
		return inversion.Tartaric(), true
	case ingredient.Citric:
		return inversion.Citric(), true
	case ingredient.Malic:
		return inversion.Malic(), true
	case ingredient.Lactic:
		return inversion.Lactic(), true
	}
	switch in.Kind {
	case ingredient.Doctor:
		return inversion.CreamOfTartar(), true
	case ingredient.Acid:
		return inversion.Citric(), true
	}
	return inversion.Acid{}, false
}

// inverting is what a boil inverts along its course.
type inverting struct {
	boil   inversion.Boil
	curve  []inversion.Point // the last one on the slab
	priors inversion.Priors
	out    inversion.Outcome // of kettle and slab together, the slab last
	litS   float64           // time of flame
}

// kettle is the exposure before the pour.
func (x *inverting) kettle() float64 { return x.out.Exposure - x.out.Last }

// invert works out what the boil inverts along its course by the middle figures; nil
// without a fire, which has no course.
func (p *Plan) invert() (*inverting, error) {
	if p.fire == nil {
		return nil, nil
	}
	x := &inverting{}
	var err error
	if x.boil, x.priors, err = p.sourBoil(); err != nil {
		return nil, err
	}
	c, err := p.clock()
	if err != nil {
		return nil, err
	}
	phase := p.fire.pot.Phase()
	for _, pt := range c.points {
		water := pt.WaterFrac * pt.MassKg // of the sugar phase: fat and nuts hold none of it
		x.curve = append(x.curve, inversion.Point{Seconds: pt.AtS, Temp: q.Celsius(pt.TempC), Water: q.Fraction(water / (water + phase))})
	}
	last := x.curve[len(x.curve)-1]
	x.curve = append(x.curve, inversion.Point{Seconds: last.Seconds + slabTime, Temp: min(slabCooledC, last.Temp), Water: last.Water})
	x.litS = c.litS
	x.out, err = x.boil.Along(x.curve)
	return x, err
}

// gone is the share of the sucrose that an exposure inverts.
func gone(exposure float64) float64 { return -math.Expm1(-exposure) }

// inverted is the share of the sucrose that inverts in the kettle or came inverted with
// cook-back, by the middle figures.
func (p *Plan) inverted() float64 {
	if p.inverting == nil {
		return 0
	}
	x := p.inverting
	return both(p.before(gone(x.out.Exposure)), gone(x.kettle()))
}

// slabInverted is the share of what is poured that inverts on the slab.
func (p *Plan) slabInverted() float64 {
	if p.inverting == nil {
		return 0
	}
	return gone(p.inverting.out.Last)
}

// sourBoil gathers what goes into the kettle for the inversion.
func (p *Plan) sourBoil() (inversion.Boil, inversion.Priors, error) {
	fresh := p.middle()
	fresh.invert = 0
	pot := fresh.pot(p.in.Additions)
	b := inversion.Boil{Solids: pot.Solids(), Dry: q.Kilograms(pot.Phase())}
	var water, sucrose q.Kilograms
	put := func(in ingredient.Ingredient, mass q.Kilograms) {
		switch in.Kind {
		case ingredient.Water:
			water += mass
		case ingredient.Sugar:
			sucrose += mass
		}
		if a, ok := acidOf(in); ok {
			solids, _ := stated(in)
			b.Bath.Doses = dosed(b.Bath.Doses, inversion.Dose{Acid: a, Mass: mass * q.Kilograms(solids), Neutralised: in.Neutralised})
		}
	}
	for _, l := range p.in.Charge.Lines {
		put(l.Ingredient, l.Mass)
	}
	for i, d := range p.in.Additions {
		if d.Stage == recipe.AtBoil {
			put(d.Ingredient, q.Kilograms(p.doses[i]))
		}
	}
	p.foldedBack(put)
	alk, sd := alkalinityOf(p.in.Room)
	var err error
	b.Bath.Alkali, err = inversion.Alkali(q.Litres(water), alk, sucrose)
	prior := inversion.Priors{AlkaliSD: math.Hypot(float64(water)*sd, float64(sucrose)*inversion.SugarAshSD) / 1000}
	if len(b.Bath.Doses) == 0 {
		prior.AlkaliSD = 0 // nothing is eaten
	}
	return b, prior, err
}

// dosed adds a dose to a list, to the one alike where there is one.
func dosed(list []inversion.Dose, d inversion.Dose) []inversion.Dose {
	if d.Mass <= 0 {
		return list
	}
	for i, x := range list {
		if x.Acid == d.Acid && x.Neutralised == d.Neutralised {
			list[i].Mass += d.Mass
			return list
		}
	}
	return append(list, d)
}

// alkalinityOf returns the alkalinity of the room's water and its spread [mmol/L].
func alkalinityOf(room rig.Room) (inversion.Alkalinity, float64) {
	if room.WaterAlkalinity == 0 {
		usual, most := inversion.AsCalcium(rig.UsualAlkalinity), inversion.AsCalcium(rig.MostAlkalinity)
		return usual, float64(most-usual) / ninety
	}
	a := inversion.AsCalcium(room.WaterAlkalinity)
	return a, math.Max(leastAlkSD, float64(a)*statedAlkShare)
}

// draws returns the shares of sucrose inverted in the kettle and on the slab in every
// world. A boil that takes longer is exposed longer, on the slab as long as ever.
func (x *inverting) draws(e numeric.Ensemble, longer []float64) (kettle, slab []float64, err error) {
	kettle, err = x.boil.Exposures(x.curve, e, x.priors)
	if err != nil {
		return nil, nil, err
	}
	on := x.out.Last / x.out.Exposure
	slab = make([]float64, len(kettle))
	for i, all := range kettle {
		kettle[i], slab[i] = gone(all*(1-on)*longer[i]), gone(all*on)
	}
	return kettle, slab, nil
}

// Inverted returns the make-up after a share of its sucrose has fallen to invert
// sugar, which takes water in: one molecule for each of sucrose.
func (m Makeup) Inverted(share float64) Makeup {
	const sucrose, hexoses, water = 342.30, 360.32, 18.02 // g/mol
	gone := min(share*m.Sucrose, m.Water*sucrose/water)
	m.Sucrose -= gone
	m.Invert += gone * hexoses / sucrose
	m.Water -= gone * water / sucrose
	return m
}

// invertCautions say how far the inversion can be trusted, and what it hangs on.
func (p *Plan) invertCautions() []Caution {
	const not = "how much sugar the boil inverts is not computed: "
	x := p.inverting
	if x == nil {
		why := "it hangs on how long a kettle takes, and no kettle with a burner is named"
		for _, err := range []error{p.fireErr, p.invertErr} {
			if err != nil {
				why, _ = fault.Said(err)
			}
		}
		return []Caution{{Code: CodeInvert, Text: not + why}}
	}
	sour := len(x.boil.Bath.Doses) > 0
	var out []Caution
	for _, c := range x.out.Cautions() {
		if c.Code == inversion.CodeUnchecked && !sour && x.out.Inverted < littleInverted {
			continue // twice as little is as little
		}
		out = append(out, ofSugar(c))
	}
	if !sour {
		return out
	}
	if p.in.Room.WaterAlkalinity == 0 {
		out = append(out, Caution{Code: CodeWaterUnknown, Text: fmt.Sprintf("the alkalinity of the water is not in the shop book: %d mg/L of calcium carbonate are taken, "+
			"nothing to %d; the water report says it, and lime in the water eats acid", rig.UsualAlkalinity, rig.MostAlkalinity)})
	}
	return append(out, Caution{Code: CodeInvertTime, Text: fmt.Sprintf("%s min on the flame: five minutes more invert some %s points more of the sugar; "+
		"a slower boil, or a trial kept on a small flame, inverts more than this one, a quick one less: write the time down beside the dose",
		p.in.Units.Number(x.litS/60, 0), p.in.Units.Number(100*x.moreBy(300), 1))})
}

// moreBy returns the share of the sucrose that so many seconds more on the flame
// would invert beside.
func (x *inverting) moreBy(s float64) float64 {
	return gone(x.out.Exposure+x.kettle()*s/x.litS) - gone(x.out.Exposure)
}

// littleInverted is a share of the sucrose that nobody would notice.
const littleInverted = 0.03

// The band of invert sugar, as a share of the sweet, in which a boil that is doctored by
// acid alone keeps: below the first it grains, above the last it sticks, from the
// middle one it keeps easily (source key trade-texts, of low confidence; with glucose
// syrup it says nothing).
const (
	InvertGrains = 0.08
	InvertEasy   = 0.10
	InvertSticks = 0.20
)

// invertBand says where a boil without syrup comes to lie outside the band, by the
// middle figure.
func (p *Plan) invertBand(v *q.Estimate) []Caution {
	pot := p.nominal.Lift
	if v == nil || pot.Syrup > SyrupGrains*pot.Phase() || len(p.inverting.boil.Bath.Doses) == 0 {
		return nil
	}
	say := p.in.Units
	said := func(code caution.Code, text string) []Caution {
		return []Caution{{Code: code, Text: fmt.Sprintf("%s of invert sugar, %s to %s: %s", say.Percent(q.Fraction(v.Value), 0),
			say.Percent(q.Fraction(v.Low), 0), say.Percent(q.Fraction(v.High), 0), text)}}
	}
	switch {
	case v.Value < InvertGrains:
		return said(CodeInvertLow, "under "+say.Percent(InvertGrains, 0)+" a boil doctored by acid alone tends to grain; a little more acid, or a slower boil, makes more")
	case v.Value > InvertSticks:
		return said(CodeInvertHigh, "over "+say.Percent(InvertSticks, 0)+" a boil doctored by acid alone draws damp and sticks; less acid, or a quicker boil, makes less")
	}
	return nil
}
