package verdict

import (
	"fmt"
	"math"

	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// The bands of graining: glucose syrup as a share of the dry sugars (source key
// practice), and, where acid in the kettle is the doctor, invert sugar as a share of
// the sweet (source key trade-texts, of low confidence; above invertSticky it is the
// other fault).
const (
	syrupRisk    = 0.12
	syrupEasy    = 0.25
	invertRisk   = 0.08
	invertEasy   = 0.10
	invertSticky = 0.20
)

// aTrace is the share of syrup below which it is no doctor: what a colour is carried in.
const aTrace = 0.02

// byAcid reports whether acid in the kettle is the only doctor.
func (in Inputs) byAcid() bool { return in.Boil.Doctored && in.Boil.DoctorFrac.Value <= aTrace }

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
	v := Verdict{Question: Grains, Limits: []Limit{}, Decides: []string{}, Moves: []string{}, Sources: keys(source.Practice)}
	u, b := in.Units, in.Boil
	bySyrup := band(b.DoctorFrac, syrupRisk, syrupEasy)
	syrup := func(a Answer) {
		v.Answer, v.FigureFrac = a, &b.DoctorFrac
		v.Limits = append(v.Limits, Limit{Name: "risk under", Frac: number(syrupRisk), Answer: under(b.DoctorFrac, syrupRisk), Source: source.Practice},
			Limit{Name: "easy from", Frac: number(syrupEasy), Answer: under(b.DoctorFrac, syrupEasy), Source: source.Practice})
		v.Text = fmt.Sprintf("syrup in the dry sugars %s; under %s it may grain, from %s it keeps easily",
			u.SayPercent(b.DoctorFrac, 0), u.Percent(syrupRisk, 0), u.Percent(syrupEasy, 0))
		if a != No {
			v.Moves = append(v.Moves, fmt.Sprintf("%s points more glucose syrup in the dry sugars", u.Number(math.Ceil(100*(syrupEasy-b.DoctorFrac.Low)), 0)))
		}
	}
	invert := func() {
		v.Answer, v.FigureFrac = band(*b.InvertFrac, invertRisk, invertEasy), b.InvertFrac
		v.Sources = keys(source.TradeTexts)
		v.Limits = append(v.Limits, Limit{Name: "risk under", Frac: number(invertRisk), Answer: under(*b.InvertFrac, invertRisk), Source: source.TradeTexts},
			Limit{Name: "easy from", Frac: number(invertEasy), Answer: under(*b.InvertFrac, invertEasy), Source: source.TradeTexts})
		v.Text = fmt.Sprintf("invert sugar in the sweet %s; under %s it grains, from %s it keeps", u.SayPercent(*b.InvertFrac, 0), u.Percent(invertRisk, 0), u.Percent(invertEasy, 0))
		if b.InvertFrac.Value < invertEasy { // above it only the range is wide
			v.Moves = append(v.Moves, "a slower boil, or a little more tartar, makes more invert sugar")
		}
	}
	switch {
	case !b.Doctored || bySyrup == No:
		syrup(bySyrup)
	case b.InvertFrac == nil:
		v.Answer, v.Text = NotKnown, "how much invert sugar the acid in the kettle makes is not known"
		v.Decides = append(v.Decides, fmt.Sprintf("a boil doctored by acid keeps with %s of invert sugar or more; acid, time and the lime of the water make it", u.Percent(invertEasy, 0)))
		v.Sources = keys(source.TradeTexts)
	case in.byAcid():
		invert()
	case band(*b.InvertFrac, invertRisk, invertEasy) == better(bySyrup, band(*b.InvertFrac, invertRisk, invertEasy)):
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
