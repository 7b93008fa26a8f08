package keeping

import (
	"math"

	"slabside/internal/bag"
	"slabside/internal/sugar"
)

// leastWeighings is how many weighings of a pack are needed for a P A of its own.
const leastWeighings = 2

// scaleStep is the step of the scale that a bag is weighed on [g], where no finer one is
// known: one reading when it is shut and one later, each off by up to half of it.
const scaleStep = 0.1

// fit is what the weighings of a pack say of its wall.
type fit struct {
	factor float64 // on what the wall is taken to pass
	spread float64 // standard deviation of its logarithm
	n      int
}

// fitOf returns by how much more a pack passes than its wall is taken to, from its
// weighings. Each gives a P A of its own, without a search: the time is the uptake over
// P A p0. Their mean is weighted by the square of the gain, since the scale's error is
// the same for all. False without two weighings that gained and did not come to balance.
//
// The interval is Student's, from how the weighings scatter and no less than the scale's
// step lets them; and never below [weighedHalf].
func fitOf(w wall, list []bag.Weighing, dryG, start, shift float64) (fit, bool) {
	var f fit
	var sum, weights, squares float64
	factors, gains := make([]float64, 0, len(list)), make([]float64, 0, len(list))
	for _, x := range list {
		p0, err := pressureKPa(x.At)
		if err != nil || dryG <= 0 {
			continue
		}
		gain := 1e3 * float64(x.Gain)
		h := float64(x.Humidity) - shift
		need := uptake(start, sugar.SorbedActivity(sorbed(start)+gain/dryG), h)
		if math.IsInf(need, 1) || need <= 0 {
			continue
		}
		k := dryG * need / (p0 * x.Days) / w.passes(x.At, nil)
		factors, gains = append(factors, k), append(gains, gain)
		sum, weights = sum+k*gain*gain, weights+gain*gain
	}
	f.n = len(factors)
	if f.n < leastWeighings {
		return f, false
	}
	f.factor = sum / weights
	for i, k := range factors {
		off := gains[i] * (k/f.factor - 1)
		squares += off * off
	}
	variance := math.Max(squares/float64(f.n-1), scaleStep*scaleStep/6)
	half := student(f.n-1) * math.Sqrt(variance/weights)
	f.spread = math.Log(1+math.Max(weighedHalf, half)) / ninety
	return f, true
}

// sorbed is the water that goes with an activity [g/g].
func sorbed(a float64) float64 {
	x, _ := sugar.SorbedWater(a)
	return x
}

// student is the 95 % point of Student's distribution.
func student(freedom int) float64 {
	points := [...]float64{6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812}
	return points[min(freedom, len(points))-1]
}
