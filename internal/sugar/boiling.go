package sugar

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// The pressures under which the boiling equation is used: from the standard
// atmosphere at 5000 m to the highest weather below sea level.
const (
	MinPressure quantity.Pascals = 54_000
	MaxPressure quantity.Pascals = 110_000
)

// The search goes on to these [K, mass fraction]: far finer than any thermometer
// or balance, so that the two directions undo each other.
const (
	tempTol  = 1e-9
	waterTol = 1e-12
)

// BoilingPoint returns the temperature at which the mixture boils under the
// station pressure p: where the vapour pressure of its water,
//
//	aw(w, T) p_sat(T) = p
//
// Range 0 to 99.6 % dry solids, 54 to 110 kPa; outside it the fault is out of
// range. Above 98.2 % dry solids ([AtEdge]) the number is the middle of a
// range: see [BoilingPointWith] and [BoilCaution].
//
// Reference: source keys starzak1997, iapws-if97. Errors: [BoilModelSD].
func BoilingPoint(m Mixture, p quantity.Pascals) (quantity.Celsius, error) {
	return BoilingPointWith(m, p, 0)
}

// BoilingPointWith returns the boiling point of a mixture whose water is known,
// in a world where the boiling equation is wrong by z standard deviations
// ([BoilModelSD]). A positive z means that a boil holds more water than the
// equation says at a given temperature, so that a given water is reached hotter.
// A draw stops where the equation would be asked below 0.2 % water.
func BoilingPointWith(m Mixture, p quantity.Pascals, z float64) (quantity.Celsius, error) {
	if err := m.check(ActivityMinDry, ActivityMaxDry, source.Starzak1997); err != nil {
		return 0, err
	}
	if err := checkPressure(p); err != nil {
		return 0, err
	}
	tempK, err := boilingK(newBrew(m.Solids), unshiftWater(m, z), float64(p))
	if err != nil {
		return 0, fault.Internal(err, "the boiling point was not found")
	}
	return quantity.FromKelvin(tempK), nil
}

// WaterAtBoil returns the mass fraction of water left in a mixture of the given
// solids that boils at t under the station pressure p: the inverse of
// [BoilingPoint].
//
// Range: the temperatures at which 0 to 99.6 % dry solids boil under p, 54 to
// 110 kPa. Below 1.8 % water ([AtEdge]) the number is the middle of a range.
func WaterAtBoil(s Solids, t quantity.Celsius, p quantity.Pascals) (quantity.Fraction, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	if err := checkPressure(p); err != nil {
		return 0, err
	}
	b := newBrew(s)
	tempK := t.Kelvin()
	if !(tempK > steamMinK && tempK < steamMaxK) {
		return 0, boilRangeFault(b, t, p)
	}
	target := math.Log(float64(p) / saturationPa(tempK))
	excess := func(water float64) float64 { return b.lnActivity(water, tempK) - target }
	const driest, wettest = 1 - ActivityMaxDry, 1 - ActivityMinDry
	// A mixture at the very end of the range may miss it by a rounding error.
	const end = 1e-9
	switch low, high := excess(driest), excess(wettest); {
	case low > 0 && low < end:
		return driest, nil
	case high < 0 && high > -end:
		return wettest, nil
	case low > 0 || high < 0:
		return 0, boilRangeFault(b, t, p)
	}
	water, err := numeric.Brent(excess, driest, wettest, waterTol)
	if err != nil {
		return 0, fault.Internal(err, "the water left at the boil was not found")
	}
	return quantity.Fraction(water), nil
}

// WaterAtBoilWith is [WaterAtBoil] with the error of the boiling equation
// applied: z standard deviations of [BoilModelSD], a positive z for more water.
func WaterAtBoilWith(s Solids, t quantity.Celsius, p quantity.Pascals, z float64) (quantity.Fraction, error) {
	water, err := WaterAtBoil(s, t, p)
	if err != nil {
		return 0, err
	}
	return quantity.Fraction(shiftWater(s, float64(water), z)), nil
}

// boilingK solves the boiling equation for the temperature [K].
func boilingK(b brew, water, pressPa float64) (float64, error) {
	ideal, slope := b.parts(water)
	target := math.Log(pressPa)
	excess := func(tempK float64) float64 {
		return ideal - slope/tempK + math.Log(saturationPa(tempK)) - target
	}
	// No mixture boils below water, and 99.6 % solids under 110 kPa stay far below +150 K.
	low := saturationK(pressPa)
	if excess(low) >= 0 {
		return low, nil // water itself, but for rounding
	}
	return numeric.Brent(excess, low, low+150, tempTol)
}

func checkPressure(p quantity.Pascals) error {
	return within("pressure", float64(p)/100, float64(MinPressure)/100, float64(MaxPressure)/100, "hPa", source.Starzak1997)
}

// boilRangeFault names the temperatures at which the solids can boil under p.
func boilRangeFault(b brew, t quantity.Celsius, p quantity.Pascals) error {
	low, err := boilingK(b, 1-ActivityMinDry, float64(p))
	if err != nil {
		return fault.Internal(err, "the range of boiling points was not found")
	}
	high, err := boilingK(b, 1-ActivityMaxDry, float64(p))
	if err != nil {
		return fault.Internal(err, "the range of boiling points was not found")
	}
	return fault.OutOfRange("boiling temperature", float64(t), low-quantity.ZeroCelsius, high-quantity.ZeroCelsius,
		"°C", string(source.Starzak1997))
}
