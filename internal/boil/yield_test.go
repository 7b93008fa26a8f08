package boil

import q "slabside/internal/quantity"

// judgement says what a yield that an old book states is worth.
type judgement string

const (
	plausible  judgement = "plausible"
	impossible judgement = "impossible" // more than dry matter and water can give
	lossy      judgement = "lossy"      // more than a tenth below the balance: kettle, slab and rolls together seldom lose more (source key practice)
)

// judgeYield compares a stated yield with the mass balance.
func judgeYield(stated q.Kilograms, predicted q.Estimate) judgement {
	switch {
	case float64(stated) > predicted.High:
		return impossible
	case float64(stated) < predicted.Value*0.9:
		return lossy
	}
	return plausible
}

// fahrenheit is the Celsius reading of a Fahrenheit one.
func fahrenheit(f float64) q.Celsius { return q.Celsius((f - 32) * 5 / 9) }
