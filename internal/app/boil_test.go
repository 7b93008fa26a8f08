package app_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/app"
	"slabside/internal/bookfile"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// Whoever asks for one boil of a recipe and charge reads what its batch sheet in
// the day's plan says, to the last digit, whichever boil of the day it is.
func TestBoilIsThePlansBoil(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "demo.toml")
	if err := os.WriteFile(file, bookfile.Demo(), 0o644); err != nil {
		t.Fatal(err)
	}
	k, err := bookfile.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	for name, a := range map[string]*app.App{"demo": app.New(k, shoptest.Now), "sample": newApp(t)} {
		p, err := a.Plan(context.Background(), app.PlanRequest{})
		if err != nil {
			t.Fatal(err)
		}
		again := 0
		seen := map[string]bool{}
		for _, b := range p.Batches {
			if again++; !seen[b.Recipe] {
				seen[b.Recipe], again = true, again-1
			}
			r, err := a.Boil(context.Background(), app.BoilRequest{Recipe: b.Recipe, Charge: q.Kilograms(b.ChargeKg)})
			if err != nil {
				t.Fatal(err)
			}
			type figures struct {
				Dial, Boil, Water, Lift, Finished, Pieces, Time, Energy q.Estimate
				Mark                                                    q.Number
				Read                                                    string
			}
			sh := b.Sheet
			want := figures{sh.DialC, sh.BoilC, sh.WaterFrac, sh.LiftKg, sh.FinishedKg, b.Pieces, sh.BoilTimeS, sh.EnergyKWh, sh.MarkC, sh.Read}
			got := figures{*r.DialC, *r.BoilC, *r.WaterFrac, *r.MassKg, *r.FinishedKg, *r.Pieces, *r.BoilTimeS, *r.EnergyKWh, r.MarkC, r.Read}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("%s, %s: (-sheet +boil)\n%s", name, b.ID, d)
			}
		}
		if len(p.Batches) == 0 || name == "demo" && again == 0 {
			t.Errorf("%s: %d boils, %d of a recipe boiled before: too little to tell", name, len(p.Batches), again)
		}
	}
}

// A charge below zero or beyond its kettle is refused with the field it is of.
func TestBoilRefusals(t *testing.T) {
	t.Parallel()
	a := newApp(t)
	id := shoptest.Book().Recipes[0].ID
	for charge, kind := range map[q.Kilograms]fault.Kind{-1: fault.KindInvalid, 30: fault.KindOutOfRange, 1: fault.KindOutOfRange} {
		if _, err := a.Boil(context.Background(), app.BoilRequest{Recipe: id, Charge: charge}); fault.KindOf(err) != kind {
			t.Errorf("a charge of %g kg: %v", float64(charge), err)
		}
	}
}
