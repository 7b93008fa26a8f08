package numeric

import (
	"fmt"
	"math"
	"strings"

	"slabside/internal/fault"
)

// A Fit is the answer of a [LeastSquares] problem. Its uncertainty is that of a model
// that is a straight line around X and of costs that are parabolas there, with the
// standard deviations that residuals and priors were stated with.
type Fit struct {
	X []float64 // the unknowns

	Residuals []float64 // at X
	Weights   []float64 // of the residuals: 1 for plain squares

	// Leverage is by how much each prediction follows its own observation: 0 not at
	// all, 1 wholly.
	Leverage []float64

	// Shares is how much of what is known of each unknown comes from the
	// observations: 1 less variance over prior variance. 1 without prior, 0 if they
	// say nothing of it. Shares and leverages have the same sum: how many unknowns the
	// observations determine.
	Shares []float64

	SumSquares   float64 // of the residuals, each times its weight
	PriorSquares float64 // of (x − mean)/sd

	// DF is the degrees of freedom left to the residuals: their number less the sum of
	// the shares; not always whole. With plain squares and everything as stated,
	// SumSquares is DF on average, and PriorSquares the sum of the shares.
	DF float64

	Iterations int // steps taken
	Calls      int // of Residuals

	cov [][]float64
}

// SD returns the standard deviation of unknown k.
func (f Fit) SD(k int) float64 { return math.Sqrt(f.cov[k][k]) }

// Cov returns the covariance of two unknowns.
func (f Fit) Cov(j, k int) float64 { return f.cov[j][k] }

// Correlation returns the correlation of two unknowns: near ±1 the observations tell
// hardly more than a sum or a difference of them.
func (f Fit) Correlation(j, k int) float64 {
	if j == k {
		return 1
	}
	return f.cov[j][k] / (f.SD(j) * f.SD(k))
}

// Birge returns Birge's ratio: by how many times the residuals scatter more than their
// standard deviations say. Standard deviations of unknowns without prior times the
// ratio are those of a fit whose residuals are of unknown, equal scatter. NaN where
// nothing is left to judge it by.
//
// Reference: R. T. Birge, Phys. Rev. 40:207, 1932; from memory.
func (f Fit) Birge() float64 {
	if !(f.DF > 1e-9) {
		return math.NaN()
	}
	return math.Sqrt(f.SumSquares / f.DF)
}

// Belief returns what is held of the unknowns after the fit, in their order.
func (f Fit) Belief() Belief {
	var b Belief
	for k, row := range f.cov {
		b.Join(f.X[k], row[:k+1])
	}
	return b
}

// finish computes the answer at the last place, or refuses what is undetermined.
func (s *search) finish(l linear) (Fit, error) {
	curves := make([]float64, s.N)
	for i, r := range l.r {
		_, _, curves[i] = s.Loss(r)
	}
	columns, rhs := s.stack(l, curves)
	scale := noZeros(lengths(columns)) // of the place, not of the way to it
	t := triangular(columns, rhs, scale)
	for k := range t.order {
		if l.blind(t, k) {
			return Fit{}, s.undetermined(t, k)
		}
	}
	f := Fit{X: l.x, Residuals: l.r, Weights: l.weights, Leverage: make([]float64, s.N), Shares: make([]float64, len(l.x)),
		DF: float64(s.N), Iterations: s.iterations, Calls: s.calls, cov: t.covariance(scale)}
	for i, r := range l.r {
		f.SumSquares += l.weights[i] * r * r
		row := make([]float64, len(t.order))
		for k, j := range t.order {
			row[k] = columns[j][i] / scale[j]
		}
		h := norm(t.solveTurned(row))
		f.Leverage[i] = min(1, h*h)
	}
	for k, u := range s.Unknowns {
		z := (l.x[k] - u.Mean) / u.SD
		f.PriorSquares += z * z
		f.Shares[k] = min(1, max(0, 1-f.cov[k][k]/u.SD/u.SD))
		f.DF -= f.Shares[k]
	}
	return f, nil
}

// covariance returns the inverse of AᵀA for A before it was scaled.
func (t triangle) covariance(scale []float64) [][]float64 {
	n := len(t.order)
	inverse := make([][]float64, n) // columns of R⁻¹
	for k := range n {
		unit := make([]float64, n)
		unit[k] = 1
		inverse[k] = t.solve(unit, n)
	}
	cov := make([][]float64, n)
	for i := range cov {
		cov[i] = make([]float64, n)
	}
	for a, i := range t.order {
		for b, j := range t.order[:a+1] {
			sum := 0.0
			for k := range n {
				sum += inverse[k][a] * inverse[k][b]
			}
			cov[i][j] = sum / scale[i] / scale[j]
			cov[j][i] = cov[i][j]
		}
	}
	return cov
}

// undetermined is the fault of a column, at place k, that depends on those before it.
func (s *search) undetermined(t triangle, k int) error {
	alone := t.lengths[k] == 0
	names := []string{s.name(t.order[k])}
	if !alone {
		for i, v := range t.solve(t.columns[k], k) {
			if math.Abs(v) > 1e-3 { // columns are of one length
				names = append(names, s.name(t.order[i]))
			}
		}
	}
	text := fmt.Sprintf("what was seen says nothing of %s", names[0])
	if len(names) > 1 {
		text = fmt.Sprintf("what was seen cannot tell %s and %s apart", strings.Join(names[1:], ", "), names[0])
	}
	return fault.Invalid("%s", text).WithHint("give it a prior, or observe what depends on it").WithCause(ErrUndetermined)
}
