package heat

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
)

// jump is the enthalpy of matter whose heat capacity jumps.
func jump(atC, below, above float64) func(float64) float64 {
	return func(c float64) float64 {
		if c < atC {
			return below * (c - atC)
		}
		return above * (c - atC)
	}
}

func drawMatter(t *rapid.T) Matter {
	below := rapid.Float64Range(300, 2500).Draw(t, "capacity below")
	m := Matter{Heat: ConstantHeat(below), Density: rapid.Float64Range(500, 9000).Draw(t, "density"), K: math.Exp(rapid.Float64Range(-2, 5).Draw(t, "ln k"))}
	m.KPer = m.K * rapid.Float64Range(-0.002, 0.003).Draw(t, "growth of k")
	if rapid.Bool().Draw(t, "jumps") {
		c, err := NewCurve(-60, 260, jump(rapid.Float64Range(20, 120).Draw(t, "jump at"), below, below*rapid.Float64Range(0.5, 2).Draw(t, "by")))
		if err != nil {
			t.Fatal(err)
		}
		m.Heat = c
	}
	return m
}

func drawFace(t *rapid.T) Face {
	f := Face{AmbientC: rapid.Float64Range(-10, 180).Draw(t, "ambient")}
	switch rapid.IntRange(0, 4).Draw(t, "face") {
	case 1:
		f.Film = math.Exp(rapid.Float64Range(0, 9).Draw(t, "ln film"))
	case 2:
		f.Length, f.Emissivity = rapid.Float64Range(0.05, 0.5).Draw(t, "length"), rapid.Float64Range(0, 1).Draw(t, "emissivity")
	case 3:
		f.Film = math.Inf(1)
	case 4:
		f.Film, f.Length, f.Emissivity, f.Stir = 5, 0.2, 0.9, 2
	}
	return f
}

func drawLayers(t *rapid.T) []Layer {
	var layers []Layer
	for range rapid.IntRange(1, 3).Draw(t, "layers") {
		l := Layer{Matter: drawMatter(t), Thickness: rapid.Float64Range(0.0005, 0.05).Draw(t, "thickness"), Cells: rapid.IntRange(1, 12).Draw(t, "cells"), TempC: rapid.Float64Range(-10, 180).Draw(t, "temp")}
		if rapid.Bool().Draw(t, "contact") {
			l.Contact = math.Exp(rapid.Float64Range(2, 9).Draw(t, "ln contact"))
		}
		layers = append(layers, l)
	}
	return layers
}

func drawStack(t *rapid.T) *Stack {
	layers, face := drawLayers(t), drawFace(t)
	var s *Stack
	var err error
	switch rapid.SampledFrom([]shape{plane, plane, cylinder, sphere}).Draw(t, "shape") {
	case plane:
		s, err = NewStack(drawFace(t), face, layers...)
	case cylinder:
		s, err = NewCylinder(face, layers...)
	case sphere:
		s, err = NewSphere(face, layers...)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *Stack) whole() float64 {
	sum := 0.0
	for i := range s.layers {
		sum += s.Heat(i)
	}
	return sum
}

// reach is the coldest and the warmest there is, in the stack and around it.
func (s *Stack) reach() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	s.temps(s.h, s.scratch.now)
	for _, t := range s.scratch.now {
		low, high = min(low, t), max(high, t)
	}
	for i, f := range []Face{s.Below, s.Above} {
		if (f.Film > 0 || f.Length > 0 || f.Emissivity > 0) && (i == 1 || s.shape == plane) {
			low, high = min(low, f.AmbientC), max(high, f.AmbientC)
		}
	}
	return low, high
}

// What comes in through the sides is what the layers have more, whatever the matter does,
// and no cell is ever warmer or colder than all there was.
func TestStack_KeepsHeatAndItsBounds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawStack(t)
		low, high := s.reach()
		before, scale := s.whole(), 0.0
		for _, l := range s.layers {
			for i := l.from; i < l.to; i++ {
				scale += s.mass[i] * (l.matter.Heat.Enthalpy(high) - l.matter.Heat.Enthalpy(low))
			}
		}
		for range rapid.IntRange(1, 4).Draw(t, "stretches") {
			if err := s.Advance(math.Exp(rapid.Float64Range(-2, 8).Draw(t, "ln seconds"))); err != nil {
				t.Fatal(err)
			}
		}
		below, above := s.HeatIn()
		if off := s.whole() - before - below - above; math.Abs(off) > 1e-9*scale+1e-6 {
			t.Errorf("%g J/m² of %g came from nowhere", off, scale)
		}
		now, most := s.reach()
		if now < low-0.001 || most > high+0.001 {
			t.Errorf("from %g to %g °C there came %g to %g", low, high, now, most)
		}
	})
}

// A stack with a fold in it: the whole of it, by its area, holds what it held.
func TestFold_KeepsHeat(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, err := NewStack(drawFace(t), drawFace(t), drawLayers(t)...)
		if err == nil {
			err = s.Advance(rapid.Float64Range(0, 300).Draw(t, "seconds"))
		}
		if err != nil {
			t.Fatal(err)
		}
		top := len(s.layers) - 1
		before, deep := s.Heat(top), s.Thickness(top)
		scale := 0.0
		for i := s.layers[top].from; i < s.layers[top].to; i++ {
			scale += s.mass[i] * math.Abs(s.h[i])
		}
		depth, mixed := rapid.Float64Range(0.001, 0.1).Draw(t, "depth"), rapid.Float64Range(0, 1).Draw(t, "mixed")
		if rapid.Bool().Draw(t, "as it comes") {
			depth = 0
		}
		s.Fold(mixed, depth)
		times := s.Thickness(top) / deep // by that much less area
		if depth == 0 && times != 2 {
			t.Errorf("it is %g times as thick", times)
		}
		if depth > 0 && math.Abs(s.Thickness(top)/depth-1) > 1e-14 {
			t.Errorf("it is %g m thick, not %g", s.Thickness(top), depth)
		}
		if after := s.Heat(top) / times; math.Abs(after-before) > 1e-12*scale {
			t.Errorf("%g J/m² before, %g after by the area before", before, after)
		}
		l := s.layers[top]
		if mean := s.Mean(top); mixed == 1 {
			for i := l.from; i < l.to; i++ {
				if c := l.matter.Heat.Temp(s.h[i]); math.Abs(c-mean) > 1e-9 {
					t.Errorf("kneaded through, and a cell is at %g °C of %g", c, mean)
				}
			}
		}
	})
}

// Folding lays the lower side on top and the middle in the middle; what is of one
// temperature stays so, and only what is flat folds.
func TestFold_Order(t *testing.T) {
	t.Parallel()
	s := stack(t, 0, Face{}, Face{}, Layer{Matter: unit(), Thickness: 1, Cells: 6, TempC: 0})
	s.Swap(0, func(place int, _ float64) float64 { return float64(place) })
	s.Fold(0, 0)
	for i, want := range []float64{0.5, 2.5, 4.5, 4.5, 2.5, 0.5} {
		if s.h[i] != want {
			t.Errorf("cell %d is at %g, want %g", i, s.h[i], want)
		}
	}
	even := stack(t, 0, Face{}, Face{}, Layer{Matter: plain(), Thickness: 0.02, Cells: 7, TempC: 120})
	even.Fold(0.3, 0)
	for i, h := range even.h {
		if math.Abs(h-1950*120) > 1e-9 {
			t.Errorf("cell %d is at %g J/kg", i, h)
		}
	}
	if math.Abs(even.Thickness(0)-0.04) > 1e-15 || math.Abs(even.mass[0]-1480*0.04/7) > 1e-12 {
		t.Errorf("%g m thick, cells of %g kg/m²", even.Thickness(0), even.mass[0])
	}
	ball, err := NewSphere(Face{}, Layer{Matter: unit(), Thickness: 1, Cells: 6, TempC: 1})
	if err != nil {
		t.Fatal(err)
	}
	ball.Fold(1, 2)
	if ball.Thickness(0) != 1 {
		t.Error("a ball was folded")
	}
}

// Masses and faces of the three shapes add up to what they are of.
func TestShapes(t *testing.T) {
	t.Parallel()
	layers := []Layer{{Matter: unit(), Thickness: 0.3, Cells: 7}, {Matter: unit(), Thickness: 0.7, Cells: 4}}
	for power, make := range map[float64]func() (*Stack, error){
		1: func() (*Stack, error) { return NewStack(Face{}, Face{}, layers...) },
		2: func() (*Stack, error) { return NewCylinder(Face{}, layers...) },
		3: func() (*Stack, error) { return NewSphere(Face{}, layers...) },
	} {
		s, err := make()
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for i, m := range s.mass {
			sum += m
			at := s.layers[1].begins + float64(i+1-7)*s.layers[1].depth
			if i < 7 {
				at = float64(i+1) * s.layers[0].depth
			}
			if want := math.Pow(at, power) / power; math.Abs(sum-want) > 1e-14 {
				t.Errorf("power %g: %g kg/m² to %g m, want %g", power, sum, at, want)
			}
			if want := math.Pow(at, power-1); math.Abs(s.area[i+1]-want) > 1e-14 {
				t.Errorf("power %g: the face at %g m is of %g, want %g", power, at, s.area[i+1], want)
			}
		}
		// What is asked for by parts is weighed by volume.
		s.Swap(1, func(place int, _ float64) float64 { return float64(place) })
		part := func(from, to float64) float64 { return math.Pow(0.3+0.7*to, power) - math.Pow(0.3+0.7*from, power) }
		want := (part(0.1, 0.25)*0 + part(0.25, 0.4)*1) / part(0.1, 0.4)
		if got := s.Between(1, 0.1, 0.4); math.Abs(got-want) > 1e-12 {
			t.Errorf("power %g: a part is at %g, want %g", power, got, want)
		}
	}
}

// What cools only cools: hot candy on a cold table.
func TestStack_OnlyCools(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c, err := NewCurve(-20, 200, jump(55, 1400, 1400+rapid.Float64Range(0, 800).Draw(t, "jump")))
		if err != nil {
			t.Fatal(err)
		}
		s, err := NewStack(Face{AmbientC: 15, Film: rapid.Float64Range(20, 3000).Draw(t, "water")}, Face{AmbientC: 22, Length: 0.15, Emissivity: 0.9},
			Layer{Matter: steel(), Thickness: 0.01, Cells: 6, TempC: 15},
			Layer{Matter: Matter{Heat: c, Density: 1480, K: 0.2, KPer: 0.001}, Thickness: rapid.Float64Range(0.003, 0.05).Draw(t, "depth"), Cells: 24, TempC: 145, Contact: rapid.Float64Range(20, 5000).Draw(t, "contact")})
		if err != nil {
			t.Fatal(err)
		}
		before := s.Mean(1)
		for s.Time() < 900 {
			if err := s.take(900 - s.Time()); err != nil {
				t.Fatal(err)
			}
			if now := s.Mean(1); now > before+5e-4 { // at the end by what Newton's method leaves
				t.Fatalf("at %g s the mean rose from %g to %g °C", s.Time(), before, now)
			} else {
				before = now
			}
		}
	})
}

// Two halves that mirror each other stay so.
func TestStack_KeepsSymmetry(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		face, layers := drawFace(t), drawLayers(t)
		middle := Layer{Matter: drawMatter(t), Thickness: 0.01, Cells: rapid.IntRange(1, 8).Draw(t, "middle"), TempC: 90, Contact: 300}
		all := append([]Layer{}, layers...)
		all = append(all, middle)
		for i := len(layers) - 1; i >= 0; i-- { // the contact of a layer is with the one below
			l := layers[i]
			l.Contact = 300
			if i+1 < len(layers) {
				l.Contact = layers[i+1].Contact
			}
			all = append(all, l)
		}
		s, err := NewStack(face, face, all...)
		if err == nil {
			err = s.Advance(math.Exp(rapid.Float64Range(-1, 7).Draw(t, "ln seconds")))
		}
		if err != nil {
			t.Fatal(err)
		}
		s.temps(s.h, s.scratch.now)
		n := len(s.h)
		for i, c := range s.scratch.now {
			if other := s.scratch.now[n-1-i]; math.Abs(c-other) > 1e-4 { // Newton's method leaves as much
				t.Errorf("cell %d is at %g °C, its mirror at %g", i, c, other)
			}
		}
	})
}

// Going back to a moment undoes everything, to the last digit.
func TestBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := drawStack(t)
		if err := s.Advance(rapid.Float64Range(0, 100).Draw(t, "seconds")); err != nil {
			t.Fatal(err)
		}
		m := s.mark()
		run := func() (h []float64, in [2]float64, at float64, taken int) {
			for range 4 {
				if err := s.take(1000); err != nil {
					t.Fatal(err)
				}
			}
			in[0], in[1] = s.HeatIn()
			return append(h, s.h...), in, s.Time(), s.Steps()
		}
		h1, in1, at1, n1 := run()
		s.back(m)
		if s.mark() != m {
			t.Error("what was gone back to is not what was marked")
		}
		h2, in2, at2, n2 := run()
		if in1 != in2 || at1 != at2 || n1 != n2 {
			t.Errorf("%v J/m² at %g s in %d steps, then %v at %g in %d", in1, at1, n1, in2, at2, n2)
		}
		for i := range h1 {
			if h1[i] != h2[i] {
				t.Errorf("cell %d: %g, then %g", i, h1[i], h2[i])
			}
		}
	})
}

// A moment is met within a hundredth of a second, from after it.
func TestAdvanceUntil(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		make := func() *Stack {
			s, err := NewStack(Face{AmbientC: 20, Film: 800}, Face{AmbientC: 20, Film: 15},
				Layer{Matter: steel(), Thickness: 0.010, Cells: 6, TempC: 20}, Layer{Matter: plain(), Thickness: 0.020, Cells: 24, TempC: 140, Contact: 500})
			if err != nil {
				t.Fatal(err)
			}
			s.Bound = 0.001
			return s
		}
		s, to := make(), rapid.Float64Range(25, 139.9).Draw(t, "to")
		left := func(s *Stack) func() float64 { return func() float64 { return s.Mean(1) - to } }
		if met, err := s.AdvanceUntil(1e5, left(s)); !met || err != nil {
			t.Fatalf("%v, %v", met, err)
		}
		if now := left(s)(); now > 0 || now < -close*5 { // it cools by less than 5 K/s
			t.Errorf("%g K beyond", now)
		}
		again := make()
		if met, err := again.AdvanceUntil(s.Time()-2*close, left(again)); met || err != nil {
			// Other steps, other errors: they are told apart by what they are worth.
			if over := left(again)(); err != nil || over < -0.01 {
				t.Errorf("already met at %g s before %g s, by %g K: %v", again.Time(), s.Time(), over, err)
			}
		}
		if math.Abs(again.Time()-(s.Time()-2*close)) > 0.3 {
			t.Errorf("stopped at %g s", again.Time())
		}
		if met, err := s.AdvanceUntil(1, left(s)); !met || err != nil {
			t.Errorf("what has come is not met: %v", err)
		}
	})
}

// Every step that stands is told of once, in its order, the moment that was waited for
// too; none that was gone back on is.
func TestEach(t *testing.T) {
	t.Parallel()
	s := slab(t, twoLevelCurve(t), 0.02, 500, 24)
	calls, before := 0, 0.0
	s.Each = func() {
		calls++
		if s.Time() <= before {
			t.Errorf("told of %g s after %g s", s.Time(), before)
		}
		before = s.Time()
	}
	s.to(t, 60)
	when(t, s, func() float64 { return s.Mean(1) }, 100)
	if calls != s.Steps() || before != s.Time() {
		t.Errorf("told of %d steps of %d, last of %g s at %g s", calls, s.Steps(), before, s.Time())
	}
}

// Bad input is refused and says why.
func TestNewStack_Refuses(t *testing.T) {
	t.Parallel()
	good := Layer{Matter: plain(), Thickness: 0.02, Cells: 10, TempC: 140, Contact: 500}
	nan, inf := math.NaN(), math.Inf(1)
	layer := func(turn func(*Layer)) func() (*Stack, error) {
		return func() (*Stack, error) {
			bad := good
			turn(&bad)
			return NewStack(Face{}, Face{}, good, bad)
		}
	}
	face := func(turn func(*Face)) func() (*Stack, error) {
		return func() (*Stack, error) {
			f := Face{AmbientC: 20, Film: 10, Length: 0.1, Emissivity: 0.9}
			turn(&f)
			return NewStack(Face{}, f, good)
		}
	}
	for name, make := range map[string]func() (*Stack, error){
		"no layer":           func() (*Stack, error) { return NewStack(Face{}, Face{}) },
		"no thickness":       layer(func(l *Layer) { l.Thickness = 0 }),
		"endless":            layer(func(l *Layer) { l.Thickness = inf }),
		"no cells":           layer(func(l *Layer) { l.Cells = 0 }),
		"no matter":          layer(func(l *Layer) { l.Matter = Matter{} }),
		"no density":         layer(func(l *Layer) { l.Matter.Density = nan }),
		"no temperature":     layer(func(l *Layer) { l.TempC = nan }),
		"does not conduct":   layer(func(l *Layer) { l.Matter.K = -0.1 }),
		"falls too far":      layer(func(l *Layer) { l.Matter.KPer = -0.01 }),
		"contact below none": layer(func(l *Layer) { l.Contact = -1 }),
		"ambient":            face(func(f *Face) { f.AmbientC = nan }),
		"film":               face(func(f *Face) { f.Film = -1 }),
		"length":             face(func(f *Face) { f.Length = inf }),
		"emissivity":         face(func(f *Face) { f.Emissivity = nan }),
		"more than black":    face(func(f *Face) { f.Emissivity = 1.01 }),
		"colder than all":    face(func(f *Face) { f.AmbientC = -273.2 }),
		"flux":               face(func(f *Face) { f.Flux = inf }),
	} {
		if _, err := make(); err == nil || fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, at := range []float64{nan, inf, -1} {
		s := stack(t, 0, Face{}, Face{}, good)
		if err := s.Advance(at); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%g s pass: %v", at, err)
		}
		if _, err := s.AdvanceUntil(at, func() float64 { return 1 }); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%g s pass until: %v", at, err)
		}
	}
}

// A contact that is changed is as one that was so from the beginning.
func TestSetContact(t *testing.T) {
	t.Parallel()
	make := func(contact float64) *Stack {
		return stack(t, 0, Face{AmbientC: 20, Film: 800}, Face{}, Layer{Matter: steel(), Thickness: 0.01, Cells: 4, TempC: 20},
			Layer{Matter: plain(), Thickness: 0.02, Cells: 10, TempC: 140, Contact: contact})
	}
	for _, to := range []float64{0, 50, math.Inf(1)} {
		a, b := make(to), make(500)
		b.SetContact(1, to)
		if x, y := a.to(t, 60).Mean(1), b.to(t, 60).Mean(1); x != y {
			t.Errorf("contact %g: %g °C and %g", to, x, y)
		}
	}
}

// Elimination from both ends solves the rows it is made of, for any number of cells.
func TestSolve(t *testing.T) {
	t.Parallel()
	for n := 1; n <= 9; n++ {
		s := stack(t, 0, Face{AmbientC: 20, Film: 800}, Face{AmbientC: 20, Film: 15},
			Layer{Matter: Matter{Heat: ConstantHeat(1950), Density: 1480, K: 0.3, KPer: 0.004}, Thickness: 0.02, Cells: n, TempC: 20})
		s.Swap(0, func(place int, h float64) float64 { return h * float64(1+place) })
		s.begin()
		const a = 20.0
		s.factor(a)
		b, x := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i*i) - 3
		}
		p := &s.scratch
		for i := range b {
			scale := a * s.unmass[i]
			b[i] = x[i] * (1 + scale*(p.gHigh[i]+p.gLow[i+1])*p.perJ[i])
			if i > 0 {
				b[i] -= scale * p.gLow[i] * p.perJ[i-1] * x[i-1]
			}
			if i < n-1 {
				b[i] -= scale * p.gHigh[i+1] * p.perJ[i+1] * x[i+1]
			}
		}
		s.solve(b)
		for i := range x {
			if math.Abs(b[i]-x[i]) > 1e-11 {
				t.Errorf("of %d cells, %d is %g, want %g", n, i, b[i], x[i])
			}
		}
	}
}

// The nip against the stack: a sheet between two steel rolls, cut in cells as thin as the
// chill; and what the trade has of it, a mean that falls by 1 to 3 K in 0.05 to 0.3 s, a
// skin within 3 K of the roll (source key model-heat).
func TestNip(t *testing.T) {
	t.Parallel()
	const sheetC, rollC, thick = 78.0, 40.0, 0.010
	for _, seconds := range []float64{0.05, 0.1, 0.3} {
		given, side := Nip(plain(), steel(), sheetC, rollC, seconds)
		s := stack(t, 1e-4, Face{}, Face{}, Layer{Matter: steel(), Thickness: 0.02, Cells: 800, TempC: rollC},
			Layer{Matter: plain(), Thickness: thick / 2, Cells: 1000, TempC: sheetC}) // half the sheet
		before := s.Heat(1)
		s.to(t, seconds)
		if own := 2 * (before - s.Heat(1)); math.Abs(given/own-1) > 0.005 {
			t.Errorf("in %g s %g J/m², by cells %g", seconds, given, own)
		}
		if own := s.At(1, 0); math.Abs(side-own) > 0.1 {
			t.Errorf("its side is at %g °C, by cells at %g", side, own)
		}
		falls := given / (1480 * 1950 * thick)
		t.Logf("%g s: the mean falls by %.2f K, the side is at %.1f °C", seconds, falls, side)
		if falls < 0.5 || falls > 3 || side > rollC+3 {
			t.Errorf("in %g s the mean falls by %g K, its side is at %g °C", seconds, falls, side)
		}
	}
	if given, side := Nip(plain(), steel(), 40, 40, 1); given != 0 || math.Abs(side-40) > 1e-12 {
		t.Errorf("of one temperature they pass %g J/m², at %g °C", given, side)
	}
}

// The lump is of fourth order, never passes what is around it, and is cool when it says.
func TestLump(t *testing.T) {
	t.Parallel()
	c := twoLevelCurve(t)
	run := func(step float64) float64 {
		return Lump{Heat: c, Step: step, Takes: func(s, temp float64) float64 { return (25 + 5*math.Sin(s/30)) * (temp - 24) / (1480 * 0.003) }}.Cool(0, 90, 240)
	}
	exact, before := run(0.05), 0.0
	for _, step := range []float64{20, 10, 5} {
		far := math.Abs(run(step) - exact)
		t.Logf("steps of %g s: %.2g K", step, far)
		if before > 0 && far > before/8 && far > 1e-4 { // what the curve's nodes leave
			t.Errorf("steps of %g s: off by %g K, twice as long by %g", step, far, before)
		}
		before = far
	}
	if before > 0.002 {
		t.Errorf("usual steps are off by %g K", before)
	}
	l := Lump{Heat: c, Takes: func(_, temp float64) float64 { return 20 * (temp - 24) / (1480 * 0.003) }}
	at, ok := l.CoolsTo(0, 75, 35, 1e5)
	if back := l.Cool(0, 75, at); !ok || math.Abs(back-35) > 1e-6 {
		t.Errorf("%v: after %g s it is at %g °C", ok, at, back)
	}
	if _, ok := l.CoolsTo(0, 75, 23, 1e4); ok {
		t.Error("it is colder than what is around it")
	}
	if at, ok := l.CoolsTo(0, 30, 35, 1e4); at != 0 || !ok {
		t.Errorf("what is cool takes %g s", at)
	}
}
