package daytest

import (
	"fmt"

	"slabside/internal/day"
)

// The codes of duties that cannot be.
const (
	CodeDutyIndex   = "duty_index"   // a hand or boil out of range, or an empty stretch
	CodeDutyAbsent  = "duty_absent"  // somebody at work who is not in the room
	CodeDutyClass   = "duty_class"   // somebody at work they may not do
	CodeDutyTwice   = "duty_twice"   // somebody in two places
	CodeDutyMissing = "duty_missing" // work with too few names, or too many
	CodeDutyFlame   = "duty_flame"   // a lit minute without a named adult in the room
	CodeDutyHold    = "duty_hold"    // the adult with the flame at work that cannot be dropped, from the hold point on
	CodeDutyLate    = "duty_late"    // weighing after the charge began, or after-work on sheets still warm
	CodeDutyExtra   = "duty_extra"   // work nobody asked for
)

// CheckDuties replays who does what against the plan, minute by minute.
func CheckDuties(p *day.Problem, plan *day.Plan, duties []day.Duty) []Violation {
	var out []Violation
	bad := func(code string, minute int, format string, a ...any) {
		out = append(out, Violation{code, minute, fmt.Sprintf(format, a...)})
	}
	last := 0
	for _, d := range duties {
		if d.Hand < 0 || d.Hand >= len(p.Hands) || d.Boil < 0 || d.Boil >= len(p.Boils) || d.From < 0 || d.To <= d.From {
			bad(CodeDutyIndex, d.From, "%+v", d)
			return out
		}
		last = max(last, d.To)
	}
	pausing := func(m int) bool {
		for i, at := range plan.Breaks {
			if at >= 0 && m >= at && m < at+p.Breaks[i].Minutes {
				return true
			}
		}
		return false
	}
	here := func(h, m int) bool {
		for _, s := range p.Hands[h].Present {
			if m >= s.From && m < s.To {
				return true
			}
		}
		return false
	}
	// poured is the minute a boil is poured, far ahead if it is not made
	poured := func(boil int) int {
		for _, x := range plan.Made {
			if x.Boil == boil {
				return x.Pour
			}
		}
		return last + 1<<20
	}
	hot := map[string]bool{"charge": true, "watch": true, "pour": true, "turn": true, "pull": true, "tend": true, "roll": true}
	clean := map[string]bool{"wipe": true, "wash": true, "allergen clean": true, "rolls": true, "kettle": true}
	for m := range last {
		for h, hand := range p.Hands {
			busy, watching, bench, holding := 0, 0, 0, 0
			for _, d := range duties {
				if d.Hand != h || m < d.From || m >= d.To {
					continue
				}
				if !here(h, m) || pausing(m) && d.Kind != "flame" {
					bad(CodeDutyAbsent, m, "%s at %s", hand.Name, d.Kind)
				}
				switch {
				case d.Kind == "flame":
					if !hand.Adult {
						bad(CodeDutyClass, m, "%s with the flame", hand.Name)
					}
					if poured(d.Boil)-m <= p.Boils[d.Boil].Watch {
						holding++
					}
				case d.Kind == "watch":
					watching++
				case d.Kind == "weigh" || d.Kind == "after":
					bench++
				default:
					busy++
				}
				if hot[d.Kind] && !hand.Hot || clean[d.Kind] && !hand.Clean {
					bad(CodeDutyClass, m, "%s at %s", hand.Name, d.Kind)
				}
			}
			if busy+watching > 1 || busy+bench > 1 {
				bad(CodeDutyTwice, m, "%s", hand.Name)
			}
			if holding > 0 && busy > 0 {
				bad(CodeDutyHold, m, "%s", hand.Name)
			}
		}
	}
	named := func(kind string, boil, m int) int {
		n := 0
		for _, d := range duties {
			if d.Kind == kind && d.Boil == boil && m >= d.From && m < d.To {
				n++
			}
		}
		return n
	}
	minutes := map[string]int{} // hand-minutes by kind and boil
	asked := map[string]int{}
	id := func(kind string, boil int) string { return fmt.Sprint(kind, " of boil ", boil) }
	for _, d := range duties {
		if d.Kind != "flame" {
			minutes[id(d.Kind, d.Boil)] += d.To - d.From
		}
	}
	for _, x := range plan.Made {
		b := &p.Boils[x.Boil]
		want := func(kind string, from, to, hands int) {
			asked[id(kind, x.Boil)] += (to - from) * hands
			for m := from; m < to; m++ {
				if n := named(kind, x.Boil, m); n != hands {
					bad(CodeDutyMissing, m, "%s of %s has %d names, wants %d", kind, b.ID, n, hands)
					return
				}
			}
		}
		charge := x.Pour - b.Lit - b.Charge
		if x.KettleClean {
			want(day.DutyKettle, charge-p.KettleMin, charge, 1)
		}
		want("charge", charge, x.Pour-b.Lit, 1)
		want("watch", x.Pour-b.Watch, x.Pour, 1)
		want("pour", x.Pour, x.Pour+b.Pour, b.PourHands)
		for _, s := range b.Shapes[x.Shape].Steps {
			want(string(s.Kind), x.Pour+s.From, x.Pour+s.To, s.Hands)
		}
		if d := p.ActMin[x.Act]; d > 0 {
			want(x.Act.String(), x.ActFrom, x.ActFrom+d, 1)
		}
		want("rolls", x.RollsFrom, x.RollsFrom+x.RollsMin, 1)
		for m := x.Pour - b.Lit; m < x.Pour; m++ {
			if named("flame", x.Boil, m) < 1 {
				bad(CodeDutyFlame, m, "nobody is named with the flame of %s", b.ID)
				break
			}
		}
		for _, w := range []struct {
			kind string
			n    int
		}{{"weigh", b.Weigh}, {"after", b.After}} {
			kind, n := w.kind, w.n
			asked[id(kind, x.Boil)] = n
			if got := minutes[id(kind, x.Boil)]; got < n {
				bad(CodeDutyMissing, -1, "%s of %s takes %d hand-minutes, wants %d", kind, b.ID, got, n)
			}
		}
		for _, d := range duties {
			if d.Boil != x.Boil {
				continue
			}
			if d.Kind == "weigh" && d.To > charge {
				bad(CodeDutyLate, d.To, "%s is weighed after its charge began", b.ID)
			}
			if d.Kind == "after" && d.From < x.Pour+b.Shapes[x.Shape].RollTo+b.Cool {
				bad(CodeDutyLate, d.From, "the sheets of %s are warm", b.ID)
			}
		}
	}
	for _, d := range duties {
		if k := id(d.Kind, d.Boil); minutes[k] > asked[k] {
			bad(CodeDutyExtra, d.From, "%s takes %d hand-minutes, wants %d", k, minutes[k], asked[k])
		}
	}
	return out
}
