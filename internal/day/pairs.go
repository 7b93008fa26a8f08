package day

// pairs holds what two boils in a row cost at the least, whatever else is
// going on: a relaxation that the orders of boils are bounded with.
type pairs struct {
	time  [][]int   // minutes from pour to pour
	brk   [][][]int // the same with a break between, by break
	clean [][]int   // cleaning minutes
	hands [][]int   // hand-minutes of set-ups
	tail  []int     // minutes from the pour to the end of the work
	zero  []int
}

// newPairs compares every two boils in every shape with every act.
func (in *instance) newPairs() *pairs {
	n := len(in.p.Boils)
	q := &pairs{zero: make([]int, n), tail: make([]int, n)}
	square := func() [][]int {
		out := make([][]int, n)
		for i := range out {
			out[i] = make([]int, n)
		}
		return out
	}
	q.time, q.clean, q.hands = square(), square(), square()
	for range in.p.Breaks {
		q.brk = append(q.brk, square())
	}
	most := room{}
	for m := range in.all {
		most.all = max(most.all, in.all[m])
		most.hot = max(most.hot, in.hot[m])
		most.clean = max(most.clean, in.clean[m])
	}
	for i := range n {
		q.tail[i] = in.tailOf(i, most.all)
		for j := range n {
			if i != j {
				in.pair(q, i, j, most)
			}
		}
	}
	return q
}

// room is the most hands of each class there are in any minute.
type room struct{ hot, clean, all int }

// tailOf is the least time from a boil's pour to the end of the work.
func (in *instance) tailOf(i, hands int) int {
	b := &in.p.Boils[i]
	best := far
	for _, tm := range in.tmpl[i] {
		e := tm.end
		if b.After > 0 && hands > 0 {
			e = max(e, b.Shapes[tm.shape].RollTo+b.Cool+(b.After+hands-1)/hands)
		}
		best = min(best, e)
	}
	return best
}

func (in *instance) pair(q *pairs, i, j int, most room) {
	p := in.p
	a, b := &p.Boils[i], &p.Boils[j]
	q.time[i][j], q.clean[i][j], q.hands[i][j] = far, far, far
	for k := range p.Breaks {
		q.brk[k][i][j] = far
	}
	least, ok := in.allowed(a.Recipe, b.Recipe, in.order[b.Recipe][0] == j)
	if !ok {
		return
	}
	kettle := 0
	for _, c := range in.allergen {
		if a.KettleEmit != nil && a.KettleEmit[c] > b.Limit[c] {
			kettle = p.KettleMin
		}
	}
	for act := least; act < nActs; act++ {
		if !in.mayFollow(a, b, act) {
			continue
		}
		d, rm := p.ActMin[act], p.RollsMin[act]
		cl := d + rm
		if a.Rolls != b.Rolls {
			rm = p.Pairs[b.Rolls].Mount
			cl = d
		}
		cl += kettle
		q.clean[i][j] = min(q.clean[i][j], cl)
		q.hands[i][j] = min(q.hands[i][j], d+rm+kettle)
		for _, s := range in.tmpl[i] {
			for _, t := range in.tmpl[j] {
				low := in.machineGap(a, b, &a.Shapes[s.shape], &b.Shapes[t.shape], d, rm, kettle)
				for gap := low; gap < q.time[i][j]; gap++ {
					if in.fitsPair(b, s.use, t.use, gap, kettle, most) {
						q.time[i][j] = gap
						break
					}
				}
				for k := range p.Breaks {
					for gap := max(low, a.Pour+p.Breaks[k].Minutes+kettle+b.Charge+b.Lit); gap < q.brk[k][i][j]; gap++ {
						if in.fitsPair(b, s.use, t.use, gap, kettle, most) && fitsBreak(a, s.use, gap-kettle-b.Charge-b.Lit, p.Breaks[k].Minutes) {
							q.brk[k][i][j] = gap
							break
						}
					}
				}
			}
		}
	}
}

// mayFollow reports whether b may be poured on what a alone leaves after act.
func (in *instance) mayFollow(a, b *Boil, act Act) bool {
	for c, ch := range in.p.Channels {
		if cleaned(a.Emit[c], act, ch.Allergen) > b.Limit[c] {
			return false
		}
	}
	return true
}

// machineGap is the least time between the pours for machines and set-ups.
func (in *instance) machineGap(a, b *Boil, s, t *Shape, act, rolls, kettle int) int {
	gap := max(a.Pour+a.Rinse+kettle+b.Charge+b.Lit, s.SlabFree)
	if act > 0 {
		free := s.SlabFree
		if s.HookTo > s.HookFrom {
			free = max(free, s.HookTo)
		}
		gap = max(gap, free+act)
	}
	if rolls > 0 {
		gap = max(gap, s.RollTo+rolls-t.RollFrom)
	}
	return gap
}

// fitsPair lays b's hands and machines gap minutes after a's, with a clean of the
// kettle between them.
func (in *instance) fitsPair(b *Boil, s, t []use, gap, kettle int, most room) bool {
	charge := gap - b.Lit - b.Charge
	for m := charge - kettle; m < min(charge, len(s)); m++ {
		if s[m].hot() >= most.clean {
			return false
		}
	}
	for m := charge; m < len(s); m++ {
		u := s[m]
		if m >= gap && m-gap < len(t) {
			u += t[m-gap]
		}
		h := u.hot()
		if m < gap-b.Lit {
			h++
		}
		if m >= gap-b.Watch && m < gap {
			h++
		}
		if h > most.hot || h > most.clean || u&machines != 0 || in.p.BenchG > 0 && u.grams() > in.p.BenchG {
			return false
		}
	}
	return true
}

// fitsBreak reports whether a break finds room after a's pour before a minute.
func fitsBreak(a *Boil, s []use, to, minutes int) bool {
	run := 0
	for m := a.Pour; m < to; m++ {
		if m < len(s) && s[m].hot() > 0 {
			run = 0
		} else {
			run++
		}
		if run >= minutes {
			return true
		}
	}
	return minutes == 0
}
