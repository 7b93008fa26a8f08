package app_test

import (
	"context"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/keeping"
	q "slabside/internal/quantity"
)

func shelfLife(t *testing.T, a *app.App, r app.ShelfLifeRequest) *app.ShelfLifeResult {
	t.Helper()
	out, err := a.ShelfLife(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func inStore(product string, at q.Celsius, humidity q.Fraction) app.ShelfLifeRequest {
	return app.ShelfLifeRequest{Product: product, At: &at, Humidity: &humidity}
}

// Of every product of the demo shop it is told how long it keeps, and less long in damper
// air; a mixture keeps as long as the first of its sweets.
func TestShelfLife_OfTheDemoShop(t *testing.T) {
	t.Parallel()
	a := demoApp(t, `store_most = "26 C"`, `store_most = "26 C"`)
	b, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range b.Products {
		dry, damp := shelfLife(t, a, inStore(p.ID, 25, 0.5)), shelfLife(t, a, inStore(p.ID, 25, 0.65))
		if dry.Days == nil || damp.Days == nil || damp.Days.Value > dry.Days.Value || len(damp.Parts) != len(p.Parts) {
			t.Errorf("%s: %s, damper %s, %d parts", p.ID, dry.Text, damp.Text, len(damp.Parts))
			continue
		}
		for _, k := range damp.Parts {
			if k.Days.Value < damp.Days.Value {
				t.Errorf("%s: %s keeps %g days, the whole %g", p.ID, k.Name, k.Days.Value, damp.Days.Value)
			}
		}
		if len(p.Parts) > 1 && !strings.Contains(damp.Text, damp.Name+" sticks first") {
			t.Errorf("%s: %s", p.ID, damp.Text)
		}
		if len(damp.Sources) == 0 || len(damp.Cautions) == 0 || damp.LimitWater == nil {
			t.Errorf("%s: %+v", p.ID, damp)
		}
	}
}

// The recipe's page and the command say the same of the same store; the page takes the
// pack in which the sweet keeps least long.
func TestShelfLife_IsTheRecipesOwn(t *testing.T) {
	t.Parallel()
	a := demoApp(t, `store_most = "26 C"`, `store_most = "26 C"`)
	b, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range b.Recipes {
		res, err := a.Boil(context.Background(), app.BoilRequest{Recipe: rec.ID})
		if err != nil || res.Keeps == nil {
			t.Fatalf("%s: %+v, %v", rec.ID, res, err)
		}
		own := shelfLife(t, a, app.ShelfLifeRequest{Product: res.Keeps.Product})
		for _, k := range own.Parts {
			if k.Recipe == rec.ID && *k.Days != *res.Keeps.Days {
				t.Errorf("%s: %+v on its page, %+v asked for", rec.ID, *res.Keeps.Days, *k.Days)
			}
		}
		for _, p := range b.Products {
			for _, part := range p.Parts {
				if part.Recipe != rec.ID {
					continue
				}
				for _, k := range shelfLife(t, a, app.ShelfLifeRequest{Product: p.ID}).Parts {
					if k.Recipe == rec.ID && k.Days.Value < res.Keeps.Days.Value {
						t.Errorf("%s keeps %g days in %s, %g in %s", rec.ID, res.Keeps.Days.Value, res.Keeps.Pack, k.Days.Value, k.Pack)
					}
				}
			}
		}
	}
}

// A drier boil keeps longer, worked out as it is typed.
func TestShelfLife_FollowsTheRecipe(t *testing.T) {
	t.Parallel()
	a := demoApp(t, `store_most = "26 C"`, `store_most = "26 C"`)
	b, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	keeps := func(water string) *app.Keeping {
		other, _, err := app.TryRecipe(b, b.Recipes[0].ID, map[string]string{"water_left": water})
		if err != nil {
			t.Fatal(err)
		}
		res, err := app.BoilOf(&other, app.BoilRequest{Recipe: b.Recipes[0].ID})
		if err != nil {
			t.Fatal(err)
		}
		return res.Keeps
	}
	// From 4.5 % the point that it may take up ends at the glass transition.
	if dry, wet := keeps("2.5 %"), keeps("4.5 %"); wet.Days.Value >= dry.Days.Value {
		t.Errorf("of 4.5 %% of water %s, of 2.5 %% %s", wet.Text, dry.Text)
	}
	if soft := keeps("6 %"); soft.Bound != string(keeping.None) {
		t.Errorf("of 6 %% of water: %s", soft.Text)
	}
}

// A tied bag keeps as long as bare pieces lie open, and says why.
func TestShelfLife_TiedIsOpen(t *testing.T) {
	t.Parallel()
	a := demoApp(t, "name = \"Clear bag, small\"\nclosure = \"heat-sealed\"", "name = \"Clear bag, small\"\nclosure = \"tied\"")
	r := shelfLife(t, a, inStore("mint-beads-113", 25, 0.5))
	if r.Days == nil || r.Days.Value > 1 || r.LimitWater != nil || r.Cautions[0].Code != "keeping-open" {
		t.Errorf("%+v", r)
	}
	if never := shelfLife(t, a, inStore("mint-beads-113", 25, 0.1)); never.Bound != "never" || never.Days != nil {
		t.Errorf("in dry air: %+v", never)
	}
}

// Places before the store cost their time of it.
func TestShelfLife_Before(t *testing.T) {
	t.Parallel()
	a := demoApp(t, `store_most = "26 C"`, `store_most = "26 C"`)
	r := inStore("mint-beads-113", 22, 0.5)
	alone := shelfLife(t, a, r)
	var err error
	if r.Before, err = app.ReadSteps([]string{"5, 24 C, 80 %"}); err != nil {
		t.Fatal(err)
	}
	after := shelfLife(t, a, r)
	if after.Days.Value >= alone.Days.Value || after.Days.Value <= 5 {
		t.Errorf("%s, after five damp days %s", alone.Text, after.Text)
	}
	for _, bad := range []string{"", "5,24C", "5,24C,80%,1", "0,24C,80%", "-1,24C,80%", "9999,24C,80%", "5,24,80%", "5,24C,80", "NaN,24C,80%"} {
		if s, err := app.ReadSteps([]string{bad}); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%q: %+v, %v", bad, s, err)
		}
	}
}

func TestShelfLife_Refuses(t *testing.T) {
	t.Parallel()
	a := demoApp(t, "pack = \"jar\"\npacked_in = \"jar-1kg\"", `pack = "jar"`)
	for _, c := range []struct {
		r     app.ShelfLifeRequest
		kind  fault.Kind
		field string
	}{
		{inStore("none", 25, 0.5), fault.KindNotFound, "product"},
		{inStore("barley-jar", 25, 0.5), fault.KindInvalid, "product"},
		{inStore("mint-beads-113", 70, 0.5), fault.KindOutOfRange, "at"},
		{inStore("mint-beads-113", 25, 0.95), fault.KindOutOfRange, "rh"},
	} {
		_, err := a.ShelfLife(context.Background(), c.r)
		f, ok := err.(*fault.Error)
		if !ok || f.Kind != c.kind || f.Field != c.field {
			t.Errorf("%+v: %v", c.r, err)
		}
	}
}

// A room that no model knows the air of says so on the recipe, instead of a figure.
func TestShelfLife_NotToldIsSaid(t *testing.T) {
	t.Parallel()
	a := demoApp(t, `humidity = "42 %"`, `humidity = "95 %"`)
	r, err := a.Boil(context.Background(), app.BoilRequest{Recipe: "mint-beads"})
	if err != nil {
		t.Fatal(err)
	}
	said := ""
	for _, c := range r.Cautions {
		if c.Code == "keeping-not-told" {
			said += c.Text
		}
	}
	if r.Keeps != nil || !strings.Contains(said, "relative humidity 95 %") {
		t.Errorf("%+v, %q", r.Keeps, said)
	}
}
