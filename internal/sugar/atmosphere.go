package sugar

import (
	"math"

	"slabside/internal/quantity"
	"slabside/internal/source"
)

// The altitudes at which people boil sugar, and the formula's use here [m].
const (
	MinAltitude quantity.Metres = -610
	MaxAltitude quantity.Metres = 5000
)

// StandardAtmosphere returns the mean station pressure at an altitude above sea
// level:
//
//	p = 101325 (1 − 2.25577e−5 h)^5.25588 Pa
//
// Range −610 to 5000 m; outside it the fault is out of range. The day's weather
// moves the true pressure by ±3 kPa: a barometer is better.
//
// Reference: ISO 2533; source key iso2533.
func StandardAtmosphere(h quantity.Metres) (quantity.Pascals, error) {
	if err := within("altitude", float64(h), float64(MinAltitude), float64(MaxAltitude), "m", source.ISO2533); err != nil {
		return 0, err
	}
	return quantity.Pascals(quantity.StandardAtmospherePa * math.Pow(1-2.25577e-5*float64(h), 5.25588)), nil
}
