package day

import "math/bits"

// ending is how a label's day ends when nothing more is boiled.
type ending struct {
	end    int
	breaks []start
	ok     bool
}

// finish ends the day after a label: the breaks still to come and the first
// minute by which all is done, at most limit. total is the elastic work of
// everything made.
func (in *instance) finish(l *label, total, limit int) ending {
	if l.made == 0 {
		return ending{ok: true}
	}
	best := ending{end: limit + 1}
	in.finishWith(l, total, nil, &best)
	best.ok = best.end <= limit
	return best
}

func (in *instance) finishWith(l *label, total int, placed []start, best *ending) {
	end := in.endWith(l, total, placed, best.end)
	if end >= best.end {
		return
	}
	taken := l.taken
	for _, s := range placed {
		taken |= 1 << s.which
	}
	for q, b := range in.p.Breaks {
		if taken>>q&1 != 0 || end <= b.To {
			continue
		}
		for at := max(b.From, l.pouredBy); at <= b.To; at++ {
			if in.idle(l, at, at+b.Minutes) {
				in.finishWith(l, total, append(placed[:len(placed):len(placed)], start{q, at}), best)
			}
		}
		return
	}
	*best = ending{end: end, breaks: placed}
}

// idle reports whether no hot work and no set-up of the label is in [from, to).
func (in *instance) idle(l *label, from, to int) bool {
	for m := from; m < to; m++ {
		if u := l.at(m); u.hot() != 0 || u.setups() != 0 {
			return false
		}
	}
	return true
}

// endWith returns the end of the work with these breaks, or limit if it is not
// before that.
func (in *instance) endWith(l *label, total int, breaks []start, limit int) int {
	free, backlog, next := l.cap, l.backlog, 0
	for m := l.front; m < limit; m++ {
		if m >= l.done && free >= total && backlog == 0 && next == len(l.pending) {
			return m
		}
		if m >= in.last {
			return limit
		}
		for next < len(l.pending) && l.pending[next].at <= m {
			backlog += l.pending[next].work
			next++
		}
		u := l.at(m)
		c := in.all[m] - u.hot() - u.setups()
		for _, s := range breaks {
			if m >= s.at && m < s.at+in.p.Breaks[s.which].Minutes {
				c = 0
			}
		}
		free += c
		backlog = max(0, backlog-c)
	}
	return limit
}

// missed counts the appointments a label has not kept.
func (in *instance) missed(l *label) int { return len(in.p.Appoint) - bits.OnesCount64(l.met) }
