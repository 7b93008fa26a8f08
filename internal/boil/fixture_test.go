package boil

import (
	"strconv"
	"strings"
	"testing"

	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/validation"
)

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// foods are the ingredients of the old recipes with their dry matter (source key
// usda-sr: what is not water; syrup by source key cra; acids, oils and essences
// are taken as dry).
func foods() map[string]ingredient.Ingredient {
	list := []ingredient.Ingredient{
		{ID: "sugar white", Kind: ingredient.Sugar, Solids: 0.9998},
		{ID: "sugar white (stripes)", Kind: ingredient.Sugar, Solids: 0.9998},
		{ID: "sugar brown", Kind: ingredient.Sugar, Solids: 0.9866},
		{ID: "sugar dark", Kind: ingredient.Sugar, Solids: 0.9866},
		{ID: "glucose syrup", Kind: ingredient.Syrup, Solids: 0.803, DE: 42},
		{ID: "honey", Kind: ingredient.Invert, Solids: 0.829},
		{ID: "water", Kind: ingredient.Water},
		{ID: "butter", Kind: ingredient.Fat, Solids: 0.8206},
		{ID: "cream of tartar", Kind: ingredient.Doctor, Solids: 0.983},
		{ID: "tartaric acid", Kind: ingredient.Acid, Solids: 1},
		{ID: "citric acid", Kind: ingredient.Acid, Solids: 1},
		{ID: "almonds chopped", Kind: ingredient.Nut, Solids: 0.9559},
		{ID: "almonds blanched", Kind: ingredient.Nut, Solids: 0.9559},
		{ID: "desiccated coconut", Kind: ingredient.Nut, Solids: 0.97},
		{ID: "menthol", Kind: ingredient.Oil, Solids: 1},
		{ID: "oil of lemon", Kind: ingredient.Oil, Solids: 1},
		{ID: "oil of aniseed", Kind: ingredient.Oil, Solids: 1},
		{ID: "cough drop essence", Kind: ingredient.Essence, Solids: 1},
		{ID: "essence of pear", Kind: ingredient.Essence, Solids: 1},
		{ID: "essence of pineapple", Kind: ingredient.Essence, Solids: 1},
		{ID: "essence of raspberry", Kind: ingredient.Essence, Solids: 1},
	}
	out := make(map[string]ingredient.Ingredient, len(list))
	for _, in := range list {
		in.Name = in.ID
		out[in.ID] = in
	}
	return out
}

// oldCharges returns the charges of the old recipes. A recipe that prints no
// water is given a third of its sugar: it boils off.
func oldCharges(t *testing.T) map[string]Charge {
	t.Helper()
	known := foods()
	out := make(map[string]Charge)
	for _, row := range validation.Records(t, "old-recipes.csv") {
		in, ok := known[row.Text("ingredient")]
		if !ok {
			t.Fatalf("%s: no dry matter for %q", row.Text("recipe"), row.Text("ingredient"))
		}
		c := out[row.Text("recipe")]
		c.Lines = append(c.Lines, Line{in, q.Kilograms(row.Number("kg"))})
		out[row.Text("recipe")] = c
	}
	for id, c := range out {
		if m := c.Makeup(); m.Water < m.Sucrose/4 {
			c.Lines = append(c.Lines, Line{known["water"], q.Kilograms(m.Sucrose / 3)})
			out[id] = c
		}
	}
	return out
}

// seaRoom has a barometer at one standard atmosphere.
func seaRoom() rig.Room {
	return rig.Room{StationPressure: q.StandardAtmospherePa, Air: 20, HoldPoint: 115}
}

func pan() *rig.Kettle {
	return &rig.Kettle{ID: "pan", Name: "pan", Volume: 25, FoamRoom: 0.4, LeastCharge: 3, Burner: 15000,
		Efficiency: 0.45, Mass: 9, Smear: 0.1, Material: rig.Stainless, Tested: rig.Test{By: "a laboratory", On: "2026-01-20"}}
}

func goodGlass() *rig.Glass {
	return &rig.Glass{ID: "glass", Name: "glass", Offset: 0.5, Class: 1.5, Division: 0.5, CheckedAt: 150}
}

func twoScales() []rig.Scale {
	return []rig.Scale{{ID: "floor", Capacity: 30, Resolution: 0.001}, {ID: "fine", Capacity: 0.6, Resolution: 0.00001}}
}

func raw(t testing.TB, r Raw) Charge {
	t.Helper()
	c, err := r.Charge()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// fruit is a boil of syrup 27 % of the solids, coloured, soured and flavoured, in
// two portions.
func fruit(t testing.TB) Inputs {
	t.Helper()
	water := q.Kilograms(1.5)
	return Inputs{
		Recipe: "fruit", Batch: "fruit:1",
		Charge: raw(t, Raw{Sugar: 4.5, Syrup: 2.1, SyrupDE: 42, SyrupSolids: 0.803, Water: &water}),
		End:    End{BoilTo: 150},
		Additions: []Dose{
			{ingredient.Ingredient{ID: "colour", Name: "colour", Kind: ingredient.Colour, Solids: 0.1}, recipe.AtEnd, 0.001, ""},
			{ingredient.Ingredient{ID: "green", Name: "green", Kind: ingredient.Colour, Solids: 0.1}, recipe.AtPour, 0.001, "clear"},
			{ingredient.Ingredient{ID: "citric", Name: "citric acid", Kind: ingredient.Acid, Solids: 1}, recipe.AtFold, 0.008, ""},
			{ingredient.Ingredient{ID: "essence", Name: "essence", Kind: ingredient.Essence, Solids: 0.2, Spirit: 0.6}, recipe.AtFold, 0.001, "pulled"},
		},
		Portions: []recipe.Portion{{ID: "clear", Share: 0.7, Work: recipe.Clear}, {ID: "pulled", Share: 0.3, Work: recipe.Pulled}},
		Room:     seaRoom(), Glass: goodGlass(), Kettle: pan(), Scales: twoScales(),
		Ensemble: numeric.NewEnsemble(numeric.Draws, 11),
	}
}

func predict(t *testing.T, in Inputs) Result {
	t.Helper()
	r, err := Predict(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func prepare(t *testing.T, in Inputs) *Plan {
	t.Helper()
	p, err := Prepare(in)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func width(e q.Estimate) float64 { return e.High - e.Low }

func hasCaution(list []Caution, code string) bool {
	for _, c := range list {
		if string(c.Code) == code {
			return true
		}
	}
	return false
}

func contains(s, part string) bool { return strings.Contains(s, part) }
