package numeric

import "math"

// A Loss is what a residual r, in standard deviations, costs, with which weight it
// counts on the way to the fit, and what it tells there: cost is r² and the others 1 for
// plain squares, and always
//
//	weight = dcost/dr / 2r
//	curve  = d²cost/dr² / 2, or 0 where that is below zero
//
// All are finite and not below zero, none depends on the sign of r, and the weight never
// rises with |r|: so weighted squares fall only where the cost falls too.
type Loss func(r float64) (cost, weight, curve float64)

func squares(r float64) (cost, weight, curve float64) { return r * r, 1, 1 }

// HuberBend is the usual bend of Huber's loss: 95 % efficient where all is normal.
const HuberBend = 1.345

// Huber returns the loss that is a square to a bend of so many standard deviations and
// a straight line beyond: a wild observation pulls, but no harder for being wilder, and
// adds nothing to what is known. It panics if the bend is not above zero.
//
// Reference: source key huber1964; the usual bend: source key holland-welsch1977.
func Huber(bend float64) Loss {
	if !(bend > 0) {
		panic("numeric: a bend must be above zero")
	}
	return func(r float64) (cost, weight, curve float64) {
		a := math.Abs(r)
		if a <= bend {
			return squares(r)
		}
		return bend * (2*a - bend), bend / a, 0
	}
}

// StudentT returns the loss of errors distributed as Student's t with so many degrees
// of freedom, times the standard deviation stated: −2 times the logarithm of its
// density, less that at 0. A wild observation pulls less the wilder it is, and there
// may be several minima: start it from a fit by [Huber]. Four degrees are usual; many
// are plain squares. It panics if the degrees are not above zero.
//
// Reference: source key lange1989.
func StudentT(degrees float64) Loss {
	if !(degrees > 0) {
		panic("numeric: degrees of freedom must be above zero")
	}
	return func(r float64) (cost, weight, curve float64) {
		weight = (degrees + 1) / (degrees + r*r)
		curve = weight * (degrees - r*r) / (degrees + r*r)
		return (degrees + 1) * math.Log1p(r*r/degrees), weight, max(0, curve)
	}
}
