package daytest

import (
	"slices"
	"testing"

	"slabside/internal/day"
)

// worked is a day of four boils worked by hand from the model's sentences.
//
//	minute   0         1         2         3         4
//	         0123456789012345678901234567890123456789012345678
//	boil 0   ..+fffff|~     turn 9–11, roll 11–13, cool 15
//	boil 1             +fffff|~     turn 17–19, pull 19–21, roll 21–23, cool 25
//	break                          xxx
//	boil 2                            +fffff|~     turn 33–35, roll 35–37, cool 39
//	boil 3                                    +fffff|~   turn 41–43, roll 43–45, cool 47
//	set-ups  rr           ar           aaarr (wash 26–29, rolls 27–29)
//
// The four hand-minutes after boil 3 take three hands minutes 47 and 48, so
// the work ends at 49. Cleaning: wipe 1, rolls 1, wash 3.
func worked() (*day.Problem, *day.Plan) {
	whole := []day.Span{{From: 0, To: 60}}
	plain := []day.Shape{{
		Name:     "early",
		Steps:    []day.Step{{Kind: day.Turn, From: 1, To: 3, Hands: 1}, {Kind: day.Roll, From: 3, To: 5, Hands: 2}},
		SlabFree: 3, RollFrom: 3, RollTo: 5,
	}}
	pulled := []day.Shape{{
		Name: "pulled",
		Steps: []day.Step{
			{Kind: day.Turn, From: 1, To: 3, Hands: 1}, {Kind: day.Pull, From: 3, To: 5, Hands: 1}, {Kind: day.Roll, From: 5, To: 7, Hands: 2},
		},
		SlabFree: 3, HookFrom: 3, HookTo: 5, RollFrom: 5, RollTo: 7,
	}}
	boil := func(id string, recipe, rolls int, shapes []day.Shape, emit, limit []int) day.Boil {
		return day.Boil{
			ID: id, Recipe: recipe, Weigh: 2, Charge: 1, Lit: 5, Watch: 2, Pour: 1, PourHands: 2, Rinse: 1,
			Shapes: slices.Clone(shapes), Rolls: rolls, BenchG: 5, Cool: 2, After: 4, Emit: emit, Limit: limit,
		}
	}
	p := &day.Problem{
		End: 60, Closing: 5,
		Recipes: []string{"first", "second", "third"},
		Boils: []day.Boil{
			boil("a", 0, 0, plain, []int{3, 0}, []int{3, 0}),
			boil("b", 1, 0, pulled, []int{2, 0}, []int{1, 0}),
			boil("c", 2, 1, plain, []int{2, 3}, []int{1, 3}),
			boil("d", 2, 1, plain, []int{2, 3}, []int{3, 3}),
			boil("e", 1, 0, pulled, []int{2, 0}, []int{1, 0}),
		},
		Hands: []day.Hand{
			{Name: "one", Adult: true, Hot: true, Clean: true, Present: whole},
			{Name: "two", Adult: true, Hot: true, Clean: true, Present: whole},
			{Name: "three", Present: []day.Span{{From: 10, To: 60}}},
		},
		Breaks: []day.Break{{Name: "dinner", From: 20, To: 26, Minutes: 3}},
		Appoint: []day.Appointment{
			{Name: "school", At: 17, Early: 1, Late: 2, Recipe: 1},
			{Name: "late", At: 52, Recipe: -1},
		},
		Channels: []day.Channel{{Name: "flavour"}, {Name: "allergen", Allergen: true}},
		Pairs:    []day.Pair{{Name: "small", Mount: 2}, {Name: "large", Mount: 2}},
		Rules: []day.Rule{
			{Kind: day.First, A: 0},
			{Kind: day.Last, A: 2},
			{Kind: day.Next, A: 0, B: 1},
			{Kind: day.NotNext, A: 1, B: 0},
			{Kind: day.AtLeast, A: 1, B: 2, Act: day.Wash},
			{Kind: day.AtLeast, A: -1, B: 1, Act: day.Wipe},
		},
		Lines: []day.Line{
			{Name: "must", Must: true, Needs: []int{1, 1, 1}},
			{Name: "should", Needs: []int{1, 1, 2}},
			{Name: "two of the second", Needs: []int{1, 2, 2}},
		},
		ActMin:   [day.NumActs]int{0, 1, 3, 5},
		RollsMin: [day.NumActs]int{0, 1, 2, 2},
		Mounted:  -1,
		BenchG:   5,
	}
	plan := &day.Plan{
		Made: []day.Placed{
			{Boil: 0, Pour: 8, RollsFrom: 0, RollsMin: 2},
			{Boil: 1, Pour: 16, Act: day.Wipe, ActFrom: 13, RollsFrom: 14, RollsMin: 1},
			{Boil: 2, Pour: 32, Act: day.Wash, ActFrom: 26, RollsFrom: 27, RollsMin: 2},
			{Boil: 3, Pour: 40},
		},
		Breaks: []int{23},
		Kept:   []int{1, -1},
		End:    49, Cleaning: 5,
		Objectives: []day.Objective{
			{Name: day.ObjMust}, {Name: day.ObjAppoint, Value: 1}, {Name: day.ObjShould, Value: 1},
			{Name: day.ObjEnd, Value: 49, Bound: 40}, {Name: day.ObjClean, Value: 5},
		},
	}
	return p, plan
}

func TestCheckAcceptsTheWorkedDay(t *testing.T) {
	t.Parallel()
	p, plan := worked()
	if vs := Check(p, plan); vs != nil {
		t.Errorf("%v\n%s", vs, Draw(p, plan))
	}
}

func TestCheckAcceptsTheEmptyDay(t *testing.T) {
	t.Parallel()
	p, _ := worked()
	plan := &day.Plan{Breaks: []int{-1}, Kept: []int{-1, -1}, Objectives: []day.Objective{
		{Name: day.ObjMust, Value: 1}, {Name: day.ObjAppoint, Value: 2}, {Name: day.ObjShould, Value: 2},
		{Name: day.ObjEnd}, {Name: day.ObjClean},
	}}
	if vs := Check(p, plan); vs != nil {
		t.Error(vs)
	}
}

// Each plan is spoiled in one way, or one number of the day is changed under
// it; the replay must name that.
func TestCheckRejectsSpoiledPlans(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name  string
		code  string
		spoil func(p *day.Problem, plan *day.Plan)
	}{
		{"no such boil", CodeShape, func(_ *day.Problem, q *day.Plan) { q.Made[0].Boil = 9 }},
		{"no such shape", CodeShape, func(_ *day.Problem, q *day.Plan) { q.Made[0].Shape = 1 }},
		{"no such act", CodeShape, func(_ *day.Problem, q *day.Plan) { q.Made[0].Act = 4 }},
		{"a break forgotten", CodeShape, func(_ *day.Problem, q *day.Plan) { q.Breaks = nil }},
		{"an appointment forgotten", CodeShape, func(_ *day.Problem, q *day.Plan) { q.Kept = q.Kept[:1] }},
		{"kept by nothing", CodeShape, func(_ *day.Problem, q *day.Plan) { q.Kept[0] = 7 }},
		{"a boil made twice", CodeTwice, func(_ *day.Problem, q *day.Plan) { q.Made[3].Boil = 2 }},
		{"listed out of pour order", CodePourOrder, func(_ *day.Problem, q *day.Plan) { q.Made[2], q.Made[3] = q.Made[3], q.Made[2] }},
		{"index order broken", CodeRecipeOrder, func(_ *day.Problem, q *day.Plan) { q.Made[2].Boil, q.Made[3].Boil = 3, 2 }},
		{"an earlier boil of the recipe left out", CodeRecipeOrder, func(_ *day.Problem, q *day.Plan) { q.Made[1].Boil = 4 }},
		{"charged before the opening", CodeOpening, func(_ *day.Problem, q *day.Plan) { q.Made[0].Pour = 5 }},
		{"poured a minute early", CodeKettle, func(_ *day.Problem, q *day.Plan) { q.Made[1].Pour = 15 }},
		{"poured a minute early after the break", CodeBreakWork, func(_ *day.Problem, q *day.Plan) { q.Made[2].Pour = 31 }},
		{"slab still taken", CodeSlab, func(p *day.Problem, _ *day.Plan) { p.Boils[0].Shapes[0].SlabFree = 9 }},
		{"hook still taken", CodeHook, func(p *day.Problem, _ *day.Plan) {
			p.Boils[0].Shapes[0].HookFrom, p.Boils[0].Shapes[0].HookTo = 3, 12
		}},
		{"rolls still taken", CodeRolls, func(p *day.Problem, _ *day.Plan) { p.Boils[0].Shapes[0].RollTo = 14 }},
		{"two flames", CodeFlames, func(_ *day.Problem, q *day.Plan) { q.Made[1].Pour = 12 }},
		{"no adult by the flame", CodeAdult, func(p *day.Problem, _ *day.Plan) { p.Hands[0].Adult, p.Hands[1].Adult = false, false }},
		{"the adults out for one minute of flame", CodeAdult, func(p *day.Problem, _ *day.Plan) {
			p.Hands[0].Present = []day.Span{{From: 0, To: 36}, {From: 37, To: 60}}
			p.Hands[1].Present = p.Hands[0].Present
		}},
		{"bench overfull", CodeBench, func(p *day.Problem, _ *day.Plan) { p.BenchG = 4 }},
		{"act before the slab is free", CodeActWindow, func(_ *day.Problem, q *day.Plan) { q.Made[1].ActFrom = 10 }},
		{"act before the hook is free", CodeActWindow, func(_ *day.Problem, q *day.Plan) { q.Made[2].ActFrom = 20 }},
		{"act cut short by the pour", CodeActWindow, func(_ *day.Problem, q *day.Plan) { q.Made[2].ActFrom = 30 }},
		{"rolls changed in fewer minutes", CodeRollsMin, func(_ *day.Problem, q *day.Plan) { q.Made[2].RollsMin = 1 }},
		{"rolls not changed", CodeRollsMin, func(_ *day.Problem, q *day.Plan) { q.Made[0].RollsMin = 0 }},
		{"rolls not cleaned", CodeRollsMin, func(_ *day.Problem, q *day.Plan) { q.Made[1].RollsMin = 0 }},
		{"rolls changed while they roll", CodeRollsWindow, func(_ *day.Problem, q *day.Plan) { q.Made[2].RollsFrom = 22 }},
		{"rolls changed into the rolling", CodeRollsWindow, func(_ *day.Problem, q *day.Plan) { q.Made[2].RollsFrom = 34 }},
		{"act dropped", CodeResidue, func(_ *day.Problem, q *day.Plan) { q.Made[1].Act, q.Made[1].RollsMin = day.None, 0 }},
		{"a dirtier slab at opening", CodeResidue, func(p *day.Problem, _ *day.Plan) { p.Levels = []int{4, 0} }},
		{"a wash against an allergen", CodeResidue, func(p *day.Problem, _ *day.Plan) { p.Boils[1].Emit[1], p.Boils[2].Limit[1] = 1, 0 }},
		{"residue one above the limit", CodeResidue, func(p *day.Problem, _ *day.Plan) { p.Boils[3].Limit[0] = 1 }},
		{"the watcher rolls", CodeHot, func(p *day.Problem, _ *day.Plan) { p.Boils[1].Watch = 4 }},
		{"a hand invented", CodeHot, func(p *day.Problem, _ *day.Plan) { p.Hands = p.Hands[:1] }},
		{"the second hand may not do hot work", CodeHot, func(p *day.Problem, _ *day.Plan) { p.Hands[1].Hot = false }},
		{"a cleaner gone for a minute", CodeClean, func(p *day.Problem, _ *day.Plan) {
			p.Hands[1].Present = []day.Span{{From: 0, To: 28}, {From: 29, To: 60}}
		}},
		{"weighed too late", CodeWeigh, func(p *day.Problem, _ *day.Plan) { p.Boils[0].Weigh = 3 }},
		{"nobody to end the work", CodeUndone, func(p *day.Problem, _ *day.Plan) { p.Boils[3].After = 40 }},
		{"break before its window", CodeBreakWindow, func(_ *day.Problem, q *day.Plan) { q.Breaks[0] = 19 }},
		{"break after its window", CodeBreakWindow, func(_ *day.Problem, q *day.Plan) { q.Breaks[0] = 27 }},
		{"break not taken", CodeBreakMissing, func(_ *day.Problem, q *day.Plan) { q.Breaks[0] = -1 }},
		{"break with a flame", CodeBreakFlame, func(_ *day.Problem, q *day.Plan) { q.Breaks[0] = 25 }},
		{"break while rolling", CodeBreakWork, func(_ *day.Problem, q *day.Plan) { q.Breaks[0] = 22 }},
		{"break while cleaning", CodeBreakWork, func(_ *day.Problem, q *day.Plan) { q.Made[2].ActFrom = 25 }},
		{"appointment claimed and missed", CodeKept, func(_ *day.Problem, q *day.Plan) { q.Kept[1] = 3 }},
		{"appointment a minute too early", CodeKept, func(p *day.Problem, _ *day.Plan) { p.Appoint[0].Early = 0 }},
		{"appointment a minute too late", CodeKept, func(p *day.Problem, _ *day.Plan) { p.Appoint[0].At, p.Appoint[0].Late = 14, 1 }},
		{"appointment of another recipe", CodeKeptRecipe, func(p *day.Problem, _ *day.Plan) { p.Appoint[0].Recipe = 0 }},
		{"one pour for two appointments", CodeKeptTwice, func(p *day.Problem, q *day.Plan) { p.Appoint[1], q.Kept[1] = p.Appoint[0], 1 }},
		{"first broken", CodeFirst, func(p *day.Problem, _ *day.Plan) { p.Rules[0].A = 1 }},
		{"last broken", CodeLast, func(p *day.Problem, _ *day.Plan) { p.Rules[1].A = 0 }},
		{"next broken", CodeNext, func(p *day.Problem, _ *day.Plan) { p.Rules[2].A = 2 }},
		{"next of the day's first", CodeNext, func(p *day.Problem, _ *day.Plan) { p.Rules[2] = day.Rule{Kind: day.Next, A: 1, B: 0} }},
		{"not next broken", CodeNotNext, func(p *day.Problem, _ *day.Plan) { p.Rules[3] = day.Rule{Kind: day.NotNext, A: 0, B: 1} }},
		{"not next of one recipe broken", CodeNotNext, func(p *day.Problem, _ *day.Plan) { p.Rules[3] = day.Rule{Kind: day.NotNext, A: 2, B: 2} }},
		{"before broken", CodeBefore, func(p *day.Problem, _ *day.Plan) { p.Rules[3] = day.Rule{Kind: day.Before, A: 2, B: 1} }},
		{"at least broken", CodeAtLeast, func(p *day.Problem, _ *day.Plan) { p.Rules[4].Act = day.AllergenClean }},
		{"at least before the first broken", CodeAtLeast, func(p *day.Problem, _ *day.Plan) {
			p.Rules[5] = day.Rule{Kind: day.AtLeast, A: -1, B: 0, Act: day.Wipe}
		}},
		{"at least after any other broken", CodeAtLeast, func(p *day.Problem, _ *day.Plan) { p.Rules[5].Act = day.Wash }},
		{"beyond the day's end", CodeDayEnd, func(p *day.Problem, _ *day.Plan) { p.Closing = 12 }},
		{"end a minute short", CodeEndWrong, func(_ *day.Problem, q *day.Plan) { q.End, q.Objectives[3].Value = 48, 48 }},
		{"end a minute long", CodeEndWrong, func(_ *day.Problem, q *day.Plan) { q.End = 50 }},
		{"cleaning miscounted", CodeCleaning, func(_ *day.Problem, q *day.Plan) { q.Cleaning = 7 }},
		{"objectives exchanged", CodeNames, func(_ *day.Problem, q *day.Plan) {
			q.Objectives[3], q.Objectives[4] = q.Objectives[4], q.Objectives[3]
		}},
		{"an objective missing", CodeNames, func(_ *day.Problem, q *day.Plan) { q.Objectives = q.Objectives[:4] }},
		{"must-lines miscounted", CodeMust, func(p *day.Problem, _ *day.Plan) { p.Lines[2].Must = true }},
		{"appointments miscounted", CodeAppoint, func(_ *day.Problem, q *day.Plan) { q.Kept[0] = -1 }},
		{"should-lines miscounted", CodeShould, func(_ *day.Problem, q *day.Plan) { q.Objectives[2].Value = 0 }},
		{"end miscounted", CodeEndValue, func(_ *day.Problem, q *day.Plan) { q.Objectives[3].Value = 50 }},
		{"cleaning value miscounted", CodeCleanValue, func(_ *day.Problem, q *day.Plan) { q.Objectives[4].Value = 4 }},
		{"bound above its value", CodeBound, func(_ *day.Problem, q *day.Plan) { q.Objectives[3].Bound = 50 }},
		{"best without a bound", CodeProof, func(_ *day.Problem, q *day.Plan) { q.ProvedBest = true }},
		{"best and stopped early", CodeProof, func(_ *day.Problem, q *day.Plan) {
			for i := range q.Objectives {
				q.Objectives[i].Bound = q.Objectives[i].Value
			}
			q.ProvedBest, q.StoppedEarly = true, true
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p, plan := worked()
			tt.spoil(p, plan)
			vs := Check(p, plan)
			if !slices.ContainsFunc(vs, func(v Violation) bool { return v.Code == tt.code }) {
				t.Errorf("got %v, want %s\n%s", vs, tt.code, Draw(p, plan))
			}
		})
	}
}

// The numbers of the worked day sit at their edges: one minute or hand-minute
// the other way is accepted too.
func TestCheckAcceptsTheEdges(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name   string
		change func(p *day.Problem, plan *day.Plan)
	}{
		{"closing up to the day's end", func(p *day.Problem, _ *day.Plan) { p.Closing = 11 }},
		{"act as the slab becomes free", func(_ *day.Problem, q *day.Plan) { q.Made[3].ActFrom = 35 }},
		{"act up to the pour", func(p *day.Problem, q *day.Plan) { q.Made[2].ActFrom, q.Made[2].RollsFrom = 29, 27 }},
		{"rolls up to the rolling", func(_ *day.Problem, q *day.Plan) { q.Made[1].RollsFrom = 20 }},
		{"appointment at its late edge", func(p *day.Problem, _ *day.Plan) { p.Appoint[0].At, p.Appoint[0].Late = 14, 2 }},
		{"watch from the end of the rolling", func(p *day.Problem, _ *day.Plan) { p.Boils[1].Watch = 3; p.ActMin[day.Wipe] = 1 }},
		{"before kept", func(p *day.Problem, _ *day.Plan) { p.Rules[3] = day.Rule{Kind: day.Before, A: 0, B: 2} }},
		{"rules of recipes not made", func(p *day.Problem, _ *day.Plan) {
			p.Recipes = append(p.Recipes, "fourth")
			p.Rules = append(p.Rules, day.Rule{Kind: day.Next, A: 0, B: 3}, day.Rule{Kind: day.AtLeast, A: 3, B: 1, Act: day.Wash})
			for i := range p.Lines {
				p.Lines[i].Needs = append(p.Lines[i].Needs, 0)
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p, plan := worked()
			tt.change(p, plan)
			if vs := Check(p, plan); vs != nil {
				t.Errorf("%v\n%s", vs, Draw(p, plan))
			}
		})
	}
}
