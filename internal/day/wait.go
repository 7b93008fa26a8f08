package day

// tooLate reports whether a quick pass has waited long enough with these breaks
// taken. An announced pour is waited for.
func (e *extender) tooLate(t int, taken uint64) bool {
	if e.late == 0 || e.announced {
		return false
	}
	for _, f := range e.first {
		if f.taken == taken && t > f.at+e.late {
			e.cut = true
			return true
		}
	}
	return false
}

// next is the next minute a quick pass tries from t on: soon after the first pour
// that leads on, when a break can be taken before it, and when it is announced.
// It is past the day if there is none.
func (e *extender) next(t int) int {
	if e.late == 0 || len(e.first) == 0 {
		return t
	}
	p, l, never := e.in.p, e.from, e.in.last+1
	best := never
	had := l.taken
	for _, f := range e.first {
		if t <= f.at+e.late {
			return t
		}
		had |= f.taken
	}
	for q, b := range p.Breaks {
		at := max(b.From, l.pouredBy)
		if lead := b.Minutes + e.prep.kettle + e.b.Charge + e.b.Lit; had>>q&1 == 0 && at <= b.To && t <= b.To+lead+e.late {
			best = min(best, max(t, at+lead))
		}
	}
	for q, a := range p.Appoint {
		if from := a.At - a.Early; l.met>>q&1 == 0 && (a.Recipe < 0 || a.Recipe == e.b.Recipe) && t < from+announcedMin {
			best = min(best, max(t, from))
		}
	}
	if best > t {
		e.cut = true
	}
	return best
}

// reached notes the first pour with these breaks taken.
func (e *extender) reached(t int, taken uint64) {
	for _, f := range e.first {
		if f.taken == taken {
			return
		}
	}
	e.first = append(e.first, reached{taken, t})
}

type reached struct {
	taken uint64
	at    int
}
