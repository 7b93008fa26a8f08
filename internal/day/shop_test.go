package day_test

import (
	"fmt"
	"math/rand/v2"

	"slabside/internal/day"
)

// shopDay draws a making day of n boils of 5 to 8 recipes in a room with two hot
// hands and a packer, a lunch break and one announced pour. The minutes of a
// boil are those of a small open-pan shop (common practice, no source).
func shopDay(seed uint64, n int) *day.Problem {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	in := func(lo, hi int) int { return lo + r.IntN(hi-lo+1) }
	p := &day.Problem{
		End: 180 + 75*n, Closing: 30, Mounted: -1, BenchG: 40000,
		ActMin: [day.NumActs]int{0, 5, 20, 30}, RollsMin: [day.NumActs]int{0, 3, 8, 15}, KettleMin: 20,
		Channels: []day.Channel{{Name: "mint"}, {Name: "fruit"}, {Name: "stain"}, {Name: "milk", Allergen: true}},
	}
	for i := range 4 {
		p.Pairs = append(p.Pairs, day.Pair{Name: fmt.Sprint("pair ", i), Mount: 8})
	}
	recipes := min(n, in(5, 8))
	needs := make([]int, recipes)
	var kinds []day.Boil
	for i := range recipes {
		p.Recipes = append(p.Recipes, fmt.Sprint("recipe ", i))
		b := day.Boil{
			Recipe: i, Weigh: 8, Charge: 3, Lit: in(18, 24), Watch: 6, Pour: 2, PourHands: 2, Rinse: 3,
			Rolls: r.IntN(len(p.Pairs)), BenchG: in(8000, 12000), Cool: 20, After: in(20, 30),
			Emit: make([]int, 4), Limit: []int{2, 2, 2, 0},
		}
		own := r.IntN(2)
		b.Emit[own], b.Limit[own] = in(2, 5), 9
		if r.IntN(2) == 0 {
			b.Emit[2], b.Limit[2] = in(1, 4), 9
		}
		if r.IntN(5) == 0 {
			b.Emit[3], b.Limit[3], b.KettleEmit = 1, 9, []int{0, 0, 0, 1}
		}
		roll := in(10, 12)
		for k, late := range []int{0, 3, 6} {
			s := day.Shape{Name: fmt.Sprint("shape ", k), SlabFree: 9 + late, RollFrom: 9 + late, RollTo: 9 + late + roll}
			s.Steps = []day.Step{{Kind: day.Turn, From: 2, To: 9, Hands: 1}}
			if late > 0 {
				s.Steps = append(s.Steps, day.Step{Kind: day.Tend, From: 9, To: 9 + late, Hands: 1})
			}
			s.Steps = append(s.Steps, day.Step{Kind: day.Roll, From: s.RollFrom, To: s.RollTo, Hands: 2})
			b.Shapes = append(b.Shapes, s)
		}
		kinds = append(kinds, b)
	}
	for i := range n {
		k := i
		if i >= recipes {
			k = r.IntN(recipes)
		}
		b := kinds[k]
		needs[k]++
		b.ID = fmt.Sprintf("%d/%d", k, needs[k])
		p.Boils = append(p.Boils, b)
		must := append([]int(nil), needs...)
		p.Lines = append(p.Lines, day.Line{Name: fmt.Sprint("line ", i), Must: i < n/2, Needs: must})
	}
	all := []day.Span{{From: 0, To: p.End}}
	p.Hands = []day.Hand{
		{Name: "first", Adult: true, Hot: true, Clean: true, Present: all},
		{Name: "second", Adult: true, Hot: true, Clean: true, Present: all},
		{Name: "packer", Adult: true, Clean: true, Present: []day.Span{{From: 60, To: p.End - 60}}},
	}
	p.Breaks = []day.Break{{Name: "lunch", From: 210, To: 270, Minutes: 30}}
	p.Appoint = []day.Appointment{{Name: "shown pour", At: in(120, 200), Early: 5, Late: 10, Recipe: -1}}
	return p
}
