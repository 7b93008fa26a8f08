package numeric

import (
	"errors"
	"math"
)

// The two ways a root search can fail.
var (
	ErrNoBracket     = errors.New("the function has the same sign at both ends of the interval")
	ErrNoConvergence = errors.New("the root search did not settle")
)

// maxSteps is far above what halving a float64 interval can need (about 1075
// halvings of the widest one); it stops a function that returns NaN.
const maxSteps = 1200

// Brent returns a root of f between low and high, to within tol, by Brent's
// combination of inverse quadratic interpolation, secant and bisection steps:
// as safe as halving and for a smooth f several times quicker.
//
// f(low) and f(high) must differ in sign, or one of them be zero; otherwise the
// error is [ErrNoBracket]. A value of f that is not a number gives
// [ErrNoConvergence]. For a continuous f the answer is within tol of a root.
//
// Reference: source key brent1973.
func Brent(f func(float64) float64, low, high, tol float64) (float64, error) {
	a, b := low, high
	fa, fb := f(a), f(b)
	if root, done, err := ends(a, b, fa, fb); done {
		return root, err
	}
	// b is the best estimate so far, a the one before it, c the end that keeps
	// the root bracketed; step is the last move and before the one before that.
	c, fc := a, fa
	step := b - a
	before := step
	for range maxSteps {
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			step = b - a
			before = step
		}
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		// The second term is the spacing of floats near b: no tighter answer exists.
		limit := 2*math.Abs(b)*0x1p-53 + tol/2
		half := (c - b) / 2
		if math.Abs(half) <= limit || fb == 0 {
			return b, nil
		}
		if next, ok := interpolate(a, b, c, fa, fb, fc, half, limit, before); ok {
			before, step = step, next
		} else {
			before, step = half, half
		}
		a, fa = b, fb
		if math.Abs(step) > limit {
			b += step
		} else {
			b += math.Copysign(limit, half)
		}
		if fb = f(b); math.IsNaN(fb) {
			return 0, ErrNoConvergence
		}
	}
	return 0, ErrNoConvergence
}

// interpolate proposes the next step from b, by the secant through two points or
// the inverse parabola through three; ok is false where halving is the safer step.
func interpolate(a, b, c, fa, fb, fc, half, limit, before float64) (step float64, ok bool) {
	if math.Abs(before) < limit || math.Abs(fa) <= math.Abs(fb) {
		return 0, false
	}
	s := fb / fa
	if a == c {
		return accept(2*half*s, 1-s, half, limit, before)
	}
	u, v := fa/fc, fb/fc
	p := s * (2*half*u*(u-v) - (b-a)*(v-1))
	return accept(p, (u-1)*(v-1)*(s-1), half, limit, before)
}

// accept turns the quotient p/q into a step if it stays well inside the bracket
// and shrinks faster than halving would.
func accept(p, q, half, limit, before float64) (float64, bool) {
	if p > 0 {
		q = -q
	}
	p = math.Abs(p)
	if 2*p < min(3*half*q-math.Abs(limit*q), math.Abs(before*q)) {
		return p / q, true
	}
	return 0, false
}

// ends settles a search that needs no step.
func ends(low, high, fLow, fHigh float64) (root float64, done bool, err error) {
	switch {
	case math.IsNaN(fLow) || math.IsNaN(fHigh):
		return 0, true, ErrNoConvergence
	case fLow == 0:
		return low, true, nil
	case fHigh == 0:
		return high, true, nil
	case (fLow > 0) == (fHigh > 0):
		return 0, true, ErrNoBracket
	}
	return 0, false, nil
}
