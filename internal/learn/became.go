package learn

import (
	"math"

	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// What says what was seen.
type What string

// What can be seen of a batch.
const (
	Read     What = "read"     // on the glass at the lift [°C]
	Weighed  What = "weighed"  // the water by the kettle on the scale, of what it held
	Measured What = "measured" // the water by a measured moisture, of what the kettle held
	Pulled   What = "pulled"   // could first be pulled at [°C]
	Rolled   What = "rolled"   // first good sheet at [°C]
	Last     What = "last"     // last good sheet at [°C]
	Burned   What = "burned"   // time of flame [s]
)

// Comparison is one thing seen of a batch beside what was to be expected of it by all
// else that was seen of that batch.
type Comparison struct {
	What   What
	Seen   float64
	Before q.Estimate // without records
	Now    q.Estimate // with what records say, that of this batch among them
}

// Became is what a batch must have become, by all that was seen of it.
type Became struct {
	WaterFrac q.Estimate  // in the kettle at the lift
	StandsC   *q.Estimate // what the finished sweet stands up to; nil outside the model's range
}

// look finds what is to be seen of a batch.
func look(b Batch) seen {
	s := seen{Batch: b}
	s.sights, s.water = b.sights()
	return s
}

// Became returns what a batch must have become, by what was seen of it and what all
// others teach; false if nothing was seen that tells.
func (l *Lessons) Became(batch Batch) (Became, bool) {
	b := look(batch)
	tells := false
	for _, s := range b.sights {
		tells = tells || s.water != 0
	}
	if !tells {
		return Became{}, false
	}
	but := Lessons{filter: newFilter(1)}
	others := 0
	if l != nil {
		but.batches, but.widen = l.batches, l.Widened
		but.takeAll(b.ID)
		others = len(l.batches)
	}
	water := but.open(b)
	mean, sd := but.belief.Mean(water), but.belief.SD(water)
	out := Became{WaterFrac: rangeOf(func(z float64) float64 { return b.Lift.WholeWater(clamp(mean + z*sd)) }, 0, 1, others)}
	const step = 1e-4
	stands, err := b.Lift.StandsUp(clamp(mean))
	wetter, err2 := b.Lift.StandsUp(clamp(mean) + step)
	if err != nil || err2 != nil {
		return out, true
	}
	stand := but.unknown(ofStands)
	own := float64(sugar.GlassSD(sugar.Mix(b.Lift.Solids, q.Fraction(clamp(mean)))))
	per := (wetter - stands) / step
	variance := per*per*sd*sd + own*own*but.belief.Cov(stand, stand) + 2*per*own*but.belief.Cov(water, stand)
	e := rangeOf(func(z float64) float64 {
		return stands + own*but.belief.Mean(stand) + z*math.Sqrt(math.Max(0, variance))
	}, 0, 1, others)
	out.StandsC = &e
	return out, true
}

func clamp(w float64) float64 { return math.Min(wettest, math.Max(driest, w)) }

// Compare puts what was seen of a batch beside what was to be expected.
func (l *Lessons) Compare(batch Batch) []Comparison {
	b := look(batch)
	var out []Comparison
	for i, s := range b.sights {
		if s.what == Read {
			continue // what it tells is in what the others are held against
		}
		rest := b
		rest.sights = append(append([]sight(nil), b.sights[:i]...), b.sights[i+1:]...)
		before, now := newFilter(1), newFilter(1)
		if l != nil {
			now = l.clone()
		}
		print := b.scale(s)
		out = append(out, Comparison{What: s.what, Seen: print(s.seen), Before: before.expect(rest, s, 0, print), Now: now.expect(rest, s, len(l.list()), print)})
	}
	return out
}

func (l *Lessons) list() []seen {
	if l == nil {
		return nil
	}
	return l.batches
}

// clone is a filter that goes its own way.
func (l *Lessons) clone() filter {
	f := newFilter(l.Widened)
	f.belief = l.belief.Clone()
	for k, v := range l.at {
		f.at[k] = v
	}
	return f
}

// expect is what a sight of a batch was to be, by the rest of what was seen of it.
func (f *filter) expect(rest seen, s sight, batches int, print func(float64) float64) q.Estimate {
	for _, p := range s.of {
		f.unknown(p.name)
	}
	water := f.open(rest)
	mean, sd := f.belief.Expect(f.terms(s, water))
	mean -= s.water * rest.water
	sd = math.Hypot(sd, s.sd*f.widen)
	return rangeOf(func(z float64) float64 { return print(mean + z*sd) }, 0, 1, batches)
}

// scale turns what is seen beyond the plan into the figure itself.
func (b seen) scale(s sight) func(float64) float64 {
	switch s.what {
	case Weighed, Measured:
		return func(v float64) float64 { return b.Lift.WholeWater(clamp(b.water + v)) }
	}
	return func(v float64) float64 { return s.at + v }
}
