package inversion

import (
	"math"

	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Vukov's equation: log10 k(1/min) = 16.91 + log10(ρ_w) − 5670/T − pH.
const (
	vukovLog  = 16.91
	vukovTemp = 5670.0 // K; 108.5 kJ/mol
)

// The temperatures of [Rate] [°C].
const (
	RateMinC = 20
	RateMaxC = 160
)

// Where nothing published checks the rate any more.
const (
	CheckedMaxC   quantity.Celsius  = 115
	CheckedMaxDry quantity.Fraction = 0.85
)

// ninety is the standard-normal 95 % point: a stated ± is a 5 % to 95 % half-width.
const ninety = 1.6448536269514722

// One standard deviation of ln(exposure), pH and rate together: a factor of two
// either way (5 % to 95 %), or a quarter where [Boil.Factor] was learnt from a boil
// measured on the same kettle and water. It is one error for the whole shop.
const (
	ModelLogSD      = math.Ln2 / ninety
	CalibratedLogSD = 0.25 / ninety
)

// Rate returns the rate constant of inversion [1/s], first order in sucrose:
//
//	k = 10^(16.91 − 5670/T − pH) ρ_w / 60
//
// with ρ_w the water in a litre of the mixture [kg/L] and the pH of its water.
//
// Range 20 to 160 °C, pH 1.2 to 7, 0 to 99.6 % dry solids, and that of
// [sugar.Density]. In dilute acid, 25 to 45 °C, it is 24 % low at worst; at 104 °C
// within 10 points of a boiled syrup's inversion; beyond [CheckedMaxC] and
// [CheckedMaxDry] no measurement checks it.
//
// Reference: source key vukov1965.
func Rate(t quantity.Celsius, ph float64, m sugar.Mixture) (perSecond float64, err error) {
	if err := within("pH", ph, MinPH, MaxPH, ""); err != nil {
		return 0, err
	}
	free, err := sourless(t, m)
	return free * math.Pow(10, -ph), err
}

// TimesFaster returns how many times as fast sucrose inverts at one temperature as at
// another in the same mixture of the same pH: the ratio of two [Rate], but for what its
// density changes.
//
//	10^(5670/T_than − 5670/T_at)
//
// Range 20 to 160 °C. The ratio hangs on the heat of activation alone (108.5 kJ/mol,
// measured 108 to 109); it holds for acid that lies on a hot mass where the rate itself
// is not known.
//
// Reference: source key vukov1965.
func TimesFaster(at, than quantity.Celsius) (float64, error) {
	for _, t := range []quantity.Celsius{at, than} {
		if err := within("temperature", float64(t), RateMinC, RateMaxC, "°C"); err != nil {
			return 0, err
		}
	}
	return math.Pow(10, vukovTemp/than.Kelvin()-vukovTemp/at.Kelvin()), nil
}

// sourless is the rate at pH 0 [1/s].
func sourless(t quantity.Celsius, m sugar.Mixture) (float64, error) {
	if err := within("temperature", float64(t), RateMinC, RateMaxC, "°C"); err != nil {
		return 0, err
	}
	if err := within("dry solids", m.Dry().Percent(), 0, sugar.ActivityMaxDry*100, "%"); err != nil {
		return 0, err
	}
	density, err := sugar.Density(m, t)
	if err != nil {
		return 0, err
	}
	return math.Pow(10, vukovLog-vukovTemp/t.Kelvin()) * density * float64(m.Water) / 60, nil
}
