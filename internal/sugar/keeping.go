package sugar

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// The sorption isotherm of Guggenheim, Anderson and de Boer for boiled sugar at 25 °C.
const (
	gabLayer = 8.4   // g water per 100 g of solids
	gabC     = 2.0   // -
	gabK     = 0.975 // -
)

// The range of the isotherm: the humidity it was fitted over, as a share.
const (
	RoomMinHumidity = 0.1
	RoomMaxHumidity = 0.9
)

// RoomActivitySD is one standard deviation of [RoomActivity]: ±0.07 (5 % to 95 %).
// RoomWaterRelSD is that of [RoomWater] as a share of it: ±20 %.
const (
	RoomActivitySD = 0.07 / ninety
	RoomWaterRelSD = 0.20 / ninety
)

// RoomWater returns the mass fraction of water that boiled sugar comes to in air of a
// relative humidity at 25 °C:
//
//	X = Xm C K a / ((1 − Ka)(1 − Ka + CKa)),  Xm 8.4 g per 100 g of solids, C 2.0, K 0.975
//
// Range 10 to 90 % humidity, 20 to 30 °C; whatever the sugars, since sucrose and
// syrup differ by less than the isotherm's error, [RoomWaterRelSD].
//
// Reference: form by source key timmermann2001; the three numbers are fitted to
// source key sloan-labuza1975 above 50 % humidity and to source key zobrist2011
// below.
func RoomWater(humidity quantity.Fraction) (quantity.Fraction, error) {
	if err := checkHumidity(humidity); err != nil {
		return 0, err
	}
	x, _ := SorbedWater(float64(humidity))
	return quantity.Fraction(x / (1 + x)), nil
}

// RoomActivity returns the activity of water over boiled sugar at 25 °C, which is the
// relative humidity of the air it neither dries nor dampens in: the inverse of
// [RoomWater]. It is the guide to keeping that [WaterActivity] is not.
//
// Range: the water contents of 10 to 90 % humidity, 1.6 to 39 %. Error
// [RoomActivitySD].
func RoomActivity(m Mixture) (float64, error) {
	if err := m.Solids.Check(); err != nil {
		return 0, err
	}
	low, _ := SorbedWater(RoomMinHumidity)
	high, _ := SorbedWater(RoomMaxHumidity)
	share := func(x float64) float64 { return 100 * x / (1 + x) }
	if err := within("water", m.Water.Percent(), share(low), share(high), "%", source.SloanLabuza1975); err != nil {
		return 0, err
	}
	return SorbedActivity(float64(m.Water) / float64(m.Dry())), nil
}

// SorbedActivity returns the activity of water over boiled sugar at 25 °C that holds
// x of it [g/g of solids], the kernel of [RoomActivity]. Below the driest fitted air, of
// 10 % humidity and 1.6 % water, it goes on to nothing at no water, nearly straight.
func SorbedActivity(x float64) float64 {
	if x <= 0 {
		return 0
	}
	// X (1 − Ka)(1 − Ka + CKa) = Xm C K a is a quadratic in Ka; its smaller root is meant.
	const a = 1 - gabC
	b := gabC - 2 - gabLayer*gabC/(100*x)
	ka := (-b - math.Sqrt(b*b-4*a)) / (2 * a)
	return ka / gabK
}

// SorbedWater returns the water that boiled sugar holds at an activity a at 25 °C [g/g of
// solids] and how much more it holds for more activity [g/g], the kernel of [RoomWater]
// and its slope:
//
//	dX/da = Xm C K (1 + (C−1)(Ka)²) / ((1 − Ka)(1 − Ka + CKa))²
func SorbedWater(a float64) (x, slope float64) {
	ka := gabK * a
	d := (1 - ka) * (1 - ka + gabC*ka)
	return gabLayer / 100 * gabC * ka / d, gabLayer / 100 * gabC * gabK * (1 + (gabC-1)*ka*ka) / (d * d)
}

// StickyHumidity returns the relative humidity above which a sweet of the solids
// takes up water until it is no longer a glass at t: where [WaterAtGlass] meets
// the isotherm. It is a limit for keeping for good; the skin of a sweet reaches it
// in hours, its middle in weeks.
//
// Range: t 20 to 30 °C, as the isotherm; both models' ranges. Error about ±0.07 and
// ±0.6 point of water.
func StickyHumidity(s Solids, t quantity.Celsius) (quantity.Fraction, error) {
	const low, high = 20, 30
	if err := checkTemp(t, low, high, source.SloanLabuza1975); err != nil {
		return 0, err
	}
	water, err := WaterAtGlass(s, t)
	if err != nil {
		return 0, err
	}
	a, err := RoomActivity(Mix(s, water))
	return quantity.Fraction(a), err
}

// The range of [DewPoint]: the air of rooms [°C].
const (
	DewMinC = 0
	DewMaxC = 60
)

// DewPoint returns the temperature to which air of a temperature and relative
// humidity has to cool before water settles out of it:
//
//	p_sat(dew point) = humidity · p_sat(t)
//
// Range: air of 0 to 60 °C, dew points not below 0 °C, where frost settles instead.
// Error below 0.1 K at 100 kPa; the error of a hygrometer is larger.
//
// Reference: [SaturationPressure]; checked against a Magnus form and a table.
func DewPoint(t quantity.Celsius, humidity quantity.Fraction) (quantity.Celsius, error) {
	if err := checkTemp(t, DewMinC, DewMaxC, source.IAPWSIF97); err != nil {
		return 0, err
	}
	full := saturationPa(t.Kelvin())
	if err := within("relative humidity", humidity.Percent(), 100*steamMinPa/full, 100, "%", source.IAPWSIF97); err != nil {
		return 0, err
	}
	return quantity.FromKelvin(saturationK(float64(humidity) * full)), nil
}

func checkHumidity(h quantity.Fraction) error {
	if math.IsNaN(float64(h)) {
		return fault.OutOfRange("relative humidity", float64(h), 100*RoomMinHumidity, 100*RoomMaxHumidity, "%", string(source.SloanLabuza1975))
	}
	return within("relative humidity", h.Percent(), 100*RoomMinHumidity, 100*RoomMaxHumidity, "%", source.SloanLabuza1975)
}
