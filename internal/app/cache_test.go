package app_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"slabside/internal/app"
	"slabside/internal/bookfile"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
)

func newApp(t *testing.T) *app.App {
	t.Helper()
	text, err := bookfile.Encode(shoptest.Book())
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "shop.toml")
	if err := os.WriteFile(file, text, 0o644); err != nil {
		t.Fatal(err)
	}
	k, err := bookfile.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return app.New(k, shoptest.Now)
}

// However many ask at once, a plan is made once and a boil worked out; who leaves early is told so and
// costs the others nothing; changed lines make another plan.
func TestPlan_together(t *testing.T) {
	t.Parallel()
	a := newApp(t)
	ctx := context.Background()
	gone, leave := context.WithCancel(ctx)
	leave()
	if _, err := a.Plan(gone, app.PlanRequest{}); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("who leaves gets %v", err)
	}
	const askers = 8
	plans := make([]*app.DayPlan, askers)
	var wg sync.WaitGroup
	for i := range askers {
		wg.Go(func() {
			p, err := a.Plan(ctx, app.PlanRequest{})
			if err != nil {
				t.Error(err)
			}
			plans[i] = p
			if _, err := a.Boil(ctx, app.BoilRequest{Recipe: shoptest.Book().Recipes[0].ID}); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	for _, p := range plans {
		if p == nil || p != plans[0] {
			t.Fatal("one day was planned more than once")
		}
	}
	b, head, err := a.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	lines := append([]demand.Line{}, b.ToMake...)
	lines[0].Bags++
	if err := a.SetToMake(ctx, lines, head, "test", "one more"); err != nil {
		t.Fatal(err)
	}
	p, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if p == plans[0] || p.Bags[0].Asked != plans[0].Bags[0].Asked+1 {
		t.Error("the plan does not follow the lines")
	}
	if err := a.SetToMake(ctx, lines, head, "test", "stale"); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("a stale save gives %v", err)
	}
}

// A fault is not remembered: what was wrong once is looked at again.
func TestFaultsAreNotKept(t *testing.T) {
	t.Parallel()
	a := newApp(t)
	for range 2 {
		if _, err := a.Plan(context.Background(), app.PlanRequest{Date: "never"}); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("got %v", err)
		}
	}
}
