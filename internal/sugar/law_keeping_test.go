package sugar

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// soured draws a make-up with acid or salt in it.
func soured(t *rapid.T, maxDE float64) Solids {
	s := solidsOf(t, maxDE)
	s.Beside = Solute{quantity.Fraction(rapid.Float64Range(0, MaxBeside).Draw(t, "beside")),
		rapid.Float64Range(1, MaxParticles).Draw(t, "particles")}
	s.Syrup *= 1 - MaxBeside
	s.Invert *= 1 - MaxBeside
	return s
}

// In water with little in it every solute does what its particles do, and nothing
// else: the boil rises by R T²/L for each mole a kilogram (0.513 K at 1 atm, of
// which steam, not quite an ideal gas, takes 1.6 %), and both activities fall by M.
func TestDilute_OnlyParticlesCount(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := soured(t, MaxDE)
		const dry = 1e-4
		m := Mix(s, 1-dry)
		molal := 1000 * dry * s.inverseMolarMass() / (1 - dry) // mol/kg of water
		boil := must(SaturationTemperature(sea))
		want := gasConstant * boil.Kelvin() * boil.Kelvin() / (1e3 * must(LatentHeat(Mix(s, 1), boil))) * molal
		if got := float64(must(BoilingPoint(m, sea)) - boil); math.Abs(got/want-1) > 0.02 {
			t.Fatalf("%.4g mol/kg raise the boil by %.6g K, want %.6g", molal, got, want)
		}
		for name, a := range map[string]float64{"boiling": must(WaterActivity(m, 25)), "Norrish": must(SyrupActivity(m))} {
			if got, want := -math.Log(a), waterMolarMass/1000*molal; math.Abs(got/want-1) > 5e-3 {
				t.Fatalf("%s: %.4g mol/kg lower ln aw by %.6g, want %.6g", name, molal, got, want)
			}
		}
	})
}

// Water is water whatever would be in it: it boils by the steam tables and its
// air is full.
func TestDilute_WaterIsWater(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m, p := Mix(soured(t, MaxDE), 1), pressureOf(t)
		if got, want := must(BoilingPoint(m, p)), must(SaturationTemperature(p)); math.Abs(float64(got-want)) > 1e-7 {
			t.Fatalf("water boils at %.9f °C, by the steam tables at %.9f", got, want)
		}
		if a, b := must(WaterActivity(m, 100)), must(SyrupActivity(m)); a != 1 || b != 1 {
			t.Fatalf("the activity over water is %g and %g", a, b)
		}
	})
}

// Acid and salt lift the boil and lower the glass transition, the more of it the more.
func TestBeside_LiftsTheBoil(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		water, p := drySolids(t, "dry", 0.6, 0.98), pressureOf(t)
		share := rapid.Float64Range(0.001, MaxBeside-0.001).Draw(t, "share")
		particles := rapid.Float64Range(3, MaxParticles).Draw(t, "particles") // more than sucrose's 2.9
		mix := func(share float64) Mixture {
			return Mix(Solids{Beside: Solute{quantity.Fraction(share), particles}}, water)
		}
		if a, b := must(BoilingPoint(mix(share), p)), must(BoilingPoint(mix(share+0.001), p)); b <= a {
			t.Fatalf("more acid takes the boil from %.6f to %.6f °C", a, b)
		}
		if a, b := must(GlassTransition(mix(share))), must(GlassTransition(mix(share+0.001))); b >= a {
			t.Fatalf("more acid takes the glass from %.6f to %.6f °C", a, b)
		}
	})
}

func TestSolute_PlusKeepsParticles(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		one := func(name string) Solute {
			return Solute{quantity.Fraction(rapid.Float64Range(0, 0.02).Draw(t, name)), rapid.Float64Range(1, 35).Draw(t, name+" mol")}
		}
		a, b := one("a"), one("b")
		sum := a.Plus(b)
		moles := func(s Solute) float64 { return float64(s.Share) * s.Particles }
		if math.Abs(float64(sum.Share-a.Share-b.Share)) > 1e-15 || math.Abs(moles(sum)-moles(a)-moles(b)) > 1e-12 {
			t.Fatalf("%+v and %+v make %+v", a, b, sum)
		}
	})
}

// A syrup known by its sugars does at the boil and as a glass what one of the DE they
// make does; in a room its dextrose is told from its maltose.
func TestSpectrum_IsItsDE(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		first := rapid.Float64Range(0.02, 0.25).Draw(t, "dextrose")
		s := Solids{Syrup: 0.6, Spectrum: Spectrum{Dextrose: quantity.Fraction(first),
			Maltose: quantity.Fraction(rapid.Float64Range(0.02, 0.3).Draw(t, "maltose")), Maltotriose: 0.1}}
		plain := Solids{Syrup: 0.6, DE: s.Spectrum.DE()}
		m, other := Mix(s, 0.3), Mix(plain, 0.3)
		if a, b := must(BoilingPoint(m, sea)), must(BoilingPoint(other, sea)); a != b {
			t.Fatalf("by its sugars it boils at %.9f °C, by their DE at %.9f", a, b)
		}
		if a, b := must(GlassTransition(m)), must(GlassTransition(other)); a != b {
			t.Fatalf("by its sugars it is a glass at %.9f °C, by their DE at %.9f", a, b)
		}
		if a, b := must(SyrupActivity(m)), must(SyrupActivity(other)); a <= b {
			t.Fatalf("dextrose counted as maltose: %.9f and %.9f", a, b)
		}
	})
}

// Of a syrup whose stated DE is below that of its dextrose alone, every sugar is dextrose.
func TestSpectrum_MoreDextroseThanSugars(t *testing.T) {
	t.Parallel()
	s := Solids{Syrup: 1, DE: 20, Spectrum: Spectrum{Dextrose: 0.3}}
	all := Solids{Syrup: 1, DE: 20, Spectrum: Spectrum{Dextrose: 0.25}}
	m, n := Mix(s, 0.4), Mix(all, 0.4)
	if a, b := must(SyrupActivity(m)), must(SyrupActivity(n)); a != b {
		t.Errorf("the activity is %.9f and %.9f", a, b)
	}
}

// All that acid and salt take off the glass transition is in doubt: 2.5 K of 5 % beside
// the mixing rule's 5.
func TestGlassSD_Beside(t *testing.T) {
	t.Parallel()
	got := float64(GlassSD(Mix(Solids{Beside: Solute{0.05, 7}}, 0.03))) * ninety
	if want := math.Sqrt(25 + 6.25); math.Abs(got-want) > 1e-12 {
		t.Errorf("±%.4f K, want ±%.4f", got, want)
	}
}

// The table fit is for sucrose and water only: with anything else in it a thin syrup
// has no viscosity below the range of the second line.
func TestViscosity_TheTableFitIsForSucrose(t *testing.T) {
	t.Parallel()
	for _, s := range []Solids{{Invert: 0.1}, {Syrup: 0.1}, {Beside: Solute{0.01, 7}}} {
		if _, err := Viscosity(Mix(s, 0.45), 50); fault.KindOf(err) != fault.KindOutOfRange {
			t.Errorf("%+v at 55 %%: %v", s, err)
		}
	}
}

// The caution flips where DE and sugars come 5 apart.
func TestSpectrum_CautionFlips(t *testing.T) {
	t.Parallel()
	s := Solids{Syrup: 0.4, Spectrum: Spectrum{0.19, 0.14, 0.11}}
	for _, sign := range []float64{-1, 1} {
		for apart, want := range map[float64]bool{4.95: false, 5.05: true} {
			s.DE = s.Spectrum.DE() + sign*apart
			p, err := PropertiesOf(State{Mix(s, 0.03), 100, sea})
			if err != nil {
				t.Fatal(err)
			}
			said := false
			for _, c := range p.Cautions {
				said = said || c.Code == CodeSpectrum
			}
			if said != want {
				t.Errorf("%.2f DE apart: said %v", sign*apart, said)
			}
		}
	}
}

// Inversion keeps the mass: what the sugar gains is the water of the molecules that
// fell; and two inversions one after the other are one.
func TestInverted_KeepsMassAndAdds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := soured(t, MaxDE)
		a := quantity.Fraction(rapid.Float64Range(0, 1).Draw(t, "a"))
		b := quantity.Fraction(rapid.Float64Range(0, 1).Draw(t, "b"))
		once, gain, err := s.Inverted(a)
		if err != nil {
			t.Fatal(err)
		}
		moles := float64(s.Sucrose()*a) / sucroseMolarMass
		if math.Abs(float64(gain)-moles*(2*hexoseMolarMass-sucroseMolarMass)) > 1e-12 {
			t.Fatalf("%g mol fell and %g kg of water were taken in", moles, gain)
		}
		if sum := once.Sucrose() + once.Syrup + once.Invert + once.Beside.Share; math.Abs(float64(sum)-1) > 1e-12 {
			t.Fatalf("the shares make %g", sum)
		}
		twice, more, err := once.Inverted(b)
		if err != nil {
			t.Fatal(err)
		}
		whole, all, err := s.Inverted(1 - (1-a)*(1-b))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64((1+gain)*(1+more)-(1+all))) > 1e-12 || math.Abs(float64(twice.Invert-whole.Invert)) > 1e-12 {
			t.Fatalf("in two steps %+v (%g), in one %+v (%g)", twice, (1+gain)*(1+more)-1, whole, all)
		}
		if r, before := once.ReducingSugars(), s.ReducingSugars(); s.Sucrose() > 1e-3 && a > 1e-3 && s.ReducingSugars() < 0.5 && r <= before {
			t.Fatalf("inversion takes reducing sugars from %g to %g", before, r)
		}
	})
}

func TestInverted_Refuses(t *testing.T) {
	t.Parallel()
	for _, share := range []quantity.Fraction{-0.01, 1.01, quantity.Fraction(math.NaN())} {
		if _, _, err := (Solids{}).Inverted(share); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%g inverted: %v", share, err)
		}
	}
	if _, _, err := (Solids{Syrup: 2}).Inverted(0.1); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a make-up that cannot be: %v", err)
	}
}

// Enthalpy rises by the heat capacity everywhere, the glass's own included.
func TestEnthalpy_IsTheIntegralOfHeatCapacity(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := Mix(soured(t, GlassMaxDE), drySolids(t, "dry", 0, 1))
		at := rapid.Float64Range(20, 159).Draw(t, "at")
		sum, steps := 0.0, 2000
		for i := range steps {
			mid := 20 + (at-20)*(float64(i)+0.5)/float64(steps)
			sum += must(HeatCapacity(m, quantity.Celsius(mid))) * (at - 20) / float64(steps)
		}
		// A step of the sum may lie across the glass transition.
		allowed := 1e-6 + glassHeatStep*(at-20)/float64(steps)
		if got := must(Enthalpy(m, quantity.Celsius(at))); math.Abs(got-sum) > allowed {
			t.Fatalf("to %.3f °C %.6f kJ/kg, summed %.6f", at, got, sum)
		}
	})
}

// The heat of two liquids at one temperature is the heat of what they make
// together: no heat of mixing is reckoned between syrups.
func TestEnthalpy_MixesByMass(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := quantity.Celsius(rapid.Float64Range(90, 160).Draw(t, "at"))
		a := Mix(Solids{}, drySolids(t, "a", 0, 0.7)) // liquid from 20 °C on
		b := Mix(Solids{}, drySolids(t, "b", 0, 0.7))
		part := quantity.Fraction(rapid.Float64Range(0, 1).Draw(t, "part"))
		both := Mix(Solids{}, part*a.Water+(1-part)*b.Water)
		want := float64(part)*must(Enthalpy(a, at)) + float64(1-part)*must(Enthalpy(b, at))
		if got := must(Enthalpy(both, at)); math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("together %.9f kJ/kg, apart %.9f", got, want)
		}
	})
}

func TestWaterAtGlass_RoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := soured(t, GlassMaxDE)
		water := quantity.Fraction(rapid.Float64Range(0, 0.4).Draw(t, "water"))
		back := must(WaterAtGlass(s, must(GlassTransition(Mix(s, water)))))
		if math.Abs(float64(back-water)) > 1e-9 {
			t.Fatalf("%.10f water came back as %.10f", water, back)
		}
	})
}

func TestRoom_RoundTripAndRise(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		h := quantity.Fraction(rapid.Float64Range(RoomMinHumidity, RoomMaxHumidity-0.001).Draw(t, "humidity"))
		s := soured(t, MaxDE)
		water := must(RoomWater(h))
		if back := must(RoomActivity(Mix(s, water))); math.Abs(back-float64(h)) > 1e-9 {
			t.Fatalf("%.10f humidity came back as %.10f", h, back)
		}
		if more := must(RoomWater(h + 0.001)); more <= water {
			t.Fatalf("damper air takes the water from %.8f to %.8f", water, more)
		}
		wet := Mix(s, drySolids(t, "dry", 0, SyrupMaxDry-0.001))
		if a, b := must(SyrupActivity(wet)), must(SyrupActivity(Mix(s, wet.Water-0.001))); !(b < a && b > 0 && a <= 1) {
			t.Fatalf("drying a syrup takes the activity from %.8f to %.8f", a, b)
		}
	})
}

// Invert makes a sweet stick in drier air, and so does a warmer shelf.
func TestStickyHumidity_Falls(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := quantity.Celsius(rapid.Float64Range(20, 29).Draw(t, "at"))
		invert := quantity.Fraction(rapid.Float64Range(0, 0.25).Draw(t, "invert"))
		a := must(StickyHumidity(Solids{Invert: invert}, at))
		if b := must(StickyHumidity(Solids{Invert: invert + 0.01}, at)); b >= a {
			t.Fatalf("more invert takes it from %.6f to %.6f", a, b)
		}
		if b := must(StickyHumidity(Solids{Invert: invert}, at+1)); b >= a {
			t.Fatalf("a warmer shelf takes it from %.6f to %.6f", a, b)
		}
	})
}

func TestDewPoint_Laws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		air := quantity.Celsius(rapid.Float64Range(5, 60).Draw(t, "air"))
		least := steamMinPa / saturationPa(air.Kelvin())
		h := quantity.Fraction(rapid.Float64Range(least, 0.999).Draw(t, "humidity"))
		dew := must(DewPoint(air, h))
		if held := saturationPa(dew.Kelvin()) / saturationPa(air.Kelvin()); math.Abs(held-float64(h)) > 1e-7 || dew > air {
			t.Fatalf("at %.4f °C the air of %.4f °C holds %.8f, want %.8f", dew, air, held, h)
		}
		if more := must(DewPoint(air, min(1, h+0.001))); more <= dew {
			t.Fatalf("damper air takes the dew point from %.6f to %.6f", dew, more)
		}
		if full := must(DewPoint(air, 1)); math.Abs(float64(full-air)) > 1e-5 {
			t.Fatalf("full air of %.6f °C has its dew point at %.6f", air, full)
		}
	})
}
