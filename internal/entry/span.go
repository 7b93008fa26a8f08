package entry

import (
	"encoding"
	"math"
	"reflect"
	"strconv"
	"strings"

	"slabside/internal/book"
	q "slabside/internal/quantity"
)

// types are those of the amounts, by their kind.
var types = map[book.Kind]reflect.Type{
	book.Mass: reflect.TypeFor[q.Kilograms](), book.Temperature: reflect.TypeFor[q.Celsius](), book.Difference: reflect.TypeFor[q.Kelvins](),
	book.Volume: reflect.TypeFor[q.Litres](), book.Length: reflect.TypeFor[q.Metres](), book.Pressure: reflect.TypeFor[q.Pascals](),
	book.Power: reflect.TypeFor[q.Watts](), book.Share: reflect.TypeFor[q.Fraction](), book.Duration: reflect.TypeFor[q.Duration](),
}

// rounded prints a value of a field, in its base unit, in US units with so many
// digits: what is round in metric units is not round in these. Kinds that have one
// unit for all are not printed: ok is false.
func rounded(u q.Reader, f book.Field, x float64, figures int) (text string, ok bool) {
	t := types[f.Kind]
	if t == nil || f.Kind == book.Share || f.Kind == book.Duration {
		return "", false
	}
	number, unit, _ := strings.Cut(printValue(reflect.ValueOf(x).Convert(t), book.Field{}, q.US.With(q.Point)), " ")
	y, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return "", false
	}
	if y != 0 {
		least := math.Pow10(int(math.Floor(math.Log10(math.Abs(y)))) + 1 - figures)
		y = math.Round(y/least) * least
	}
	return digits(u, y) + " " + unit, true
}

// limits says between what a field lies; in US units about.
func limits(f book.Field, u q.Reader) string {
	if u.US() {
		if low, ok := rounded(u, f, f.Low, 3); ok {
			high, _ := rounded(u, f, f.High, 3)
			return "about " + low + " to " + high
		}
	}
	low, high := f.Limits()
	low, high = u.Decimal().Mark(low), u.Decimal().Mark(high)
	return low + " to " + high
}

// usually says what makers give, in the shop's units.
func usually(f book.Field, u q.Reader) string {
	if _, ok := rounded(u, f, 1, 2); !u.US() || !ok {
		return f.Usually(u.Decimal())
	}
	figures := 2
	if f.Kind == book.Temperature || f.Kind == book.Pressure {
		figures = 3
	}
	return f.Usual.Say(func(x float64) string {
		s, _ := rounded(u, f, x, figures)
		return s
	})
}

// standing is what a field is when it is left out, as the shop would type it.
func standing(f book.Field, u q.Reader) string {
	t := types[f.Kind]
	if f.Need == book.Standing && f.Kind == book.Number {
		return u.Decimal().Mark(f.Default)
	}
	if f.Need != book.Standing || t == nil {
		return f.Default
	}
	v := reflect.New(t)
	if err := v.Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(f.Default)); err != nil {
		return f.Default
	}
	return printValue(v.Elem(), f, u)
}
