package app

import (
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
)

// dryIn is the dry matter of a recipe's boil.
func dryIn(b *book.Book, r recipe.Recipe) (dry, all float64) {
	for _, p := range r.Boil {
		in, _ := b.Ingredient(p.Ingredient)
		dry += float64(p.Mass) * float64(in.Solids)
		all += float64(p.Mass)
	}
	return dry, all
}

// syrupBoil is a boil of two parts of sugar to one of syrup.
func syrupBoil(b book.Book) recipe.Recipe {
	r := b.Recipes[0]
	r.ID, r.Additions, r.BoilTo, r.WaterLeft = "syrup", nil, 150, 0
	r.Boil = []recipe.Part{{Ingredient: "sugar", Mass: 6}, {Ingredient: "syrup-42", Mass: 3}, {Ingredient: "water", Mass: 2}}
	return r
}

// Whichever way the doctor is changed, the dry matter stays, the sweet stands up to
// the same, one doctor is in it, and the kept book is as it was.
func TestSwitchDoctor(t *testing.T) {
	t.Parallel()
	b := tartarBook()
	b.Recipes = append(b.Recipes, syrupBoil(b))
	kindly := func(b *book.Book, r recipe.Recipe, k ingredient.Kind) bool { return partOf(b, r.Boil, k) >= 0 }
	for _, c := range []struct {
		id       string
		out, in  ingredient.Kind
		from, to string
	}{
		{"plain", ingredient.Doctor, ingredient.Syrup, "Cream of tartar", "Glucose syrup"},
		{"syrup", ingredient.Syrup, ingredient.Doctor, "Glucose syrup", "Cream of tartar"},
	} {
		was, _ := b.Recipe(c.id)
		kept, err := BoilOf(&b, BoilRequest{Recipe: c.id})
		if err != nil {
			t.Fatal(err)
		}
		parts := slices.Clone(was.Boil)
		other, sw, err := SwitchDoctor(b, c.id)
		if err != nil {
			t.Fatalf("%s: %v", c.id, err)
		}
		if sw.From != c.from || sw.To != c.to || len(sw.Rules) == 0 || len(sw.Unequal) == 0 {
			t.Errorf("%s: %+v", c.id, sw)
		}
		now, _ := other.Recipe(c.id)
		if kindly(&other, now, c.out) || !kindly(&other, now, c.in) {
			t.Errorf("%s is made of %v", c.id, now.Boil)
		}
		d1, m1 := dryIn(&b, was)
		d2, m2 := dryIn(&b, now)
		if math.Abs(d1-d2) > 0.01*d1 || math.Abs(m1-m2) > 0.01*m1 {
			t.Errorf("%s: %.3f kg dry of %.3f kg, was %.3f of %.3f", c.id, d2, m2, d1, m1)
		}
		res, err := BoilOf(&other, BoilRequest{Recipe: c.id})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(res.GlassC.Value-kept.GlassC.Value) > 0.01 {
			t.Errorf("%s stands up to %.3f °C, before %.3f", c.id, res.GlassC.Value, kept.GlassC.Value)
		}
		if c.in == ingredient.Doctor && math.Abs(res.InvertFrac.Value-float64(usualInvert)) > 0.0005 {
			t.Errorf("%s makes %.4f invert", c.id, res.InvertFrac.Value)
		}
		by, err := BoilOf(&b, BoilRequest{Recipe: c.id, Switch: true})
		if err != nil || by.Switched == nil || by.GlassC.Value != res.GlassC.Value {
			t.Errorf("%s asked for with its doctor changed: %v, %v", c.id, by, err)
		}
		if again, _ := b.Recipe(c.id); !slices.Equal(again.Boil, parts) || again.BoilTo != was.BoilTo {
			t.Errorf("%s: the kept recipe has changed", c.id)
		}
	}
}

// A sweet that stands up to more than a tartar boil can is left at its end, and that
// is said.
func TestSwitchDoctor_CannotBeEqual(t *testing.T) {
	t.Parallel()
	b := tartarBook()
	hard := b.Recipes[0]
	hard.ID, hard.Additions = "hard", nil
	hard.Boil = []recipe.Part{{Ingredient: "sugar", Mass: 8}, {Ingredient: "syrup-42", Mass: 1.2}, {Ingredient: "water", Mass: 2.5}}
	hard.BoilTo, hard.WaterLeft = 159, 0
	b.Recipes = append(b.Recipes, hard)
	other, sw, err := SwitchDoctor(b, "hard")
	if err != nil {
		t.Fatal(err)
	}
	now, _ := other.Recipe("hard")
	if now.BoilTo != 159 || !strings.Contains(sw.Unequal[0], "cannot be boiled to stand up to") {
		t.Errorf("ended at %v, %q", now.BoilTo, sw.Unequal)
	}
}

func TestSwitchDoctor_Refused(t *testing.T) {
	t.Parallel()
	b := tartarBook()
	both := b.Recipes[len(b.Recipes)-1]
	both.ID = "both"
	both.Boil = append(slices.Clone(both.Boil), recipe.Part{Ingredient: "syrup-42", Mass: 1})
	neither := both
	neither.ID, neither.Boil = "neither", []recipe.Part{{Ingredient: "sugar", Mass: 6}, {Ingredient: "water", Mass: 2}}
	b.Recipes = append(b.Recipes, both, neither)
	bare := tartarBook()
	bare.Ingredients = slices.DeleteFunc(bare.Ingredients, func(in ingredient.Ingredient) bool { return in.Kind == ingredient.Syrup })
	for name, c := range map[string]struct {
		b    book.Book
		id   string
		kind fault.Kind
	}{
		"two doctors": {b, "both", fault.KindInvalid}, "none": {b, "neither", fault.KindInvalid},
		"nothing to change to": {bare, "plain", fault.KindInvalid}, "no such recipe": {b, "nothing", fault.KindNotFound},
	} {
		if _, _, err := SwitchDoctor(c.b, c.id); err == nil || fault.KindOf(err) != c.kind {
			t.Errorf("%s: %v", name, err)
		}
		if rec, ok := c.b.Recipe(c.id); ok && Switches(&c.b, rec) {
			t.Errorf("%s: a change is offered", name)
		}
	}
	if rec, _ := b.Recipe("plain"); !Switches(&b, rec) {
		t.Error("no change is offered where there is one")
	}
}

// BenchmarkSwitchDoctor changes syrup for tartar: dose and end found in turn.
func BenchmarkSwitchDoctor(b *testing.B) {
	kept := tartarBook()
	kept.Recipes = append(kept.Recipes, syrupBoil(kept))
	for b.Loop() {
		if _, _, err := SwitchDoctor(kept, "syrup"); err != nil {
			b.Fatal(err)
		}
	}
}
