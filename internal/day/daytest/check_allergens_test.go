package daytest

import (
	"slices"
	"testing"

	"slabside/internal/day"
)

// workedAllergens is a day of five boils worked by hand from the model's
// sentences. Boil 0 leaves an allergen on the line and in the kettle, which
// boils 1 and 3 bear and boils 2 and 4 do not.
//
//	minute   0         1         2         3         4         5
//	         0123456789012345678901234567890123456789012345678901234567
//	boil 0   ..+fffff|~     turn 9–11, roll 11–13, cool 15
//	boil 1             +fffff|~     turn 17–19, roll 19–21, cool 23
//	break                         xxx
//	boil 2                           oo+fffff|~     turn 33–35, roll 35–37, cool 39
//	boil 3                                     +fffff|~     turn 41–43, roll 43–45, cool 47
//	boil 4                                             +fffff|~     turn 49–51, roll 51–53, cool 55
//	rolls    00           11            0000       1111    00
//	act                                aaaaa
//
// Pair 0 goes off soiled at 13 and pair 1 at 26, so each takes two minutes more
// when it goes on again, at 26 and at 37. Pair 0 is clean then, goes off a clean
// line at 37, and at 45 it is only changed. The four hand-minutes after boil 4 take three
// hands minutes 55 and 56, so the work ends at 57. Cleaning: act 5, kettle 2,
// soiled rolls 2 and 2.
func workedAllergens() (*day.Problem, *day.Plan) {
	boil := func(id string, recipe, rolls, leaves, limit int) day.Boil {
		return day.Boil{
			ID: id, Recipe: recipe, Weigh: 2, Charge: 1, Lit: 5, Watch: 2, Pour: 1, PourHands: 1, Rinse: 1,
			Shapes: []day.Shape{{
				Name:     "early",
				Steps:    []day.Step{{Kind: day.Turn, From: 1, To: 3, Hands: 1}, {Kind: day.Roll, From: 3, To: 5, Hands: 2}},
				SlabFree: 3, RollFrom: 3, RollTo: 5,
			}},
			Rolls: rolls, BenchG: 5, Cool: 2, After: 4,
			Emit: []int{0, leaves}, Limit: []int{0, limit}, KettleEmit: []int{0, leaves},
		}
	}
	p := &day.Problem{
		End: 70, Closing: 5,
		Recipes: []string{"nut", "mild", "free"},
		Boils: []day.Boil{
			boil("a", 0, 0, 3, 3), boil("b", 1, 1, 0, 3), boil("c", 2, 0, 0, 0), boil("d", 1, 1, 0, 3), boil("e", 2, 0, 0, 0),
		},
		Breaks:   []day.Break{{Name: "dinner", From: 19, To: 23, Minutes: 3}},
		Channels: []day.Channel{{Name: "flavour"}, {Name: "allergen", Allergen: true}},
		Pairs:    []day.Pair{{Name: "small", Mount: 2}, {Name: "large", Mount: 2}},
		Lines:    []day.Line{{Name: "all", Must: true, Needs: []int{1, 2, 2}}},
		ActMin:   [day.NumActs]int{0, 1, 3, 5},
		RollsMin: [day.NumActs]int{0, 1, 2, 2},
		Mounted:  -1, KettleMin: 2,
	}
	p.Boils[1].KettleEmit = nil
	for _, name := range []string{"one", "two", "three"} {
		hot := name != "three"
		p.Hands = append(p.Hands, day.Hand{Name: name, Adult: hot, Hot: hot, Clean: true, Present: []day.Span{{From: 0, To: 70}}})
	}
	plan := &day.Plan{
		Made: []day.Placed{
			{Boil: 0, Pour: 8, RollsFrom: 0, RollsMin: 2},
			{Boil: 1, Pour: 16, RollsFrom: 13, RollsMin: 2},
			{Boil: 2, Pour: 32, Act: day.AllergenClean, ActFrom: 25, RollsFrom: 26, RollsMin: 4, KettleClean: true},
			{Boil: 3, Pour: 40, RollsFrom: 37, RollsMin: 4},
			{Boil: 4, Pour: 48, RollsFrom: 45, RollsMin: 2},
		},
		Breaks: []int{21},
		End:    57, Cleaning: 11,
		Objectives: []day.Objective{
			{Name: day.ObjMust}, {Name: day.ObjAppoint}, {Name: day.ObjShould}, {Name: day.ObjEnd, Value: 57}, {Name: day.ObjClean, Value: 11},
		},
	}
	return p, plan
}

// away takes hands out of the room for one minute.
func away(p *day.Problem, minute int, hands ...int) {
	for _, h := range hands {
		p.Hands[h].Present = []day.Span{{From: 0, To: minute}, {From: minute + 1, To: p.End}}
	}
}

// cleans sets the cleaning minutes a plan claims.
func cleans(q *day.Plan, minutes int) { q.Cleaning, q.Objectives[4].Value = minutes, minutes }

func TestCheckRejectsSpoiledAllergenPlans(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		codes []string // all that is found
		spoil func(p *day.Problem, q *day.Plan)
	}{
		{"the clean of the kettle left out", []string{CodeKettleLevel}, func(_ *day.Problem, q *day.Plan) {
			q.Made[2].KettleClean = false
			cleans(q, 9)
		}},
		{"left out, and counted", []string{CodeKettleLevel, CodeCleaning, CodeCleanValue}, func(_ *day.Problem, q *day.Plan) {
			q.Made[2].KettleClean = false
		}},
		{"the kettle cleaned before another boil", []string{CodeKettleLevel}, func(p *day.Problem, q *day.Plan) {
			p.Boils[1].KettleEmit = []int{0, 3}
			q.Made[0].KettleClean, q.Made[2].KettleClean = true, false
		}},
		{"an allergen left in the kettle alone", []string{CodeKettleLevel}, func(p *day.Problem, _ *day.Plan) { p.Boils[2].KettleEmit = []int{0, 1} }},
		{"residue in the kettle one above the limit", []string{CodeKettleLevel}, func(p *day.Problem, _ *day.Plan) { p.Boils[0].KettleEmit[1] = 4 }},
		{"a later boil that leaves less", []string{CodeKettleLevel}, func(p *day.Problem, q *day.Plan) {
			p.Boils[1].KettleEmit, p.Boils[2].Limit[1] = []int{0, 2}, 2
			q.Made[2].KettleClean = false
			cleans(q, 9)
		}},
		{"residue in the kettle at opening", []string{CodeKettleLevel}, func(p *day.Problem, _ *day.Plan) { p.KettleLevels = []int{0, 4} }},
		{"a clean of the kettle in place of one of the line", []string{CodeResidue, CodeRollsMin}, func(_ *day.Problem, q *day.Plan) {
			q.Made[2].Act, q.Made[2].ActFrom = day.Wash, 27 // pair 0 goes off soiled again at 37
		}},
		{"cleaned while the boil before is in the kettle", []string{CodeKettle}, func(p *day.Problem, _ *day.Plan) { p.Boils[1].Rinse = 8 }},
		{"cleaned before the opening", []string{CodeOpening}, func(p *day.Problem, q *day.Plan) {
			p.KettleMin = 3
			q.Made[0].KettleClean, q.Made[2].KettleClean = true, false
			p.Boils[0].KettleEmit = nil
			cleans(q, 12)
		}},
		{"cleaned into the break", []string{CodeBreakWork}, func(_ *day.Problem, q *day.Plan) { q.Breaks[0] = 22 }},
		{"the break inside the clean", []string{CodeBreakWork}, func(p *day.Problem, q *day.Plan) {
			p.KettleMin = 6 // 20–26, and the break 21–24
			away(p, 20, 2)
			p.Boils[1].Shapes[0].Steps[1].To, p.Boils[1].Shapes[0].RollTo = 4, 4
			cleans(q, 15)
		}},
		{"the kettle cleaned with nobody there who may clean", []string{CodeClean}, func(p *day.Problem, _ *day.Plan) {
			away(p, 24, 0, 1, 2)
			p.Hands = append(p.Hands, day.Hand{Name: "four", Adult: true, Present: []day.Span{{From: 24, To: 25}}})
		}},
		{"one hand for kettle and line", []string{CodeClean}, func(p *day.Problem, _ *day.Plan) { away(p, 25, 1, 2) }},
		{"weighed by the hand that cleans the kettle", []string{CodeWeigh}, func(p *day.Problem, _ *day.Plan) { p.Boils[2].Weigh = freeForWeighing + 1 }},
		{"soiled rolls put on in the minutes of a change", []string{CodeRollsMin}, func(_ *day.Problem, q *day.Plan) { q.Made[2].RollsMin = 2 }},
		{"clean rolls cleaned", []string{CodeRollsMin}, func(_ *day.Problem, q *day.Plan) { q.Made[1].RollsFrom, q.Made[1].RollsMin = 13, 4 }},
		{"rolls cleaned a second time", []string{CodeRollsMin}, func(_ *day.Problem, q *day.Plan) { q.Made[4].RollsMin = 4 }},
		{"a flavour soils no rolls", []string{CodeRollsMin, CodeCleaning, CodeCleanValue}, func(p *day.Problem, _ *day.Plan) {
			p.Boils[0].Emit, p.Boils[1].Limit, p.Boils[2].Limit[0] = []int{3, 0}, []int{3, 3}, 3
		}},
		{"a kettle soils no rolls", []string{CodeRollsMin, CodeCleaning, CodeCleanValue}, func(p *day.Problem, _ *day.Plan) { p.Boils[0].Emit[1] = 0 }},
		{"an act cleans no rolls that go off", []string{CodeRollsMin}, func(_ *day.Problem, q *day.Plan) {
			q.Made[1].Act, q.Made[1].ActFrom = day.AllergenClean, 11
			q.Made[2].Act, q.Made[2].RollsMin = day.None, 2 // pair 0 went off before the act
			q.Made[3].RollsMin = 2                          // pair 1 went off a clean line
			cleans(q, 9)
		}},
		{"the pair of the opening soiled", []string{CodeRollsMin, CodeCleaning, CodeCleanValue}, func(p *day.Problem, _ *day.Plan) {
			p.Mounted, p.Levels = 1, []int{0, 1}
		}},
		{"minutes of the kettle not counted", []string{CodeCleaning, CodeCleanValue}, func(_ *day.Problem, q *day.Plan) { cleans(q, 9) }},
		{"minutes of soiled rolls not counted", []string{CodeCleaning, CodeCleanValue}, func(_ *day.Problem, q *day.Plan) { cleans(q, 7) }},
		{"the change to soiled rolls counted", []string{CodeCleaning, CodeCleanValue}, func(_ *day.Problem, q *day.Plan) { cleans(q, 15) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p, plan := workedAllergens()
			tt.spoil(p, plan)
			vs := Check(p, plan)
			var codes []string
			for _, v := range vs {
				codes = append(codes, v.Code)
			}
			want := slices.Sorted(slices.Values(tt.codes))
			if slices.Sort(codes); !slices.Equal(codes, want) {
				t.Errorf("got %v, want %v\n%s", vs, want, Draw(p, plan))
			}
		})
	}
}

// freeForWeighing is the hand-minutes there are for boil 2's weighing before its
// charge at 26: 3 hands in 23 minutes without the break, less 8 at hot work of
// boil 0 and 8 of boil 1, 4 at the rolls, 3 at kettle and act, 4 weighing the boils
// before. Watching takes none, and after-work gives way.
const freeForWeighing = 3*23 - 8 - 8 - 4 - 3 - 4

func TestCheckAcceptsAllergenPlans(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name   string
		change func(p *day.Problem, q *day.Plan)
	}{
		{"as worked", func(*day.Problem, *day.Plan) {}},
		{"the kettle cleaned from the opening", func(_ *day.Problem, q *day.Plan) {
			q.Made[0].KettleClean = true
			cleans(q, 13)
		}},
		{"residue of the opening cleaned away", func(p *day.Problem, q *day.Plan) {
			p.KettleLevels = []int{0, 4}
			q.Made[0].KettleClean = true
			cleans(q, 13)
		}},
		{"cleaned as the boil before leaves the kettle", func(p *day.Problem, _ *day.Plan) { p.Boils[1].Rinse = 7 }},
		{"a clean of no minutes", func(p *day.Problem, q *day.Plan) {
			p.KettleMin = 0
			cleans(q, 9)
		}},
		{"flavours in the kettle do not count", func(p *day.Problem, _ *day.Plan) {
			p.KettleLevels = []int{9, 3}
			p.Boils[2].KettleEmit = []int{9, 0}
		}},
		{"an early clean of the kettle", func(p *day.Problem, q *day.Plan) {
			p.Boils[0].KettleEmit, p.KettleLevels = nil, []int{0, 3}
			q.Made[0].KettleClean, q.Made[2].KettleClean = true, false
		}},
		{"a soiled pair stays soiled through a clean of the line", func(_ *day.Problem, q *day.Plan) {
			q.Made[1].Act, q.Made[1].ActFrom = day.AllergenClean, 11
			q.Made[2].Act = day.None
			q.Made[3].RollsMin = 2
			cleans(q, 9)
		}},
		{"all the hands there are weigh", func(p *day.Problem, _ *day.Plan) { p.Boils[2].Weigh = freeForWeighing }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p, plan := workedAllergens()
			tt.change(p, plan)
			if vs := Check(p, plan); vs != nil {
				t.Errorf("%v\n%s", vs, Draw(p, plan))
			}
		})
	}
}
