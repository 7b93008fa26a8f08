package boil

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// dosed is a boil of syrup and sugar with one addition and nothing else.
func dosedWith(t testing.TB, d Dose) Inputs {
	t.Helper()
	in := fruit(t)
	in.Additions, in.Portions, in.Scales = []Dose{d}, nil, nil
	return in
}

func only(t *testing.T, in Inputs) Addition {
	t.Helper()
	list := predict(t, in).Additions
	if len(list) != 1 {
		t.Fatalf("%d additions", len(list))
	}
	return list[0]
}

func colour(solids q.Fraction) ingredient.Ingredient {
	return ingredient.Ingredient{ID: "dye", Name: "dye", Kind: ingredient.Colour, Solids: solids}
}

// The worked figures of a watery colour that stays in: 5 ml/kg of 95 % of water add 0.47
// points and take about 4 °C, 10 ml/kg 0.95 and 8 °C. Worked apart from this program:
// ml/kg × share of water ÷ 10 (source key arithmetic), and some 8 °C a point by the
// glass transition of 60:40 sugar and syrup at 2 to 3 % of water, 49–51 and 40–43 °C
// (source key kawai2019 for where plain drops lie). "About" is taken as a fifth.
func TestAddition_WateryColour(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ dose, points, kelvins float64 }{{0.005, 0.47, 4}, {0.010, 0.95, 8}} {
		a := only(t, dosedWith(t, Dose{colour(0.05), recipe.AtFold, q.Fraction(c.dose), ""}))
		if got := 100 * a.BroughtFrac.Value; math.Abs(got-c.points) > 0.0051 {
			t.Errorf("%g: %.4f points, want %.2f", c.dose, got, c.points)
		}
		if a.FlashedFrac.High != 0 || a.LeftFrac != a.BroughtFrac {
			t.Errorf("%g: folded in, %+v of %+v flashes off", c.dose, a.FlashedFrac, a.BroughtFrac)
		}
		if got := a.SoftensK.Value; math.Abs(got/c.kelvins-1) > 0.2 {
			t.Errorf("%g: %.2f K less, want about %.0f", c.dose, got, c.kelvins)
		}
		if !(a.SoftensK.Low < a.SoftensK.Value && a.SoftensK.Value < a.SoftensK.High) {
			t.Errorf("%g: no range, %+v", c.dose, a.SoftensK)
		}
	}
}

// What the whole mass sharing its heat flashes off, worked by hand: at 150 °C the boiling
// curve falls by 5.1 K a point of water, the mass gives 2.5 kJ/kgK and a kilogram of
// water takes 2.3 MJ and what warms it from the room. The hand's slope is that of
// one point; the curve bends over more.
func TestFlash_SharedByHand(t *testing.T) {
	t.Parallel()
	const slope, cp, latent, water = 510, 2.5, 2300, 4.19 // K, kJ/kgK, kJ/kg, kJ/kgK
	for _, dose := range []float64{0.001, 0.003, 0.006} {
		in := dosedWith(t, Dose{colour(0), recipe.AtEnd, q.Fraction(dose), ""})
		p := prepare(t, in)
		// cp slope (1−f) = water (150 − 20) + latent f
		want := (cp*slope - water*130) / (latent + cp*slope)
		got := p.flash[0].WaterLow
		if math.Abs(got-want) > 0.05 {
			t.Errorf("%g kg/kg: at least %.3f flashes off, by hand %.3f", dose, got, want)
		}
		if p.flash[0].WaterHigh != 1 {
			t.Errorf("%g kg/kg: at most %.3f, the heat above 100 °C drives off some 50 g/kg", dose, p.flash[0].WaterHigh)
		}
	}
	// More than the heat above the boiling point of water can drive off is not driven off:
	// (2.5 × 50 K − warming 4.19 × 80) kJ/kg against 2257 (source key iapws-if97).
	in := dosedWith(t, Dose{colour(0), recipe.AtEnd, 0.10, ""})
	p := prepare(t, in)
	m := 0.10 / 0.90 // about: a tenth of what is finished
	if got, want := p.flash[0].WaterHigh, (2.5*50/m-4.19*80)/2257; math.Abs(got/want-1) > 0.15 {
		t.Errorf("of a tenth of water at most %.3f flashes off, by hand %.3f", got, want)
	}
	// A room at 25 °C loses less heat to warming the colour than one at 5 °C.
	cold := in
	cold.Room.Air = 20
	in.Room.Air = 40
	if warm := prepare(t, in); !(warm.flash[0].WaterHigh > prepare(t, cold).flash[0].WaterHigh) {
		t.Error("a warm colour does not flash more")
	}
}

// At the pour the mass has cooled by 1 to 6 K (source key practice): a little water no
// longer brings it to the boil, so that none may leave, or all where it falls.
func TestFlash_Pour(t *testing.T) {
	t.Parallel()
	little, much := prepare(t, dosedWith(t, Dose{colour(0), recipe.AtPour, 0.002, ""})), prepare(t, dosedWith(t, Dose{colour(0), recipe.AtPour, 0.03, ""}))
	if little.flash[0].WaterLow != 0 || little.flash[0].WaterHigh != 1 || !(much.flash[0].WaterLow > 0) {
		t.Errorf("2 g/kg: %+v; 30 g/kg: %+v", little.flash[0], much.flash[0])
	}
	// Beyond the heat's models nothing is reckoned, and the range is the widest.
	hot := dosedWith(t, Dose{colour(0), recipe.AtEnd, 0.002, ""})
	hot.End, hot.Kettle = End{BoilTo: 164}, nil
	if p := prepare(t, hot); p.flash[0] != FlashAt(recipe.AtEnd) {
		t.Errorf("at 164 °C %+v", p.flash[0])
	}
}

// TestLaw_Additions: what is brought is what flashes off and what is left, all that
// flashes off the additions is what the boil has flashed off, nothing of nothing is
// brought, every figure lies in its range.
func TestLaw_Additions(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		in := anyBoil(rt)
		p, err := Prepare(in)
		if err != nil {
			rt.Fatal(err)
		}
		d, err := p.Simulate()
		if err != nil {
			rt.Fatal(err)
		}
		r, err := p.Result(d)
		if err != nil {
			rt.Fatal(err)
		}
		flashed := 0.0
		for i, a := range r.Additions {
			if math.Abs(a.BroughtFrac.Value-a.FlashedFrac.Value-a.LeftFrac.Value) > 1e-15 {
				rt.Errorf("%d: brought %v, flashed %v, left %v", i, a.BroughtFrac, a.FlashedFrac, a.LeftFrac)
			}
			for _, e := range []*q.Estimate{&a.DoseFrac, &a.BroughtFrac, &a.FlashedFrac, &a.LeftFrac, a.AtC, a.SoftensK, a.StirS, a.StaysFrac, a.InSweetFrac, a.DoseTimes} {
				if e != nil && !(e.Low <= e.Value && e.Value <= e.High) {
					rt.Errorf("%d: %+v lies outside its range", i, *e)
				}
			}
			if a.SoftensK != nil && (a.SoftensK.Value < -1e-12 || (a.SoftensK.Value > 0) != (a.LeftFrac.Value > 0)) {
				rt.Errorf("%d: %v of water left, %v K", i, a.LeftFrac.Value, a.SoftensK.Value)
			}
			if a.Stage == recipe.AtBoil {
				if a.LeftFrac.High != 0 || a.AtC != nil || a.StirS != nil || a.StaysFrac != nil {
					rt.Errorf("%d: in the boil %+v", i, a)
				}
				continue
			}
			of := r.FinishedKg.Value
			for _, portion := range r.Portions {
				if a.Portion != "" && portion.ID == a.Portion {
					of = portion.MassKg.Value
				}
			}
			flashed += a.FlashedFrac.Value * of
		}
		if math.Abs(flashed-r.FlashedKg.Value) > 1e-9*math.Max(1, flashed) {
			rt.Errorf("the additions flash %.12f kg, the boil %.12f", flashed, r.FlashedKg.Value)
		}
	})
}

// A boil twice as large brings and loses the same shares; a dose of nothing brings
// nothing; twice the dose leaves more and softens more.
func TestLaw_AdditionsScale(t *testing.T) {
	t.Parallel()
	with := func(dose float64, end End, times q.Kilograms) Addition {
		in := dosedWith(t, Dose{colour(0.1), recipe.AtEnd, q.Fraction(dose), ""})
		in.End, in.Kettle = end, nil
		for i := range in.Charge.Lines {
			in.Charge.Lines[i].Mass *= times
		}
		return only(t, in)
	}
	one := with(0.004, End{BoilTo: 150}, 1)
	two := with(0.004, End{BoilTo: 150}, 2)
	for i, pair := range [][2]float64{{one.BroughtFrac.Value, two.BroughtFrac.Value}, {one.FlashedFrac.Value, two.FlashedFrac.Value}, {one.SoftensK.Value, two.SoftensK.Value}} {
		if math.Abs(pair[0]/pair[1]-1) > 1e-9 {
			t.Errorf("%d: %.12g, twice as large %.12g", i, pair[0], pair[1])
		}
	}
	none := with(0, End{BoilTo: 150}, 1)
	if none.BroughtFrac.High != 0 || none.LeftFrac.High != 0 || none.SoftensK.High != 0 {
		t.Errorf("a dose of nothing: %+v", none)
	}
	before := with(0.002, End{BoilTo: 150}, 1)
	for _, dose := range []float64{0.004, 0.008, 0.016, 0.032} {
		a := with(dose, End{BoilTo: 150}, 1)
		if !(a.LeftFrac.Value > before.LeftFrac.Value && a.SoftensK.Value > before.SoftensK.Value && a.FlashedFrac.Value > before.FlashedFrac.Value) {
			t.Errorf("%g: %+v, of less %+v", dose, a, before)
		}
		before = a
	}
}

// TestLaw_FlashRises: of one mass and one addition the more flashes off the hotter the
// mass is and the warmer and the thinner the air, between nothing and all; the least
// never passes the most.
func TestLaw_FlashRises(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		water := rapid.Float64Range(0.015, 0.08).Draw(rt, "water")
		syrup := rapid.Float64Range(0, 0.5).Draw(rt, "syrup")
		h := hotMass{into: Makeup{Sucrose: 1 - syrup, Syrup: syrup, SyrupDE: 42 * syrup, Water: water / (1 - water)},
			cold:  Makeup{Water: rapid.Float64Range(1e-4, 0.1).Draw(rt, "brings"), Dissolved: rapid.Float64Range(0, 0.02).Draw(rt, "dye")},
			coldC: 20, press: q.Pascals(rapid.Float64Range(85e3, 101e3).Draw(rt, "pressure"))}
		at := q.Celsius(rapid.Float64Range(100, 155).Draw(rt, "at"))
		both := func(h hotMass, at q.Celsius) (float64, float64) {
			low, high, err := h.flashes(at, at)
			if err != nil {
				rt.Fatal(err)
			}
			if !(0 <= low && low <= high && high <= 1) {
				rt.Fatalf("from %g to %g flashes off", low, high)
			}
			return low, high
		}
		low, high := both(h, at)
		const slack = 1e-8
		hotLow, hotHigh := both(h, at+4)
		warm := h
		warm.coldC = 60
		warmLow, warmHigh := both(warm, at)
		thin := h
		thin.press -= 5000
		thinLow, _ := both(thin, at)
		if hotLow < low-slack || hotHigh < high-slack || warmLow < low-slack || warmHigh < high-slack || thinLow < low-slack {
			rt.Errorf("%g–%g; 4 K hotter %g–%g; 40 K warmer %g–%g; under 50 hPa less from %g", low, high, hotLow, hotHigh, warmLow, warmHigh, thinLow)
		}
	})
}

// What stays of an oil by its class (judgement of the trade: 0.8 of citrus, 0.85 of mint,
// 0.9 of cinnamon, clove and anise; source key practice), and the dose that follows.
func TestAddition_Oil(t *testing.T) {
	t.Parallel()
	oil := func(v ingredient.Volatile) ingredient.Ingredient {
		return ingredient.Ingredient{ID: "oil", Name: "oil", Kind: ingredient.Oil, Solids: 1, Volatile: v}
	}
	unknown := only(t, dosedWith(t, Dose{oil(""), recipe.AtFold, 0.001, ""}))
	for v, want := range map[ingredient.Volatile]float64{ingredient.Citrus: 0.8, ingredient.Mint: 0.85, ingredient.Spice: 0.9} {
		in := dosedWith(t, Dose{oil(v), recipe.AtFold, 0.001, ""})
		a := only(t, in)
		if a.StaysFrac.Value != want || math.Abs(a.InSweetFrac.Value/0.001-want) > 1e-3 || math.Abs(a.DoseTimes.Value*want-1) > 1e-12 {
			t.Errorf("%s: %+v stays, %+v in the sweet, weighed %+v times", v, a.StaysFrac, a.InSweetFrac, a.DoseTimes)
		}
		if !(width(*a.StaysFrac) < width(*unknown.StaysFrac)) {
			t.Errorf("%s: %+v is no surer than %+v", v, a.StaysFrac, unknown.StaysFrac)
		}
		if hasCaution(predict(t, in).Cautions, string(CodeVolatile)) {
			t.Errorf("%s: its class is asked for", v)
		}
		// Weighed for so much in the sweet, so much is in it.
		dose, ok := OilDose(oil(v), 700e-6)
		if !ok || math.Abs(dose.Value-700e-6/want) > 1e-12 || !(dose.Low < dose.Value && dose.Value < dose.High) {
			t.Fatalf("%s: dose %+v", v, dose)
		}
		in.Additions[0].Share = q.Fraction(dose.Value)
		if got := only(t, in).InSweetFrac; math.Abs(got.Value/700e-6-1) > 1e-3 {
			t.Errorf("%s: dosed for 700 mg/kg, %+v is in it", v, got)
		}
	}
	in := dosedWith(t, Dose{oil(""), recipe.AtFold, 0.001, ""})
	if !hasCaution(predict(t, in).Cautions, string(CodeVolatile)) {
		t.Error("that its class is not known is not said")
	}
	// Where it goes in too hot, nobody knows what stays.
	in.Additions[0].Ingredient, in.Additions[0].Stage = oil(ingredient.Mint), recipe.AtPour
	if a := only(t, in); a.StaysFrac != nil || a.InWindow {
		t.Errorf("at the pour %+v stays", a.StaysFrac)
	}
	if _, ok := OilDose(colour(0.1), 0.001); ok {
		t.Error("a colour is dosed as an oil")
	}
}

// The windows (source key practice): acid is warned of above 115 °C, oil above 110,
// watery colour that is folded in, flavour at the end of the boil. One percent either
// side where the limit is a figure.
func TestAddition_Window(t *testing.T) {
	t.Parallel()
	acid := ingredient.Ingredient{ID: "x", Name: "x", Kind: ingredient.Acid, Solids: 1}
	oil := ingredient.Ingredient{ID: "x", Name: "x", Kind: ingredient.Oil, Solids: 1, Volatile: ingredient.Mint}
	essence := ingredient.Ingredient{ID: "x", Name: "x", Kind: ingredient.Essence, Solids: 0.2, Spirit: 0.6}
	for name, c := range map[string]struct {
		in    ingredient.Ingredient
		stage recipe.Stage
		here  q.Celsius // true end of the boil
		out   bool
	}{
		"acid under 115":         {acid, recipe.AtEnd, 115 * 0.99, false},
		"acid over 115":          {acid, recipe.AtEnd, 115 * 1.01, true},
		"acid at a pour":         {acid, recipe.AtPour, 150, true},
		"acid folded in":         {acid, recipe.AtFold, 150, false},
		"acid in the boil":       {acid, recipe.AtBoil, 150, false}, // has a caution of its own
		"oil under 110":          {oil, recipe.AtEnd, 110 * 0.99, false},
		"oil over 110":           {oil, recipe.AtEnd, 110 * 1.01, true},
		"oil folded in":          {oil, recipe.AtFold, 150, false},
		"oil in the boil":        {oil, recipe.AtBoil, 150, false}, // has a caution of its own
		"a flavour at the end":   {essence, recipe.AtEnd, 150, true},
		"a flavour at the pour":  {essence, recipe.AtPour, 150, false},
		"a liquid at the end":    {colour(0.1), recipe.AtEnd, 150, false},
		"a liquid at the pour":   {colour(0.1), recipe.AtPour, 150, false},
		"a liquid folded in":     {colour(0.1), recipe.AtFold, 150, true},
		"a paste folded in":      {colour(0.5), recipe.AtFold, 150, true},
		"a powder folded in":     {colour(0.9), recipe.AtFold, 150, false},
		"salt at the end":        {ingredient.Ingredient{ID: "x", Kind: ingredient.Salt, Solids: 1}, recipe.AtEnd, 150, false},
		"butter at the end":      {ingredient.Ingredient{ID: "x", Kind: ingredient.Fat, Solids: 0.8}, recipe.AtEnd, 150, false},
		"a watery juice, folded": {ingredient.Ingredient{ID: "x", Kind: ingredient.Extract, Solids: 0.6}, recipe.AtFold, 150, true},
	} {
		in := dosedWith(t, Dose{c.in, c.stage, 0.001, ""})
		in.End, in.Kettle = End{Here: c.here}, nil
		in.Charge.Lines[2].Mass *= 2 // of water: a boil to 109 °C ends wet
		r := predict(t, in)
		if got := hasCaution(r.Cautions, string(CodeWindow)); got != c.out || r.Additions[0].InWindow == c.out {
			t.Errorf("%s: cautioned %v, in its window %v", name, got, r.Additions[0].InWindow)
		}
	}
	// The acid's line says how much the heat matters, and nothing else does.
	says := func(d Dose) bool {
		return slices.ContainsFunc(only(t, dosedWith(t, d)).Does, func(s string) bool {
			return contains(s, "at 130 °C it inverts 5 times as fast as at 110 °C and 35 times as fast as at 90 °C")
		})
	}
	if !says(Dose{acid, recipe.AtFold, 0.01, ""}) || says(Dose{oil, recipe.AtFold, 0.001, ""}) {
		t.Error("the heat that acid goes in at")
	}
}

// The stages' temperatures: the pour 1 to 6 K below the lift, 3 in the middle; folded at
// 95 to 110 °C (source key practice), and never hotter than the boil has been.
func TestStageTemperature(t *testing.T) {
	t.Parallel()
	end := q.Estimate{Value: 150, Low: 149, High: 151, Basis: q.Estimated}
	for s, want := range map[recipe.Stage]q.Estimate{
		recipe.AtEnd:  end,
		recipe.AtPour: {Value: 147, Low: 143, High: 150, Basis: q.Estimated},
		recipe.AtFold: {Value: 102.5, Low: 95, High: 110, Basis: q.Estimated},
	} {
		if got, ok := StageTemperature(s, end); !ok || got != want {
			t.Errorf("%s: %+v, want %+v", s, got, want)
		}
	}
	if _, ok := StageTemperature(recipe.AtBoil, end); ok {
		t.Error("the boil has one temperature")
	}
	if got, _ := StageTemperature(recipe.AtFold, q.ExactOf(100)); got.Value != 100 || got.High != 100 {
		t.Errorf("folded at %+v after a boil to 100 °C", got)
	}
}

// What a stock solution carries is brought as well.
func TestAddition_Stock(t *testing.T) {
	t.Parallel()
	in := dosedWith(t, Dose{ingredient.Ingredient{ID: "dye", Name: "dye", Kind: ingredient.Colour, Solids: 1}, recipe.AtPour, 0.0005, ""})
	in.Scales = []rig.Scale{{ID: "floor", Capacity: 30, Resolution: 0.001}}
	r := predict(t, in)
	s := r.Weighings[len(r.Weighings)-1].Stock
	carrier := float64(s.Weigh) * (1 - float64(s.Strength))
	if got := r.Additions[0].BroughtFrac.Value * r.FinishedKg.Value; math.Abs(got/carrier-1) > 1e-9 {
		t.Errorf("brings %.6f kg of water, its stock %.6f", got, carrier)
	}
}

// BenchmarkFlashes is one watery addition's heat balances.
func BenchmarkFlashes(b *testing.B) {
	h := hotMass{into: Makeup{Sucrose: 4.5, Syrup: 1.7, SyrupDE: 71, Water: 0.16}, cold: Makeup{Water: 0.02}, coldC: 20, press: q.StandardAtmospherePa}
	for b.Loop() {
		if _, _, err := h.flashes(148, 150); err != nil {
			b.Fatal(err)
		}
	}
}
