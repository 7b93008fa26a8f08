package boil

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

func TestWeigh_Scale(t *testing.T) {
	t.Parallel()
	scales := twoScales()
	sugar := ingredient.Ingredient{ID: "sugar", Kind: ingredient.Sugar}
	for _, tt := range []struct {
		name       string
		mass       q.Kilograms
		scale      string
		rounded    q.Kilograms
		goes       int
		resolution q.Kilograms
	}{
		{"under the fine one's capacity", 0.5999, "fine", 0.5999, 1, 0.00001},
		{"at its capacity", 0.6, "fine", 0.6, 1, 0.00001},
		{"over it", 0.60001, "floor", 0.6, 1, 0.001},
		{"rounded to a division", 4.4444, "floor", 4.444, 1, 0.001},
		{"over every capacity", 61, "floor", 61, 3, 0.001},
	} {
		w := weigh(sugar, "", "", tt.mass, scales)
		if w.Scale != tt.scale || w.Rounded != tt.rounded || w.Goes != tt.goes || w.Resolution != tt.resolution {
			t.Errorf("%s: %+v", tt.name, w)
		}
	}
	if w := weigh(sugar, "", "", 2, nil); w.Scale != "" || w.Rounded != 2 || w.Coarse() {
		t.Errorf("without scales: %+v", w)
	}
}

// TestWeigh_CoarseFlips: a dose is coarse when half a division is more than 2 % of
// it, on either side of the limit.
func TestWeigh_CoarseFlips(t *testing.T) {
	t.Parallel()
	scales := []rig.Scale{{ID: "floor", Capacity: 30, Resolution: 0.001}}
	dye := ingredient.Ingredient{ID: "dye", Name: "dye", Kind: ingredient.Colour, Solids: 0.9}
	limit := 0.0005 / MostDoseError
	if w := weigh(dye, recipe.AtPour, "", q.Kilograms(limit*1.01), scales); w.Coarse() || w.Stock != nil {
		t.Errorf("1 %% over the limit: %+v", w)
	}
	w := weigh(dye, recipe.AtPour, "", q.Kilograms(limit*0.99), scales)
	if !w.Coarse() || w.Stock == nil {
		t.Fatalf("1 %% under the limit: %+v", w)
	}
	// Said once: by the stock solution, or by the caution where there is none.
	acid := weigh(ingredient.Ingredient{ID: "acid", Name: "acid", Kind: ingredient.Acid, Solids: 1}, recipe.AtFold, "", q.Kilograms(limit*0.99), scales)
	if got := acid.coarseCaution(q.Plain); !acid.Coarse() || acid.Stock != nil || got.Code != CodeCoarse || !contains(got.Text, "acid: half a division of the scale is 2.02 %") {
		t.Errorf("%+v, caution %+v", acid, got)
	}
}

// TestStock_Law: a stock holds the dose, is weighed in at least fifty divisions and
// made of amounts that can be weighed.
func TestStock_Law(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		division := rapid.SampledFrom([]float64{0.005, 0.001, 0.0005, 0.0001}).Draw(t, "division")
		scales := []rig.Scale{{ID: "one", Capacity: 30, Resolution: q.Kilograms(division)}}
		dose := rapid.Float64Range(division/20, division*24).Draw(t, "dose")
		in := ingredient.Ingredient{ID: "x", Kind: rapid.SampledFrom([]ingredient.Kind{ingredient.Colour, ingredient.Oil, ingredient.Essence}).Draw(t, "kind")}
		w := weigh(in, recipe.AtFold, "", q.Kilograms(dose), scales)
		s := w.Stock
		if s == nil {
			t.Fatalf("no stock for %g kg on %g kg", dose, division)
		}
		if got := float64(s.Weigh) * float64(s.Strength); math.Abs(got-dose) > 1e-12 {
			t.Errorf("the stock weighed holds %g kg, want %g", got, dose)
		}
		if float64(s.Weigh) < 50*division {
			t.Errorf("%g kg of stock on a division of %g", float64(s.Weigh), division)
		}
		if got := float64(s.OfDose) / float64(s.OfDose+s.OfCarrier); math.Abs(got-float64(s.Strength)) > 1e-12 {
			t.Errorf("made of %g and %g: strength %g, want %g", float64(s.OfDose), float64(s.OfCarrier), got, float64(s.Strength))
		}
		if float64(s.OfDose) < 50*division*(1-1e-9) || float64(s.OfDose) < 10*dose*(1-1e-9) {
			t.Errorf("made of %g kg: too little to weigh or for ten boils", float64(s.OfDose))
		}
		if got := s.brings(1).Mass(); math.Abs(got+dose-float64(s.Weigh)) > 1e-12 {
			t.Errorf("dose and carrier make %g kg, the stock weighed is %g", got+dose, float64(s.Weigh))
		}
	})
}

// TestStock_WaterCounts: what a proposed stock brings is in the sweet.
func TestStock_WaterCounts(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	in.Additions = []Dose{{ingredient.Ingredient{ID: "dye", Name: "dye", Kind: ingredient.Colour, Solids: 1}, recipe.AtFold, 0.0005, ""}}
	in.Portions = nil
	fine := predict(t, in)
	in.Scales = []rig.Scale{{ID: "floor", Capacity: 30, Resolution: 0.001}}
	coarse := predict(t, in)
	s := coarse.Weighings[len(coarse.Weighings)-1].Stock
	if s == nil || hasCaution(coarse.Cautions, string(CodeCoarse)) {
		t.Fatal("no stock proposed, or said twice")
	}
	carrier := float64(s.Weigh) * (1 - float64(s.Strength))
	if got := coarse.FinishedKg.Value - fine.FinishedKg.Value; math.Abs(got-carrier) > 1e-4 {
		t.Errorf("the sweet is %.6f kg heavier, the carrier is %.6f", got, carrier)
	}
	if !(coarse.Portions[0].WaterFrac.Value > fine.Portions[0].WaterFrac.Value) {
		t.Error("the carrier's water is not in the sweet")
	}
}

// TestWeighings_Order: charge first, then the stages in order of time.
func TestWeighings_Order(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	book := BookOf([]ingredient.Ingredient{
		{ID: "a", Kind: ingredient.Acid, Solids: 1}, {ID: "b", Kind: ingredient.Colour, Solids: 0.1}, {ID: "c", Kind: ingredient.Extract, Solids: 0.8},
	})
	doses, err := DosesOf(recipe.Recipe{Additions: []recipe.Addition{
		{Ingredient: "a", Stage: recipe.AtFold, Dose: 0.01}, {Ingredient: "b", Stage: recipe.AtPour, Dose: 0.001},
		{Ingredient: "c", Stage: recipe.AtBoil, Dose: 0.02}, {Ingredient: "b", Stage: recipe.AtEnd, Dose: 0.001},
	}}, book)
	if err != nil {
		t.Fatal(err)
	}
	in.Additions = doses
	var got []string
	for _, w := range predict(t, in).Weighings {
		got = append(got, string(w.Stage)+"/"+w.Ingredient)
	}
	want := []string{"/sugar", "/syrup", "/water", "boil/c", "end/b", "pour/b", "fold/a"}
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("line %d is %s, want %s", i, got[i], want[i])
		}
	}
}
