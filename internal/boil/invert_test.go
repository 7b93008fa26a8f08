package boil

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/ingredient"
	"slabside/internal/inversion"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// tartarBoil is 14 lb of sugar with a quarter of an ounce of cream of tartar, boiled
// to 300 °F (barley sugar; source key guide1896), in a usual pan.
func tartarBoil(t testing.TB) Inputs {
	t.Helper()
	water := q.Kilograms(2.27)
	k := pan()
	k.LeastCharge, k.Volume = 1, 40
	return Inputs{Recipe: "tartar", Batch: "tartar:1", Charge: raw(t, Raw{Sugar: 14 * q.KilogramsPerPound, Tartar: 0.25 * q.KilogramsPerOunce, Water: &water}),
		End: End{BoilTo: fahrenheit(300)}, Room: seaRoom(), Kettle: k}
}

// The tartar boils of the old books come within the band that such a boil is said to
// be sound in, 8 to 20 % of invert (common practice, no source), with their ranges:
// barley sugar, plain taffy and acid drops, to 14 lb of sugar (source key guide1896).
func TestInvert_OldTartarBoils(t *testing.T) {
	t.Parallel()
	for _, old := range []struct {
		name   string
		ounces float64
		end    float64 // °F
	}{{"barley sugar", 0.25, 300}, {"plain taffy", 0.5, 310}, {"acid drops", 0.75, 305}} {
		in := tartarBoil(t)
		in.Charge.Lines[len(in.Charge.Lines)-1].Mass = q.Kilograms(old.ounces) * q.KilogramsPerOunce
		in.End = End{BoilTo: fahrenheit(old.end)}
		r := predict(t, in)
		v := r.InvertFrac
		t.Logf("%s: invert %.1f %% (%.1f-%.1f), %.0f min", old.name, v.Value*100, v.Low*100, v.High*100, r.LitS.Value/60)
		if v.High < InvertGrains || v.Low > InvertSticks {
			t.Errorf("%s: %.1f to %.1f %% of invert", old.name, v.Low*100, v.High*100)
		}
		if v.Basis != q.Estimated || !hasCaution(r.Cautions, inversion.CodeUnchecked) {
			t.Errorf("%s: nobody is told that no measurement checks it", old.name)
		}
	}
}

// What inverts is the integral of the rate along the boil that the plan itself shows
// and along the slab after it, summed here step by step from the exported rate and pH.
func TestInvert_IsTheIntegralAlongTheCourse(t *testing.T) {
	t.Parallel()
	in := tartarBoil(t)
	in.Room.WaterAlkalinity = 150
	p := prepare(t, in)
	c, err := p.Course()
	if err != nil {
		t.Fatal(err)
	}
	sucrose, water := float64(in.Charge.Lines[0].Mass), 2.27
	last := in.Charge.Lines[len(in.Charge.Lines)-1]
	tartar := float64(last.Mass) * float64(last.Ingredient.Solids)
	bath := inversion.Bath{Doses: []inversion.Dose{{Acid: inversion.CreamOfTartar(), Mass: q.Kilograms(tartar)}},
		Alkali: (water*150/50.04 + sucrose*0.35) / 1000}
	end := c.Points[len(c.Points)-1]
	points := append(c.Points, Point{AtS: end.AtS + 240, TempC: 90, WaterFrac: end.WaterFrac, MassKg: end.MassKg})
	sum := 0.0
	for i := 1; i < len(points); i++ {
		const parts = 50
		for j := range parts {
			at := points[i-1].toward(points[i], (float64(j)+0.5)/parts)
			ph, err := bath.PH(q.Kilograms(at.WaterFrac * at.MassKg))
			if err != nil {
				t.Fatal(err)
			}
			k, err := inversion.Rate(q.Celsius(at.TempC), ph, sugar.Mix(sugar.Solids{}, q.Fraction(at.WaterFrac)))
			if err != nil {
				t.Fatal(err)
			}
			sum += k * (points[i].AtS - points[i-1].AtS) / parts
		}
	}
	if got := p.inverting.out.Exposure; math.Abs(got/sum-1) > 0.005 {
		t.Errorf("an exposure of %.4f, summed along the course %.4f", got, sum)
	}
}

// More acid inverts more, and so does a longer boil; alkali in the water and what is
// neutralised of the acid take from it; all of that lowers what the sweet stands up to
// or raises it, and no mass is lost.
func TestInvert_Order(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		acid := rapid.SampledFrom(ingredient.Acids()).Draw(t, "acid")
		grams := rapid.Float64Range(1, 25).Draw(t, "grams")
		power := rapid.Float64Range(0.5, 2).Draw(t, "power")
		lime := rapid.Float64Range(1, 200).Draw(t, "mg/L")
		end := rapid.Float64Range(135, 152).Draw(t, "boiled to")
		plan := func(turn func(in *Inputs, acid *Line)) *Plan {
			water := q.Kilograms(2.3)
			c, err := Raw{Sugar: 6.4, Water: &water, Tartar: q.Kilograms(grams / 1000)}.Charge()
			if err != nil {
				t.Fatal(err)
			}
			last := &c.Lines[len(c.Lines)-1]
			last.Ingredient.Acid = acid
			in := Inputs{Charge: c, End: End{BoilTo: q.Celsius(end)}, Room: seaRoom(), Kettle: pan()}
			in.Kettle.Volume, in.Kettle.LeastCharge = 40, 1
			in.Kettle.Burner *= q.Watts(power)
			in.Room.WaterAlkalinity = lime
			turn(&in, last)
			p, err := Prepare(in)
			if err != nil {
				t.Fatal(err)
			}
			if p.inverting == nil {
				t.Fatalf("inversion is not computed: %v", p.invertErr)
			}
			b := p.nominal
			if in, out := b.In, b.WaterOff+b.Flashed+b.Smear+b.finished(); math.Abs(in-out) > 1e-12*in {
				t.Fatalf("%.15g kg in, %.15g out", in, out)
			}
			return p
		}
		glass := func(p *Plan) float64 {
			g, err := sugar.GlassTransition(p.nominal.whole().phaseMixture())
			if err != nil {
				t.Fatal(err)
			}
			return float64(g)
		}
		base := plan(func(*Inputs, *Line) {})
		const rounding = 1e-7
		for _, c := range []struct {
			name string
			more float64 // +1 inverts more, −1 less
			turn func(in *Inputs, acid *Line)
		}{
			{"more acid", 1, func(_ *Inputs, l *Line) { l.Mass *= 1.3 }},
			{"a slower boil", 1, func(in *Inputs, _ *Line) { in.Kettle.Burner *= 0.8 }},
			{"harder water", -1, func(in *Inputs, _ *Line) { in.Room.WaterAlkalinity += 80 }},
			{"a buffered acid", -1, func(_ *Inputs, l *Line) { l.Ingredient.Neutralised = 0.2 }},
		} {
			p := plan(c.turn)
			if by := c.more * (p.inverting.out.Exposure - base.inverting.out.Exposure); by < -rounding {
				t.Fatalf("%s: an exposure of %.8f, before %.8f", c.name, p.inverting.out.Exposure, base.inverting.out.Exposure)
			}
			// Acid is itself counted as sugar in what a sweet stands up to.
			if by := c.more * (glass(base) - glass(p)); by < -0.05 {
				t.Fatalf("%s: stands up to %.4f °C, before %.4f", c.name, glass(p), glass(base))
			}
		}
	})
}

// Without acid next to nothing inverts, whatever the water, and nobody is bothered
// with it; with a trace of acid all of it is said.
func TestInvert_Plain(t *testing.T) {
	t.Parallel()
	codes := []string{inversion.CodeUnchecked, string(CodeInvertTime), string(CodeWaterUnknown)}
	for _, lime := range []float64{0, 1, 400} {
		in := tartarBoil(t)
		in.Charge.Lines = in.Charge.Lines[:len(in.Charge.Lines)-1]
		in.Room.WaterAlkalinity = lime
		r := predict(t, in)
		if v := r.InvertFrac; v.Value > 0.015 || v.High > 0.05 || v.Low < 0.0005 {
			t.Errorf("%g mg/L: %.2f %% of invert (%.2f to %.2f)", lime, v.Value*100, v.Low*100, v.High*100)
		}
		for _, code := range codes {
			if hasCaution(r.Cautions, code) {
				t.Errorf("%g mg/L, no acid: %s is said", lime, code)
			}
		}
	}
	in := tartarBoil(t)
	in.Charge.Lines[len(in.Charge.Lines)-1].Mass = 0.0003
	r := predict(t, in)
	for _, code := range codes {
		if !hasCaution(r.Cautions, code) {
			t.Errorf("0.3 g of tartar: %s is not said", code)
		}
	}
}

// A water that was read off the report narrows the range, and ends the caution.
func TestInvert_KnownWater(t *testing.T) {
	t.Parallel()
	in := tartarBoil(t)
	unknown := predict(t, in)
	in.Room.WaterAlkalinity = rig.UsualAlkalinity
	known := predict(t, in)
	if math.Abs(known.InvertFrac.Value-unknown.InvertFrac.Value) > 1e-12 {
		t.Errorf("the usual water: %.6f, unknown %.6f", known.InvertFrac.Value, unknown.InvertFrac.Value)
	}
	if !(width(*known.InvertFrac) < 0.97*width(*unknown.InvertFrac)) {
		t.Errorf("known water %.4f wide, unknown %.4f", width(*known.InvertFrac), width(*unknown.InvertFrac))
	}
	if hasCaution(known.Cautions, string(CodeWaterUnknown)) {
		t.Error("a water on file is said to be unknown")
	}
}

// What five minutes more are said to invert is what a fire that takes them does.
func TestInvert_FiveMinutes(t *testing.T) {
	t.Parallel()
	base := prepare(t, tartarBoil(t))
	want := base.inverting.moreBy(300)
	low, high := 0.5, 1.0 // of the burner
	var slow *Plan
	for range 40 {
		in := tartarBoil(t)
		mid := (low + high) / 2
		in.Kettle.Burner *= q.Watts(mid)
		if slow = prepare(t, in); slow.inverting.litS > base.inverting.litS+300 {
			low = mid
		} else {
			high = mid
		}
	}
	got := float64(slow.inverting.out.Inverted - base.inverting.out.Inverted)
	if math.Abs(got/want-1) > 0.15 {
		t.Errorf("five minutes more are said to invert %.2f points, a smaller fire inverts %.2f", want*100, got*100)
	}
}

// An acid counts as what it is, neutralised as far as it is; what is no acid never.
func TestInvert_Acids(t *testing.T) {
	t.Parallel()
	with := func(in ingredient.Ingredient) []inversion.Dose {
		b := tartarBoil(t)
		in.ID, in.Solids = "x", 0.5
		b.Charge.Lines = append(b.Charge.Lines, Line{in, 0.010})
		return prepare(t, b).inverting.boil.Bath.Doses
	}
	own := float64(prepare(t, tartarBoil(t)).inverting.boil.Bath.Doses[0].Mass)
	if d := with(ingredient.Ingredient{Kind: ingredient.Doctor}); len(d) != 1 || math.Abs(float64(d[0].Mass)-0.005-own) > 1e-12 {
		t.Errorf("two lots of tartar: %+v", d)
	}
	for _, c := range []struct {
		in   ingredient.Ingredient
		want inversion.Dose
	}{
		{ingredient.Ingredient{Kind: ingredient.Acid}, inversion.Dose{Acid: inversion.Citric(), Mass: 0.005}},
		{ingredient.Ingredient{Kind: ingredient.Acid, Acid: ingredient.Lactic, Neutralised: 0.4}, inversion.Dose{Acid: inversion.Lactic(), Mass: 0.005, Neutralised: 0.4}},
		{ingredient.Ingredient{Kind: ingredient.Salt, Acid: ingredient.Citric, Neutralised: 1}, inversion.Dose{Acid: inversion.Citric(), Mass: 0.005, Neutralised: 1}},
		{ingredient.Ingredient{Kind: ingredient.Doctor, Neutralised: 0.1, Acid: ingredient.CreamOfTartar}, inversion.Dose{Acid: inversion.CreamOfTartar(), Mass: 0.005, Neutralised: 0.1}},
	} {
		if d := with(c.in); len(d) != 2 || d[1] != c.want {
			t.Errorf("%+v: %+v", c.in, d)
		}
	}
	for _, in := range []ingredient.Ingredient{{Kind: ingredient.Salt}, {Kind: ingredient.Extract, Acid: ingredient.Malic}} {
		if d := with(in); len(d) != 1 {
			t.Errorf("%+v sours the boil: %+v", in, d)
		}
	}
}

// A boil that is too hot or too weak for its time to be known says why nothing is
// known of its invert sugar either.
func TestInvert_NoTime(t *testing.T) {
	t.Parallel()
	// Too hot when inverted, and too hot at once.
	for _, water := range []q.Fraction{0.0083, 0.005} {
		in := tartarBoil(t)
		in.End = End{WaterLeft: water}
		r := predict(t, in)
		if r.InvertFrac != nil {
			t.Errorf("%g of water: %.1f %% of invert", float64(water), r.InvertFrac.Value*100)
		}
		if !hasCaution(r.Cautions, string(CodeInvert)) {
			t.Errorf("%g of water: that it is not computed is not said", float64(water))
		}
		for _, c := range r.Cautions {
			if c.Code == CodeInvert && !strings.Contains(c.Text, "range of the model") {
				t.Errorf("%g of water: the heat's models end, and it says %q", float64(water), c.Text)
			}
		}
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
	for code, want := range map[string]float64{string(CodeInvertLow): InvertGrains, string(CodeInvertHigh): InvertSticks} {
		low, high := 0.05, 5.0
		for range 30 { // the dose at which it is just there
			if mid := math.Sqrt(low * high); at(mid).InvertFrac.Value < want {
				low = mid
			} else {
				high = mid
			}
		}
		under, over := at(low*0.99), at(low*1.01)
		// The verdicts say it beside the boil's figures, so it is no caution of the boil.
		if hasCaution(under.Cautions, code) || hasCaution(over.Cautions, code) {
			t.Errorf("%s is said twice", code)
		}
		if hasCaution(under.Band, code) == hasCaution(over.Band, code) {
			t.Errorf("%s does not turn at %.0f %%: %.3f and %.3f %%", code, want*100, under.InvertFrac.Value*100, over.InvertFrac.Value*100)
		}
	}
	if r := predict(t, fruit(t)); len(r.Band) > 0 {
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
