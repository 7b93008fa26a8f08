package app

import (
	"math"
	"slices"
	"testing"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
)

// tartarBook is the sample shop with a plain boil doctored by a quarter of an ounce of
// cream of tartar to 14 lb of sugar (0.11 %, barley sugar; source key guide1896).
func tartarBook() book.Book {
	b := shoptest.Book()
	b.Ingredients = append(slices.Clone(b.Ingredients), ingredient.Ingredient{ID: "tartar", Name: "Cream of tartar", Kind: ingredient.Doctor, Solids: 1, Statement: "stated"})
	r := b.Recipes[0]
	r.ID, r.Name, r.Additions, r.WaterLeft, r.BoilTo = "plain", "Plain barrels", nil, 0, 149
	r.Boil = []recipe.Part{{Ingredient: "sugar", Mass: 14 * q.KilogramsPerPound}, {Ingredient: "tartar", Mass: q.KilogramsPerOunce / 4}, {Ingredient: "water", Mass: 2.2}}
	b.Recipes = append(slices.Clone(b.Recipes), r)
	return b
}

// What is dosed for an invert makes it, and more of it takes more.
func TestDoctorFor(t *testing.T) {
	t.Parallel()
	b := tartarBook()
	rec, _ := b.Recipe("plain")
	as, err := BoilOf(&b, BoilRequest{Recipe: "plain"})
	if err != nil {
		t.Fatal(err)
	}
	before := 0.0
	for _, part := range []float64{0.5, 0.8, 1, 1.1} {
		want := part * as.InvertFrac.Value
		dosed, at, err := DoctorFor(&b, rec, BoilRequest{Recipe: "plain"}, q.Fraction(want))
		if err != nil {
			t.Fatalf("%.3f: %v", want, err)
		}
		dose := float64(dosed.Boil[at].Mass)
		if at != 1 || dose <= before {
			t.Errorf("for %.3f part %d is dosed %.2f g, for less %.2f g", want, at, dose*1e3, before*1e3)
		}
		before = dose
		if part == 1 && math.Abs(dose/float64(rec.Boil[1].Mass)-1) > 1e-3 {
			t.Errorf("the invert of the recipe asks for %.4f g, the recipe has %.4f g", dose*1e3, rec.Boil[1].Mass.Grams())
		}
		got, err := BoilOf(&b, BoilRequest{Recipe: "plain", Invert: q.Fraction(want)})
		if err != nil || math.Abs(got.InvertFrac.Value-want) > 1e-5 {
			t.Errorf("asked for %.5f: %+v, %v", want, got.InvertFrac, err)
		}
	}
	if rec.Boil[1].Mass != q.KilogramsPerOunce/4 {
		t.Error("the kept recipe was dosed")
	}
}

// Where no dose makes it, the fault says what there is.
func TestDoctorFor_Refused(t *testing.T) {
	t.Parallel()
	b := tartarBook()
	none := b
	none.Recipes = shoptest.Book().Recipes
	cold := b
	cold.Kettles = slices.Clone(b.Kettles)
	for i := range cold.Kettles {
		cold.Kettles[i].Burner = 0
	}
	for name, c := range map[string]struct {
		b      book.Book
		recipe string
		invert q.Fraction
		kind   fault.Kind
	}{
		"more than any dose makes": {b, "plain", 0.9, fault.KindOutOfRange},
		"less than none makes":     {b, "plain", 1e-9, fault.KindOutOfRange},
		"no doctor":                {none, none.Recipes[0].ID, 0.1, fault.KindInvalid},
		"no fire":                  {cold, "plain", 0.1, fault.KindInvalid},
	} {
		rec, _ := c.b.Recipe(c.recipe)
		if _, _, err := DoctorFor(&c.b, rec, BoilRequest{Recipe: c.recipe}, c.invert); fault.KindOf(err) != c.kind || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
