package quantity_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// Decimals of currencies are those of ISO 4217, list one: 2 of the pound, 0 of the
// yen, 3 of the Bahraini dinar; signs and their places those of Unicode CLDR.
func TestMoney(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		typed, in, kept, point, comma string
		minor                         int64
	}{
		{"2.80 GBP", "", "2.80 GBP", "£2.80", "2,80 £", 280},
		{"GBP 2.8", "", "2.80 GBP", "£2.80", "2,80 £", 280},
		{"2,80 eur", "", "2.80 EUR", "€2.80", "2,80 €", 280},
		{"£3", "GBP", "3.00 GBP", "£3.00", "3,00 £", 300},
		{"3,50", "EUR", "3.50 EUR", "€3.50", "3,50 €", 350},
		{"$4.25", "CAD", "4.25 CAD", "CA$4.25", "4,25 CA$", 425},
		{"$4.25", "USD", "4.25 USD", "$4.25", "4,25 $", 425},
		{"280", "JPY", "280 JPY", "¥280", "280 ¥", 280},
		{"1.125 BHD", "", "1.125 BHD", "BHD 1.125", "1,125 BHD", 1125},
		{"2.80", "CHF", "2.80 CHF", "CHF 2.80", "2,80 CHF", 280},
		{"0 GBP", "", "0.00 GBP", "£0.00", "0,00 £", 0},
	} {
		m, err := quantity.ParseMoneyIn(c.typed, c.in)
		if err != nil {
			t.Errorf("%q: %v", c.typed, err)
			continue
		}
		if string(m) != c.kept || m.Minor() != c.minor {
			t.Errorf("%q is kept as %q, %d minor units", c.typed, m, m.Minor())
		}
		if a, b := quantity.Plain.Money(m), quantity.Metric.With(quantity.Comma).Money(m); a != c.point || b != c.comma {
			t.Errorf("%q reads %q and %q", c.typed, a, b)
		}
	}
	for _, bad := range []struct{ typed, in string }{
		{"2.80", ""}, {"", "GBP"}, {"GBP", "GBP"}, {"2.805 GBP", ""}, {"1.5 JPY", ""}, {"-2 GBP", ""}, {"2.80 XYZ", ""}, {"2.80 XXX", ""},
		{"£2.80", "EUR"}, {"$2.80", ""}, {"GBP 2.80 GBP", ""}, {"1,250.00 GBP", ""}, {"1,250 GBP", ""}, {"9999999999999999 GBP", ""}, {"NaN GBP", ""},
	} {
		if m, err := quantity.ParseMoneyIn(bad.typed, bad.in); err == nil || fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%q is taken as %q, %v", bad.typed, m, err)
		}
	}
}

// What is kept is read back as it is, to the last minor unit.
func TestMoney_ReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom([]string{"GBP", "EUR", "USD", "JPY", "BHD", "NOK"}).Draw(t, "code")
		minor := rapid.Int64Range(0, 999_999_999_999).Draw(t, "minor")
		places := map[string]int{"JPY": 0, "BHD": 3}
		n, ok := places[code]
		if !ok {
			n = 2
		}
		text := fmt.Sprintf("%0*d", n+1, minor)
		if n > 0 {
			text = text[:len(text)-n] + "." + text[len(text)-n:]
		}
		m, err := quantity.ParseMoney(text + " " + code)
		if err != nil || m.Minor() != minor || string(m) != text+" "+code {
			t.Fatalf("%s %s is %q, %d, %v", text, code, m, m.Minor(), err)
		}
	})
}
