package boil

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
)

// TestMakeup_Law: sorting a mass loses none of it, and its solids stay solids.
func TestMakeup_Law(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := ingredient.Ingredient{Kind: rapid.SampledFrom(ingredient.Kinds()).Draw(t, "kind"),
			Spirit: q.Fraction(rapid.Float64Range(0, 0.5).Draw(t, "spirit"))}
		mass, solids := rapid.Float64Range(0, 10).Draw(t, "mass"), rapid.Float64Range(0, 0.5).Draw(t, "solids")
		m := makeupOf(in, mass, solids, 42)
		if math.Abs(m.Mass()-mass) > 1e-12*mass || math.Abs(m.Dry()-mass*solids) > 1e-12*mass {
			t.Errorf("%s: %g kg of %g solids became %+v", in.Kind, mass, solids, m)
		}
		if math.Abs(m.Spirit-mass*float64(in.Spirit)) > 1e-12 {
			t.Errorf("%s: spirit %g kg", in.Kind, m.Spirit)
		}
	})
}

// TestSuppliers_Spread: the half-widths of what is stated of a delivery (source key
// practice), from 5 % to 95 %, the same columns for every boil.
func TestSuppliers_Spread(t *testing.T) {
	t.Parallel()
	s := suppliers{numeric.NewEnsemble(numeric.Draws, 3)}
	half := func(c []float64) float64 {
		sum, err := numeric.Summarise(c)
		if err != nil {
			t.Fatal(err)
		}
		return (sum.High - sum.Low) / 2
	}
	for _, row := range []struct {
		in         ingredient.Ingredient
		solids, de float64
	}{
		{ingredient.Ingredient{ID: "a", Kind: ingredient.Sugar, Solids: 0.9998}, 0, 0},
		{ingredient.Ingredient{ID: "b", Kind: ingredient.Syrup, Solids: 0.803, DE: 42}, 0.005, 1},
		{ingredient.Ingredient{ID: "c", Kind: ingredient.Syrup}, 0.015, 6},
		{ingredient.Ingredient{ID: "d", Kind: ingredient.Invert, Solids: 0.8}, 0.005, 0},
		{ingredient.Ingredient{ID: "e", Kind: ingredient.Fat, Solids: 0.84}, 0.01, 0},
		{ingredient.Ingredient{ID: "f", Kind: ingredient.Extract, Solids: 0.7}, 0.03, 0},
	} {
		solids, de := s.draw(row.in)
		if got := half(solids); math.Abs(got-row.solids) > 0.02*row.solids+1e-12 {
			t.Errorf("%s %s: solids to ±%.5f, want ±%.5f", row.in.ID, row.in.Kind, got, row.solids)
		}
		if got := half(de); math.Abs(got-row.de) > 0.02*row.de+1e-12 {
			t.Errorf("%s %s: DE to ±%.3f, want ±%.3f", row.in.ID, row.in.Kind, got, row.de)
		}
	}
}
