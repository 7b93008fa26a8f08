package day

import (
	"context"
	"slices"
)

// Rest states what is left of a day from minute at on, when the first done boils of its
// plan are off the line and boils are still to be made, all of them. The line is as the
// plan has it after those; levels are at least as dirty as lies says, one a channel, nil
// for nothing. Whatever of the work after the boils that are done would not be
// finished by then is put to the last of boils, as if it came that late. Announced pours
// and the places of the day's first boils are left out: what is over cannot be kept.
func Rest(p *Problem, plan *Plan, done, at int, boils []Boil, lies []int) *Problem {
	q := *p
	q.Boils, q.Appoint = slices.Clone(boils), nil
	q.End = max(0, p.End-at)
	q.Hands, q.Breaks = hoursFrom(p.Hands, at), breaksFrom(p.Breaks, plan, at)
	q.Rules = slices.DeleteFunc(slices.Clone(p.Rules), func(r Rule) bool {
		gone := r.Kind == Last && !slices.ContainsFunc(boils, func(b Boil) bool { return b.Recipe == r.A })
		return r.Kind == First || r.Kind == Next || gone
	})
	q.lineAfter(p, plan, done)
	for c, l := range lies {
		q.Levels[c] = max(q.Levels[c], l)
	}
	needs := make([]int, len(p.Recipes))
	for _, b := range boils {
		needs[b.Recipe]++
	}
	q.Lines = []Line{{Name: "the rest of the day", Must: true, Needs: needs}}
	if n := len(q.Boils); n > 0 {
		q.Boils[n-1].After += undone(p, plan, done, at)
	}
	return &q
}

// lineAfter fills in the levels of line and kettle and the pair mounted after the first
// boils of a plan. A pair that is off the machine and soiled takes the minutes of its
// clean whenever it goes on.
func (p *Problem) lineAfter(was *Problem, plan *Plan, done int) {
	r := newResidue(was)
	levels := r.opening()
	p.Mounted = was.Mounted
	for _, m := range plan.Made[:done] {
		levels, _, _ = r.step(nil, levels, p.Mounted, m.Boil, m.Act, m.KettleClean)
		p.Mounted = was.Boils[m.Boil].Rolls
	}
	p.Levels, p.KettleLevels = slices.Clone(levels[:len(was.Channels)]), make([]int, len(was.Channels))
	for i, c := range r.allergen {
		p.KettleLevels[c] = levels[r.kettle()+i]
	}
	if len(r.allergen) == 0 {
		return
	}
	p.Pairs = slices.Clone(was.Pairs)
	for i, soiled := range levels[r.pairs():] {
		p.Pairs[i].Mount += soiled * was.RollsMin[AllergenClean]
	}
}

// undone returns the hand-minutes of work after the first boils of a plan that the plan
// does not do before a minute.
func undone(p *Problem, plan *Plan, done, at int) int {
	left := 0
	first := map[int]bool{}
	for _, m := range plan.Made[:done] {
		left += p.Boils[m.Boil].After
		first[m.Boil] = true
	}
	slots, err := Sweep(p, plan)
	if err != nil {
		return left // none of it counts as done
	}
	for _, s := range slots {
		if s.Kind == SlotAfter && first[s.Boil] && s.From < at {
			left -= s.Hands * (min(s.To, at) - s.From)
		}
	}
	return left
}

// hoursFrom returns the hands with what is left of their hours, counted from a minute.
func hoursFrom(hands []Hand, at int) []Hand {
	out := slices.Clone(hands)
	for i, h := range out {
		out[i].Present = nil
		for _, s := range h.Present {
			if s.To > at {
				out[i].Present = append(out[i].Present, Span{max(0, s.From-at), s.To - at})
			}
		}
	}
	return out
}

// breaksFrom returns the breaks that have not begun by a minute of the plan, counted from
// it; one that is running is over when it was to be.
func breaksFrom(breaks []Break, plan *Plan, at int) []Break {
	var out []Break
	for i, b := range breaks {
		switch began := plan.Breaks[i]; {
		case began >= 0 && began < at && began+b.Minutes <= at, b.To < at:
			continue
		case began >= 0 && began < at:
			out = append(out, Break{Name: b.Name, Minutes: began + b.Minutes - at})
		default:
			out = append(out, Break{Name: b.Name, From: max(0, b.From-at), To: b.To - at, Minutes: b.Minutes})
		}
	}
	return out
}

// Late is how late the last boil of a recipe may be.
type Late struct {
	Fits   bool // all boils are made in the day
	Flame  int  // latest minute in which its flame goes up
	Pour   int  // and of its pour
	Proved bool // a minute later nothing fits; else it was given up looking
	Plan   *Plan
}

// Latest returns how late the last boil of a recipe may be so that every boil is still
// made before the day ends. The problem has no announced pours: one is used to ask for
// a minute. A later minute is never easier than an earlier one, so that halving with quick
// passes comes near it; then a whole search tells whether a minute later something fits,
// and if so the halving goes on from there. Each looks at so many states at most.
func Latest(ctx context.Context, p *Problem, recipe, states int) (Late, error) {
	var out Late
	if len(p.Boils) == 0 {
		return out, nil
	}
	plan, err := quick(ctx, p, states)
	if err == nil && plan == nil {
		plan, out.Proved, err = whole(ctx, p, states)
	}
	if err != nil || plan == nil {
		return out, err
	}
	from := func(minute int) *Problem {
		q := *p
		q.Appoint = []Appointment{{Name: "not earlier", At: minute, Late: p.End, Recipe: recipe}}
		return &q
	}
	for out.Fits = true; plan != nil; {
		out.take(p, plan, recipe)
		for late := p.End; out.Pour+1 < late; {
			at := (out.Pour + late) / 2
			switch plan, err := quick(ctx, from(at), states); {
			case err != nil:
				return Late{}, err
			case plan != nil:
				out.take(p, plan, recipe)
			default:
				late = at
			}
		}
		if plan, out.Proved, err = whole(ctx, from(out.Pour+1), states); err != nil {
			return Late{}, err
		}
	}
	return out, nil
}

// take keeps a plan and its last boil of a recipe.
func (l *Late) take(p *Problem, plan *Plan, recipe int) {
	l.Plan = plan
	for _, m := range plan.Made {
		if b := &p.Boils[m.Boil]; b.Recipe == recipe {
			l.Pour, l.Flame = m.Pour, m.Pour-b.Lit
		}
	}
}

// all tells whether a plan makes every boil and keeps every announced pour.
func (p *Problem) all(plan *Plan) bool {
	return len(plan.Made) == len(p.Boils) && !slices.Contains(plan.Kept, -1)
}

// quick returns a plan that makes all and keeps all, nil if the narrowest pass finds none.
func quick(ctx context.Context, p *Problem, states int) (*Plan, error) {
	plan, err := Solve(ctx, p, Options{OnlyBeam: true, Beam: 1, MaxLabels: states, Upper: p.hopeless()})
	if err != nil || !p.all(plan) {
		return nil, err
	}
	return plan, nil
}

// hopeless is what only a plan beats that makes all, keeps all and ends at all.
func (p *Problem) hopeless() []int { return []int{0, 0, 0, p.End + 1, 0} }

// whole does the same by a whole search; sure tells, without a plan, that there is none.
func whole(ctx context.Context, p *Problem, states int) (plan *Plan, sure bool, err error) {
	plan, err = Solve(ctx, p, Options{MaxLabels: states, Upper: p.hopeless()})
	if err != nil || p.all(plan) {
		return plan, false, err
	}
	return nil, !plan.StoppedEarly, nil
}
