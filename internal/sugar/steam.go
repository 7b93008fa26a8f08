package sugar

import (
	"math"

	"slabside/internal/quantity"
	"slabside/internal/source"
)

// Coefficients of IAPWS-IF97 region 4 (IAPWS R7-97(2012), table 34).
const (
	if97n1  = 0.11670521452767e4
	if97n2  = -0.72421316703206e6
	if97n3  = -0.17073846940092e2
	if97n4  = 0.12020824702470e5
	if97n5  = -0.32325550322333e7
	if97n6  = 0.14915108613530e2
	if97n7  = -0.48232657361591e4
	if97n8  = 0.40511340542057e6
	if97n9  = -0.23855557567849
	if97n10 = 0.65017534844798e3
)

// The range of region 4: from 0 °C to the critical point.
const (
	steamMinK  = 273.15
	steamMaxK  = 647.096
	steamMinPa = 611.213
	steamMaxPa = 22.064e6
)

// SaturationPressure returns the vapour pressure of pure water at t:
//
//	ϑ = T + n9/(T − n10)
//	A = ϑ² + n1 ϑ + n2,  B = n3 ϑ² + n4 ϑ + n5,  C = n6 ϑ² + n7 ϑ + n8
//	p = [2C / (−B + √(B² − 4AC))]⁴ MPa
//
// Range 0 to 373.946 °C (273.15 to 647.096 K); outside it the fault is out of
// range. Error below 0.03 %.
//
// Reference: IAPWS R7-97(2012), eq. 30; source key iapws-if97.
func SaturationPressure(t quantity.Celsius) (quantity.Pascals, error) {
	if err := checkTemp(t, steamMinK-quantity.ZeroCelsius, steamMaxK-quantity.ZeroCelsius, source.IAPWSIF97); err != nil {
		return 0, err
	}
	return quantity.Pascals(saturationPa(t.Kelvin())), nil
}

// SaturationTemperature returns the temperature at which pure water boils under
// p, the exact inverse of [SaturationPressure].
//
// Range 611.213 Pa to 22.064 MPa.
//
// Reference: IAPWS R7-97(2012), eq. 31; source key iapws-if97.
func SaturationTemperature(p quantity.Pascals) (quantity.Celsius, error) {
	if err := within("pressure", float64(p), steamMinPa, steamMaxPa, "Pa", source.IAPWSIF97); err != nil {
		return 0, err
	}
	return quantity.FromKelvin(saturationK(float64(p))), nil
}

// saturationPa is the vapour pressure of water [Pa].
func saturationPa(tempK float64) float64 {
	th := tempK + if97n9/(tempK-if97n10)
	a := th*th + if97n1*th + if97n2
	b := if97n3*th*th + if97n4*th + if97n5
	c := if97n6*th*th + if97n7*th + if97n8
	root := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	square := root * root
	return square * square * 1e6
}

// saturationK is the temperature [K] at which water's vapour pressure is pressPa.
func saturationK(pressPa float64) float64 {
	square := math.Sqrt(pressPa / 1e6)
	beta := math.Sqrt(square)
	e := square + if97n3*beta + if97n6
	f := if97n1*square + if97n4*beta + if97n7
	g := if97n2*square + if97n5*beta + if97n8
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	sum := if97n10 + d
	return (sum - math.Sqrt(sum*sum-4*(if97n9+if97n10*d))) / 2
}
