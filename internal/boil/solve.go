package boil

import (
	"fmt"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// The water left between which an end is looked for [of the mass in the kettle]:
// from the driest the boiling equation is asked for to what no drop is boiled to.
const (
	driestEnd  = 0.005
	wettestEnd = 0.15
)

// endFor finds the end of the boil after which the finished sweet, with what its
// additions bring and lose, stands up to a temperature by the middle figures.
//
// Faults: out of range, with what can be had, if no end does.
func (p *Plan) endFor(standsUp q.Celsius) (End, error) {
	var failed error
	stands := func(water float64) float64 {
		t, err := p.standsAt(End{WaterLeft: q.Fraction(water)})
		if err != nil {
			failed = err
		}
		return float64(t)
	}
	most, least := stands(driestEnd), stands(wettestEnd)
	if failed != nil {
		return End{}, failed
	}
	say := p.in.Units
	refuse := func(hint, format string, a ...any) error {
		return (&fault.Error{Kind: fault.KindOutOfRange, Text: fmt.Sprintf(format, a...)}).WithHint("%s", hint)
	}
	switch {
	case float64(standsUp) > most:
		return End{}, refuse("take less invert and a syrup of lower DE, or drier colours and flavours",
			"boiled to %s of water it stands up to %s and no more", say.Percent(driestEnd, 1), say.Temperature(q.Celsius(most), 0))
	case float64(standsUp) < least:
		return End{}, refuse("ask for more",
			"even with %s of water left it stands up to %s", say.Percent(wettestEnd, 0), say.Temperature(q.Celsius(least), 0))
	}
	water, err := numeric.Brent(func(w float64) float64 { return stands(w) - float64(standsUp) }, driestEnd, wettestEnd, 1e-9)
	if failed != nil {
		err = failed
	}
	return End{WaterLeft: q.Fraction(water)}, err
}

// standsAt returns what the boil of an end stands up to, by the middle figures.
func (p *Plan) standsAt(e End) (q.Celsius, error) {
	try := Plan{in: p.in, portions: p.portions, shares: p.shares, pressure: p.pressure}
	try.in.End = e
	if err := try.settle(); err != nil {
		return 0, err
	}
	b, _, err := try.balanceOf(try.middle())
	if err != nil {
		return 0, err
	}
	return sugar.GlassTransition(b.whole().phaseMixture())
}
