package lot_test

import (
	"math"
	"testing"

	"slabside/internal/lot"
)

// Exact 90 % limits of a Poisson's mean are half the 5 % point of a chi-square with 2n
// degrees of freedom and half the 95 % point of one with 2n+2. The points are those of
// the usual printed tables (from memory).
func TestRateAgainstTables(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		n         int
		low, high float64 // of the number of takings
		within    float64
	}{
		{1, 0.103 / 2, 9.488 / 2, 0.01},
		{2, 0.711 / 2, 12.592 / 2, 0.04},
		{3, 1.635 / 2, 15.507 / 2, 0.02},
		{5, 3.940 / 2, 21.026 / 2, 0.01},
		{10, 10.851 / 2, 33.924 / 2, 0.005},
		{15, 18.493 / 2, 46.194 / 2, 0.005},
	} {
		r, ok := lot.RateOf(c.n, 3*float64(c.n), 2)
		if !ok || r.Middle != 1.5*float64(c.n) {
			t.Fatalf("%d takings of 3 mg in 2 days: %+v", c.n, r)
		}
		if low := r.Low / 1.5; math.Abs(low/c.low-1) > c.within {
			t.Errorf("%d takings: low %.4f, table %.4f", c.n, low, c.low)
		}
		if high := r.High / 1.5; math.Abs(high/c.high-1) > c.within {
			t.Errorf("%d takings: high %.4f, table %.4f", c.n, high, c.high)
		}
	}
	for _, c := range [][3]float64{{0, 1, 1}, {1, 0, 1}, {1, 1, 0}} {
		if r, ok := lot.RateOf(int(c[0]), c[1], c[2]); ok {
			t.Errorf("%v: %+v", c, r)
		}
	}
}
