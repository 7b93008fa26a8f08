package quantity_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/quantity"
)

// SI Brochure, 9th ed., 5.4.4: the decimal marker is the point or the comma on the
// line.
func TestReader_Comma(t *testing.T) {
	t.Parallel()
	m, us := quantity.Metric.With(quantity.Comma), quantity.US.With(quantity.Comma)
	e := quantity.Estimate{Value: 0.0283, Low: 0.0221, High: 0.0344, Basis: quantity.Estimated}
	for _, c := range []struct{ got, want string }{
		{m.Mass(9.524), "9,52 kg"},
		{m.Mass(0.24), "240 g"},
		{us.Mass(9.524), "21 lb"},
		{m.MassRange(9.31, 9.704), "9,31–9,7 kg"},
		{m.Weight(6.3503, 0.001), "6,350 kg"},
		{us.Weight(6.5, 0.001), "14 lb 5,28 oz (6,500 kg)"},
		{m.Temperature(149.27, 1), "149,3 °C"},
		{m.SayPercent(e, 1), "2,8 % (2,2–3,4), estimated"},
		{m.SayChance(0.99996, 1), "over 99,9 %"},
		{m.Digits(0.20134, 3), "0,201"},
		{m.Rate(0.95), "0,95 kg/min"},
		{us.Rate(0.95), "2,1 lb/min"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// Neither mark changes what a number is: printed by either reader and read back it
// is the same, and what is kept or sent knows no reader.
func TestReader_MarkChangesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]quantity.System{quantity.Metric, quantity.US}).Draw(t, "system")
		kg := quantity.Kilograms(rapid.Float64Range(0, 300).Draw(t, "kg"))
		read := func(d quantity.Decimal) float64 {
			text := s.With(d).Mass(kg)
			plain, err := d.Plain(text)
			if err != nil {
				t.Fatal(err)
			}
			m, err := quantity.ParseMass(plain)
			if err != nil {
				t.Fatal(err)
			}
			return float64(m)
		}
		if a, b := read(quantity.Point), read(quantity.Comma); math.Abs(a-b) > 0 {
			t.Fatalf("%v kg reads %v with a point and %v with a comma", kg, a, b)
		}
		a, _ := json.Marshal(s.With(quantity.Point))
		b, _ := json.Marshal(s.With(quantity.Comma))
		if string(a) != string(b) || string(b) != `"`+string(s)+`"` {
			t.Fatalf("sent as %s and %s", a, b)
		}
	})
}

// What could be a factor of a thousand apart is asked back, by the reader's own mark.
func TestDecimal_Plain(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		mark  quantity.Decimal
		typed string
		kg    float64 // 0: refused
	}{
		{quantity.Comma, "6,35 kg", 6.35},
		{quantity.Comma, "1,250 kg", 1.25},
		{quantity.Comma, "1.250 kg", 0},
		{quantity.Comma, "6.35 kg", 6.35},
		{quantity.Comma, "0.250 kg", 0.25},
		{quantity.Comma, "1.250,5 kg", 0},
		{quantity.Point, "6,35 kg", 6.35},
		{quantity.Point, "1,250 kg", 0},
		{quantity.Point, "1.250 kg", 1.25},
	} {
		plain, err := c.mark.Plain(c.typed)
		var m quantity.Kilograms
		if err == nil {
			m, err = quantity.ParseMass(plain)
		}
		if (err == nil) != (c.kg > 0) || err == nil && math.Abs(float64(m)-c.kg) > 1e-12 {
			t.Errorf("%q with mark %q is %v kg, %v; want %v", c.typed, c.mark, float64(m), err, c.kg)
		}
	}
}

// Marks of languages and regions as in Unicode CLDR 32 and later (numbers/symbols/decimal).
func TestDecimalOf(t *testing.T) {
	t.Parallel()
	for languages, want := range map[string]quantity.Decimal{
		"": quantity.Point, "en": quantity.Point, "en-GB,en;q=0.9,de;q=0.8": quantity.Point, "C": quantity.Point, "POSIX": quantity.Point,
		"de": quantity.Comma, "de-AT,de;q=0.9,en;q=0.8": quantity.Comma, "de-CH": quantity.Point, "fr_FR": quantity.Comma, "fr-CA": quantity.Comma,
		"nl": quantity.Comma, "pl": quantity.Comma, "sv": quantity.Comma, "es": quantity.Comma, "es-MX": quantity.Point, "pt-BR": quantity.Comma, "ja": quantity.Point,
		"en;q=0.5,de": quantity.Comma, "ar-EG": quantity.Point, "%%%": quantity.Point, "*": quantity.Point, strings.Repeat("de,", 100): quantity.Point,
	} {
		if got := quantity.DecimalOf(languages); got != want {
			t.Errorf("%q reads %q, want %q", languages, got, want)
		}
	}
}
