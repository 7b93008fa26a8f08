package demand_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/demand"
	q "slabside/internal/quantity"
)

// Lot plans of several recipes come in order, best first, and none is missing.
func TestCover_lotPlans(t *testing.T) {
	t.Parallel()
	p := sampledProblems()["orders and shelf"]
	room.modelled(&p, 3)
	res, err := demand.Cover(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Others) == 0 || len(res.Others) > demand.MostOthers {
		t.Fatalf("%d other lot plans", len(res.Others))
	}
	plans := append([]demand.LotPlan{res.Best}, res.Others...)
	seen := make(map[string]bool)
	for i, plan := range plans {
		boils, left := 0, 0.0
		key := ""
		for _, l := range plan.Lots {
			boils += len(l.Charges)
			left += float64(l.LeftOver)
			key += fmt.Sprint(l.Charges)
			if l.Chance.Must < demand.MustCover || l.Chance.All < demand.ShouldCover {
				t.Errorf("plan %d does not cover: %+v", i, l.Chance)
			}
			if !slices.IsSortedFunc(l.Charges, func(a, b q.Kilograms) int { return int(math.Round(float64(b-a) * 1000)) }) {
				t.Errorf("plan %d: charges %v are not largest first", i, l.Charges)
			}
		}
		if seen[key] {
			t.Errorf("plan %d is there twice: %s", i, key)
		}
		seen[key] = true
		if boils != plan.Boils || math.Abs(left-float64(plan.LeftOver)) > 1e-9 {
			t.Errorf("plan %d: %d boils leave %v", i, boils, left)
		}
		if i > 0 && (plans[i-1].Boils > plan.Boils || plans[i-1].Boils == plan.Boils && plans[i-1].LeftOver > plan.LeftOver) {
			t.Errorf("plan %d is better than the one before", i)
		}
		for l := range plan.Lines {
			for r := range plan.Lots {
				own, n := plan.Lines[l].Own[r], plan.Lines[l].Needs[r]
				if own != 0 && own != n || l > 0 && n < plan.Lines[l-1].Needs[r] || n > len(plan.Lots[r].Charges) {
					t.Errorf("plan %d, line %d: %+v", i, l, plan.Lines[l])
				}
			}
		}
	}
	again, err := demand.Cover(p)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(res, again); d != "" {
		t.Error("not the same twice: ", d)
	}
}
