package boil

import q "slabside/internal/quantity"

// Judgement says what a stated yield is worth.
type Judgement string

// The judgements of a stated yield.
const (
	Plausible  Judgement = "plausible"
	Impossible Judgement = "impossible" // more than dry matter and water can give
	Lossy      Judgement = "lossy"      // well under what the balance gives
)

// mostLossy is the share of the balance that may be lost before a stated yield is
// called lossy: kettle, slab and rolls together seldom lose more (source key practice).
const mostLossy = 0.10

// JudgeYield compares a stated yield with the mass balance: impossible above the
// high end of the prediction, lossy more than a tenth below its value.
func JudgeYield(stated q.Kilograms, predicted q.Estimate) Judgement {
	switch {
	case float64(stated) > predicted.High:
		return Impossible
	case float64(stated) < predicted.Value*(1-mostLossy):
		return Lossy
	}
	return Plausible
}
