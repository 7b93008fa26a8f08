package quantity

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"slabside/internal/fault"
)

// unit is one way to write a quantity:
//
//	value in base units = (written · 10^exp + shift) · factor / divisor
//
// The power of ten is applied to the decimal text before it becomes a float, so
// that 240 g, 0.24 kg and 24e-2 kg are the same number and a share of one read
// back from its per cents is exactly the share that was written.
type unit struct {
	names   []string
	exp     int
	shift   float64
	factor  float64 // 0 for 1
	divisor float64 // 0 for 1
}

// value returns the amount in base units of a number written in this unit.
func (u unit) value(num float64) float64 {
	v := num + u.shift
	if u.factor != 0 {
		v *= u.factor
	}
	if u.divisor != 0 {
		v /= u.divisor
	}
	return v
}

// dimension is one kind of quantity with the units it may be written in; the
// first unit is the one it is written back in, and differs from the base unit by
// a power of ten at most.
type dimension struct {
	name  string
	units []unit
	hint  string
}

// fahrenheit is the size of a Fahrenheit degree, five ninths of a kelvin.
func fahrenheit(shift float64) unit {
	return unit{names: []string{"F", "°F", "degF"}, shift: shift, factor: 5, divisor: 9}
}

func ten(exp int, names ...string) unit { return unit{names: names, exp: exp} }

func times(factor float64, names ...string) unit { return unit{names: names, factor: factor} }

func massDim() dimension {
	return dimension{"mass", []unit{
		ten(0, "kg"), ten(-3, "g"), ten(-6, "mg"), times(KilogramsPerPound, "lb", "lbs"), times(KilogramsPerOunce, "oz"),
	}, "write a mass with its unit, such as 6.35 kg, 240 g, 14 lb or 3 oz"}
}

func tempDim() dimension {
	return dimension{"temperature", []unit{ten(0, "C", "°C", "degC"), fahrenheit(-32)},
		"write a temperature with its scale, such as 154 C or 310 F"}
}

func diffDim() dimension {
	return dimension{"temperature difference", []unit{ten(0, "K", "degK"), ten(0, "C", "°C"), fahrenheit(0)},
		"write a difference of temperature such as 1.5 K or 3 F"}
}

func volumeDim() dimension {
	return dimension{"volume", []unit{
		ten(0, "L", "l"), ten(-3, "mL", "ml"), times(LitresPerUSGallon, "gal"),
		times(LitresPerUSGallon/4, "qt"), times(LitresPerUSGallon/128, "floz"),
	}, "write a volume with its unit, such as 20 L, 250 ml, 5 gal or 6 qt"}
}

func lengthDim() dimension {
	return dimension{"length", []unit{
		ten(0, "m"), ten(-2, "cm"), ten(-3, "mm"), ten(-6, "um", "µm", "μm"),
		times(MetresPerInch, "in"), times(MetresPerFoot, "ft"), times(MetresPerInch/1000, "mil"),
	}, "write a length with its unit, such as 1.5 m, 20 mm, 3 ft or 5 in"}
}

func pressureDim() dimension {
	return dimension{"pressure", []unit{
		ten(0, "Pa"), ten(2, "hPa", "mbar"), ten(3, "kPa"), times(PascalsPerInchOfHg, "inHg"),
	}, "write a pressure with its unit, such as 1013 hPa or 29.9 inHg (the station pressure, not reduced to sea level)"}
}

func powerDim() dimension {
	return dimension{"power", []unit{
		ten(0, "W"), ten(3, "kW"), times(JoulesPerBTU/3600, "BTU/h", "Btu/h"),
	}, "write a power with its unit, such as 18 kW or 60000 BTU/h"}
}

func fractionDim() dimension {
	return dimension{"share", []unit{ten(-2, "%"), ten(-6, "ppm", "mg/kg")},
		"write a share with its sign, such as 2.5 % or 900 ppm"}
}

// durationDim has the nanosecond as its base unit: below 2⁵³ of them (104 days)
// every whole one is a float of its own.
func durationDim() dimension {
	return dimension{"duration", []unit{ten(9, "s"), times(60e9, "min"), times(3600e9, "h")},
		"write a duration with its unit, such as 12 min, 90 s or 1.5 h"}
}

// parse reads "number unit"; decimal point or, when no point occurs, one decimal comma.
func (d dimension) parse(s string) (float64, error) {
	text, name, err := split(s)
	if err != nil {
		return 0, fault.Invalid("%s %q: %s", d.name, fault.Clip(s, fault.Echo), err.Error()).WithHint("%s", d.hint)
	}
	if name == "" {
		return 0, fault.Invalid("%s %q has no unit", d.name, fault.Clip(s, fault.Echo)).WithHint("%s", d.hint)
	}
	for _, u := range d.units {
		if !slices.Contains(u.names, name) {
			continue
		}
		num, err := decimal(text, u.exp)
		if err != nil {
			return 0, fault.Invalid("%s %q: %s", d.name, fault.Clip(s, fault.Echo), err.Error()).WithHint("%s", d.hint)
		}
		v := u.value(num)
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return 0, fault.Invalid("%s %q is not a finite number", d.name, fault.Clip(s, fault.Echo)).WithHint("%s", d.hint)
		}
		return v, nil
	}
	return 0, fault.Invalid("%s %q: unknown unit %q", d.name, fault.Clip(s, fault.Echo), fault.Clip(name, fault.Echo)).WithHint("%s", d.hint)
}

// decimal reads a decimal number times a power of ten, rounded once.
func decimal(text string, exp int) (float64, error) {
	mantissa := text
	if at := strings.IndexAny(text, "eE"); at >= 0 {
		e, err := strconv.Atoi(text[at+1:])
		// No float needs an exponent of four digits; more would only overflow the sum.
		if err != nil || e > 9999 || e < -9999 {
			return 0, parseError("the number cannot be read")
		}
		mantissa, exp = text[:at], exp+e
	}
	v, err := strconv.ParseFloat(mantissa+"e"+strconv.Itoa(exp), 64)
	if err != nil {
		return 0, parseError("the number cannot be read")
	}
	return v, nil
}

type parseError string

func (e parseError) Error() string { return string(e) }

// cut separates the number as written from the unit.
func cut(s string) (text, unit string, err error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return "", "", parseError("nothing written")
	}
	if len(s) > 64 || !utf8.ValidString(s) {
		return "", "", parseError("not a quantity")
	}
	end := 0
	for end < len(s) {
		c := s[end]
		digit := isDigit(c) || c == '.' || c == ','
		sign := (c == '+' || c == '-') && (end == 0 || s[end-1] == 'e' || s[end-1] == 'E')
		exp := (c == 'e' || c == 'E') && end > 0 && end+1 < len(s) &&
			(isDigit(s[end+1]) || (s[end+1] == '-' || s[end+1] == '+') && end+2 < len(s) && isDigit(s[end+2]))
		if !digit && !sign && !exp {
			break
		}
		end++
	}
	text = s[:end]
	if text == "" {
		return "", "", parseError("does not start with a number")
	}
	return text, strings.TrimSpace(s[end:]), nil
}

// split separates the number, its comma made a point, from the unit.
func split(s string) (text, unit string, err error) {
	text, unit, err = cut(s)
	if err != nil {
		return "", "", err
	}
	switch commas := strings.Count(text, ","); {
	case commas == 1 && !strings.Contains(text, "."):
		if looksLikeThousands(text, ",") {
			return "", "", parseError("the comma could be a decimal one or one of thousands: use a point, or no comma")
		}
		text = strings.Replace(text, ",", ".", 1)
	case commas > 0:
		return "", "", parseError("use one decimal point or comma and no separator of thousands")
	}
	return text, unit, nil
}

// looksLikeThousands reports whether a number with one mark can be read two
// ways, a factor of a thousand apart: "1,250" but not "0,250", "1,25" or "1250,000".
func looksLikeThousands(text, mark string) bool {
	whole, part, _ := strings.Cut(strings.TrimLeft(text, "+-"), mark)
	return len(part) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0'
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// format writes v in the dimension's first unit so that parse returns v again:
// the shortest decimal digits of v with the point moved by the unit's power of
// ten. A number that is not finite cannot be written.
func (d dimension) format(v float64) ([]byte, error) {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil, fault.Invalid("a %s of %g cannot be written", d.name, v)
	}
	u := d.units[0]
	return []byte(moved(v, -u.exp) + " " + u.names[0]), nil
}

// moved prints v times a power of ten, exactly as many digits as v needs.
func moved(v float64, exp int) string {
	mantissa, e, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
	power, _ := strconv.Atoi(e) // FormatFloat wrote it
	power += exp
	sign := ""
	if mantissa[0] == '-' {
		sign, mantissa = "-", mantissa[1:]
	}
	digits := strings.Replace(mantissa, ".", "", 1)
	switch {
	case v == 0:
		return sign + "0"
	case power < -7 || power >= 15:
		return sign + mantissa + "e" + strconv.Itoa(power)
	case power < 0:
		return sign + "0." + strings.Repeat("0", -power-1) + digits
	case len(digits) <= power+1:
		return sign + digits + strings.Repeat("0", power+1-len(digits))
	}
	return sign + digits[:power+1] + "." + digits[power+1:]
}

// ParseMass reads a mass in kg, g, mg, lb or oz.
func ParseMass(s string) (Kilograms, error) { v, err := massDim().parse(s); return Kilograms(v), err }

// ParseTemperature reads a temperature on the Celsius or Fahrenheit scale.
func ParseTemperature(s string) (Celsius, error) {
	v, err := tempDim().parse(s)
	return Celsius(v), err
}

// ParseDifference reads a difference of temperatures in K (or Celsius or Fahrenheit degrees).
func ParseDifference(s string) (Kelvins, error) { v, err := diffDim().parse(s); return Kelvins(v), err }

// ParseVolume reads a volume in L, mL, US gallons, quarts or fluid ounces (floz).
func ParseVolume(s string) (Litres, error) { v, err := volumeDim().parse(s); return Litres(v), err }

// ParseLength reads a length in m, cm, mm, um, in, ft or mil (a thousandth of an inch).
func ParseLength(s string) (Metres, error) { v, err := lengthDim().parse(s); return Metres(v), err }

// ParsePressure reads an absolute pressure in Pa, hPa, mbar, kPa or inHg.
func ParsePressure(s string) (Pascals, error) {
	v, err := pressureDim().parse(s)
	return Pascals(v), err
}

// ParsePower reads a power in W, kW or BTU/h.
func ParsePower(s string) (Watts, error) { v, err := powerDim().parse(s); return Watts(v), err }

// ParseFraction reads a share in % or ppm (mg/kg).
func ParseFraction(s string) (Fraction, error) {
	v, err := fractionDim().parse(s)
	return Fraction(v), err
}

// longest is the longest duration that can be written: 100 days.
const longest = 2400 * time.Hour

// ParseDuration reads a duration in s, min or h, to the nearest nanosecond and up
// to 100 days.
func ParseDuration(s string) (Duration, error) {
	v, err := durationDim().parse(s)
	if err != nil {
		return 0, err
	}
	if math.Abs(v) > float64(longest) {
		return 0, fault.Invalid("duration %q is longer than 100 days", fault.Clip(s, fault.Echo)).WithHint("%s", durationDim().hint)
	}
	return Duration(math.Round(v)), nil
}

// Duration is a time.Duration that is written "12 min" in files and forms.
type Duration time.Duration

// Std returns the standard library's duration.
func (d Duration) Std() time.Duration { return time.Duration(d) }

// Minutes returns the duration in minutes.
func (d Duration) Minutes() float64 { return time.Duration(d).Minutes() }

// WholeMinutes returns the duration rounded up to whole minutes, the tick of the day plan.
func (d Duration) WholeMinutes() int {
	return int((time.Duration(d) + time.Minute - 1) / time.Minute)
}

// MarshalText writes minutes, or seconds where minutes would not be exact. A
// duration of more than 100 days, which could not be read back, is an error.
func (d Duration) MarshalText() ([]byte, error) {
	td := time.Duration(d)
	if td > longest || td < -longest {
		return nil, fault.Invalid("a duration of %s is longer than 100 days", td)
	}
	if td%time.Minute == 0 {
		return []byte(strconv.FormatInt(int64(td/time.Minute), 10) + " min"), nil
	}
	return durationDim().format(float64(td))
}

// UnmarshalText reads "12 min", "90 s" or "1.5 h".
func (d *Duration) UnmarshalText(b []byte) error {
	v, err := ParseDuration(string(b))
	*d = v
	return err
}

// The text forms below read any unit of the dimension and write its base unit.

// MarshalText writes a mass with its unit, so that it reads back the same.
func (m Kilograms) MarshalText() ([]byte, error) { return massDim().format(float64(m)) }

// UnmarshalText reads a mass with its unit.
func (m *Kilograms) UnmarshalText(b []byte) error {
	v, err := ParseMass(string(b))
	*m = v
	return err
}

// MarshalText writes a temperature with its unit, so that it reads back the same.
func (c Celsius) MarshalText() ([]byte, error) { return tempDim().format(float64(c)) }

// UnmarshalText reads a temperature with its unit.
func (c *Celsius) UnmarshalText(b []byte) error {
	v, err := ParseTemperature(string(b))
	*c = v
	return err
}

// MarshalText writes a difference of temperatures with its unit, so that it reads back the same.
func (k Kelvins) MarshalText() ([]byte, error) { return diffDim().format(float64(k)) }

// UnmarshalText reads a difference of temperatures with its unit.
func (k *Kelvins) UnmarshalText(b []byte) error {
	v, err := ParseDifference(string(b))
	*k = v
	return err
}

// MarshalText writes a volume with its unit, so that it reads back the same.
func (l Litres) MarshalText() ([]byte, error) { return volumeDim().format(float64(l)) }

// UnmarshalText reads a volume with its unit.
func (l *Litres) UnmarshalText(b []byte) error {
	v, err := ParseVolume(string(b))
	*l = v
	return err
}

// MarshalText writes a length with its unit, so that it reads back the same.
func (m Metres) MarshalText() ([]byte, error) { return lengthDim().format(float64(m)) }

// UnmarshalText reads a length with its unit.
func (m *Metres) UnmarshalText(b []byte) error {
	v, err := ParseLength(string(b))
	*m = v
	return err
}

// MarshalText writes a pressure with its unit, so that it reads back the same.
func (p Pascals) MarshalText() ([]byte, error) { return pressureDim().format(float64(p)) }

// UnmarshalText reads a pressure with its unit.
func (p *Pascals) UnmarshalText(b []byte) error {
	v, err := ParsePressure(string(b))
	*p = v
	return err
}

// MarshalText writes a power with its unit, so that it reads back the same.
func (w Watts) MarshalText() ([]byte, error) { return powerDim().format(float64(w)) }

// UnmarshalText reads a power with its unit.
func (w *Watts) UnmarshalText(b []byte) error {
	v, err := ParsePower(string(b))
	*w = v
	return err
}

// MarshalText writes a share with its unit, so that it reads back the same.
func (f Fraction) MarshalText() ([]byte, error) { return fractionDim().format(float64(f)) }

// UnmarshalText reads a share with its unit.
func (f *Fraction) UnmarshalText(b []byte) error {
	v, err := ParseFraction(string(b))
	*f = v
	return err
}
