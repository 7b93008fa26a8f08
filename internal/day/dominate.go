package day

// dominates reports whether every plan that follows label b and beats the best
// has one that follows label a and is no worse. Both have the same boils made and
// the same last boil.
func (s *search) dominates(a, b *label) bool {
	if a.placed.Pour > b.placed.Pour || a.clean > b.clean || a.done > b.done ||
		a.taken&b.taken != b.taken || a.met&b.met != b.met {
		return false
	}
	for c, l := range a.levels {
		if l > b.levels[c] {
			return false
		}
	}
	d := b.placed.Pour - a.placed.Pour
	return s.in.beats(a, b, 0) || d > 0 && s.shiftable(a, b) && s.in.beats(a, b, d)
}

// shiftable reports whether what follows b may follow a as much earlier as a is:
// no appointment can be kept any more, and hands do not change until the day's
// work ends or a break begins. Only what comes before the first break is moved
// then; no boil's hot work runs over a break.
func (s *search) shiftable(a, b *label) bool {
	in := s.in
	for q, t := range in.p.Appoint {
		if a.met>>q&1 == 0 && t.At+t.Late > b.placed.Pour {
			return false
		}
	}
	until := in.last
	if b.bound[vMust] == s.best[vMust] && b.bound[vAppoint] == s.best[vAppoint] && b.bound[vShould] == s.best[vShould] {
		until = min(until, s.best[vEnd])
	}
	for q, r := range in.p.Breaks {
		if a.taken>>q&1 == 0 {
			if !in.whole {
				return false
			}
			until = min(until, r.To)
		}
	}
	return a.front < in.last && until <= in.same[a.front]
}

// beats compares a moved d minutes later with b minute by minute: all that
// follows b then follows a, d minutes earlier than after b. The d minutes
// gained at the end of the day or before a break, when all hands are free, count
// for a there, and so do the hands that b's own work takes after its front and a's does not.
func (in *instance) beats(a, b *label, d int) bool {
	// Kettle and last pour are as far apart as the pours: it is the same boil.
	if a.slab+d > b.slab || a.act+d > b.act || a.rolls+d > b.rolls {
		return false
	}
	if a.busyTo()+d > b.busyTo() || a.front+d > b.front {
		return false
	}
	front := b.front
	for i, v := range b.use {
		if !a.at(front + i - d).within(v) {
			return false
		}
	}
	// Advance a to b's front: its own work goes on, nothing new happens.
	free, backlog, next := a.cap, a.backlog, 0
	for m := a.front; m < front-d; m++ {
		for next < len(a.pending) && a.pending[next].at <= m {
			backlog += a.pending[next].work
			next++
		}
		u := a.at(m)
		c := in.all[m] - u.hot() - u.setups()
		free += c
		backlog = max(0, backlog-c)
	}
	// Free hands by the first minute a charge can begin after b.
	fa, fb := free, b.cap
	for m := front; m < min(b.kettle, b.busyTo()); m++ {
		fa += b.at(m).hands() - a.at(m-d).hands()
	}
	// Fewer will do if they are enough for all weighing even with the longest
	// set-ups of the next boil going on before it.
	if fa < fb && fa+in.between(front, b.kettle, b)-min(2*(b.kettle-front), in.longest) < in.weigh {
		return false
	}
	// Work released from r on, for every r from b's front; more is what b's own
	// work takes from r on and a's does not.
	more := 0
	for i, v := range b.use {
		more += v.hands() - a.at(front+i-d).hands()
	}
	if d > 0 {
		more += d * in.all[a.front]
	}
	if free+more < b.cap {
		return false
	}
	ta, tb := backlog, b.backlog
	for _, r := range a.pending[next:] {
		ta += r.work
	}
	for _, r := range b.pending {
		tb += r.work
	}
	if ta > tb+more {
		return false
	}
	ta -= backlog
	tb -= b.backlog
	j, m := 0, front
	for _, r := range a.pending[next:] {
		for j < len(b.pending) && b.pending[j].at < r.at+d {
			tb -= b.pending[j].work
			j++
		}
		for ; m < min(r.at+d, b.busyTo()); m++ {
			more -= b.at(m).hands() - a.at(m-d).hands()
		}
		if ta > tb+more {
			return false
		}
		ta -= r.work
	}
	return true
}

// between counts the hands free for elastic work from one minute to another
// beside a label's own work.
func (in *instance) between(from, to int, l *label) int {
	n := 0
	for m := from; m < min(to, in.last); m++ {
		n += in.all[m] - l.at(m).hands()
	}
	return n
}
