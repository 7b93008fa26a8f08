package entry_test

import (
	"strings"
	"testing"

	"slabside/internal/entry"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// Limits are told in the shop's units, with the reader's mark.
func TestLimitsInTheShopsUnits(t *testing.T) {
	t.Parallel()
	for units, want := range map[q.Reader]string{q.Plain: "0.2 kg to 150 kg", q.US.With(q.Point): "about 7.05 oz to 331 lb", q.Metric.With(q.Comma): "0,2 kg to 150 kg", q.US.With(q.Comma): "about 7,05 oz to 331 lb"} {
		b := shoptest.Book()
		b.Shop.Units = units
		f, err := entry.Print(&b, "kettle", b.Kettles[0].ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range entry.Layout(&b, f, nil) {
			if n.Name == "usual_charge" && n.Limits != want {
				t.Errorf("%s: %q, want %q", units, n.Limits, want)
			}
			if units.US() && (strings.HasSuffix(n.Limits, " kg") || strings.HasSuffix(n.Limits, " kW") || strings.HasSuffix(n.Limits, " L")) {
				t.Errorf("%s: %s lies %s", units, n.Name, n.Limits)
			}
		}
	}
}
