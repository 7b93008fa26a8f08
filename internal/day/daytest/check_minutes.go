package daytest

// inBreak says whether a break runs in a minute.
func (r *replay) inBreak(minute int) bool {
	for i, start := range r.plan.Breaks {
		if start >= 0 && within(minute, start, start+r.p.Breaks[i].Minutes) {
			return true
		}
	}
	return false
}

// minutes replays the day: machines, hands, flame, bench and elastic work.
func (r *replay) minutes() {
	p, n := r.p, len(r.plan.Made)
	weigh := make([]int, n) // hand-minutes still to do
	after := make([]int, n)
	for k := range n {
		weigh[k], after[k] = r.block(k).boil.Weigh, r.block(k).boil.After
	}
	r.end = 0
	for k := range n {
		r.end = max(r.end, r.blockEnd(k))
	}

	for minute := range r.last {
		var kettle, slab, hook, rolls, flames, grams int
		var hot, charge, watch, setups int
		for k := range n {
			b := r.block(k)
			if within(minute, b.kettleFrom(), b.kettleTo()) {
				kettle++
			}
			if within(minute, b.kettleFrom(), b.chargeFrom()) {
				setups++
			}
			if within(minute, b.Pour, b.slabTo()) {
				slab++
			}
			if within(minute, b.Pour+b.shape.HookFrom, b.Pour+b.shape.HookTo) {
				hook++
			}
			if within(minute, b.Pour+b.shape.RollFrom, b.rollsTo()) {
				rolls++
			}
			if within(minute, b.litFrom(), b.Pour) {
				flames++
			}
			if within(minute, b.Pour+b.shape.RollFrom, b.cool()) {
				grams += b.boil.BenchG
			}
			if within(minute, b.chargeFrom(), b.litFrom()) {
				charge++
			}
			if within(minute, b.Pour-b.boil.Watch, b.Pour) {
				watch++
			}
			if within(minute, b.Pour, b.Pour+b.boil.Pour) {
				hot += b.boil.PourHands
			}
			for _, s := range b.shape.Steps {
				if within(minute, b.Pour+s.From, b.Pour+s.To) {
					hot += s.Hands
				}
			}
			if m := p.ActMin[b.Act]; m > 0 && within(minute, b.ActFrom, b.ActFrom+m) {
				setups++
			}
			if b.RollsMin > 0 && within(minute, b.RollsFrom, b.RollsFrom+b.RollsMin) {
				setups++
			}
			// the boil's own weighing must be done when its charge begins
			if minute == b.chargeFrom() && weigh[k] > 0 {
				r.add(CodeWeigh, minute, "boil %d has %d hand-minutes to weigh", b.Placed.Boil, weigh[k])
			}
		}
		if kettle > 1 {
			r.add(CodeKettle, minute, "%d boils", kettle)
		}
		if slab > 1 {
			r.add(CodeSlab, minute, "%d boils", slab)
		}
		if hook > 1 {
			r.add(CodeHook, minute, "%d boils", hook)
		}
		if rolls > 1 {
			r.add(CodeRolls, minute, "%d boils", rolls)
		}
		if flames > 1 {
			r.add(CodeFlames, minute, "%d flames", flames)
		}
		if p.BenchG > 0 && grams > p.BenchG {
			r.add(CodeBench, minute, "%d g on a bench for %d g", grams, p.BenchG)
		}

		var adults, presentHot, presentClean, presentBench int
		for _, h := range p.Hands {
			here := false
			for _, s := range h.Present {
				here = here || within(minute, s.From, s.To)
			}
			if !here {
				continue
			}
			if h.Adult {
				adults++
			}
			if h.Hot {
				presentHot++
			}
			if h.Hot || h.Clean {
				presentClean++
			}
			presentBench++
		}
		if flames > 0 && adults == 0 {
			r.add(CodeAdult, minute, "no adult in the room")
		}
		if r.inBreak(minute) {
			if flames > 0 {
				r.add(CodeBreakFlame, minute, "a flame is lit")
			}
			if hot+charge+setups > 0 {
				r.add(CodeBreakWork, minute, "%d at hot work, %d charging, %d at set-ups", hot, charge, setups)
			}
			continue // no elastic work
		}
		if hot+charge+watch > presentHot {
			r.add(CodeHot, minute, "%d needed, %d there", hot+charge+watch, presentHot)
		}
		if hot+charge+watch+setups > presentClean {
			r.add(CodeClean, minute, "%d needed, %d there", hot+charge+watch+setups, presentClean)
		}
		free := presentBench - hot - charge - setups
		for free > 0 {
			k := nextWork(weigh, after, func(k int) bool { return minute >= r.block(k).cool() })
			if k < 0 {
				break
			}
			if weigh[k] > 0 {
				weigh[k]--
			} else {
				after[k]--
			}
			free--
			r.end = max(r.end, minute+1)
		}
	}
	for k := range n {
		if weigh[k]+after[k] > 0 {
			r.add(CodeUndone, r.last, "boil %d leaves %d hand-minutes", r.block(k).Placed.Boil, weigh[k]+after[k])
			r.end = -1
		}
	}
}

// nextWork returns the boil a free hand works for: weighing in pour order,
// which has deadlines, then after-work that is open; −1 if there is nothing.
func nextWork(weigh, after []int, cool func(k int) bool) int {
	for k := range weigh {
		if weigh[k] > 0 {
			return k
		}
	}
	for k := range after {
		if after[k] > 0 && cool(k) {
			return k
		}
	}
	return -1
}
