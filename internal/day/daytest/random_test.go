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
		of   maker
	}{
		{"rule first", rules(day.First), plain},
		{"rule last", rules(day.Last), plain},
		{"rule next", rules(day.Next), plain},
		{"rule not next", rules(day.NotNext), plain},
		{"rule at least", rules(day.AtLeast), plain},
		{"breaks", func(p *day.Problem) { p.Breaks = nil }, plain},
		{"appointments", func(p *day.Problem) { p.Appoint = nil }, plain},
		{"bench", func(p *day.Problem) { p.BenchG = 0 }, plain},
		{"opening levels", func(p *day.Problem) { p.Levels = nil }, plain},
		{"limits", func(p *day.Problem) {
			boils(p, func(b *day.Boil) { b.Limit = slices.Repeat([]int{9}, len(b.Limit)) })
		}, plain},
		{"hours", func(p *day.Problem) {
			for i := range p.Hands {
				p.Hands[i].Present = []day.Span{{From: 0, To: p.End}}
			}
		}, plain},
		{"classes", func(p *day.Problem) {
			for i := range p.Hands {
				p.Hands[i].Adult, p.Hands[i].Hot, p.Hands[i].Clean = true, true, true
			}
		}, plain},
		{"change of rolls", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Rolls = 0 }) }, plain},
		{"cleaning of rolls", func(p *day.Problem) { p.RollsMin = [day.NumActs]int{} }, plain},
		{"minutes of acts", func(p *day.Problem) { p.ActMin = [day.NumActs]int{} }, plain},
		{"watch", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Watch = 0 }) }, plain},
		{"charge", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Charge = 0 }) }, plain},
		{"rinse", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Rinse = 0 }) }, plain},
		{"weighing", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Weigh = 0 }) }, plain},
		{"after-work", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.After = 0 }) }, plain},
		{"cooling", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Cool = 0 }) }, plain},
		{"second pourer", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.PourHands = 1 }) }, plain},
		{"second shape", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Shapes = b.Shapes[:1] }) }, plain},
		{"first shape", func(p *day.Problem) { boils(p, func(b *day.Boil) { b.Shapes = b.Shapes[len(b.Shapes)-1:] }) }, plain},
		{"slab", func(p *day.Problem) {
			boils(p, func(b *day.Boil) {
				for i := range b.Shapes {
					b.Shapes[i].SlabFree = 0
				}
			})
		}, plain},
		{"closing", func(p *day.Problem) { p.Closing = 0 }, plain},
		{"levels of the kettle", func(p *day.Problem) {
			p.KettleLevels = nil
			boils(p, func(b *day.Boil) { b.KettleEmit = nil })
		}, allergens},
		{"opening levels of the kettle", func(p *day.Problem) { p.KettleLevels = nil }, allergens},
		{"clean of the kettle", func(p *day.Problem) { p.KettleMin = 1000 }, allergens},
		{"minutes of the kettle", func(p *day.Problem) { p.KettleMin = 0 }, allergens},
	}
	for _, w := range without {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			for _, s := range seeds[1:3] {
				for seed := range s.n {
					p := w.of.make(seed, s.size)
					q := w.of.make(seed, s.size)
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
