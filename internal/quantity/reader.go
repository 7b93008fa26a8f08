package quantity

import (
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

// Decimal is the mark a reader puts before the decimals of a number; the zero
// value is the point. Thousands are never set apart: four digits are the most a
// shop's numbers have before it, and a mark there is what the other mark is elsewhere.
type Decimal string

// The marks that are written.
const (
	Point Decimal = ""
	Comma Decimal = ","
)

// Mark writes the reader's mark into a number written with a point.
func (d Decimal) Mark(number string) string {
	if d == Comma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// Plain takes the reader's mark out of what was typed: with a comma for decimals
// "1,250 kg" is 1.250 kg, and "1.250 kg" could be that or 1250 kg. A reader of
// points has the same doubt the other way round, which is found when it is read.
// Invalid for such a doubt.
func (d Decimal) Plain(typed string) (string, error) {
	if d != Comma {
		return typed, nil
	}
	text, _, err := cut(strings.TrimSpace(typed))
	if err != nil {
		return typed, nil // whoever reads it says it better
	}
	points, commas := strings.Count(text, "."), strings.Count(text, ",")
	switch {
	case commas == 1 && points == 0:
		return strings.Replace(typed, ",", ".", 1), nil
	case points == 1 && commas == 0 && looksLikeThousands(text, "."):
		return "", fault.Invalid("%q: the point could be a decimal one or one of thousands", fault.Clip(typed, fault.Echo)).WithHint("use a comma, or no point")
	}
	return typed, nil
}

// Reader is whom a quantity is printed for: a system of units, with a comma after
// its name if decimals are written with one. It is kept and sent as the system's
// name alone: the mark is the affair of whoever reads at the moment.
type Reader string

// Plain reads metric units with a point: what is printed before any shop is known.
const Plain = Reader(Metric)

// With returns a reader of the system's units.
func (s System) With(d Decimal) Reader { return Reader(s) + Reader(d) }

// With returns a reader of the same units with another mark.
func (r Reader) With(d Decimal) Reader { return r.System().With(d) }

// System returns the reader's units.
func (r Reader) System() System { return System(strings.TrimSuffix(string(r), string(Comma))) }

// Decimal returns the reader's mark.
func (r Reader) Decimal() Decimal {
	if strings.HasSuffix(string(r), string(Comma)) {
		return Comma
	}
	return Point
}

// US reports whether the reader's units are those of the United States.
func (r Reader) US() bool { return r.System() == US }

// MarshalText writes the system's name.
func (r Reader) MarshalText() ([]byte, error) { return []byte(r.System()), nil }

// UnmarshalText reads a system's name.
func (r *Reader) UnmarshalText(b []byte) error {
	s, err := ParseSystem(string(b))
	*r = s.With(Point)
	return err
}
