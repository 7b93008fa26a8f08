package day

import (
	"cmp"
	"slices"

	"slabside/internal/fault"
)

// class sorts work by the least hand that may do it.
type class int

const (
	hotClass class = iota
	cleanClass
	benchClass
)

// seat is work for one person over some minutes.
type seat struct {
	kind     string
	class    class
	boil     int
	from, to int
	holder   int // in the last minute, −1 nobody yet
}

// Assign names a person for every duty of a plan, minute by minute: whoever holds
// a duty keeps it while that leaves enough for the others, and the person who
// watches a boil has, where possible, charged it and sees it through the pour.
// The capacities of the model guarantee that it always comes out; a duty may be
// handed over where somebody comes, goes, or is needed at the sugar.
func Assign(p *Problem, plan *Plan) ([]Duty, error) {
	slots, err := Sweep(p, plan)
	if err != nil {
		return nil, err
	}
	r := newReplay(p, plan)
	seats := seatsOf(p, plan, slots)
	a := &assigner{p: p, r: r, lead: make([]int, len(p.Boils))}
	for i := range a.lead {
		a.lead[i] = -1
	}
	for m := range r.hot {
		if err := a.minute(m, seats); err != nil {
			return nil, err
		}
	}
	a.flames(plan)
	slices.SortStableFunc(a.duties, func(x, y Duty) int {
		return cmp.Or(x.From-y.From, x.Hand-y.Hand, cmp.Compare(x.Kind, y.Kind))
	})
	return a.duties, nil
}

// seatsOf lists all work for one person at a time.
func seatsOf(p *Problem, plan *Plan, slots []Slot) []seat {
	var out []seat
	add := func(kind string, c class, boil, from, to, hands int) {
		for range hands {
			if to > from {
				out = append(out, seat{kind, c, boil, from, to, -1})
			}
		}
	}
	for _, m := range plan.Made {
		b := &p.Boils[m.Boil]
		if m.KettleClean {
			charge := m.Pour - b.Lit - b.Charge
			add(DutyKettle, cleanClass, m.Boil, charge-p.KettleMin, charge, 1)
		}
		add(DutyCharge, hotClass, m.Boil, m.Pour-b.Lit-b.Charge, m.Pour-b.Lit, 1)
		add(DutyWatch, hotClass, m.Boil, m.Pour-b.Watch, m.Pour, 1)
		add(DutyPour, hotClass, m.Boil, m.Pour, m.Pour+b.Pour, b.PourHands)
		for _, st := range b.Shapes[m.Shape].Steps {
			add(string(st.Kind), hotClass, m.Boil, m.Pour+st.From, m.Pour+st.To, st.Hands)
		}
		add(map[Act]string{Wipe: DutyWipe, Wash: DutyWash, AllergenClean: DutyAllergen}[m.Act], cleanClass, m.Boil,
			m.ActFrom, m.ActFrom+p.ActMin[m.Act], 1)
		add(DutyRolls, cleanClass, m.Boil, m.RollsFrom, m.RollsFrom+m.RollsMin, 1)
	}
	for _, s := range slots {
		kind := DutyWeigh
		if s.Kind == SlotAfter {
			kind = DutyAfter
		}
		add(kind, benchClass, s.Boil, s.From, s.To, s.Hands)
	}
	return out
}

type assigner struct {
	p      *Problem
	r      *replay
	lead   []int // by boil: who is or was last at its kettle
	duties []Duty
}

func (a *assigner) present(h, m int) bool {
	if a.r.broken[m] >= 0 {
		return false
	}
	return slices.ContainsFunc(a.p.Hands[h].Present, func(s Span) bool { return s.From <= m && m < s.To })
}

// minute seats everybody for one minute: hot work first, since fewest may do it.
func (a *assigner) minute(m int, seats []seat) error {
	busy := make([]int, len(a.p.Hands)) // 0 free, 1 watching, 2 taken
	for c := hotClass; c <= benchClass; c++ {
		var open []*seat
		for i := range seats {
			s := &seats[i]
			if s.class == c && s.from <= m && m < s.to {
				open = append(open, s)
			}
		}
		// Those who hold their seat keep it.
		var rest []*seat
		for _, s := range open {
			if s.holder >= 0 && a.may(s, s.holder, m, busy) {
				a.take(s, s.holder, m, busy)
			} else {
				rest = append(rest, s)
			}
		}
		for _, s := range rest {
			h := a.choose(s, m, busy, seats)
			if h < 0 {
				return fault.Internal(nil, "nobody is left for %s of boil %s in minute %d", s.kind, a.p.Boils[s.boil].ID, m)
			}
			a.take(s, h, m, busy)
		}
	}
	return nil
}

func (a *assigner) may(s *seat, h, m int, busy []int) bool {
	hand := &a.p.Hands[h]
	switch {
	case !a.present(h, m), s.class == hotClass && !hand.Hot, s.class == cleanClass && !hand.Clean:
		return false
	case s.class == benchClass:
		return busy[h] < 2 // who watches may weigh and pack
	}
	return busy[h] == 0
}

// choose picks who is best for a new seat: for hot work the one at that boil's
// kettle, then whoever holds nothing else; for other work the least trained.
func (a *assigner) choose(s *seat, m int, busy []int, seats []seat) int {
	best, bestScore := -1, 0
	for h := range a.p.Hands {
		if !a.may(s, h, m, busy) {
			continue
		}
		hand := &a.p.Hands[h]
		score := 1
		if s.class == hotClass {
			if a.lead[s.boil] == h {
				score += 8
			}
			if !a.holds(h, m, seats) {
				score += 4
			}
		} else {
			if !hand.Hot {
				score += 8
			}
			if s.class == benchClass && !hand.Clean {
				score += 2
			}
			if busy[h] == 0 {
				score += 4
			}
		}
		if score > bestScore {
			best, bestScore = h, score
		}
	}
	return best
}

// holds reports whether a hand held a set-up in the minute before that still goes on.
func (a *assigner) holds(h, m int, seats []seat) bool {
	return slices.ContainsFunc(seats, func(s seat) bool {
		return s.class == cleanClass && s.holder == h && s.from < m && m < s.to
	})
}

func (a *assigner) take(s *seat, h, m int, busy []int) {
	if busy[h] = 2; s.kind == DutyWatch {
		busy[h] = 1
	}
	if s.kind == DutyCharge || s.kind == DutyWatch || s.kind == DutyPour && a.lead[s.boil] < 0 {
		a.lead[s.boil] = h
	}
	s.holder = h
	a.duties = appendDuty(a.duties, Duty{h, s.kind, s.boil, m, m + 1})
}

// appendDuty adds a minute, to the duty it continues if there is one.
func appendDuty(list []Duty, d Duty) []Duty {
	for i := len(list) - 1; i >= 0 && i >= len(list)-40; i-- {
		o := &list[i]
		if o.Hand == d.Hand && o.Kind == d.Kind && o.Boil == d.Boil && o.To == d.From {
			o.To = d.To
			return list
		}
	}
	return append(list, d)
}

// flames names the adult with every lit flame: who watches the boil, and before
// that, while present, the same person; another adult for the minutes in between.
func (a *assigner) flames(plan *Plan) {
	for _, m := range plan.Made {
		b := &a.p.Boils[m.Boil]
		watcher := make([]int, b.Lit)
		for i := range watcher {
			watcher[i] = -1
		}
		for _, d := range a.duties {
			if d.Kind == DutyWatch && d.Boil == m.Boil {
				for t := d.From; t < d.To; t++ {
					watcher[t-m.Pour+b.Lit] = d.Hand
				}
			}
		}
		next := a.lead[m.Boil]
		for i := len(watcher) - 1; i >= 0; i-- {
			if watcher[i] >= 0 {
				next = watcher[i]
				continue
			}
			t := m.Pour - b.Lit + i
			if next < 0 || !a.p.Hands[next].Adult || !a.present(next, t) {
				next = slices.IndexFunc(a.p.Hands, func(h Hand) bool {
					return h.Adult && slices.ContainsFunc(h.Present, func(s Span) bool { return s.From <= t && t < s.To })
				})
			}
			watcher[i] = next
		}
		for i, h := range watcher {
			if h >= 0 {
				t := m.Pour - b.Lit + i
				a.duties = appendDuty(a.duties, Duty{h, DutyFlame, m.Boil, t, t + 1})
			}
		}
	}
}
