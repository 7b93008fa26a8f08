package sugar

import (
	"errors"
	"strings"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// Caution is what a result must say beside its numbers.
type Caution struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// The codes of the cautions given here.
const (
	CodeBoilEdge     = "boil-edge"      // too dry for the boiling equation: a range, no number
	CodeBoilLoose    = "boil-loose"     // the published tables differ here
	CodeCoolActivity = "cool-activity"  // the equation is weak far below boiling
	CodeOutsideRange = "outside-range"  // a property was left out
	CodeSpectrum     = "syrup-spectrum" // a syrup's DE and its sugars disagree
	CodeThickGuess   = "viscosity-wide" // no measurement checks the viscosity here
)

// BoilCaution returns the caution that belongs to a boiling point or a water
// content at the boil; ok is false where the number stands on its own.
func BoilCaution(water quantity.Fraction) (c Caution, ok bool) {
	const looseWet, looseDry = 0.18, 0.075 // 82 to 92.5 % solids: about the tables that differ
	switch {
	case AtEdge(water):
		return Caution{CodeBoilEdge, "below 1.8 % water the boiling equation is outside its fit: " +
			"the value is the middle of a range, and only the range is meant"}, true
	case water > looseDry && water < looseWet:
		return Caution{CodeBoilLoose, "between 82 % and 92.5 % solids the published boiling tables " +
			"differ by 3 to 5 K: the range is wide for that reason"}, true
	}
	return Caution{}, false
}

// outsideCaution says which property was left out, and why.
func outsideCaution(property string, err error) Caution {
	why := err.Error()
	var f *fault.Error
	if errors.As(err, &f) {
		why = f.Text
	}
	return Caution{CodeOutsideRange, strings.Join([]string{"no " + property, why}, ": ")}
}
