package app

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/limit"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
)

func demoBook(t *testing.T) book.Book {
	t.Helper()
	b, _, err := bookfile.Decode("demo.toml", bookfile.Demo())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// limitsOf judges a recipe on the day of the tests.
func limitsOf(t *testing.T, b *book.Book, r LimitsRequest) *LimitsResult {
	t.Helper()
	if r.Date == "" {
		r.Date = "2026-11-28"
	}
	out, err := LimitsOf(b, r)
	if err != nil {
		t.Fatalf("%+v: %v", r, err)
	}
	return out
}

func ruleIn(r *LimitsResult, rule string) (limit.Finding, bool) {
	for _, m := range r.Markets {
		for _, f := range m.List {
			if f.Rule == rule {
				return f, true
			}
		}
	}
	return limit.Finding{}, false
}

// The menthol drops of an old recipe hold 1192 mg/kg of menthol at 2 % of water (source
// key rigby1909): three times what a survey found in sweets.
func TestLimits_OldMenthol(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Ingredients = append(b.Ingredients,
		ingredient.Ingredient{ID: "menthol", Name: "Menthol", Kind: ingredient.Oil, Solids: 1, HoldsAll: true, Holds: []ingredient.Hold{{Substance: "Menthol", Share: 1}}},
		ingredient.Ingredient{ID: "honey", Name: "Honey", Kind: ingredient.Invert, Solids: 0.829})
	old := b.Recipes[0]
	old.ID, old.BoilTo, old.WaterLeft, old.Additions = "old", 0, 0.02, nil
	old.Boil = []recipe.Part{{Ingredient: "sugar", Mass: 20 * q.KilogramsPerPound}, {Ingredient: "syrup-42", Mass: 5 * q.KilogramsPerPound},
		{Ingredient: "honey", Mass: 2 * q.KilogramsPerPound}, {Ingredient: "menthol", Mass: 0.5 * q.KilogramsPerOunce}, {Ingredient: "water", Mass: 3}}
	old.FinishWith, old.FinishGain, old.Finish = "", 0, recipe.Plain
	b.Recipes = append(b.Recipes, old)
	f, ok := ruleIn(limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: "old"}}), "menthol")
	if !ok || f.Answer != limit.Over || !f.Advisory || math.Abs(f.Amount.Value-1192) > 2 || *f.Most != 400 {
		t.Errorf("%+v", f)
	}
}

// Twice the charge changes no answer: amounts are shares of the sweet. Of what goes
// into the kettle at the end a hundredth more stays on its wall at half the charge.
func TestLimits_Scaled(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	n := 0
	for _, rec := range b.Recipes {
		of := func(charge q.Kilograms) []limit.Report {
			return limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: rec.ID, Charge: charge}, Markets: limit.Markets()}).Markets
		}
		half, whole := of(6), of(12)
		for i, m := range whole {
			if m.Answer != half[i].Answer || len(m.List) != len(half[i].List) {
				t.Fatalf("%s, %s: %s and %s", rec.ID, m.Market, m.Answer, half[i].Answer)
			}
			for k, f := range m.List {
				other := half[i].List[k]
				if f.Answer != other.Answer || f.Rule != other.Rule {
					t.Errorf("%s, %s, %s: %s, at half the charge %s of %s", rec.ID, m.Market, f.Rule, f.Answer, other.Answer, other.Rule)
				}
				if f.Amount != nil {
					n++
					if math.Abs(f.Amount.Value/other.Amount.Value-1) > 0.015 {
						t.Errorf("%s, %s: %v and %v mg/kg", rec.ID, f.Rule, f.Amount.Value, other.Amount.Value)
					}
				}
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d amounts were compared", n)
	}
}

// The answers flip at the limit ±1 % through the whole chain: a dye whose dose stands a
// hundredth to either side of it.
func TestLimits_Flip(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		market, rule, substance string
		most                    float64
		advice                  bool
	}{
		{limit.EU, "colours of Group III together", "E 129", 300e-6, false}, {limit.UK, "azorubine alone", "E 122", 50e-6, false},
		{limit.US, "malic acid", "malic acid", 0.069, false}, {limit.Canada, "colours of B.06.002(b) together", "E 133", 100e-6, false}, {limit.EU, "cassia oil", "cassia oil", 150e-6, true},
	} {
		for factor, want := range map[float64]limit.Answer{0.99: limit.Within, 1.01: limit.Over} {
			b := demoBook(t)
			// No scale named would be ±0.5 %, no scale at all finer than that.
			b.Scales[1].Resolution = 1e-7
			b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "x", Name: "X", Kind: ingredient.Other, Solids: 1, HoldsAll: true, Holds: []ingredient.Hold{{Substance: c.substance, Share: 1}}})
			rec := &b.Recipes[0]
			rec.Additions = []recipe.Addition{{Ingredient: "x", Stage: recipe.AtFold, Dose: q.Fraction(c.most * factor)}}
			r := limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: rec.ID}, Markets: []string{c.market}})
			f, ok := ruleIn(r, c.rule)
			if width := (f.Amount.High - f.Amount.Low) / f.Amount.Value; width > 0.02 {
				t.Errorf("%s: a range of %g tells nothing apart", c.rule, width)
			}
			if !ok || f.Answer != want || f.Advisory != c.advice {
				t.Errorf("%s at %g of the limit: %s, want %s (%v)", c.rule, factor, f.Answer, want, f.Amount)
			}
			if no := r.Exceeded(); no != (want == limit.Over && !c.advice) {
				t.Errorf("%s at %g: exceeded %v", c.rule, factor, no)
			}
		}
	}
}

// The greatest dose keeps every rule, and a hundredth more does not.
func TestLimits_Greatest(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	for _, c := range []struct {
		recipe, ingredient string
		advice             bool
		rule               string
		most               float64 // limit over what it holds of it at most: no dose above it can be
	}{
		{"mint-beads", "peppermint-oil", false, "menthofuran in mint sweets", 500e-6 / 0.06}, {"mint-beads", "peppermint-oil", true, "menthol", 400e-6 / 0.46},
		{"damson-leaves", "purple", false, "colours of Group III together", 300e-6 / 0.047}, {"damson-leaves", "citric", true, "acids together", 0.02},
		{"barley-barrels", "lemon-oil", true, "lemon oil", 1100e-6},
	} {
		r := limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: c.recipe}, Most: c.ingredient, Markets: []string{limit.UK, limit.US}})
		g := r.Most.Law
		if c.advice {
			g = r.Most.Advice
		}
		if g == nil {
			t.Errorf("%s in %s: %s; %s", c.ingredient, c.recipe, r.Most.NoLaw, r.Most.NoAdvice)
			continue
		}
		dose := float64(*g.Doses[0].Dose)
		const smear = 1.012 // of what goes into the kettle, so much stays on its wall
		if g.Rule != c.rule || dose > smear*c.most || dose < 0.97*c.most {
			t.Errorf("%s in %s: %g of %s, want a little under %g of %s", c.ingredient, c.recipe, dose, g.Rule, c.most, c.rule)
		}
		for factor, want := range map[float64]bool{1: true, 1.01: false} {
			other := demoBook(t)
			i := slices.IndexFunc(other.Recipes, func(x recipe.Recipe) bool { return x.ID == c.recipe })
			for k := range other.Recipes[i].Additions {
				if a := &other.Recipes[i].Additions[k]; a.Ingredient == c.ingredient {
					a.Dose = q.Fraction(dose * factor)
				}
			}
			f, _ := ruleIn(limitsOf(t, &other, LimitsRequest{Boil: BoilRequest{Recipe: c.recipe}, Markets: []string{limit.UK}}), c.rule)
			if kept := f.Answer == limit.Within; kept != want {
				t.Errorf("%s in %s: at %g of the greatest dose %s is %s (%v)", c.ingredient, c.recipe, factor, c.rule, f.Answer, f.Amount)
			}
		}
	}
}

// Where there is no greatest dose, the reason is said.
func TestLimits_NoGreatest(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, recipe, ingredient, market string
		turn                             func(b *book.Book)
		want                             string
	}{
		{"not allowed", "rhubarb-fish", "green", limit.US, nil, "is not allowed in it at all: copper chlorophyllin"},
		{"nothing known of it", "rhubarb-fish", "rhubarb-flavour", limit.UK, nil, "no figure of the law limits what Rhubarb flavouring is known to hold"},
		{"more than a recipe takes", "mint-beads", "peppermint-oil", limit.UK, func(b *book.Book) {
			i := slices.IndexFunc(b.Ingredients, func(x ingredient.Ingredient) bool { return x.ID == "peppermint-oil" })
			b.Ingredients[i].Holds = []ingredient.Hold{{Substance: "peppermint oil", Share: 1, Natural: true}, {Substance: "pulegone", Share: 0.0001, Natural: true}}
		}, "even 20 % stays within"},
		{"others are at the limit", "damson-leaves", "purple", limit.UK, func(b *book.Book) {
			b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "red", Name: "Red", Kind: ingredient.Colour, Solids: 1, HoldsAll: true, Holds: []ingredient.Hold{{Substance: "E 129", Share: 1}}})
			i := slices.IndexFunc(b.Recipes, func(x recipe.Recipe) bool { return x.ID == "damson-leaves" })
			b.Recipes[i].Additions = append(b.Recipes[i].Additions, recipe.Addition{Ingredient: "red", Stage: recipe.AtFold, Dose: 310e-6})
		}, "what else counts is at the limit already"},
		{"no scale is fine enough", "barley-barrels", "dye", limit.UK, func(b *book.Book) {
			b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "dye", Name: "Dye", Kind: ingredient.Other, Solids: 1, HoldsAll: true, Holds: []ingredient.Hold{{Substance: "E 122", Share: 1}}})
			b.Scales = b.Scales[:1]
			b.Scales[0].Resolution = 0.01
			b.Recipes[0].Additions = []recipe.Addition{{Ingredient: "dye", Stage: recipe.AtFold, Dose: 40e-6}}
		}, "no dose of Dye was found that stays within"},
	} {
		b := demoBook(t)
		if c.turn != nil {
			c.turn(&b)
		}
		r := limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: c.recipe}, Markets: []string{c.market}, Most: c.ingredient})
		if r.Most.Law != nil || !strings.Contains(r.Most.NoLaw, c.want) {
			t.Errorf("%s: %+v, %q", c.name, r.Most.Law, r.Most.NoLaw)
		}
	}
}

// What sweets are sanded with counts.
func TestLimits_Finish(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "sour", Name: "Sour sanding", Kind: ingredient.Dust, Solids: 1, Holds: []ingredient.Hold{{Substance: "malic acid", Share: 0.5}}})
	rec := &b.Recipes[0]
	rec.Finish, rec.FinishWith, rec.FinishGain = recipe.Sanded, "sour", 0.25
	f, ok := ruleIn(limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: rec.ID}, Markets: []string{limit.US}}), "malic acid")
	if !ok || math.Abs(f.Amount.Value-100000) > 1e-6 || f.Answer != limit.Over { // half of a fifth of the sweet
		t.Errorf("%+v", f)
	}
}

// A boil of another doctor is judged as it is boiled.
func TestLimits_Switched(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	b.Ingredients = append(b.Ingredients, ingredient.Ingredient{ID: "tartar", Name: "Cream of tartar", Kind: ingredient.Doctor, Solids: 1, Statement: "stated"})
	r := limitsOf(t, &b, LimitsRequest{Boil: BoilRequest{Recipe: "barley-barrels", Switch: true}})
	if !slices.ContainsFunc(r.Markets[0].List, func(f limit.Finding) bool { return slices.Contains(f.Substances, "cream of tartar") }) {
		t.Errorf("the tartar is not in it: %+v", r.Markets[0].List)
	}
}

func TestLimits_Refused(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	for field, r := range map[string]LimitsRequest{
		"recipe": {Date: "2026-11-28"},
		"date":   {Boil: BoilRequest{Recipe: "mint-beads"}, Date: "28 November"},
		"market": {Boil: BoilRequest{Recipe: "mint-beads"}, Date: "2026-11-28", Markets: []string{"survey"}},
		"most":   {Boil: BoilRequest{Recipe: "mint-beads"}, Date: "2026-11-28", Most: "citric"},
		"charge": {Boil: BoilRequest{Recipe: "mint-beads", Charge: 90}, Date: "2026-11-28"},
	} {
		_, err := LimitsOf(&b, r)
		if f, ok := err.(*fault.Error); !ok || f.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// Without a market and a date it is the shop's own, and today.
func TestLimits_OfTheShop(t *testing.T) {
	t.Parallel()
	a, _ := keepBook(t, shoptest.Book())
	kept, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	r, err := a.Limits(context.Background(), LimitsRequest{Boil: BoilRequest{Recipe: kept.Recipes[0].ID}})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Markets) != 1 || r.Markets[0].Market != kept.Shop.Market || r.Date != a.Today(kept) {
		t.Errorf("%s on %s", r.Markets[0].Market, r.Date)
	}
	if len(r.Cautions) != 2 || !strings.Contains(r.Cautions[0].Text, "authority decides") {
		t.Errorf("%v", r.Cautions)
	}
}
