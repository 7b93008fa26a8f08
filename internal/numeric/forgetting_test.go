package numeric_test

import (
	"math"
	"testing"

	"slabside/internal/numeric"
)

// Each half-life halves the weight, and a mean with forgetting is the exponentially
// weighted mean of the textbooks: with smoothing constant 1 − 2^(−1/h) for one
// observation a day and a half-life of h days, started from nothing.
func TestForget(t *testing.T) {
	t.Parallel()
	for halvings := range 6 {
		sd := numeric.Forget(0.5, 30*float64(halvings), 30)
		near(t, "weight", 1/(sd*sd), 4/math.Exp2(float64(halvings)), 1e-12)
	}
	near(t, "nothing is forgotten", numeric.Forget(0.5, 1e9, math.Inf(1)), 0.5, 0)

	const half, days = 20.0, 400
	l := line{unknowns: []numeric.Unknown{{SD: math.Inf(1)}}}
	alpha := 1 - math.Exp2(-1/half)
	smooth, whole := 0.0, 0.0
	for day := range days {
		y := math.Sin(float64(day)) + 0.01*float64(day)
		l.weights, l.seen = append(l.weights, []float64{1}), append(l.seen, y)
		l.sd = append(l.sd, numeric.Forget(1, float64(days-1-day), half))
		smooth, whole = (1-alpha)*smooth+alpha*y, (1-alpha)*whole+alpha
	}
	f := must(t, l.problem(), []float64{1})
	near(t, "mean", f.X[0], smooth/whole, 1e-9)
	near(t, "counts like so many", 1/(f.SD(0)*f.SD(0)), half/math.Ln2, 0.6)

	for _, bad := range [][3]float64{{1, 1, 0}, {1, 1, math.NaN()}, {1, -1, 1}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v was forgotten", bad)
				}
			}()
			numeric.Forget(bad[0], bad[1], bad[2])
		}()
	}
}
