// Package scan reads what a scanner types: our own numbers of lots, and the element
// strings and Digital Link addresses that suppliers print on sacks by the GS1 rules.
package scan

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"slabside/internal/fault"
)

// Code is what a code says. What it does not say is empty.
type Code struct {
	Text       string // as it was scanned, without what stands around it
	GTIN       string // global trade item number, 14 digits
	Lot        string // the supplier's lot mark
	BestBefore string // the earlier of best before and use by, as 2026-12-31
}

// element is a GS1 application identifier that is understood: how long what follows it
// is, 0 for one that ends at a separator, and the most it may be then.
type element struct {
	ai     string
	digits int // exactly so many
	most   int // up to so many characters
}

// elements are the identifiers that sacks and cartons bear
// (Source: gs1, General Specifications sec. 3). An identifier ending in "n" has a
// further digit, the number of decimals.
var elements = []element{
	{"00", 18, 0}, {"01", 14, 0}, {"02", 14, 0}, {"10", 0, 20}, {"11", 6, 0}, {"13", 6, 0}, {"15", 6, 0}, {"16", 6, 0}, {"17", 6, 0},
	{"21", 0, 20}, {"22", 0, 20}, {"30", 0, 8}, {"310n", 6, 0}, {"320n", 6, 0}, {"330n", 6, 0}, {"37", 0, 8}, {"400", 0, 30}, {"422", 3, 0},
}

// separator is how a scanner types the function character that ends an element of no
// fixed length (ASCII 29).
const separator = "\x1d"

// Read reads a code. A text that is none of GS1's is itself: the number of one of our
// lots, or a lot mark.
//
// Faults: Invalid for an empty text, one too long or with characters no code has, and for
// one that begins as GS1's do and is broken: a wrong check digit is a misread code, which
// must not pass for another's.
func Read(text string) (Code, error) {
	const most = 400
	text = strings.TrimSpace(text)
	c := Code{Text: text}
	switch {
	case text == "":
		return Code{}, fault.Invalid("nothing was scanned").WithHint("hold the code before the scanner, or pick the lot from the list")
	case len(text) > most || strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != 0x1d }):
		return Code{}, fault.Invalid("that is no code").WithHint("scan it again")
	case strings.HasPrefix(text, "]C1"), strings.HasPrefix(text, "]d2"), strings.HasPrefix(text, "]Q3"), strings.HasPrefix(text, "]e0"): // what GS1 symbols are announced by
		return c, c.elements(text[3:])
	case strings.HasPrefix(text, "http://"), strings.HasPrefix(text, "https://"):
		return c, c.link(text)
	case strings.HasPrefix(text, "("):
		return c, c.bracketed(text)
	case plainElements(text):
		return c, c.elements(text)
	}
	return c, nil
}

// plainElements reports whether a text without a mark in front is an element string:
// many scanners leave the mark off. Only a whole item number with its check digit counts,
// so that a lot mark that begins alike is left alone.
func plainElements(text string) bool {
	return len(text) > 16 && text[:2] == "01" && isDigits(text[2:16]) && CheckDigit(text[2:16])
}

// elements reads an element string.
func (c *Code) elements(text string) error {
	for text != "" {
		e, ai, ok := elementOf(text)
		if !ok {
			return broken("after %q stands nothing that is known", strings.ReplaceAll(c.Text[:len(c.Text)-len(text)], separator, " "))
		}
		text = text[len(ai):]
		n := e.digits
		if n == 0 {
			if n = strings.Index(text, separator); n < 0 {
				n = len(text)
			}
		}
		if n > len(text) || n == 0 {
			return broken("(%s) is cut short", ai)
		}
		if err := c.take(e, ai, text[:n]); err != nil {
			return err
		}
		text = strings.TrimPrefix(text[n:], separator)
	}
	return nil
}

// bracketed reads an element string as it is printed below the bars.
func (c *Code) bracketed(text string) error {
	for _, part := range strings.Split(text, "(")[1:] {
		ai, value, ok := strings.Cut(part, ")")
		e, got, known := elementOf(ai)
		if !ok || !known || got != ai {
			return broken("(%s) is not known", fault.Clip(ai, fault.Echo))
		}
		if err := c.take(e, ai, strings.TrimSpace(value)); err != nil {
			return err
		}
	}
	return nil
}

// link reads a Digital Link address: an identifier and its value one after the other in
// the path, attributes as query.
func (c *Code) link(text string) error {
	u, err := url.Parse(text)
	if err != nil {
		return broken("the address cannot be read")
	}
	parts := strings.Split(strings.Trim(u.Path, "/"), "/")
	for len(parts) > 0 && parts[0] != "01" && parts[0] != "00" { // a path of the shop's own may stand before
		parts = parts[1:]
	}
	if len(parts) == 0 {
		return nil // another address: a text like any other
	}
	pairs := [][2]string{}
	for i := 0; i+1 < len(parts); i += 2 {
		pairs = append(pairs, [2]string{parts[i], parts[i+1]})
	}
	for _, ai := range []string{"15", "17"} {
		if v := u.Query().Get(ai); v != "" {
			pairs = append(pairs, [2]string{ai, v})
		}
	}
	for _, p := range pairs {
		e, got, ok := elementOf(p[0])
		if !ok || got != p[0] {
			return broken("(%s) is not known", fault.Clip(p[0], fault.Echo))
		}
		if err := c.take(e, got, p[1]); err != nil {
			return err
		}
	}
	return nil
}

// elementOf finds the identifier a text begins with.
func elementOf(text string) (e element, ai string, ok bool) {
	for _, e := range elements {
		stem, open := strings.CutSuffix(e.ai, "n")
		n := len(stem)
		if open {
			n++
		}
		if len(text) >= n && strings.HasPrefix(text, stem) && (!open || text[n-1] >= '0' && text[n-1] <= '5') {
			return e, text[:n], true
		}
	}
	return element{}, "", false
}

// take keeps what an element says.
func (c *Code) take(e element, ai, value string) error {
	switch {
	case e.digits > 0 && (len(value) != e.digits || !isDigits(value)):
		return broken("(%s) needs %d digits", ai, e.digits)
	case e.digits == 0 && (value == "" || len(value) > e.most):
		return broken("(%s) has up to %d characters", ai, e.most)
	}
	switch ai {
	case "00", "01", "02":
		if !CheckDigit(value) {
			return broken("the check digit of (%s) is wrong", ai)
		}
		if ai == "01" {
			c.GTIN = value
		}
	case "10":
		c.Lot = value
	case "15", "17":
		date, err := dateOf(value)
		if err != nil {
			return err
		}
		if c.BestBefore == "" || date < c.BestBefore {
			c.BestBefore = date
		}
	}
	return nil
}

// dateOf reads YYMMDD. Day 00 is the end of the month; years 51 to 99 are of the last
// century (Source: gs1, sec. 7.12, for dates read before 2050).
func dateOf(text string) (string, error) {
	yy, _ := strconv.Atoi(text[:2]) // digits, checked before
	century := "20"
	if yy > 50 {
		century = "19"
	}
	day := text[4:]
	if day == "00" {
		day = "01"
	}
	at, err := time.Parse("20060102", century+text[:4]+day)
	if err != nil {
		return "", broken("%q is no date", text)
	}
	if text[4:] == "00" {
		at = at.AddDate(0, 1, -1)
	}
	return at.Format(time.DateOnly), nil
}

// CheckDigit reports whether the last digit of a GS1 number is right: from the right the
// digits before it weigh 3 and 1 in turn, and it makes the sum a multiple of ten.
//
//	digit = (10 − Σ wᵢdᵢ mod 10) mod 10
//
// Source: gs1, General Specifications sec. 7.9.
func CheckDigit(number string) bool {
	if len(number) < 2 || !isDigits(number) {
		return false
	}
	sum, weight := 0, 3
	for i := len(number) - 2; i >= 0; i-- {
		sum += weight * int(number[i]-'0')
		weight = 4 - weight
	}
	return int(number[len(number)-1]-'0') == (10-sum%10)%10
}

func isDigits(s string) bool {
	return s != "" && !strings.ContainsFunc(s, func(r rune) bool { return r < '0' || r > '9' })
}

func broken(format string, a ...any) error {
	return fault.Invalid("the code cannot be read: "+format, a...).WithHint("scan it again; else read the lot mark off the sack and pick the lot from the list")
}
