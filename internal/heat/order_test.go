package heat

import (
	"math"
	"testing"
)

// order is by which power of the step errors fall.
func order(coarse, fine, ratio float64) float64 { return math.Log(coarse/fine) / math.Log(ratio) }

// fixed lets time pass in equal steps, whatever their error.
func (s *Stack) fixed(t testing.TB, seconds float64, steps int) *Stack {
	t.Helper()
	for range steps {
		s.begin()
		if _, ok := s.try(seconds / float64(steps)); !ok {
			t.Fatalf("a step of %g s is not done", seconds/float64(steps))
		}
		s.accept(seconds / float64(steps))
	}
	return s
}

// Second order in time: a slab whose heat capacity, conductivity and faces all change
// with the temperature, from a state in which the first shock is over; against a run of
// 4096 steps.
func TestOrder_InTime(t *testing.T) {
	t.Parallel()
	curve := twoLevelCurve(t)
	run := func(steps int) *Stack {
		s := slab(t, curve, 0.02, 500, 24)
		s.layers[1].matter.KPer = 0.0005
		s.Bound = 1e-4
		s.to(t, 60)
		s.Bound = 1e-9 // for Newton's method alone
		return s.fixed(t, 240, steps)
	}
	exact := run(4096)
	exact.temps(exact.h, exact.scratch.now)
	before := 0.0
	for _, steps := range []int{16, 32, 64, 128} {
		s := run(steps)
		s.temps(s.h, s.scratch.now)
		far := 0.0
		for i, c := range s.scratch.now {
			far = max(far, math.Abs(c-exact.scratch.now[i]))
		}
		if before > 0 {
			p := order(before, far, 2)
			t.Logf("%d steps of %.3g s: %.3g K, order %.2f", steps, 240/float64(steps), far, p)
			if p < 1.9 {
				t.Errorf("%d steps: order %.2f", steps, p)
			}
		}
		before = far
	}
}

// Second order in space: the composite case against its exact mean and middle.
func TestOrder_InSpace(t *testing.T) {
	t.Parallel()
	for position, want := range map[string]float64{"candy mean": 117.7228801939, "candy middle": 135.6511202070} {
		before := 0.0
		for _, cells := range []int{10, 20, 40, 80} {
			far := math.Abs(f1(t, "carbon steel", position, 120, cells, 1e-5) - want)
			if before > 0 {
				p := order(before, far, 2)
				t.Logf("%s, %d cells: %.3g K, order %.2f", position, cells, far, p)
				if p < 1.85 {
					t.Errorf("%s, %d cells: order %.2f", position, cells, p)
				}
			}
			before = far
		}
	}
}

// The sphere too: its mean against the series of the first eight roots.
func TestOrder_Sphere(t *testing.T) {
	t.Parallel()
	const bi, fo = 1.0, 0.1
	want := 0.0
	for n := range 8 { // z cot z = 0 where Bi is 1
		z := (float64(n) + 0.5) * math.Pi
		c := 4 * (math.Sin(z) - z*math.Cos(z)) / (2*z - math.Sin(2*z))
		want += c * math.Exp(-z*z*fo) * 3 * (math.Sin(z) - z*math.Cos(z)) / (z * z * z)
	}
	before := 0.0
	for _, cells := range []int{10, 20, 40, 80} {
		s, err := NewSphere(Face{Film: bi}, Layer{Matter: unit(), Thickness: 1, Cells: cells, TempC: 1})
		if err != nil {
			t.Fatal(err)
		}
		s.Bound = 1e-6
		far := math.Abs(s.to(t, fo).Mean(0) - want)
		if before > 0 {
			p := order(before, far, 2)
			t.Logf("%d cells: %.3g, order %.2f", cells, far, p)
			if p < 1.9 {
				t.Errorf("%d cells: order %.2f", cells, p)
			}
		}
		before = far
	}
}

// A tighter bound gives a smaller error: the bound is that of a step of third order, so
// that the error of the whole falls with about its power of two thirds, from below 0.05 K
// at the usual bound.
func TestBound_IsKept(t *testing.T) {
	t.Parallel()
	curve := twoLevelCurve(t)
	run := func(bound float64) (c float64, steps int) {
		s := slab(t, curve, 0.02, 500, 24)
		s.Bound = bound
		s.to(t, 300)
		return s.At(1, 0.2), s.Steps()
	}
	exact, _ := run(1e-7)
	before := 0.0
	for _, bound := range []float64{0.1, 0.01, 1e-3, 1e-4} {
		c, steps := run(bound)
		far := math.Abs(c - exact)
		t.Logf("bound %g K: off by %.3g K in %d steps", bound, far, steps)
		if most := 0.05 * math.Pow(bound/UsualBound, 2.0/3); far > most {
			t.Errorf("bound %g K: off by %g K, more than %g", bound, far, most)
		}
		if before > 0 && !(far < before/2) {
			t.Errorf("bound %g K: off by %g K, by %g K at ten times the bound", bound, far, before)
		}
		before = far
	}
}
