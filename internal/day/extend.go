package day

// extender makes all useful one-boil extensions of a label. It holds scratch
// that lives as long as the search.
type extender struct {
	in   *instance
	emit func(*label) bool // copies what it keeps; false if the label is no use

	ask func(*label) bool // whether a label may beat the best

	from *label
	boil int
	b    *Boil
	prep prep
	tm   template
	need int // elastic minutes wanted before the charge
	cl   int // cleaning minutes, the label's too

	late      int       // minutes waited after the first pour that leads on, 0: any
	announced bool      // an appointment can be kept at this minute
	first     []reached // first pours that lead on, by breaks taken
	cut       bool      // something was not tried for being late

	preps []prep

	proto label // what all extensions at one pour share
	ways  []way

	asked []asked

	past []use     // of the label in the making
	pend []release // the same

	free0, gap0 []int // free and gap without breaks

	buf  []use // minutes from from.front on, the new boil included, set-ups not
	free []int // clean hands left for set-ups
	gap  []int // hands left for elastic work, set-ups not yet taken off
	rel  []int // after-work released in the minute
}

// extend emits the extensions by boil with an act in one shape poured at t.
func (e *extender) extend(t int) {
	s := t - e.b.Lit - e.b.Charge
	if !e.fill(t, s) || !e.lay(t, s) {
		return
	}
	e.ways, e.asked = e.ways[:0], e.asked[:0]
	e.breaksFrom(t, s-e.prep.kettle, s, 0, nil)
	for i := range e.ways {
		e.send(&e.ways[i], t)
	}
}

// fill lays the boil over the label's minutes and checks hands and machines.
func (e *extender) fill(t, s int) bool {
	l, in, b := e.from, e.in, e.b
	base := l.front
	n := max(len(l.use), t+len(e.tm.use)-base, t+e.b.Shapes[e.tm.shape].RollFrom-base)
	if base+n > in.last {
		return false
	}
	e.buf = append(e.buf[:0], l.use...)
	for len(e.buf) < n {
		e.buf = append(e.buf, 0)
	}
	for m := s - e.prep.kettle; m < s; m++ {
		if u := e.buf[m-base]; u.hot()+u.setups() >= in.clean[m] {
			return false
		}
		e.buf[m-base] += oneSetup
	}
	for m := s; m < t; m++ {
		u := e.buf[m-base]
		h := u.hot()
		if m < s+b.Charge {
			h++
		} else if !in.adult[m] {
			return false
		}
		if m >= t-b.Watch {
			h++
		}
		if h > in.hot[m] || h+u.setups() > in.clean[m] {
			return false
		}
	}
	limit := in.p.BenchG
	for i, v := range e.tm.use {
		m := t + i
		u := e.buf[m-base] + v
		h := u.hot()
		if h > in.hot[m] || h+u.setups() > in.clean[m] || u&machines != 0 || limit > 0 && u.grams() > limit {
			return false
		}
		e.buf[m-base] = u
	}
	return true
}

// breaksFrom tries every set of breaks between the last pour and the minute the
// kettle is taken up again for the charge at s.
func (e *extender) breaksFrom(t, kettle, s, q int, placed []start) {
	l := e.from
	for ; q < len(e.in.p.Breaks); q++ {
		b := e.in.p.Breaks[q]
		if l.taken>>q&1 != 0 {
			continue
		}
		for at := max(b.From, l.pouredBy); at <= min(b.To, kettle-b.Minutes); at++ {
			if e.in.idle(l, at, at+b.Minutes) {
				e.breaksFrom(t, kettle, s, q+1, append(placed[:len(placed):len(placed)], start{q, at}))
			}
		}
	}
	taken := l.taken
	for _, q := range placed {
		taken |= 1 << q.which
	}
	if !e.tooLate(t, taken) && e.hope(t, taken) {
		e.setups(t, s, placed)
	}
}

// hope bounds what can come of a pour at t with some breaks taken, wherever the
// set-ups and those breaks stand.
func (e *extender) hope(t int, taken uint64) bool {
	for _, a := range e.asked {
		if a.taken == taken {
			return a.ok
		}
	}
	l, o := e.from, e.proto
	o.taken = taken
	if taken != 1<<len(e.in.p.Breaks)-1 {
		o.front = min(o.front, o.pouredBy)
	}
	o.placed = Placed{Boil: e.boil, Pour: t, Shape: e.tm.shape, Act: e.prep.act, RollsMin: e.prep.rolls, KettleClean: e.prep.clean}
	o.levels = e.prep.levels
	o.cap = l.cap - e.in.p.ActMin[e.prep.act] - e.prep.rolls
	for _, g := range e.gap0[:o.front-l.front] {
		o.cap += g
	}
	e.past = e.past[:0]
	if i := o.front - l.front; i < len(e.buf) {
		e.past = append(e.past, e.buf[i:]...)
	}
	o.use = e.past
	ok := e.ask(&o)
	e.asked = append(e.asked, asked{taken, ok})
	return ok
}

// asked is an answer of the bounds for one set of breaks taken.
type asked struct {
	taken uint64
	ok    bool
}

// lay counts the hands that are free, without breaks and set-ups, up to the last
// minute the extension decides about; false if that is past the day.
func (e *extender) lay(t, s int) bool {
	l, in, b := e.from, e.in, e.b
	base := l.front
	shape := &b.Shapes[e.tm.shape]
	n := label{
		made: l.made + 1, recipe: int32(b.Recipe), code: l.code + int32(in.stride[b.Recipe]),
		kettle: t + b.Pour + b.Rinse, slab: t + shape.SlabFree, rolls: t + shape.RollTo, pouredBy: t + b.Pour,
		done: max(l.done, t+e.tm.end), met: l.met, clean: e.cl, kept: -1,
	}
	n.act = n.slab
	if shape.HookTo > shape.HookFrom {
		n.act = max(n.act, t+shape.HookTo)
	}
	n.front = min(n.kettle, n.act, n.rolls)
	e.proto = n
	last := max(n.front, t, t+shape.RollFrom)
	if last > in.last {
		return false
	}
	e.free0, e.gap0 = e.free0[:0], e.gap0[:0]
	for m := base; m < last; m++ {
		var u use
		if m-base < len(e.buf) {
			u = e.buf[m-base]
		}
		h, w := u.hot(), 0
		if m >= s && m < s+b.Charge {
			h++
		}
		if m >= t-b.Watch && m < t {
			w++
		}
		e.free0, e.gap0 = append(e.free0, in.clean[m]-h-w-u.setups()), append(e.gap0, in.all[m]-h-u.setups())
	}
	return true
}

// releases lays out the after-work that opens before a minute and returns its sum.
func (e *extender) releases(front int) int {
	e.rel = append(e.rel[:0], make([]int, front-e.from.front)...)
	work := 0
	for _, r := range e.from.pending {
		if r.at < front {
			e.rel[r.at-e.from.front] += r.work
			work += r.work
		}
	}
	return work
}

// send emits the label of a placement.
func (e *extender) send(w *way, t int) {
	l, shape := e.from, &e.b.Shapes[e.tm.shape]
	o := &e.proto
	o.front, o.taken, o.breaks, o.cap, o.backlog = w.front, w.taken, w.breaks, w.cap, w.backlog
	o.placed = Placed{Boil: e.boil, Pour: t, Shape: e.tm.shape, Act: e.prep.act, ActFrom: w.x, RollsFrom: w.y, RollsMin: e.prep.rolls, KettleClean: e.prep.clean}
	o.levels = e.prep.levels
	e.past = e.rest(e.past[:0], o.front, w.y)
	o.use = e.past
	pend := l.pending
	for len(pend) > 0 && pend[0].at < o.front {
		pend = pend[1:]
	}
	e.pend = insertRelease(e.pend[:0], pend, release{t + shape.RollTo + e.b.Cool, e.b.After})
	o.pending = e.pend
	e.appoint(o, t)
}

// rest appends the minutes from front on with the rolls work in them.
func (e *extender) rest(out []use, front, y int) []use {
	if i := front - e.from.front; i < len(e.buf) {
		out = append(out, e.buf[i:]...)
	}
	for m := max(y, front); m < y+e.prep.rolls; m++ {
		for m-front >= len(out) {
			out = append(out, 0)
		}
		out[m-front] += oneSetup
	}
	for len(out) > 0 && out[len(out)-1] == 0 {
		out = out[:len(out)-1]
	}
	return out
}

// appoint emits the label for every appointment its boil may keep, or for none
// if there is no such appointment.
func (e *extender) appoint(o *label, t int) {
	any, use, met := false, false, o.met
	for q, a := range e.in.p.Appoint {
		if met>>q&1 == 0 && t >= a.At-a.Early && t <= a.At+a.Late && (a.Recipe < 0 || a.Recipe == e.b.Recipe) {
			any = true
			o.met, o.kept = met|1<<q, int32(q)
			use = e.emit(o) || use
		}
	}
	o.met, o.kept = met, -1
	if !any {
		use = e.emit(o)
	}
	if use {
		e.reached(t, o.taken)
	}
}

// insertRelease appends rs with r in its place.
func insertRelease(out, rs []release, r release) []release {
	if r.work == 0 {
		return append(out, rs...)
	}
	i := 0
	for ; i < len(rs) && rs[i].at <= r.at; i++ {
		out = append(out, rs[i])
	}
	out = append(out, r)
	return append(out, rs[i:]...)
}
