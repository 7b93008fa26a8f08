package day

import (
	"math/bits"
	"slices"
)

// reach holds, for one goal, what it takes at the least to get there from every
// set of boils made and every last boil.
type reach struct {
	time   []int   // minutes from the last pour to the end of the work
	pours  []int   // minutes from the last pour to the very last pour
	brk    [][]int // like time, with a break still to come between two pours
	clean  []int   // cleaning minutes
	setups []int   // hand-minutes of set-ups
	least  []int   // least of time by the number of the goal's boils still to make
}

// bounds is all that labels are bounded with.
type bounds struct {
	in     *instance
	goals  []goal
	ord    *orders
	row    []int32 // by count code
	pairs  *pairs
	labour []int // by boil: least hot hand-minutes, charge included
	sum    []int // hands present before the minute, all classes
	lose   []int // by break: hand-minutes it takes at the least
	apart  bool  // no two breaks can overlap
	most   room

	shortest int // least minutes from pour to pour
	opening  int // earliest first pour

	relax []*relax // by goal, the first few
}

// maxRelax is how many goals are bounded by the relaxed day.
const maxRelax = 4

// onward returns the ways on for a goal from a boil just poured, nil if unknown.
func (b *bounds) onward(goal int, code int32, boil, tm int, levels []int) *onward {
	if goal >= len(b.relax) {
		return nil
	}
	return b.relax[goal].after(code, boil, tm, levels)
}

const (
	maxTable     = 1 << 17 // sets of boils worth tables
	maxTableWork = 1 << 22 // steps of filling them
)

func (in *instance) newBounds() *bounds {
	b := &bounds{in: in, goals: in.newGoals(), pairs: in.newPairs(), apart: true}
	n := len(in.p.Boils)
	for i := range n {
		least := far
		for _, tm := range in.tmpl[i] {
			h := in.p.Boils[i].Charge
			for _, u := range tm.use {
				h += u.hot()
			}
			least = min(least, h)
		}
		b.labour = append(b.labour, least)
	}
	b.sum = make([]int, in.last+1)
	for m, h := range in.all {
		b.sum[m+1] = b.sum[m] + h
	}
	for i, q := range in.p.Breaks {
		least := far
		for at := q.From; at <= q.To; at++ {
			least = min(least, b.sum[min(at+q.Minutes, in.last)]-b.sum[min(at, in.last)])
		}
		b.lose = append(b.lose, least)
		for j, r := range in.p.Breaks {
			if i != j && q.From < r.To+r.Minutes && r.From < q.To+q.Minutes {
				b.apart = false
			}
		}
	}
	for m := range in.all {
		b.most.all = max(b.most.all, in.all[m])
		b.most.hot = max(b.most.hot, in.hot[m])
		b.most.clean = max(b.most.clean, in.clean[m])
	}
	if in.codes > maxTable || n > 64 || n == 0 {
		return b
	}
	b.ord = newOrders(n, in.mayCome(), maxTable)
	if b.ord == nil {
		return b
	}
	b.row = make([]int32, in.codes)
	for code := range b.row {
		row, ok := b.ord.row[in.setOf(in.counts(int32(code)))]
		if !ok {
			row = -1 // the rules never let it come to this
		}
		b.row[code] = row
	}
	b.shortest, b.opening = far, far
	for i, row := range b.pairs.time {
		b.opening = min(b.opening, in.p.Boils[i].Charge+in.p.Boils[i].Lit)
		for j, d := range row {
			if i != j {
				b.shortest = min(b.shortest, d)
			}
		}
	}
	for i := range b.goals {
		if i > 0 && (i+1)*len(b.ord.sets)*n*n > maxTableWork {
			break // later goals do with weaker bounds
		}
		b.goals[i].tab = b.newReach(in.setOf(b.goals[i].count))
	}
	b.drop()
	for i := range min(len(b.goals), maxRelax) {
		b.relax = append(b.relax, in.newRelax(b.goals[i].count, b.most))
	}
	return b
}

// drop forgets the goals that cannot be reached in the day at all.
func (b *bounds) drop() {
	root := &label{recipe: -1, placed: Placed{Boil: -1, Pour: -1}, levels: b.in.levels}
	none := make([]int, len(b.in.order))
	b.goals = slices.DeleteFunc(b.goals, func(g goal) bool {
		end, _ := b.goalOf(root, none, &g)
		return end > b.in.last
	})
}

// mayCome returns whether a boil can be next after a set of boils: those of one
// recipe in their order, and what the rules want before and first.
func (in *instance) mayCome() func(set uint64, boil int) bool {
	n := len(in.p.Boils)
	before, after := make([]uint64, n), make([]uint64, n) // sets that must be, and may not be, made already
	for r, list := range in.order {
		for k, i := range list {
			if k > 0 {
				before[i] = 1 << list[k-1]
			}
			for _, rule := range in.p.Rules {
				if rule.Kind == Before && rule.A == r && rule.B != r && len(in.order[rule.B]) > 0 {
					after[i] |= 1 << in.order[rule.B][0]
				}
			}
		}
	}
	return func(set uint64, i int) bool {
		if set == 0 {
			if _, ok := in.allowed(-1, in.p.Boils[i].Recipe, true); !ok {
				return false
			}
		}
		return before[i]&^set == 0 && after[i]&set == 0
	}
}

// setOf is the set of boils that counts make.
func (in *instance) setOf(count []int) uint64 {
	var set uint64
	for r, c := range count {
		for _, i := range in.order[r][:c] {
			set |= 1 << i
		}
	}
	return set
}

func (b *bounds) newReach(want uint64) *reach {
	q := b.pairs
	enough := func(set uint64, last int) bool {
		return want&^set == 0 && b.in.mayEnd(b.in.p.Boils[last].Recipe)
	}
	r := &reach{
		time:   b.ord.tails(q.time, q.tail, enough),
		pours:  b.ord.tails(q.time, q.zero, enough),
		clean:  b.ord.tails(q.clean, q.zero, enough),
		setups: b.ord.tails(q.hands, q.zero, enough),
	}
	n := b.ord.n
	for k := range q.brk {
		with := make([]int, len(r.time))
		for i := len(b.ord.sets) - 1; i >= 0; i-- {
			for last := range n {
				at := i*n + last
				with[at] = far
				if b.ord.sets[i]>>last&1 == 0 || enough(b.ord.sets[i], last) {
					continue
				}
				now, _ := b.ord.next(i, r.time, func(j int) int { return q.brk[k][last][j] })
				later, _ := b.ord.next(i, with, func(j int) int { return q.time[last][j] })
				with[at] = min(now, later)
			}
		}
		r.brk = append(r.brk, with)
	}
	r.least = make([]int, bits.OnesCount64(want)+1)
	for k := range r.least {
		r.least[k] = far
	}
	for at, c := range r.time {
		k := bits.OnesCount64(want &^ b.ord.sets[at/n])
		r.least[k] = min(r.least[k], c)
	}
	return r
}

// of returns a vector that no plan following from the label can beat, and
// whether there may be one at all.
func (b *bounds) of(l *label, count []int) (vector, bool) {
	in := b.in
	var best vector
	found := false
	for i := range b.goals {
		g := &b.goals[i]
		missed, floor := b.appointments(l, count, g)
		v := vector{vMust: g.must, vAppoint: missed, vShould: g.should}
		if found && best.less(v) {
			continue
		}
		end, clean := b.goalOf(l, count, g)
		if end > in.last {
			continue
		}
		v[vEnd], v[vClean] = max(end, floor), clean
		if found && !v.less(best) {
			continue
		}
		if l.placed.Boil >= 0 {
			if o := b.onward(i, l.code, l.placed.Boil, in.templateOf(l), l.levels); o != nil {
				v[vEnd], v[vClean] = b.along(l, o, max(end, floor), clean)
				if v[vEnd] > in.last && floor > end {
					// The others cannot all be kept.
					v[vAppoint]++
					v[vEnd], v[vClean] = b.along(l, o, end, clean)
				}
				if v[vEnd] > in.last {
					continue
				}
			}
		}
		if !found || v.less(best) {
			best, found = v, true
		}
	}
	return best, found
}

// along bounds the end and the cleaning by the ways on, none of which may end
// before end or clean less than clean.
func (b *bounds) along(l *label, o *onward, end, clean int) (int, int) {
	best := cost{time: far, clean: far}
	take := func(e, c int) {
		c = max(clean, l.clean+c)
		if e < best.time || e == best.time && c < best.clean {
			best = cost{time: e, clean: c}
		}
	}
	t := l.placed.Pour
	broken := -1 // a break that a plain way would run into
	for _, c := range o.plain {
		e := max(end, t+c.time)
		ok := true
		for q, r := range b.in.p.Breaks {
			if l.taken>>q&1 == 0 && t+c.time > r.To {
				broken, ok = q, false
			}
		}
		if ok {
			take(e, c.clean)
		}
	}
	if broken >= 0 {
		r := b.in.p.Breaks[broken]
		for _, c := range o.broken[broken] {
			if at := max(t+c.at, r.From); at <= r.To {
				take(max(end, t+c.time, at+c.rest), c.clean)
			}
		}
	}
	return best.time, best.clean
}

// goalOf bounds the end of the work and the cleaning when the goal is covered.
func (b *bounds) goalOf(l *label, count []int, g *goal) (end, clean int) {
	in := b.in
	end, clean = l.done, l.clean
	work, setups := 0, 0
	for r, o := range in.order {
		for _, i := range o[:max(count[r], g.count[r])] {
			work += in.p.Boils[i].Weigh + in.p.Boils[i].After
		}
		for k := count[r]; k < g.count[r]; k++ {
			work += b.labour[o[k]]
		}
	}
	if g.tab != nil {
		if l.placed.Boil < 0 {
			end = max(end, b.first(g))
		} else {
			at := int(b.row[l.code])*b.ord.n + l.placed.Boil
			end = max(end, l.placed.Pour+g.tab.time[at])
			clean += g.tab.clean[at]
			setups = g.tab.setups[at]
			for q, r := range in.p.Breaks {
				// Past this the break cannot come after the last pour any more.
				late := l.placed.Pour+g.tab.pours[at] >= r.To
				if l.taken>>q&1 == 0 && end > r.To && late {
					end = max(end, l.placed.Pour+g.tab.brk[q][at])
				}
			}
		}
	}
	if end >= far {
		return end, clean
	}
	work += setups - l.cap
	for _, u := range l.use {
		work += u.hot() + u.setups()
	}
	end = max(end, b.energy(l, work, end))
	return end, clean
}

// energy is the first minute by which hand-minutes can be done from the
// label's front on, beginning with end; breaks before the front are not counted.
func (b *bounds) energy(l *label, work, end int) int {
	in := b.in
	if l.front > in.last {
		return end
	}
	need := b.sum[l.front] + work
	for e := end; e <= in.last; e++ {
		lost := 0
		for q, r := range in.p.Breaks {
			if l.taken>>q&1 == 0 && e > r.To {
				// A break that runs past e still covers [r.To, e).
				gone := min(b.lose[q], b.sum[e]-b.sum[r.To])
				if b.apart {
					lost += gone
				} else {
					lost = max(lost, gone)
				}
			}
		}
		if b.sum[e] >= need+lost {
			return e
		}
	}
	return max(end, in.last+1)
}

// first bounds the end from the empty day.
func (b *bounds) first(g *goal) int {
	if bits.OnesCount64(b.in.setOf(g.count)) == 0 {
		return 0
	}
	end, _ := b.ord.next(0, g.tab.time, func(j int) int { return b.in.p.Boils[j].Charge + b.in.p.Boils[j].Lit })
	return end
}
