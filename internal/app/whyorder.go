package app

import (
	"context"
	"fmt"
	"slices"

	"slabside/internal/day"
)

// firstOn says why a boil that is the day's first needs no cleaning before it.
func (m *making) firstOn() string {
	if slices.ContainsFunc(m.prob.Levels, func(l int) bool { return l > 0 }) {
		return "first, and it bears what is on the line from before"
	}
	return "first on a clean line"
}

// unruledLabels bounds the search of a day without its rules: it answers a side
// question and need prove nothing.
const unruledLabels = 400_000

// findRuledOut notes the boils that only the rules about the order keep out: a day
// without those rules makes them beside everything that this one makes.
func (m *making) findRuledOut(ctx context.Context) error {
	if len(m.prob.Rules) == 0 || !slices.ContainsFunc(m.blockers, func(b day.Blocker) bool { return b.Alone }) {
		return nil
	}
	free := *m.prob
	free.Rules = nil
	plan, err := day.Solve(ctx, &free, day.Options{MaxLabels: unruledLabels})
	if err != nil {
		return err
	}
	makes := func(boil int) bool {
		return slices.ContainsFunc(plan.Made, func(p day.Placed) bool { return p.Boil == boil })
	}
	for _, p := range m.plan.Made {
		if !makes(p.Boil) {
			return nil
		}
	}
	m.ruledOut = map[int]bool{}
	for _, b := range m.blockers {
		m.ruledOut[b.Boil] = b.Alone && makes(b.Boil)
	}
	return nil
}

// whyRuledOut says which rules keep a boil out.
func (m *making) whyRuledOut() string {
	rules := "the rules of the shop book and mild before strong"
	switch len(m.mild) {
	case 0:
		rules = "the rules of the shop book"
	case len(m.prob.Rules):
		rules = "mild before strong"
	}
	return fmt.Sprintf("no time in the order that is asked for (%s); in another it would fit", rules)
}

// dropPast takes out the announced pours whose time is over before the room
// opens, and says so: nobody can keep them, and nobody has missed them.
func (m *making) dropPast() {
	m.prob.Appoint = slices.DeleteFunc(m.prob.Appoint, func(a day.Appointment) bool {
		past := a.At+a.Late < 0
		if past {
			m.cautions = append(m.cautions, Caution{Code: "pour-past", At: "day",
				Text: fmt.Sprintf("Announced for %s: %s. That is over before the room opens at %s; the plan leaves it out.", m.at(a.At).Format("15:04"), a.Name, m.opens.Format("15:04"))})
		}
		return past
	})
}
