package learn

import (
	"math"

	"slabside/internal/batch"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/slab"
)

// HotComparison is one thing seen of a batch at the slab beside what was to be expected of
// it: a time in seconds, or a temperature.
type HotComparison struct {
	Batch  string
	What   HotWhat
	S      float64 // when a thermometer was read
	Seen   float64
	Before q.Estimate // without records
	Now    q.Estimate // with what they teach, those of this batch among them
}

// Compare puts what was seen of the batches that teach beside what was to be expected of
// them. Ranges are those of figures that hang on one another as they are held to, straight
// around their middles, with what a batch scatters and how it is seen.
//
// Faults are those of the models at the middles.
func (l *HotLessons) Compare() ([]HotComparison, error) {
	var out []HotComparison
	for _, b := range l.batches {
		g := b.glance()
		before, err := g.expect(l.Before)
		if err != nil {
			return nil, err
		}
		now, err := g.expect(l.Held)
		if err != nil {
			return nil, err
		}
		for i, x := range b.Seen {
			if x.Yet {
				continue
			}
			c := HotComparison{Batch: b.ID, What: x.What, S: x.S, Seen: x.S, Before: before[i], Now: now[i]}
			if x.What == HotRead {
				c.Seen = x.C
			}
			c.Now.Basis, c.Now.Batches = q.Learned, len(l.batches)
			out = append(out, c)
		}
	}
	return out, nil
}

// expect is what of a batch was to be seen, by what is held.
func (g *glance) expect(held slab.Learned) ([]q.Estimate, error) {
	n := len(g.Seen)
	held = held.With(batch.Scatter())
	middle, low, high := make([]float64, n), make([]float64, n), make([]float64, n)
	if err := g.misses(held.Mean, middle); err != nil {
		return nil, err
	}
	run, err := g.Hot.At(held.Mean)
	if err != nil {
		return nil, err
	}
	variance := make([]float64, n)
	for i := range variance {
		variance[i] = g.sd[i] * g.sd[i]
		if x := g.Seen[i]; x.What == HotRead {
			_, place := run.Probed(x.S)
			variance[i] += place * place
		}
	}
	for u := range slab.Unknowns {
		var z slab.Figures
		z[u] = 1
		a := held.At(z)
		z[u] = -1
		c := held.At(z)
		for _, err := range []error{g.misses(a, low), g.misses(c, high)} {
			if fault.KindOf(err) == fault.KindInternal && err != nil {
				return nil, err
			}
			if err != nil { // at the edge of the models it counts as it stands
				copy(low, middle)
				copy(high, middle)
			}
		}
		for i := range variance {
			slope := (low[i] - high[i]) / 2
			variance[i] += slope * slope
		}
	}
	out := make([]q.Estimate, n)
	for i, x := range g.Seen {
		at := func(z float64) float64 {
			v := g.seen[i] - middle[i] + z*ninety*math.Sqrt(variance[i])
			if x.What == HotRead {
				return v
			}
			return math.Exp(v)
		}
		out[i] = q.Estimate{Value: at(0), Low: at(-1), High: at(1), Basis: q.Estimated}
	}
	return out, nil
}
