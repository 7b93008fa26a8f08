package boil

import (
	"fmt"
	"math"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
)

// The water left between which an end is looked for [of the mass in the kettle]:
// from the driest the boiling equation is asked for to what no drop is boiled to.
const (
	driestEnd  = 0.005
	wettestEnd = 0.15
)

// endSteps divides the way from the wettest end to the driest: what a sweet stands up
// to rises along it, until a boil with much acid inverts more than it dries.
const endSteps = 16

// endFor finds the end of the boil after which the finished sweet, with what its
// additions bring and lose and what the boil to that end inverts, stands up to a
// temperature by the middle figures: the first that is come to, where a longer boil
// would come to it again.
//
// Faults: out of range, with what can be had, if no end does.
func (p *Plan) endFor(standsUp q.Celsius) (End, error) {
	wet, err := p.standsEnd(wettestEnd)
	if err != nil {
		return End{}, err
	}
	say := p.in.Units
	refuse := func(hint, format string, a ...any) error {
		return (&fault.Error{Kind: fault.KindOutOfRange, Text: fmt.Sprintf(format, a...)}).WithHint("%s", hint)
	}
	if wet.glass > standsUp {
		return End{}, refuse("ask for more",
			"even with %s of water left it stands up to %s", say.Percent(wettestEnd, 0), say.Temperature(wet.glass, 0))
	}
	best, bestEnd, before := wet.glass, wettestEnd, wettestEnd
	for i := 1; i <= endSteps; i++ {
		water := wettestEnd * math.Pow(driestEnd/wettestEnd, float64(i)/endSteps)
		at, err := p.standsEnd(water)
		last := at.counted != wet.counted
		if err == nil && last {
			water, at, err = p.lastCounted(water, before)
		}
		switch {
		case err != nil:
			return End{}, err
		case at.glass >= standsUp:
			return p.endBetween(standsUp, water, before)
		case at.glass > best:
			best, bestEnd = at.glass, water
		}
		if last {
			break
		}
		before = water
	}
	return End{}, refuse("take less acid or invert and a syrup of lower DE, or drier colours and flavours",
		"boiled to %s of water it stands up to %s and no more", say.Percent(q.Fraction(bestEnd), 1), say.Temperature(best, 0))
}

// endBetween finds the end between a dry and a wet one.
func (p *Plan) endBetween(standsUp q.Celsius, dry, wet float64) (End, error) {
	var failed error
	water, err := numeric.Brent(func(w float64) float64 {
		at, err := p.standsEnd(w)
		if err != nil {
			failed = err
		}
		return float64(at.glass - standsUp)
	}, dry, wet, 1e-9)
	if failed != nil {
		err = failed
	}
	return End{WaterLeft: q.Fraction(water)}, err
}

// lastCounted returns the driest end between two that has a time, and so a figure of
// what it inverts: where the models of heat end.
func (p *Plan) lastCounted(dry, wet float64) (water float64, at stand, err error) {
	const near = 1e-4
	if at, err = p.standsEnd(wet); err != nil {
		return 0, stand{}, err
	}
	for wet-dry > near*wet {
		mid := math.Sqrt(dry * wet)
		try, err := p.standsEnd(mid)
		switch {
		case err != nil:
			return 0, stand{}, err
		case try.counted == at.counted:
			wet, at = mid, try
		default:
			dry = mid
		}
	}
	return wet, at, nil
}

// stand is what the boil of an end stands up to.
type stand struct {
	glass   q.Celsius
	counted bool // with what it inverts
}

// standsEnd returns what the sweet boiled to a share of water left stands up to, by the
// middle figures: those of a plan with that end.
func (p *Plan) standsEnd(waterLeft float64) (stand, error) {
	try := Plan{in: p.in, glass: p.glass, held: p.held, named: p.named, portions: p.portions, shares: p.shares, pressure: p.pressure, read: p.read}
	try.in.End = End{WaterLeft: q.Fraction(waterLeft)}
	if err := try.develop(); err != nil {
		return stand{}, err
	}
	glass, err := try.standsAt(try.nominal.whole())
	return stand{glass, try.inverting != nil}, err
}
