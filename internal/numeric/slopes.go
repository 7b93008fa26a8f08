package numeric

import (
	"errors"
	"math"

	"slabside/internal/fault"
)

// blind says whether the column at place k is within the error of the slopes of what
// those before it say.
func (l linear) blind(t triangle, k int) bool { return t.sine(k) <= 10*l.rough }

// roughness is the error of the slopes as a share of their columns: of quotients, what
// noise does to the difference and what is left of the curve.
func (s *search) roughness(columns []float64) float64 {
	if s.Jacobian != nil {
		return 100 * epsilon
	}
	rough := math.Pow(max(epsilon, s.Noise), 2.0/3)
	for k, length := range columns {
		if moved := s.strides[k] * length; moved > 0 {
			rough = max(rough, s.shake()/moved)
		}
	}
	return min(rough, 0.01)
}

// differentiate fills in the slopes of the residuals.
func (s *search) differentiate(here place, slopes [][]float64) error {
	if s.Jacobian == nil {
		return s.differences(here, slopes)
	}
	if err := s.Jacobian(append([]float64(nil), here.x...), slopes); err != nil {
		return noModel(err, "where its slopes are asked for")
	}
	for k, column := range slopes {
		for _, v := range column {
			if !finite(v) {
				return fault.Invalid("a slope of the residuals in %s is not a finite number", s.name(k)).WithCause(ErrNotFinite)
			}
		}
	}
	return nil
}

// differences takes the slopes from central difference quotients, from one side where
// the other is out of the model's range: these are good to fewer digits.
func (s *search) differences(here place, slopes [][]float64) error {
	x := append([]float64(nil), here.x...)
	above, below := make([]float64, s.N), make([]float64, s.N)
	for k := range slopes {
		h := s.stride(k, here.x[k])
		s.strides[k] = h
		x[k] = here.x[k] + h
		high, errHigh := x[k], s.ask(x, above)
		x[k] = here.x[k] - h
		low, errLow := x[k], s.ask(x, below)
		x[k] = here.x[k]
		if errors.Is(errHigh, errBudget) || errors.Is(errLow, errBudget) {
			return s.notSettled(nil)
		}
		switch {
		case errHigh != nil && errLow != nil:
			return noModel(errHigh, "on either side of "+s.name(k))
		case errHigh != nil:
			high = here.x[k]
			copy(above, here.r)
		case errLow != nil:
			low = here.x[k]
			copy(below, here.r)
		}
		seen := false
		for i := range s.N {
			slopes[k][i] = (above[i] - below[i]) / (high - low)
			seen = seen || math.Abs(above[i]-below[i]) > 4*s.Noise
		}
		if !seen { // noise alone
			clear(slopes[k])
		}
	}
	return nil
}

// stride is the step of a difference quotient: the cube root of the noise, where what
// is left of the curve and what the noise does are of one size, of a change that
// matters.
func (s *search) stride(k int, x float64) float64 {
	u, size := s.Unknowns[k], math.Abs(x)
	noise := max(epsilon, s.Noise, s.digits)
	switch {
	case u.Scale > 0:
		return math.Cbrt(noise) * u.Scale
	case !math.IsInf(u.SD, 1) && s.longest[k] > 0:
		// Of its standard deviation, all else known. A curve that bends much within one is
		// not fitted by lines anyway: the longer step leaves less to the noise.
		return 4 * math.Cbrt(noise) / s.longest[k]
	case !math.IsInf(u.SD, 1):
		return math.Cbrt(noise) * u.SD
	case size == 0:
		size = 1
	}
	return math.Cbrt(max(epsilon, s.Noise)) * size
}
