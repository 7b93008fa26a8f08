package app

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/day"
	"slabside/internal/shoptest"
)

// A person reads a time of day and hours, not minutes after opening.
func TestGoal(t *testing.T) {
	t.Parallel()
	d := &DayPlan{Opens: time.Date(2026, 3, 17, 8, 0, 0, 0, time.UTC), Batches: make([]Batch, 1)}
	for _, c := range []struct {
		o    Objective
		want [3]string
	}{
		{Objective{Name: day.ObjMust, Value: 2, Bound: 1}, [3]string{"orders that must go, left out", "2", "1"}},
		{Objective{Name: day.ObjEnd, Value: 390, Bound: 330}, [3]string{"the last bag is packed at", "14:30", "13:30"}},
		{Objective{Name: day.ObjClean, Value: 88, Bound: 60}, [3]string{"cleaning", "1 h 28 min", "1 h"}},
	} {
		name, value, bound := d.Goal(c.o)
		if diff := cmp.Diff(c.want, [3]string{name, value, bound}); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.o.Name, diff)
		}
	}
	d.Batches = nil
	if _, value, _ := d.Goal(Objective{Name: day.ObjEnd}); value != "–" {
		t.Errorf("a day without boils ends its work at %s", value)
	}
}

// Every level the planner counts has words.
func TestGoalsHaveWords(t *testing.T) {
	t.Parallel()
	p := plan(t, shoptest.Book(), PlanRequest{})
	if len(p.Objectives) == 0 {
		t.Fatal("no objectives")
	}
	for _, o := range p.Objectives {
		if goalWords[o.Name] == "" {
			t.Errorf("no words for %s", o.Name)
		}
	}
	if p.StoppedBy != "" {
		t.Errorf("a proved plan was stopped by the %s", p.StoppedBy)
	}
}

func TestStoppedByTheClock(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	p, err := MakePlan(ctx, shoptest.Book(), PlanRequest{Date: testDate})
	if err != nil {
		t.Fatal(err)
	}
	if !p.StoppedEarly || p.StoppedBy != ByClock || p.ProvedBest {
		t.Errorf("stopped early %v by %q, proved %v", p.StoppedEarly, p.StoppedBy, p.ProvedBest)
	}
}
