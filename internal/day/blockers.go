package day

import (
	"context"
	"slices"
)

// Blockers says, for every boil of the problem that the plan does not make, why:
// it cannot be made even in a day of its own, or there is no time for it beside
// the others.
func Blockers(p *Problem, plan *Plan) []Blocker {
	var out []Blocker
	for i := range p.Boils {
		if slices.ContainsFunc(plan.Made, func(m Placed) bool { return m.Boil == i }) {
			continue
		}
		b := Blocker{Boil: i}
		switch alone := solo(p, i, 0); {
		case alone:
			b.Alone = true
			b.Cause = []Cause{noCause(CauseNoTime)}
		default:
			b.Cause = whyNever(p, i)
		}
		out = append(out, b)
	}
	return out
}

// relaxed returns the problem with a day longer by more minutes, its last hands
// staying on.
func relaxed(p *Problem, more int) *Problem {
	q := *p
	q.End += more
	q.Hands = slices.Clone(p.Hands)
	for i := range q.Hands {
		h := &q.Hands[i]
		h.Present = slices.Clone(h.Present)
		if n := len(h.Present); n > 0 && h.Present[n-1].To >= p.End {
			h.Present[n-1].To = q.End
		}
	}
	return &q
}

// solo reports whether a boil can be made in a day of its own that is longer by
// more minutes.
func solo(p *Problem, boil, more int) bool {
	return len(soloPlan(p, boil, more).Made) == 1
}

func soloPlan(p *Problem, boil, more int) *Plan {
	q := relaxed(p, more)
	q.Boils = []Boil{p.Boils[boil]}
	q.Appoint = nil
	needs := make([]int, len(p.Recipes))
	needs[q.Boils[0].Recipe] = 1
	q.Lines = []Line{{Name: "alone", Must: true, Needs: needs}}
	plan, err := Solve(context.Background(), q, Options{})
	if err != nil {
		return &Plan{}
	}
	return plan
}

// whyNever finds what keeps a boil out of a day of its own.
func whyNever(p *Problem, boil int) []Cause {
	b := &p.Boils[boil]
	var hot, clean, adults int
	for _, h := range p.Hands {
		if len(h.Present) == 0 {
			continue
		}
		if h.Hot {
			hot++
		}
		if h.Clean {
			clean++
		}
		if h.Adult {
			adults++
		}
	}
	need := b.PourHands
	for _, s := range b.Shapes {
		for _, st := range s.Steps {
			need = max(need, st.Hands)
		}
	}
	var out []Cause
	switch {
	case adults == 0:
		out = append(out, noCause(CauseAdult))
	case hot < need:
		c := noCause(CauseHot)
		c.Level, c.Limit = need, hot
		out = append(out, c)
	case clean == 0:
		out = append(out, noCause(CauseClean))
	}
	if len(out) > 0 {
		return out
	}
	if p.BenchG > 0 && b.BenchG > p.BenchG {
		c := noCause(CauseBench)
		c.Level, c.Limit = b.BenchG, p.BenchG
		return append(out, c)
	}
	const twoDays = 2 * 24 * 60
	if plan := soloPlan(p, boil, twoDays); len(plan.Made) == 1 {
		c := noCause(CauseDayEnd)
		c.Minutes = max(1, plan.End+p.Closing-p.End)
		return append(out, c)
	}
	free := *p
	free.Rules = nil
	if solo(&free, boil, twoDays) {
		return append(out, noCause(CauseRule))
	}
	free = *p
	free.Breaks = nil
	if solo(&free, boil, twoDays) {
		return append(out, noCause(CauseBreak))
	}
	return append(out, noCause(CauseBenchers))
}

// Overrun returns by how many minutes a longer day would take everything, if the
// hands who are there at the end stayed on; 0 if nothing found would. It answers a
// side question with quick passes alone: a day that much longer does, one a little
// less long might. The day grows step by step, for a day with little room to spare
// is far sooner searched than one with a night.
func Overrun(ctx context.Context, p *Problem) (int, error) {
	for _, more := range []int{60, 120, 240, 480, 24 * 60} {
		plan, err := Solve(ctx, relaxed(p, more), Options{OnlyBeam: true})
		if err != nil {
			return 0, err
		}
		if len(plan.Made) == len(p.Boils) {
			return max(0, plan.End+p.Closing-p.End), nil
		}
	}
	return 0, nil
}
