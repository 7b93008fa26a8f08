package day

// way is one placement of breaks and set-ups.
type way struct {
	x, y         int // starts of the act and of the rolls work
	front        int
	taken        uint64
	breaks       []start
	cap, backlog int
}

// setups tries every placement of the act and the rolls work beside some breaks,
// and keeps of those that look the same past the front the ones with most hands
// free before it and the least backlog.
func (e *extender) setups(t, s int, breaks []start) {
	l, in, b := e.from, e.in, e.b
	p := in.p
	base := l.front
	shape := &b.Shapes[e.tm.shape]
	d := p.ActMin[e.prep.act]

	w := way{front: e.proto.front, taken: l.taken, breaks: breaks}
	e.free, e.gap = append(e.free[:0], e.free0...), append(e.gap[:0], e.gap0...)
	for _, q := range breaks {
		w.taken |= 1 << q.which
		for m := max(q.at, base); m < q.at+p.Breaks[q.which].Minutes; m++ {
			e.free[m-base], e.gap[m-base] = 0, 0
		}
	}
	if w.taken != 1<<len(p.Breaks)-1 {
		w.front = min(w.front, e.proto.pouredBy)
	}
	toCharge, toFront := l.cap, l.cap
	for i, g := range e.gap[:w.front-base] {
		if i < s-base {
			toCharge += g
		}
		toFront += g
	}
	slack := toCharge - e.need
	if slack < 0 {
		return
	}
	work := e.releases(w.front)
	idle := e.backlogAt(w.front, -1, 0, -1, 0)
	yFrom, yTo := t, t
	if e.prep.rolls > 0 {
		yFrom, yTo = max(l.rolls, base), t+shape.RollFrom-e.prep.rolls
	}
	xFrom, xTo := t, t
	if d > 0 {
		xFrom, xTo = max(l.act, base), t-d
	}
	for y := yFrom; y <= yTo; y++ {
		if !e.fits(y, e.prep.rolls, -1, 0) {
			continue
		}
		ny := overlap(y, y+e.prep.rolls, base, s)
		if ny > slack {
			continue
		}
		before := overlap(y, y+e.prep.rolls, base, w.front)
		w.y, w.cap = y, toFront-d-before
		low := max(idle, l.backlog+work-(toFront-l.cap)+d+before)
		least := e.least(&w)
		for x := xFrom; x <= xTo && least > low; x++ {
			if ny+overlap(x, x+d, base, s) > slack || !e.fits(x, d, y, e.prep.rolls) {
				continue
			}
			if k := e.backlogAt(w.front, x, d, y, e.prep.rolls); k < least {
				least = k
				w.x, w.backlog = x, k
				e.keep(w)
			}
		}
	}
}

// same reports whether two placements are alike past the front.
func (e *extender) same(v, w *way) bool {
	return v.taken == w.taken && (v.y == w.y || v.y+e.prep.rolls <= v.front && w.y+e.prep.rolls <= w.front)
}

// least is the least backlog so far of a placement alike to w with no fewer
// hands free before the front.
func (e *extender) least(w *way) int {
	n := far
	for i := range e.ways {
		if v := &e.ways[i]; e.same(v, w) && v.cap >= w.cap {
			n = min(n, v.backlog)
		}
	}
	return n
}

// keep adds a placement and drops those alike that it beats.
func (e *extender) keep(w way) {
	n := e.ways[:0]
	for _, v := range e.ways {
		if !e.same(&v, &w) || v.cap > w.cap || v.backlog < w.backlog {
			n = append(n, v)
		}
	}
	e.ways = append(n, w)
}

// fits reports whether a set-up [x, x+d) finds a clean hand in every minute
// beside another one [y, y+w).
func (e *extender) fits(x, d, y, w int) bool {
	base := e.from.front
	for m := x; m < x+d; m++ {
		f := e.free[m-base]
		if m >= y && m < y+w {
			f--
		}
		if f < 1 {
			return false
		}
	}
	return true
}

// backlogAt runs the after-work up to a minute with two set-ups taken off.
func (e *extender) backlogAt(to, x, d, y, w int) int {
	base, q := e.from.front, e.from.backlog
	for m := base; m < to; m++ {
		c := e.gap[m-base]
		if m >= x && m < x+d {
			c--
		}
		if m >= y && m < y+w {
			c--
		}
		q = max(0, q+e.rel[m-base]-c)
	}
	return q
}

func overlap(a, b, c, d int) int { return max(0, min(b, d)-max(a, c)) }
