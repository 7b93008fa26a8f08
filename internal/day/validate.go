package day

import (
	"fmt"

	"slabside/internal/fault"
)

// Limits of what the search packs into a machine word.
const (
	maxHands  = 100
	maxMarks  = 60 // breaks, appointments
	maxBenchG = 1 << 40
	maxDayMin = 20000
)

// Validate reports the first field of the problem that cannot be meant.
func Validate(p *Problem) error {
	for _, f := range []func(*Problem) error{validDay, validHands, validMarks, validRooms, validBoils, validOrders} {
		if err := f(p); err != nil {
			return err
		}
	}
	return nil
}

func bad(field, format string, a ...any) error { return fault.Invalid(format, a...).At(field) }

func validDay(p *Problem) error {
	switch {
	case p.End < 0 || p.End > maxDayMin:
		return bad("end", "the day must end between 0 and %d min after opening, not %d", maxDayMin, p.End)
	case p.Closing < 0:
		return bad("closing", "closing takes %d min", p.Closing)
	case p.BenchG < 0 || p.BenchG > maxBenchG:
		return bad("bench_g", "the bench holds %d g", p.BenchG)
	}
	return nil
}

func validHands(p *Problem) error {
	if len(p.Hands) > maxHands {
		return bad("hands", "%d hands, at most %d can be planned", len(p.Hands), maxHands)
	}
	for i, h := range p.Hands {
		at := fmt.Sprintf("hands[%d]", i)
		if h.Hot && (!h.Adult || !h.Clean) {
			return bad(at+".hot", "%s does hot work and must be an adult who cleans too", h.Name)
		}
		last := 0
		for k, s := range h.Present {
			if s.From < last || s.To <= s.From {
				return bad(fmt.Sprintf("%s.present[%d]", at, k), "hours %d to %d are empty, out of order or overlap", s.From, s.To)
			}
			last = s.To
		}
	}
	return nil
}

func validMarks(p *Problem) error {
	if len(p.Breaks) > maxMarks {
		return bad("breaks", "%d breaks", len(p.Breaks))
	}
	for i, b := range p.Breaks {
		if b.From < 0 || b.To < b.From || b.Minutes < 0 {
			return bad(fmt.Sprintf("breaks[%d]", i), "break of %d min starting between %d and %d", b.Minutes, b.From, b.To)
		}
	}
	if len(p.Appoint) > maxMarks {
		return bad("appoint", "%d appointments", len(p.Appoint))
	}
	for i, a := range p.Appoint {
		if a.Recipe < -1 || a.Recipe >= len(p.Recipes) {
			return bad(fmt.Sprintf("appoint[%d].recipe", i), "no recipe %d", a.Recipe)
		}
		if a.Early < 0 || a.Late < 0 {
			return bad(fmt.Sprintf("appoint[%d]", i), "%d min early, %d min late", a.Early, a.Late)
		}
	}
	return nil
}

func validRooms(p *Problem) error {
	for a, m := range p.ActMin {
		if m < 0 || a == 0 && m != 0 {
			return bad(fmt.Sprintf("act_min[%d]", a), "%s takes %d min", Act(a), m)
		}
	}
	for a, m := range p.RollsMin {
		if m < 0 || a == 0 && m != 0 {
			return bad(fmt.Sprintf("rolls_min[%d]", a), "cleaning the rolls for %s takes %d min", Act(a), m)
		}
	}
	if p.KettleMin < 0 {
		return bad("kettle_min", "an allergen clean of the kettle takes %d min", p.KettleMin)
	}
	for i, q := range p.Pairs {
		if q.Mount < 0 {
			return bad(fmt.Sprintf("pairs[%d].mount", i), "mounting takes %d min", q.Mount)
		}
	}
	if p.Mounted < -1 || p.Mounted >= len(p.Pairs) {
		return bad("mounted", "no pair %d", p.Mounted)
	}
	if p.Levels != nil && len(p.Levels) != len(p.Channels) {
		return bad("levels", "%d levels for %d channels", len(p.Levels), len(p.Channels))
	}
	if p.KettleLevels != nil && len(p.KettleLevels) != len(p.Channels) {
		return bad("kettle_levels", "%d levels for %d channels", len(p.KettleLevels), len(p.Channels))
	}
	for i, l := range p.Levels {
		if l < 0 {
			return bad(fmt.Sprintf("levels[%d]", i), "level %d", l)
		}
	}
	for i, l := range p.KettleLevels {
		if l < 0 {
			return bad(fmt.Sprintf("kettle_levels[%d]", i), "level %d", l)
		}
	}
	return nil
}

func validBoils(p *Problem) error {
	for i := range p.Boils {
		b := &p.Boils[i]
		at := fmt.Sprintf("boils[%d]", i)
		switch {
		case b.Recipe < 0 || b.Recipe >= len(p.Recipes):
			return bad(at+".recipe", "no recipe %d", b.Recipe)
		case b.Weigh < 0 || b.Charge < 0 || b.Lit < 0 || b.Rinse < 0 || b.Cool < 0 || b.After < 0:
			return bad(at, "negative minutes")
		case b.Watch < 0 || b.Watch > b.Lit:
			return bad(at+".watch", "watched for %d min of %d lit", b.Watch, b.Lit)
		case b.Pour < 1:
			return bad(at+".pour", "pouring takes %d min, at least 1", b.Pour)
		case b.PourHands < 1 || b.PourHands > 2:
			return bad(at+".pour_hands", "%d hands pour, 1 or 2 can", b.PourHands)
		case b.Rolls < 0 || b.Rolls >= len(p.Pairs):
			return bad(at+".rolls", "no pair %d", b.Rolls)
		case b.BenchG < 0 || b.BenchG > maxBenchG:
			return bad(at+".bench_g", "%d g of sheets", b.BenchG)
		case len(b.Emit) != len(p.Channels):
			return bad(at+".emit", "%d levels for %d channels", len(b.Emit), len(p.Channels))
		case len(b.Limit) != len(p.Channels):
			return bad(at+".limit", "%d levels for %d channels", len(b.Limit), len(p.Channels))
		case b.KettleEmit != nil && len(b.KettleEmit) != len(p.Channels):
			return bad(at+".kettle_emit", "%d levels for %d channels", len(b.KettleEmit), len(p.Channels))
		case len(b.Shapes) == 0:
			return bad(at+".shapes", "no shape to work it in")
		}
		for c := range p.Channels {
			if b.Emit[c] < 0 {
				return bad(fmt.Sprintf("%s.emit[%d]", at, c), "level %d", b.Emit[c])
			}
			if b.KettleEmit != nil && b.KettleEmit[c] < 0 {
				return bad(fmt.Sprintf("%s.kettle_emit[%d]", at, c), "level %d", b.KettleEmit[c])
			}
		}
		for k := range b.Shapes {
			if err := validShape(b, k, fmt.Sprintf("%s.shapes[%d]", at, k)); err != nil {
				return err
			}
		}
	}
	return nil
}

func validShape(b *Boil, k int, at string) error {
	s := &b.Shapes[k]
	if s.SlabFree < 0 || s.HookFrom < 0 || s.HookTo < s.HookFrom || s.RollFrom < 0 || s.RollTo < s.RollFrom {
		return bad(at, "stretches must not end before they start or start before the pour")
	}
	for i, st := range s.Steps {
		if st.From < 0 || st.To < st.From || st.Hands < 0 || st.Hands > maxHands {
			return bad(fmt.Sprintf("%s.steps[%d]", at, i), "%s from %d to %d with %d hands", st.Kind, st.From, st.To, st.Hands)
		}
	}
	return nil
}

func validOrders(p *Problem) error {
	for i, r := range p.Rules {
		at := fmt.Sprintf("rules[%d]", i)
		n := len(p.Recipes)
		needB := r.Kind == Next || r.Kind == NotNext || r.Kind == AtLeast || r.Kind == Before
		low := 0
		if r.Kind == AtLeast {
			low = -1
		}
		switch {
		case r.Kind < First || r.Kind > Before:
			return bad(at+".kind", "no rule %d", r.Kind)
		case r.A < low || r.A >= n:
			return bad(at+".a", "no recipe %d", r.A)
		case needB && (r.B < 0 || r.B >= n):
			return bad(at+".b", "no recipe %d", r.B)
		case r.Act < None || r.Act >= nActs:
			return bad(at+".act", "no act %d", r.Act)
		}
	}
	for i, l := range p.Lines {
		if len(l.Needs) != len(p.Recipes) {
			return bad(fmt.Sprintf("lines[%d].needs", i), "%d counts for %d recipes", len(l.Needs), len(p.Recipes))
		}
		for _, n := range l.Needs {
			if n < 0 {
				return bad(fmt.Sprintf("lines[%d].needs", i), "%d boils", n)
			}
		}
	}
	return nil
}
