package boil

import (
	"math"

	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// UnnamedGlass is what is assumed where no glass is named: a confectioners'
// thermometer as sold, ±2 K at the end of a boil, in divisions of 1 K (source
// key practice; two scale marks).
func UnnamedGlass() rig.Glass {
	return rig.Glass{ID: "unnamed", Name: "a glass as sold", Class: 2, Division: 1}
}

// checkedNear is how far below the end of the boil a glass may have been checked
// and still be vouched for [K]: a boiling-water check at 100 °C says little of
// 150 °C (source key practice).
const checkedNear = 20

// Mark returns the division of the glass nearest to a reading; the reading itself
// where the division is not known.
func Mark(g rig.Glass, reading q.Celsius) q.Celsius {
	if g.Division <= 0 {
		return reading
	}
	d := float64(g.Division)
	return q.Celsius(math.Round(float64(reading)/d) * d)
}

// readingErrors returns how far off the mark the reading is taken, evenly within
// half a division. A recipe is read at the same mark every time.
func readingErrors(g rig.Glass, recipe string, e numeric.Ensemble) []float64 {
	c := e.Uniform("glass:" + g.ID + ":reading:" + recipe)
	for i, u := range c {
		c[i] = (u - 0.5) * float64(g.Division)
	}
	return c
}
