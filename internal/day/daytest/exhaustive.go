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
// pour, of every set-up and of every break, and with or without a clean of the
// kettle before every boil. A branch is left only when it
// breaks the model already or when a count of minutes shows that it cannot get
// below the best plan so far, and a state that is the same to the last hand in
// the last minute as one already searched is not searched again. A kettle that
// holds no allergen is not cleaned: the same plan without that clean is better. No
// other plan is ever said to be as good as a different one. The plan is nil if even the
// empty day does not fit.
func Exhaustive(p *day.Problem) (Vector, *day.Plan) {
	return exhaustive(p, true)
}

// exhaustive searches with or without leaving out states met before and cleans
// of a clean kettle.
func exhaustive(p *day.Problem, short bool) (Vector, *day.Plan) {
	s := &search{p: p, short: short}
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
	short bool
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
	level, kettle                   []int  // on the line, and of allergens in the kettle
	soiled                          []bool // pairs off the machine
	weighed                         int    // hand-minutes that had to be weighed
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
	kettle := make([]int, len(p.Channels))
	for c, l := range p.KettleLevels {
		if p.Channels[c].Allergen {
			kettle[c] = l
		}
	}
	s.grow(partial{pair: p.Mounted, level: level, kettle: kettle, soiled: make([]bool, len(p.Pairs))})
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
	if s.short {
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
			for _, clean := range []bool{false, true} {
				s.everyPour(st, level, day.Placed{Boil: boil, Act: act, KettleClean: clean})
			}
		}
	}
}

// everyPour places a boil in every shape and minute, if the kettle may be as it is.
func (s *search) everyPour(st partial, level []int, pl day.Placed) {
	b := &s.p.Boils[pl.Boil]
	first := st.kettleFree + b.Charge + b.Lit
	kettle := st.kettle
	if pl.KettleClean {
		if s.short && !slices.ContainsFunc(kettle, func(l int) bool { return l > 0 }) {
			return
		}
		kettle = make([]int, len(kettle))
		first += s.p.KettleMin
	}
	after := slices.Clone(kettle)
	for c, ch := range s.p.Channels {
		if kettle[c] > b.Limit[c] && ch.Allergen {
			return
		}
		if b.KettleEmit != nil && ch.Allergen {
			after[c] = max(after[c], b.KettleEmit[c])
		}
	}
	for pl.Shape = range b.Shapes {
		for pl.Pour = first; pl.Pour < s.last; pl.Pour++ {
			s.pourAt(st, level, after, pl)
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
