package book_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
)

// has reports whether the book has a problem of the code at the field.
func has(b book.Book, code, field string) bool {
	return slices.ContainsFunc(book.Validate(&b), func(p book.Problem) bool { return p.Code == code && p.Field == field })
}

// Every caution and every error with a figure in it flips when the figure
// crosses its limit by one in a hundred. The limits are the room's own or
// common practice (no source); syrup share: key practice; pressure: the standard
// atmosphere of ISO 2533 ±5 %.
func TestProblemsFlipAtTheirLimits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, code, field string
		limit             float64
		above             bool // it is a problem above the limit
		set               func(b *book.Book, x float64)
	}{
		{"damp air", string(caution.DampRoom), "room.humidity", 0.50, true,
			func(b *book.Book, x float64) { b.Room.Humidity = q.Fraction(x) }},
		{"one person pours too much", string(caution.TwoToPour), "room.pour_alone", 8, true,
			func(b *book.Book, x float64) { b.Room.PourAlone = q.Kilograms(x) }},
		{"pressure above the atmosphere's", string(caution.StationPressure), "room.station_pressure", 1.05 * 89874.6, true, // 1000 m
			func(b *book.Book, x float64) { b.Room.Altitude, b.Room.StationPressure = 1000, q.Pascals(x) }},
		{"pressure below the atmosphere's", string(caution.StationPressure), "room.station_pressure", 0.95 * 89874.6, false,
			func(b *book.Book, x float64) { b.Room.Altitude, b.Room.StationPressure = 1000, q.Pascals(x) }},
		{"glass not checked high", string(caution.HighCheck), "glass[0].checked_at", 140, false,
			func(b *book.Book, x float64) { b.Glasses[0].CheckedAt = q.Celsius(x) }},
		// 3 kg sugar of 0.9998: syrup solids of 12 % of the dry matter are 0.4090 kg, 0.5093 kg of syrup.
		{"little syrup", string(caution.GrainRisk), "recipe[0].boil", 3 * 0.9998 * 0.12 / 0.88 / 0.803, false,
			func(b *book.Book, x float64) { b.Recipes[0].Boil[1].Mass = q.Kilograms(x) }},
		// 24 L less 40 % hold 14.4 L; a syrup of 76 % weighs 1.33 kg/L at the boil (the
		// density is checked in package sugar).
		{"charge foams over", book.NoFit, "kettle[0].usual_charge", 14.4 * 1.33, true,
			func(b *book.Book, x float64) { b.Kettles[0].UsualCharge = q.Kilograms(x) }},
		{"shares above one", book.Shares, "recipe[1].portion", 0.4 + 0.001, true,
			func(b *book.Book, x float64) { b.Recipes[1].Portions[1].Share = q.Fraction(x) }},
		{"shares below one", book.Shares, "recipe[1].portion", 0.4 - 0.001, false,
			func(b *book.Book, x float64) { b.Recipes[1].Portions[1].Share = q.Fraction(x) }},
		{"scale too coarse", book.Order, "scale[1].resolution", 0.06, true,
			func(b *book.Book, x float64) { b.Scales[1].Resolution = q.Kilograms(x) }},
		{"hold point raised", book.Range, "room.hold_point", 115, true,
			func(b *book.Book, x float64) { b.Room.HoldPoint = q.Celsius(x) }},
	} {
		step := 0.01
		if c.code == book.Shares { // the slack itself is a thousandth
			step = 0.0002
		}
		low, high := shoptest.Book(), shoptest.Book()
		c.set(&low, c.limit*(1-step))
		c.set(&high, c.limit*(1+step))
		if got := has(low, c.code, c.field); got == c.above {
			t.Errorf("%s: just below the limit: problem %v", c.name, got)
		}
		if got := has(high, c.code, c.field); got != c.above {
			t.Errorf("%s: just above the limit: problem %v", c.name, got)
		}
	}
}

// A price in another currency than the shop's is no fault: it stays what it is, and
// is said.
func TestPriceInAnotherCurrency(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	if has(b, string(caution.OtherCurrency), "product[0].price") {
		t.Error("a price in the shop's own currency is cautioned")
	}
	b.Shop.Currency = "EUR"
	if !has(b, string(caution.OtherCurrency), "product[0].price") || len(book.Errors(book.Validate(&b))) > 0 {
		t.Errorf("a price in US dollars in a shop of euros: %v", book.Validate(&b))
	}
}

// Whether a whole boil fits its pan hangs on the recipe: butter takes more room
// than the syrup it displaces. The recipe that fills a pan most is named, and one
// boiled in a pan of its own says nothing about the day's.
func TestFullPanHangsOnTheRecipe(t *testing.T) {
	t.Parallel()
	full := func(b book.Book, field string) string {
		for _, p := range book.Validate(&b) {
			if p.Code == book.NoFit && p.Field == field {
				return p.Text
			}
		}
		return ""
	}
	b := shoptest.Book()
	b.Kettles[0].UsualCharge = 19 // 14.3 L of plain syrup in 14.4 L
	if got := full(b, "kettle[0].usual_charge"); got != "" {
		t.Fatalf("plain syrup: %s", got)
	}
	b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "butter", Name: "Butter", Kind: ingredient.Fat, Solids: 0.84, Statement: "stated", Contains: []string{"milk"}})
	b.Recipes[1].Boil = append(slices.Clone(b.Recipes[1].Boil), recipe.Part{Ingredient: "butter", Mass: 0.5})
	if got := full(b, "kettle[0].usual_charge"); !strings.Contains(got, b.Recipes[1].ID) {
		t.Errorf("with butter: %q does not name %s", got, b.Recipes[1].ID)
	}
	own := b.Kettles[0]
	own.ID, own.Volume = "large", 60
	b.Kettles = append(b.Kettles, own)
	b.Recipes[1].Kettle = "large"
	for i := range b.Kettles {
		if got := full(b, fmt.Sprintf("kettle[%d].usual_charge", i)); got != "" {
			t.Errorf("in a pan of its own: %s", got)
		}
	}
}

// A pour that needs two: with one adult who may boil it is an error, until there
// is a tilt stand, a second adult, or less to pour. 10 kg of charge hold
// (3×0.9998 + 1.4×0.803)/5.4 = 76.4 % dry matter, 7.87 kg at 3 % water.
func TestTwoToPour(t *testing.T) {
	t.Parallel()
	alone := func() book.Book {
		b := shoptest.Book()
		b.Hands[1].May = []rig.Task{rig.MaySlab, rig.MayRoll}
		b.Room.PourAlone = 7.8
		return b
	}
	if !has(alone(), book.Nobody, "hand") {
		t.Error("7.87 kg above 7.8 kg for one person is not an error")
	}
	for name, change := range map[string]func(*book.Book){
		"tilt stand":   func(b *book.Book) { b.Kettles[0].TiltStand = true },
		"second adult": func(b *book.Book) { b.Hands[2].May = append(b.Hands[2].May, rig.MayBoil) },
		"less":         func(b *book.Book) { b.Kettles[0].UsualCharge = 9.8 },
		"pans of their own": func(b *book.Book) {
			tilted := b.Kettles[0]
			tilted.ID, tilted.TiltStand = "tilted", true
			b.Kettles = append(b.Kettles, tilted)
			for i := range b.Recipes {
				b.Recipes[i].Kettle = "tilted"
			}
		},
		"may pour it": func(b *book.Book) { b.Room.PourAlone = 7.95 },
	} {
		b := alone()
		change(&b)
		if has(b, book.Nobody, "hand") {
			t.Errorf("%s: still an error", name)
		}
	}
}

// A recipe that products are made of is not boiled in a pan kept out of the plan;
// a trial that no product is made of may be.
func TestTrialPanOfARecipe(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	trial := b.Kettles[0]
	trial.ID, trial.TrialsOnly = "trial", true
	b.Kettles = append(b.Kettles, trial)
	b.Recipes[1].Kettle = "trial"
	if !has(b, book.Clash, "recipe[1].kettle") {
		t.Error("a sold recipe in a trial pan is accepted")
	}
	try := b.Recipes[1]
	try.ID, b.Recipes[1].Kettle = "try", ""
	b.Recipes = append(b.Recipes, try)
	if bad := book.Errors(book.Validate(&b)); len(bad) > 0 {
		t.Errorf("a trial in the trial pan is refused: %+v", bad)
	}
}

// Acid sugar on bare copper, brass or bronze is a caution every time: in each
// recipe, on pan and on rolls, tested or not; a lining covers the copper.
func TestAcidOnCopperEveryTime(t *testing.T) {
	t.Parallel()
	for _, m := range rig.Materials() {
		bare := m == rig.Copper || m == rig.Brass || m == rig.Bronze
		b := shoptest.Book()
		b.Rolls[0].Material, b.Rolls[0].Tested = m, rig.Test{By: "laboratory", On: "2026-01-01"}
		if got := has(b, string(caution.AcidOnCopper), "recipe[0].rolls"); got != bare {
			t.Errorf("citric acid on rolls of %s: caution %v", m, got)
		}
		b.Kettles[0].Material, b.Kettles[0].Tested = m, b.Rolls[0].Tested
		if has(b, string(caution.AcidOnCopper), "recipe[0].kettle") {
			t.Errorf("citric acid folded in on the slab is held against the pan of %s", m)
		}
		b.Recipes[0].Additions[1].Stage = recipe.AtEnd
		if got := has(b, string(caution.AcidOnCopper), "recipe[0].kettle"); got != bare {
			t.Errorf("citric acid in a pan of %s: caution %v", m, got)
		}
		b.Kettles[0].Lining = rig.TinnedSteel
		if has(b, string(caution.AcidOnCopper), "recipe[0].kettle") {
			t.Errorf("a lined pan of %s is called bare", m)
		}
		b.Recipes[0].Additions = slices.Delete(b.Recipes[0].Additions, 1, 2)
		if has(b, string(caution.AcidOnCopper), "recipe[0].rolls") {
			t.Errorf("no acid, but a caution for rolls of %s", m)
		}
	}
}

// Old metal without a test on record brings its caution; a test ends it.
func TestOldMetal(t *testing.T) {
	t.Parallel()
	old := map[rig.Material]bool{rig.Copper: true, rig.TinnedCopper: true, rig.TinnedSteel: true, rig.Brass: true, rig.Bronze: true}
	for _, m := range rig.Materials() {
		b := shoptest.Book()
		b.Rolls[0].Material, b.Rolls[0].Tested = m, rig.Test{}
		b.Kettles[0].Material = m
		for _, field := range []string{"rolls[0].tested", "kettle[0].tested"} {
			if got := has(b, string(caution.OldMetal), field); got != old[m] {
				t.Errorf("untested %s at %s: caution %v", m, field, got)
			}
		}
		b.Rolls[0].Tested = rig.Test{By: "laboratory", On: "2026-01-01"}
		if has(b, string(caution.OldMetal), "rolls[0].tested") {
			t.Errorf("tested %s still brings the caution", m)
		}
	}
}

// An ingredient whose supplier has not stated blocks claims where it is used, as
// dusting too; on the shelf, unused, it says nothing.
func TestUnknownSupplierData(t *testing.T) {
	t.Parallel()
	at := func(id string) (book.Book, string) {
		b := shoptest.Book()
		for i, ing := range b.Ingredients {
			if ing.ID == id {
				b.Ingredients[i].Statement = ""
				return b, fmt.Sprintf("ingredient[%d].statement", i)
			}
		}
		t.Fatalf("no ingredient %s", id)
		return b, ""
	}
	for _, id := range []string{"sugar", "aniseed-oil", "icing-sugar"} {
		if b, field := at(id); !has(b, string(caution.AllergenUnknown), field) {
			t.Errorf("%s is used without a statement and brings no caution", id)
		}
	}
	b, field := at("icing-sugar")
	b.Recipes[0].Finish, b.Recipes[0].FinishGain, b.Recipes[0].FinishWith = recipe.Plain, 0, ""
	if has(b, string(caution.AllergenUnknown), field) {
		t.Error("icing sugar nobody uses brings a caution")
	}
}

// Every caution of a book has the fixed wording of its code at its end.
func TestCautionsKeepTheirWording(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Ingredients[0].Statement = ""
	b.Machines[0].Stop = false
	n := 0
	for _, p := range book.Validate(&b) {
		if p.Severity != book.Caution {
			t.Errorf("%+v", p)
			continue
		}
		n++
		if !strings.HasSuffix(p.Text, ": "+caution.Text(caution.Code(p.Code))) {
			t.Errorf("%s: %q", p.Code, p.Text)
		}
	}
	if n < 5 {
		t.Errorf("only %d cautions", n)
	}
}

// Validate answers for any book at all, the same each time, and changes nothing.
func TestValidateIsTotal(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := shoptest.Book()
		for range rapid.IntRange(0, 6).Draw(t, "spoils") {
			spoil(t, &b)
		}
		before := book.Validate(&b)
		if d := cmp.Diff(before, book.Validate(&b)); d != "" {
			t.Fatal(d)
		}
		for _, p := range before {
			if p.Field == "" || p.Text == "" || p.Code == "" || p.Severity != book.Error && p.Severity != book.Caution {
				t.Fatalf("%+v", p)
			}
		}
	})
	var zero book.Book
	if len(book.Errors(book.Validate(&zero))) == 0 {
		t.Error("an empty book has no errors")
	}
}

// spoil takes something out of the book or puts nonsense in.
func spoil(t *rapid.T, b *book.Book) {
	word := rapid.SampledFrom([]string{"", "x", "No Id", "pear-barrels", "stain", "milk", "25:00", "08:00"}).Draw(t, "word")
	num := rapid.SampledFrom([]float64{0, -1, 1e9, 0.5}).Draw(t, "number")
	switch rapid.IntRange(0, 11).Draw(t, "what") {
	case 0:
		b.Ingredients = b.Ingredients[:len(b.Ingredients)/2]
	case 1:
		b.Rolls = nil
	case 2:
		b.Hands = nil
	case 3:
		b.Kettles = nil
	case 4:
		b.Recipes = b.Recipes[len(b.Recipes)/2:]
	case 5:
		b.Day = book.Day{Opens: word, Ends: "17:00", Residue: []book.Residue{{Family: word}}, Breaks: []book.Break{{From: word, To: word}}}
	case 6:
		b.Room = rig.Room{Altitude: q.Metres(num), StationPressure: q.Pascals(num)}
	case 7:
		b.Day.Rules = append(b.Day.Rules, book.Rule{Kind: word, Recipe: word, After: word, Act: word})
	case 8:
		b.Recipes = append(b.Recipes, recipe.Recipe{ID: word, Boil: []recipe.Part{{Ingredient: word, Mass: q.Kilograms(num)}}, Portions: []recipe.Portion{{ID: word, Share: q.Fraction(num)}}})
	case 9:
		b.Kettles = append(b.Kettles, rig.Kettle{ID: word, UsualCharge: q.Kilograms(num)})
	case 10:
		b.Products = append(b.Products, b.Products...)
	case 11:
		b.Slabs, b.Hooks, b.Benches, b.Scales, b.Glasses, b.Machines = nil, nil, nil, nil, nil, nil
	}
}
