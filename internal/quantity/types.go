package quantity

import "math"

// Celsius is a temperature read on a scale [°C].
type Celsius float64

// Kelvins is a difference of two temperatures [K].
type Kelvins float64

// Kilograms is a mass [kg].
type Kilograms float64

// Litres is a volume [L].
type Litres float64

// Metres is a length or an altitude [m].
type Metres float64

// Pascals is a pressure [Pa]; always absolute, never reduced to sea level.
type Pascals float64

// Watts is a power [W].
type Watts float64

// Joules is an energy [J].
type Joules float64

// Fraction is a share of one: a mass fraction, an efficiency, a humidity.
type Fraction float64

// ZeroCelsius is 0 °C in kelvins, exact by definition of the Celsius scale (SI Brochure, 9th ed.).
const ZeroCelsius = 273.15

// Exact factors: international avoirdupois pound and inch (International Yard
// and Pound Agreement, 1959), US liquid gallon of 231 cubic inches (NIST Handbook 44, App. C).
const (
	KilogramsPerPound    = 0.45359237
	KilogramsPerOunce    = KilogramsPerPound / 16
	MetresPerInch        = 0.0254
	MetresPerFoot        = 0.3048
	LitresPerUSGallon    = 3.785411784
	PascalsPerInchOfHg   = 3386.389      // conventional, 0 °C (NIST SP 811, table B.8)
	JoulesPerBTU         = 1055.05585262 // International Table BTU (NIST SP 811, table B.8)
	StandardAtmospherePa = 101325
)

// Kelvin returns the thermodynamic temperature [K].
func (c Celsius) Kelvin() float64 { return float64(c) + ZeroCelsius }

// FromKelvin returns the Celsius reading of a thermodynamic temperature [K].
func FromKelvin(tempK float64) Celsius { return Celsius(tempK - ZeroCelsius) }

// Fahrenheit returns the reading on the Fahrenheit scale [°F].
func (c Celsius) Fahrenheit() float64 { return float64(c)*9/5 + 32 }

// Plus returns the reading d warmer than c.
func (c Celsius) Plus(d Kelvins) Celsius { return c + Celsius(d) }

// Minus returns the difference c − o.
func (c Celsius) Minus(o Celsius) Kelvins { return Kelvins(c - o) }

// Grams returns the mass in grams.
func (m Kilograms) Grams() float64 { return float64(m) * 1000 }

// Pounds returns the mass in avoirdupois pounds.
func (m Kilograms) Pounds() float64 { return float64(m) / KilogramsPerPound }

// Ounces returns the mass in avoirdupois ounces.
func (m Kilograms) Ounces() float64 { return float64(m) / KilogramsPerOunce }

// Milligrams returns the mass rounded to the nearest whole milligram, the unit of records.
func (m Kilograms) Milligrams() int64 { return int64(math.Round(float64(m) * 1e6)) }

// Percent returns the fraction in parts of a hundred.
func (f Fraction) Percent() float64 { return float64(f) * 100 }

// PPM returns the fraction in parts per million.
func (f Fraction) PPM() float64 { return float64(f) * 1e6 }
