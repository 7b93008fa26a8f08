package day_test

import (
	"context"
	"slices"
	"testing"

	"slabside/internal/day"
	"slabside/internal/day/daytest"
)

// whole asks for every boil of a day and announces nothing.
func whole(p *day.Problem) *day.Problem {
	needs := make([]int, len(p.Recipes))
	for _, b := range p.Boils {
		needs[b.Recipe]++
	}
	p.Lines, p.Appoint = []day.Line{{Name: "all", Must: true, Needs: needs}}, nil
	return p
}

// The latest boil against exhaustive search, which knows nothing of halving: at that
// minute all is made, a minute later it is not; and the plan keeps every rule.
func TestLatest(t *testing.T) {
	t.Parallel()
	fit, not := 0, 0
	for seed := range uint64(60) {
		p := whole(daytest.Random(seed, 1))
		if len(p.Boils) == 0 || len(p.Boils) > 3 {
			continue
		}
		asked := p.Boils[len(p.Boils)-1].Recipe
		late, err := day.Latest(context.Background(), p, asked, 100_000)
		if err != nil || !late.Proved {
			t.Fatalf("day %d: %+v, %v", seed, late, err)
		}
		at := func(minute int) bool {
			q := *p
			q.Appoint = []day.Appointment{{Name: "then", At: minute, Late: p.End, Recipe: asked}}
			best, _ := daytest.Exhaustive(&q)
			return best[0] == 0 && best[1] == 0
		}
		if !late.Fits {
			if not++; at(0) {
				t.Errorf("day %d: all can be made, and it says not", seed)
			}
			continue
		}
		fit++
		if !at(late.Pour) || at(late.Pour+1) {
			t.Errorf("day %d: latest pour %d: then %v, a minute later %v", seed, late.Pour, at(late.Pour), at(late.Pour+1))
		}
		plan := *late.Plan
		plan.Kept = nil
		if v := daytest.Check(p, &plan); len(v) > 0 {
			t.Errorf("day %d: %v", seed, v)
		}
		last := slices.IndexFunc(plan.Made, func(m day.Placed) bool { return m.Pour == late.Pour })
		if last < 0 || late.Flame != late.Pour-p.Boils[plan.Made[last].Boil].Lit {
			t.Errorf("day %d: flame up at %d for a pour at %d", seed, late.Flame, late.Pour)
		}
	}
	if fit < 10 || not < 3 {
		t.Errorf("%d days fit and %d do not: too few to tell", fit, not)
	}
}

// What is left of a day of 60 minutes, worked by hand: at minute 24 two boils of three are
// off the line. The first leaves flavour 3, which falls by one with the second; its
// allergen stays, on its rolls too. Of tea, which began at 23, two minutes are left.
func TestRest(t *testing.T) {
	t.Parallel()
	shape := []day.Shape{{Name: "early", Steps: []day.Step{{Kind: day.Roll, From: 2, To: 4, Hands: 1}}, SlabFree: 4, RollFrom: 2, RollTo: 4}}
	boil := func(id string, recipe int, emit ...int) day.Boil {
		return day.Boil{ID: id, Recipe: recipe, Weigh: 1, Charge: 1, Lit: 5, Watch: 1, Pour: 1, PourHands: 1, Rinse: 1, Shapes: slices.Clone(shape), Rolls: recipe,
			Cool: 2, After: 4, Emit: emit, Limit: []int{9, 9}, KettleEmit: []int{0, emit[1]}}
	}
	p := &day.Problem{End: 60, Recipes: []string{"first", "second"}, Boils: []day.Boil{boil("a", 0, 3, 1), boil("b", 1, 0, 0), boil("c", 0, 3, 1)},
		Hands:    []day.Hand{{Name: "one", Adult: true, Hot: true, Clean: true, Present: []day.Span{{From: 0, To: 25}, {From: 28, To: 60}}}, {Name: "two", Present: []day.Span{{From: 5, To: 20}}}},
		Breaks:   []day.Break{{Name: "tea", From: 22, To: 24, Minutes: 3}, {Name: "dinner", From: 35, To: 40, Minutes: 5}, {Name: "none"}},
		Channels: []day.Channel{{Name: "flavour"}, {Name: "nut", Allergen: true}}, Pairs: []day.Pair{{Name: "small", Mount: 2}, {Name: "large", Mount: 2}},
		Rules: []day.Rule{{Kind: day.First, A: 0}, {Kind: day.Last, A: 0}, {Kind: day.NotNext, A: 1, B: 0}, {Kind: day.Last, A: 1}},
		Lines: []day.Line{{Name: "all", Must: true, Needs: []int{2, 1}}}, Appoint: []day.Appointment{{Name: "school", At: 50, Recipe: -1}},
		ActMin: [day.NumActs]int{0, 1, 3, 5}, RollsMin: [day.NumActs]int{0, 1, 2, 6}, KettleMin: 4, Mounted: 1, Levels: []int{0, 0}}
	plan := &day.Plan{Made: []day.Placed{{Boil: 0, Pour: 9, RollsFrom: 0, RollsMin: 2}, {Boil: 1, Pour: 18, RollsFrom: 14, RollsMin: 2}, {Boil: 2, Pour: 40, RollsFrom: 31, RollsMin: 2}},
		Breaks: []int{23, 36, -1}, Kept: []int{-1}, End: 60}
	slots, err := day.Sweep(p, plan)
	if err != nil {
		t.Fatal(err)
	}
	before := 0
	for _, s := range slots {
		if s.Kind == day.SlotAfter && s.Boil < 2 && s.From < 24 {
			before += s.Hands * (min(s.To, 24) - s.From)
		}
	}
	q := day.Rest(p, plan, 2, 24, []day.Boil{p.Boils[2], p.Boils[1]}, []int{0, 0})
	if !slices.Equal(q.Levels, []int{2, 1}) || !slices.Equal(q.KettleLevels, []int{0, 1}) || q.Mounted != 1 {
		t.Errorf("the line: %v, the kettle: %v, mounted %d", q.Levels, q.KettleLevels, q.Mounted)
	}
	if q.Pairs[0].Mount != 8 || q.Pairs[1].Mount != 2 || p.Pairs[0].Mount != 2 {
		t.Errorf("pairs: %+v of %+v: the first came off soiled", q.Pairs, p.Pairs)
	}
	if q.End != 36 || len(q.Appoint) != 0 {
		t.Errorf("it ends at %d, announced %v", q.End, q.Appoint)
	}
	if h := q.Hands; !slices.Equal(h[0].Present, []day.Span{{From: 0, To: 1}, {From: 4, To: 36}}) || len(h[1].Present) != 0 {
		t.Errorf("hands: %+v", h)
	}
	if want := []day.Break{{Name: "tea", Minutes: 2}, {Name: "dinner", From: 11, To: 16, Minutes: 5}}; !slices.Equal(q.Breaks, want) {
		t.Errorf("breaks %+v, want %+v", q.Breaks, want)
	}
	if want := []day.Rule{{Kind: day.Last, A: 0}, {Kind: day.NotNext, A: 1, B: 0}, {Kind: day.Last, A: 1}}; !slices.Equal(q.Rules, want) {
		t.Errorf("rules %+v, want %+v", q.Rules, want)
	}
	if got := q.Boils[1].After; before == 0 || before == 8 || got != 4+8-before || q.Boils[0].After != 4 {
		t.Errorf("after the last: %d hand-minutes, with %d of 8 done before", got, before)
	}
	if !slices.Equal(q.Lines[0].Needs, []int{1, 1}) || !q.Lines[0].Must {
		t.Errorf("lines %+v", q.Lines)
	}
	if q := day.Rest(p, plan, 2, 24, p.Boils[2:], []int{3, 0}); !slices.Equal(q.Levels, []int{3, 1}) || len(q.Rules) != 2 {
		t.Errorf("with what lies there: %v; without the second, %+v", q.Levels, q.Rules)
	}
	if err := day.Validate(q); err != nil {
		t.Error(err)
	}
	if len(p.Appoint) != 1 || p.Boils[2].After != 4 || len(p.Rules) != 4 {
		t.Error("the day that was given is changed")
	}
}

// The last moment for one of six boils, as a page asks for it.
func BenchmarkLatest(b *testing.B) {
	p := whole(shopDay(3, 6))
	p.End += 240 // a day with room for it
	for b.Loop() {
		late, err := day.Latest(context.Background(), p, p.Boils[0].Recipe, 50_000)
		if err != nil || !late.Fits {
			b.Fatal(late, err)
		}
	}
}
