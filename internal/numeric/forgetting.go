package numeric

import "math"

// Forget returns the standard deviation at which what was seen some time ago counts
// among what is seen now: its weight, one over the square, halves every half-life. sd is
// that of an observation made now, age and half-life are in one unit; +Inf forgets
// nothing. Something seen at an even pace k times a half-life then counts, for a mean,
// like k / ln 2 observations made now, however long the record is.
//
// It panics if the half-life is not above zero or the age is below zero.
//
// Reference: discounted least squares (R. G. Brown, Smoothing, Forecasting and
// Prediction of Discrete Time Series, 1963; from memory).
func Forget(sd, age, halfLife float64) float64 {
	if !(halfLife > 0) || !(age >= 0) {
		panic("numeric: forgetting needs a half-life above zero and no age below zero")
	}
	return sd * math.Exp2(age/(2*halfLife))
}
