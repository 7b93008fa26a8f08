package boil

import (
	"fmt"
	"math"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// MostDoseError is the largest share of a dose that half a division of the scale
// may be: beyond it colour and sourness of two boils differ to the eye and tongue
// (common practice, no source).
const MostDoseError = 0.02

// stockSteps is how many divisions a weighing from a stock solution should be:
// half of one is then 1 %.
const stockSteps = 50

// Weighing is one line of a batch sheet: an ingredient, its mass, its scale.
type Weighing struct {
	Ingredient string
	Name       string
	Stage      recipe.Stage // empty: in the charge
	Portion    string       // empty: for the whole boil
	Target     q.Kilograms  // as computed
	Rounded    q.Kilograms  // to the scale's division; the target where no scale is known
	Scale      string       // id; empty: none takes it, or none is known
	Resolution q.Kilograms
	Goes       int        // weighings it takes, 1 unless it exceeds every scale
	ErrorShare q.Fraction // half a division over the target
	Stock      *Stock     // proposed where the scale is too coarse for the dose
}

// Coarse reports whether half a division is too large a share of the dose.
func (w Weighing) Coarse() bool { return w.ErrorShare > MostDoseError }

// Stock is a solution that makes a small dose weighable: make it once, weigh from
// it a boil at a time. What the carrier brings is in the balance.
type Stock struct {
	Strength  q.Fraction  // ingredient in the solution, by mass
	Carrier   string      // "water", "neutral oil" or "its own solvent"
	OfDose    q.Kilograms // to make it: of the ingredient …
	OfCarrier q.Kilograms // … and of the carrier
	Weigh     q.Kilograms // of the solution, for this boil
	Scale     string
}

// brings returns what the carrier in one boil's weighing brings.
func (s *Stock) brings(share float64) Makeup {
	if s == nil {
		return Makeup{}
	}
	m := float64(s.CarrierMass()) * share
	switch s.Carrier {
	case carrierOil:
		return Makeup{Fat: m}
	case carrierSolvent:
		return Makeup{Spirit: m}
	}
	return Makeup{Water: m}
}

// The carriers.
const (
	carrierWater   = "water"
	carrierOil     = "neutral oil"
	carrierSolvent = "its own solvent"
)

// Carriers lists what stock solutions are made in.
func Carriers() []string { return []string{carrierWater, carrierOil, carrierSolvent} }

// CarrierMass is what of the carrier a boil's weighing brings, as the sheet counts it.
func (s Stock) CarrierMass() q.Kilograms {
	return q.Kilograms(float64(s.Weigh) * (1 - float64(s.Strength)))
}

// weigh chooses the scale for a mass: the finest whose capacity takes it.
func weigh(in ingredient.Ingredient, stage recipe.Stage, portion string, mass q.Kilograms, scales []rig.Scale) Weighing {
	w := Weighing{Ingredient: in.ID, Name: in.Name, Stage: stage, Portion: portion,
		Target: mass, Rounded: mass, Goes: 1}
	s, goes, ok := scaleFor(mass, scales)
	if !ok {
		return w
	}
	w.Scale, w.Resolution, w.Goes = s.ID, s.Resolution, goes
	if r := float64(s.Resolution); r > 0 {
		w.Rounded = q.Kilograms(toDivision(float64(mass), r))
		if mass > 0 {
			w.ErrorShare = q.Fraction(r * float64(goes) / 2 / float64(mass))
		}
	}
	if w.Coarse() {
		w.Stock = stockFor(in, stage, mass, scales)
	}
	return w
}

// toDivision rounds a mass to a division, without the dust of a float where a
// kilogram is a whole number of divisions.
func toDivision(mass, division float64) float64 {
	steps, inKilo := math.Round(mass/division), math.Round(1/division)
	if math.Abs(inKilo*division-1) < 1e-9 {
		return steps / inKilo
	}
	return steps * division
}

// scaleFor returns the finest scale that takes the mass; where none does, the
// largest, and how many weighings it needs.
func scaleFor(mass q.Kilograms, scales []rig.Scale) (best rig.Scale, goes int, ok bool) {
	for _, s := range scales {
		if s.Capacity >= mass && (!ok || s.Resolution < best.Resolution) {
			best, goes, ok = s, 1, true
		}
	}
	if ok {
		return best, goes, true
	}
	for _, s := range scales {
		if s.Capacity > best.Capacity {
			best, ok = s, true
		}
	}
	if ok {
		goes = int(math.Ceil(float64(mass) / float64(best.Capacity)))
	}
	return best, goes, ok
}

// stockFor proposes the strongest round solution of which a boil's share is at
// least stockSteps divisions. A powder that is folded in gets none: water would
// be folded in with it, and a powdery carrier would grain the batch.
func stockFor(in ingredient.Ingredient, stage recipe.Stage, mass q.Kilograms, scales []rig.Scale) *Stock {
	carrier := carrierWater
	switch in.Kind {
	case ingredient.Oil:
		carrier = carrierOil
	case ingredient.Essence:
		carrier = carrierSolvent
	case ingredient.Acid, ingredient.Salt, ingredient.Doctor:
		if stage == recipe.AtFold || stage == recipe.AtPour {
			return nil
		}
	case ingredient.Fat, ingredient.Nut, ingredient.Dust, ingredient.Release, ingredient.Other:
		return nil
	}
	for _, strength := range []float64{0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001} {
		of := float64(mass) / strength
		s, goes, ok := scaleFor(q.Kilograms(of), scales)
		if !ok || goes > 1 || s.Resolution <= 0 || of < stockSteps*float64(s.Resolution) {
			continue
		}
		// Enough of the ingredient to be weighed as well as the solution is, in
		// whole tens of divisions, and for ten boils.
		own, _, _ := scaleFor(mass, scales)
		step := 10 * float64(own.Resolution)
		dose := math.Ceil(math.Max(stockSteps*float64(own.Resolution), 10*float64(mass))/step) * step
		return &Stock{Strength: q.Fraction(strength), Carrier: carrier,
			OfDose: q.Kilograms(dose), OfCarrier: q.Kilograms(dose/strength - dose),
			Weigh: q.Kilograms(of), Scale: s.ID}
	}
	return nil
}

// assumedWeighing is the half-width of a weighing on an unknown scale, as a share
// of the mass (judgement).
const assumedWeighing = 0.005

// spread returns one standard deviation of what is really in the pan [kg]: the
// target rounded to a division and the display read to one, each evenly within
// half of it.
func (w Weighing) spread() float64 {
	if w.Scale == "" {
		return assumedWeighing * float64(w.Target) / ninety
	}
	if w.Stock != nil {
		// Half a division is at most 1 % of the solution weighed, and of the making.
		return float64(w.Target) / stockSteps / math.Sqrt(6)
	}
	return float64(w.Resolution) * math.Sqrt(float64(w.Goes)/6)
}

// coarseCaution names a dose the scale is too coarse for, where no stock solution helps.
func (w Weighing) coarseCaution(say q.Reader) Caution {
	return Caution{Code: CodeCoarse, Text: fmt.Sprintf("%s: half a division of the scale is %s of the dose; use a finer scale, or weigh for several boils at once and share it out",
		w.Name, say.Percent(w.ErrorShare, 2))}
}
