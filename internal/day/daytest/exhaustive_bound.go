package daytest

import "slices"

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
	k = append(k, st.kettle...)
	for pair, soiled := range st.soiled {
		if soiled {
			k = append(k, pair)
		}
	}
	k = append(k, -1)
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
