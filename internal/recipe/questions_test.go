package recipe_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

func twoTone() recipe.Recipe {
	return recipe.Recipe{
		Boil:      []recipe.Part{{Ingredient: "sugar", Mass: 6}, {Ingredient: "syrup", Mass: 3}, {Ingredient: "water", Mass: 2}},
		Additions: []recipe.Addition{{Ingredient: "acid"}, {Ingredient: "sugar"}, {Ingredient: "oil"}},
		Portions: []recipe.Portion{
			{ID: "clear", Share: 0.7, Work: recipe.Clear},
			{ID: "cream", Share: 0.3, Work: recipe.Pulled},
		},
		Finish: recipe.Plain, FinishWith: "starch",
	}
}

func TestPortionsAndShares(t *testing.T) {
	t.Parallel()
	r := twoTone()
	if p, ok := r.Portion("cream"); !ok || p.Share != 0.3 {
		t.Errorf("cream: %+v, %v", p, ok)
	}
	if _, ok := r.Portion(""); ok {
		t.Error("a portion without an id was found")
	}
	if !r.Pulled() || r.PulledShare() != 0.3 {
		t.Errorf("pulled %v, share %v", r.Pulled(), r.PulledShare())
	}
	r.Portions[1].Work = recipe.Clear
	if r.Pulled() || r.PulledShare() != 0 {
		t.Error("nothing is pulled any more")
	}
	for share, whole := range map[q.Fraction]bool{0.3: true, 0.3009: true, 0.2991: true, 0.3011: false, 0.2989: false, 0: false} {
		r.Portions[1].Share = share
		sum, ok := r.SharesSum()
		if ok != whole || math.Abs(float64(sum)-0.7-float64(share)) > 1e-12 {
			t.Errorf("70 %% and %g %%: sum %v, whole %v", share.Percent(), sum, ok)
		}
	}
}

func TestBoilMassAndIngredients(t *testing.T) {
	t.Parallel()
	r := twoTone()
	if m := r.BoilMass(); m != 11 {
		t.Errorf("the charge is %v kg", m)
	}
	want := []string{"sugar", "syrup", "water", "acid", "oil"}
	if d := cmp.Diff(want, r.Ingredients()); d != "" {
		t.Errorf("plain, starch unused (-want +got):\n%s", d)
	}
	r.Finish = recipe.Dusted
	if d := cmp.Diff(append(want, "starch"), r.Ingredients()); d != "" {
		t.Errorf("dusted (-want +got):\n%s", d)
	}
}

// Tolerances raise the limit for single families and never lower it.
func TestFlavourLimit(t *testing.T) {
	t.Parallel()
	f := recipe.Flavour{Family: "pear", TaintLimit: 2, Tolerates: map[string]int{"apple": 4, "mint": 1}}
	for family, want := range map[string]int{"apple": 4, "mint": 2, "clove": 2} {
		if got := f.Limit(family); got != want {
			t.Errorf("%s: limit %d, want %d", family, got, want)
		}
	}
}
