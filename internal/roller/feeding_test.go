package roller

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/heat"
)

// candy is the sugar of the pack's tables: constant figures (source key model-heat).
func candy() heat.Matter {
	return heat.Matter{Heat: heat.ConstantHeat(2200), Density: 1480, K: 0.30}
}

func feeding() Feeding {
	return Feeding{MassKg: 10, FromC: 81, Rate: 1.0 / 60, GoneC: 71, Sweet: candy(), PairKg: UsualPairKg, AirC: 21, Thick: 0.0055,
		Takes: func(_, t float64) float64 { return 22.0 / 55 * (t - 21) }} // 0.01 K/s at 76 °C
}

// A lump whose loss is proportional to its warmth over the air goes short at a time that is
// known in closed form, and warms the rolls as a body of one temperature does.
func TestFeeding_ClosedForm(t *testing.T) {
	t.Parallel()
	f := feeding()
	fed := f.Run()
	perS := 22.0 / 55 / 2200
	if want := math.Log((81.0-21)/(71-21)) / perS; math.Abs(fed.GoneS-want) > 0.5 {
		t.Errorf("gone short after %.1f s, want %.1f s", fed.GoneS, want)
	}
	if want := 21 + 60*math.Exp(-perS*600); math.Abs(fed.LastC-want) > 0.01 || fed.LastS != 600 {
		t.Errorf("the last bar at %.2f °C after %.0f s, want %.2f °C", fed.LastC, fed.LastS, want)
	}
	for _, s := range []float64{0, 7, 333, 599} {
		if want := 21 + 60*math.Exp(-perS*s); math.Abs(fed.TempAt(s)-want) > 0.02 {
			t.Errorf("at %.0f s %.2f °C, want %.2f °C", s, fed.TempAt(s), want)
		}
	}
}

// 14 kg give about 55 kJ to a brass pair of 4.5 kg, some 30 K before losses (source key
// practice).
func TestFeeding_Pair(t *testing.T) {
	t.Parallel()
	f := feeding()
	f.MassKg, f.Takes = 14, func(_, _ float64) float64 { return 0 }
	fed := f.Run()
	first := (f.FromC - fed.SheetC) * 2200 * 14 // if all were rolled on cold rolls
	gives := first * (f.FromC - (21+fed.PairC)/2) / (f.FromC - 21)
	t.Logf("the sheet leaves at %.1f °C: %.0f kJ of 14 kg; the rolls come to %.0f °C", fed.SheetC, gives/1e3, fed.PairC)
	if gives < 45e3 || gives > 65e3 {
		t.Errorf("14 kg give %.0f kJ to the rolls, the trade has about 55", gives/1e3)
	}
	if fed.PairC < 30 || fed.PairC > 21+35 {
		t.Errorf("the rolls come to %.0f °C", fed.PairC)
	}
	// Twice the brass warms by less, and by half where nothing is lost on the way.
	f.PairKg *= 2
	if two := f.Run().PairC; two >= fed.PairC {
		t.Errorf("9 kg of rolls come to %.1f °C, 4.5 kg to %.1f °C", two, fed.PairC)
	}
}

// The largest batch is the one whose last bar is cut just as it goes short; less always
// fits, more never does, and rolling faster only ever takes more.
func TestFeeding_Largest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		f := feeding()
		k := rapid.Float64Range(0.2, 3).Draw(rt, "loses")
		f.Takes = func(m, t float64) float64 { return k * 0.4 * (t - 21) * math.Pow(10/m, 1.0/3) }
		f.Rate *= rapid.Float64Range(0.5, 2).Draw(rt, "rate")
		most := f.Largest(40)
		fits := func(mass float64) bool {
			g := f
			g.MassKg = mass
			fed := g.Run()
			return fed.LastS <= fed.GoneS
		}
		if most < 40 && (!fits(most*0.98) || fits(most*1.02)) {
			rt.Errorf("the largest is said to be %.2f kg: 2 %% less fits %t, 2 %% more %t", most, fits(most*0.98), fits(most*1.02))
		}
		f.Rate *= 1.2
		if more := f.Largest(40); more < most {
			rt.Errorf("at a higher rate %.2f kg, at a lower %.2f kg", more, most)
		}
	})
}

// A board that warms never lets it go short, and what begins too cold has gone.
func TestFeeding_Edges(t *testing.T) {
	t.Parallel()
	f := feeding()
	f.Takes = func(_, _ float64) float64 { return -0.5 }
	if fed := f.Run(); fed.GoneS != Never || fed.LastC <= f.FromC {
		t.Errorf("under a hot lamp: gone %.0f s, the last bar at %.1f °C", fed.GoneS, fed.LastC)
	}
	f = feeding()
	f.FromC = f.GoneC
	if fed := f.Run(); fed.GoneS != 0 || f.Largest(40) > 0.01 {
		t.Errorf("too cold at once: gone after %.0f s, largest %.2f kg", fed.GoneS, f.Largest(40))
	}
}

// Sheets and loose drops against lumped cooling with the heat capacity of another table
// (source key model-heat, computed: from 75 °C in air of 24 °C; volume by surface 2.5 mm for
// a sheet with both its faces free, 3.0 mm for a loose drop).
func TestSheet_BesideAnotherModel(t *testing.T) {
	t.Parallel()
	curve, err := heat.NewCurve(20, 160, func(t float64) float64 {
		return 1355*t + 0.9*t*t + 225*(t+8*math.Log(2*math.Cosh((t-50)/8)))
	})
	if err != nil {
		t.Fatal(err)
	}
	matter := candy()
	matter.Heat = curve
	sheetOf := func(deep float64) float64 { return matter.Density * math.Pow(4*deep, 3) } // kg of a piece whose sheet is so deep
	dropOf := func(deep float64) float64 { return matter.Density * math.Pow(5*deep, 3) }
	for _, c := range []struct {
		name string
		s    Sheet
		toC  float64
		min  float64
	}{
		{"sheet to 50 °C", Sheet{Sweet: matter, AirC: 24, PieceKg: sheetOf(0.0025)}, 50, 7.7},
		{"sheet to 35 °C", Sheet{Sweet: matter, AirC: 24, PieceKg: sheetOf(0.0025)}, 35, 15.6},
		{"sheet to 35 °C, fan", Sheet{Sweet: matter, AirC: 24, PieceKg: sheetOf(0.0025), Fan: true}, 35, 7.8},
		{"loose drop to 35 °C", Sheet{Sweet: matter, AirC: 24, PieceKg: dropOf(0.003), Loose: true}, 35, 18.8},
		{"loose drop to 30 °C, fan", Sheet{Sweet: matter, AirC: 24, PieceKg: dropOf(0.003), Loose: true, Fan: true}, 30, 12.6},
	} {
		s, ok := c.s.CoolsTo(75, c.toC)
		if !ok || math.Abs(s/60-c.min) > 0.03*c.min {
			t.Errorf("%s after %.1f min, want %.1f", c.name, s/60, c.min)
		}
	}
	if _, ok := (Sheet{Sweet: matter, AirC: 36, PieceKg: 0.0024}).CoolsTo(75, HandWarm); ok {
		t.Error("a sheet comes to 35 °C in a room of 36 °C")
	}
}
