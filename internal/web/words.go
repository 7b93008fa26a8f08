package web

import (
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	q "slabside/internal/quantity"
)

// clock prints a time of day as the room says it, "9:42".
func clock(t time.Time) string { return strings.TrimPrefix(t.Format("15:04"), "0") }

// clockOr prints a time of day, or nothing for a time that is not known.
func clockOr(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return clock(t)
}

// moment is a time for a <time> element.
type moment struct {
	ISO   string
	Clock string
}

func momentOf(t time.Time) moment {
	return moment{ISO: t.Format(time.RFC3339), Clock: clock(t)}
}

// longDate prints an ISO date as "Saturday 28 November 2026".
func longDate(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return t.Format("Monday 2 January 2006")
}

// sentence makes a text of the program read as a sentence: a capital first and
// no stop at the end, since the templates place it.
func sentence(s string) string {
	return unitSpace.ReplaceAllString(capital(strings.TrimSuffix(s, ".")), "$1\u00a0$2")
}

// unitSpace finds the spaces at which a line must not break.
var unitSpace = regexp.MustCompile(`(\d) (%|(?:°C|°F|kg|g|lb|oz|min|h)\b)`)

// capital begins a text with a capital letter.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return ""
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

var smallNumbers = [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// few writes a count up to ten as a word.
func few(n int) string {
	if n >= 0 && n < len(smallNumbers) {
		return smallNumbers[n]
	}
	return strconv.Itoa(n)
}

// many chooses the noun's form for a count.
func many(n int, one, more string) string {
	if n == 1 {
		return one
	}
	return more
}

// count prints "1 boil", "7 boils".
func count(n int, one, more string) string { return strconv.Itoa(n) + " " + many(n, one, more) }

// sizeWord says a boil's size before the word boil.
func sizeWord(size string) string {
	switch size {
	case "half", "third", "whole":
		return size
	}
	return "odd"
}

// minutesOf rounds a stretch to whole minutes.
func minutesOf(from, to time.Time) int { return int(to.Sub(from).Round(time.Minute) / time.Minute) }

// figure is a printed number: its value, its range and where it comes from, so
// that a page can set each in its own weight.
type figure struct {
	Value string
	Range string // "2.2–3.4", empty if exact
	Basis string // "estimated", "learned from 12 batches", empty if exact
}

// figureOf takes apart what package quantity says of an estimate:
// "value", "value (range)", "value (range), basis" or "value, basis".
func figureOf(said string) figure {
	f := figure{Value: said}
	if v, rest, ok := strings.Cut(said, " ("); ok {
		if rng, basis, ok := strings.Cut(rest, ")"); ok {
			return figure{Value: v, Range: rng, Basis: strings.TrimPrefix(basis, ", ")}
		}
	}
	if v, basis, ok := strings.Cut(said, ", "); ok {
		f.Value, f.Basis = v, basis
	}
	return f
}

// known reports whether an estimate has been made at all.
func known(e q.Estimate) bool { return e != (q.Estimate{}) }

// paintOf returns a drawable colour, or nothing: "#rrggbb" and no other form
// reaches a page.
func paintOf(s string) string {
	if len(s) != 7 || s[0] != '#' {
		return ""
	}
	for _, c := range s[1:] {
		if !strings.ContainsRune("0123456789abcdefABCDEF", c) {
			return ""
		}
	}
	return s
}
