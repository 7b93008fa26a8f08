package app

import (
	"context"
	"math"
	"slices"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/learn"
	q "slabside/internal/quantity"
	"slabside/internal/slab"
	"slabside/internal/sugar"
)

// Names of the learned figures of a slab and the hands at it.
var slabNames = [slab.Unknowns]struct{ name, says, unit string }{
	slab.Lies:  {"slab_takes", "heat that passes from the sugar into the slab", "W/m2K"},
	slab.Loses: {"pour_loses", "colder on the slab than at the lift", "K"},
	slab.Edges: {"edge_lifts", "thicker than is held when the edge lifts", "times"},
	slab.Habit: {"rolls_fed", "colder than is held when it is first rolled", "K"},
	slab.Keeps: {"board_loses", "loss of what waits, beside what is held", "times"},
	slab.Rate:  {"rolling_rate", "rolled a minute, all in all", "kg/min"},
	slab.Works: {"kneading_takes", "heat that kneading takes out, beside what is held", "times"},
}

// slabFigure is a figure of the slab as it is shown: what is fitted may be a logarithm.
func slabFigure(b *book.Book, u slab.Unknown, z float64) float64 {
	switch u {
	case slab.Lies:
		var f slab.Figures
		f[slab.Lies] = z
		return f.Contact()
	case slab.Edges:
		return math.Pow(10, z)
	case slab.Habit:
		mix := sugar.Mix(sugar.Solids{Syrup: wholeSyrup}, wholeWater)
		at, err := sugar.TemperatureAtViscosity(mix, math.Pow(10, float64(slab.RollsFrom)))
		by, err2 := sugar.TemperatureAtViscosity(mix, math.Pow(10, float64(slab.RollsFrom)+z))
		if err != nil || err2 != nil {
			return math.NaN()
		}
		return float64(at - by)
	case slab.Keeps, slab.Works:
		return math.Exp(z)
	case slab.Rate:
		rate := b.Room.Times.RollRate
		if m := dayMachine(b); m != nil && m.RollRate > 0 {
			rate = m.RollRate
		}
		return rate * math.Exp(z)
	}
	return z
}

// slabLearned adds what the records teach of the day's slab.
func (a *App) slabLearned(ctx context.Context, b *book.Book, out *LearnResult) error {
	s, ok := daySlab(b)
	if !ok {
		return nil
	}
	l, err := a.slabLessons(ctx, b, s)
	if err != nil {
		return err
	}
	figure := func(held slab.Learned, u slab.Unknown) q.Estimate {
		e := q.Estimate{Value: slabFigure(b, u, held.Mean[u]), Low: slabFigure(b, u, held.Mean[u]-ninety*held.SD(u)), High: slabFigure(b, u, held.Mean[u]+ninety*held.SD(u)), Basis: q.Estimated}
		return e
	}
	for u := range slab.Unknowns {
		x := slabNames[u]
		if by := l.lessons.Taught[u]; len(by) > 0 {
			now := figure(l.lessons.Held, u)
			out.Figures = append(out.Figures, LearnedFigure{Name: x.name, Says: x.says, Of: s.ID, OfName: s.Name, Unit: x.unit, Before: figure(l.lessons.Before, u),
				Value: q.Number(now.Value), Low: q.Number(now.Low), High: q.Number(now.High), Batches: len(by), By: by})
		}
	}
	for _, r := range l.lessons.Refused {
		out.Refused = append(out.Refused, LearnedRefused{slabNames[r.Unknown].name, slabNames[r.Unknown].says, r.Why})
	}
	out.Aside = append(out.Aside, l.aside...)
	out.Widened = max(out.Widened, q.Number(l.lessons.Widened))
	seen, err := l.lessons.Compare()
	if err != nil {
		if fault.KindOf(err) == fault.KindInternal {
			return err
		}
		return nil
	}
	for _, c := range slices.Backward(seen) { // the newest first
		line := SeenLine{What: string(c.What), Unit: "s", Seen: q.Number(c.Seen), Before: c.Before, Now: c.Now}
		if c.What == learn.HotRead {
			line.Unit = "C"
		}
		out.Seen = append(out.Seen, LearnedSeen{c.Batch, line})
	}
	return nil
}
