package day_test

import (
	"errors"
	"testing"

	"slabside/internal/day"
	"slabside/internal/fault"
)

func TestValidateNamesTheField(t *testing.T) {
	t.Parallel()
	if err := day.Validate(smallDay()); err != nil {
		t.Fatal(err)
	}
	for field, spoil := range map[string]func(p *day.Problem){
		"end":                         func(p *day.Problem) { p.End = -1 },
		"closing":                     func(p *day.Problem) { p.Closing = -1 },
		"bench_g":                     func(p *day.Problem) { p.BenchG = -1 },
		"hands[1].hot":                func(p *day.Problem) { p.Hands[1].Adult = false },
		"hands[0].present[1]":         func(p *day.Problem) { p.Hands[0].Present = []day.Span{{From: 0, To: 9}, {From: 8, To: 12}} },
		"breaks[0]":                   func(p *day.Problem) { p.Breaks = []day.Break{{From: 9, To: 8, Minutes: 3}} },
		"appoint[0]":                  func(p *day.Problem) { p.Appoint = []day.Appointment{{At: 9, Early: -1}} },
		"appoint[0].recipe":           func(p *day.Problem) { p.Appoint = []day.Appointment{{At: 9, Recipe: 2}} },
		"act_min[0]":                  func(p *day.Problem) { p.ActMin[0] = 1 },
		"rolls_min[2]":                func(p *day.Problem) { p.RollsMin[2] = -1 },
		"pairs[0].mount":              func(p *day.Problem) { p.Pairs[0].Mount = -1 },
		"mounted":                     func(p *day.Problem) { p.Mounted = 1 },
		"levels":                      func(p *day.Problem) { p.Levels = []int{1, 2} },
		"levels[0]":                   func(p *day.Problem) { p.Levels = []int{-1} },
		"boils[1].recipe":             func(p *day.Problem) { p.Boils[1].Recipe = 2 },
		"boils[1]":                    func(p *day.Problem) { p.Boils[1].Weigh = -1 },
		"boils[0].watch":              func(p *day.Problem) { p.Boils[0].Watch = 5 },
		"boils[0].pour":               func(p *day.Problem) { p.Boils[0].Pour = 0 },
		"boils[0].pour_hands":         func(p *day.Problem) { p.Boils[0].PourHands = 3 },
		"boils[0].rolls":              func(p *day.Problem) { p.Boils[0].Rolls = 1 },
		"boils[0].emit":               func(p *day.Problem) { p.Boils[0].Emit = nil },
		"boils[0].emit[0]":            func(p *day.Problem) { p.Boils[0].Emit[0] = -1 },
		"boils[0].limit":              func(p *day.Problem) { p.Boils[0].Limit = nil },
		"boils[0].shapes":             func(p *day.Problem) { p.Boils[0].Shapes = nil },
		"boils[0].shapes[0]":          func(p *day.Problem) { p.Boils[0].Shapes[0].RollTo = 2 },
		"rules[0].kind":               func(p *day.Problem) { p.Rules = []day.Rule{{Kind: 99}} },
		"rules[0].a":                  func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.First, A: -1}} },
		"rules[0].b":                  func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.Next, B: 2}} },
		"rules[0].act":                func(p *day.Problem) { p.Rules = []day.Rule{{Kind: day.AtLeast, Act: 4}} },
		"lines[0].needs":              func(p *day.Problem) { p.Lines[0].Needs = []int{1} },
		"boils[0].shapes[0].steps[1]": func(p *day.Problem) { p.Boils[0].Shapes[0].Steps[1].To = 1 },
	} {
		t.Run(field, func(t *testing.T) {
			t.Parallel()
			p := smallDay()
			spoil(p)
			err := day.Validate(p)
			var f *fault.Error
			if !errors.As(err, &f) || f.Kind != fault.KindInvalid || f.Field != field {
				t.Errorf("%v, want an invalid %s", err, field)
			}
		})
	}
}
