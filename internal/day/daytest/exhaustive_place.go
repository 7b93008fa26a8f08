package daytest

import (
	"slices"

	"slabside/internal/day"
)

// pourAt places one boil if machines, bench and hot hands allow it, and goes
// on to its set-ups.
func (s *search) pourAt(st partial, level, kettle []int, pl day.Placed) {
	b := &s.p.Boils[pl.Boil]
	sh := &b.Shapes[pl.Shape]
	t := pl.Pour
	next := partial{
		kettleFree: t + b.Pour + b.Rinse,
		slabFree:   t + sh.SlabFree,
		rollsFree:  t + sh.RollTo,
		pair:       b.Rolls,
		level:      level,
		kettle:     kettle,
		soiled:     st.soiled,
		weighed:    st.weighed + b.Weigh,
		cleaning:   st.cleaning + s.p.ActMin[pl.Act],
	}
	charge := t - b.Lit - b.Charge
	kettleFrom := charge
	if pl.KettleClean {
		kettleFrom -= s.p.KettleMin
		next.cleaning += s.p.KettleMin
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
		if st.soiled[b.Rolls] {
			pl.RollsMin += s.p.RollsMin[day.AllergenClean]
			next.cleaning += s.p.RollsMin[day.AllergenClean]
		}
		next.soiled = s.exchanged(st, b.Rolls)
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
		add(s.setups, kettleFrom, charge, 1)
		add(s.hotNeed, charge, t-b.Lit, 1)
		add(s.busy, charge, t-b.Lit, 1)
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
	if !s.fits(kettleFrom, end) {
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
			if s.freeBefore(charge) >= next.weighed {
				s.grow(next)
			}
		})
	})
}

// exchanged returns which pairs are soiled once a pair has gone on.
func (s *search) exchanged(st partial, on int) []bool {
	soiled := slices.Clone(st.soiled)
	soiled[on] = false
	if st.pair == -1 {
		return soiled
	}
	soiled[st.pair] = false
	for c, ch := range s.p.Channels {
		soiled[st.pair] = soiled[st.pair] || ch.Allergen && st.level[c] > 0
	}
	return soiled
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
