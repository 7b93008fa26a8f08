package heat

import "math"

// Edge is matter that ends at a side which something cools: deep enough that the chill
// does not come through it, and of one temperature before.
//
//	1 − S(y) = erfc(x) − exp(hy/k + b²) erfc(x + b)        x = y/2√(αt),  b = h√(αt)/k
//
// with y the distance from the side and S the share of the excess over what cools it that
// is left there. Where such a side meets faces of the same surroundings, the shares of the
// two multiply (Newman's rule).
//
// Reference: source key carslaw-jaeger1959, chapters 1 and 2.
type Edge struct {
	Diffusivity float64 // m²/s
	K           float64 // W/(m K)
	Film        float64 // W/(m² K) at the side; 0: nothing cools it
}

// Left returns the share of the excess that is left at a distance from the side [m] after
// so many seconds.
func (e Edge) Left(distance, seconds float64) float64 {
	reach := math.Sqrt(e.Diffusivity * seconds)
	if !(reach > 0) || !(e.Film > 0) {
		return 1
	}
	x := distance / 2 / reach
	return 1 - math.Erfc(x) + math.Exp(-x*x)*scaledErfc(x+e.Film*reach/e.K)
}

// Lost returns how wide a band would have lost all of its excess to the side, if none else
// had lost any, by what was lost within a distance of it [m]: the integral of 1 − S.
func (e Edge) Lost(distance, seconds float64) float64 {
	reach := math.Sqrt(e.Diffusivity * seconds)
	if !(reach > 0) || !(e.Film > 0) {
		return 0
	}
	beyond := func(y float64) float64 {
		if math.IsInf(y, 1) {
			return 0
		}
		x := y / 2 / reach
		return 2*reach*(math.Exp(-x*x)/math.Sqrt(math.Pi)-x*math.Erfc(x)) - e.K/e.Film*(1-e.Left(y, seconds))
	}
	return beyond(0) - beyond(distance)
}

// scaledErfc is exp(z²) erfc(z), for z not below zero.
func scaledErfc(z float64) float64 {
	if z > 20 { // the next term is 5·10⁻⁶ of it
		return (1 - 1/(2*z*z)) / (z * math.Sqrt(math.Pi))
	}
	return math.Exp(z*z) * math.Erfc(z)
}
