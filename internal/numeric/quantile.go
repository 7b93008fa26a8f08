package numeric

import (
	"errors"
	"math"
	"slices"
)

// The three points a range is printed at.
const (
	LowPoint  = 0.05
	MidPoint  = 0.50
	HighPoint = 0.95
)

// ErrNotFinite says that an ensemble's outcome cannot be summarised.
var ErrNotFinite = errors.New("a value is not a finite number, or there is none")

// Summary is the printed end of an ensemble.
type Summary struct {
	Value float64 // the median
	Low   float64 // the 5 % point
	High  float64 // the 95 % point
}

// Summarise returns the median and the 5 % and 95 % points of the values, which
// it does not change. The median, not the mean, because it stays the middle
// under any rising function of the quantity (°C or °F, viscosity or its log).
// Values that are not all finite, or none, give [ErrNotFinite].
func Summarise(values []float64) (Summary, error) {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Summary{}, ErrNotFinite
		}
	}
	if len(values) == 0 {
		return Summary{}, ErrNotFinite
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return Summary{
		Value: Quantile(sorted, MidPoint),
		Low:   Quantile(sorted, LowPoint),
		High:  Quantile(sorted, HighPoint),
	}, nil
}

// Quantile returns the p-quantile of values sorted in rising order:
//
//	value k of n (from 1) stands at p = (k − ½)/n, straight lines between,
//	the first and last value beyond
//
// the rule that gives back the midpoints of an [Ensemble] unchanged. It panics
// if there are no values or p is not within 0 to 1.
//
// Reference: source key hyndman1996.
func Quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 || !(p >= 0 && p <= 1) {
		panic("numeric: a quantile needs values and a share between 0 and 1")
	}
	place := p*float64(len(sorted)) - 0.5
	if place <= 0 {
		return sorted[0]
	}
	k := int(place)
	if k >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	part := place - float64(k)
	return sorted[k] + part*(sorted[k+1]-sorted[k])
}
