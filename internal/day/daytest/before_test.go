package daytest

import (
	"context"
	"testing"

	"slabside/internal/day"
)

// The order of recipes demanded by Before: the planner and the exhaustive search
// agree on random days with such a rule, the plan passes, and the same plan with
// the rule turned round is refused where both recipes are made.
func TestBefore(t *testing.T) {
	t.Parallel()
	refused := 0
	for seed := range uint64(120) {
		p := Random(seed+9000, 3)
		if len(p.Recipes) < 2 {
			continue
		}
		p.Rules = append(p.Rules, day.Rule{Kind: day.Before, A: int(seed) % len(p.Recipes), B: int(seed+1) % len(p.Recipes)})
		plan, err := day.Solve(context.Background(), p, day.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range Check(p, plan) {
			t.Errorf("seed %d: %v", seed, v)
		}
		want, _ := Exhaustive(p)
		for i, o := range plan.Objectives {
			if o.Value != want[i] {
				t.Errorf("seed %d: %s is %d, exhaustively %d", seed, o.Name, o.Value, want[i])
				break
			}
		}
		r := &p.Rules[len(p.Rules)-1]
		r.A, r.B = r.B, r.A
		for _, v := range Check(p, plan) {
			if v.Code == CodeBefore {
				refused++
			}
		}
	}
	if refused == 0 {
		t.Error("no plan broke the rule turned round")
	}
}
