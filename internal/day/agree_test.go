package day_test

import (
	"context"
	"testing"

	"slabside/internal/day"
	"slabside/internal/day/daytest"
)

// The exhaustive search of daytest shares no code with the solver; both read
// the package comment.
func TestSolveAgreesWithExhaustive(t *testing.T) {
	t.Parallel()
	for size, days := range map[int]uint64{1: 300, 2: 500, 3: 200, 4: 20} {
		for seed := range days {
			p := daytest.Random(seed, size)
			plan := solved(t, p, day.Options{})
			if want, _ := daytest.Exhaustive(p); daytest.Values(plan) != want {
				t.Errorf("size %d seed %d: %v, exhaustive search %v", size, seed, daytest.Values(plan), want)
			}
		}
	}
}

// A search that is stopped must say so, keep the rules, and bound the optimum
// from below as far as the levels above are at their best.
func TestSolveStoppedIsHonest(t *testing.T) {
	t.Parallel()
	stopped := 0
	try := func(p *day.Problem, ctx context.Context, o day.Options, best daytest.Vector) {
		t.Helper()
		plan, err := day.Solve(ctx, p, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range daytest.Check(p, plan) {
			t.Error(v)
		}
		if plan.StoppedEarly {
			stopped++
		}
		if plan.StoppedEarly && plan.ProvedBest {
			t.Error("stopped early and yet proved")
		}
		for i, v := range daytest.Values(plan) {
			if b := plan.Objectives[i].Bound; b > best[i] {
				t.Errorf("bound %d of %s, but %d is possible", b, plan.Objectives[i].Name, best[i])
			}
			if v < best[i] {
				t.Errorf("%s: %d is better than the best %d", plan.Objectives[i].Name, v, best[i])
			}
			if v != best[i] {
				break // below this the levels are not comparable
			}
		}
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	for seed := range uint64(120) {
		p := daytest.Random(seed, 3)
		best := daytest.Values(solved(t, p, day.Options{}))
		for _, budget := range []int{1, 5, 20, 60} {
			try(p, context.Background(), day.Options{MaxLabels: budget}, best)
		}
		try(p, context.Background(), day.Options{OnlyBeam: true, Beam: 1}, best)
		try(p, gone, day.Options{}, best)
	}
	if stopped < 100 {
		t.Errorf("only %d runs were stopped", stopped)
	}
}

// Nothing beats the optimum, and whatever beats a worse vector is the optimum.
func TestSolveUpper(t *testing.T) {
	t.Parallel()
	for seed := range uint64(60) {
		p := daytest.Random(seed, 2)
		best := daytest.Values(solved(t, p, day.Options{}))
		plan, err := day.Solve(context.Background(), p, day.Options{Upper: best[:]})
		if err != nil {
			t.Fatal(err)
		}
		if len(plan.Made) != 0 || plan.ProvedBest || plan.StoppedEarly {
			t.Errorf("seed %d: a plan beats the optimum %v: %v", seed, best, daytest.Values(plan))
		}
		worse := best
		worse[3]++
		if got := daytest.Values(solved(t, p, day.Options{Upper: worse[:]})); got != best {
			t.Errorf("seed %d: %v below %v, want %v", seed, got, worse, best)
		}
	}
}
