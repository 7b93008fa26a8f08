package day

// announcedMin is for how many minutes a quick pass tries an announced pour.
const announcedMin = 3

// announced reports whether a pour at t is among the first minutes of the window
// of an appointment that is not met yet.
func (b *bounds) announced(met uint64, recipe, t int) bool {
	for q, a := range b.in.p.Appoint {
		from := a.At - a.Early
		if met>>q&1 == 0 && (a.Recipe < 0 || a.Recipe == recipe) && t >= from && t < min(from+announcedMin, a.At+a.Late+1) {
			return true
		}
	}
	return false
}

// appointments counts those that no day covering the goal after the label can
// keep, and bounds the end of such a day that keeps all the others.
func (b *bounds) appointments(l *label, count []int, g *goal) (missed, floor int) {
	in := b.in
	for q, a := range in.p.Appoint {
		if l.met>>q&1 != 0 {
			continue
		}
		tail := far // of the boils that could keep it
		if a.At+a.Late >= l.kettle {
			for r, o := range in.order {
				if a.Recipe >= 0 && a.Recipe != r {
					continue
				}
				for _, i := range o[count[r]:] {
					tail = min(tail, b.pairs.tail[i])
				}
			}
		}
		end := a.At - a.Early + tail
		if g.tab != nil && tail < far {
			end = max(end, b.around(l, count, g, a))
		}
		if end > in.last {
			missed++
		} else {
			floor = max(floor, end)
		}
	}
	return missed, floor
}

// around bounds the end of a day that keeps an appointment: some of the goal's
// boils are poured up to it, the others after it.
func (b *bounds) around(l *label, count []int, g *goal, a Appointment) int {
	left, more := 0, false
	for r, n := range g.count {
		left += max(0, n-count[r])
		more = more || len(b.in.order[r]) > max(n, count[r])
	}
	from := l.placed.Pour // of the last pour
	step := b.shortest
	if l.placed.Boil < 0 {
		from = b.opening - step // the first pour is not before b.opening
	}
	best := far
	for q := 0; q <= left; q++ { // of the goal's boils up to the appointment
		if q > 0 && from+q*step <= a.At+a.Late {
			best = min(best, max(from+q*step, a.At-a.Early)+g.tab.least[left-q])
		}
		// The appointment may also be kept by a boil beyond the goal.
		if more && from+(q+1)*step <= a.At+a.Late {
			best = min(best, max(from+(q+1)*step, a.At-a.Early)+g.tab.least[left-q])
		}
	}
	return best
}

// missed counts the appointments that are neither met nor can be by a pour after t.
func (b *bounds) missed(met uint64, t int) int {
	n := 0
	for q, a := range b.in.p.Appoint {
		if met>>q&1 == 0 && a.At+a.Late < t {
			n++
		}
	}
	return n
}
