package keeping

import (
	"math"

	"slabside/internal/sugar"
)

// uptake returns the integral of dX/(humidity − a) from activity from to activity to, both
// on one side of the humidity [g/g]: the time of it in units of Ws/(P A p0). It is
// infinite where the balance lies between.
func uptake(from, to, humidity float64) float64 {
	if to == from {
		return 0
	}
	if (humidity-from)*(humidity-to) <= 0 {
		return math.Inf(1)
	}
	return climb(from, humidity, math.Log((humidity-from)/(humidity-to)))
}

// climb is uptake to where the distance to the balance has shrunk by the factor e^far.
// Over the logarithm of the distance the slope of the isotherm is smooth: an eight-point
// rule is good to 1e-5 for activities up to 0.6 and a distance shrunk to a twentieth (held
// in the tests).
func climb(from, humidity, far float64) float64 {
	sum, half := 0.0, (humidity-from)*math.Exp(-far/2) // the gap half way
	for _, p := range legendre8() {
		off := math.Exp(far / 2 * p.at)
		_, before := sugar.SorbedWater(humidity - half*off)
		_, later := sugar.SorbedWater(humidity - half/off)
		sum += p.weight * (before + later)
	}
	return far * sum / 2
}

// after returns the activity that is reached from from in air of the humidity once
// uptake has come to amount, by Newton's method on the logarithm of the distance.
func after(from, humidity, amount float64) float64 {
	gap := humidity - from
	if gap == 0 || amount <= 0 {
		return from
	}
	_, slope := sugar.SorbedWater(from)
	far := amount / slope
	for range 50 {
		now := humidity - gap*math.Exp(-far)
		_, slope := sugar.SorbedWater(now)
		next := max(far/4, far-(climb(from, humidity, far)-amount)/slope)
		if math.Abs(next-far) <= 1e-12*(1+far) {
			far = next
			break
		}
		far = next
	}
	return humidity - gap*math.Exp(-far)
}

// node is a point of the Gauss-Legendre rule and its mirror image.
type node struct{ at, weight float64 }

// legendre8 is the rule of eight points on −1 to 1 (Abramowitz and Stegun, Handbook of
// Mathematical Functions, table 25.4, from memory; the tests hold it to its definition).
func legendre8() [4]node {
	return [4]node{
		{0.1834346424956498, 0.3626837833783620},
		{0.5255324099163290, 0.3137066458778873},
		{0.7966664774136267, 0.2223810344533745},
		{0.9602898564975363, 0.1012285362903763},
	}
}
