package verdict

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// made is a boil by its figures alone: what it stands up to, its doctor, its end.
func made(glass, doctor, end float64) Inputs {
	g := q.ExactOf(glass)
	return Inputs{
		Boil: boil.Result{
			BoilC: q.ExactOf(end), DoctorFrac: q.ExactOf(doctor), Pressure: q.StandardAtmospherePa,
			WaterFrac: q.ExactOf(0.025), MassKg: q.ExactOf(1), Pot: boil.Makeup{Sucrose: 0.7, Syrup: 0.275, SyrupDE: 0.275 * 42, Water: 0.3},
			Portions: []boil.PortionResult{{ID: "one", GlassC: &g, WaterFrac: q.ExactOf(0.025),
				Makeup: boil.Makeup{Sucrose: 0.7, Syrup: 0.275, SyrupDE: 0.275 * 42, Water: 0.025}}},
		},
		Room: rig.UsualRoom(0), Units: q.Plain,
	}
}

func answers(in Inputs) [3]Answer {
	v := Of(in)
	return [3]Answer{v.List[0].Answer, v.List[1].Answer, v.List[2].Answer}
}

// doctored makes a boil's doctor the acid in the kettle.
func doctored(in Inputs, invert float64) Inputs {
	e := q.ExactOf(invert)
	in.Boil.Doctored, in.Boil.DoctorFrac, in.Boil.InvertFrac = true, q.ExactOf(0), &e
	return in
}

// Every verdict turns where its quantity crosses its limit by one per cent.
func TestVerdicts_Flip(t *testing.T) {
	t.Parallel()
	at := func(room, store, post, glass float64) Inputs {
		in := made(glass, 0.3, 150)
		in.Room.Air, in.Room.StoreMost, in.Room.PostMost = q.Celsius(room), q.Celsius(store), q.Celsius(post)
		return in
	}
	cases := []struct {
		name  string
		limit float64
		which int
		in    func(v float64) Inputs
		below Answer
		above Answer
	}{
		{"room", 28, 0, func(v float64) Inputs { return at(28, 10, 10, v) }, Likely, No},
		{"store", 33, 0, func(v float64) Inputs { return at(10, 33, 10, v) }, Likely, No},
		{"post", 44, 0, func(v float64) Inputs { return at(10, 10, 44, v) }, Likely, No},
		{"usual store", float64(rig.UsualStoreMost), 0, func(v float64) Inputs { return at(10, 0, 10, v) }, Likely, No},
		{"usual post", float64(rig.UsualPostMost), 0, func(v float64) Inputs { return at(10, 10, 0, v) }, Likely, No},
		{"invert draws damp", 0.20, 0, func(v float64) Inputs { return doctored(made(60, 0, 150), v) }, No, Likely},
		{"syrup, risk", 0.12, 1, func(v float64) Inputs { return made(60, v, 150) }, Likely, Borderline},
		{"syrup, easy", 0.25, 1, func(v float64) Inputs { return made(60, v, 150) }, Borderline, No},
		{"invert, risk", 0.08, 1, func(v float64) Inputs { return doctored(made(60, 0, 150), v) }, Likely, Borderline},
		{"invert, easy", 0.10, 1, func(v float64) Inputs { return doctored(made(60, 0, 150), v) }, Borderline, No},
		{"browns", 160, 2, func(v float64) Inputs { return made(60, 0.3, v) }, No, Likely},
	}
	for _, c := range cases {
		if got := answers(c.in(0.99 * c.limit))[c.which]; got != c.below {
			t.Errorf("%s, one per cent under: %q, want %q", c.name, got, c.below)
		}
		if got := answers(c.in(1.01 * c.limit))[c.which]; got != c.above {
			t.Errorf("%s, one per cent over: %q, want %q", c.name, got, c.above)
		}
	}
}

// A range that crosses its limit is borderline, however little.
func TestVerdicts_RangeDecides(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		low, high float64
		want      Answer
	}{{41, 50, No}, {39.9, 50, Borderline}, {30, 40.1, Borderline}, {30, 39.9, Likely}} {
		in := made(40, 0.3, 150)
		in.Boil.Portions[0].GlassC = &q.Estimate{Value: 40, Low: c.low, High: c.high, Basis: q.Estimated}
		if got := answers(in)[0]; got != c.want {
			t.Errorf("stands up to %g to %g, the post reaches 40: %q, want %q", c.low, c.high, got, c.want)
		}
	}
}

// The chance is the share of the outcomes that stand up to less.
func TestSticks_Chance(t *testing.T) {
	t.Parallel()
	in := made(42, 0.3, 150)
	in.Boil.Portions[0].GlassC = &q.Estimate{Value: 42, Low: 38, High: 46, Basis: q.Estimated}
	in.Boil.Portions[0].GlassDraws = []float64{38, 41, 43, 46}
	post := Of(in).List[0].Limits[2]
	if post.Chance == nil || *post.Chance != 0.25 {
		t.Errorf("one of four outcomes under 40 °C: %v", post.Chance)
	}
}

// The portion that stands up to least is the one that is judged, and is named.
func TestSticks_WeakestPortion(t *testing.T) {
	t.Parallel()
	in := made(50, 0.3, 150)
	weak := in.Boil.Portions[0]
	g := q.ExactOf(39)
	weak.ID, weak.GlassC = "two", &g
	in.Boil.Portions = append(in.Boil.Portions, weak)
	in.Portions = map[string]string{"one": "clear green", "two": "cream"}
	v := Of(in).List[0]
	if v.Answer != Likely || v.FigureC.Value != 39 || v.Text[:len("the cream portion ")] != "the cream portion " {
		t.Errorf("%q, %v: %s", v.Answer, v.FigureC, v.Text)
	}
	if got := Of(made(50, 0.3, 150)).List[0].Text; got[:6] != "stands" {
		t.Errorf("one portion alone is named: %s", got)
	}
}

// While nobody has worked out the invert sugar of a boil with acid, it is not known
// whether it grains, and the range of what it stands up to reaches further down.
func TestVerdicts_InvertNotKnown(t *testing.T) {
	t.Parallel()
	in := made(42, 0, 150)
	in.Boil.Doctored, in.Boil.Portions[0].GlassDraws = true, []float64{42, 42}
	v := Of(in)
	if v.List[1].Answer != NotKnown || v.List[1].FigureFrac != nil || v.Open.Bound != Unknown {
		t.Errorf("grains: %q, %v; open: %q", v.List[1].Answer, v.List[1].FigureFrac, v.Open.Bound)
	}
	if s := v.List[0]; s.Answer != Borderline || s.FigureC.Low > 36 || s.Limits[2].Chance != nil {
		t.Errorf("sticks: %q, %+v", s.Answer, s.FigureC)
	}
	in.Boil.DoctorFrac = q.ExactOf(0.3) // syrup enough whatever the acid does
	if got := Of(in).List[1].Answer; got != No {
		t.Errorf("with 30 %% of syrup it grains: %q", got)
	}
	in.Boil.DoctorFrac = q.ExactOf(0.15)
	if got := Of(in).List[1].Answer; got != NotKnown {
		t.Errorf("with 15 %% of syrup and acid it grains: %q", got)
	}
	e := q.ExactOf(0.12)
	in.Boil.InvertFrac = &e // of the two the better decides
	if got := Of(in).List[1].Answer; got != No {
		t.Errorf("with 15 %% of syrup and 12 %% of invert sugar it grains: %q", got)
	}
	in.Boil.InvertFrac.Value, in.Boil.InvertFrac.Low, in.Boil.InvertFrac.High = 0.05, 0.05, 0.05
	if got := Of(in).List[1].Answer; got != Borderline {
		t.Errorf("with 15 %% of syrup and 5 %% of invert sugar it grains: %q", got)
	}
}

// A boil with enough invert sugar by its middle figure is not told to make more, however
// wide the range; one with too little is.
func TestGrains_MoreInvertOnlyWhereItLacks(t *testing.T) {
	t.Parallel()
	for mid, want := range map[float64]int{0.09: 1, 0.11: 0} {
		in := doctored(made(60, 0, 150), mid)
		in.Boil.InvertFrac.Low, in.Boil.InvertFrac.High = mid/2, mid*2
		if v := Of(in).List[1]; v.Answer != Borderline || len(v.Moves) != want {
			t.Errorf("%g of invert sugar: %q, %v", mid, v.Answer, v.Moves)
		}
	}
}

// Outside the range of the glass transition nothing is claimed.
func TestVerdicts_NoGlass(t *testing.T) {
	t.Parallel()
	in := made(50, 0.3, 150)
	in.Boil.Portions[0].GlassC = nil
	v := Of(in)
	if v.List[0].Answer != NotKnown || v.List[0].FigureC != nil || v.Map != nil || v.Open.Bound != Unknown {
		t.Errorf("%+v", v)
	}
}

// What browns sooner than sugar has no figure; above the limit it browns all the same.
func TestBrowns_Butter(t *testing.T) {
	t.Parallel()
	for end, want := range map[float64]Answer{150: NotKnown, 165: Likely} {
		in := made(50, 0.3, end)
		in.Boil.Browns = []string{"Butter"}
		if got := answers(in)[2]; got != want {
			t.Errorf("butter, boiled to %g °C: %q, want %q", end, got, want)
		}
	}
}

// Water in a slab is kept two kelvins above the dew point of tables (source key
// psychrometric-table, to 0.1 °C).
func TestAir_SlabWater(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ air, humidity, dew float64 }{{20, 0.40, 6.0}, {25, 0.50, 13.9}, {30, 0.60, 21.4}} {
		in := made(45, 0.3, 150)
		in.Room.Air, in.Room.Humidity = q.Celsius(c.air), q.Fraction(c.humidity)
		a := Of(in).Air
		if a == nil || math.Abs(float64(a.DewC)-c.dew) > 0.1 || math.Abs(float64(a.SlabWaterC)-c.dew-2) > 0.1 {
			t.Errorf("%g °C, %g humidity: %+v, want a dew point of %g °C", c.air, c.humidity, a, c.dew)
		}
	}
	in := made(45, 0.3, 150)
	in.Room.Air, in.Room.Humidity = 5, 0.3 // dew below freezing
	if a := Of(in).Air; a != nil {
		t.Errorf("%+v", a)
	}
}

// Outside its table the time open to the room says on which side it lies.
func TestOpen_Bounds(t *testing.T) {
	t.Parallel()
	at := func(air, humidity, water float64) Bound {
		in := made(45, 0.3, 150)
		in.Room.Air, in.Room.Humidity = q.Celsius(air), q.Fraction(humidity)
		s := in.weakest()
		s.water = water
		return in.open(s).Bound
	}
	for _, c := range []struct {
		air, humidity, water float64
		want                 Bound
	}{
		{24, 0.45, 0.030, About}, {18, 0.45, 0.030, AtLeast}, {31, 0.45, 0.030, Unknown},
		{24, 0.80, 0.030, AtMost}, {24, 0.95, 0.030, AtMost}, {24, 0.29, 0.030, AtLeast}, {24, 0.20, 0.030, Never},
		{24, 0.09, 0.030, Unknown}, {24, 0.45, 0.020, AtLeast}, {24, 0.45, 0.045, AtMost},
	} {
		if got := at(c.air, c.humidity, c.water); got != c.want {
			t.Errorf("%g °C, %g humidity, %g water: %q, want %q", c.air, c.humidity, c.water, got, c.want)
		}
	}
	in := made(45, 0.3, 150)
	s := in.weakest()
	s.water = 0.06
	if o := in.open(s); o.TimeS == nil || o.TimeS.Value != 0 {
		t.Errorf("too wet to be a glass: %+v", o)
	}
}

// Texts are written for their reader.
func TestVerdicts_Reader(t *testing.T) {
	t.Parallel()
	in := made(43.2, 0.3, 150)
	in.Units = q.US.With(q.Point)
	if got, want := Of(in).List[0].Text, "stands up to 110 °F; the post reaches 104 °F"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	in.Units = q.Metric.With(q.Comma)
	in.Boil.DoctorFrac = q.Estimate{Value: 0.3, Low: 0.21, High: 0.34, Basis: q.Estimated}
	in.Boil.LateK = &q.Estimate{Value: 1.15, Low: 1, High: 1.3, Basis: q.Estimated}
	if got := fmt.Sprint(Of(in).List[2].Decides); got[len(got)-len("1,1 K (1–1,3), estimated]"):] != "1,1 K (1–1,3), estimated]" {
		t.Errorf("%q has no decimal comma", got)
	}
}

// What is cooked back is said where it decides, and less of it is a way out.
func TestSticks_CookBack(t *testing.T) {
	t.Parallel()
	in := made(20, 0.3, 150)
	holds := func(list []string, part string) bool {
		return slices.ContainsFunc(list, func(s string) bool { return strings.Contains(s, part) })
	}
	if v := Of(in).List[0]; holds(v.Decides, "cooked back") || holds(v.Moves, "cook-back") {
		t.Error("cook-back is spoken of without any")
	}
	in.Boil.CookedBack = &boil.CookedBack{Share: 0.1, Times: &q.Estimate{Value: 1.11, Low: 1.1, High: 1.12, Basis: q.Estimated}}
	v := Of(in).List[0]
	if !holds(v.Decides, "with 10 % cooked back, boil after boil, 1.11 times (1.1–1.12), estimated, as much sugar is inverted") || !holds(v.Moves, "less cook-back") {
		t.Errorf("%q, %q", v.Decides, v.Moves)
	}
	in.Boil.Portions[0].GlassC = &q.Estimate{Value: 70, Low: 65, High: 75, Basis: q.Estimated}
	if v := Of(in).List[0]; holds(v.Moves, "cook-back") {
		t.Error("a way out of nothing")
	}
}
