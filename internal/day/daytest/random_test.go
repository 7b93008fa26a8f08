package daytest

import (
	"slices"
	"testing"

	"slabside/internal/day"
)

// Every part of the model decides the best plan of some of the days, so that
// a planner without it could not agree on all of them.
func TestRandomDaysBind(t *testing.T) {
	t.Parallel()
	boils := func(p *day.Problem, change func(b *day.Boil)) {
		for i := range p.Boils {
			p.Boils[i].Shapes = slices.Clone(p.Boils[i].Shapes)
			change(&p.Boils[i])
		}
	}
	rules := func(k day.RuleKind) func(p *day.Problem) {
		return func(p *day.Problem) {
			p.Rules = slices.DeleteFunc(p.Rules, func(r day.Rule) bool { return r.Kind == k })
		}
	}
	without := []struct {
		name string
		drop func(p *day.Problem)
	}{
		{"rule first", rules(day.First)},
		{"rule last", rules(day.Last)},
		{"rule next", rules(day.Next)},
		{"rule not next", rules(day.NotNext)},
		{"rule at least", rules(day.AtLeast)},
		{"breaks", func(p *day.Problem) { p.Breaks = nil }},
		{"appointments", func(p *day.Problem) { p.Appoint = nil }},
		{"bench", func(p *day.Problem) { p.BenchG = 0 }},
		{"opening levels", func(p *day.Problem) { p.Levels = nil }},
		{"limits", func(p *day.Problem) {
			boils(p, func(b *day.Boil) { b.Limit = slices.Repeat([]int{9}, len(b.Limit)) })
		}},
		{"hours", func(p *day.Problem) {
			for i := range p.Hands {
				p.Hands[i].Present = []day.Span{{From: 0, To: p.End}}
			}
		}},
		{"classes", func(p *day.Problem) {
			for i := range p.Hands {
				p.Hands[i].Adult, p.Hands[i].Hot, p.Hands[i].Clean = true, true, true
			}
		}},
		{"change of rolls", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Rolls = 0 }) }},
		{"cleaning of rolls", func(p *day.Problem) { p.RollsMin = [day.NumActs]int{} }},
		{"minutes of acts", func(p *day.Problem) { p.ActMin = [day.NumActs]int{} }},
		{"watch", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Watch = 0 }) }},
		{"charge", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Charge = 0 }) }},
		{"rinse", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Rinse = 0 }) }},
		{"weighing", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Weigh = 0 }) }},
		{"after-work", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.After = 0 }) }},
		{"cooling", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Cool = 0 }) }},
		{"second pourer", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.PourHands = 1 }) }},
		{"second shape", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Shapes = b.Shapes[:1] }) }},
		{"first shape", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Shapes = b.Shapes[len(b.Shapes)-1:] }) }},
		{"slab", func(p *day.Problem) {
			boils(p, func(b *day.Boil) {
				for i := range b.Shapes {
					b.Shapes[i].SlabFree = 0
				}
			})
		}},
		{"closing", func(p *day.Problem) { p.Closing = 0 }},
	}
	for _, w := range without {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			for _, s := range seeds[1:3] {
				for seed := range s.n {
					p := Random(seed, s.size)
					q := Random(seed, s.size)
					w.drop(q)
					with, _ := Exhaustive(p)
					if less, _ := Exhaustive(q); less != with {
						return
					}
				}
			}
			t.Error("decides no day")
		})
	}
}
