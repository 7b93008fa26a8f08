package sugar

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// WarmingHeat returns the heat to warm a liquid mixture without loss of water
// [kJ per kg of mixture], the integral of [HeatCapacity]; negative for cooling.
//
// Range: both temperatures 20 to 160 °C, and neither below the glass transition.
func WarmingHeat(m Mixture, from, to quantity.Celsius) (kjPerKg float64, err error) {
	if err := m.check(0, 1, source.Bubnik1995); err != nil {
		return 0, err
	}
	for _, t := range [2]quantity.Celsius{from, to} {
		if err := checkTemp(t, PropertyMinC, PropertyMaxC, source.Bubnik1995); err != nil {
			return 0, err
		}
		glass, err := isGlass(m, t)
		if err != nil {
			return 0, err
		}
		if glass {
			return 0, fault.Invalid("the mixture is a glass at %.1f °C", float64(t)).
				WithHint("warming and cooling heats hold for the liquid only")
		}
	}
	return warmingHeat(float64(m.Dry()), float64(from), float64(to)), nil
}

// warmingHeat is the integral of liquidHeat between two temperatures [kJ/kg]:
// the heat capacity is linear in temperature, so the middle one is exact.
func warmingHeat(dry, fromC, toC float64) float64 {
	return liquidHeat(dry, (fromC+toC)/2) * (toC - fromC)
}

// Enthalpy returns the heat content of the mixture at t, counted from 20 °C
// [kJ/kg]: the integral of [HeatCapacity], through the glass transition and without
// a jump there. What a sweet gives up between two temperatures is the difference.
//
// Range 0 to 100 % dry solids, 20 to 160 °C. Error: the share of
// [HeatCapacityRelSD].
func Enthalpy(m Mixture, t quantity.Celsius) (kjPerKg float64, err error) {
	if _, err := HeatCapacity(m, t); err != nil {
		return 0, err
	}
	glass, err := isGlass(m, PropertyMinC)
	if err != nil {
		return 0, err
	}
	dry, at := float64(m.Dry()), float64(t)
	kjPerKg = warmingHeat(dry, PropertyMinC, at)
	if glass {
		stiff := min(at, glassK(m)-quantity.ZeroCelsius) // the end of the stretch spent as a glass
		kjPerKg -= glassHeatStep * dry * (stiff - PropertyMinC)
	}
	return kjPerKg, nil
}

// boilSteps divides a boil so finely that the integral is good to 0.1 %: each
// step takes off the same share of the water that is left.
const boilSteps = 64

// BoilingDownHeat returns the heat to boil a mixture of the solids down from one
// water content to another under the station pressure p [kJ per kg of dry
// solids], starting and ending at the boil: what evaporates and what warms, step
// by step along the boiling curve,
//
//	Q = ∫ L(w, T) dm + ∫ (1 + m) cp(w, T) dT,  m water per kg of solids
//
// Vapour leaves at the temperature it boils at. Range as [BoilingPoint]; from may
// not be below to. A boil above 160 °C holds less than [EdgeWater] and carries that
// caution; its heat capacity is carried on along the same line, a matter of ten
// degrees and of 0.2 % of the heat.
func BoilingDownHeat(s Solids, from, to quantity.Fraction, p quantity.Pascals) (kjPerKgSolids float64, err error) {
	if from < to {
		return 0, fault.Invalid("a boil cannot go from %s water up to %s",
			quantity.Plain.Percent(from, 2), quantity.Plain.Percent(to, 2)).WithHint("give more water before than after")
	}
	for _, water := range [2]quantity.Fraction{from, to} {
		if _, err := BoilingPoint(Mix(s, water), p); err != nil {
			return 0, err
		}
	}
	b := newBrew(s)
	perSolids := func(f quantity.Fraction) float64 { return float64(f) / (1 - float64(f)) }
	path := boilPath(perSolids(from), perSolids(to))
	lastC := 0.0
	for i, m := range path {
		tempK, err := boilingK(b, m/(1+m), float64(p))
		if err != nil {
			return 0, fault.Internal(err, "the boiling point was not found")
		}
		tempC := tempK - quantity.ZeroCelsius
		if i > 0 {
			mid, midC := (path[i-1]+m)/2, (lastC+tempC)/2
			kjPerKgSolids += latentHeat(mid/(1+mid), midC)*(path[i-1]-m) +
				(1+mid)*warmingHeat(1/(1+mid), lastC, tempC)
		}
		lastC = tempC
	}
	return kjPerKgSolids, nil
}

// boilPath returns the water per kg of solids at the ends of equal-ratio steps.
func boilPath(from, to float64) [boilSteps + 1]float64 {
	var path [boilSteps + 1]float64
	for i := range path {
		part := float64(i) / boilSteps
		path[i] = from * math.Pow(to/from, part)
	}
	return path
}
