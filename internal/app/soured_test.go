package app

import (
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
)

// acidBook is the sample shop with malic acid and citric acid with its crystal water.
func acidBook() book.Book {
	b := shoptest.Book()
	b.Ingredients = append(slices.Clone(b.Ingredients),
		ingredient.Ingredient{ID: "malic", Name: "Malic acid", Kind: ingredient.Acid, Acid: ingredient.Malic, Solids: 1, Statement: "stated"},
		ingredient.Ingredient{ID: "half", Name: "Buffered tartaric acid", Kind: ingredient.Acid, Acid: ingredient.Tartaric, Neutralised: 0.5, Solids: 1, Statement: "stated"},
		ingredient.Ingredient{ID: "milk", Name: "Lactic acid", Kind: ingredient.Acid, Acid: ingredient.Lactic, Solids: 0.8, Statement: "stated"})
	return b
}

// An acid is changed for 0.8 to 0.9 of malic acid (common practice, source key practice),
// in the place of the one it had; the kept recipe stays what it was.
func TestSourAs(t *testing.T) {
	t.Parallel()
	b := acidBook()
	kept, _ := b.Recipe("pear-barrels")
	rec, done, err := SourAs(&b, kept, ingredient.Malic)
	if err != nil || len(done) != 1 {
		t.Fatalf("%+v, %v", done, err)
	}
	s := done[0]
	if a := rec.Additions[1]; a.Ingredient != "malic" || math.Abs(float64(a.Dose)-0.006*0.85) > 1e-12 || a.Stage != recipe.AtFold {
		t.Errorf("%+v", a)
	}
	if math.Abs(s.DoseFrac.Low-0.0048) > 1e-12 || math.Abs(s.DoseFrac.High-0.0054) > 1e-12 || math.Abs(float64(s.Titration)/0.006-1.047) > 1e-3 {
		t.Errorf("%+v", s)
	}
	if !strings.Contains(s.Why, "too sour") || kept.Additions[1].Ingredient != "citric" {
		t.Errorf("%q; the kept recipe has %q", s.Why, kept.Additions[1].Ingredient)
	}
	// There and back is the recipe itself.
	back, done, err := SourAs(&b, rec, ingredient.Citric)
	if err != nil || math.Abs(float64(back.Additions[1].Dose)-0.006) > 1e-12 || strings.Contains(done[0].Why, "too sour") {
		t.Errorf("back: %+v, %+v, %v", back.Additions[1], done, err)
	}
	// The boil that is asked for weighs the other acid.
	got, err := BoilOf(&b, BoilRequest{Recipe: "pear-barrels", SourAs: ingredient.Malic})
	if err != nil || len(got.Soured) != 1 {
		t.Fatal(err)
	}
	line := slices.IndexFunc(got.Weigh, func(l WeighLine) bool { return l.Ingredient == "malic" })
	if line < 0 || math.Abs(got.Weigh[line].MassKg.Value/(0.006*0.85*got.FinishedKg.Value)-1) > 1e-6 {
		t.Errorf("%+v", got.Weigh)
	}
}

func TestSourAs_Refused(t *testing.T) {
	t.Parallel()
	b := acidBook()
	for name, c := range map[string]struct {
		recipe string
		acid   ingredient.Sour
		kind   fault.Kind
		says   string
	}{
		"it is citric":          {"pear-barrels", ingredient.Citric, fault.KindInvalid, "already"},
		"no figure":             {"pear-barrels", ingredient.Lactic, fault.KindInvalid, "no figure for how sour lactic acid is"},
		"the shop has it not":   {"pear-barrels", ingredient.Tartaric, fault.KindNotFound, "0.48–0.54"}, // only buffered; it says the dose all the same
		"no acid in it":         {"aniseed-beads", ingredient.Malic, fault.KindInvalid, "no acid that is added"},
		"tartar is no sourness": {"pear-barrels", ingredient.CreamOfTartar, fault.KindInvalid, "no figure"},
		"no such acid":          {"pear-barrels", "acetic", fault.KindInvalid, "no acid that is known"},
	} {
		rec, _ := b.Recipe(c.recipe)
		_, _, err := SourAs(&b, rec, c.acid)
		if err == nil || fault.KindOf(err) != c.kind || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := BoilOf(&b, BoilRequest{Recipe: c.recipe, SourAs: c.acid}); err == nil {
			t.Errorf("%s: boiled", name)
		}
	}
}

// An oil is dosed for what shall stay of it, 0.9 of what is weighed for anise (source key
// practice), and the boil says so much is in the sweet.
func TestOilFor(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	kept, _ := b.Recipe("aniseed-beads")
	rec, at, err := OilFor(&b, kept, 450e-6)
	if err != nil || at != 1 || math.Abs(float64(rec.Additions[1].Dose)-500e-6) > 1e-12 || kept.Additions[1].Dose == rec.Additions[1].Dose {
		t.Fatalf("%+v at %d, %v", rec.Additions, at, err)
	}
	got, err := BoilOf(&b, BoilRequest{Recipe: "aniseed-beads", OilLeft: 450e-6})
	if err != nil {
		t.Fatal(err)
	}
	a := got.Additions[len(got.Additions)-1]
	if math.Abs(a.InSweetFrac.Value/450e-6-1) > 1e-3 || !(a.InSweetFrac.Low < 430e-6 && a.InSweetFrac.High > 460e-6) {
		t.Errorf("%+v in the sweet", a.InSweetFrac)
	}
	if pear, _ := b.Recipe("pear-barrels"); HasOil(&b, pear) || !HasOil(&b, kept) {
		t.Error("which recipe has an oil")
	}
	two := kept
	two.Additions = append(slices.Clone(kept.Additions), kept.Additions[1])
	hot := kept
	hot.Additions = slices.Clone(kept.Additions)
	hot.Additions[1].Stage = recipe.AtEnd
	for name, c := range map[string]struct {
		rec recipe.Recipe
		of  q.Fraction
	}{"too hot": {hot, 450e-6}, "two oils": {two, 450e-6}, "a sweet of oil": {kept, 0.5}} {
		if _, _, err := OilFor(&b, c.rec, c.of); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Cook-back is a question about a recipe: a row of boils, its cautions, its verdict.
func TestBoilOf_CookBack(t *testing.T) {
	t.Parallel()
	b := tartarBook()
	fresh, err := BoilOf(&b, BoilRequest{Recipe: "plain"})
	if err != nil {
		t.Fatal(err)
	}
	row, err := BoilOf(&b, BoilRequest{Recipe: "plain", CookBack: 0.2})
	if err != nil {
		t.Fatal(err)
	}
	if fresh.CookedBack != nil || !(row.InvertFrac.Value > 1.1*fresh.InvertFrac.Value) || !(row.GlassC.Value < fresh.GlassC.Value) || !(row.CookedBack.Times.Value > 1.1) {
		t.Errorf("invert %+v, fresh %+v; %+v", row.InvertFrac, fresh.InvertFrac, row.CookedBack)
	}
	for _, v := range row.Verdicts.List {
		if v.Question == "grains" && v.FigureFrac.Value != row.InvertFrac.Value {
			t.Errorf("the verdict is of %+v, the row has %+v", v.FigureFrac, row.InvertFrac)
		}
	}
	for code, want := range map[string]bool{"cook-back": true, "cook-back-allergens": true, "cook-back-most": true, "cook-back-acid": false} {
		if got := slices.ContainsFunc(row.Cautions, func(c Caution) bool { return c.Code == code }); got != want {
			t.Errorf("%s: %v", code, got)
		}
	}
	// A doctor is dosed for the row as it is asked.
	dosed, err := BoilOf(&b, BoilRequest{Recipe: "plain", CookBack: 0.2, Invert: q.Fraction(row.InvertFrac.Value)})
	if err != nil || math.Abs(dosed.InvertFrac.Value-row.InvertFrac.Value) > 1e-5 {
		t.Errorf("%+v, %v", dosed, err)
	}
}

// What cannot be asked together, or at all.
func TestBoilAsked_Additions(t *testing.T) {
	t.Parallel()
	sugar, to, half, none, all := q.Kilograms(6), q.Celsius(150), q.Fraction(0.5), q.Fraction(0), q.Fraction(0.51)
	for name, a := range map[string]BoilAsked{
		"sour without a recipe":      {Sugar: &sugar, To: &to, SourAs: "malic"},
		"oil without a recipe":       {Sugar: &sugar, To: &to, OilLeft: &half},
		"cook-back without a recipe": {Sugar: &sugar, To: &to, CookBack: &half},
		"no oil":                     {Recipe: "x", OilLeft: &none},
		"more than half":             {Recipe: "x", CookBack: &all},
	} {
		if _, err := a.Request("--"); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, share := range []q.Fraction{none, half} {
		if r, err := (BoilAsked{Recipe: "x", CookBack: &share}).Request("--"); err != nil || r.CookBack != share {
			t.Errorf("%g: %+v, %v", float64(share), r, err)
		}
	}
}
