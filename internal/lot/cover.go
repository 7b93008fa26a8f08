package lot

import "math"

// Rate is how much goes out a day [mg/d], with its 5 % and 95 % limits.
type Rate struct{ Middle, Low, High float64 }

// RateOf tells from what was taken in some days how much goes out a day: takings come
// by chance, each about as large as another, so that their number is a Poisson's, whose
// exact limits are those of Garwood ("Fiducial limits for the Poisson distribution",
// Biometrika 28, 1936). Nothing taken tells no rate: false.
func RateOf(takings int, mg, days float64) (Rate, bool) {
	if takings < 1 || mg <= 0 || days <= 0 {
		return Rate{}, false
	}
	n := float64(takings)
	each := mg / n
	low, high := chiSquare(-ninetyFive, 2*takings)/2, chiSquare(ninetyFive, 2*takings+2)/2
	return Rate{Middle: mg / days, Low: low * each / days, High: high * each / days}, true
}

// ninetyFive is the 95 % point of the normal distribution.
const ninetyFive = 1.6448536269514722

// chiSquare returns the 5 % (z below zero) or the 95 % point of a chi-square with k
// degrees of freedom: exact for two, else by the cube root of Wilson and Hilferty ("The
// distribution of chi-square", PNAS 17, 1931), which is within 4 % from four up.
func chiSquare(z float64, k int) float64 {
	if k == 2 {
		if z < 0 {
			return -2 * math.Log(0.95)
		}
		return -2 * math.Log(0.05)
	}
	f := 2 / (9 * float64(k))
	c := 1 - f + z*math.Sqrt(f)
	return float64(k) * c * c * c
}
