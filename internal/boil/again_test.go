package boil

import (
	"math"
	"testing"

	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

func cookedBack(t *testing.T, in Inputs, share q.Fraction) Result {
	t.Helper()
	in.CookBack = share
	return predict(t, in)
}

// Where little is inverted a row of boils inverts 1/(1−r) times as much: 1.11 times at
// 10 %, 1.25 at 20 % (worked apart from this program, source key arithmetic); the sugar has
// been boiled again r/(1−r) times.
func TestCookBack_Times(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	in.Additions = nil // no acid comes back
	base := predict(t, in)
	for share, want := range map[q.Fraction]float64{0.10: 1.11, 0.20: 1.25} {
		r := cookedBack(t, in, share)
		c := r.CookedBack
		if math.Abs(c.Times.Value-want) > 0.01 || math.Abs(c.Reboils-(want-1)) > 0.005 || c.AcidKg != 0 {
			t.Errorf("%g: %+v times, boiled again %.3f times", float64(share), c.Times, c.Reboils)
		}
		if got := r.InvertFrac.Value / base.InvertFrac.Value; math.Abs(got-want) > 0.02 {
			t.Errorf("%g: invert %.3f times", float64(share), got)
		}
	}
}

// Late in a row a boil is like the one before it: boiled one after the other, by hand,
// the shares inverted come to what the plan says.
func TestCookBack_IsTheRow(t *testing.T) {
	t.Parallel()
	in := tartarBoil(t)
	in.CookBack = 0.2
	p := prepare(t, in)
	once := gone(p.inverting.out.Exposure)
	s := once
	for range 60 {
		s = 1 - (1-once)*(1-0.2*s)
	}
	if got := both(p.inverted(), p.slabInverted()); math.Abs(got-s) > 2e-5 {
		t.Errorf("late in the row %.6f is inverted, one after the other %.6f", got, s)
	}
	r := predict(t, in)
	// One boil of fresh sugar is a little shorter or longer than one of the row.
	if got := s / once; math.Abs(got/r.CookedBack.Times.Value-1) > 0.01 {
		t.Errorf("%.6f times, said %.6f", got, r.CookedBack.Times.Value)
	}
	if !(r.CookedBack.Times.Low < r.CookedBack.Times.Value && r.CookedBack.Times.Value < r.CookedBack.Times.High) {
		t.Errorf("no range: %+v", r.CookedBack.Times)
	}
}

// Nothing cooked back changes nothing; more of it inverts more, stands up to less and
// grains less; the draws say the same as the middle.
func TestCookBack_Laws(t *testing.T) {
	t.Parallel()
	in := tartarBoil(t)
	base := predict(t, in)
	if base.CookedBack != nil || hasCaution(base.Cautions, string(caution.CookBack)) {
		t.Error("cook-back is spoken of without any")
	}
	tiny := cookedBack(t, in, 1e-9)
	if math.Abs(tiny.InvertFrac.Value-base.InvertFrac.Value) > 1e-6 || math.Abs(tiny.InvertFrac.High-base.InvertFrac.High) > 1e-6 || math.Abs(tiny.CookedBack.Times.Value-1) > 1e-6 {
		t.Errorf("next to nothing: %+v, none %+v", tiny.InvertFrac, base.InvertFrac)
	}
	before := base
	for _, share := range []q.Fraction{0.05, 0.1, 0.2, 0.4} {
		r := cookedBack(t, in, share)
		if !(r.InvertFrac.Value > before.InvertFrac.Value && r.InvertFrac.Low > before.InvertFrac.Low && r.InvertFrac.High > before.InvertFrac.High) || !(r.GlassC.Value < before.GlassC.Value) {
			t.Errorf("%g: invert %+v, stands up to %+v; of less %+v and %+v", float64(share), r.InvertFrac, r.GlassC, before.InvertFrac, before.GlassC)
		}
		if bound := 1 / (1 - float64(share)); !(r.CookedBack.Times.High <= bound*1.01) {
			t.Errorf("%g: %+v times, never more than %.3f", float64(share), r.CookedBack.Times, bound)
		}
		if math.Abs(r.SolidsKg.Value/base.SolidsKg.Value-1) > 0.02 {
			t.Errorf("%g: %.4f kg of dry matter, fresh %.4f", float64(share), r.SolidsKg.Value, base.SolidsKg.Value)
		}
		before = r
	}
	in.CookBack = 1
	if _, err := Prepare(in); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a charge of cook-back alone: %v", err)
	}
	in.Kettle = nil
	if r := cookedBack(t, in, 0.1); r.CookedBack.Times != nil || r.InvertFrac != nil || !hasCaution(r.Cautions, string(CodeInvert)) {
		t.Errorf("without a fire %+v", r.CookedBack)
	}
}

// Acid that was folded in comes back into the boil, r/(1−r) of it, and inverts there.
func TestCookBack_Acid(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	sour := cookedBack(t, in, 0.1)
	dose := 0.0
	for _, w := range sour.Weighings {
		if w.Ingredient == "citric" {
			dose = float64(w.Target)
		}
	}
	if got := sour.CookedBack.AcidKg; math.Abs(got/(dose/9)-1) > 1e-9 {
		t.Errorf("%.5f kg of acid come back of %.5f", got, dose)
	}
	// 1.312 g of bicarbonate a gram of citric acid, 1.119 of tartaric, 1.253 of malic (worked
	// apart from this program from molar masses, source key arithmetic); a salt takes none.
	for acid, want := range map[ingredient.Sour]float64{ingredient.Citric: 1.312, ingredient.Tartaric: 1.119, ingredient.Malic: 1.253} {
		in.Additions[2].Ingredient.Acid = acid
		if c := cookedBack(t, in, 0.1).CookedBack; math.Abs(c.BicarbonateKg/c.AcidKg-want) > 6e-4 {
			t.Errorf("%s: %.4f g of bicarbonate a gram, want %.3f", acid, c.BicarbonateKg/c.AcidKg, want)
		}
	}
	in.Additions[2].Ingredient.Neutralised = 1
	if c := cookedBack(t, in, 0.1).CookedBack; c.BicarbonateKg != 0 {
		t.Errorf("a salt takes %.4f kg of bicarbonate", c.BicarbonateKg)
	}
	// It is held against a boil of fresh sugar, which has no acid in it.
	if times := sour.CookedBack.Times; !(times.Low > 3) {
		t.Errorf("with acid it inverts %+v times", times)
	}
	in.Additions = in.Additions[:2]
	if plain := cookedBack(t, in, 0.1); !(sour.InvertFrac.Value > 3*plain.InvertFrac.Value) || plain.CookedBack.AcidKg != 0 {
		t.Errorf("with acid %+v of invert, without %+v", sour.InvertFrac, plain.InvertFrac)
	}
	if !sour.Doctored || predict(t, fruit(t)).Doctored {
		t.Error("whether anything inverts in the kettle")
	}
}

// The cautions of cook-back: always how, above 10 % the cap (source key practice), the acid
// where there is some, bare copper as under any acid.
func TestCookBack_Cautions(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	has := func(share q.Fraction, code caution.Code) bool {
		return hasCaution(cookedBack(t, in, share).Cautions, string(code))
	}
	if !has(0.05, caution.CookBack) || !has(0.05, caution.CookBackAllergens) || !has(0.05, CodeCookBackAcid) {
		t.Error("how cook-back is done is not said")
	}
	if has(CookBackMost*0.99, CodeCookBackMost) || !has(CookBackMost*1.01, CodeCookBackMost) {
		t.Error("the cap does not turn at 10 %")
	}
	in.Kettle.Material = rig.Copper
	if has(0, caution.AcidOnCopper) || !has(0.05, caution.AcidOnCopper) {
		t.Error("acid that comes back into bare copper")
	}
	in.Additions = []Dose{{ingredient.Ingredient{ID: "dye", Kind: ingredient.Colour, Solids: 0.1}, recipe.AtEnd, 0.001, ""}}
	if has(0.05, CodeCookBackAcid) || has(0.05, caution.AcidOnCopper) {
		t.Error("acid is spoken of without any")
	}
}
