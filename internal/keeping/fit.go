package keeping

import (
	"math"

	"slabside/internal/bag"
	"slabside/internal/sugar"
)

// leastWeighings is how many weighings of a pack are needed for a P A of its own.
const leastWeighings = 2

// scaleStep is the step of the scale that a pack is weighed on [g] where it is not known:
// one reading when it is shut and one later, each off by up to half of it.
const scaleStep = 0.1

// fit is what the weighings of a pack say of its wall.
type fit struct {
	factor float64 // on what the wall is taken to pass
	spread float64 // standard deviation of its logarithm
	n      int
}

// weighed is a weighing as the kernel wants it.
type weighed struct {
	gainG, humidity float64
	factor          float64 // on what the wall is taken to pass, for each unit of uptake
}

// weighingsOf prepares the weighings of a pack that held dryG of dry sugars.
func weighingsOf(w wall, list []bag.Weighing, dryG float64) ([]weighed, error) {
	var out []weighed
	for _, x := range list {
		if !(x.Days > 0) {
			continue
		}
		p0, err := pressureKPa(x.At)
		if err != nil {
			return nil, err
		}
		out = append(out, weighed{1e3 * float64(x.Gain), float64(x.Humidity), dryG / (p0 * x.Days) / w.passes(x.At, nil)})
	}
	return out, nil
}

// fitOf returns by how much more a pack passes than its wall is taken to, from its
// weighings. Each gives a P A of its own, without a search: the time is the uptake over
// P A p0. Their mean is weighted by the square of the gain, since the scale's error is
// the same for all. False without two weighings that gained and did not come to balance.
//
// The interval is Student's, from how the weighings scatter and no less than the scale's
// step lets them; and never below [weighedHalf].
func fitOf(list []weighed, dryG, stepG, start, shift float64) (fit, bool) {
	var f fit
	var sum, weights, squares float64
	at := func(x weighed) (k float64, ok bool) {
		need := uptake(start, sugar.SorbedActivity(sorbed(start)+x.gainG/dryG), x.humidity-shift)
		return x.factor * need, need > 0 && !math.IsInf(need, 1)
	}
	for _, x := range list {
		if k, ok := at(x); ok {
			w := x.gainG * x.gainG
			f.n, sum, weights, squares = f.n+1, sum+k*w, weights+w, squares+k*k*w
		}
	}
	if f.n < leastWeighings {
		return f, false
	}
	f.factor = sum / weights
	scatter := math.Max(0, squares/(f.factor*f.factor)-weights) // Σ (gain · (k/factor − 1))²
	variance := math.Max(scatter/float64(f.n-1), stepG*stepG/6)
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
