package day_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/day"
	"slabside/internal/day/daytest"
)

// drawDay draws a small random day.
func drawDay(t *rapid.T) *day.Problem {
	size := rapid.IntRange(1, 3).Draw(t, "size")
	return daytest.Random(rapid.Uint64Range(0, 100_000).Draw(t, "seed"), size)
}

func values(t *rapid.T, p *day.Problem) daytest.Vector {
	plan, err := day.Solve(context.Background(), p, day.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !plan.ProvedBest {
		t.Fatal("not proved")
	}
	return daytest.Values(plan)
}

func TestLawNamesDoNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawDay(t)
		want := values(t, p)

		slices.Reverse(p.Hands)
		slices.Reverse(p.Channels)
		slices.Reverse(p.Levels)
		slices.Reverse(p.KettleLevels)
		n := len(p.Recipes)
		perm := rapid.Permutation(seq(n)).Draw(t, "recipes") // recipe r becomes perm[r]
		for i := range p.Boils {
			b := &p.Boils[i]
			b.Recipe = perm[b.Recipe]
			b.Emit, b.Limit = slices.Clone(b.Emit), slices.Clone(b.Limit)
			b.KettleEmit = slices.Clone(b.KettleEmit)
			slices.Reverse(b.Emit)
			slices.Reverse(b.Limit)
			slices.Reverse(b.KettleEmit)
		}
		for i := range p.Rules {
			r := &p.Rules[i]
			if r.A >= 0 {
				r.A = perm[r.A]
			}
			if r.Kind != day.First && r.Kind != day.Last {
				r.B = perm[r.B]
			}
		}
		for i := range p.Appoint {
			if a := &p.Appoint[i]; a.Recipe >= 0 {
				a.Recipe = perm[a.Recipe]
			}
		}
		for i := range p.Lines {
			needs := make([]int, n)
			for r, c := range p.Lines[i].Needs {
				needs[perm[r]] = c
			}
			p.Lines[i].Needs = needs
		}
		if got := values(t, p); got != want {
			t.Fatalf("renamed %v, before %v", got, want)
		}
	})
}

func TestLawOneMoreHandHelps(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawDay(t)
		before := values(t, p)
		p.Hands = append(p.Hands, day.Hand{Name: "more", Adult: true, Hot: true, Clean: true, Present: []day.Span{{From: 0, To: p.End + 1}}})
		if after := values(t, p); slices.Compare(after[:], before[:]) > 0 {
			t.Fatalf("with one more hand %v, before %v", after, before)
		}
	})
}

func TestLawARuleNeverHelps(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawDay(t)
		before := values(t, p)
		r := rapid.IntRange(0, len(p.Recipes)-1)
		p.Rules = append(p.Rules, day.Rule{
			Kind: day.RuleKind(rapid.IntRange(int(day.First), int(day.Before)).Draw(t, "kind")),
			A:    r.Draw(t, "a"), B: r.Draw(t, "b"),
			Act: day.Act(rapid.IntRange(0, day.NumActs-1).Draw(t, "act")),
		})
		if after := values(t, p); slices.Compare(after[:], before[:]) < 0 {
			t.Fatalf("with rule %+v %v, without %v", p.Rules[len(p.Rules)-1], after, before)
		}
	})
}

func TestLawSameDaySamePlan(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		a := solved(t, daytest.Random(seed, 3), day.Options{})
		b := solved(t, daytest.Random(seed, 3), day.Options{})
		if fmt.Sprintf("%+v", *a) != fmt.Sprintf("%+v", *b) {
			t.Errorf("seed %d: %+v and %+v", seed, *a, *b)
		}
	}
}

func seq(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}
