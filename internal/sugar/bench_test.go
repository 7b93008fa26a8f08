package sugar_test

import (
	"testing"

	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

// One state in the middle of the work: 40 % syrup, 3 % water, sea level. Nothing
// is cached between calls.

func BenchmarkBoilingPoint(b *testing.B) {
	m := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03)
	for b.Loop() {
		if _, err := sugar.BoilingPoint(m, quantity.StandardAtmospherePa); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBoilingPointWith(b *testing.B) {
	m := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03)
	for b.Loop() {
		if _, err := sugar.BoilingPointWith(m, quantity.StandardAtmospherePa, 1); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWaterAtBoil(b *testing.B) {
	s := sugar.Solids{Syrup: 0.4}
	for b.Loop() {
		if _, err := sugar.WaterAtBoil(s, 149, quantity.StandardAtmospherePa); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBoilingDownHeat(b *testing.B) {
	for b.Loop() {
		if _, err := sugar.BoilingDownHeat(sugar.Solids{Syrup: 0.4}, 0.25, 0.03, quantity.StandardAtmospherePa); err != nil {
			b.Fatal(err)
		}
	}
}

// Each property at one state, cold; none makes garbage.

func benchProperty(b *testing.B, f func(sugar.Mixture, quantity.Celsius) (float64, error), m sugar.Mixture, at quantity.Celsius) {
	b.Helper()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := f(m, at); err != nil {
			b.Fatal(err)
		}
	}
}

func candy() sugar.Mixture { return sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03) }

func BenchmarkWaterActivity(b *testing.B) { benchProperty(b, sugar.WaterActivity, candy(), 120) }
func BenchmarkDensity(b *testing.B)       { benchProperty(b, sugar.Density, candy(), 120) }
func BenchmarkViscosity(b *testing.B)     { benchProperty(b, sugar.Viscosity, candy(), 120) }
func BenchmarkHeatCapacity(b *testing.B)  { benchProperty(b, sugar.HeatCapacity, candy(), 120) }
func BenchmarkEnthalpy(b *testing.B)      { benchProperty(b, sugar.Enthalpy, candy(), 120) }
func BenchmarkConductivity(b *testing.B)  { benchProperty(b, sugar.Conductivity, candy(), 120) }
func BenchmarkLatentHeat(b *testing.B)    { benchProperty(b, sugar.LatentHeat, candy(), 120) }

func BenchmarkGlassTransition(b *testing.B) { benchProperty(b, glass, candy(), 25) }
func BenchmarkRoomActivity(b *testing.B)    { benchProperty(b, room, candy(), 25) }
func BenchmarkSyrupActivity(b *testing.B) {
	benchProperty(b, syrup, sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.35), 25)
}
func BenchmarkDewPoint(b *testing.B) { benchProperty(b, dew, candy(), 25) }

// The functions of fewer or other things, in the shape of the rest.
func glass(m sugar.Mixture, _ quantity.Celsius) (float64, error) {
	t, err := sugar.GlassTransition(m)
	return float64(t), err
}
func room(m sugar.Mixture, _ quantity.Celsius) (float64, error)  { return sugar.RoomActivity(m) }
func syrup(m sugar.Mixture, _ quantity.Celsius) (float64, error) { return sugar.SyrupActivity(m) }
func dew(_ sugar.Mixture, t quantity.Celsius) (float64, error) {
	d, err := sugar.DewPoint(t, 0.5)
	return float64(d), err
}

// No property makes garbage. Not parallel: the count is the whole process's.
func TestProperties_DoNotAllocate(t *testing.T) {
	wet := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.35)
	for name, f := range map[string]func(sugar.Mixture, quantity.Celsius) (float64, error){
		"water activity": sugar.WaterActivity, "density": sugar.Density, "viscosity": sugar.Viscosity, "heat capacity": sugar.HeatCapacity,
		"enthalpy": sugar.Enthalpy, "conductivity": sugar.Conductivity, "latent heat": sugar.LatentHeat, "glass": glass, "syrup": syrup, "dew": dew,
		"boil": func(m sugar.Mixture, _ quantity.Celsius) (float64, error) {
			at, err := sugar.BoilingPoint(m, quantity.StandardAtmospherePa)
			return float64(at), err
		},
	} {
		n := testing.AllocsPerRun(20, func() {
			if _, err := f(wet, 25); err != nil {
				t.Fatal(name, err)
			}
		})
		if n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
}
