package app

import (
	"context"
	"strings"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// Marks of languages and regions as in Unicode CLDR 32 and later (numbers/symbols/decimal).
func TestDecimalOf(t *testing.T) {
	t.Parallel()
	for languages, want := range map[string]q.Decimal{
		"": q.Point, "en": q.Point, "en-GB,en;q=0.9,de;q=0.8": q.Point, "C": q.Point, "POSIX": q.Point,
		"de": q.Comma, "de-AT,de;q=0.9,en;q=0.8": q.Comma, "de-CH": q.Point, "fr_FR": q.Comma, "fr-CA": q.Comma,
		"nl": q.Comma, "pl": q.Comma, "sv": q.Comma, "es": q.Comma, "es-MX": q.Point, "pt-BR": q.Comma, "ja": q.Point,
		"en;q=0.5,de": q.Comma, "ar-EG": q.Point, "%%%": q.Point, "*": q.Point, strings.Repeat("de,", 100): q.Point,
	} {
		if got := DecimalOf(languages); got != want {
			t.Errorf("%q reads %q, want %q", languages, got, want)
		}
	}
}

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
