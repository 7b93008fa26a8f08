package boil

import (
	"testing"

	"slabside/internal/caution"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// TestCautions_Flip moves the quantity behind each caution by 1 % across its limit.
func TestCautions_Flip(t *testing.T) {
	t.Parallel()
	syrupFor := func(share float64) q.Kilograms { // of the dry sugars, 4.5 kg of sugar
		dry := 4.5 * 0.9998
		return q.Kilograms(share / (1 - share) * dry / 0.803)
	}
	for _, tt := range []struct {
		code caution.Code
		set  func(in *Inputs, k float64) // k 0.99: quiet, 1.01: said
	}{
		{caution.GrainRisk, func(in *Inputs, k float64) { in.Charge.Lines[1].Mass = syrupFor(SyrupGrains / k) }},
		{caution.HighCheck, func(in *Inputs, k float64) { in.Glass.CheckedAt = q.Celsius((150 - checkedNear) / k) }},
		{CodeDryGlass, func(in *Inputs, k float64) {
			in.Additions = []Dose{{ingredient.Ingredient{ID: "w", Kind: ingredient.Extract}, recipe.AtFold, q.Fraction(wetAddition * k), ""}}
		}},
		{CodeCoarse, func(in *Inputs, k float64) {
			in.Scales = []rig.Scale{{ID: "floor", Capacity: 30, Resolution: 0.001}}
			p := prepare(t, Inputs{Charge: in.Charge, End: in.End, Room: in.Room, Kettle: in.Kettle,
				Additions: []Dose{{ingredient.Ingredient{ID: "a", Kind: ingredient.Acid, Solids: 1}, recipe.AtFold, 0.004, ""}}})
			share := 0.0005 / MostDoseError / p.nominal.finished() / k
			in.Additions = []Dose{{ingredient.Ingredient{ID: "a", Kind: ingredient.Acid, Solids: 1}, recipe.AtFold, q.Fraction(share), ""}}
			in.Portions = nil
		}},
		{"boil-edge", func(in *Inputs, k float64) { in.End = End{WaterLeft: q.Fraction(0.018 / k)}; in.Additions = nil }},
	} {
		for _, k := range []float64{0.99, 1.01} {
			in := fruit(t)
			tt.set(&in, k)
			r := predict(t, in)
			if got := hasCaution(r.Cautions, string(tt.code)); got != (k > 1) {
				t.Errorf("%s at %g of its limit: said %v", tt.code, k, got)
			}
		}
	}
}

// TestCautions_Facts are said where the fact is there, and only there.
func TestCautions_Facts(t *testing.T) {
	t.Parallel()
	doctor := ingredient.Ingredient{ID: "tartar", Name: "tartar", Kind: ingredient.Doctor, Solids: 0.983}
	acid := ingredient.Ingredient{ID: "tartaric", Name: "tartaric", Kind: ingredient.Acid, Solids: 1}
	for _, tt := range []struct {
		name string
		code caution.Code
		set  func(in *Inputs)
	}{
		{"tartar in bare copper", caution.AcidOnCopper, func(in *Inputs) {
			in.Kettle.Material = rig.Copper
			in.Charge.Lines = append(in.Charge.Lines, Line{doctor, 0.01})
		}},
		{"a tinned pan nobody tested", caution.OldMetal, func(in *Inputs) { in.Kettle.Material, in.Kettle.Tested = rig.TinnedSteel, rig.Test{} }},
		{"an acid in the charge", caution.AcidBoil, func(in *Inputs) { in.Charge.Lines = append(in.Charge.Lines, Line{acid, 0.01}) }},
		{"an acid in the boil", caution.AcidBoil, func(in *Inputs) {
			in.Additions = append(in.Additions, Dose{acid, recipe.AtBoil, 0.004, ""})
		}},
		{"tartar", caution.TartarHold, func(in *Inputs) { in.Charge.Lines = append(in.Charge.Lines, Line{doctor, 0.01}) }},
		{"tartar and syrup", CodeBothDoctors, func(in *Inputs) { in.Charge.Lines = append(in.Charge.Lines, Line{doctor, 0.01}) }},
		{"spirit over the flame", caution.SpiritOnFire, func(in *Inputs) { in.Additions[3].Stage, in.Additions[3].Portion = recipe.AtBoil, "" }},
		{"oil in the boil", caution.OilInBoil, func(in *Inputs) {
			in.Additions = append(in.Additions, Dose{ingredient.Ingredient{ID: "o", Name: "o", Kind: ingredient.Oil, Solids: 1}, recipe.AtBoil, 0.001, ""})
		}},
		{"no scales", CodeScaleUnknown, func(in *Inputs) { in.Scales = nil }},
		{"no kettle", CodeNoFire, func(in *Inputs) { in.Kettle = nil }},
		{"too hot for the heat's models", CodeOutside, func(in *Inputs) { in.End = End{BoilTo: 164} }},
	} {
		if hasCaution(predict(t, fruit(t)).Cautions, string(tt.code)) {
			t.Errorf("%s: said without it", tt.name)
		}
		in := fruit(t)
		tt.set(&in)
		if !hasCaution(predict(t, in).Cautions, string(tt.code)) {
			t.Errorf("%s: not said", tt.name)
		}
	}
	// A copper pan lined with stainless steel is quiet even with acid and untested:
	// the sugar touches nothing that could hurt.
	in := fruit(t)
	in.Kettle.Material, in.Kettle.Lining, in.Kettle.Tested = rig.Copper, rig.Stainless, rig.Test{}
	in.Charge.Lines = append(in.Charge.Lines, Line{doctor, 0.01})
	r := predict(t, in)
	if hasCaution(r.Cautions, string(caution.AcidOnCopper)) || hasCaution(r.Cautions, string(caution.OldMetal)) {
		t.Error("a lined pan is cautioned as bare copper")
	}
	// Of every material the pan says what the room's own rule says.
	for _, m := range rig.Materials() {
		in := fruit(t)
		in.Kettle.Material, in.Kettle.Lining, in.Kettle.Tested = m, "", rig.Test{}
		if got := hasCaution(predict(t, in).Cautions, string(caution.OldMetal)); got != m.AsksTest() {
			t.Errorf("an untested pan of %s: a test is asked for: %v", m, got)
		}
	}
	// Inversion is computed along the course of a fire, and never left unsaid.
	for name, kettle := range map[string]*rig.Kettle{"with a fire": pan(), "without a kettle": nil} {
		in := fruit(t)
		in.Kettle = kettle
		r := predict(t, in)
		if computed := r.InvertFrac != nil; computed != (kettle != nil) || computed == hasCaution(r.Cautions, string(CodeInvert)) {
			t.Errorf("%s: inversion is computed %v, and said to be missing %v", name, computed, !computed)
		}
	}
}
