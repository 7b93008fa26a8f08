package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"slabside/internal/fault"
)

// System is a system of units for people.
type System string

// The two systems a shop can choose.
const (
	Metric System = "metric" // kg, g, °C, mm
	US     System = "us"     // lb, oz, °F, in
)

// ParseSystem reads "metric" or "us".
func ParseSystem(s string) (System, error) {
	switch System(s) {
	case Metric, US:
		return System(s), nil
	}
	return "", fault.Invalid("unknown system of units %q", fault.Clip(s, fault.Echo)).WithHint(`write "metric" or "us"`)
}

// UnmarshalText reads a system's name.
func (s *System) UnmarshalText(b []byte) error {
	v, err := ParseSystem(string(b))
	*s = v
	return err
}

// number prints v with at most dec decimals, trailing zeros removed.
func number(v float64, dec int) string {
	s := strconv.FormatFloat(v, 'f', dec, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return s
}

// PrintNumber prints v with at most dec decimals, trailing zeros removed.
func PrintNumber(v float64, dec int) string { return number(v, dec) }

// PrintDigits prints v with at most so many digits that mean something, without
// a power of ten: 0.20134 to three is "0.201", 1323 is "1320".
func PrintDigits(v float64, digits int) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// massUnit chooses a unit in which the mass reads well.
func (s System) massUnit(m float64) (name string, factor float64, dec int) {
	a := math.Abs(m)
	if s == US {
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
func (s System) Mass(m Kilograms) string {
	name, f, dec := s.massUnit(float64(m))
	return number(float64(m)/f, dec) + " " + name
}

// MassRange prints low and high in one unit: "9.31–9.70 kg".
func (s System) MassRange(low, high Kilograms) string {
	name, f, dec := s.massUnit(float64(high))
	return number(float64(low)/f, dec) + "–" + number(float64(high)/f, dec) + " " + name
}

// Weight prints a mass to be weighed, rounded to the scale's resolution, in
// grams or kilograms for a metric shop and in pounds and ounces (with grams
// beside) for a US one.
func (s System) Weight(m, resolution Kilograms) string {
	g := m.Grams()
	if r := resolution.Grams(); r > 0 {
		g = math.Round(g/r) * r
	}
	dec := decimals(resolution.Grams())
	metric := strconv.FormatFloat(g, 'f', dec, 64) + " g"
	if g >= 1000 {
		metric = strconv.FormatFloat(g/1000, 'f', min(dec+3, 6), 64) + " kg"
	}
	if s == US {
		if m >= KilogramsPerPound {
			lb := math.Floor(m.Pounds() + 1e-9)
			oz := m.Ounces() - lb*16
			if oz > 15.995 {
				lb, oz = lb+1, 0
			}
			return fmt.Sprintf("%.0f lb %s oz (%s)", lb, number(math.Max(oz, 0), 2), metric)
		}
		if m >= KilogramsPerOunce/2 {
			return number(m.Ounces(), 2) + " oz (" + metric + ")"
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
func (s System) Temperature(c Celsius, dec int) string {
	if s == US {
		return number(c.Fahrenheit(), dec) + " °F"
	}
	return number(float64(c), dec) + " °C"
}

// TemperatureRange prints two readings on one scale: "149.1–151.3 °C".
func (s System) TemperatureRange(low, high Celsius, dec int) string {
	if s == US {
		return number(low.Fahrenheit(), dec) + "–" + number(high.Fahrenheit(), dec) + " °F"
	}
	return number(float64(low), dec) + "–" + number(float64(high), dec) + " °C"
}

// Difference prints a difference of temperatures in K, or in Fahrenheit degrees.
func (s System) Difference(k Kelvins, dec int) string {
	if s == US {
		return number(float64(k)*9/5, dec) + " °F"
	}
	return number(float64(k), dec) + " K"
}

// Percent prints a share in per cent with dec decimals.
func Percent(f Fraction, dec int) string { return number(f.Percent(), dec) + " %" }

// Altitude prints a height above the sea in m or ft.
func (s System) Altitude(m Metres) string {
	if s == US {
		return number(float64(m)/MetresPerFoot, 0) + " ft"
	}
	return number(float64(m), 0) + " m"
}

// Length prints a length in mm or m, or in inches.
func (s System) Length(m Metres) string {
	if s == US {
		return number(float64(m)/MetresPerInch, 2) + " in"
	}
	if math.Abs(float64(m)) < 1 {
		return number(float64(m)*1000, 1) + " mm"
	}
	return number(float64(m), 2) + " m"
}

// Volume prints a volume in L, or in US quarts.
func (s System) Volume(l Litres) string {
	if s == US {
		return number(float64(l)/(LitresPerUSGallon/4), 1) + " qt"
	}
	return number(float64(l), 1) + " L"
}

// Pressure prints an absolute pressure in hPa, or in inHg.
func (s System) Pressure(p Pascals) string {
	if s == US {
		return number(float64(p)/PascalsPerInchOfHg, 2) + " inHg"
	}
	return number(float64(p)/100, 1) + " hPa"
}

// Power prints a power in kW, or in BTU/h.
func (s System) Power(w Watts) string {
	if s == US {
		return number(float64(w)*3600/JoulesPerBTU, 0) + " BTU/h"
	}
	return number(float64(w)/1000, 2) + " kW"
}
