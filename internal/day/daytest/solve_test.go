package daytest

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"

	"slabside/internal/day"
)

func solve(t *testing.T, p *day.Problem, o day.Options) *day.Plan {
	t.Helper()
	plan, err := day.Solve(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// maker is a maker of random days, by the name it has in lists of them.
type maker struct {
	name string
	make func(seed uint64, size int) *day.Problem
}

var (
	plain     = maker{"random", Random}
	allergens = maker{"allergens", RandomAllergens}
)

// The seeds 0 to n−1 of each size are all solved, none left out.
var seeds = []struct {
	maker
	size int
	n    uint64
}{
	{plain, 1, 100}, {plain, 2, 300}, {plain, 3, 300}, {plain, 4, 100}, {plain, 5, 30}, {plain, 6, 20},
	{allergens, 2, 100}, {allergens, 3, 100}, {allergens, 4, 30},
}

// Every random day is planned as well as a search through all plans can, every
// plan passes the replay, and a run cut short claims no more than is true.
// Outside source: Exhaustive, which shares no code with the planner.
func TestSolveEqualsExhaustive(t *testing.T) {
	t.Parallel()
	var cut, worse, whole atomic.Int64
	t.Run("days", func(t *testing.T) {
		for _, s := range seeds {
			const share = 10 // seeds a subtest
			for from := uint64(0); from < s.n; from += share {
				t.Run(fmt.Sprintf("%s size %d from %d", s.name, s.size, from), func(t *testing.T) {
					t.Parallel()
					for seed := from; seed < from+share; seed++ {
						p := s.make(seed, s.size)
						want, best := Exhaustive(p)
						if len(best.Made) == s.size {
							whole.Add(1)
						}
						agree(t, seed, p, want, best)
						for _, o := range []day.Options{{MaxLabels: 1}, {MaxLabels: 5}, {MaxLabels: 40}, {OnlyBeam: true}, {OnlyBeam: true, Beam: 1}} {
							plan := short(t, seed, p, want, o)
							if !plan.ProvedBest {
								cut.Add(1)
							}
							if Values(plan) != want {
								worse.Add(1)
							}
						}
					}
				})
			}
		}
	})
	if cut.Load() == 0 || worse.Load() == 0 || whole.Load() == 0 {
		t.Errorf("%d runs unproved, %d worse than the best, %d days made whole: the seeds test too little", cut.Load(), worse.Load(), whole.Load())
	}
}

// agree compares the planner with the exhaustive search and the replay.
func agree(t *testing.T, seed uint64, p *day.Problem, want Vector, best *day.Plan) {
	t.Helper()
	if vs := Check(p, best); vs != nil {
		t.Errorf("seed %d: the exhaustive plan: %v\n%s", seed, vs, Draw(p, best))
	}
	plan := solve(t, p, day.Options{})
	if vs := Check(p, plan); vs != nil {
		t.Errorf("seed %d: %v\n%s", seed, vs, Draw(p, plan))
	}
	if !plan.ProvedBest {
		t.Errorf("seed %d: not proved", seed)
	}
	if got := Values(plan); got != want {
		t.Errorf("seed %d: planned %v, exhaustive search has %v\n%s\n%s", seed, got, want, Draw(p, plan), Draw(p, best))
	}
}

// short solves with less than the search wants: the plan must be sound, no
// better than the best, and no bound above the best of its level.
func short(t *testing.T, seed uint64, p *day.Problem, want Vector, o day.Options) *day.Plan {
	t.Helper()
	plan := solve(t, p, o)
	if vs := Check(p, plan); vs != nil {
		t.Errorf("seed %d %+v: %v\n%s", seed, o, vs, Draw(p, plan))
	}
	if Values(plan).Less(want) || plan.ProvedBest && Values(plan) != want {
		t.Errorf("seed %d %+v: values %v (proved %v), the best is %v", seed, o, Values(plan), plan.ProvedBest, want)
	}
	for i, b := range Bounds(plan) {
		if b > want[i] {
			t.Errorf("seed %d %+v: bounds %v, the best is %v", seed, o, Bounds(plan), want)
			break
		}
	}
	return plan
}

// Names and numbers of recipes, boils, channels, hands, lines and rules are no
// part of a day, and a day that begins later ends later by as much.
func TestSolveRelabelledAndShifted(t *testing.T) {
	t.Parallel()
	const later = 7
	for size := 2; size <= 5; size++ {
		for seed := uint64(500); seed < 560; seed++ {
			p := Random(seed, size)
			if seed >= 540 {
				p = RandomAllergens(seed, size)
			}
			want := Values(solve(t, p, day.Options{}))
			q := relabelled(p, seed)
			if plan := solve(t, q, day.Options{}); Values(plan) != want {
				t.Errorf("seed %d size %d: %v, relabelled %v", seed, size, want, Values(plan))
			} else if vs := Check(q, plan); vs != nil {
				t.Errorf("seed %d size %d relabelled: %v", seed, size, vs)
			}
			q = shifted(p, later)
			plan := solve(t, q, day.Options{})
			if vs := Check(q, plan); vs != nil {
				t.Errorf("seed %d size %d shifted: %v", seed, size, vs)
			}
			if len(plan.Made) > 0 {
				want[3] += later
			}
			if Values(plan) != want {
				t.Errorf("seed %d size %d: shifted by %d it is %v, not %v", seed, size, later, Values(plan), want)
			}
		}
	}
}

// relabelled returns the same day with everything that has an index in
// another place.
func relabelled(p *day.Problem, seed uint64) *day.Problem {
	r := &rng{seed ^ 0x5bd1e995}
	shuffle := func(n int) []int { // where[old] = new
		where := make([]int, n)
		for i := range where {
			j := r.in(0, i)
			where[i], where[j] = where[j], i
		}
		return where
	}
	q := *p
	recipe, channel, pair, hand := shuffle(len(p.Recipes)), shuffle(len(p.Channels)), shuffle(len(p.Pairs)), shuffle(len(p.Hands))

	q.Recipes = make([]string, len(p.Recipes))
	for i, n := range p.Recipes {
		q.Recipes[recipe[i]] = n
	}
	q.Channels = make([]day.Channel, len(p.Channels))
	for i, c := range p.Channels {
		q.Channels[channel[i]] = c
	}
	levels := func(l []int) []int {
		if l == nil {
			return nil
		}
		out := make([]int, len(l))
		for i, n := range l {
			out[channel[i]] = n
		}
		return out
	}
	q.Levels, q.KettleLevels = levels(p.Levels), levels(p.KettleLevels)
	q.Pairs = make([]day.Pair, len(p.Pairs))
	for i, c := range p.Pairs {
		q.Pairs[pair[i]] = c
	}
	if p.Mounted >= 0 {
		q.Mounted = pair[p.Mounted]
	}
	q.Hands = make([]day.Hand, len(p.Hands))
	for i, h := range p.Hands {
		q.Hands[hand[i]] = h
	}
	// boils in the order of the new recipes, those of one recipe as they were
	q.Boils = nil
	for rec := range p.Recipes {
		for _, b := range p.Boils {
			if recipe[b.Recipe] == rec {
				b.Recipe, b.Rolls = rec, pair[b.Rolls]
				b.Emit, b.Limit, b.KettleEmit = levels(b.Emit), levels(b.Limit), levels(b.KettleEmit)
				q.Boils = append(q.Boils, b)
			}
		}
	}
	q.Rules = nil
	for i := len(p.Rules) - 1; i >= 0; i-- {
		rule := p.Rules[i]
		if rule.A >= 0 {
			rule.A = recipe[rule.A]
		}
		rule.B = recipe[rule.B]
		q.Rules = append(q.Rules, rule)
	}
	q.Appoint = nil
	for i := len(p.Appoint) - 1; i >= 0; i-- {
		a := p.Appoint[i]
		if a.Recipe >= 0 {
			a.Recipe = recipe[a.Recipe]
		}
		q.Appoint = append(q.Appoint, a)
	}
	q.Lines = nil
	for _, l := range p.Lines {
		needs := make([]int, len(l.Needs))
		for rec, n := range l.Needs {
			needs[recipe[rec]] = n
		}
		q.Lines = append(q.Lines, day.Line{Name: l.Name, Must: l.Must, Needs: needs})
	}
	return &q
}

// shifted returns the day begun later by some minutes, in which nobody is there.
func shifted(p *day.Problem, minutes int) *day.Problem {
	q := *p
	q.End += minutes
	q.Hands, q.Breaks, q.Appoint = nil, nil, nil
	for _, h := range p.Hands {
		var spans []day.Span
		for _, s := range h.Present {
			spans = append(spans, day.Span{From: s.From + minutes, To: s.To + minutes})
		}
		h.Present = spans
		q.Hands = append(q.Hands, h)
	}
	for _, b := range p.Breaks {
		b.From += minutes
		b.To += minutes
		q.Breaks = append(q.Breaks, b)
	}
	for _, a := range p.Appoint {
		a.At += minutes
		q.Appoint = append(q.Appoint, a)
	}
	return &q
}

// Plans of the planner, spoiled in one way each, are rejected for that.
func TestCheckRejectsSpoiledSolvedPlans(t *testing.T) {
	t.Parallel()
	spoils := []struct {
		name  string
		code  string
		spoil func(p *day.Problem, q *day.Plan) bool // false: not to be had here
	}{
		{"end a minute early", CodeEndWrong, func(_ *day.Problem, q *day.Plan) bool { q.End--; return true }},
		{"cleaning a minute less", CodeCleaning, func(_ *day.Problem, q *day.Plan) bool { q.Cleaning--; return true }},
		{"a bound raised", CodeBound, func(_ *day.Problem, q *day.Plan) bool { q.Objectives[3].Bound++; return true }},
		{"a bound lowered", CodeProof, func(_ *day.Problem, q *day.Plan) bool { q.Objectives[3].Bound--; return true }},
		{"the last boil twice", CodeTwice, func(_ *day.Problem, q *day.Plan) bool {
			q.Made = append(q.Made, q.Made[len(q.Made)-1])
			return true
		}},
		{"the first before the opening", CodeOpening, func(p *day.Problem, q *day.Plan) bool {
			b := p.Boils[q.Made[0].Boil]
			q.Made[0].Pour = b.Lit + b.Charge - 1
			return true
		}},
		{"the second a kettle early", CodeKettle, func(_ *day.Problem, q *day.Plan) bool {
			if len(q.Made) < 2 {
				return false
			}
			q.Made[1].Pour = q.Made[0].Pour + 1
			return true
		}},
		{"rolls longer", CodeRollsMin, func(_ *day.Problem, q *day.Plan) bool { q.Made[0].RollsMin++; return true }},
		{"an act into the pour", CodeActWindow, func(p *day.Problem, q *day.Plan) bool {
			for k := range q.Made {
				if p.ActMin[q.Made[k].Act] > 0 {
					q.Made[k].ActFrom = q.Made[k].Pour - p.ActMin[q.Made[k].Act] + 1
					return true
				}
			}
			return false
		}},
		{"an act left out", CodeCleaning, func(p *day.Problem, q *day.Plan) bool {
			for k := range q.Made {
				if p.ActMin[q.Made[k].Act] > 0 {
					q.Made[k].Act = day.None
					return true
				}
			}
			return false
		}},
		{"a break late", CodeBreakWindow, func(p *day.Problem, q *day.Plan) bool {
			for i := range q.Breaks {
				q.Breaks[i] = p.Breaks[i].To + 1
			}
			return len(q.Breaks) > 0
		}},
		{"a break dropped", CodeBreakMissing, func(p *day.Problem, q *day.Plan) bool {
			for i := range q.Breaks {
				// without it the plan must still end after its window
				if q.Breaks[i] >= 0 && q.Made[len(q.Made)-1].Pour > p.Breaks[i].To {
					q.Breaks[i] = -1
					return true
				}
			}
			return false
		}},
		{"an appointment dropped", CodeAppoint, func(_ *day.Problem, q *day.Plan) bool {
			for a, k := range q.Kept {
				if k >= 0 {
					q.Kept[a] = -1
					return true
				}
			}
			return false
		}},
		{"nobody hot", CodeHot, func(p *day.Problem, _ *day.Plan) bool {
			for i := range p.Hands {
				p.Hands[i].Hot = false
			}
			return true
		}},
		{"the day a minute shorter than the work", CodeDayEnd, func(p *day.Problem, q *day.Plan) bool {
			p.Closing = p.End - q.End + 1
			return true
		}},
	}
	for _, s := range spoils {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			done := 0
			for seed := range uint64(60) {
				p := Random(seed, 3)
				plan := solve(t, p, day.Options{})
				if len(plan.Made) == 0 || !s.spoil(p, plan) {
					continue
				}
				done++
				found := false
				for _, v := range Check(p, plan) {
					found = found || v.Code == s.code
				}
				if !found {
					t.Errorf("seed %d: got %v, want %s\n%s", seed, Check(p, plan), s.code, Draw(p, plan))
				}
			}
			if done == 0 {
				t.Error("no plan could be spoiled so")
			}
		})
	}
}
