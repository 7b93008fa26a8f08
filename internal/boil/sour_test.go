package boil

import (
	"math"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

func acidOfShop(a ingredient.Sour, solids q.Fraction) ingredient.Ingredient {
	return ingredient.Ingredient{ID: string(a), Name: string(a) + " acid", Kind: ingredient.Acid, Acid: a, Solids: solids}
}

// One of citric acid is as sour as 0.8 to 0.9 of tartaric or malic (common practice,
// source key practice). By titration 1.00 kg of citric acid is 1.17 of tartaric and 1.05 of
// malic (worked apart from this program from molar masses, source key arithmetic), which is
// more, and so too sour.
func TestEqualSour(t *testing.T) {
	t.Parallel()
	citric := acidOfShop("", 1)
	for to, titration := range map[ingredient.Sour]float64{ingredient.Tartaric: 1.17, ingredient.Malic: 1.05} {
		same, err := EqualSour(citric, acidOfShop(to, 1))
		if err != nil {
			t.Fatal(err)
		}
		if same.Times.Low != 0.8 || same.Times.High != 0.9 || same.Times.Value != 0.85 || same.Times.Basis != q.Estimated {
			t.Errorf("%s: %+v of citric", to, same.Times)
		}
		if math.Abs(same.Titration-titration) > 0.005 || !(same.Titration > same.Times.High) {
			t.Errorf("%s: %.4f by titration, want %.2f", to, same.Titration, titration)
		}
		back, err := EqualSour(acidOfShop(to, 1), citric)
		if err != nil || math.Abs(back.Times.Value*0.85-1) > 1e-12 || math.Abs(back.Times.Low*0.9-1) > 1e-12 || math.Abs(back.Times.High*0.8-1) > 1e-12 {
			t.Errorf("citric for %s: %+v, %v", to, back.Times, err)
		}
	}
	// The monohydrate holds 8.6 % of water: 210.14 g for 192.12 (source key pk-handbook).
	mono := acidOfShop(ingredient.Citric, 0.914)
	if same, err := EqualSour(citric, mono); err != nil || math.Abs(same.Times.Value-210.14/192.12) > 5e-4 || same.Times.Basis != q.Exact || math.Abs(same.Titration-same.Times.Value) > 1e-12 {
		t.Errorf("the monohydrate for the anhydrous: %+v, %v", same, err)
	}
	if same, err := EqualSour(mono, acidOfShop(ingredient.Malic, 1)); err != nil || math.Abs(same.Times.Value-0.914*0.85) > 1e-9 {
		t.Errorf("malic for the monohydrate: %+v, %v", same, err)
	}
	buffered := acidOfShop(ingredient.Citric, 1)
	buffered.Neutralised = 0.3
	for name, pair := range map[string][2]ingredient.Ingredient{
		"lactic":   {citric, acidOfShop(ingredient.Lactic, 0.8)},
		"buffered": {buffered, acidOfShop(ingredient.Malic, 1)},
		"no acid":  {citric, {Name: "salt", Kind: ingredient.Salt, Solids: 1}},
		"tartar":   {citric, {Name: "tartar", Kind: ingredient.Doctor, Acid: ingredient.CreamOfTartar, Solids: 1}},
	} {
		if _, err := EqualSour(pair[0], pair[1]); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}
