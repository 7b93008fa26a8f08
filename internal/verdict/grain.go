package verdict

import (
	"fmt"
	"math"

	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// byAcid reports whether acid in the kettle is the only doctor.
func (in Inputs) byAcid() bool { return in.Boil.Doctored && in.Boil.DoctorFrac.Value <= boil.Trace }

// band answers by two limits: under the first likely, from the second up no.
func band(e q.Estimate, risk, easy float64) Answer {
	switch {
	case e.Low >= easy:
		return No
	case e.High < risk:
		return Likely
	}
	return Borderline
}

// grains answers by the share of syrup, or by the invert sugar where acid in the
// kettle makes it. Of the two, the one that keeps it better decides.
func (in Inputs) grains() Verdict {
	v := Verdict{Question: Grains, Limits: []Limit{}, Decides: []string{}, Moves: []string{}, Sources: source.Strings(source.Practice)}
	u, b := in.Units, in.Boil
	bySyrup := band(b.DoctorFrac, boil.SyrupGrains, boil.SyrupEasy)
	syrup := func(a Answer) {
		v.Answer, v.FigureFrac = a, &b.DoctorFrac
		v.Limits = append(v.Limits, Limit{Name: "risk under", Frac: number(boil.SyrupGrains), Answer: under(b.DoctorFrac, boil.SyrupGrains), Source: source.Practice},
			Limit{Name: "easy from", Frac: number(boil.SyrupEasy), Answer: under(b.DoctorFrac, boil.SyrupEasy), Source: source.Practice})
		v.Text = fmt.Sprintf("syrup in the dry sugars %s; under %s it may grain, from %s it keeps easily",
			u.SayPercent(b.DoctorFrac, 0), u.Percent(boil.SyrupGrains, 0), u.Percent(boil.SyrupEasy, 0))
		if a != No {
			v.Moves = append(v.Moves, fmt.Sprintf("%s points more glucose syrup in the dry sugars", u.Number(math.Ceil(100*(boil.SyrupEasy-b.DoctorFrac.Low)), 0)))
		}
	}
	invert := func() {
		v.Answer, v.FigureFrac = band(*b.InvertFrac, boil.InvertGrains, boil.InvertEasy), b.InvertFrac
		v.Sources = source.Strings(source.TradeTexts)
		v.Limits = append(v.Limits, Limit{Name: "risk under", Frac: number(boil.InvertGrains), Answer: under(*b.InvertFrac, boil.InvertGrains), Source: source.TradeTexts},
			Limit{Name: "easy from", Frac: number(boil.InvertEasy), Answer: under(*b.InvertFrac, boil.InvertEasy), Source: source.TradeTexts})
		v.Text = fmt.Sprintf("invert sugar in the sweet %s; under %s it grains, from %s it keeps", u.SayPercent(*b.InvertFrac, 0), u.Percent(boil.InvertGrains, 0), u.Percent(boil.InvertEasy, 0))
		if b.InvertFrac.Value < boil.InvertEasy { // above it only the range is wide
			v.Moves = append(v.Moves, "a slower boil, or a little more tartar, makes more invert sugar")
		}
	}
	switch {
	case !b.Doctored || bySyrup == No:
		syrup(bySyrup)
	case b.InvertFrac == nil:
		v.Answer, v.Text = NotKnown, "how much invert sugar the acid in the kettle makes is not known"
		v.Decides = append(v.Decides, fmt.Sprintf("a boil doctored by acid keeps with %s of invert sugar or more; acid, time and the lime of the water make it", u.Percent(boil.InvertEasy, 0)))
		v.Sources = source.Strings(source.TradeTexts)
	case in.byAcid():
		invert()
	case band(*b.InvertFrac, boil.InvertGrains, boil.InvertEasy) == better(bySyrup, band(*b.InvertFrac, boil.InvertGrains, boil.InvertEasy)):
		invert()
	default:
		syrup(bySyrup)
	}
	if v.FigureFrac == b.InvertFrac && b.InvertFrac != nil {
		v.Decides = append(v.Decides, "the bands of invert sugar are lore of the trade; nobody has published a table")
	}
	const seeds = 0.70 // of the dry sugars (judgement, source key practice)
	if sucrose := b.Pot.Sucrose / b.Pot.Phase(); sucrose > seeds {
		v.Decides = append(v.Decides, fmt.Sprintf("%s of the dry sugars are sucrose: where its skin gets damp it grains from there; sugar dust on it is seed", u.Percent(q.Fraction(sucrose), 0)))
	}
	return v
}
