package quantity_test

import (
	"encoding"
	"math"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// pointer is a type that reads and writes its own text.
type pointer[T any] interface {
	*T
	encoding.TextUnmarshaler
	encoding.TextMarshaler
}

// fuzz checks, for any text: it is refused as invalid, or it is a finite number
// that is written and read back exactly.
func fuzz[T comparable, P pointer[T]](f *testing.F, parse func(string) (T, error), float func(T) float64, seeds ...string) {
	for _, s := range append(seeds, "", "1", "NaN", "1e400 kg", "1,250 kg", "1.2.3 C", "0x1p-2 %", "5e %", "−5 C", "1e-9999 K", "-0 W",
		"١٢ min", "1e5", ",5 s", "999999999999999999999999 m") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := parse(s)
		if err != nil {
			if fault.KindOf(err) != fault.KindInvalid {
				t.Fatalf("%q: %v is not an invalid fault", s, err)
			}
			if v != *new(T) {
				t.Fatalf("%q: a fault came with the value %v", s, v)
			}
			return
		}
		if x := float(v); math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%q: read as %g", s, x)
		}
		b, err := P(&v).MarshalText()
		if err != nil {
			t.Fatalf("%q: %v cannot be written: %v", s, v, err)
		}
		var back T
		if err := P(&back).UnmarshalText(b); err != nil || back != v {
			t.Fatalf("%q: %v was written %q and read %v (%v)", s, v, b, back, err)
		}
	})
}

func FuzzParseMass(f *testing.F) {
	fuzz(f, quantity.ParseMass, func(v quantity.Kilograms) float64 { return float64(v) }, "6.35 kg", "14 lb", "3 oz", "240 g", "3 mg")
}

func FuzzParseTemperature(f *testing.F) {
	fuzz(f, quantity.ParseTemperature, func(v quantity.Celsius) float64 { return float64(v) }, "154 C", "310 F", "-40 °F", "20 °C")
}

func FuzzParseDifference(f *testing.F) {
	fuzz(f, quantity.ParseDifference, func(v quantity.Kelvins) float64 { return float64(v) }, "1.5 K", "3 F", "2 °C")
}

func FuzzParseVolume(f *testing.F) {
	fuzz(f, quantity.ParseVolume, func(v quantity.Litres) float64 { return float64(v) }, "20 L", "250 ml", "5 gal", "6 qt", "3 floz")
}

func FuzzParseLength(f *testing.F) {
	fuzz(f, quantity.ParseLength, func(v quantity.Metres) float64 { return float64(v) }, "1.5 m", "20 mm", "3 ft", "5 in", "2 cm")
}

func FuzzParsePressure(f *testing.F) {
	fuzz(f, quantity.ParsePressure, func(v quantity.Pascals) float64 { return float64(v) }, "1013 hPa", "29.9 inHg", "101.3 kPa", "9e4 Pa")
}

func FuzzParsePower(f *testing.F) {
	fuzz(f, quantity.ParsePower, func(v quantity.Watts) float64 { return float64(v) }, "18 kW", "60000 BTU/h", "900 W")
}

func FuzzParseFraction(f *testing.F) {
	fuzz(f, quantity.ParseFraction, func(v quantity.Fraction) float64 { return float64(v) }, "2.5 %", "900 ppm", "900 mg/kg", "33.333333333333336 %")
}

func FuzzParseDuration(f *testing.F) {
	fuzz(f, quantity.ParseDuration, func(v quantity.Duration) float64 { return float64(v) }, "12 min", "90 s", "1.5 h", "0.000000001 s", "2400 h")
}

func FuzzParseSystem(f *testing.F) {
	for _, s := range []string{"metric", "us", "US", "", "imperial"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := quantity.ParseSystem(s)
		if err == nil && string(v) != s {
			t.Fatalf("%q was read as %q", s, v)
		}
		if (err == nil) != (s == "metric" || s == "us") {
			t.Fatalf("%q: %v", s, err)
		}
	})
}

// Any text is refused as invalid, or is an amount that is read back as it is kept.
func FuzzParseMoney(f *testing.F) {
	for _, s := range []string{"2.80 GBP", "EUR 2,80", "£3", "280 JPY", "", "GBP", "1,250 GBP", "NaN USD", "1e3 USD", "-0 CHF", "٣ GBP", "2.80 XXX"} {
		f.Add(s, "")
		f.Add(s, "GBP")
	}
	f.Fuzz(func(t *testing.T, s, code string) {
		m, err := quantity.ParseMoneyIn(s, code)
		if err != nil {
			if fault.KindOf(err) != fault.KindInvalid || m != "" {
				t.Fatalf("%q: %q, %v", s, m, err)
			}
			return
		}
		if back, err := quantity.ParseMoney(string(m)); err != nil || back != m || m.Minor() < 0 || !quantity.KnownCurrency(m.Currency()) {
			t.Fatalf("%q is kept as %q and read back as %q, %v", s, m, back, err)
		}
	})
}

// Any list of languages, sent by any browser, reads one of the two marks.
func FuzzDecimalOf(f *testing.F) {
	for _, s := range []string{"", "de-AT,de;q=0.9,en;q=0.8", "fr_FR", "*", "x-klingon", "en;q=2", "zh-Hant-TW", "ar-EG-u-nu-latn", ";;;,,,"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if d := quantity.DecimalOf(s); d != quantity.Point && d != quantity.Comma {
			t.Fatalf("%q reads %q", s, d)
		}
	})
}
