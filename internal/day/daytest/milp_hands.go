package daytest

import (
	"slices"

	"slabside/internal/day"
)

func (g *Programme) breaks() {
	for i, b := range g.p.Breaks {
		var taken sum
		for m := b.From; m <= b.To; m++ {
			taken.add(1, g.bin(nameBreak(i, m)))
		}
		g.row(taken, "<=", 1)
		// the work ends at or before To if it is not taken
		var e sum
		e.add(1, varEnd)
		g.row(plus(e, -g.last, taken), "<=", b.To)
	}
}

// onBreak is 1 if a break runs in a minute; the windows must be apart.
func (g *Programme) onBreak(m int) (out sum) {
	for i, b := range g.p.Breaks {
		for s := b.From; s <= b.To; s++ {
			if s <= m && m < s+b.Minutes {
				out.add(1, nameBreak(i, s))
			}
		}
	}
	return out
}

func (g *Programme) hands() {
	p := g.p
	weighed, done := make([]sum, len(p.Boils)), make([]sum, len(p.Boils))
	var open sum
	for m := range g.last {
		var adults, hotThere, cleanThere, benchThere int
		for _, h := range p.Hands {
			if !slices.ContainsFunc(h.Present, func(s day.Span) bool { return s.From <= m && m < s.To }) {
				continue
			}
			benchThere++
			if h.Hot {
				hotThere++
			}
			if h.Hot || h.Clean {
				cleanThere++
			}
			if h.Adult {
				adults = 1
			}
		}
		var flame, hot, watch, setups, elastic sum
		for i := range p.Boils {
			b := &p.Boils[i]
			var notCharged, cool sum
			g.pours(i, func(s, t int, x string) {
				d := m - t
				if -b.Lit <= d && d < 0 {
					flame.add(1, x)
				}
				n := 0
				if -b.Lit-b.Charge <= d && d < -b.Lit {
					n++
				}
				if 0 <= d && d < b.Pour {
					n += b.PourHands
				}
				for _, st := range b.Shapes[s].Steps {
					if st.From <= d && d < st.To {
						n += st.Hands
					}
				}
				if n > 0 {
					hot.add(n, x)
				}
				if -b.Watch <= d && d < 0 {
					watch.add(1, x)
				}
				if d < -b.Lit-b.Charge {
					notCharged.add(1, x)
				}
				if d >= b.Shapes[s].RollTo+b.Cool {
					cool.add(1, x)
				}
			})
			for k := day.Wipe; int(k) < day.NumActs; k++ {
				for t := max(0, m-p.ActMin[k]+1); t <= m && t+p.ActMin[k] <= g.last; t++ {
					setups.add(1, nameActAt(i, k, t))
				}
			}
			setups.addSum(1, g.kettleCleaned(i, m))
			for v := range g.rollsWays() {
				minutes := g.rollsMin(i, v)
				for t := max(0, m-minutes+1); t <= m && t+minutes <= g.last; t++ {
					setups.add(1, nameRollsAt(i, v, t))
				}
			}
			if n := min(b.Weigh, benchThere); n > 0 {
				w := g.bounded(nameWeigh(i, m), n)
				weighed[i].add(1, w)
				elastic.add(1, w)
				var s sum
				s.add(1, w)
				g.row(plus(s, -n, notCharged), "<=", 0)
			}
			if n := min(b.After, benchThere); n > 0 {
				f := g.bounded(nameDone(i, m), n)
				done[i].add(1, f)
				elastic.add(1, f)
				var s sum
				s.add(1, f)
				g.row(plus(s, -n, cool), "<=", 0)
			}
		}
		resting := g.onBreak(m)
		g.row(plus(flame, adults, resting), "<=", adults)
		g.row(plus(plus(hot, 1, watch), hotThere, resting), "<=", hotThere)
		g.row(plus(plus(plus(hot, 1, watch), 1, setups), cleanThere, resting), "<=", cleanThere)
		g.row(plus(plus(plus(hot, 1, setups), 1, elastic), benchThere, resting), "<=", benchThere)

		// the minutes up to the last elastic work are open
		z := g.bin(nameOpen(m))
		var s sum
		s.add(-max(1, benchThere), z)
		g.row(plus(s, 1, elastic), "<=", 0)
		if m > 0 {
			var order sum
			order.add(1, nameOpen(m-1))
			order.add(-1, z)
			g.row(order, ">=", 0)
		}
		open.add(1, z)
	}
	var e sum
	e.add(1, varEnd)
	g.row(plus(e, -1, open), ">=", 0)
	for i, b := range p.Boils {
		g.row(plus(weighed[i], -b.Weigh, g.made(i)), "=", 0)
		g.row(plus(done[i], -b.After, g.made(i)), "=", 0)
	}
}
