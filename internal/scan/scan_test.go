package scan_test

import (
	"testing"

	"slabside/internal/fault"
	"slabside/internal/scan"
)

// Numbers that GS1 and its members print, and one carton computed by the rule
// (source key gs1: the check digit calculator's example, sum 57; gs1india.org, sum 63;
// the published SSCC 106141411234567897; GTIN-8 96385074 is from memory).
func TestCheckDigit(t *testing.T) {
	t.Parallel()
	for _, n := range []string{"6291041500213", "8904000210037", "5012345678900", "9521234543213", "96385074", "10614141123459", "106141411234567897"} {
		if !scan.CheckDigit(n) {
			t.Errorf("%s is refused", n)
		}
		for d := byte('0'); d <= '9'; d++ {
			if other := n[:len(n)-1] + string(d); other != n && scan.CheckDigit(other) {
				t.Errorf("%s is taken", other)
			}
		}
		// Every single digit that is misread is found: 3 and 10 have no common factor.
		for i := range n {
			x := []byte(n)
			x[i] = '0' + (x[i]-'0'+1)%10
			if scan.CheckDigit(string(x)) {
				t.Errorf("%s passes for %s", x, n)
			}
		}
	}
	for _, n := range []string{"", "7", "62910415002l3"} {
		if scan.CheckDigit(n) {
			t.Errorf("%q is taken", n)
		}
	}
}

func TestRead(t *testing.T) {
	t.Parallel()
	const gtin = "09521234543213"
	sack := scan.Code{GTIN: gtin, Lot: "ABC123", BestBefore: "2026-12-31"}
	for _, c := range []struct {
		name, text string
		want       scan.Code
	}{
		// The element string and the address that GS1 prints in its material (source key gs1).
		{"element string", "]C1010952123454321310ABC123", scan.Code{GTIN: gtin, Lot: "ABC123"}},
		{"without its mark", "010952123454321310ABC123", scan.Code{GTIN: gtin, Lot: "ABC123"}},
		{"as printed", "(01)09521234543213(10)ABC123", scan.Code{GTIN: gtin, Lot: "ABC123"}},
		{"digital link", "https://id.gs1.org/01/09521234543213/10/ABC123?17=261231", sack},
		{"of a shop's own", "https://example.com/sacks/01/09521234543213/10/ABC123?17=261231", sack},

		{"in another order", "]d217261231" + "10ABC123\x1d0109521234543213", sack},
		{"end of the month", "]C117280200" + "10X", scan.Code{Lot: "X", BestBefore: "2028-02-29"}},
		{"the earlier date", "]C115270131" + "17261231" + "10X", scan.Code{Lot: "X", BestBefore: "2026-12-31"}},
		{"of the last century", "(17)991231", scan.Code{BestBefore: "1999-12-31"}},
		{"with a weight", "]C13103025000" + "10GS-2304", scan.Code{Lot: "GS-2304"}},
		{"a pallet", "]C100106141411234567897", scan.Code{}},

		{"our own number", " r2026-11-28-2\n", scan.Code{Text: "r2026-11-28-2"}},
		{"a mark", "GS-2304", scan.Code{}},
		{"a mark that begins as a number does", "0109521234543214X", scan.Code{}},
		{"another address", "https://example.com/about", scan.Code{}},
	} {
		got, err := scan.Read(c.text)
		if c.want.Text != "" && got.Text != c.want.Text {
			t.Errorf("%s: the text is %q", c.name, got.Text)
		}
		c.want.Text = got.Text
		if err != nil || got != c.want {
			t.Errorf("%s: %+v, %v, want %+v", c.name, got, err, c.want)
		}
	}
}

func TestRead_Refused(t *testing.T) {
	t.Parallel()
	for name, text := range map[string]string{
		"nothing": " ", "a wrong check digit": "]C10109521234543214", "cut short": "]C1010952123454", "an element nobody knows": "]C199XYZ",
		"no lot": "]C110", "a lot too long": "]C110ABCDEFGHIJKLMNOPQRSTU", "letters for digits": "]C117AB1231", "no such day": "]C117261332",
		"not closed": "(01", "a bracket nobody knows": "(99)x", "a broken address": "https://id.gs1.org/01/09521234543214/10/ABC123", "a control character": "a\x01b",
	} {
		if c, err := scan.Read(text); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %+v, %v", name, c, err)
		}
	}
}

// What no scanner could have typed ends in a fault and never in a panic.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"]C1010952123454321310ABC123", "(01)09521234543213(10)ABC123", "https://id.gs1.org/01/09521234543213/10/ABC123?17=261231", "r2026-11-28-2", "]C117", "(", "31030"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := scan.Read(text)
		if err == nil && c.GTIN != "" && !scan.CheckDigit(c.GTIN) {
			t.Errorf("%q has an item number with a wrong check digit", text)
		}
	})
}
