package ingredient_test

import (
	"slices"
	"testing"

	"slabside/internal/ingredient"
)

// The questions about a kind: which of the shop's pots are acid, wet, or white
// powders that look alike (common practice, no source).
func TestKinds(t *testing.T) {
	t.Parallel()
	for kind, want := range map[ingredient.Kind][2]bool{ // acidic, white powder
		ingredient.Acid: {true, true}, ingredient.Doctor: {true, true}, ingredient.Salt: {false, true},
		ingredient.Extract: {true, false}, ingredient.Oil: {false, false}, ingredient.Sugar: {false, false},
	} {
		i := ingredient.Ingredient{Kind: kind, Solids: 1}
		if got := [2]bool{i.Acidic(), i.WhitePowder()}; got != want {
			t.Errorf("%s: acidic, white powder %v, want %v", kind, got, want)
		}
	}
}

func TestWatery(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		i    ingredient.Ingredient
		want bool
	}{
		{ingredient.Ingredient{Kind: ingredient.Colour, Solids: 0.15}, true},
		{ingredient.Ingredient{Kind: ingredient.Colour, Solids: 0.91}, false}, // a powder
		{ingredient.Ingredient{Kind: ingredient.Extract, Solids: 0.8}, true},
		{ingredient.Ingredient{Kind: ingredient.Oil, Solids: 1}, false},
		{ingredient.Ingredient{Kind: ingredient.Fat, Solids: 0.82}, false},
	} {
		if got := c.i.Watery(); got != c.want {
			t.Errorf("%s with %g %% solids: watery %v", c.i.Kind, c.i.Solids.Percent(), got)
		}
	}
}

// Unknown is not none: only the word itself states.
func TestStated(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]bool{"stated": true, "": false, "unknown": false, "Stated": false} {
		if got := (ingredient.Ingredient{Statement: s}).Stated(); got != want {
			t.Errorf("statement %q: %v", s, got)
		}
	}
}

// The nine major allergens of 21 U.S.C. 321(qq) are among the words: milk, egg,
// fish, crustacean shellfish, tree nuts, peanuts, wheat, soybeans, sesame.
func TestAllergensHoldTheMajorNine(t *testing.T) {
	t.Parallel()
	all := ingredient.Allergens()
	for _, a := range []string{"milk", "egg", "fish", "crustaceans", "tree nut", "peanut", "wheat", "soy", "sesame"} {
		if !slices.Contains(all, a) {
			t.Errorf("%s is missing", a)
		}
	}
	if once := slices.Compact(slices.Sorted(slices.Values(all))); len(once) != len(all) {
		t.Errorf("%d words, %d of them different", len(all), len(once))
	}
}
