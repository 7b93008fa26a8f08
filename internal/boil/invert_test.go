package boil

import (
	"math"
	"testing"

	"slabside/internal/ingredient"
	"slabside/internal/inversion"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// tartarBoil is 14 lb of sugar with a quarter of an ounce of cream of tartar, boiled
// to 300 °F (source key guide1896), in a usual pan.
func tartarBoil(t testing.TB) Inputs {
	t.Helper()
	water := q.Kilograms(2.27)
	k := pan()
	k.LeastCharge, k.Volume = 1, 40
	return Inputs{Recipe: "tartar", Batch: "tartar:1", Charge: raw(t, Raw{Sugar: 14 * q.KilogramsPerPound, Tartar: 0.25 * q.KilogramsPerOunce, Water: &water}),
		End: End{BoilTo: fahrenheit(300)}, Room: seaRoom(), Kettle: k}
}

// A tartar boil of the old books comes within the band that such a boil is said to
// be sound in, 8 to 20 % of invert (common practice, no source), with its range.
func TestInvert_TartarBoil(t *testing.T) {
	t.Parallel()
	r := predict(t, tartarBoil(t))
	v := r.InvertFrac
	t.Logf("invert %.1f %% (%.1f-%.1f), %.0f min", v.Value*100, v.Low*100, v.High*100, r.LitS.Value/60)
	if v.High < 0.08 || v.Low > 0.20 {
		t.Errorf("%.1f to %.1f %% of invert", v.Low*100, v.High*100)
	}
	if !hasCaution(r.Cautions, inversion.CodeUnchecked) {
		t.Error("nobody is told that no measurement checks it")
	}
}

// What makes a boil invert more: acid, time, soft water; each also lowers what the
// sweet stands up to.
func TestInvert_Laws(t *testing.T) {
	t.Parallel()
	base := predict(t, tartarBoil(t))
	for name, c := range map[string]struct {
		spoil func(*Inputs)
		more  bool
	}{
		"twice the tartar":   {func(in *Inputs) { in.Charge.Lines[len(in.Charge.Lines)-1].Mass *= 2 }, true},
		"half the fire":      {func(in *Inputs) { in.Kettle.Burner /= 2 }, true},
		"water without lime": {func(in *Inputs) { in.Room.WaterAlkalinity = 1 }, true},
		"hard water":         {func(in *Inputs) { in.Room.WaterAlkalinity = 300 }, false},
		"twice the fire":     {func(in *Inputs) { in.Kettle.Burner *= 2 }, false},
		"no tartar":          {func(in *Inputs) { in.Charge.Lines = in.Charge.Lines[:len(in.Charge.Lines)-1] }, false},
		"a cooler end":       {func(in *Inputs) { in.End = End{BoilTo: fahrenheit(285)} }, false},
		"tartaric for tartar": {func(in *Inputs) {
			in.Charge.Lines[len(in.Charge.Lines)-1].Ingredient.Acid = ingredient.Tartaric
		}, true},
	} {
		in := tartarBoil(t)
		c.spoil(&in)
		r := predict(t, in)
		if more := r.InvertFrac.Value > base.InvertFrac.Value; more != c.more {
			t.Errorf("%s: %.2f %% of invert, before %.2f", name, r.InvertFrac.Value*100, base.InvertFrac.Value*100)
		}
		if lower := r.GlassC.Value < base.GlassC.Value; name != "a cooler end" && lower != c.more {
			t.Errorf("%s: stands up to %.2f °C, before %.2f", name, r.GlassC.Value, base.GlassC.Value)
		}
	}
}

// The water that sugar takes in when it inverts is no longer there to boil off: the
// mass in the kettle is that of the dry matter with it, to the last digit.
func TestInverted_Mass(t *testing.T) {
	t.Parallel()
	m := Makeup{Sucrose: 6, Syrup: 1, SyrupDE: 42, Water: 2, Invert: 0.1}
	for _, share := range []float64{0, 0.1, 0.5, 1} {
		n := m.Inverted(share)
		if math.Abs(n.Mass()-m.Mass()) > 1e-12 || math.Abs(n.Sucrose-6*(1-share)) > 1e-12 {
			t.Errorf("%g: %+v of %+v", share, n, m)
		}
		if grown := (n.Invert - 0.1) / (m.Sucrose - n.Sucrose); share > 0 && math.Abs(grown-360.32/342.30) > 1e-9 {
			t.Errorf("%g: a kilogram of sucrose makes %.6f kg of invert", share, grown)
		}
	}
	if n := (Makeup{Sucrose: 1, Water: 0.01}).Inverted(1); n.Water < -1e-15 {
		t.Errorf("more water was taken in than there was: %+v", n)
	}
}

// A boil doctored by acid alone is told where it leaves the band of 8 to 20 %, one
// percent of the acid to either side of where it does; one with syrup never.
func TestInvert_Band(t *testing.T) {
	t.Parallel()
	at := func(share float64) Result {
		in := tartarBoil(t)
		in.Charge.Lines[len(in.Charge.Lines)-1].Mass *= q.Kilograms(share)
		return predict(t, in)
	}
	for code, want := range map[string]float64{string(CodeInvertLow): invertGrains, string(CodeInvertHigh): invertSticks} {
		low, high := 0.05, 5.0
		for range 30 { // the dose at which it is just there
			if mid := math.Sqrt(low * high); at(mid).InvertFrac.Value < want {
				low = mid
			} else {
				high = mid
			}
		}
		under, over := at(low*0.99), at(low*1.01)
		if hasCaution(under.Cautions, code) == hasCaution(over.Cautions, code) {
			t.Errorf("%s does not turn at %.0f %%: %.3f and %.3f %%", code, want*100, under.InvertFrac.Value*100, over.InvertFrac.Value*100)
		}
	}
	if r := predict(t, fruit(t)); hasCaution(r.Cautions, string(CodeInvertLow)) || hasCaution(r.Cautions, string(CodeInvertHigh)) {
		t.Error("a boil with syrup is judged by its invert sugar")
	}
}

// The plan's figure is what the inversion says of the plan's own course, and a
// second look changes nothing: the two have settled.
func TestInvert_Settled(t *testing.T) {
	t.Parallel()
	p := prepare(t, tartarBoil(t))
	before := p.nominal.whole()
	if err := p.work(); err != nil {
		t.Fatal(err)
	}
	again, err := p.invert()
	if err != nil {
		t.Fatal(err)
	}
	if d := again.out.Exposure - p.inverting.out.Exposure; math.Abs(d) > 1e-5 {
		t.Errorf("an exposure of %.9f, at a second look %.9f", p.inverting.out.Exposure, again.out.Exposure)
	}
	share := func(m Makeup) float64 {
		was := m.Invert * 342.30 / 360.32
		return was / (was + m.Sucrose)
	}
	if got, want := share(before), float64(again.out.Inverted); math.Abs(got-want) > 2e-5 {
		t.Errorf("on the slab %.9f of the sucrose is inverted, the course says %.9f", got, want)
	}
	if got, all := share(p.nominal.Lift), share(p.nominal.whole()); !(got < all && got > 0.8*all) {
		t.Errorf("%.4f in the kettle, %.4f with the slab", got, all)
	}
	if lift, slab := p.nominal.Lift.WaterFrac(), p.nominal.whole().WaterFrac(); !(slab < lift) {
		t.Errorf("%.5f of water at the lift, %.5f on the slab, which inverts on", lift, slab)
	}
	// An acid that is folded in on the slab is not in the boil.
	in := tartarBoil(t)
	in.Additions = []Dose{{ingredient.Ingredient{ID: "citric", Kind: ingredient.Acid, Solids: 1}, recipe.AtFold, 0.01, ""}}
	if folded := prepare(t, in); math.Abs(folded.inverted()-p.inverted()) > 1e-3 {
		t.Errorf("acid folded in moves it from %.5f to %.5f", p.inverted(), folded.inverted())
	}
	// What cannot be computed is said, and the rest stands.
	in = tartarBoil(t)
	in.Room.WaterAlkalinity = 5000
	r := predict(t, in)
	if r.InvertFrac != nil || !hasCaution(r.Cautions, string(CodeInvert)) || r.WaterFrac.Value <= 0 {
		t.Errorf("water of the Dead Sea: invert %v", r.InvertFrac)
	}
}
