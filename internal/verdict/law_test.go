package verdict

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/boil"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// boiled works out a boil of sugar and syrup, for real; to is the water left, or where
// it is above 1 the true temperature.
func boiled(t interface{ Fatal(...any) }, syrup float64, to float64) Inputs {
	water := q.Kilograms(0.4)
	c, err := boil.Raw{Sugar: q.Kilograms(1 - syrup), Syrup: q.Kilograms(syrup / 0.803), SyrupDE: 42, SyrupSolids: 0.803, Water: &water}.Charge()
	if err != nil {
		t.Fatal(err)
	}
	end := boil.End{WaterLeft: q.Fraction(to)}
	if to > 1 {
		end = boil.End{Here: q.Celsius(to)}
	}
	r, err := boil.Predict(boil.Inputs{Charge: c, End: end, Room: rig.UsualRoom(0), Units: q.Plain, Ensemble: numeric.NewEnsemble(256, 0)})
	if err != nil {
		t.Fatal(err)
	}
	return Inputs{Boil: r, Room: rig.UsualRoom(0), Units: q.Plain}
}

// A wetter boil is never less sticky, never keeps longer in the open, and stands up to less.
func TestLaw_WetterSticks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		syrup := rapid.Float64Range(0.1, 0.5).Draw(t, "syrup")
		water := rapid.Float64Range(0.02, 0.06).Draw(t, "water")
		room := rig.UsualRoom(0)
		room.PostMost = q.Celsius(rapid.Float64Range(20, 50).Draw(t, "post"))
		room.Humidity = q.Fraction(rapid.Float64Range(0.26, 0.75).Draw(t, "humidity"))
		dry, wet := boiled(t, syrup, water), boiled(t, syrup, water+rapid.Float64Range(0.001, 0.02).Draw(t, "more"))
		dry.Room, wet.Room = room, room
		a, b := Of(dry), Of(wet)
		if b.List[0].Answer.rank() < a.List[0].Answer.rank() || *b.List[0].Limits[2].Chance < *a.List[0].Limits[2].Chance {
			t.Fatalf("wetter it sticks less: %q, then %q", a.List[0].Answer, b.List[0].Answer)
		}
		if !(time(b.Open) <= time(a.Open)) {
			t.Fatalf("wetter it keeps longer in the open: %s, then %s", a.Open.Text, b.Open.Text)
		}
	})
}

// time orders the times in the open [s].
func time(o Open) float64 {
	if o.TimeS == nil {
		return math.Inf(1)
	}
	return o.TimeS.Value
}

// In damper air a sweet never lies open longer, and the slab's water is never colder.
func TestLaw_DamperIsSooner(t *testing.T) {
	t.Parallel()
	in := boiled(t, 0.35, 0.028)
	rapid.Check(t, func(t *rapid.T) {
		at := func(h float64) Verdicts {
			x := in
			x.Room.Humidity = q.Fraction(h)
			return Of(x)
		}
		h := rapid.Float64Range(0.11, 0.94).Draw(t, "humidity")
		a, b := at(h), at(h+rapid.Float64Range(0.001, 0.05).Draw(t, "more"))
		if !(time(b.Open) <= time(a.Open)) {
			t.Fatalf("in damper air longer: %s, then %s", a.Open.Text, b.Open.Text)
		}
		if a.Air != nil && b.Air.SlabWaterC <= a.Air.SlabWaterC {
			t.Fatalf("in damper air colder slab water: %g, then %g °C", a.Air.SlabWaterC, b.Air.SlabWaterC)
		}
	})
}

// Across the whole table the time falls with humidity and rises with the water there
// is room for.
func TestLaw_OpenHours(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0.20, 0.80).Draw(t, "humidity")
		room := rapid.Float64Range(0.001, 0.03).Draw(t, "room")
		_, now := openHours(h, room)
		if _, damper := openHours(h+0.004, room); !(damper <= now*(1+1e-12)) {
			t.Fatalf("damper: %g h, then %g h", now, damper)
		}
		if _, drier := openHours(h, room+0.001); !(drier >= now*(1-1e-12)) {
			t.Fatalf("with more room: %g h, then %g h", now, drier)
		}
	})
}

// More syrup is never more grain.
func TestLaw_SyrupKeeps(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		syrup := rapid.Float64Range(0, 0.45).Draw(t, "syrup")
		a, b := Of(boiled(t, syrup, 0.03)), Of(boiled(t, syrup+rapid.Float64Range(0.002, 0.1).Draw(t, "more"), 0.03))
		if b.List[1].Answer.rank() > a.List[1].Answer.rank() {
			t.Fatalf("with more syrup it grains more: %q, then %q", a.List[1].Answer, b.List[1].Answer)
		}
	})
}

// What is advised helps: boiled so much hotter, or with so much more syrup, the sweet
// no longer sticks, but for what the advice itself does to the range.
func TestMoves_Help(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		syrup := rapid.Float64Range(0.2, 0.4).Draw(t, "syrup")
		in := boiled(t, syrup, rapid.Float64Range(146, 150).Draw(t, "end"))
		in.Room.PostMost = q.Celsius(in.Boil.Portions[0].GlassC.Low + rapid.Float64Range(0.2, 3).Draw(t, "short"))
		s := in.sticks(in.weakest())
		if s.Answer != Borderline || len(s.Moves) < 2 {
			t.Fatalf("%q, %v", s.Answer, s.Moves)
		}
		const slack = 0.7 // K: the range changes a little with the water
		k, ok := in.hotter(in.weakest().water - s.toWater)
		if !ok {
			t.Fatal("no boil is dry enough")
		}
		drier := boiled(t, syrup, in.Boil.BoilC.Value+k)
		if low := drier.Boil.Portions[0].GlassC.Low; math.Abs(low-float64(in.Room.PostMost)) > slack {
			t.Fatalf("boiled %.2f K hotter it stands up to %.2f °C and more, %.2f was wanted", k, low, in.Room.PostMost)
		}
		if s.toShare == 0 {
			return
		}
		sweeter := boiled(t, s.toShare, in.Boil.WaterFrac.Value)
		if low := sweeter.Boil.Portions[0].GlassC.Low; math.Abs(low-float64(in.Room.PostMost)) > slack {
			t.Fatalf("with %.3f of syrup it stands up to %.2f °C and more, %.2f was wanted", s.toShare, low, in.Room.PostMost)
		}
	})
}

// A shortfall that a little syrup mends is mended with it; one that no syrup of the
// trade mends is not.
func TestMoves_Syrup(t *testing.T) {
	t.Parallel()
	for short, want := range map[float64]bool{0.5: true, 6: false} {
		in := boiled(t, 0.3, 150)
		in.Room.PostMost = q.Celsius(in.Boil.Portions[0].GlassC.Low + short)
		if s := in.sticks(in.weakest()); (s.toShare > 0) != want {
			t.Errorf("%g K short: %g of syrup, %v", short, s.toShare, s.Moves)
		}
	}
}

// The lines of the map are where the sweet stands up to the limit.
func TestMap_LinesAreTheLimit(t *testing.T) {
	t.Parallel()
	in := boiled(t, 0.35, 0.03)
	m := Of(in).Map
	if m == nil || len(m.Lines) != 2 || m.Doctor != "syrup" {
		t.Fatalf("%+v", m)
	}
	if w := m.Dot.WaterFrac.Value; math.Abs(w-0.03) > 1e-9 || math.Abs(m.Dot.DoctorFrac.Value-0.35) > 1e-3 {
		t.Errorf("the dot lies at %g water and %g syrup", w, m.Dot.DoctorFrac.Value)
	}
	for _, l := range m.Lines {
		for _, p := range l.Points[1 : len(l.Points)-2] {
			got := boiled(t, float64(p.DoctorFrac), p.WaterFrac.Value).Boil.Portions[0].GlassC.Value
			if math.Abs(got-float64(l.LimitC)) > 0.05 {
				t.Errorf("%s, %g syrup and %g water: stands up to %.2f °C, want %g", l.Name, p.DoctorFrac, p.WaterFrac.Value, got, l.LimitC)
			}
		}
	}
}

// The map of a boil doctored by acid counts invert sugar up, as a share of the sweet, and
// its lines are those of the sweet with that much of it.
func TestMap_OfATartarBoil(t *testing.T) {
	t.Parallel()
	in := doctored(made(40, 0, 150), 0.12)
	in.Boil.Portions[0].Makeup = boil.Makeup{Sucrose: 0.85, Invert: 0.12, Water: 0.03}
	in.Boil.Portions[0].WaterFrac = q.ExactOf(0.03)
	m := Of(in).Map
	if m == nil || m.Doctor != "invert sugar" || m.Of != "sweet" || m.Dot.DoctorFrac.Value != 0.12 || m.RiskFrac != boil.InvertGrains || m.EasyFrac != boil.InvertEasy {
		t.Fatalf("%+v", m)
	}
	for _, l := range m.Lines {
		for i, p := range l.Points {
			dry := sugar.Solids{Invert: q.Fraction(float64(p.DoctorFrac) / 0.97)}
			got, err := sugar.GlassTransition(sugar.Mix(dry, q.Fraction(p.WaterFrac.Value)))
			if err != nil || math.Abs(float64(got)-float64(l.LimitC)) > 1e-6 {
				t.Errorf("%s, %g of invert sugar: stands up to %.3f °C, want %g (%v)", l.Name, p.DoctorFrac, got, l.LimitC, err)
			}
			if i > 0 && p.WaterFrac.Value >= l.Points[i-1].WaterFrac.Value {
				t.Errorf("%s: more invert sugar bears more water", l.Name)
			}
		}
	}
}
