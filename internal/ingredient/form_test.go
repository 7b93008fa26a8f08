package ingredient_test

import (
	"testing"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

// What colours and flavours are called by their water: liquids 70 to 95 %, gels and pastes
// 40 to 70, powders 8 to 15 (common practice, no source), at either edge of each.
func TestForm(t *testing.T) {
	t.Parallel()
	of := func(k ingredient.Kind, solids, spirit q.Fraction) ingredient.Form {
		return ingredient.Ingredient{Kind: k, Solids: solids, Spirit: spirit}.Form()
	}
	for _, c := range []struct {
		kind           ingredient.Kind
		solids, spirit q.Fraction
		want           ingredient.Form
	}{
		{ingredient.Colour, 0.05, 0, ingredient.Liquid}, {ingredient.Colour, 0.30 * 0.99, 0, ingredient.Liquid},
		{ingredient.Colour, 0.30 * 1.01, 0, ingredient.Paste}, {ingredient.Colour, 0.85 * 0.99, 0, ingredient.Paste},
		{ingredient.Colour, 0.85 * 1.01, 0, ingredient.Powder},
		{ingredient.Extract, 0.80, 0, ingredient.Paste}, {ingredient.Acid, 0.914, 0, ingredient.Powder}, {ingredient.Salt, 1, 0, ingredient.Powder},
		{ingredient.Essence, 0.2, 0.6, ingredient.Liquid}, // spirit runs
		{ingredient.Oil, 1, 0, ingredient.Oily}, {ingredient.Fat, 0.82, 0, ingredient.Solid}, {ingredient.Nut, 0.95, 0, ingredient.Solid},
	} {
		if got := of(c.kind, c.solids, c.spirit); got != c.want {
			t.Errorf("%s of %g dry: %s, want %s", c.kind, float64(c.solids), got, c.want)
		}
	}
	if !ingredient.Oil.Flavours() || !ingredient.Essence.Flavours() || ingredient.Colour.Flavours() {
		t.Error("what flavours")
	}
}
