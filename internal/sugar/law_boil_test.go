package sugar

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/validation"
)

// solidsOf draws any make-up the table allows.
func solidsOf(t *rapid.T, maxDE float64) Solids {
	syrup := rapid.Float64Range(0, 1).Draw(t, "syrup")
	return Solids{
		Syrup:  quantity.Fraction(syrup),
		Invert: quantity.Fraction(rapid.Float64Range(0, 1-syrup).Draw(t, "invert")),
		DE:     rapid.Float64Range(MinDE, maxDE).Draw(t, "de"),
	}
}

func drySolids(t *rapid.T, name string, low, high float64) quantity.Fraction {
	return quantity.Fraction(1 - rapid.Float64Range(low, high).Draw(t, name))
}

func pressureOf(t *rapid.T) quantity.Pascals {
	return quantity.Pascals(rapid.Float64Range(float64(MinPressure), float64(MaxPressure)).Draw(t, "pressure"))
}

func TestSaturation_RoundTripAndRise(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(0, steamMaxK-quantity.ZeroCelsius-0.01).Draw(t, "at")
		p := must(SaturationPressure(quantity.Celsius(at)))
		// The two equations of the release agree to its own eight digits; near the
		// critical point pressure hardly depends on them any more.
		if back := must(SaturationTemperature(max(p, steamMinPa))); math.Abs(float64(back)-at) > 1e-5 {
			t.Fatalf("%.9g °C came back as %.9g", at, float64(back))
		}
		if next := must(SaturationPressure(quantity.Celsius(at + 0.01))); next <= p {
			t.Fatalf("the pressure falls from %.9g to %.9g at %.6g °C", p, next, at)
		}
	})
}

func TestBoiling_RoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := Mix(solidsOf(t, MaxDE), drySolids(t, "dry", ActivityMinDry, ActivityMaxDry))
		p := pressureOf(t)
		at, err := BoilingPoint(m, p)
		if err != nil {
			t.Fatal(err)
		}
		water, err := WaterAtBoil(m.Solids, at, p)
		if err != nil || math.Abs(float64(water-m.Water)) > 1e-8 {
			t.Fatalf("%.10g water boils at %.10g °C, which leaves %.10g (%v)", m.Water, at, water, err)
		}
		// At its boiling point the mixture's vapour holds up the pressure.
		held := must(WaterActivity(m, at)) * float64(must(SaturationPressure(at)))
		if math.Abs(held/float64(p)-1) > 1e-8 {
			t.Fatalf("at the boil the vapour pressure is %.9g Pa, the air's %.9g", held, float64(p))
		}
	})
}

func TestBoiling_RisesWithSolidsPressureAndError(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, p := solidsOf(t, MaxDE), pressureOf(t)
		wet := Mix(s, drySolids(t, "dry", ActivityMinDry, ActivityMaxDry-0.0005))
		dry := Mix(s, wet.Water-0.0005)
		low, high := must(BoilingPoint(wet, p)), must(BoilingPoint(dry, p))
		if high <= low {
			t.Fatalf("half a thousandth less water takes the boil from %.6f to %.6f °C", low, high)
		}
		if water := must(SaturationTemperature(p)); low < water-1e-8 {
			t.Fatalf("the mixture boils at %.6f °C, below water's %.6f", low, water)
		}
		if p < MaxPressure-10 {
			if more := must(BoilingPoint(wet, p+10)); more <= low {
				t.Fatalf("10 Pa more take the boil from %.6f to %.6f °C", low, more)
			}
		}
		z := rapid.Float64Range(-3.5, 3.4).Draw(t, "z")
		if a, b := must(BoilingPointWith(wet, p, z)), must(BoilingPointWith(wet, p, z+0.1)); b < a-1e-8 {
			t.Fatalf("the error draw %.2f gives %.6f °C, %.2f gives %.6f", z, a, z+0.1, b)
		}
	})
}

// Syrup at the same share of solids and its invert move the boil the way their
// molar masses say: hexoses up, 42 DE syrup (429 g/mol) down.
func TestBoiling_MolarMassDecidesTheDirection(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		water, p := drySolids(t, "dry", 0.2, 0.98), pressureOf(t)
		share := quantity.Fraction(rapid.Float64Range(0.05, 1).Draw(t, "share"))
		plain := must(BoilingPoint(Mix(Solids{}, water), p))
		if syrup := must(BoilingPoint(Mix(Solids{Syrup: share}, water), p)); syrup >= plain {
			t.Fatalf("syrup raises the boil from %.6f to %.6f °C", plain, syrup)
		}
		if invert := must(BoilingPoint(Mix(Solids{Invert: share}, water), p)); invert <= plain {
			t.Fatalf("invert lowers the boil from %.6f to %.6f °C", plain, invert)
		}
	})
}

// The draw of the equation's error undoes itself: what boils in a world of draw z
// at T holds, by the inverse in the same world, the water it was given.
func TestBoilError_RoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := Mix(solidsOf(t, MaxDE), drySolids(t, "dry", 0.5, 0.985))
		p, z := pressureOf(t), rapid.Float64Range(-2.5, 2.5).Draw(t, "z")
		at := must(BoilingPointWith(m, p, z))
		water, err := WaterAtBoilWith(m.Solids, at, p, z)
		if fault.KindOf(err) == fault.KindOutOfRange {
			if asked := unshiftWater(m, z); inside(1-asked, ActivityMinDry, ActivityMaxDry) {
				t.Fatalf("the boil at %.4f °C asks the equation at %.5f water, and the way back says %v", at, asked, err)
			}
			return // the draw leaves the range in which the way back is given
		}
		if err != nil || math.Abs(float64(water-m.Water)) > 1e-7 {
			t.Fatalf("%.8f water came back as %.8f (%v) with draw %.2f", m.Water, water, err, z)
		}
	})
}

// More water by the equation is more water in any world, and never more than all.
func TestBoilError_KeepsTheOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, z := solidsOf(t, MaxDE), rapid.Float64Range(-3.5, 3.5).Draw(t, "z")
		water := rapid.Float64Range(drawDriest, 0.999).Draw(t, "water")
		if a, b := shiftWater(s, water, z), shiftWater(s, min(1, water*1.001), z); b <= a || a <= 0 || b > 1 {
			t.Fatalf("at draw %.2f %.6f water becomes %.6f and a little more becomes %.6f", z, water, a, b)
		}
	})
}

// The half-widths the model states for itself, in % water.
func TestBoilModelSD_Stated(t *testing.T) {
	t.Parallel()
	for solids, want := range map[float64]float64{80: 0.3, 90: 1.6, 95: 0.35, 97: 0.5, 98: 0.5} {
		if got := BoilModelSD(pure(solids)).Percent() * ninety; math.Abs(got-want) > 0.005 {
			t.Errorf("at %g %% the half-width is %.3f %% water, want %.2f", solids, got, want)
		}
	}
	// 40 % syrup adds its 0.5 K (0.10 % water) at hard crack, and counts for more in thin syrup.
	plain, syrup := BoilModelSD(pure(97)), BoilModelSD(Mix(Solids{Syrup: 0.4}, 0.03))
	if syrup <= plain || syrup > 1.1*plain {
		t.Errorf("at 97 %% the standard deviation is %.5f, with syrup %.5f", plain, syrup)
	}
	thin := BoilModelSD(Mix(Solids{Syrup: 1}, 0.197)).Percent() * ninety
	if thin < 1.5 || thin > 2.5 {
		t.Errorf("for syrup alone at 80 %% the half-width is %.2f %% water, want about 1.3 K over 0.7 K a per cent", thin)
	}
}

// In thin syrup the half-width is 0.02 K on sucrose and 0.03 K on syrup, and nothing at all on water.
func TestBoilModelSD_ThinSyrup(t *testing.T) {
	t.Parallel()
	for share, want := range map[quantity.Fraction]float64{0: 1.2, 1: 1.7} {
		if got := BoilModelSD(Mix(Solids{Syrup: share}, 0.9)).Percent() * ninety; math.Abs(got-want) > 0.1 {
			t.Errorf("with %g of syrup at 10 %% the half-width is %.3f %% water, want about %.1f", float64(share), got, want)
		}
	}
	if got := BoilModelSD(Mix(Solids{Syrup: 0.5}, 1)); got != 0 {
		t.Errorf("water is uncertain by %g", got)
	}
}

// The range must hold what the tables of outside origin say from 85 % up.
func TestBoilModelSD_CoversTheTables(t *testing.T) {
	t.Parallel()
	covered, all := 0, 0
	for _, r := range validation.Records(t, "boiling.csv") {
		solids := r.Number("solids_pct")
		if solids < 85 || r.Text("set") == "D" {
			continue
		}
		all++
		low, high := must(BoilingPointWith(pure(solids), sea, -ninety)), must(BoilingPointWith(pure(solids), sea, ninety))
		if v := r.Number("boiling_c"); v >= float64(low) && v <= float64(high) {
			covered++
		}
	}
	if all != 7 || covered < 6 {
		t.Errorf("the 5 to 95 %% range holds %d of %d table rows", covered, all)
	}
}

func TestAtEdge_Flips(t *testing.T) {
	t.Parallel()
	for water, want := range map[quantity.Fraction]bool{0.018 * 0.99: true, 0.018 * 1.01: false, 0.004: true, 0.03: false} {
		if AtEdge(water) != want {
			t.Errorf("AtEdge(%g) is %v", water, !want)
		}
		c, ok := BoilCaution(water)
		if (ok && c.Code == CodeBoilEdge) != want {
			t.Errorf("at %g water the caution is %q", water, c.Code)
		}
	}
	for water, want := range map[quantity.Fraction]bool{0.075 * 0.99: false, 0.075 * 1.01: true, 0.18 * 0.99: true, 0.18 * 1.01: false} {
		if c, ok := BoilCaution(water); ok != want || ok && c.Code != CodeBoilLoose {
			t.Errorf("at %g water the caution is %q, %v", water, c.Code, ok)
		}
	}
}
