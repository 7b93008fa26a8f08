package app

import (
	"context"
	"strings"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// Two readers of one day: the same plan, each with their own marks, and nothing of
// the one's in the other's.
func TestPlan_ForEachReader(t *testing.T) {
	t.Parallel()
	a, _ := keepBook(t, shoptest.Book())
	text := func(d q.Decimal) string {
		p, err := a.Plan(ReadWith(context.Background(), d), PlanRequest{Date: shoptest.Date})
		if err != nil {
			t.Fatal(err)
		}
		var s strings.Builder
		for _, m := range p.Clock {
			s.WriteString(m.Text + "\n")
		}
		for _, b := range p.Batches {
			for _, w := range b.Sheet.Weigh {
				s.WriteString(w.Show + "\n")
			}
		}
		return s.String()
	}
	point, comma := text(q.Point), text(q.Comma)
	if strings.Contains(comma, ".") || !strings.Contains(point, ".") {
		t.Errorf("with a comma:\n%s\nwith a point:\n%s", comma, point)
	}
	if strings.ReplaceAll(point, ".", ",") != strings.ReplaceAll(comma, ".", ",") {
		t.Error("the two read different days")
	}
}
