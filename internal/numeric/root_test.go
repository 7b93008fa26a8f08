package numeric_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/numeric"
)

type finder func(f func(float64) float64, low, high, tol float64) (float64, error)

// bisect halves the interval until it is no wider than twice tol: slow, and too
// plain to be wrong, so that it can judge the other.
func bisect(f func(float64) float64, low, high, tol float64) (float64, error) {
	fLow, fHigh := f(low), f(high)
	switch {
	case math.IsNaN(fLow) || math.IsNaN(fHigh):
		return 0, numeric.ErrNoConvergence
	case fLow == 0:
		return low, nil
	case fHigh == 0:
		return high, nil
	case (fLow > 0) == (fHigh > 0):
		return 0, numeric.ErrNoBracket
	}
	for {
		mid := low + (high-low)/2
		if math.Abs(high-low) <= 2*tol || mid == low || mid == high {
			return mid, nil
		}
		fMid := f(mid)
		switch {
		case math.IsNaN(fMid):
			return 0, numeric.ErrNoConvergence
		case (fMid > 0) == (fLow > 0):
			low, fLow = mid, fMid
		default:
			high = mid
		}
	}
}

func finders() map[string]finder {
	return map[string]finder{"bisect": bisect, "brent": numeric.Brent}
}

// The wanted roots are closed forms, but for cos x = x, the Dottie number (OEIS
// A003957), and Wallis's cubic x³ − 2x − 5, root 2.0945514815423265 (Wallis 1685).
func TestRoots(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name      string
		f         func(float64) float64
		low, high float64
		want      float64
	}{
		{"line", func(x float64) float64 { return x - 0.3 }, -1, 2, 0.3},
		{"falling line", func(x float64) float64 { return 0.3 - x }, -1, 2, 0.3},
		{"wallis cubic", func(x float64) float64 { return x*x*x - 2*x - 5 }, 2, 3, 2.0945514815423265},
		{"cosine", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607},
		{"steep", func(x float64) float64 { return math.Exp(50*x) - 1e10 }, 0, 1, math.Log(1e10) / 50},
		{"flat", func(x float64) float64 { return math.Pow(x-1, 9) }, 0, 3, 1},
		{"root at the low end", func(x float64) float64 { return x }, 0, 1, 0},
		{"root at the high end", func(x float64) float64 { return x - 1 }, 0, 1, 1},
		{"swapped ends", func(x float64) float64 { return x - 0.3 }, 2, -1, 0.3},
	}
	for name, find := range finders() {
		for _, c := range cases {
			const tol = 1e-10
			got, err := find(c.f, c.low, c.high, tol)
			if err != nil {
				t.Errorf("%s, %s: %v", name, c.name, err)
				continue
			}
			// The ninth power is below the smallest float within 1e-36 of its
			// root only, but it is flat enough to stop an interpolation early.
			if math.Abs(got-c.want) > 2*tol {
				t.Errorf("%s, %s: root %.17g, want %.17g", name, c.name, got, c.want)
			}
		}
	}
}

func TestRoots_Faults(t *testing.T) {
	t.Parallel()
	nan := func(x float64) float64 {
		if x > 0.2 && x < 0.8 {
			return math.NaN()
		}
		return x - 0.5
	}
	for name, find := range finders() {
		if _, err := find(func(x float64) float64 { return x*x + 1 }, -1, 1, 1e-9); !errors.Is(err, numeric.ErrNoBracket) {
			t.Errorf("%s without a sign change: %v", name, err)
		}
		if _, err := find(nan, 0, 1, 1e-9); !errors.Is(err, numeric.ErrNoConvergence) {
			t.Errorf("%s through a NaN: %v", name, err)
		}
		if _, err := find(func(float64) float64 { return math.NaN() }, 0, 1, 1e-9); !errors.Is(err, numeric.ErrNoConvergence) {
			t.Errorf("%s of nothing but NaN: %v", name, err)
		}
	}
}

// A rising function with its root drawn anywhere is found by both, and Brent
// never needs more evaluations than halving by more than a factor of two.
func TestRoots_Law(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		root := rapid.Float64Range(-50, 50).Draw(t, "root")
		bend := rapid.Float64Range(0.01, 3).Draw(t, "bend")
		low := root - rapid.Float64Range(0.001, 100).Draw(t, "left")
		high := root + rapid.Float64Range(0.001, 100).Draw(t, "right")
		calls := 0
		f := func(x float64) float64 { calls++; return math.Sinh(bend*(x-root)/10) + (x-root)/7 }
		slow, err := bisect(f, low, high, 1e-9)
		if err != nil || math.Abs(slow-root) > 2e-9 {
			t.Fatalf("bisect found %.12g (%v), want %.12g", slow, err, root)
		}
		halvings := calls
		calls = 0
		quick, err := numeric.Brent(f, low, high, 1e-9)
		if err != nil || math.Abs(quick-root) > 2e-9 {
			t.Fatalf("brent found %.12g (%v), want %.12g", quick, err, root)
		}
		if calls > 2*halvings {
			t.Fatalf("brent took %d evaluations, bisection %d", calls, halvings)
		}
	})
}

func ExampleBrent() {
	root, err := numeric.Brent(func(x float64) float64 { return x*x - 2 }, 0, 2, 1e-12)
	fmt.Printf("%.9f %v\n", root, err)
	// Output: 1.414213562 <nil>
}
