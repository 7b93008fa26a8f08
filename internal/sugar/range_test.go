package sugar

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// door is one exported function as a function of one of its inputs, with the
// range that input is stated to have.
type door struct {
	name      string
	low, high float64
	step      float64 // one unit of the input
	ask       func(v float64) (float64, error)
}

func doors() []door {
	m := Mix(Solids{Syrup: 0.4}, 0.05)
	dry := func(v float64) Mixture { return Mix(Solids{Syrup: 0.4}, quantity.Fraction(1-v/100)) }
	de := func(v float64) Mixture { return Mix(Solids{Syrup: 0.4, DE: v}, 0.05) }
	at := func(t float64) quantity.Celsius { return quantity.Celsius(t) }
	lowBoil, highBoil := must(BoilingPoint(pure(0), sea)), must(BoilingPoint(pure(99.6), sea))
	return []door{
		{"saturation pressure, °C", 0, 373.946, 0.001, func(v float64) (float64, error) {
			p, err := SaturationPressure(at(v))
			return float64(p), err
		}},
		{"saturation temperature, Pa", 611.213, 22.064e6, 1, func(v float64) (float64, error) {
			t, err := SaturationTemperature(quantity.Pascals(v))
			return float64(t), err
		}},
		{"atmosphere, m", -610, 5000, 1, func(v float64) (float64, error) {
			p, err := StandardAtmosphere(quantity.Metres(v))
			return float64(p), err
		}},
		{"water activity, % dry", 0, 99.6, 0.01, func(v float64) (float64, error) { return WaterActivity(dry(v), 100) }},
		{"water activity when cool, % dry", 0, 98, 0.01, func(v float64) (float64, error) { return WaterActivity(dry(v), 99.9) }},
		{"water activity, °C", 20, 180, 0.1, func(v float64) (float64, error) { return WaterActivity(m, at(v)) }},
		{"water activity with error, % dry", 0, 99.6, 0.01, func(v float64) (float64, error) { return WaterActivityWith(dry(v), 100, 1) }},
		{"boiling point, % dry", 0, 99.6, 0.01, func(v float64) (float64, error) {
			t, err := BoilingPoint(dry(v), sea)
			return float64(t), err
		}},
		{"boiling point, Pa", 54e3, 110e3, 1, func(v float64) (float64, error) {
			t, err := BoilingPoint(m, quantity.Pascals(v))
			return float64(t), err
		}},
		{"boiling point with error, % dry", 0, 99.6, 0.01, func(v float64) (float64, error) {
			t, err := BoilingPointWith(dry(v), sea, -2)
			return float64(t), err
		}},
		{"boiling point, DE", 20, 64, 0.1, func(v float64) (float64, error) {
			t, err := BoilingPoint(de(v), sea)
			return float64(t), err
		}},
		{"water at the boil, Pa", 54e3, 110e3, 1, func(v float64) (float64, error) {
			w, err := WaterAtBoil(m.Solids, 120, quantity.Pascals(v))
			return float64(w), err
		}},
		{"water at the boil, °C", float64(lowBoil), float64(highBoil), 0.01, func(v float64) (float64, error) {
			w, err := WaterAtBoil(Solids{}, at(v), sea)
			return float64(w), err
		}},
		{"density, °C", 20, 160, 0.1, func(v float64) (float64, error) { return Density(m, at(v)) }},
		{"heat capacity, °C", 20, 160, 0.1, func(v float64) (float64, error) { return HeatCapacity(m, at(v)) }},
		{"warming, from °C", 20, 160, 0.1, func(v float64) (float64, error) { return WarmingHeat(dry(70), at(v), 100) }},
		{"warming, to °C", 20, 160, 0.1, func(v float64) (float64, error) { return WarmingHeat(dry(70), 100, at(v)) }},
		{"latent heat, °C", 20, 180, 0.1, func(v float64) (float64, error) { return LatentHeat(m, at(v)) }},
		{"latent heat, % dry", 0, 99.6, 0.01, func(v float64) (float64, error) { return LatentHeat(dry(v), 100) }},
		{"boiling down, Pa", 54e3, 110e3, 1, func(v float64) (float64, error) {
			return BoilingDownHeat(Solids{}, 0.3, 0.03, quantity.Pascals(v))
		}},
		{"boiling down to, % dry", 80, 99.6, 0.01, func(v float64) (float64, error) {
			if v < 80 { // the low end here is the start of the boil, an invalid order
				return 0, fault.OutOfRange("", v, 80, 99.6, "", "")
			}
			return BoilingDownHeat(Solids{}, 0.2, quantity.Fraction(1-v/100), sea)
		}},
		{"conductivity, °C", 20, 160, 0.1, func(v float64) (float64, error) { return Conductivity(m, at(v)) }},
		{"glass transition, % dry", 60, 100, 0.01, func(v float64) (float64, error) {
			t, err := GlassTransition(dry(v))
			return float64(t), err
		}},
		{"glass transition, DE", 20, 60, 0.1, func(v float64) (float64, error) {
			t, err := GlassTransition(de(v))
			return float64(t), err
		}},
		{"viscosity, % dry", 60, 99, 0.01, func(v float64) (float64, error) { return Viscosity(dry(v), 120) }},
		{"viscosity, °C", float64(must(GlassTransition(m))), 160, 0.1, func(v float64) (float64, error) { return Viscosity(m, at(v)) }},
		{"viscosity of sucrose, % dry", 50, 99, 0.01, func(v float64) (float64, error) { return Viscosity(pure(v), 80) }},
		{"room water, % humidity", 10, 90, 0.1, func(v float64) (float64, error) {
			w, err := RoomWater(quantity.Fraction(v / 100))
			return float64(w), err
		}},
		{"room activity, % water", must(RoomWater(0.1)).Percent(), must(RoomWater(0.9)).Percent(), 0.01, func(v float64) (float64, error) {
			return RoomActivity(dry(100 - v))
		}},
		{"syrup activity, % dry", 0, 75, 0.01, func(v float64) (float64, error) { return SyrupActivity(dry(v)) }},
		{"dew point, air °C", 0.5, 60, 0.5, func(v float64) (float64, error) {
			if v < 0.5 { // air of 0 °C must be full to have a dew point at all
				return 0, fault.OutOfRange("", v, 0.5, 60, "", "")
			}
			t, err := DewPoint(at(v), 0.999)
			return float64(t), err
		}},
		{"dew point, % humidity", 100 * steamMinPa / saturationPa(298.15), 100, 0.01, func(v float64) (float64, error) {
			t, err := DewPoint(25, quantity.Fraction(v/100))
			return float64(t), err
		}},
		{"water at the glass, °C", glassK(Mix(m.Solids, 0.4)) - quantity.ZeroCelsius, dryGlassK(m.Solids) - quantity.ZeroCelsius, 0.01,
			func(v float64) (float64, error) {
				w, err := WaterAtGlass(m.Solids, at(v))
				return float64(w), err
			}},
		{"water at the glass, DE", 20, 60, 0.1, func(v float64) (float64, error) {
			w, err := WaterAtGlass(de(v).Solids, 25)
			return float64(w), err
		}},
		{"sticky humidity, °C", 20, 30, 0.1, func(v float64) (float64, error) {
			h, err := StickyHumidity(m.Solids, at(v))
			return float64(h), err
		}},
		{"enthalpy, °C", 20, 160, 0.1, func(v float64) (float64, error) { return Enthalpy(m, at(v)) }},
		{"acid beside, % of the solids", 0, 5, 0.01, func(v float64) (float64, error) {
			t, err := BoilingPoint(Mix(Solids{Beside: Solute{quantity.Fraction(v / 100), 7}}, 0.05), sea)
			return float64(t), err
		}},
		{"acid beside, mol/kg", 0, 35, 0.01, func(v float64) (float64, error) {
			t, err := BoilingPoint(Mix(Solids{Beside: Solute{0.01, v}}, 0.05), sea)
			return float64(t), err
		}},
		{"temperature at viscosity, % dry", 60, 99, 0.01, func(v float64) (float64, error) {
			t, err := TemperatureAtViscosity(dry(v), 1e3)
			if v < 61 { // so thin a syrup is never as thick as 1000 Pa s above 0 °C, but the answer stands
				return -40, err
			}
			return float64(t), err
		}},
	}
}

// At both ends and between them every function answers with a number; one unit
// outside it answers with an out-of-range fault that names a source and carries
// no number.
func TestDoors_EdgesHold(t *testing.T) {
	t.Parallel()
	for _, d := range doors() {
		for _, v := range []float64{d.low, d.low + d.step, (d.low + d.high) / 2, d.high - d.step, d.high} {
			if got, err := d.ask(v); err != nil || math.IsNaN(got) || math.IsInf(got, 0) {
				t.Errorf("%s: at %.8g it answers %g, %v", d.name, v, got, err)
			}
		}
		for _, v := range []float64{d.low - d.step, d.high + d.step, math.NaN(), math.Inf(1), math.Inf(-1)} {
			got, err := d.ask(v)
			if fault.KindOf(err) != fault.KindOutOfRange {
				t.Errorf("%s: at %.8g it answers %g, %v", d.name, v, got, err)
			}
		}
	}
}

// Whatever is asked, the answer is a finite number or a fault of one of two
// kinds, never a panic, a NaN or another kind.
func TestDoors_NothingIsExtrapolated(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		wild := rapid.OneOf(rapid.Float64Range(-0.5, 1.5), rapid.Float64())
		m := Mix(Solids{Syrup: quantity.Fraction(wild.Draw(t, "syrup")), Invert: quantity.Fraction(wild.Draw(t, "invert")),
			DE:       rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(-10, 120), rapid.Float64()).Draw(t, "de"),
			Spectrum: Spectrum{Dextrose: quantity.Fraction(wild.Draw(t, "dextrose")), Maltose: quantity.Fraction(wild.Draw(t, "maltose"))},
			Beside:   Solute{quantity.Fraction(wild.Draw(t, "beside") / 10), wild.Draw(t, "particles") * 30}}, quantity.Fraction(wild.Draw(t, "water")))
		at := quantity.Celsius(rapid.OneOf(rapid.Float64Range(-50, 400), rapid.Float64()).Draw(t, "at"))
		p := quantity.Pascals(rapid.OneOf(rapid.Float64Range(0, 2e5), rapid.Float64()).Draw(t, "pressure"))
		eta := rapid.Float64().Draw(t, "viscosity")
		check := func(name string, v float64, err error) {
			kind := fault.KindOf(err)
			switch {
			case err == nil && (math.IsNaN(v) || math.IsInf(v, 0)):
				t.Fatalf("%s answers %g", name, v)
			case err != nil && kind != fault.KindOutOfRange && kind != fault.KindInvalid:
				t.Fatalf("%s fails with %v", name, err)
			}
		}
		boil, err := BoilingPoint(m, p)
		check("boiling point", float64(boil), err)
		water, err := WaterAtBoil(m.Solids, at, p)
		check("water at the boil", float64(water), err)
		for name, f := range map[string]func(Mixture, quantity.Celsius) (float64, error){
			"water activity": WaterActivity, "density": Density, "heat capacity": HeatCapacity, "latent heat": LatentHeat,
			"conductivity": Conductivity, "viscosity": Viscosity,
		} {
			v, err := f(m, at)
			check(name, v, err)
		}
		glass, err := GlassTransition(m)
		check("glass transition", float64(glass), err)
		reach, err := TemperatureAtViscosity(m, eta)
		check("temperature at viscosity", float64(reach), err)
		heat, err := BoilingDownHeat(m.Solids, m.Water, quantity.Fraction(wild.Draw(t, "to")), p)
		check("boiling down", heat, err)
	})
}

func TestSolids_Check(t *testing.T) {
	t.Parallel()
	nan := quantity.Fraction(math.NaN())
	cases := []struct {
		name string
		s    Solids
		want fault.Kind // 0 for none
	}{
		{"sucrose", Solids{}, 0},
		{"usual", Solids{Syrup: 0.4}, 0},
		{"syrup only", Solids{Syrup: 1, DE: 64}, 0},
		{"shares that only round to one", Solids{Syrup: 0.7, Invert: 0.1 + 0.2}, 0},
		{"no syrup, senseless DE", Solids{DE: 500}, 0},
		{"negative syrup", Solids{Syrup: -0.01}, fault.KindInvalid},
		{"too much syrup", Solids{Syrup: 1.01}, fault.KindInvalid},
		{"syrup not a number", Solids{Syrup: nan}, fault.KindInvalid},
		{"negative invert", Solids{Invert: -0.01}, fault.KindInvalid},
		{"invert not a number", Solids{Invert: nan}, fault.KindInvalid},
		{"more than all", Solids{Syrup: 0.6, Invert: 0.41}, fault.KindInvalid},
		{"low DE", Solids{Syrup: 0.1, DE: 19.9}, fault.KindOutOfRange},
		{"high DE", Solids{Syrup: 0.1, DE: 64.1}, fault.KindOutOfRange},
		{"DE not a number", Solids{Syrup: 0.1, DE: math.NaN()}, fault.KindOutOfRange},
	}
	for _, c := range cases {
		err := c.s.Check()
		if c.want == 0 && err != nil || c.want != 0 && (err == nil || fault.KindOf(err) != c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// A syrup above 60 DE has no stated glass transition: what depends on it is
// refused where it could be a glass and given where it cannot.
func TestGlass_SyrupAboveItsLine(t *testing.T) {
	t.Parallel()
	m := Mix(Solids{Syrup: 0.4, DE: 63}, 0.03)
	if _, err := Density(m, 100); err != nil {
		t.Errorf("at 100 °C: %v", err)
	}
	if _, err := Density(m, 61); fault.KindOf(err) != fault.KindOutOfRange {
		t.Errorf("at 61 °C: %v", err)
	}
	if _, err := Density(Mix(m.Solids, 0.5), 25); err != nil {
		t.Errorf("thin syrup at 25 °C: %v", err)
	}
}
