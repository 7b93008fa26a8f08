package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Number prints v with at most dec decimals, trailing zeros removed.
func (r Reader) Number(v float64, dec int) string {
	s := strconv.FormatFloat(v, 'f', dec, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return r.Decimal().Mark(s)
}

// Fixed prints v with just dec decimals, as a scale shows it.
func (r Reader) Fixed(v float64, dec int) string {
	return r.Decimal().Mark(strconv.FormatFloat(v, 'f', dec, 64))
}

// Digits prints v with at most so many digits that mean something, without a
// power of ten: 0.20134 to three is "0.201", 1323 is "1320".
func (r Reader) Digits(v float64, digits int) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return r.Decimal().Mark(strconv.FormatFloat(rounded, 'f', -1, 64))
}

// massUnit chooses a unit in which the mass reads well.
func (r Reader) massUnit(m float64) (name string, factor float64, dec int) {
	a := math.Abs(m)
	if r.US() {
		if a >= KilogramsPerPound {
			return "lb", KilogramsPerPound, 2
		}
		if a >= KilogramsPerOunce/2 {
			return "oz", KilogramsPerOunce, 2
		}
		// Below half an ounce every scale in the trade reads grams.
	}
	if a >= 1 {
		return "kg", 1, 2
	}
	if a >= 0.1 {
		return "g", 1e-3, 0
	}
	if a >= 0.01 || a == 0 {
		return "g", 1e-3, 1
	}
	return "g", 1e-3, 2
}

// Mass prints a mass: "9.52 kg", "20.99 lb", "240 g".
func (r Reader) Mass(m Kilograms) string {
	name, f, dec := r.massUnit(float64(m))
	return r.Number(float64(m)/f, dec) + " " + name
}

// MassRange prints low and high in one unit: "9.31–9.70 kg".
func (r Reader) MassRange(low, high Kilograms) string {
	name, f, dec := r.massUnit(float64(high))
	return r.Number(float64(low)/f, dec) + "–" + r.Number(float64(high)/f, dec) + " " + name
}

// Weight prints a mass to be weighed, rounded to the scale's resolution, in
// grams or kilograms for a metric shop and in pounds and ounces (with grams
// beside) for a US one.
func (r Reader) Weight(m, resolution Kilograms) string {
	g := m.Grams()
	if step := resolution.Grams(); step > 0 {
		g = math.Round(g/step) * step
	}
	dec := decimals(resolution.Grams())
	metric := r.Fixed(g, dec) + " g"
	if g >= 1000 {
		metric = r.Fixed(g/1000, min(dec+3, 6)) + " kg"
	}
	if r.US() {
		if m >= KilogramsPerPound {
			lb := math.Floor(m.Pounds() + 1e-9)
			oz := m.Ounces() - lb*16
			if oz > 15.995 {
				lb, oz = lb+1, 0
			}
			return fmt.Sprintf("%.0f lb %s oz (%s)", lb, r.Number(math.Max(oz, 0), 2), metric)
		}
		if m >= KilogramsPerOunce/2 {
			return r.Number(m.Ounces(), 2) + " oz (" + metric + ")"
		}
	}
	return metric
}

// decimals returns how many decimals a resolution asks for.
func decimals(res float64) int {
	for d := 0; d < 6; d++ {
		scaled := res * math.Pow(10, float64(d))
		if math.Abs(scaled-math.Round(scaled)) < 1e-9 && math.Round(scaled) >= 1 {
			return d
		}
	}
	return 3
}

// Temperature prints a reading: "150 °C" or "302 °F" with dec decimals.
func (r Reader) Temperature(c Celsius, dec int) string {
	if r.US() {
		return r.Number(c.Fahrenheit(), dec) + " °F"
	}
	return r.Number(float64(c), dec) + " °C"
}

// TemperatureRange prints two readings on one scale: "149.1–151.3 °C".
func (r Reader) TemperatureRange(low, high Celsius, dec int) string {
	if r.US() {
		return r.Number(low.Fahrenheit(), dec) + "–" + r.Number(high.Fahrenheit(), dec) + " °F"
	}
	return r.Number(float64(low), dec) + "–" + r.Number(float64(high), dec) + " °C"
}

// Difference prints a difference of temperatures in K, or in Fahrenheit degrees.
func (r Reader) Difference(k Kelvins, dec int) string {
	if r.US() {
		return r.Number(float64(k)*9/5, dec) + " °F"
	}
	return r.Number(float64(k), dec) + " K"
}

// Percent prints a share in per cent with dec decimals.
func (r Reader) Percent(f Fraction, dec int) string { return r.Number(f.Percent(), dec) + " %" }

// MgKg prints a share in milligrams a kilogram, to three digits: what a law or a
// supplier calls ppm.
func (r Reader) MgKg(f Fraction) string { return r.Digits(float64(f)*1e6, 3) + " mg/kg" }

// Altitude prints a height above the sea in m or ft.
func (r Reader) Altitude(m Metres) string {
	if r.US() {
		return r.Number(float64(m)/MetresPerFoot, 0) + " ft"
	}
	return r.Number(float64(m), 0) + " m"
}

// FilmLength is where the lengths of films begin, which are said in µm or mil [m].
const FilmLength = 0.25e-3

// Length prints a length in µm, mm or m, or in mil or inches.
func (r Reader) Length(m Metres) string {
	thin := m != 0 && math.Abs(float64(m)) < FilmLength
	switch {
	case thin && r.US():
		return r.Number(float64(m)/MetresPerInch*1000, 1) + " mil"
	case thin:
		return r.Number(float64(m)*1e6, 0) + " µm"
	}
	if r.US() {
		return r.Number(float64(m)/MetresPerInch, 2) + " in"
	}
	if math.Abs(float64(m)) < 1 {
		return r.Number(float64(m)*1000, 1) + " mm"
	}
	return r.Number(float64(m), 2) + " m"
}

// Volume prints a volume in L, or in US quarts.
func (r Reader) Volume(l Litres) string {
	if r.US() {
		return r.Number(float64(l)/(LitresPerUSGallon/4), 1) + " qt"
	}
	return r.Number(float64(l), 1) + " L"
}

// Pressure prints an absolute pressure in hPa, or in inHg.
func (r Reader) Pressure(p Pascals) string {
	if r.US() {
		return r.Number(float64(p)/PascalsPerInchOfHg, 2) + " inHg"
	}
	return r.Number(float64(p)/100, 1) + " hPa"
}

// Rate prints a mass a minute in kg/min, or in lb/min.
func (r Reader) Rate(kgPerMin float64) string {
	if r.US() {
		return r.Number(kgPerMin/KilogramsPerPound, 1) + " lb/min"
	}
	return r.Number(kgPerMin, 2) + " kg/min"
}

// Power prints a power in kW, or in BTU/h.
func (r Reader) Power(w Watts) string {
	if r.US() {
		return r.Number(float64(w)*3600/JoulesPerBTU, 0) + " BTU/h"
	}
	return r.Number(float64(w)/1000, 2) + " kW"
}
