package day

import "slices"

// relax is the day with only two boils in a row looked at: exact in the residue
// of the whole order and in what any two neighbours ask of machines and hands,
// blind to elastic work, clock events and anything that reaches over three boils.
// Its best ways to go on bound every plan from below, in time and cleaning at once.
type relax struct {
	in   *instance
	most room
	gaps map[gapKey]gap
	memo map[string]*onward
	want []int // counts to reach
	key  []byte
	full bool // the table is full: weaker bounds only
}

// maxOnward is how many states of the relaxed day are kept.
const maxOnward = 400_000

type gapKey struct {
	i, j, ki, kj       int16
	act, rolls, kettle int16 // minutes
}

// gap is the least time from pour to pour, plainly and with each break between.
type gap struct {
	plain  int
	broken []int // by break: the same with it between
	hole   []int // by break: from the pour to its earliest start
}

// onward is what it can take from a state to the end: points of time from the
// last pour and cleaning, none beaten by another in both.
type onward struct {
	plain  []cost
	broken [][]cost // by break: with that break still to be taken
}

// cost is one way on: time minutes from the last pour to the end, clean of them
// cleaning. Where a break is still to be taken, it starts at the earliest at
// minutes after the last pour and leaves at the least rest from its start to the end.
type cost struct{ time, clean, at, rest int }

func (in *instance) newRelax(want []int, most room) *relax {
	return &relax{in: in, most: most, gaps: map[gapKey]gap{}, memo: map[string]*onward{}, want: want}
}

// after returns the ways on from a boil just poured in a shape (an index into its
// templates); levels are what it leaves, as far as what follows minds it. nil
// means that nothing is known.
func (x *relax) after(code int32, boil, tm int, levels []int) *onward {
	if x.full {
		return nil
	}
	x.key = append(x.key[:0], byte(code), byte(code>>8), byte(code>>16), byte(boil), byte(tm))
	for _, l := range levels {
		x.key = append(x.key, byte(min(l, 255)))
	}
	if o, ok := x.memo[string(x.key)]; ok {
		return o
	}
	if len(x.memo) >= maxOnward {
		x.full = true
		return nil
	}
	key := string(x.key)
	in, p := x.in, x.in.p
	o := &onward{broken: make([][]cost, len(p.Breaks))}
	count := in.counts(code)
	b := &p.Boils[boil]
	t := &in.tmpl[boil][tm]
	if covers(count, x.want) && in.mayEnd(b.Recipe) {
		o.plain = append(o.plain, cost{time: x.tail(b, t, 0)})
		for q, br := range p.Breaks {
			o.broken[q] = append(o.broken[q], cost{time: x.tail(b, t, br.Minutes), at: firstHole(b, t, br.Minutes)})
		}
	}
	for r, list := range in.order {
		if count[r] == len(list) || in.tooLate(r, count) {
			continue
		}
		j := list[count[r]]
		least, ok := in.allowed(b.Recipe, r, count[r] == 0)
		if !ok {
			continue
		}
		next := code + int32(in.stride[r])
		for _, w := range in.preps(nil, levels, b.Rolls, j, least, next) {
			for k := range in.tmpl[j] {
				g := x.gap(boil, tm, j, k, w)
				if g.plain >= far {
					continue
				}
				n := x.after(next, j, k, w.levels)
				if n == nil {
					return nil
				}
				nb := &p.Boils[j]
				o.plain = addAll(o.plain, n.plain, cost{time: g.plain, clean: w.cost})
				for q, br := range p.Breaks {
					o.broken[q] = addAll(o.broken[q], n.broken[q], cost{time: g.plain, clean: w.cost, at: g.plain})
					for _, f := range n.plain {
						o.broken[q] = addCost(o.broken[q], cost{
							time: f.time + g.broken[q], clean: f.clean + w.cost, at: g.hole[q],
							rest: f.time + br.Minutes + w.kettle + nb.Charge + nb.Lit,
						})
					}
				}
			}
		}
	}
	x.memo[key] = o
	return o
}

// addAll adds points moved by c, keeping those that nothing beats.
func addAll(to, from []cost, c cost) []cost {
	for _, f := range from {
		to = addCost(to, cost{f.time + c.time, f.clean + c.clean, f.at + c.at, f.rest + c.rest})
	}
	return to
}

func addCost(to []cost, n cost) []cost {
	for _, o := range to {
		if o.beats(n) {
			return to
		}
	}
	to = slices.DeleteFunc(to, func(o cost) bool { return n.beats(o) })
	return append(to, n)
}

// beats reports whether c is no worse than o: no longer, no more cleaning, its
// break no later and no more after it.
func (c cost) beats(o cost) bool {
	return c.time <= o.time && c.clean <= o.clean && c.at <= o.at && c.rest <= o.rest
}

// tail is the least time from the last pour to the end of the work, with a break
// of some minutes (0: none) that begins after the pour and, if the after-work is
// what ends the day, before the after-work is done.
func (x *relax) tail(b *Boil, t *template, rest int) int {
	open := b.Shapes[t.shape].RollTo + b.Cool
	work := 0
	if x.most.all > 0 {
		work = (b.After + x.most.all - 1) / x.most.all
	}
	if rest == 0 || t.end > open+work {
		return max(t.end, open+work)
	}
	if hole := firstHole(b, t, rest); hole <= open {
		return max(open, hole+rest) + work
	}
	return open + work
}

// firstHole is the first minute after the pour from which a boil's own hot work
// leaves so many minutes free.
func firstHole(b *Boil, t *template, minutes int) int {
	run := 0
	for m := b.Pour; ; m++ {
		if m < len(t.use) && t.use[m].hot() > 0 {
			run = 0
		} else if run++; run >= minutes {
			return m + 1 - minutes
		}
	}
}

// gap returns the least time between two pours in their shapes with the
// preparations between, remembered.
func (x *relax) gap(i, ki, j, kj int, w prep) gap {
	act := x.in.p.ActMin[w.act]
	key := gapKey{int16(i), int16(j), int16(ki), int16(kj), int16(act), int16(w.rolls), int16(w.kettle)}
	if g, ok := x.gaps[key]; ok {
		return g
	}
	in, p := x.in, x.in.p
	a, b := &p.Boils[i], &p.Boils[j]
	s, t := &in.tmpl[i][ki], &in.tmpl[j][kj]
	sa, sb := &a.Shapes[s.shape], &b.Shapes[t.shape]
	low := in.machineGap(a, b, sa, sb, act, w.rolls, w.kettle)
	g := gap{plain: far, broken: make([]int, len(p.Breaks)), hole: make([]int, len(p.Breaks))}
	// What does not fit within the reach of the first boil never meets it: beyond
	// that any gap does, if the hands do for the second boil alone.
	for d := low; d <= low+s.end+a.Lit+600; d++ {
		if x.fits(a, b, s, t, d, act, w.rolls, w.kettle) {
			g.plain = d
			break
		}
	}
	for q, br := range p.Breaks {
		g.broken[q] = far
		if g.plain < far {
			g.hole[q] = firstHole(a, s, br.Minutes)
			g.broken[q] = max(g.plain, g.hole[q]+br.Minutes+w.kettle+b.Charge+b.Lit)
		}
	}
	x.gaps[key] = g
	return g
}

// fits lays two boils and the set-ups between them on the most hands there ever are.
func (x *relax) fits(a, b *Boil, s, t *template, d, act, rm, kettle int) bool {
	if !x.in.fitsPair(b, s.use, t.use, d, kettle, x.most) {
		return false
	}
	sa, sb := &a.Shapes[s.shape], &b.Shapes[t.shape]
	line := sa.SlabFree
	if sa.HookTo > sa.HookFrom {
		line = max(line, sa.HookTo)
	}
	free := func(m int) int {
		h := 0
		if m < len(s.use) {
			h += s.use[m].hot()
		}
		if m >= d && m-d < len(t.use) {
			h += t.use[m-d].hot()
		}
		if m >= d-b.Lit-b.Charge-kettle && m < d-b.Lit || m >= d-b.Watch && m < d {
			h++
		}
		return x.most.clean - h
	}
	room := func(from, n, oFrom, oN int) bool {
		for m := from; m < from+n; m++ {
			f := free(m)
			if m >= oFrom && m < oFrom+oN {
				f--
			}
			if f < 1 {
				return false
			}
		}
		return true
	}
	for y := sa.RollTo; y+rm <= d+sb.RollFrom || rm == 0; y++ {
		if rm == 0 || room(y, rm, 0, 0) {
			if act == 0 {
				return true
			}
			for z := line; z+act <= d; z++ {
				if room(z, act, y, rm) {
					return true
				}
			}
		}
		if rm == 0 {
			break
		}
	}
	return false
}
