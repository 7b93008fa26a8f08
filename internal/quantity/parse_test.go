package quantity_test

import (
	"encoding"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// parsers maps every dimension to its parser, as a float in the base unit
// (seconds for durations).
func parsers() map[string]func(string) (float64, error) {
	return map[string]func(string) (float64, error){
		"mass":        func(s string) (float64, error) { v, err := quantity.ParseMass(s); return float64(v), err },
		"temperature": func(s string) (float64, error) { v, err := quantity.ParseTemperature(s); return float64(v), err },
		"difference":  func(s string) (float64, error) { v, err := quantity.ParseDifference(s); return float64(v), err },
		"volume":      func(s string) (float64, error) { v, err := quantity.ParseVolume(s); return float64(v), err },
		"length":      func(s string) (float64, error) { v, err := quantity.ParseLength(s); return float64(v), err },
		"pressure":    func(s string) (float64, error) { v, err := quantity.ParsePressure(s); return float64(v), err },
		"power":       func(s string) (float64, error) { v, err := quantity.ParsePower(s); return float64(v), err },
		"fraction":    func(s string) (float64, error) { v, err := quantity.ParseFraction(s); return float64(v), err },
		"duration":    func(s string) (float64, error) { v, err := quantity.ParseDuration(s); return v.Std().Seconds(), err },
	}
}

// Factors: pound 0.45359237 kg and inch 25.4 mm exactly (yard and pound agreement,
// 1959); US gallon 231 cubic inches (NIST Handbook 44, app. C); inch of mercury
// 3386.389 Pa and BTU 1055.05585262 J (NIST SP 811, app. B.8). The wanted numbers
// are worked out from these by hand; powers of ten are exact.
func TestParse(t *testing.T) {
	t.Parallel()
	cases := []struct {
		dim, text string
		want      float64
	}{
		{"mass", "6.35 kg", 6.35},
		{"mass", "6.35kg", 6.35},
		{"mass", "  6.35   kg  ", 6.35},
		{"mass", "6,35 kg", 6.35}, // decimal comma
		{"mass", "0,250 kg", 0.25},
		{"mass", "1250,125 kg", 1250.125},
		{"mass", ".5 kg", 0.5},
		{"mass", "5. kg", 5},
		{"mass", "+5 kg", 5},
		{"mass", "-0.2 kg", -0.2},
		{"mass", "240 g", 0.24},
		{"mass", "3 mg", 3e-6},
		{"mass", "14 lb", 14 * 0.45359237},
		{"mass", "14 lbs", 14 * 0.45359237},
		{"mass", "3 oz", 3 * 0.45359237 / 16},
		{"mass", "1.5e3 g", 1.5},
		{"mass", "1e5kg", 1e5},
		{"mass", "1E+2 kg", 100},
		{"mass", "5e-324 kg", 5e-324},
		{"mass", "1e300 kg", 1e300},
		{"mass", "1e-400 kg", 0}, // too small for a float is nothing
		{"mass", "1e310 mg", 1e304},
		{"temperature", "154 C", 154},
		{"temperature", "154 °C", 154},
		{"temperature", "154 degC", 154},
		{"temperature", "-40 F", -40},
		{"temperature", "212 °F", 100},
		{"temperature", "302 degF", 150},
		{"temperature", "32F", 0},
		{"difference", "1.5 K", 1.5},
		{"difference", "1.5 C", 1.5},
		{"difference", "9 F", 5},
		{"length", "30 um", 30e-6},
		{"length", "30 µm", 30e-6},
		{"length", "30 μm", 30e-6}, // the Greek letter
		{"length", "2 mil", 2 * 25.4e-6},
		{"volume", "20 L", 20},
		{"volume", "250 ml", 0.25},
		{"volume", "250 mL", 0.25},
		{"volume", "1 gal", 3.785411784},
		{"volume", "4 qt", 3.785411784},
		{"volume", "128 floz", 3.785411784},
		{"length", "20 mm", 0.02},
		{"length", "1,5 m", 1.5},
		{"length", "2 cm", 0.02},
		{"length", "5 in", 0.127},
		{"length", "3 ft", 3 * 0.3048},
		{"pressure", "1013.25 hPa", 101325},
		{"pressure", "1013.25 mbar", 101325},
		{"pressure", "101.325 kPa", 101325},
		{"pressure", "29.9 inHg", 29.9 * 3386.389},
		{"power", "18 kW", 18000},
		{"power", "60000 BTU/h", 60000 * 1055.05585262 / 3600},
		{"fraction", "2.5 %", 0.025},
		{"fraction", "2.5%", 0.025},
		{"fraction", "7 %", 0.07}, // 7 × 0.01 would be off in the last place
		{"fraction", "35 %", 0.35},
		{"fraction", "900 ppm", 900e-6},
		{"fraction", "900 mg/kg", 900e-6},
		{"fraction", "120 %", 1.2},
		{"duration", "12 min", 720},
		{"duration", "90 s", 90},
		{"duration", "1.5 h", 5400},
		{"duration", "0,5 s", 0.5},
		{"duration", "-30 s", -30},
		{"duration", "2400 h", 8640000},
	}
	for _, c := range cases {
		got, err := parsers()[c.dim](c.text)
		if err != nil {
			t.Errorf("%s %q: %v", c.dim, c.text, err)
			continue
		}
		// One rounding in the product or quotient of a factor.
		if math.Abs(got-c.want) > 4e-16*math.Abs(c.want) {
			t.Errorf("%s %q: got %.17g, want %.17g", c.dim, c.text, got, c.want)
		}
	}
}

func TestParse_DecimalsAreExact(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{"7 %": 0.07, "2.3 %": 0.023, "240 g": 0.24, "0.3 g": 0.0003, "29 mg": 29e-6} {
		dim := "mass"
		if strings.HasSuffix(text, "%") {
			dim = "fraction"
		}
		if got, err := parsers()[dim](text); err != nil || got != want {
			t.Errorf("%q is %.17g (%v), want %.17g", text, got, err, want)
		}
	}
}

func TestParse_Refuses(t *testing.T) {
	t.Parallel()
	cases := []struct{ dim, text, says string }{
		{"mass", "", "nothing written"},
		{"mass", "   ", "nothing written"},
		{"mass", "6.35", "has no unit"},
		{"temperature", "154", "has no unit"},
		{"fraction", "0.05", "has no unit"},
		{"duration", "12", "has no unit"},
		{"mass", "kg", "does not start with a number"},
		{"mass", "NaN kg", "does not start with a number"},
		{"mass", "Inf kg", "does not start with a number"},
		{"mass", "six kg", "does not start with a number"},
		{"mass", "1e400 kg", "cannot be read"},
		{"mass", "1e99999999999999999999 kg", "cannot be read"},
		{"mass", "1e12345 kg", "cannot be read"},
		{"mass", "1e308 lb", ""},
		{"power", "1e306 BTU/h", ""},
		{"power", "1e307 kW", "cannot be read"},
		{"mass", "1.2.3 kg", "cannot be read"},
		{"mass", "- kg", "cannot be read"},
		{"mass", "+-5 kg", "unknown unit"},
		{"mass", ". kg", "cannot be read"},
		{"mass", ", kg", "cannot be read"},
		{"mass", "1,250 kg", "could be a decimal one"},
		{"mass", "12,500 g", "could be a decimal one"},
		{"mass", "-1,250 kg", "could be a decimal one"},
		{"mass", "1,250.5 kg", "no separator of thousands"},
		{"mass", "1,250,000 g", "no separator of thousands"},
		{"mass", "6.35 kgs", "unknown unit"},
		{"mass", "6.35 KG", "unknown unit"},
		{"mass", "6.35 L", "unknown unit"},
		{"mass", "0x10 kg", "unknown unit"},
		{"mass", "1_000 kg", "unknown unit"},
		{"mass", "5e kg", "unknown unit"},
		{"temperature", "154 K", "unknown unit"},
		{"pressure", "1013 bar", "unknown unit"},
		{"fraction", "5 percent", "unknown unit"},
		{"fraction", "5", "such as 2.5 % or 900 ppm"},
		{"duration", "2401 h", "longer than 100 days"},
		{"duration", "1e200 h", "longer than 100 days"},
		{"duration", "1e300 h", "not a finite number"},
		{"mass", strings.Repeat("1", 70) + " kg", "not a quantity"},
		{"mass", "5 \xff", "not a quantity"},
	}
	for _, c := range cases {
		got, err := parsers()[c.dim](c.text)
		if c.says == "" { // large but finite after the factor
			if err != nil || math.IsInf(got, 0) {
				t.Errorf("%s %q: %g, %v", c.dim, c.text, got, err)
			}
			continue
		}
		if fault.KindOf(err) != fault.KindInvalid || err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %q: got %g, %v; want a fault that says %q", c.dim, c.text, got, err, c.says)
			continue
		}
		if !strings.Contains(err.Error(), "write a ") || strings.Contains(err.Error(), "%!") {
			t.Errorf("%s %q: no hint in %v", c.dim, c.text, err)
		}
	}
}

// text is a value of any of the types, by its text form.
type text interface {
	encoding.TextMarshaler
}

// Every finite value is written so that it reads back as itself, bit for bit.
func TestText_RoundTripIsExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-2, 2), rapid.Float64Range(0, 2e5)).Draw(t, "v")
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return
		}
		for name, m := range map[string]text{
			"mass": quantity.Kilograms(v), "temperature": quantity.Celsius(v), "difference": quantity.Kelvins(v),
			"volume": quantity.Litres(v), "length": quantity.Metres(v), "pressure": quantity.Pascals(v),
			"power": quantity.Watts(v), "fraction": quantity.Fraction(v),
		} {
			b, err := m.MarshalText()
			if err != nil {
				t.Fatalf("%s %g: %v", name, v, err)
			}
			if back, err := parsers()[name](string(b)); err != nil || back != v {
				t.Fatalf("%s %.17g was written %q and read %.17g (%v)", name, v, b, back, err)
			}
		}
	})
}

func TestText_DurationRoundTripIsExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		const day = int64(24 * 3600 * 1e9)
		d := quantity.Duration(rapid.OneOf(rapid.Int64Range(-100*day, 100*day), rapid.Int64Range(-1e6, 1e6)).Draw(t, "ns"))
		b, err := d.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		var back quantity.Duration
		if err := back.UnmarshalText(b); err != nil || back != d {
			t.Fatalf("%d ns was written %q and read %d (%v)", d, b, back, err)
		}
	})
	if _, err := quantity.Duration(math.MaxInt64).MarshalText(); fault.KindOf(err) != fault.KindInvalid || err == nil {
		t.Errorf("a duration that cannot be read back was written: %v", err)
	}
}

func TestText_Written(t *testing.T) {
	t.Parallel()
	cases := []struct {
		v    text
		want string
	}{
		{quantity.Kilograms(6.35), "6.35 kg"},
		{quantity.Kilograms(0), "0 kg"},
		{quantity.Kilograms(1200), "1200 kg"},
		{quantity.Kilograms(0.000001), "0.000001 kg"},
		{quantity.Kilograms(0.00000000125), "1.25e-9 kg"},
		{quantity.Kilograms(1e15), "1e15 kg"},
		{quantity.Kilograms(-0.5), "-0.5 kg"},
		{quantity.Celsius(154), "154 C"},
		{quantity.Kelvins(1.5), "1.5 K"},
		{quantity.Litres(20), "20 L"},
		{quantity.Metres(0.02), "0.02 m"},
		{quantity.Pascals(101325), "101325 Pa"},
		{quantity.Watts(18000), "18000 W"},
		{quantity.Fraction(0.07), "7 %"},
		{quantity.Fraction(0.025), "2.5 %"},
		{quantity.Fraction(0.0009), "0.09 %"},
		{quantity.Fraction(1), "100 %"},
		{quantity.Duration(12 * 60e9), "12 min"},
		{quantity.Duration(90e9), "90 s"},
		{quantity.Duration(1500e6), "1.5 s"},
		{quantity.Duration(0), "0 min"},
	}
	for _, c := range cases {
		if b, err := c.v.MarshalText(); err != nil || string(b) != c.want {
			t.Errorf("got %q, %v, want %q", b, err, c.want)
		}
	}
	for _, v := range []text{quantity.Kilograms(math.NaN()), quantity.Celsius(math.Inf(1)), quantity.Fraction(math.Inf(-1))} {
		if b, err := v.MarshalText(); err == nil {
			t.Errorf("what is no number was written %q", b)
		}
	}
}
