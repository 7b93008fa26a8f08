package quantity_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

var (
	metric = quantity.Plain
	us     = quantity.US.With(quantity.Point)
)

// Worked by hand from the exact factors (1 lb = 0.45359237 kg, 1 in = 25.4 mm,
// °F = 9/5 °C + 32, 1 inHg = 3386.389 Pa, 1 BTU = 1055.05585262 J).
func TestPrint(t *testing.T) {
	t.Parallel()
	cases := []struct{ got, want string }{
		{metric.Mass(9.524), "9.52 kg"},
		{metric.Mass(9.5), "9.5 kg"},
		{metric.Mass(0.24), "240 g"},
		{metric.Mass(0.0024), "2.4 g"},
		{metric.Mass(0.000125), "0.12 g"}, // 0.125 to two decimals, half to even
		{metric.Mass(0), "0 g"},
		{metric.Mass(-0.3), "-300 g"},
		{metric.Mass(-0.0000001), "0 g"},
		{metric.Mass(12345), "12345 kg"},
		{us.Mass(6.35029318), "14 lb"},
		{us.Mass(9.52), "20.99 lb"},
		{us.Mass(0.3), "10.58 oz"},
		{us.Mass(0.0024), "2.4 g"},
		{us.Mass(0), "0 g"},
		{metric.Digits(1323.4, 3), "1320"},
		{metric.Digits(0.20134, 3), "0.201"},
		{metric.Digits(0, 3), "0"},
		{metric.SayChance(0.92403, 1), "92.4 %"},
		{metric.SayChance(0.99996, 1), "over 99.9 %"},
		{metric.SayChance(1, 1), "100 %"},
		{metric.SayChance(0.995, 0), "over 99 %"},
		{metric.SayChance(0.0004, 1), "under 0.1 %"},
		{metric.SayChance(0, 0), "0 %"},
		{metric.MassRange(9.31, 9.704), "9.31–9.7 kg"},
		{metric.MassRange(0.8, 1.2), "0.8–1.2 kg"},
		{us.MassRange(6, 7), "13.23–15.43 lb"},
		{metric.Weight(0.2404, 0.001), "240 g"},
		{metric.Weight(0.24044, 0.00001), "240.44 g"},
		{metric.Weight(6.3503, 0.001), "6.350 kg"},
		{metric.Weight(6.3503, 0.005), "6.350 kg"},
		{metric.Weight(0.0125, 0.0005), "12.5 g"},
		{us.Weight(6.35029318, 0.001), "14 lb 0 oz (6.350 kg)"},
		{us.Weight(6.5, 0.001), "14 lb 5.28 oz (6.500 kg)"},
		{us.Weight(0.2, 0.001), "7.05 oz (200 g)"},
		{us.Weight(0.005, 0.00001), "5.00 g"},
		{us.Weight(0.45359237*15.9999999, 0.001), "16 lb 0 oz (7.257 kg)"},
		{metric.Temperature(150, 0), "150 °C"},
		{metric.Temperature(149.27, 1), "149.3 °C"},
		{metric.Temperature(149.98, 1), "150 °C"},
		{metric.Temperature(-0.01, 1), "0 °C"},
		{us.Temperature(150, 0), "302 °F"},
		{us.Temperature(-40, 0), "-40 °F"},
		{metric.TemperatureRange(149.1, 151.3, 1), "149.1–151.3 °C"},
		{us.TemperatureRange(149, 151, 0), "300–304 °F"},
		{metric.Difference(1.5, 1), "1.5 K"},
		{us.Difference(5, 1), "9 °F"},
		{metric.Percent(0.0254, 1), "2.5 %"},
		{metric.Percent(0.07, 4), "7 %"},
		{metric.Altitude(35), "35 m"},
		{us.Altitude(304.8), "1000 ft"},
		{metric.Length(0.02), "20 mm"},
		{metric.Length(30e-6), "30 µm"},
		{metric.Length(0.249e-3), "249 µm"},
		{metric.Length(0.4e-3), "0.4 mm"},
		{us.Length(25.4e-6), "1 mil"},
		{metric.Length(1.5), "1.5 m"},
		{us.Length(0.127), "5 in"},
		{metric.Volume(20), "20 L"},
		{us.Volume(3.785411784), "4 qt"},
		{metric.Pressure(101325), "1013.2 hPa"}, // 1013.25 to one decimal, half to even
		{us.Pressure(101325), "29.92 inHg"},
		{metric.Power(18000), "18 kW"},
		{us.Power(18000), "61419 BTU/h"},
		{metric.Number(1234.5000, 3), "1234.5"},
		{metric.Number(-0.0001, 2), "0"},
		{metric.Number(100, 0), "100"},
	}
	for i, c := range cases {
		if c.got != c.want {
			t.Errorf("case %d: got %q, want %q", i, c.got, c.want)
		}
	}
}

func TestSay(t *testing.T) {
	t.Parallel()
	e := quantity.Estimate{Value: 9.52, Low: 9.314, High: 9.699, Basis: quantity.Estimated}
	learned := quantity.Estimate{Value: 150, Low: 149, High: 151.25, Basis: quantity.Learned, Batches: 6}
	cases := []struct{ got, want string }{
		{metric.SayMass(e), "9.52 kg (9.31–9.7), estimated"},
		{metric.SayMass(quantity.ExactOf(0.24)), "240 g"},
		{us.SayMass(quantity.ExactOf(6.35029318)), "14 lb"},
		{metric.SayTemperature(learned, 1), "150 °C (149–151.2), learned from 6 batches"},
		{us.SayTemperature(learned, 0), "302 °F (300–304), learned from 6 batches"},
		{metric.SayPercent(quantity.Estimate{Value: 0.025, Low: 0.02, High: 0.031, Basis: quantity.Estimated}, 1), "2.5 % (2–3.1), estimated"},
		{metric.SayCount(quantity.Estimate{Value: 3921.4, Low: 3800.7, High: 4010.2, Basis: quantity.Estimated}, "pieces"),
			"3921 pieces (3800–4011), estimated"},
		{metric.SayDifference(quantity.Estimate{Value: 1.25, Low: 0.36, High: 3.9, Basis: quantity.Estimated}, 1), "1.2 K (0.4–3.9), estimated"},
		{us.SayDifference(quantity.ExactOf(5), 0), "9 °F"},
		{metric.SayPoints(quantity.Estimate{Value: 0.0047, Low: 0.004, High: 0.0055, Basis: quantity.Estimated}, 2), "0.47 points (0.4–0.55), estimated"},
		{metric.SayPPM(quantity.Estimate{Value: 560e-6, Low: 434.4e-6, High: 656.1e-6, Basis: quantity.Estimated}), "560 mg/kg (434–656), estimated"},
		{metric.SayTimes(quantity.Estimate{Value: 1.25, Low: 1.05, High: 1.67, Basis: quantity.Estimated}, 2), "1.25 times (1.05–1.67), estimated"},
		{metric.SayTimes(quantity.Estimate{Value: 83.4, Low: 21.04, High: 264.9, Basis: quantity.Estimated}, 2), "83 times (21–265), estimated"},
		{metric.SaySeconds(quantity.Estimate{Value: 40, Low: 20, High: 60, Basis: quantity.Estimated}), "40 s (20–60), estimated"},
		{quantity.Span(41.6), "42 s"}, {quantity.Span(59.7), "1 min 0 s"}, {quantity.Span(1087.2), "18 min 7 s"},
		{metric.SayTime(quantity.Estimate{Value: 2400, Low: 800, High: 7200, Basis: quantity.Estimated}), "40 min (13–120), estimated"},
		{metric.SayTime(quantity.Estimate{Value: 7200, Low: 2400, High: 21600, Basis: quantity.Estimated}), "2 h (0.7–6), estimated"},
		{metric.SayTime(quantity.Estimate{Value: 172799, Low: 172799, High: 172799, Basis: quantity.Exact}), "48 h"},
		{metric.SayTime(quantity.Estimate{Value: 824400, Low: 274800, High: 2473200, Basis: quantity.Estimated}), "10 days (3–29), estimated"},
		{metric.SayMinutes(quantity.Estimate{Value: 1500, Low: 1380, High: 1680, Basis: quantity.Estimated}), "25 min (23–28), estimated"},
	}
	for i, c := range cases {
		if c.got != c.want {
			t.Errorf("case %d: got %q, want %q", i, c.got, c.want)
		}
	}
}

// What is printed for people in the base unit reads back within half of its last
// printed place.
func TestPrint_ReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		kg := rapid.Float64Range(0, 50).Draw(t, "kg")
		for _, s := range []quantity.Reader{metric, us, quantity.Metric.With(quantity.Comma)} {
			back, err := quantity.ParseMass(s.Mass(quantity.Kilograms(kg)))
			if err != nil || math.Abs(float64(back)-kg) > 0.0051 {
				t.Fatalf("%s of %g read back as %g (%v)", s.Mass(quantity.Kilograms(kg)), kg, back, err)
			}
		}
		c := rapid.Float64Range(-40, 200).Draw(t, "c")
		for _, s := range []quantity.Reader{metric, us, quantity.Metric.With(quantity.Comma)} {
			back, err := quantity.ParseTemperature(s.Temperature(quantity.Celsius(c), 2))
			if err != nil || math.Abs(float64(back)-c) > 0.0051 {
				t.Fatalf("%s of %g read back as %g (%v)", s.Temperature(quantity.Celsius(c), 2), c, back, err)
			}
		}
	})
}

func TestSystem(t *testing.T) {
	t.Parallel()
	var s quantity.System
	if err := s.UnmarshalText([]byte("us")); err != nil || s != quantity.US {
		t.Errorf("got %q, %v", s, err)
	}
	if err := s.UnmarshalText([]byte("imperial")); fault.KindOf(err) != fault.KindInvalid || err == nil {
		t.Errorf("an unknown system gave %v", err)
	}
}

func TestConversions(t *testing.T) {
	t.Parallel()
	close := func(name string, got, want float64) {
		if math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s: %.15g, want %.15g", name, got, want)
		}
	}
	close("kelvin", quantity.Celsius(26.85).Kelvin(), 300)
	close("from kelvin", float64(quantity.FromKelvin(373.15)), 100)
	close("fahrenheit", quantity.Celsius(150).Fahrenheit(), 302)
	close("pounds", quantity.Kilograms(0.45359237).Pounds(), 1)
	close("ounces", quantity.Kilograms(0.45359237).Ounces(), 16)
	close("grams", quantity.Kilograms(0.24).Grams(), 240)
	close("percent", quantity.Fraction(0.025).Percent(), 2.5)
	close("ppm", quantity.Fraction(0.0009).PPM(), 900)
	close("plus", float64(quantity.Celsius(20).Plus(30)), 50)
	close("minus", float64(quantity.Celsius(50).Minus(20)), 30)
	if mg := quantity.Kilograms(0.0000014999).Milligrams(); mg != 1 {
		t.Errorf("1.4999 mg is recorded as %d", mg)
	}
	rapid.Check(t, func(t *rapid.T) {
		mg := rapid.Int64Range(-1e12, 1e12).Draw(t, "mg")
		if back := quantity.Kilograms(float64(mg) / 1e6).Milligrams(); back != mg {
			t.Fatalf("%d mg came back as %d", mg, back)
		}
	})
}

func TestEstimate_JSON(t *testing.T) {
	t.Parallel()
	e := quantity.Estimate{Value: 1.0 / 3, Low: 0.25, High: 1e-7, Basis: quantity.Learned, Batches: 4}
	b, err := json.Marshal(e)
	if want := `{"value":0.333333333333,"low":0.25,"high":1e-7,"basis":"learned","batches":4}`; err != nil || string(b) != want {
		t.Errorf("got %s, %v, want %s", b, err, want)
	}
	var back quantity.Estimate
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(back)
	if err != nil || string(again) != string(b) {
		t.Errorf("read and written again: %s, %v", again, err)
	}
	if b, err := json.Marshal(quantity.Estimate{Value: math.NaN()}); err == nil {
		t.Errorf("what is no number was written %s", b)
	}
	if err := json.Unmarshal([]byte(`{"value":"x"}`), &back); err == nil {
		t.Error("a value that is no number was read")
	}
}

func TestEstimate_ScaleAndShift(t *testing.T) {
	t.Parallel()
	e := quantity.Estimate{Value: 2, Low: 1, High: 4, Basis: quantity.Estimated}
	if got, want := e.Scale(-2), (quantity.Estimate{Value: -4, Low: -8, High: -2, Basis: quantity.Estimated}); !cmp.Equal(got, want) {
		t.Error(cmp.Diff(want, got))
	}
	if got, want := e.Shift(-1), (quantity.Estimate{Value: 1, Low: 0, High: 3, Basis: quantity.Estimated}); !cmp.Equal(got, want) {
		t.Error(cmp.Diff(want, got))
	}
	if !e.Spread() || quantity.ExactOf(3).Spread() || (quantity.Estimate{Value: 1, Low: 1, High: 1, Basis: quantity.Estimated}).Spread() {
		t.Error("Spread does not tell a range from a number")
	}
}

func TestDuration(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		d     quantity.Duration
		whole int
	}{{0, 0}, {1, 1}, {60e9, 1}, {60e9 + 1, 2}, {90e9, 2}} {
		if got := c.d.WholeMinutes(); got != c.whole {
			t.Errorf("%v is %d whole minutes, want %d", c.d.Std(), got, c.whole)
		}
	}
	if m := quantity.Duration(90e9).Minutes(); m != 1.5 {
		t.Errorf("90 s is %g min", m)
	}
}

func ExampleParseMass() {
	for _, s := range []string{"14 lb", "6,35 kg", "6.35"} {
		m, err := quantity.ParseMass(s)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(quantity.Plain.Mass(m))
	}
	// Output:
	// 6.35 kg
	// 6.35 kg
	// mass "6.35" has no unit (write a mass with its unit, such as 6.35 kg, 240 g, 14 lb or 3 oz)
}
