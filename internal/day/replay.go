package day

// replay is a plan laid out minute by minute: what every minute asks of hands
// and who is in the room. It is made from the plan's decisions alone, and serves
// everything that explains a plan.
type replay struct {
	p    *Problem
	plan *Plan

	hot, watch, setups    []int // hands asked for; hot includes charging
	hots, cleaners, bench []int // hands of at least that class in the room, none while a break runs
	adults                []int // in the room, breaks not counted out
	broken                []int // index of the break that runs, −1 none
	lit                   []bool
}

// newReplay lays the plan out over minutes, the day's own and any it runs past.
func newReplay(p *Problem, plan *Plan) *replay {
	n := max(p.End, plan.End) + 1
	for _, m := range plan.Made {
		b := &p.Boils[m.Boil]
		n = max(n, m.Pour+b.Pour+b.Rinse+1, m.Pour+b.Shapes[m.Shape].RollTo+b.Cool+1)
	}
	r := &replay{p: p, plan: plan, lit: make([]bool, n)}
	for _, a := range []*[]int{&r.hot, &r.watch, &r.setups, &r.hots, &r.cleaners, &r.bench, &r.adults, &r.broken} {
		*a = make([]int, n)
	}
	for m := range r.broken {
		r.broken[m] = -1
	}
	for i, at := range plan.Breaks {
		if at >= 0 {
			for m := at; m < min(at+p.Breaks[i].Minutes, n); m++ {
				r.broken[m] = i
			}
		}
	}
	for _, h := range p.Hands {
		for _, s := range h.Present {
			for m := max(s.From, 0); m < min(s.To, n); m++ {
				if h.Adult {
					r.adults[m]++
				}
				if r.broken[m] >= 0 {
					continue
				}
				r.bench[m]++
				if h.Hot {
					r.hots[m]++
				}
				if h.Clean {
					r.cleaners[m]++
				}
			}
		}
	}
	for i := range plan.Made {
		r.add(plan.Made[i], 1)
	}
	return r
}

// add puts a boil and its set-ups on the minutes, or takes it off with by −1.
// Minutes before the opening are left out; a caller checks for them.
func (r *replay) add(m Placed, by int) {
	b := &r.p.Boils[m.Boil]
	s := &b.Shapes[m.Shape]
	on := func(a []int, from, to, hands int) {
		for t := max(from, 0); t < min(to, len(a)); t++ {
			a[t] += hands * by
		}
	}
	if m.KettleClean {
		on(r.setups, r.start(m)-r.p.KettleMin, r.start(m), 1)
	}
	on(r.hot, m.Pour-b.Lit-b.Charge, m.Pour-b.Lit, 1)
	on(r.watch, m.Pour-b.Watch, m.Pour, 1)
	on(r.hot, m.Pour, m.Pour+b.Pour, b.PourHands)
	for _, st := range s.Steps {
		on(r.hot, m.Pour+st.From, m.Pour+st.To, st.Hands)
	}
	on(r.setups, m.ActFrom, m.ActFrom+r.p.ActMin[m.Act], 1)
	on(r.setups, m.RollsFrom, m.RollsFrom+m.RollsMin, 1)
	for t := max(m.Pour-b.Lit, 0); t < min(m.Pour, len(r.lit)); t++ {
		r.lit[t] = by > 0
	}
}

// free returns the hands left for elastic work in a minute.
func (r *replay) free(m int) int { return r.bench[m] - r.hot[m] - r.setups[m] }

// start returns the minute a boil's charge begins.
func (r *replay) start(m Placed) int {
	b := &r.p.Boils[m.Boil]
	return m.Pour - b.Lit - b.Charge
}
