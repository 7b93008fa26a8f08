package sugar

import (
	"math"

	"slabside/internal/numeric"
	"slabside/internal/quantity"
)

// EdgeWater is the water content below which the boiling equation is outside its
// fit and only a range is honest (about 155 °C at sea level).
const EdgeWater quantity.Fraction = 1 - NumberMaxDry

// AtEdge reports whether a water content is so low that the boiling equation
// gives the middle of a range, not a number.
func AtEdge(water quantity.Fraction) bool { return water < EdgeWater }

// ninety is the standard-normal 95 % point: a stated ± is read as the 5 % to 95 %
// half-width, since that is how ranges are printed.
const ninety = 1.6448536269514722

// boilNode is the error of the boiling equation at one dryness.
type boilNode struct {
	water float64 // % of the mass
	half  float64 // 5 % to 95 % half-width, % water, pure sucrose
	slope float64 // K per 1 % of solids, to turn kelvins into % water
}

// boilNodes returns the stated errors, driest last. The half-widths are the
// misfits to tables of outside origin (docs/validation.md): 0.11 K rms to 80 %
// solids, 1 to 3 K (about 1 % water) at 85 to 90 %, where the tables differ
// among themselves, 0.3 % water at 95 %, 0.5 % overall near 97 to 98 %, and
// about 5 K above 98 %. In thin syrup Raoult's law holds it: 0.02 K at 10 %, and
// water itself is exact. The slopes are the equation's own.
func boilNodes() [11]boilNode {
	return [...]boilNode{
		{100, 0, 0.015}, {90, 1.2, 0.02}, {40, 0.7, 0.15}, {30, 0.5, 0.29}, {20, 0.3, 0.69}, {15, 1.1, 1.2},
		{10, 1.6, 2.3}, {5, 0.35, 4.7}, {3, 0.5, 5.1}, {2, 0.5, 4.3}, {1, 0.54, 6.7},
	}
}

// syrupHalf is the error of the syrup factor [K, 5 % to 95 % half-width] at syrup
// only and 80 % solids, where it was checked (109.3 against 108 °C); it goes with
// the syrup's share and with the volume fraction of the solids, 0.72 there.
const syrupHalf, syrupPhi = 1.3, 0.72

// BoilModelSD returns one standard deviation of the boiling equation's error, as
// a mass fraction of water at a given boiling temperature. It holds for the whole
// shop: draw it once, not once a batch.
//
// The ± of the text behind it are taken as 5 % to 95 % half-widths; about ±0.5 %
// water at 97 to 98 % solids, ±1.6 % at 90 %, a third of the water or more above
// 99 %. Applied to the logarithm of the water ([WaterAtBoilWith]) so that no draw
// takes more water out than there is.
func BoilModelSD(m Mixture) quantity.Fraction {
	return quantity.Fraction(relativeBoilSD(m.Solids, float64(m.Water))) * m.Water
}

// relativeBoilSD is one standard deviation of ln(water).
func relativeBoilSD(s Solids, water float64) float64 {
	nodes := boilNodes()
	percent := max(water, drawDriest) * 100 // no draw goes below
	i := 1
	for i < len(nodes)-1 && percent < nodes[i].water {
		i++
	}
	a, b := nodes[i-1], nodes[i]
	// Straight in the logarithm of water; beyond the last node the same line goes on.
	part := math.Log(a.water/percent) / math.Log(a.water/b.water)
	return a.relative(s) + part*(b.relative(s)-a.relative(s))
}

// relative is the node's error as one standard deviation of ln(water), with the
// syrup's share in it.
func (n boilNode) relative(s Solids) float64 {
	volume := (100 - n.water) / sugarToWaterDensity
	phi := volume / (volume + n.water)
	thin := min(1, (100-n.water)/50) // below half solids the factor turns into Raoult's law
	syrup := syrupHalf * float64(s.Syrup) * thin * phi / syrupPhi / n.slope
	return math.Hypot(n.half, syrup) / ninety / n.water
}

// shiftWater returns the true water of a boil for which the equation says water,
// in a world where it is wrong by z standard deviations.
func shiftWater(s Solids, water, z float64) float64 {
	return water * math.Exp(z*relativeBoilSD(s, water))
}

// drawDriest is the mass fraction of water a draw may ask the equation down to:
// half the driest it is ever asked plainly. Only the end of a range rests on it,
// with [EdgeWater]'s caution beside.
const drawDriest = (1 - ActivityMaxDry) / 2

// unshiftWater returns the water at which the equation must be asked so that
// shiftWater gives the mixture's; a draw that leads outside the equation's range
// stops at drawDriest or at the wet end.
func unshiftWater(m Mixture, z float64) float64 {
	const wettest = 1 - ActivityMinDry
	if z == 0 {
		return float64(m.Water)
	}
	want := math.Log(float64(m.Water))
	miss := func(ln float64) float64 {
		return ln + z*relativeBoilSD(m.Solids, math.Exp(ln)) - want
	}
	low, high := math.Log(drawDriest), math.Log(wettest)
	switch {
	case miss(low) >= 0:
		return drawDriest
	case miss(high) <= 0:
		return wettest
	}
	ln, err := numeric.Brent(miss, low, high, 1e-10)
	if err != nil {
		// The ends differ in sign and the function is finite between them.
		panic("sugar: " + err.Error())
	}
	return math.Exp(ln)
}
