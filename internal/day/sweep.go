package day

import (
	"slices"

	"slabside/internal/fault"
)

// job is elastic work of one boil.
type job struct {
	kind string
	boil int
	from int // open from
	by   int // to be done by; −1 never late
	left int // hand-minutes
}

// Sweep lays out the elastic work of a plan: in every minute the free hands first
// weigh, in the order of the pours, then break, sieve, finish and pack, in the
// order in which sheets are cool. No hand is idle while work is open, so the last
// slot ends when the work does. Internal: the plan leaves too few hands.
func Sweep(p *Problem, plan *Plan) ([]Slot, error) {
	r := newReplay(p, plan)
	var jobs []job
	for _, m := range plan.Made {
		b := &p.Boils[m.Boil]
		jobs = append(jobs, job{SlotWeigh, m.Boil, 0, r.start(m), b.Weigh})
	}
	afters := make([]job, 0, len(plan.Made))
	for _, m := range plan.Made {
		b := &p.Boils[m.Boil]
		afters = append(afters, job{SlotAfter, m.Boil, m.Pour + b.Shapes[m.Shape].RollTo + b.Cool, -1, b.After})
	}
	slices.SortStableFunc(afters, func(a, b job) int { return a.from - b.from })
	jobs = append(jobs, afters...)

	var slots []Slot
	for m := range r.hot {
		free := r.free(m)
		for i := range jobs {
			j := &jobs[i]
			if free <= 0 {
				break
			}
			if j.left == 0 || m < j.from {
				continue
			}
			if j.by >= 0 && m >= j.by {
				return nil, fault.Internal(nil, "boil %s is not weighed in by its charge", p.Boils[j.boil].ID)
			}
			hands := min(free, j.left)
			j.left -= hands
			free -= hands
			slots = appendSlot(slots, Slot{j.kind, j.boil, m, m + 1, hands})
		}
	}
	for _, j := range jobs {
		if j.left > 0 {
			return nil, fault.Internal(nil, "the plan leaves too few hands for boil %s", p.Boils[j.boil].ID)
		}
	}
	slices.SortStableFunc(slots, func(a, b Slot) int { return a.From - b.From })
	return slots, nil
}

// appendSlot adds a minute, to the slot it continues if there is one.
func appendSlot(slots []Slot, s Slot) []Slot {
	for i := len(slots) - 1; i >= 0 && i >= len(slots)-8; i-- {
		o := &slots[i]
		if o.Kind == s.Kind && o.Boil == s.Boil && o.Hands == s.Hands && o.To == s.From {
			o.To = s.To
			return slots
		}
	}
	return append(slots, s)
}
