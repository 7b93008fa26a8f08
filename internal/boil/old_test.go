package boil

import (
	"math"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/validation"
)

// TestOldRecipes_DryMatter recomputes dry matter and yields of the old recipes from
// the printed quantities. The quantities are outside facts; the yields are
// arithmetic, so this is a regression.
func TestOldRecipes_DryMatter(t *testing.T) {
	t.Parallel()
	charges := oldCharges(t)
	rows := validation.Records(t, "old-yields.csv")
	for _, row := range rows {
		c, ok := charges[row.Text("recipe")]
		if !ok {
			t.Errorf("%s has no ingredients", row.Text("recipe"))
			continue
		}
		// 0.1 g of rounding a line and half of the last printed digit.
		tol := 0.00005 + 0.00001*float64(len(c.Lines))
		if got, want := c.Makeup().Dry(), row.Number("dry_kg"); math.Abs(got-want) > tol {
			t.Errorf("%s: dry matter %.4f kg, want %.4f (%s)", row.Text("recipe"), got, want, row.Text("key"))
		}
		for _, at := range []struct {
			column string
			water  q.Fraction
		}{{"yield_1pct_kg", 0.01}, {"yield_2pct_kg", 0.02}, {"yield_3pct_kg", 0.03}} {
			p := prepare(t, Inputs{Charge: c, End: End{WaterLeft: at.water}, Room: seaRoom()})
			if got, want := p.nominal.Lift.Mass(), row.Number(at.column); math.Abs(got-want) > 0.0007 {
				t.Errorf("%s at %s of water: %.4f kg, want %.3f (%s)", row.Text("recipe"), q.Plain.Percent(at.water, 0), got, want, row.Text("key"))
			}
		}
	}
	t.Logf("%d recipes", len(rows))
}

// TestOldRecipes_Stated holds predictions against yields the sources themselves
// state: 144 squares of about an ounce of butterscotch, a mould of eight toys from
// 250 g of sugar, and three home recipes whose stated pound is well under what is
// in the pan.
func TestOldRecipes_Stated(t *testing.T) {
	t.Parallel()
	charges := oldCharges(t)
	judged := map[string]judgement{"F02": plausible, "M02": lossy, "M03": lossy, "M04": lossy}
	seen := 0
	for _, row := range validation.Records(t, "old-yields.csv") {
		if row.Text("squares") == "" && row.Text("stated_kg") == "" && row.Text("pieces") == "" {
			continue
		}
		r := predict(t, Inputs{Recipe: row.Text("recipe"), Charge: charges[row.Text("recipe")],
			End: End{BoilTo: fahrenheit(row.Number("boil_f"))}, Room: seaRoom()})
		seen++
		if row.Text("pieces") != "" {
			// A bound: 250 g of sugar cannot make eight toys above 31.9 g (2 % of water).
			each := r.MassKg.High / row.Number("pieces")
			t.Logf("%s: at most %.2f g a piece", row.Text("recipe"), each*1e3)
			if each > 0.0322 || each < 0.0312 {
				t.Errorf("%s: %.2f g a piece, want at most 31.9", row.Text("recipe"), each*1e3)
			}
			continue
		}
		stated := 0.0
		if row.Text("squares") != "" {
			stated = row.Number("squares") * row.Number("square_oz") * q.KilogramsPerOunce
			oz := q.Kilograms(r.MassKg.Value / row.Number("squares")).Ounces()
			t.Logf("%s: %.4f kg of %s squares: %.4f oz each", row.Text("recipe"), r.MassKg.Value, row.Text("squares"), oz)
			if math.Abs(oz-1) > 0.02 {
				t.Errorf("%s: squares of %.4f oz, stated about 1 (%s)", row.Text("recipe"), oz, row.Text("key"))
			}
		} else {
			stated = row.Number("stated_kg")
		}
		got := judgeYield(q.Kilograms(stated), r.MassKg)
		t.Logf("%s: stated %.3f kg, predicted %.3f (%.3f to %.3f): %s", row.Text("recipe"), stated, r.MassKg.Value, r.MassKg.Low, r.MassKg.High, got)
		if got != judged[row.Text("recipe")] {
			t.Errorf("%s: judged %s, want %s", row.Text("recipe"), got, judged[row.Text("recipe")])
		}
	}
	if seen != 5 {
		t.Errorf("%d stated yields, want 5", seen)
	}
}
