package day

import "slices"

// Explain says, boil by boil, why its set-ups are done and why it is not poured a
// minute earlier with all else unchanged.
func Explain(p *Problem, plan *Plan) []Reasons {
	out := make([]Reasons, len(plan.Made))
	r := newResidue(p)
	levels, mounted := r.opening(), p.Mounted
	for k, m := range plan.Made {
		b := &p.Boils[m.Boil]
		after, soiled, _ := r.step(nil, levels, mounted, m.Boil, m.Act, m.KettleClean)
		out[k].Act = whyAct(p, plan, k, levels[:len(p.Channels)])
		if m.KettleClean {
			out[k].Kettle = r.whyKettle(levels, b)
		}
		if m.RollsMin > 0 {
			c := noCause(CauseRollsAct)
			switch {
			case soiled:
				c = noCause(CauseSoiled)
			case mounted != b.Rolls:
				c = noCause(CausePair)
			}
			c.Other, c.Minutes = mounted, m.RollsMin
			out[k].Rolls = &c
		}
		out[k].Wait = whyNotEarlier(p, plan, k)
		levels, mounted = after, b.Rolls
	}
	return out
}

// whyKettle says what is left in the kettle that the next boil does not bear.
func (r *residue) whyKettle(levels []int, b *Boil) []Cause {
	var out []Cause
	for i, c := range r.allergen {
		if l := levels[r.kettle()+i]; l > b.Limit[c] {
			cause := noCause(CauseLevel)
			cause.Channel, cause.Level, cause.Limit, cause.Minutes = c, l, b.Limit[c], r.p.KettleMin
			out = append(out, cause)
		}
	}
	if out == nil {
		out = append(out, noCause(CauseLater))
	}
	return out
}

// afterAct returns the line's levels after an act.
func afterAct(p *Problem, levels []int, act Act) []int {
	out := slices.Clone(levels)
	for c := range out {
		out[c] = cleaned(out[c], act, p.Channels[c].Allergen)
	}
	return out
}

func tolerated(levels []int, b *Boil) bool {
	for c, l := range levels {
		if l > b.Limit[c] {
			return false
		}
	}
	return true
}

// whyAct says which residue or rule asks for the act of boil k; the levels are
// those before it.
func whyAct(p *Problem, plan *Plan, k int, levels []int) []Cause {
	m := plan.Made[k]
	if m.Act == None {
		return nil
	}
	b := &p.Boils[m.Boil]
	var out []Cause
	for c, l := range levels {
		if l > b.Limit[c] {
			cause := noCause(CauseLevel)
			cause.Channel, cause.Level, cause.Limit, cause.Minutes = c, l, b.Limit[c], p.ActMin[m.Act]
			out = append(out, cause)
		}
	}
	least := None
	for least < AllergenClean && !tolerated(afterAct(p, levels, least), b) {
		least++
	}
	prev := -1
	if k > 0 {
		prev = p.Boils[plan.Made[k-1].Boil].Recipe
	}
	for i, r := range p.Rules {
		if r.Kind == AtLeast && r.B == b.Recipe && r.Act >= least && r.Act > None &&
			(r.A == prev && prev >= 0 || r.A < 0 && prev != b.Recipe) {
			c := noCause(CauseRule)
			c.Other = i
			out = append(out, c)
			least = max(least, r.Act)
		}
	}
	if m.Act > least {
		out = append(out, noCause(CauseLater))
	}
	return out
}

// whyNotEarlier tries the pour a minute earlier, with its set-ups where they are
// and a minute earlier, and returns what stands in the way of the way that comes
// closest; nothing in the way means it is poured no earlier on purpose.
func whyNotEarlier(p *Problem, plan *Plan, k int) []Cause {
	var best []Cause
	for shift := range 4 {
		m := plan.Made[k]
		m.Pour--
		m.ActFrom -= shift & 1
		m.RollsFrom -= shift >> 1
		if shift&1 == 1 && p.ActMin[m.Act] == 0 || shift>>1 == 1 && m.RollsMin == 0 {
			continue
		}
		c := obstacles(p, plan, k, m)
		if len(c) == 0 {
			return []Cause{noCause(CausePurpose)}
		}
		if best == nil || len(c) < len(best) {
			best = c
		}
	}
	return best
}

// obstacles returns what forbids boil k to stand as m says instead.
func obstacles(p *Problem, plan *Plan, k int, m Placed) []Cause {
	o := &obstacle{p: p, k: k, m: m, b: &p.Boils[m.Boil]}
	o.shape = &o.b.Shapes[m.Shape]
	moved := *plan
	moved.Made = slices.Clone(plan.Made)
	moved.Made[k] = m
	o.plan = &moved
	o.r = newReplay(p, &moved)
	o.machines()
	o.setups()
	o.hands()
	o.weighing()
	o.bench()
	if i := slices.Index(plan.Kept, k); i >= 0 {
		if a := p.Appoint[i]; m.Pour < a.At-a.Early {
			o.found(CauseAppoint, i, m.Pour)
		}
	}
	return o.out
}

type obstacle struct {
	p     *Problem
	plan  *Plan
	k     int
	m     Placed
	b     *Boil
	shape *Shape
	r     *replay
	out   []Cause
}

// found records a cause once.
func (o *obstacle) found(kind CauseKind, other, minute int) {
	if !slices.ContainsFunc(o.out, func(c Cause) bool { return c.Kind == kind && c.Other == other }) {
		c := noCause(kind)
		c.Other, c.Minute, c.Minutes = other, minute, 1
		o.out = append(o.out, c)
	}
}

// before returns the boil poured before k with its shape, ok false if k is first.
func (o *obstacle) before() (m Placed, b *Boil, s *Shape, ok bool) {
	if o.k == 0 {
		return m, nil, nil, false
	}
	m = o.plan.Made[o.k-1]
	b = &o.p.Boils[m.Boil]
	return m, b, &b.Shapes[m.Shape], true
}

func (o *obstacle) machines() {
	start := o.r.start(o.m)
	if o.m.KettleClean {
		start -= o.p.KettleMin
	}
	if start < 0 {
		o.found(CauseOpening, -1, start)
	}
	prev, b, s, ok := o.before()
	if !ok {
		return
	}
	if start < prev.Pour+b.Pour+b.Rinse {
		o.found(CauseKettle, prev.Boil, start)
	}
	if o.m.Pour < prev.Pour+s.SlabFree {
		o.found(CauseSlab, prev.Boil, o.m.Pour)
	}
	// Hook and rolls may still be with an earlier boil than the last.
	for _, q := range o.plan.Made[:o.k] {
		qs := &o.p.Boils[q.Boil].Shapes[q.Shape]
		if crosses(o.m.Pour+o.shape.HookFrom, o.m.Pour+o.shape.HookTo, q.Pour+qs.HookFrom, q.Pour+qs.HookTo) {
			o.found(CauseHook, q.Boil, o.m.Pour+o.shape.HookFrom)
		}
		if crosses(o.m.Pour+o.shape.RollFrom, o.m.Pour+o.shape.RollTo, q.Pour+qs.RollFrom, q.Pour+qs.RollTo) {
			o.found(CauseRolls, q.Boil, o.m.Pour+o.shape.RollFrom)
		}
	}
}

func crosses(a, b, c, d int) bool { return a < b && c < d && a < d && c < b }

func (o *obstacle) setups() {
	line, rolls := 0, 0
	prev, _, s, ok := o.before()
	if ok {
		line = prev.Pour + s.SlabFree
		if s.HookTo > s.HookFrom {
			line = max(line, prev.Pour+s.HookTo)
		}
		rolls = prev.Pour + s.RollTo
	}
	if min := o.p.ActMin[o.m.Act]; min > 0 {
		switch {
		case o.m.ActFrom < line && ok:
			o.found(CauseSlab, prev.Boil, o.m.ActFrom)
		case o.m.ActFrom < 0:
			o.found(CauseOpening, -1, o.m.ActFrom)
		}
		if o.m.ActFrom+min > o.m.Pour {
			o.found(CauseAct, -1, o.m.Pour)
		}
	}
	if o.m.RollsMin > 0 {
		switch {
		case o.m.RollsFrom < rolls && ok:
			o.found(CauseRolls, prev.Boil, o.m.RollsFrom)
		case o.m.RollsFrom < 0:
			o.found(CauseOpening, -1, o.m.RollsFrom)
		}
		if o.m.RollsFrom+o.m.RollsMin > o.m.Pour+o.shape.RollFrom {
			o.found(CauseRollsSet, -1, o.m.Pour+o.shape.RollFrom)
		}
	}
}

func (o *obstacle) hands() {
	r := o.r
	for m := range r.hot {
		asked := r.hot[m] + r.watch[m] + r.setups[m]
		switch i := r.broken[m]; {
		case i >= 0 && (asked > 0 || r.lit[m]):
			o.found(CauseBreak, i, m)
			continue
		case r.lit[m] && r.adults[m] == 0:
			o.found(CauseAdult, -1, m)
		}
		switch {
		case r.hot[m]+r.watch[m] > r.hots[m]:
			o.found(CauseHot, -1, m)
		case asked > r.cleaners[m]:
			o.found(CauseClean, -1, m)
		case r.hot[m]+r.setups[m] > r.bench[m]:
			o.found(CauseBenchers, -1, m)
		}
	}
}

func (o *obstacle) weighing() {
	cap, need, m := 0, 0, 0
	for _, q := range o.plan.Made {
		need += o.p.Boils[q.Boil].Weigh
		for ; m < min(o.r.start(q), len(o.r.hot)); m++ {
			cap += max(0, o.r.free(m))
		}
		if cap < need {
			o.found(CauseWeigh, q.Boil, m)
		}
	}
}

func (o *obstacle) bench() {
	if o.p.BenchG == 0 {
		return
	}
	grams := make([]int, len(o.r.hot))
	for _, q := range o.plan.Made {
		b := &o.p.Boils[q.Boil]
		s := &b.Shapes[q.Shape]
		for m := max(0, q.Pour+s.RollFrom); m < min(q.Pour+s.RollTo+b.Cool, len(grams)); m++ {
			if grams[m] += b.BenchG; grams[m] > o.p.BenchG {
				o.found(CauseBench, -1, m)
				o.out[len(o.out)-1].Level, o.out[len(o.out)-1].Limit = grams[m], o.p.BenchG
				return
			}
		}
	}
}
