package keeping

import (
	"math"
	"math/rand/v2"
	"testing"

	"slabside/internal/bag"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// world is a pack as it really is, made apart from the model: another isotherm (the
// sucrose equation of source key zobrist2011 and a share that sorbs more), water carried
// by small steps in time through a store that swings from day to night, and errors with
// heavy tails.
type world struct {
	rng     *rand.Rand
	passes  float64 // P A at 25 °C [g/(day kPa)]
	barrier float64
	wetter  float64 // of the activity
	water   float64
	limit   float64
	dryG    float64
}

// heavy is Student's distribution of four degrees of freedom, in units of its own 95 % point.
func (w world) heavy() float64 {
	chi := 0.0
	for range 4 {
		z := w.rng.NormFloat64()
		chi += z * z
	}
	return w.rng.NormFloat64() / math.Sqrt(chi/4) / 2.132
}

// activity over a water [g/g], not the program's isotherm.
func (w world) activity(x float64) float64 {
	dry := 1 / (1 + x)
	return max(0, (1-dry)/(1-0.99721*dry+0.13599*dry*dry)+w.wetter)
}

// until carries the water on and returns the days until it is at the limit, or the gain
// after days of them [g].
func (w world) until(at, humidity, days float64) (reached, gain float64) {
	x := w.water / (1 - w.water)
	first, limit, t := x, w.limit/(1-w.limit), 0.0
	const step = 1.0 / 12
	for t < days && x < limit {
		c := at + 3*math.Sin(2*math.Pi*t)
		p0, _ := pressureKPa(q.Celsius(c))
		pass := w.passes * math.Exp(-w.barrier/gasConstant*(1/(c+273.15)-1/298.15))
		x += step * pass * p0 * (humidity - w.activity(x)) / w.dryG
		t += step
	}
	if x < limit {
		t = math.Inf(1)
	}
	return t, (x - first) * w.dryG
}

// worldOf draws what may really be behind a pack that the program knows the middle of.
func worldOf(seed uint64, in Inputs, r *run) world {
	w := world{rng: rand.New(rand.NewPCG(seed, 7)), barrier: r.wall.sheets[0].barrier, dryG: r.dryG}
	w.passes = r.wall.passes(25, nil) * math.Exp(r.wall.sheets[0].spread*ninety*w.heavy())
	w.wetter = 0.07 * w.heavy() // beside the isotherms' own difference
	w.water = in.Sweet.Water
	w.limit = max(w.water, min(w.water+float64(Gain), r.softens+criticalHalf*w.heavy()))
	return w
}

// Nine in ten of the packs keep as long as the range has it, before a weighing and after:
// within 4 in 100 below, as sampling of 400 leaves it.
func TestRanges_CoverWhatIsPlanted(t *testing.T) {
	t.Parallel()
	const worlds = 400
	for name, weighings := range map[string]int{"unweighed": 0, "weighed": 3} {
		covered, width := 0, 0.0
		for seed := range uint64(worlds) {
			in := kept(25, 0.65, opp())
			in.Ensemble = numeric.NewEnsemble(256, 1)
			w := worldOf(seed, in, ran(t, in))
			for i := range weighings {
				days := float64(7 * (i + 1))
				whole := w
				whole.limit = 0.3
				_, gain := whole.until(21, 0.55, days)
				gain += 0.05 * w.heavy() // g, the scale's and the hand's
				in.Pack.Weighed = append(in.Pack.Weighed, bag.Weighing{Days: days, Gain: q.Kilograms(max(1e-6, gain/1e3)), At: 21, Humidity: 0.55})
			}
			if weighings > 0 { // another bag of the delivery is kept
				w.passes *= math.Exp(math.Log(1+weighedHalf) * w.heavy())
			}
			k := ask(t, in)
			truth, _ := w.until(25, 0.65, Horizon)
			if truth >= k.Days.Low && truth <= k.Days.High {
				covered++
			}
			width += math.Log(k.Days.High/k.Days.Low) / worlds
		}
		share := float64(covered) / worlds
		t.Logf("%s: %.1f %% of %d packs are inside, ends a factor of %.2f apart", name, 100*share, worlds, math.Exp(width))
		if share < 0.86 {
			t.Errorf("%s: %.1f %% of the packs are inside their range, 90 %% is claimed", name, 100*share)
		}
		if share > 0.99 {
			t.Errorf("%s: %.1f %% are inside: the range is wider than it says", name, 100*share)
		}
	}
}

// A planted P A is recovered from weighings without error to the last digit, from four
// that are off by a scale's step within the stated ±, and narrows the range.
func TestFit_RecoversWhatIsPlanted(t *testing.T) {
	t.Parallel()
	in := kept(25, 0.65, opp())
	r := ran(t, in)
	for _, planted := range []float64{0.4, 1, 2.5} {
		weighedAs := func(off float64) []bag.Weighing {
			var out []bag.Weighing
			for i, days := range []float64{7, 14, 21, 28} {
				p0, _ := pressureKPa(22)
				to := after(r.start(in.Sweet.Water), 0.6, planted*r.wall.passes(22, nil)*p0*days/r.dryG)
				gain := (sorbed(to) - sorbed(r.start(in.Sweet.Water))) * r.dryG
				out = append(out, bag.Weighing{Days: days, Gain: q.Kilograms((gain + off*float64(1-2*(i%2))) / 1e3), At: 22, Humidity: 0.6})
			}
			return out
		}
		f, ok := fitted(t, r, weighedAs(0), r.start(in.Sweet.Water))
		if !ok || math.Abs(f.factor/planted-1) > 1e-9 {
			t.Errorf("planted %g, found %+v", planted, f)
		}
		f, ok = fitted(t, r, weighedAs(scaleStep/2), r.start(in.Sweet.Water))
		if !ok || math.Abs(math.Log(f.factor/planted)) > f.spread*ninety {
			t.Errorf("planted %g with the scale off, found %+v", planted, f)
		}
		was := ask(t, in)
		now := in
		now.Pack.Weighed = weighedAs(0)
		k := ask(t, now)
		if k.Weighed != 4 || math.Abs(k.Days.Value*planted/was.Days.Value-1) > 1e-9 {
			t.Errorf("planted %g: %.6g days for %.6g", planted, k.Days.Value, was.Days.Value)
		}
		if k.Days.High/k.Days.Low >= was.Days.High/was.Days.Low {
			t.Errorf("weighed it is no surer: %+v for %+v", *k.Days, *was.Days)
		}
	}
}

// Weighings that contradict each other widen the range; one alone is not enough; one that
// lost weight or has come to balance says nothing.
func TestFit_WhatItIsWorth(t *testing.T) {
	t.Parallel()
	in := kept(25, 0.65, opp())
	r := ran(t, in)
	at := func(days, gainG float64) bag.Weighing {
		return bag.Weighing{Days: days, Gain: q.Kilograms(gainG / 1e3), At: 22, Humidity: 0.6}
	}
	agree, ok := fitted(t, r, []bag.Weighing{at(10, 0.5), at(20, 1), at(30, 1.5)}, 0.15)
	differ, ok2 := fitted(t, r, []bag.Weighing{at(10, 1.0), at(20, 1), at(30, 1.5)}, 0.15)
	if !ok || !ok2 || differ.spread <= agree.spread {
		t.Errorf("%+v, contradicting %+v", agree, differ)
	}
	if agree.spread < math.Log(1+weighedHalf)/ninety-1e-12 {
		t.Errorf("surer than bags are alike: %+v", agree)
	}
	for name, list := range map[string][]bag.Weighing{"one": {at(10, 0.5)}, "lost": {at(10, 0.5), at(20, -0.1)}, "at balance": {at(10, 0.5), at(20, 60)}} {
		if f, ok := fitted(t, r, list, 0.15); ok {
			t.Errorf("%s: %+v", name, f)
		}
	}
	// What was in the pack that was weighed counts, not what is in this one.
	half := in
	half.Net /= 2
	half.Pack.Held = in.Net
	half.Pack.Weighed, in.Pack.Weighed = []bag.Weighing{at(10, 0.5), at(20, 1)}, []bag.Weighing{at(10, 0.5), at(20, 1)}
	if a, b := ran(t, half).fitted.factor, ran(t, in).fitted.factor; math.Abs(a/b-1) > 1e-12 {
		t.Errorf("half a pack passes %g, a whole one %g", a, b)
	}
}

// The answers that are no number of days, each on both sides of its edge.
func TestBounds(t *testing.T) {
	t.Parallel()
	solids := drops().Solids
	edge, err := sugar.WaterAtGlass(solids, 25+q.Celsius(Margin))
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		change func(in *Inputs)
		want   Bound
	}{
		"about":                    {func(*Inputs) {}, About},
		"dry air":                  {func(in *Inputs) { in.Steps[0].Humidity = 0.10 }, Never},
		"hot":                      {func(in *Inputs) { in.Steps[0].At = 50 }, None},
		"just dry enough to begin": {func(in *Inputs) { in.Sweet.Water = float64(edge) * 0.99 }, About},
		"just too damp to begin":   {func(in *Inputs) { in.Sweet.Water = float64(edge) * 1.01 }, None},
		"foil": {func(in *Inputs) {
			in.Pack.Layers = []bag.Layer{{Film: bag.FoilLaminate}}
		}, AtLeast},
	} {
		in := kept(25, 0.65, opp())
		c.change(&in)
		k := ask(t, in)
		if k.Bound != c.want || (k.Days == nil) != (c.want == Never) {
			t.Errorf("%s: %s, %v (%s)", name, k.Bound, k.Days, k.Text)
		}
		if c.want == None && k.Days.Value != 0 {
			t.Errorf("%s: %g days", name, k.Days.Value)
		}
		if k.Days != nil && !(k.Days.Low <= k.Days.Value && k.Days.Value <= k.Days.High && k.Days.High <= Horizon) {
			t.Errorf("%s: %+v", name, *k.Days)
		}
	}
	// Balance below the limit by the middle figures, above it at the unlucky end: the low
	// end is told.
	in := kept(25, 0.20, opp())
	if k := ask(t, in); k.Bound != AtLeast || k.Days.Low >= Horizon {
		t.Errorf("at the edge of never: %+v", k)
	}
}

func TestRefuses(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(in *Inputs){
		"tied":             func(in *Inputs) { in.Pack.Closure = bag.Tied },
		"of nothing known": func(in *Inputs) { in.Pack.Layers = nil },
		"of nothing known, weighed without a gain": func(in *Inputs) {
			in.Pack.Layers = nil
			in.Pack.Weighed = []bag.Weighing{{Days: 7, Gain: -1e-4, At: 22, Humidity: 0.5}, {Days: 14, Gain: -1e-4, At: 22, Humidity: 0.5}}
		},
		"nowhere":       func(in *Inputs) { in.Steps = nil },
		"nothing in it": func(in *Inputs) { in.Net = 0 },
		"frozen":        func(in *Inputs) { in.Steps[0].At = -1 },
		"steam":         func(in *Inputs) { in.Steps[0].At = 61 },
		"no humidity":   func(in *Inputs) { in.Steps[0].Humidity = 0.09 },
		"fog":           func(in *Inputs) { in.Steps[0].Humidity = 0.91 },
		"no time in a place": func(in *Inputs) {
			in.Steps = append([]Step{{0, 20, 0.5}}, in.Steps...)
		},
		"no film": func(in *Inputs) { in.Pack.Layers = []bag.Layer{{Film: "mist"}} },
	} {
		in := kept(25, 0.65, opp())
		change(&in)
		if k, err := Of(in); err == nil {
			t.Errorf("%s: %+v", name, k)
		}
	}
}

// A pack of which nothing is known but its weighings keeps as long as one whose film gave
// the same weighings.
func TestFit_AloneIsEnough(t *testing.T) {
	t.Parallel()
	in := kept(22, 0.6, opp())
	in.Pack.Weighed = []bag.Weighing{{Days: 10, Gain: 0.3e-3, At: 22, Humidity: 0.55}, {Days: 20, Gain: 0.6e-3, At: 22, Humidity: 0.55}}
	was := ask(t, in)
	in.Pack.Layers = nil
	if now := ask(t, in); math.Abs(now.Days.Value/was.Days.Value-1) > 1e-12 {
		t.Errorf("%.9g days, with its film %.9g", now.Days.Value, was.Days.Value)
	}
}

// The caution of the isotherm flips where its range ends.
func TestCautions_Flip(t *testing.T) {
	t.Parallel()
	for at, want := range map[q.Celsius]bool{19.9: true, 20: false, 30: false, 30.1: true} {
		said := false
		for _, c := range ask(t, kept(at, 0.5, opp())).Cautions {
			said = said || c.Code == CodeIsotherm
		}
		if said != want {
			t.Errorf("%g °C: said %v", float64(at), said)
		}
	}
}

// A weighed pack that lets in more than films of its kind is told to be leaky, 1 % above
// the most that they do and not 1 % below.
func TestCautions_Leaky(t *testing.T) {
	t.Parallel()
	in := kept(25, 0.65, opp())
	r := ran(t, in)
	for times, want := range map[float64]bool{0.99: false, 1.01: true} {
		in.Pack.Weighed = nil
		for _, days := range []float64{10, 20} {
			p0, err := pressureKPa(22)
			if err != nil {
				t.Fatal(err)
			}
			from := r.start(in.Sweet.Water)
			to := after(from, 0.6, times*r.wall.most()*r.wall.passes(22, nil)*p0*days/r.dryG)
			in.Pack.Weighed = append(in.Pack.Weighed, bag.Weighing{Days: days, Gain: q.Kilograms((sorbed(to) - sorbed(from)) * r.dryG / 1e3), At: 22, Humidity: 0.6})
		}
		said := false
		for _, c := range ask(t, in).Cautions {
			said = said || c.Code == CodeLeaky
		}
		if said != want {
			t.Errorf("%g of the most: said %v", times, said)
		}
	}
}

// Every film of the book has a row, and every row is a film.
func TestFilms_AreTheBooks(t *testing.T) {
	t.Parallel()
	for _, f := range bag.Films() {
		if x := films()[f]; !(x.low > 0 && x.low < x.high && x.thick > 0 && x.barrier > 0) {
			t.Errorf("%s: %+v", f, x)
		}
	}
	if len(films()) != len(bag.Films()) {
		t.Errorf("%d rows for %d films", len(films()), len(bag.Films()))
	}
}

// The same pack gives the same figures.
func TestOf_Repeats(t *testing.T) {
	t.Parallel()
	in := kept(25, 0.65, opp())
	if a, b := ask(t, in), ask(t, in); *a.Days != *b.Days {
		t.Errorf("%+v and %+v", *a.Days, *b.Days)
	}
}

func fitted(t *testing.T, r *run, list []bag.Weighing, start float64) (fit, bool) {
	t.Helper()
	w, err := weighingsOf(r.wall, list, r.dryG)
	if err != nil {
		t.Fatal(err)
	}
	return fitOf(w, r.dryG, r.stepG, start, 0)
}

// Each answer in words; the ends that are worth a figure have one.
func TestSay(t *testing.T) {
	t.Parallel()
	u := q.Metric.With(q.Point)
	for _, c := range []struct {
		bound            Bound
		value, low, high float64
		want             string
	}{
		{About, 53, 45, 61, "53 days (45–61), estimated"},
		{About, 1.5, 0.75, 3, "36 h (18–72), estimated"},
		{AtLeast, Horizon, Horizon, Horizon, "at least 1095 days, estimated"},
		{AtLeast, Horizon, 900, Horizon, "at least 1095 days, at the unlucky end 900, estimated"},
		{None, 0, 0, 0, "no time, estimated"},
		{None, 0, 0, 9.25, "no time, at the lucky end 9.2 days, estimated"},
	} {
		if got := Say(u, c.bound, q.Estimate{Value: c.value, Low: c.low, High: c.high, Basis: q.Estimated}); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
