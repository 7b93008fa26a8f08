package boil

import (
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// Inputs is one boil to be worked out.
type Inputs struct {
	Recipe string // id; names the draws that belong to a recipe
	Batch  string // names the draws of this boil alone, "damson:2"

	Charge    Charge
	End       End
	Additions []Dose
	Portions  []recipe.Portion // empty: the boil stays one

	// CookBack is the share of the charge's sugar that is sweets of the boil before, in a
	// long row of boils alike, dissolved and boiled again; the charge is weighed as if it
	// were fresh.
	CookBack q.Fraction

	Room   rig.Room
	Glass  *rig.Glass  // nil: [UnnamedGlass]
	Kettle *rig.Kettle // nil: no smear, no time, no fuel
	Scales []rig.Scale // empty: weighing to ±0.5 % is assumed
	Units  q.Reader    // to whom a refusal or a caution speaks

	Learned *Learned // what records say of this room, glass and kettle; nil: nothing

	// Ensemble is the draws; the zero value stands for numeric.Draws of seed 0.
	Ensemble numeric.Ensemble
}

// DefaultHoldPoint is the true temperature from which a boil is watched where the
// room states none: a dissolved syrup waits below 105 to 115 °C (source key practice).
const DefaultHoldPoint q.Celsius = 115

func (in Inputs) glass() (rig.Glass, bool) {
	if in.Glass == nil {
		return UnnamedGlass(), false
	}
	return Checked(*in.Glass, in.Room), true
}

func (in Inputs) holdPoint() q.Celsius {
	if in.Room.HoldPoint == 0 {
		return DefaultHoldPoint
	}
	return in.Room.HoldPoint
}

// parts returns the portions with their shares, summing to one.
func (in Inputs) parts() ([]recipe.Portion, []float64, error) {
	if len(in.Portions) == 0 {
		return []recipe.Portion{{Share: 1, Work: recipe.Clear}}, []float64{1}, nil
	}
	shares := make([]float64, len(in.Portions))
	sum := 0.0
	for i, p := range in.Portions {
		if !(p.Share > 0) {
			return nil, nil, fault.Invalid("the portion %q has no share", p.ID).At("portion")
		}
		shares[i] = float64(p.Share)
		sum += shares[i]
	}
	const slack = 1e-6
	if sum < 1-slack || sum > 1+slack {
		return nil, nil, fault.Invalid("the portions make %s of the boil", q.Plain.Percent(q.Fraction(sum), 3)).At("portion").
			WithHint("their shares must sum to 100 %%")
	}
	for i := range shares {
		shares[i] /= sum
	}
	return in.Portions, shares, nil
}
