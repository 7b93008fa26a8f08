package boil

import (
	"math"
	"slices"
	"testing"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// What goes into the kettle decides what its keeping hangs on: acid that boils with it
// inverts, acid that is folded in does not; what is folded in does not brown.
func TestResult_Keeping(t *testing.T) {
	t.Parallel()
	sugar := ingredient.Ingredient{ID: "sugar", Name: "Sugar", Kind: ingredient.Sugar, Solids: 1}
	water := ingredient.Ingredient{ID: "water", Name: "Water", Kind: ingredient.Water}
	syrup := ingredient.Ingredient{ID: "syrup", Name: "Syrup", Kind: ingredient.Syrup, Solids: 0.8, DE: 42}
	honey := ingredient.Ingredient{ID: "honey", Name: "Honey", Kind: ingredient.Invert, Solids: 0.8}
	tartar := ingredient.Ingredient{ID: "tartar", Name: "Tartar", Kind: ingredient.Doctor, Solids: 1}
	acid := ingredient.Ingredient{ID: "acid", Name: "Acid", Kind: ingredient.Acid, Solids: 1}
	butter := ingredient.Ingredient{ID: "butter", Name: "Butter", Kind: ingredient.Fat, Solids: 0.84}
	base := []Line{{sugar, 6}, {water, 2}}
	cases := []struct {
		name     string
		lines    []Line
		doses    []Dose
		doctor   float64
		doctored bool
		browns   []string
	}{
		{"plain", nil, nil, 0, false, nil},
		{"syrup", []Line{{syrup, 3.75}}, nil, 3. / 9, false, nil},
		{"syrup and honey", []Line{{syrup, 3.75}, {honey, 1.25}}, nil, 4. / 10, false, []string{"Honey"}},
		{"tartar in the charge", []Line{{tartar, 0.012}}, nil, 0, true, nil},
		{"acid folded in", nil, []Dose{{Ingredient: acid, Stage: recipe.AtFold, Share: 0.01}}, 0, false, nil},
		{"acid in the boil", nil, []Dose{{Ingredient: acid, Stage: recipe.AtBoil, Share: 0.001}}, 0, true, nil},
		{"acid at the end", nil, []Dose{{Ingredient: acid, Stage: recipe.AtEnd, Share: 0.001}}, 0, false, nil},
		{"butter at the end", nil, []Dose{{Ingredient: butter, Stage: recipe.AtEnd, Share: 0.02}}, 0, false, []string{"Butter"}},
		{"butter folded in", nil, []Dose{{Ingredient: butter, Stage: recipe.AtFold, Share: 0.02}}, 0, false, nil},
		{"butter twice", []Line{{butter, 0.1}}, []Dose{{Ingredient: butter, Stage: recipe.AtEnd, Share: 0.02}}, 0, false, []string{"Butter"}},
	}
	for _, c := range cases {
		in := Inputs{Charge: Charge{Lines: append(slices.Clone(base), c.lines...)}, Additions: c.doses, End: End{WaterLeft: 0.03}, Room: seaRoom(), Units: q.Plain}
		r := predict(t, in)
		if math.Abs(r.DoctorFrac.Value-c.doctor) > 1e-9 || r.Doctored != c.doctored || !slices.Equal(r.Browns, c.browns) {
			t.Errorf("%s: doctor %.4f, want %.4f; inverts %v, want %v; browns %v, want %v", c.name,
				r.DoctorFrac.Value, c.doctor, r.Doctored, c.doctored, r.Browns, c.browns)
		}
		if e := r.DoctorFrac; c.doctor > 0 && !(e.Low < e.Value && e.Value < e.High) {
			t.Errorf("%s: the share of the doctor has no range: %+v", c.name, e)
		}
		if p := r.Portions[0]; len(p.GlassDraws) == 0 || p.Makeup.Mass() == 0 {
			t.Errorf("%s: the portion has no draws or no make-up", c.name)
		}
	}
}

// A syrup whose solids nobody stated leaves more doubt of its share.
func TestResult_DoctorOfUnknownSyrup(t *testing.T) {
	t.Parallel()
	wide := func(solids q.Fraction) float64 {
		w := q.Kilograms(2)
		c, err := Raw{Sugar: 6, Syrup: 3.75, SyrupDE: 42, SyrupSolids: solids, Water: &w}.Charge()
		if err != nil {
			t.Fatal(err)
		}
		e := predict(t, Inputs{Charge: c, End: End{WaterLeft: 0.03}, Room: seaRoom(), Units: q.Plain}).DoctorFrac
		return e.High - e.Low
	}
	if known, unknown := wide(0.803), wide(0); unknown < 1.5*known {
		t.Errorf("known to %.5f, not stated to %.5f", known, unknown)
	}
}

// What the boil itself inverts is no doctor that was weighed: it counts as invert sugar.
func TestResult_FormedInvertIsNoDoctor(t *testing.T) {
	t.Parallel()
	w := q.Kilograms(2)
	c, err := Raw{Sugar: 7, Tartar: 0.01, Water: &w}.Charge()
	if err != nil {
		t.Fatal(err)
	}
	k := rig.Kettle{ID: "pan", Volume: 24, FoamRoom: 0.4, LeastCharge: 1, UsualCharge: 10, Burner: 15000, Efficiency: 0.42, Mass: 6, Material: rig.Stainless}
	r := predict(t, Inputs{Charge: c, End: End{WaterLeft: 0.03}, Room: seaRoom(), Kettle: &k, Units: q.Plain})
	if r.InvertFrac == nil || r.InvertFrac.Value < 0.03 || r.Pot.Invert == 0 {
		t.Fatalf("nothing inverts: %+v, %+v", r.InvertFrac, r.Pot)
	}
	if e := r.DoctorFrac; e.Value != 0 || e.High != 0 {
		t.Errorf("doctor %+v, nothing of it was weighed", e)
	}
}
