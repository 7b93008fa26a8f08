package daytest

import (
	"fmt"
	"slices"

	"slabside/internal/day"
)

// Vector is the objective, first level first.
type Vector [5]int

// Less compares level by level.
func (v Vector) Less(w Vector) bool { return slices.Compare(v[:], w[:]) < 0 }

// String returns the five values.
func (v Vector) String() string { return fmt.Sprint([5]int(v)) }

// Values returns the objective vector a plan claims.
func Values(plan *day.Plan) (v Vector) {
	for i := range min(len(v), len(plan.Objectives)) {
		v[i] = plan.Objectives[i].Value
	}
	return v
}

// Bounds returns the bounds a plan claims.
func Bounds(plan *day.Plan) (v Vector) {
	for i := range min(len(v), len(plan.Objectives)) {
		v[i] = plan.Objectives[i].Bound
	}
	return v
}

// Exhaustive returns the least objective vector of a small day and a plan that
// has it, by trying every set of boils, order, shape, act, minute of every
// pour, of every set-up and of every break. A branch is left only when it
// breaks the model already or when a count of minutes shows that it cannot get
// below the best plan so far, and a state that is the same to the last hand in
// the last minute as one already searched is not searched again. No plan is
// ever said to be as good as a different one. The plan is nil if even the
// empty day does not fit.
func Exhaustive(p *day.Problem) (Vector, *day.Plan) {
	return exhaustive(p, true)
}

// exhaustive searches with or without leaving out states met before.
func exhaustive(p *day.Problem, merge bool) (Vector, *day.Plan) {
	s := &search{p: p, merge: merge}
	for i := range s.best {
		s.best[i] = 1 << 30
	}
	starts := make([]int, len(p.Breaks))
	var breaks func(i int)
	breaks = func(i int) {
		if i == len(starts) {
			s.subsets(starts)
			return
		}
		starts[i] = -1
		breaks(i + 1)
		for m := p.Breaks[i].From; m <= p.Breaks[i].To; m++ {
			starts[i] = m
			breaks(i + 1)
		}
	}
	breaks(0)
	return s.best, s.plan
}

type search struct {
	p     *day.Problem
	merge bool
	best  Vector
	plan  *day.Plan

	// for one choice of breaks
	breaks                      []int
	last                        int // E may not exceed it
	hotCap, cleanCap, benchCap  []int
	flame                       []bool // may be lit
	mostHands                   int
	queue                       [][]int // boils of each recipe in index order
	need                        []int   // boils to make of each recipe
	must, should, weigh, afters int     // of the set of boils
	seen                        map[string]bool

	words []int // buffers of key
	bytes []byte

	// of the boils placed so far
	made                                   []day.Placed
	count                                  []int
	hotNeed, busy, setups, grams, released []int
	slab, hook, rolls                      []bool
}

// partial is what follows from the boils placed so far.
type partial struct {
	kettleFree, slabFree, rollsFree int // of the last boil; slab and hook
	pair                            int
	level                           []int
	weighed                         int // hand-minutes that had to be weighed
	blockEnd                        int
	cleaning                        int
}

// subsets tries every number of boils of each recipe, most lines made first.
func (s *search) subsets(breaks []int) {
	p := s.p
	s.breaks, s.last = breaks, p.End-p.Closing
	for i, b := range breaks {
		if b == -1 {
			s.last = min(s.last, p.Breaks[i].To)
		}
	}
	if s.last < 0 {
		return
	}
	s.hands()
	s.queue = make([][]int, len(p.Recipes))
	for i, b := range p.Boils {
		s.queue[b.Recipe] = append(s.queue[b.Recipe], i)
	}
	var needs [][]int
	need := make([]int, len(p.Recipes))
	var fill func(rec int)
	fill = func(rec int) {
		if rec == len(need) {
			needs = append(needs, slices.Clone(need))
			return
		}
		for n := range len(s.queue[rec]) + 1 {
			need[rec] = n
			fill(rec + 1)
		}
	}
	fill(0)
	slices.SortStableFunc(needs, func(a, b []int) int {
		ma, sa := s.unmade(a)
		mb, sb := s.unmade(b)
		return slices.Compare([]int{ma, sa}, []int{mb, sb})
	})
	for _, n := range needs {
		s.subset(n)
	}
}

func (s *search) unmade(count []int) (must, should int) {
	for _, l := range s.p.Lines {
		for rec := range count {
			if count[rec] < l.Needs[rec] {
				if l.Must {
					must++
				} else {
					should++
				}
				break
			}
		}
	}
	return must, should
}

// hands lays the presence of one choice of breaks out over the minutes.
func (s *search) hands() {
	n := s.last
	s.hotCap, s.cleanCap, s.benchCap, s.flame = make([]int, n), make([]int, n), make([]int, n), make([]bool, n)
	for m := range n {
		for _, h := range s.p.Hands {
			for _, span := range h.Present {
				if m < span.From || m >= span.To {
					continue
				}
				s.benchCap[m]++
				if h.Clean || h.Hot {
					s.cleanCap[m]++
				}
				if h.Hot {
					s.hotCap[m]++
				}
				if h.Adult {
					s.flame[m] = true
				}
			}
		}
		for i, b := range s.breaks {
			if b != -1 && m >= b && m < b+s.p.Breaks[i].Minutes {
				s.hotCap[m], s.cleanCap[m], s.benchCap[m], s.flame[m] = 0, 0, 0, false
			}
		}
	}
	s.mostHands = max(1, len(s.p.Hands))
}

func (s *search) subset(need []int) {
	p := s.p
	s.need = need
	s.must, s.should = s.unmade(need)
	s.weigh, s.afters = 0, 0
	for rec, n := range need {
		for _, b := range s.queue[rec][:n] {
			s.weigh += p.Boils[b].Weigh
			s.afters += p.Boils[b].After
		}
	}
	s.made, s.count, s.seen = nil, make([]int, len(need)), map[string]bool{}
	n := s.last
	s.hotNeed, s.busy, s.setups, s.grams, s.released = make([]int, n), make([]int, n), make([]int, n), make([]int, n), make([]int, n+1)
	s.slab, s.hook, s.rolls = make([]bool, n), make([]bool, n), make([]bool, n)
	level := make([]int, len(p.Channels))
	copy(level, p.Levels)
	s.grow(partial{pair: p.Mounted, level: level})
}

// grow places every boil that can be next in every way, or ends the day.
func (s *search) grow(st partial) {
	if !s.promising(st) {
		return
	}
	if slices.Equal(s.count, s.need) {
		s.leaf(st)
		return
	}
	if s.merge {
		k := s.key(st)
		if s.seen[string(k)] {
			return
		}
		s.seen[string(k)] = true
	}
	for rec := range s.need {
		if s.count[rec] == s.need[rec] || !s.mayFollow(rec) {
			continue
		}
		boil := s.queue[rec][s.count[rec]]
		for act := day.None; int(act) < day.NumActs; act++ {
			level, ok := s.residue(st.level, boil, act)
			if !ok || !s.actAllowed(rec, act) {
				continue
			}
			for shape := range s.p.Boils[boil].Shapes {
				b := &s.p.Boils[boil]
				for pour := st.kettleFree + b.Charge + b.Lit; pour < s.last; pour++ {
					s.pourAt(st, level, day.Placed{Boil: boil, Pour: pour, Shape: shape, Act: act})
				}
			}
		}
	}
}

// mayFollow applies the rules of order to the recipe that would come next.
func (s *search) mayFollow(rec int) bool {
	prev := -1
	if n := len(s.made); n > 0 {
		prev = s.p.Boils[s.made[n-1].Boil].Recipe
	}
	left := 0
	for r := range s.need {
		left += s.need[r] - s.count[r]
	}
	for _, rule := range s.p.Rules {
		switch {
		case rule.Kind == day.First && prev == -1 && rec != rule.A,
			rule.Kind == day.Last && left == 1 && rec != rule.A,
			rule.Kind == day.Next && rec == rule.B && s.count[rec] == 0 && prev != rule.A,
			rule.Kind == day.NotNext && rec == rule.B && prev == rule.A,
			rule.Kind == day.Before && rec == rule.A && rec != rule.B && s.count[rule.B] > 0:
			return false
		}
	}
	return true
}

func (s *search) actAllowed(rec int, act day.Act) bool {
	prev := -1
	if n := len(s.made); n > 0 {
		prev = s.p.Boils[s.made[n-1].Boil].Recipe
	}
	for _, rule := range s.p.Rules {
		if rule.Kind != day.AtLeast || rule.B != rec || act >= rule.Act {
			continue
		}
		if rule.A == prev && prev != -1 || rule.A == -1 && prev != rec {
			return false
		}
	}
	return true
}

func (s *search) residue(before []int, boil int, act day.Act) (after []int, ok bool) {
	b := &s.p.Boils[boil]
	for c, ch := range s.p.Channels {
		l := before[c]
		if act == day.AllergenClean || act == day.Wash && !ch.Allergen {
			l = 0
		} else if act == day.Wipe && !ch.Allergen {
			l = max(l-2, 0)
		}
		if l > b.Limit[c] {
			return nil, false
		}
		if !ch.Allergen {
			l--
		}
		after = append(after, max(l, b.Emit[c]))
	}
	return after, true
}

// pourAt places one boil if machines, bench and hot hands allow it, and goes
// on to its set-ups.
func (s *search) pourAt(st partial, level []int, pl day.Placed) {
	b := &s.p.Boils[pl.Boil]
	sh := &b.Shapes[pl.Shape]
	t := pl.Pour
	next := partial{
		kettleFree: t + b.Pour + b.Rinse,
		slabFree:   t + sh.SlabFree,
		rollsFree:  t + sh.RollTo,
		pair:       b.Rolls,
		level:      level,
		weighed:    st.weighed + b.Weigh,
		cleaning:   st.cleaning + s.p.ActMin[pl.Act],
	}
	if sh.HookFrom != sh.HookTo {
		next.slabFree = max(next.slabFree, t+sh.HookTo)
	}
	cool := t + sh.RollTo + b.Cool
	end := max(next.kettleFree, next.slabFree, next.rollsFree, cool)
	for _, step := range sh.Steps {
		end = max(end, t+step.To)
	}
	next.blockEnd = max(st.blockEnd, end)
	if next.blockEnd > s.last {
		return
	}
	if st.pair == b.Rolls {
		pl.RollsMin = s.p.RollsMin[pl.Act]
		next.cleaning += pl.RollsMin
	} else {
		pl.RollsMin = s.p.Pairs[b.Rolls].Mount
	}
	for m := t - b.Lit; m < t; m++ {
		if !s.flame[m] {
			return
		}
	}
	if anyOf(s.slab, t, t+sh.SlabFree) || anyOf(s.hook, t+sh.HookFrom, t+sh.HookTo) || anyOf(s.rolls, t+sh.RollFrom, t+sh.RollTo) {
		return
	}

	use := func(sign int) {
		add := func(where []int, from, to, n int) {
			for m := from; m < to; m++ {
				where[m] += sign * n
			}
		}
		add(s.hotNeed, t-b.Lit-b.Charge, t-b.Lit, 1)
		add(s.busy, t-b.Lit-b.Charge, t-b.Lit, 1)
		add(s.hotNeed, t-b.Watch, t, 1)
		add(s.hotNeed, t, t+b.Pour, b.PourHands)
		add(s.busy, t, t+b.Pour, b.PourHands)
		for _, step := range sh.Steps {
			add(s.hotNeed, t+step.From, t+step.To, step.Hands)
			add(s.busy, t+step.From, t+step.To, step.Hands)
		}
		add(s.grams, t+sh.RollFrom, cool, b.BenchG)
		add(s.released, cool, cool+1, b.After)
		set(s.slab, t, t+sh.SlabFree, sign > 0)
		set(s.hook, t+sh.HookFrom, t+sh.HookTo, sign > 0)
		set(s.rolls, t+sh.RollFrom, t+sh.RollTo, sign > 0)
	}
	use(+1)
	defer use(-1)
	if !s.fits(t-b.Lit-b.Charge, end) {
		return
	}
	rec := b.Recipe
	s.count[rec]++
	s.made = append(s.made, pl)
	defer func() {
		s.count[rec]--
		s.made = s.made[:len(s.made)-1]
	}()
	if !s.promising(next) {
		return
	}
	k := len(s.made) - 1
	s.everyStart(st.slabFree, t, s.p.ActMin[pl.Act], func(from int) {
		s.made[k].ActFrom = from
		s.everyStart(st.rollsFree, t+sh.RollFrom, pl.RollsMin, func(from int) {
			s.made[k].RollsFrom = from
			// nothing placed later uses a hand before this charge
			if s.freeBefore(t-b.Lit-b.Charge) >= next.weighed {
				s.grow(next)
			}
		})
	})
}

// everyStart puts a set-up of some minutes at every start within [from, to)
// where a hand can do it; a set-up of no minutes is put nowhere.
func (s *search) everyStart(from, to, minutes int, then func(start int)) {
	if minutes == 0 {
		then(0)
		return
	}
	for start := from; start+minutes <= to; start++ {
		for m := start; m < start+minutes; m++ {
			s.setups[m]++
		}
		if s.fits(start, start+minutes) {
			then(start)
		}
		for m := start; m < start+minutes; m++ {
			s.setups[m]--
		}
	}
}

func anyOf(machine []bool, from, to int) bool {
	for m := from; m < to; m++ {
		if machine[m] {
			return true
		}
	}
	return false
}

func set(machine []bool, from, to int, on bool) {
	for m := from; m < to; m++ {
		machine[m] = on
	}
}

// fits says whether the hands and the bench are enough in [from, to).
func (s *search) fits(from, to int) bool {
	for m := from; m < to; m++ {
		if s.hotNeed[m] > s.hotCap[m] ||
			s.hotNeed[m]+s.setups[m] > s.cleanCap[m] ||
			s.busy[m]+s.setups[m] > s.benchCap[m] ||
			s.p.BenchG > 0 && s.grams[m] > s.p.BenchG {
			return false
		}
	}
	return true
}

// freeBefore counts the hand-minutes free for elastic work before a minute.
func (s *search) freeBefore(minute int) int {
	n := 0
	for m := range minute {
		n += s.benchCap[m] - s.busy[m] - s.setups[m]
	}
	return n
}

// elastic works everything off as soon as hands are free, up to a minute: how
// much is left open, and the end of the last work done.
func (s *search) elastic(upTo int) (open, end int) {
	open = s.weigh
	for m := range upTo {
		open += s.released[m]
		done := min(open, s.benchCap[m]-s.busy[m]-s.setups[m])
		open -= done
		if done > 0 {
			end = m + 1
		}
	}
	return open, end
}

func (s *search) leaf(st partial) {
	open, end := s.elastic(s.last)
	if open+s.released[s.last] > 0 {
		return
	}
	end = max(end, st.blockEnd)
	kept := s.keep(nil)
	missed := 0
	for _, k := range kept {
		if k == -1 {
			missed++
		}
	}
	v := Vector{s.must, missed, s.should, end, st.cleaning}
	if !v.Less(s.best) {
		return
	}
	s.best = v
	s.plan = &day.Plan{
		Made: slices.Clone(s.made), Breaks: slices.Clone(s.breaks), Kept: kept,
		End: end, Cleaning: st.cleaning, ProvedBest: true,
	}
	for i, name := range []string{day.ObjMust, day.ObjAppoint, day.ObjShould, day.ObjEnd, day.ObjClean} {
		s.plan.Objectives = append(s.plan.Objectives, day.Objective{Name: name, Value: v[i], Bound: v[i]})
	}
}

// keep gives as many appointments as possible to boils, each at most one.
// Places from len(made) on stand for the boils still to come, which are poured
// no earlier than the minutes given.
func (s *search) keep(toCome []earliest) []int {
	p := s.p
	can := func(a, k int) bool {
		ap := p.Appoint[a]
		if k < len(s.made) {
			m := s.made[k]
			return m.Pour >= ap.At-ap.Early && m.Pour <= ap.At+ap.Late && (ap.Recipe == -1 || ap.Recipe == p.Boils[m.Boil].Recipe)
		}
		e := toCome[k-len(s.made)]
		return e.pour <= ap.At+ap.Late && (ap.Recipe == -1 || ap.Recipe == e.recipe)
	}
	var best []int
	bestKept := -1
	chosen := make([]int, len(p.Appoint))
	taken := make([]bool, len(s.made)+len(toCome))
	var try func(a, kept int)
	try = func(a, kept int) {
		if a == len(chosen) {
			if kept > bestKept {
				bestKept, best = kept, slices.Clone(chosen)
			}
			return
		}
		for k := range taken {
			if !taken[k] && can(a, k) {
				taken[k], chosen[a] = true, k
				try(a+1, kept+1)
				taken[k] = false
			}
		}
		chosen[a] = -1
		try(a+1, kept)
	}
	try(0, 0)
	return best
}

type earliest struct{ recipe, pour int }

// promising is false if no way to go on gets below the best plan so far.
func (s *search) promising(st partial) bool {
	var toCome []earliest
	kettle, busy := 0, 0
	for rec := range s.need {
		for _, i := range s.queue[rec][s.count[rec]:s.need[rec]] {
			b := &s.p.Boils[i]
			toCome = append(toCome, earliest{rec, st.kettleFree + b.Charge + b.Lit})
			kettle += b.Charge + b.Lit + b.Pour + b.Rinse
			least := 1 << 30
			for _, sh := range b.Shapes {
				n := b.Charge + b.Pour*b.PourHands
				for _, step := range sh.Steps {
					n += (step.To - step.From) * step.Hands
				}
				least = min(least, n)
			}
			busy += least
		}
	}
	// the kettle makes one after the other, then the last boil has its tail
	end := st.blockEnd
	if len(toCome) > 0 {
		tail := 1 << 30
		for rec := range s.need {
			for _, i := range s.queue[rec][s.count[rec]:s.need[rec]] {
				b := &s.p.Boils[i]
				for _, sh := range b.Shapes {
					after := (b.After + s.mostHands - 1) / s.mostHands
					tail = min(tail, sh.RollTo+b.Cool+after-b.Pour-b.Rinse)
				}
			}
		}
		end = max(end, st.kettleFree+kettle+tail)
	}
	// all the work there is needs the hands there are
	todo := s.weigh + s.afters + busy
	m := 0
	for ; todo > 0 && m < s.last; m++ {
		todo -= s.benchCap[m] - s.busy[m] - s.setups[m]
	}
	if todo > 0 {
		return false
	}
	end = max(end, m)
	if end > s.last {
		return false
	}
	missed := 0
	for _, k := range s.keep(toCome) {
		if k == -1 {
			missed++
		}
	}
	return Vector{s.must, missed, s.should, end, st.cleaning}.Less(s.best)
}

// key spells out all that the rest of the day can depend on: two partial days
// of the same key have the same futures at the same cost.
func (s *search) key(st partial) []byte {
	from := min(st.kettleFree, st.slabFree, st.rollsFree)
	last := -1
	if len(s.made) > 0 {
		last = s.made[len(s.made)-1].Boil
	}
	open, _ := s.elastic(from)
	k := append(s.words[:0], last, st.kettleFree, st.slabFree, st.rollsFree, st.blockEnd, st.cleaning, open, min(s.weigh, s.freeBefore(from)))
	k = append(k, s.count...)
	k = append(k, st.level...)
	places := len(k)
	for _, m := range s.made {
		mask := 0
		for a, ap := range s.p.Appoint {
			if m.Pour >= ap.At-ap.Early && m.Pour <= ap.At+ap.Late && (ap.Recipe == -1 || ap.Recipe == s.p.Boils[m.Boil].Recipe) {
				mask |= 1 << a
			}
		}
		k = append(k, mask)
	}
	slices.Sort(k[places:]) // which boil keeps which does not matter
	for m := from; m < st.blockEnd; m++ {
		machines := 0
		for i, on := range []bool{s.slab[m], s.hook[m], s.rolls[m]} {
			if on {
				machines |= 1 << i
			}
		}
		k = append(k, s.hotNeed[m], s.busy[m], s.setups[m], s.grams[m], s.released[m], machines)
	}
	k = append(k, s.released[st.blockEnd])
	s.words, s.bytes = k, s.bytes[:0]
	for _, n := range k {
		s.bytes = append(s.bytes, byte(n), byte(n>>8))
	}
	return s.bytes
}
