package numeric_test

import (
	"math"
	"testing"

	"slabside/internal/numeric"
)

// The textbook case of one normal mean: precisions add, and the mean is weighted by
// them (A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, eq. 2.11 and 2.12).
func TestOneUnknown(t *testing.T) {
	t.Parallel()
	var b numeric.Belief
	x := b.Add(1, 2)
	for _, y := range []float64{3, 4, 2.5} {
		b.Observe([]numeric.Term{{Unknown: x, Weight: 1}}, y, 1.5)
	}
	precision := 1/4.0 + 3/2.25
	mean := (1/4.0 + (3+4+2.5)/2.25) / precision
	if math.Abs(b.Mean(x)-mean) > 1e-12 || math.Abs(b.SD(x)-1/math.Sqrt(precision)) > 1e-12 {
		t.Errorf("mean %g sd %g, want %g %g", b.Mean(x), b.SD(x), mean, 1/math.Sqrt(precision))
	}
}

// Two unknowns of which only the sum is seen: the sum is known, each alone hardly
// better than before, and they lean on each other. Checked by the normal equations
// written out, (P⁻¹ + hhᵀ/σ²)⁻¹.
func TestSum(t *testing.T) {
	t.Parallel()
	var b numeric.Belief
	x, y := b.Add(0, 1), b.Add(0, 1)
	surprise := b.Observe([]numeric.Term{{Unknown: x, Weight: 1}, {Unknown: y, Weight: 2}}, 5, 0.5)
	// P = I, h = (1, 2), σ² = 1/4: P⁻¹ + hhᵀ/σ² = [[5, 8], [8, 17]], determinant 21.
	for _, c := range []struct{ got, want float64 }{
		{b.Cov(x, x), 17.0 / 21}, {b.Cov(y, y), 5.0 / 21}, {b.Cov(x, y), -8.0 / 21}, {b.Cov(y, x), -8.0 / 21},
		{b.Mean(x), 5.0 * 4 / 21}, {b.Mean(y), 5.0 * 8 / 21}, {surprise, 5 / math.Sqrt(5.25)},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%g, want %g", c.got, c.want)
		}
	}
	root := b.Root([]int{x, y})
	if got := root[1][0]*root[1][0] + root[1][1]*root[1][1]; math.Abs(got-b.Cov(y, y)) > 1e-12 || math.Abs(root[0][0]*root[1][0]-b.Cov(x, y)) > 1e-12 {
		t.Errorf("the root %v does not give the covariance back", root)
	}
}

// The order in which things are seen does not matter, and an unknown that is let go
// leaves what it taught.
func TestOrderAndDrop(t *testing.T) {
	t.Parallel()
	see := func(order []int) numeric.Belief {
		var b numeric.Belief
		x, y := b.Add(0.3, 1), b.Add(-1, 2)
		w := b.Add(0, 3)
		terms := [][]numeric.Term{{{x, 1}, {w, 1}}, {{y, 2}, {w, -1}}, {{w, 1}}}
		for _, i := range order {
			b.Observe(terms[i], float64(i)+0.5, 0.7)
		}
		b.Drop()
		return b
	}
	a, z := see([]int{0, 1, 2}), see([]int{2, 1, 0})
	for i := range 2 {
		if a.Len() != 2 || math.Abs(a.Mean(i)-z.Mean(i)) > 1e-12 || math.Abs(a.SD(i)-z.SD(i)) > 1e-12 {
			t.Errorf("unknown %d: %g ± %g in one order, %g ± %g in the other", i, a.Mean(i), a.SD(i), z.Mean(i), z.SD(i))
		}
	}
	if a.SD(0) >= 1 {
		t.Error("letting the last unknown go has lost what it taught of the first")
	}
}

// What is known for sure has no root.
func TestRootOfTheKnown(t *testing.T) {
	t.Parallel()
	var b numeric.Belief
	b.Add(2, 0)
	b.Add(0, 3)
	if r := b.Root([]int{0, 1}); r[0][0] != 0 || r[1][0] != 0 || r[1][1] != 3 {
		t.Errorf("root %v", r)
	}
}
