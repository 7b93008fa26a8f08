package day_test

import (
	"context"
	"testing"

	"slabside/internal/day"
	"slabside/internal/day/daytest"
)

// smallDay is a day of one boil each of the recipes A and B, small enough to be
// worked by hand. A boil poured at t takes
//
//	kettle t−5 … t+2   charge t−5   lit t−4 … t   watch t−2 … t
//	pour t   turn t+1 … t+3   roll t+3 … t+5   slab to t+3   sheets cool at t+7
//
// with one hot hand for everything, so two hot hands can do all that two boils
// ever ask at once. Alone, A is poured at 5 and the work ends at 12; with B
// behind it the kettle is free at 7, B is poured at 12 and the work ends at 19.
func smallDay() *day.Problem {
	boil := func(id string, recipe int) day.Boil {
		return day.Boil{
			ID: id, Recipe: recipe, Charge: 1, Lit: 4, Watch: 2, Pour: 1, PourHands: 1, Rinse: 1, Cool: 2,
			Shapes: []day.Shape{{
				Name:     "early",
				Steps:    []day.Step{{Kind: day.Turn, From: 1, To: 3, Hands: 1}, {Kind: day.Roll, From: 3, To: 5, Hands: 1}},
				SlabFree: 3, RollFrom: 3, RollTo: 5,
			}},
			Emit: []int{0}, Limit: []int{9},
		}
	}
	always := []day.Span{{From: 0, To: 100}}
	return &day.Problem{
		End: 100, Recipes: []string{"A", "B"},
		Boils: []day.Boil{boil("a", 0), boil("b", 1)},
		Hands: []day.Hand{
			{Name: "first", Adult: true, Hot: true, Clean: true, Present: always},
			{Name: "second", Adult: true, Hot: true, Clean: true, Present: always},
		},
		Channels: []day.Channel{{Name: "mint"}},
		Pairs:    []day.Pair{{Name: "drops", Mount: 2}},
		Lines: []day.Line{
			{Name: "a", Must: true, Needs: []int{1, 0}},
			{Name: "b", Needs: []int{0, 1}},
		},
		ActMin:   [day.NumActs]int{0, 2, 6, 10},
		RollsMin: [day.NumActs]int{0, 1, 2, 2},
	}
}

// third is one more hot hand.
func third(p *day.Problem) {
	p.Hands = append(p.Hands, day.Hand{Name: "third", Adult: true, Hot: true, Clean: true, Present: []day.Span{{From: 0, To: 100}}})
}

// kettleAllergen leaves an allergen of A in the kettle that B cannot have.
func kettleAllergen(p *day.Problem) {
	p.Channels[0].Allergen, p.KettleMin = true, 3
	p.Boils[0].KettleEmit, p.Boils[1].Limit[0] = []int{1}, 0
}

// rollWithTwo needs two hands for every rolling.
func rollWithTwo(p *day.Problem) {
	for i := range p.Boils {
		p.Boils[i].Shapes[0].Steps[1].Hands = 2
	}
}

func firstA(p *day.Problem) { p.Rules = append(p.Rules, day.Rule{Kind: day.First, A: 0}) }

// The wanted vectors are worked by hand from the package comment.
func TestSolveWorkedDays(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		edit  func(p *day.Problem)
		want  daytest.Vector // must-lines, appointments, should-lines, end, cleaning
		order string
	}{
		{"as it is", func(*day.Problem) {}, daytest.Vector{0, 0, 0, 19, 0}, ""},
		{
			// B minds A's residue of 3; a wipe leaves 1, so B goes first.
			"residue decides the order",
			func(p *day.Problem) { p.Boils[0].Emit[0], p.Boils[1].Limit[0] = 3, 0 },
			daytest.Vector{0, 0, 0, 19, 0}, "ba",
		},
		{
			// With A first, a wash from 8 to 14 is needed. A pour of B at 14 would
			// charge at 9, while one hand washes and one rolls A (8 … 10): B waits
			// until 15. Rolls are cleaned at 11. Ends 15+7; 6+2 min cleaning.
			"a wash, and a pour held back for hands",
			func(p *day.Problem) { firstA(p); p.Boils[0].Emit[0], p.Boils[1].Limit[0] = 3, 0 },
			daytest.Vector{0, 0, 0, 22, 8}, "ab",
		},
		{
			// A third hand charges at 9: B is poured at 14.
			"the same with a third hand",
			func(p *day.Problem) {
				firstA(p)
				third(p)
				p.Boils[0].Emit[0], p.Boils[1].Limit[0] = 3, 0
			},
			daytest.Vector{0, 0, 0, 21, 8}, "ab",
		},
		{
			// A wipe takes the residue from 3 to 1: 8 … 10, in time for B at 12; but
			// B is charged at 7 and watched from 10. Rolls are cleaned for 1 min.
			"a wipe is enough",
			func(p *day.Problem) { firstA(p); third(p); p.Boils[0].Emit[0], p.Boils[1].Limit[0] = 3, 1 },
			daytest.Vector{0, 0, 0, 19, 3}, "ab",
		},
		{
			// Only an allergen clean takes an allergen off, so A goes last.
			"an allergen goes last",
			func(p *day.Problem) {
				p.Channels[0].Allergen = true
				p.Boils[0].Emit[0], p.Boils[1].Limit[0] = 1, 0
			},
			daytest.Vector{0, 0, 0, 19, 0}, "ba",
		},
		{
			// Forced first: the clean runs from 8 to 18, B is charged at 13; rolls 2 min.
			"an allergen forced first",
			func(p *day.Problem) {
				firstA(p)
				p.Channels[0].Allergen = true
				p.Boils[0].Emit[0], p.Boils[1].Limit[0] = 1, 0
			},
			daytest.Vector{0, 0, 0, 25, 12}, "ab",
		},
		{
			// The kettle is free of A at 7 and cleaned until 10, when B is charged.
			"an allergen in the kettle",
			func(p *day.Problem) { firstA(p); kettleAllergen(p) },
			daytest.Vector{0, 0, 0, 22, 3}, "ab",
		},
		{"an allergen in the kettle goes last", kettleAllergen, daytest.Vector{0, 0, 0, 19, 0}, "ba"},
		{
			// Whoever is first, the kettle is cleaned once, for 3 minutes, before B.
			"an allergen in the kettle from the day before",
			func(p *day.Problem) { kettleAllergen(p); p.Boils[0].KettleEmit, p.KettleLevels = nil, []int{1} },
			daytest.Vector{0, 0, 0, 22, 3}, "",
		},
		{
			// The break must end before the clean, since nothing comes between that
			// and the charge, and begins when A is rolled, at 10: the clean from 13,
			// B charged at 16.
			"a break before the clean of the kettle",
			func(p *day.Problem) {
				firstA(p)
				kettleAllergen(p)
				p.Breaks = []day.Break{{Name: "break", From: 8, To: 11, Minutes: 3}}
			},
			daytest.Vector{0, 0, 0, 28, 3}, "ab",
		},
		{
			// Between two of A on pair one comes B on pair two, without the allergen:
			// the line is cleaned from 8 to 18, B poured at 18 and rolled until 23. Pair
			// one came off soiled: 2 min to change and 8 to clean it, A is rolled at 33.
			"rolls that came off soiled",
			func(p *day.Problem) {
				firstA(p)
				p.Rules = append(p.Rules, day.Rule{Kind: day.Last, A: 0})
				p.Boils = append(p.Boils, p.Boils[0])
				p.Lines[0].Needs[0] = 2
				p.Pairs = []day.Pair{{Name: "one", Mount: 2}, {Name: "two", Mount: 2}}
				p.Boils[1].Rolls = 1
				p.Channels[0].Allergen, p.RollsMin[day.AllergenClean] = true, 8
				p.Boils[0].Emit, p.Boils[2].Emit, p.Boils[1].Limit[0] = []int{1}, []int{1}, 0
			},
			daytest.Vector{0, 0, 0, 37, 18}, "aba",
		},
		{
			// 18 minutes are one too few for both: the should-line goes.
			"too short a day drops the should-line",
			func(p *day.Problem) { p.End = 18 },
			daytest.Vector{0, 0, 1, 12, 0}, "a",
		},
		{"just long enough", func(p *day.Problem) { p.End = 19 }, daytest.Vector{0, 0, 0, 19, 0}, ""},
		{"closing counts", func(p *day.Problem) { p.End, p.Closing = 20, 2 }, daytest.Vector{0, 0, 1, 12, 0}, "a"},
		{
			// The break must start at 9. A alone would be rolled until 10, so the day
			// begins after the break: charge at 12, pour at 17, end at 24.
			"a break in the way",
			func(p *day.Problem) {
				p.Boils, p.Lines = p.Boils[:1], p.Lines[:1]
				p.Breaks = []day.Break{{Name: "break", From: 9, To: 9, Minutes: 3}}
			},
			daytest.Vector{0, 0, 0, 24, 0}, "a",
		},
		{
			// It may start at 10 or 11: the sheets cool over it until 12; their 2
			// hand-minutes of after-work are done in the minute after the break of 10.
			"a break over cooling sheets",
			func(p *day.Problem) {
				p.Boils, p.Lines = p.Boils[:1], p.Lines[:1]
				p.Boils[0].After = 2
				p.Breaks = []day.Break{{Name: "break", From: 9, To: 11, Minutes: 3}}
			},
			daytest.Vector{0, 0, 0, 14, 0}, "a",
		},
		{
			// Done at 12, the break that may start until 12 is not needed.
			"a break not needed",
			func(p *day.Problem) {
				p.Boils, p.Lines = p.Boils[:1], p.Lines[:1]
				p.Breaks = []day.Break{{Name: "break", From: 9, To: 12, Minutes: 3}}
			},
			daytest.Vector{0, 0, 0, 12, 0}, "a",
		},
		{
			// A is poured at 28, no earlier; B before it.
			"an appointment is waited for",
			func(p *day.Problem) {
				p.Appoint = []day.Appointment{{Name: "show", At: 30, Early: 2, Late: 3, Recipe: 0}}
			},
			daytest.Vector{0, 0, 0, 35, 0}, "ba",
		},
		{
			// Two appointments for one boil: one is missed.
			"a boil keeps one appointment",
			func(p *day.Problem) {
				p.Appoint = []day.Appointment{
					{Name: "show", At: 30, Recipe: 0},
					{Name: "again", At: 30, Early: 1, Recipe: 0},
				}
			},
			daytest.Vector{0, 1, 0, 36, 0}, "ba",
		},
		{
			// Both hands roll A from 8 to 10, and B is watched all its 4 minutes: the
			// charge at 10 is the earliest, B is poured at 15.
			"a watch against a two-handed roll",
			func(p *day.Problem) { rollWithTwo(p); p.Boils[0].Watch, p.Boils[1].Watch = 4, 4 },
			daytest.Vector{0, 0, 0, 22, 0}, "",
		},
		{
			"the same with a third hand to watch",
			func(p *day.Problem) { rollWithTwo(p); third(p); p.Boils[0].Watch, p.Boils[1].Watch = 4, 4 },
			daytest.Vector{0, 0, 0, 19, 0}, "",
		},
		{
			// 10 hand-minutes of weighing take two hands 5 minutes before the charge.
			"weighing comes first",
			func(p *day.Problem) { p.Boils, p.Lines = p.Boils[:1], p.Lines[:1]; p.Boils[0].Weigh = 10 },
			daytest.Vector{0, 0, 0, 17, 0}, "a",
		},
		{
			// Sheets lie from 8 to 20; the bench holds one boil, so B is rolled from
			// 20, poured at 17, and lies until 32.
			"a full bench",
			func(p *day.Problem) {
				p.BenchG = 5
				for i := range p.Boils {
					p.Boils[i].BenchG, p.Boils[i].Cool = 5, 10
				}
			},
			daytest.Vector{0, 0, 0, 32, 0}, "",
		},
		{"not next", func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.NotNext, A: 0, B: 1}} }, daytest.Vector{0, 0, 0, 19, 0}, "ba"},
		{"next", func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.Next, A: 0, B: 1}} }, daytest.Vector{0, 0, 0, 19, 0}, "ab"},
		{"last", func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.Last, A: 0}} }, daytest.Vector{0, 0, 0, 19, 0}, "ba"},
		{
			// A wipe before B wherever it comes: first is best, 2+1 minutes beside the boil.
			"an act demanded by a rule",
			func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.AtLeast, A: -1, B: 1, Act: day.Wipe}} },
			daytest.Vector{0, 0, 0, 19, 3}, "ba",
		},
		{
			// No rolls on the machine: 2 minutes of mounting, no cleaning minutes.
			"rolls to mount",
			func(p *day.Problem) { p.Mounted = -1 },
			daytest.Vector{0, 0, 0, 19, 0}, "",
		},
		{
			// The first boil's rolls are free at 10, changed until 16: the second is
			// poured at 13 to roll from 16. Either may be first, 6 minutes fit before it.
			"rolls to change",
			func(p *day.Problem) {
				p.Pairs = []day.Pair{{Name: "one", Mount: 6}, {Name: "two", Mount: 6}}
				p.Boils[1].Rolls = 1
			},
			daytest.Vector{0, 0, 0, 20, 0}, "",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			p := smallDay()
			c.edit(p)
			plan := solved(t, p, day.Options{})
			if got := daytest.Values(plan); got != c.want {
				t.Errorf("objectives %v, want %v\n%s", got, c.want, daytest.Draw(p, plan))
			}
			order := ""
			for _, m := range plan.Made {
				order += p.Boils[m.Boil].ID
			}
			if c.order != "" && order != c.order {
				t.Errorf("order %s, want %s", order, c.order)
			}
		})
	}
}

// solved plans a day and demands a proof and a plan that keeps every rule.
func solved(t *testing.T, p *day.Problem, o day.Options) *day.Plan {
	t.Helper()
	plan, err := day.Solve(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if !plan.ProvedBest {
		t.Error("not proved")
	}
	for _, v := range daytest.Check(p, plan) {
		t.Error(v)
	}
	return plan
}

// What the rules of the order alone forbid is seen before the search: the first
// boil is of one recipe, the boils of a second come before all others and not next
// after the first, so the second has no place. Nothing is left to search for it.
func TestSolveSeesWhatTheRulesForbid(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		p := shopDay(seed, 8)
		p.Rules = []day.Rule{{Kind: day.First, A: 0}, {Kind: day.NotNext, A: 0, B: 1}}
		for r := 2; r < len(p.Recipes); r++ {
			p.Rules = append(p.Rules, day.Rule{Kind: day.Before, A: 1, B: r})
		}
		for _, m := range solved(t, p, day.Options{MaxLabels: 500_000}).Made { // two million do not prove it by search
			if p.Boils[m.Boil].Recipe == 1 {
				t.Errorf("seed %d: a boil that no order has a place for is made", seed)
			}
		}
	}
}
