package hottest

import (
	"math"
	"math/rand/v2"
)

// chance is the draws of one room, or of one batch in it; where it is still, nothing is
// off and all is in the middle of what it may be.
type chance struct {
	*rand.Rand
	still bool
}

func newChance(seed, stream uint64) chance { return chance{Rand: rand.New(rand.NewPCG(seed, stream))} }

// The 95 % points of Student's t of three degrees of freedom, and of a normal variate.
const (
	studentPoint = 2.353363
	normalPoint  = 1.644854
)

// off draws how far a figure is off its middle, whose 5 % and 95 % points are those of a
// normal variate of a standard deviation, and whose tails are heavy.
func (c chance) off(sd float64) float64 {
	if c.still {
		return 0
	}
	sum := 0.0
	for range 3 {
		z := c.NormFloat64()
		sum += z * z
	}
	return sd * normalPoint / studentPoint * c.NormFloat64() / math.Sqrt(sum/3)
}

// factor draws a factor whose logarithm is off.
func (c chance) factor(sd float64) float64 { return math.Exp(c.off(sd)) }

// between draws evenly.
func (c chance) between(low, high float64) float64 {
	if c.still {
		return (low + high) / 2
	}
	return low + (high-low)*c.Float64()
}

// one draws a whole number of those from low to high.
func (c chance) one(low, high int) int {
	if c.still {
		return (low + high) / 2
	}
	return low + c.IntN(high-low+1)
}

// happens draws whether something does.
func (c chance) happens(share float64) bool { return !c.still && c.Float64() < share }

// late draws how late somebody taps [s]: a few seconds as a rule, and now and then half a
// minute or two because hands are full.
func (c chance) late() float64 {
	late := math.Abs(c.off(6))
	if c.happens(0.06) {
		late += 60 * c.ExpFloat64()
	}
	return math.Min(late, 600)
}
