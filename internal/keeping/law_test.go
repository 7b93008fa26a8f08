package keeping

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/bag"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// storeDraw draws a pack of some film in some store.
func storeDraw(t *rapid.T) Inputs {
	in := kept(q.Celsius(rapid.Float64Range(8, 30).Draw(t, "at")), q.Fraction(rapid.Float64Range(0.25, 0.85).Draw(t, "humidity")),
		bag.Layer{Film: rapid.SampledFrom([]bag.Film{bag.OrientedPP, bag.CastPP, bag.LowPE, bag.HighPE, bag.Polyester, bag.PVC}).Draw(t, "film"),
			Thickness: q.Metres(rapid.Float64Range(12e-6, 80e-6).Draw(t, "thick"))})
	in.Sweet.Water = rapid.Float64Range(0.012, 0.03).Draw(t, "water")
	return in
}

func middle(t fataler, in Inputs) float64 { t.Helper(); return ran(t, in).middle() }

// Damper air, more wall, thinner film, a warmer store and wetter sweets keep less long.
func TestLaws_Monotone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := storeDraw(t)
		was := middle(t, in)
		for name, change := range map[string]func(in *Inputs){
			"damper":  func(in *Inputs) { in.Steps[0].Humidity += 0.02 },
			"larger":  func(in *Inputs) { in.Pack.Height *= 1.05 },
			"thinner": func(in *Inputs) { in.Pack.Layers[0].Thickness *= 0.95 },
			"warmer":  func(in *Inputs) { in.Steps[0].At++ },
		} {
			other := in
			other.Steps = append([]Step(nil), in.Steps...)
			other.Pack.Layers = append([]bag.Layer(nil), in.Pack.Layers...)
			change(&other)
			if now := middle(t, other); !(now < was || math.IsInf(was, 1) || was == 0) {
				t.Fatalf("%s: from %.6g days to %.6g", name, was, now)
			}
		}
	})
}

// Twice the wall halves the time; twice of everything leaves it; two sheets of a film are
// one of twice the thickness, and their order does not matter.
func TestLaws_Scale(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := storeDraw(t)
		was := middle(t, in)
		if math.IsInf(was, 1) || was == 0 {
			return
		}
		same := func(what string, other Inputs, times float64) {
			if got := middle(t, other); math.Abs(got/was-times) > 1e-9 {
				t.Fatalf("%s: %.9g times as long, want %g", what, got/was, times)
			}
		}
		other := in
		other.Pack.Height *= 2
		same("twice the wall", other, 0.5)
		other.Net *= 2
		same("twice of all", other, 1)
		other = in
		l := in.Pack.Layers[0]
		other.Pack.Layers = []bag.Layer{l, l}
		same("two sheets", other, 2)
		l.Thickness *= 2
		other.Pack.Layers = []bag.Layer{l}
		same("twice the thickness", other, 2)
		a, b := in, in
		a.Pack.Layers, b.Pack.Layers = []bag.Layer{l, opp()}, []bag.Layer{opp(), l}
		if x, y := middle(t, a), middle(t, b); math.Abs(x/y-1) > 1e-12 || x <= was {
			t.Fatalf("in one order %.9g days, in the other %.9g, with one sheet %.9g", x, y, was)
		}
	})
}

// Resistances add: of sheets that would keep it a and b days alone, both keep it a + b.
func TestLaws_SheetsInSeries(t *testing.T) {
	t.Parallel()
	a, b := opp(), bag.Layer{Film: bag.LowPE, Thickness: 50e-6}
	one, other, both := middle(t, kept(25, 0.6, a)), middle(t, kept(25, 0.6, b)), middle(t, kept(25, 0.6, a, b))
	if math.Abs(both/(one+other)-1) > 1e-12 {
		t.Errorf("%.6g and %.6g days alone, %.6g together", one, other, both)
	}
}

// A place cut in two is one place; and water is carried over: a damp week first leaves
// less than a dry one.
func TestLaws_PlacesFollow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := storeDraw(t)
		was := middle(t, in)
		if math.IsInf(was, 1) || was == 0 {
			return
		}
		s := in.Steps[0]
		cut := in
		cut.Steps = []Step{{was * rapid.Float64Range(0.01, 0.99).Draw(t, "cut"), s.At, s.Humidity}, s}
		if cut.Steps[0].Days > Horizon {
			return
		}
		if got := middle(t, cut); math.Abs(got/was-1) > 1e-7 {
			t.Fatalf("in two places alike %.9g days, in one %.9g", got, was)
		}
		for _, h := range []float64{-0.1, 0.05} {
			cut.Steps[0].Humidity = s.Humidity + q.Fraction(h)
			if got := middle(t, cut); (got > was) != (h < 0) {
				t.Fatalf("%g damper at first: %.9g days for %.9g", h, got, was)
			}
		}
	})
}

// Drying in a first place is time gained, down to that place's own balance.
func TestLaws_DriesToo(t *testing.T) {
	t.Parallel()
	in := kept(25, 0.65, opp())
	in.Sweet.Water = 0.028
	was := middle(t, in)
	in.Steps = []Step{{3 * 365, 25, 0.10}, in.Steps[0]}
	r := ran(t, in)
	from := after(r.start(0.028), 0.10, 1e3)
	if math.Abs(from-0.10) > 1e-9 {
		t.Errorf("in the end it is at %.6f, want the 0.10 of its air", from)
	}
	if got := r.middle(); got <= in.Steps[0].Days+was {
		t.Errorf("after drying it keeps %.6g days, without %.6g", got-in.Steps[0].Days, was)
	}
}

// The rule of eight points is what its name says: exact up to the fifteenth power.
func TestLegendre(t *testing.T) {
	t.Parallel()
	for power := 0; power <= 14; power += 2 {
		sum := 0.0
		for _, n := range legendre8() {
			sum += 2 * n.weight * math.Pow(n.at, float64(power))
		}
		if want := 2 / float64(power+1); math.Abs(sum-want) > 1e-14 {
			t.Errorf("power %d: %.16g, want %.16g", power, sum, want)
		}
	}
}

// Uptake is its integral, summed here in small steps of the activity, wetting and drying;
// and after undoes it.
func TestUptake_IsTheIntegral(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0.1, 0.9).Draw(t, "humidity")
		from := rapid.Float64Range(0, 0.6).Draw(t, "from")
		far := rapid.Float64Range(0.01, 3).Draw(t, "far")
		to := h - (h-from)*math.Exp(-far)
		if math.Abs(h-from) < 1e-3 {
			return
		}
		const steps = 4000
		sum := 0.0
		for i := range steps { // trapezia in the water itself
			a := from + (to-from)*float64(i)/steps
			b := from + (to-from)*float64(i+1)/steps
			wet, _ := sugar.SorbedWater(b)
			dry, _ := sugar.SorbedWater(a)
			sum += (wet - dry) / (h - (a+b)/2)
		}
		got := uptake(from, to, h)
		if math.Abs(got/sum-1) > 1e-5 {
			t.Fatalf("%.9g, summed %.9g", got, sum)
		}
		if back := after(from, h, got); math.Abs(back-to) > 1e-9 {
			t.Fatalf("%.9g came back as %.9g", to, back)
		}
	})
}

// The log equation on a slip gives the time that stands beside it.
func TestLog_GivesTheDays(t *testing.T) {
	t.Parallel()
	for _, h := range []q.Fraction{0.35, 0.5, 0.65, 0.8} {
		k := ask(t, kept(25, h, opp()))
		if got := k.Log.Days(); math.Abs(got/k.Days.Value-1) > 1e-12 {
			t.Errorf("%g: the slip comes to %.9g days, the figure is %.9g", h, got, k.Days.Value)
		}
	}
}

func BenchmarkOf(b *testing.B) {
	in := kept(25, 0.65, opp(), bag.Layer{Film: bag.LowPE, Thickness: 40e-6})
	for b.Loop() {
		if _, err := Of(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOf_Weighed(b *testing.B) {
	in := kept(25, 0.65, opp())
	in.Pack.Weighed = []bag.Weighing{{Days: 7, Gain: 0.25e-3, At: 22, Humidity: 0.6}, {Days: 14, Gain: 0.5e-3, At: 22, Humidity: 0.6}, {Days: 28, Gain: 0.97e-3, At: 22, Humidity: 0.6}}
	in.Steps = []Step{{14, 20, 0.5}, {3, 30, 0.6}, {0, 22, 0.65}}
	for b.Loop() {
		if _, err := Of(in); err != nil {
			b.Fatal(err)
		}
	}
}
