package day

import (
	"cmp"
	"context"
	"slices"
)

// search runs through the labels count by count of boils made, least first.
type search struct {
	in    *instance
	b     *bounds
	ctx   context.Context
	beam  int // labels kept of each count, 0: all
	late  int // minutes a pour may wait past the first that fits, in a beam; 0: any
	limit int // labels made before giving up

	all  []*label
	seen int // labels made, kept or not
	last struct {
		placed     Placed
		parent     int32
		taken, met uint64
		bound      vector
		ok         bool
	} // the bound computed last
	buckets map[int64][]int32
	layers  [][]int64 // keys of each count, in order of appearance

	best    vector
	haveOwn bool // best is of leaf and ending
	leaf    int32
	ending  ending

	stopped bool   // by clock or budget
	left    bool   // open is known
	open    vector // no plan beats it; of a stopped search over all labels
	cut     bool   // the beam dropped labels
}

func newSearch(ctx context.Context, in *instance, b *bounds, o Options) *search {
	s := &search{in: in, b: b, ctx: ctx, limit: o.MaxLabels, buckets: map[int64][]int32{}, leaf: -1}
	if s.limit <= 0 {
		s.limit = defaultLabels
	}
	const none = 1 << 30
	s.best = vector{none, none, none, none, none}
	if len(o.Upper) == len(s.best) {
		copy(s.best[:], o.Upper)
	}
	return s
}

func (in *instance) key(l *label) int64 {
	return int64(l.code)*int64(len(in.order)+1) + int64(l.recipe+1)
}

// counts unpacks the mixed-radix code; the answer is shared.
func (in *instance) counts(code int32) []int {
	if out, ok := in.counted[code]; ok {
		return out
	}
	out := make([]int, len(in.order))
	for r, o := range in.order {
		out[r] = int(code) / in.stride[r] % (len(o) + 1)
	}
	in.counted[code] = out
	return out
}

func (s *search) run() {
	in := s.in
	root := &label{parent: -1, recipe: -1, kept: -1, levels: in.levels}
	root.placed = Placed{Boil: -1, Pour: -1}
	s.layers = make([][]int64, len(in.p.Boils)+2)
	s.add(root)
	for n := range in.p.Boils {
		s.layer(n)
		if s.stopped {
			return
		}
	}
	s.layer(len(in.p.Boils))
}

// layer ends and extends every living label with n boils made.
func (s *search) layer(n int) {
	slices.Sort(s.layers[n])
	var ids []int32
	for _, k := range s.layers[n] {
		ids = append(ids, s.buckets[k]...)
		delete(s.buckets, k)
	}
	for _, id := range ids {
		s.end(id)
	}
	slices.SortStableFunc(ids, func(a, b int32) int {
		x, y := s.all[a].bound, s.all[b].bound
		for i := range x {
			if c := cmp.Compare(x[i], y[i]); c != 0 {
				return c
			}
		}
		return 0
	})
	if s.beam > 0 {
		ids = s.narrow(ids)
	}
	for i, id := range ids {
		if i%64 == 0 && s.ctx.Err() != nil || s.seen >= s.limit {
			s.stopped = true
			s.leave(ids[i:])
			return
		}
		if s.all[id].bound.less(s.best) {
			s.extendAll(id)
		}
	}
}

// leave notes what the labels not extended could still lead to.
func (s *search) leave(ids []int32) {
	if s.cut {
		return
	}
	s.open, s.left = s.best, true
	note := func(id int32) {
		if b := s.all[id].bound; b.less(s.open) {
			s.open = b
		}
	}
	for _, id := range ids {
		note(id)
	}
	for _, bucket := range s.buckets {
		for _, id := range bucket {
			note(id)
		}
	}
}

// narrow keeps the first labels of every set of breaks taken and appointments met:
// waiting for a clock looks bad until it pays.
func (s *search) narrow(ids []int32) []int32 {
	type clock struct{ taken, met uint64 }
	seen := map[clock]int{}
	out := ids[:0]
	for _, id := range ids {
		c := clock{s.all[id].taken, s.all[id].met}
		if seen[c]++; seen[c] > s.beam {
			s.cut = true
			continue
		}
		out = append(out, id)
	}
	return out
}

// end ends the day after a label and keeps it if it is the best.
func (s *search) end(id int32) {
	l, in := s.all[id], s.in
	if l.made > 0 && !in.mayEnd(int(l.recipe)) {
		return
	}
	count := in.counts(l.code)
	v := vector{vAppoint: in.missed(l)}
	v[vMust], v[vShould] = in.lines(count)
	total := 0
	for r, c := range count {
		for _, b := range in.order[r][:c] {
			total += in.p.Boils[b].Weigh + in.p.Boils[b].After
		}
	}
	v[vEnd] = l.done
	v[vClean] = l.clean
	if !v.less(s.best) {
		return
	}
	e := in.finish(l, total, in.last)
	if !e.ok {
		return
	}
	v[vEnd] = e.end
	if v.less(s.best) {
		s.best, s.leaf, s.ending, s.haveOwn = v, id, e, true
	}
}

func (s *search) extendAll(id int32) {
	l, in := s.all[id], s.in
	count := in.counts(l.code)
	e := &extender{in: in, from: l, ask: s.hopeful, emit: func(n *label) bool {
		n.parent = id
		return s.add(n)
	}}
	e.need = 0
	for r, c := range count {
		for _, b := range in.order[r][:c] {
			e.need += in.p.Boils[b].Weigh
		}
	}
	for r, o := range in.order {
		if count[r] == len(o) || in.tooLate(r, count) {
			continue
		}
		e.boil = o[count[r]]
		e.b = &in.p.Boils[e.boil]
		least, ok := in.allowed(int(l.recipe), r, count[r] == 0)
		if !ok {
			continue
		}
		e.preps = in.preps(e.preps[:0], l.levels, in.mounted(l.placed.Boil), e.boil, least, l.code+int32(in.stride[r]))
		for _, w := range e.preps {
			s.prepare(e, w)
		}
	}
}

// prepare tries every pour of a boil after its preparations.
func (s *search) prepare(e *extender, w prep) {
	l, in, p := e.from, s.in, s.in.p
	e.prep = w
	e.cl = l.clean + w.cost
	need := e.need
	e.need += e.b.Weigh
	for k, tm := range in.tmpl[e.boil] {
		e.tm = tm
		shape := &e.b.Shapes[tm.shape]
		t := max(l.kettle+w.kettle+e.b.Charge+e.b.Lit, l.slab)
		if d := p.ActMin[w.act]; d > 0 {
			t = max(t, l.act+d)
		}
		if w.rolls > 0 {
			t = max(t, l.rolls+w.rolls-shape.RollFrom)
		}
		e.late, e.first = s.late, e.first[:0]
		for t = e.next(t); t+tm.end <= in.last; t = e.next(t + 1) {
			if s.hopeless(e, k, t) {
				break
			}
			e.announced = s.late > 0 && s.b.announced(l.met, e.b.Recipe, t)
			e.extend(t)
			if s.settled(e, t) {
				break
			}
		}
	}
	s.cut = s.cut || e.cut
	e.need = need
}

// add keeps a copy of a label unless it cannot beat the best or another one
// dominates it; it reports whether the label could be part of a plan.
func (s *search) add(l *label) bool {
	in := s.in
	s.seen++
	if l.placed.Boil >= 0 {
		for q, b := range in.p.Breaks {
			if l.taken>>q&1 == 0 && l.pouredBy > b.To && l.done > b.To {
				return false
			}
		}
	}
	if !s.promising(l) {
		return false
	}
	k := in.key(l)
	bucket, known := s.buckets[k]
	for _, id := range slices.Backward(bucket) { // the latest are the most alike
		if s.dominates(s.all[id], l) {
			return true
		}
	}
	if !known {
		s.layers[l.made] = append(s.layers[l.made], k)
	}
	n := new(label)
	*n = *l
	n.levels, n.use, n.pending = slices.Clone(l.levels), slices.Clone(l.use), slices.Clone(l.pending)
	keep := bucket[:0]
	for _, id := range bucket {
		if !s.dominates(n, s.all[id]) {
			keep = append(keep, id)
		}
	}
	s.all = append(s.all, n)
	s.buckets[k] = append(keep, int32(len(s.all)-1))
	return true
}

// hopeful bounds a label that may yet keep an appointment by its own pour.
func (s *search) hopeful(l *label) bool {
	for q, a := range s.in.p.Appoint {
		t := l.placed.Pour
		if l.met>>q&1 == 0 && t >= a.At-a.Early && t <= a.At+a.Late {
			l.met |= 1 << q
		}
	}
	v, ok := s.b.of(l, s.in.counts(l.code))
	s.seen++
	return ok && v.less(s.best)
}

// promising bounds a label and reports whether it may beat the best. Labels that
// differ only in where the set-ups before them stand have the same bound.
func (s *search) promising(l *label) bool {
	p := l.placed
	p.ActFrom, p.RollsFrom = 0, 0
	if m := &s.last; m.placed != p || m.parent != l.parent || m.taken != l.taken || m.met != l.met || l.made == 0 {
		m.placed, m.parent, m.taken, m.met = p, l.parent, l.taken, l.met
		m.bound, m.ok = s.b.of(l, s.in.counts(l.code))
	}
	l.bound = s.last.bound
	return (s.last.ok || l.made == 0) && l.bound.less(s.best)
}

// hopeless reports whether a boil poured at t or later in its k-th shape can lead
// to nothing better than the best, by the time the boils still needed take.
func (s *search) hopeless(e *extender, k, t int) bool {
	code := e.from.code + int32(s.in.stride[e.b.Recipe])
	for i := range s.b.goals {
		g := &s.b.goals[i]
		v := vector{vMust: g.must, vAppoint: s.b.missed(e.from.met, t), vShould: g.should, vEnd: t, vClean: e.cl}
		if !v.less(s.best) {
			return true // goals come best first
		}
		if g.tab != nil {
			at := int(s.b.row[code])*s.b.ord.n + e.boil
			v[vEnd] += g.tab.time[at]
			v[vClean] += g.tab.clean[at]
		}
		if v[vEnd] > s.in.last || !v.less(s.best) {
			continue
		}
		if o := s.b.onward(i, code, e.boil, k, e.prep.levels); o != nil {
			least := cost{time: far, clean: far}
			for _, c := range o.plain {
				if c.time < least.time || c.time == least.time && c.clean < least.clean {
					least = c
				}
			}
			v[vEnd], v[vClean] = t+least.time, e.cl+least.clean
		}
		if v[vEnd] <= s.in.last && v.less(s.best) {
			return false
		}
	}
	return true
}

// settled reports whether every later pour of the same boil is only the same
// moved: nothing of the label's is still going on when the charge begins, the
// set-ups fit before it, all weighing of the day fits too, and the clock no
// longer matters.
func (s *search) settled(e *extender, t int) bool {
	l, in := e.from, s.in
	c := t - e.b.Lit - e.b.Charge - e.prep.kettle
	if l.front >= in.last || in.same[l.front] < in.last || l.taken != 1<<len(in.p.Breaks)-1 || c < max(l.busyTo(), l.act, l.rolls)+in.p.ActMin[e.prep.act]+e.prep.rolls {
		return false
	}
	for q, a := range in.p.Appoint {
		if l.met>>q&1 == 0 && a.At+a.Late >= t {
			return false
		}
	}
	free := l.cap - in.p.ActMin[e.prep.act] - e.prep.rolls
	for m := l.front; m < c && free < in.weigh; m++ {
		u := l.at(m)
		free += in.all[m] - u.hot() - u.setups()
	}
	return free >= in.weigh
}
