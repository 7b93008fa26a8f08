package inversion

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// CookBack returns the share of the sugar (reckoned as the sucrose it once was) that is
// invert in the n-th boil of a row in which every charge takes the given share of its
// sugar from the boil before, dissolved and boiled again. The first boil, n = 1,
// has fresh sugar only; once is what a boil of fresh sugar inverts:
//
//	S_1 = s,  S_n = s [(1−r) + r S_(n−1)] = S + (s − S)(rs)^(n−1)
//	s = 1 − once,  S = s (1−r)/(1 − rs), the limit
//
// Where little is inverted the limit is once/(1−r): 1.11 times at 10 %, 1.25 at 20 %.
//
// Range: share from 0 to below 1, n from 1; the boils all alike. Exact.
func CookBack(share, once quantity.Fraction, n int) (quantity.Fraction, error) {
	limit, err := CookBackLimit(share, once)
	if err != nil {
		return 0, err
	}
	if n < 1 {
		return 0, fault.Invalid("boil number %d of a row", n).WithHint("the first boil is number 1")
	}
	return limit + (once-limit)*quantity.Fraction(math.Pow(float64(share*(1-once)), float64(n-1))), nil
}

// CookBackLimit returns what [CookBack] comes to when the row is long.
func CookBackLimit(share, once quantity.Fraction) (quantity.Fraction, error) {
	if !(share >= 0 && share < 1) {
		return 0, fault.Invalid("%s of a charge cannot be cook-back", quantity.Plain.Percent(share, 1)).
			WithHint("give a share from 0 %% to below 100 %%; 5 to 10 %% is usual")
	}
	if !(once >= 0 && once <= 1) {
		return 0, fault.Invalid("a boil cannot invert %s of its sucrose", quantity.Plain.Percent(once, 1))
	}
	return once / (1 - share*(1-once)), nil
}

// MeanReboils returns how often the sugar of a long row of boils has been boiled
// again, on average, beyond its first boil: r/(1−r). Range as [CookBackLimit].
func MeanReboils(share quantity.Fraction) (float64, error) {
	if _, err := CookBackLimit(share, 0); err != nil {
		return 0, err
	}
	return float64(share / (1 - share)), nil
}
