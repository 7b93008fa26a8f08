package bookfile

import (
	"encoding"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"slabside/internal/book"
	q "slabside/internal/quantity"
)

// way is one way to write an amount: value = written × factor + shift.
type way struct {
	unit          string
	factor, shift float64
	least, most   float64 // absolute values for which it reads well
}

const huge = 1e300

// ways lists how amounts of a kind read well, the preferred first. Which of them
// is taken depends on which reads back to the very same value in fewest digits.
func ways(k book.Kind) []way {
	switch k {
	case book.Mass:
		return []way{{"kg", 1, 0, 1, huge}, {"g", 1e-3, 0, 0, 1}, {"kg", 1, 0, 0, huge}, {"mg", 1e-6, 0, 0, 1e-3},
			{"lb", q.KilogramsPerPound, 0, 0.1, huge}, {"oz", q.KilogramsPerOunce, 0, 0, 1}}
	case book.Temperature:
		return []way{{"C", 1, 0, 0, huge}, {"F", 5.0 / 9, -32 * 5.0 / 9, 0, huge}}
	case book.Difference:
		return []way{{"K", 1, 0, 0, huge}, {"F", 5.0 / 9, 0, 0, huge}}
	case book.Volume:
		return []way{{"L", 1, 0, 0, huge}, {"gal", q.LitresPerUSGallon, 0, 0, huge}, {"qt", q.LitresPerUSGallon / 4, 0, 0, huge}}
	case book.Length:
		return []way{{"m", 1, 0, 0.1, huge}, {"um", 1e-6, 0, 0, q.FilmLength}, {"mm", 1e-3, 0, 0, 0.1}, {"m", 1, 0, 0, huge},
			{"ft", q.MetresPerFoot, 0, 1, huge}, {"in", q.MetresPerInch, 0, 0, 3}}
	case book.Pressure:
		return []way{{"hPa", 100, 0, 0, huge}, {"Pa", 1, 0, 0, huge}, {"inHg", q.PascalsPerInchOfHg, 0, 0, huge}}
	case book.Power:
		return []way{{"kW", 1000, 0, 0, huge}, {"W", 1, 0, 0, huge}, {"BTU/h", 1055.05585262 / 3600, 0, 0, huge}}
	case book.Share:
		return []way{{"%", 0.01, 0, 0.002, huge}, {"ppm", 1e-6, 0, 0, 0.002}, {"%", 0.01, 0, 0, huge}, {"ppm", 1e-6, 0, 0, huge}}
	}
	return nil
}

// plenty is a text that no shorter one needs to beat.
const plenty = 6

// amount writes a quantity so that it reads back to the same value, in a unit
// that reads well: "227 g", "18 kW", "14 lb".
func amount(v reflect.Value, k book.Kind) (string, error) {
	if d, ok := v.Interface().(q.Duration); ok {
		return duration(d)
	}
	x := v.Float()
	if x == 0 && !math.Signbit(x) {
		return "0 " + ways(k)[0].unit, nil
	}
	best, bestDigits := "", 99
	for _, w := range ways(k) {
		if a := max(x, -x); a < w.least || a > w.most {
			continue
		}
		for prec := 1; prec <= 17 && prec < bestDigits; prec++ {
			num, err := strconv.ParseFloat(strconv.FormatFloat((x-w.shift)/w.factor, 'g', prec, 64), 64)
			if err != nil {
				break
			}
			s := strconv.FormatFloat(num, 'f', -1, 64) + " " + w.unit
			if len(s) < 40 && reads(v, s) {
				best, bestDigits = s, prec
			}
		}
		if bestDigits <= plenty {
			break
		}
	}
	if best != "" {
		return best, nil
	}
	b, err := v.Interface().(encoding.TextMarshaler).MarshalText()
	return string(b), err
}

// reads reports whether the text reads back to exactly the value.
func reads(v reflect.Value, s string) bool {
	back := reflect.New(v.Type())
	err := back.Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(s))
	return err == nil && back.Elem().Interface() == v.Interface()
}

// duration writes whole minutes as minutes, short times as seconds, halves as
// "2.5 min".
func duration(d q.Duration) (string, error) {
	if t := time.Duration(d); t >= time.Minute {
		s := strings.TrimSuffix(strconv.FormatFloat(t.Minutes(), 'f', 2, 64), "0")
		s = strings.TrimSuffix(strings.TrimSuffix(s, "0"), ".") + " min"
		if reads(reflect.ValueOf(d), s) {
			return s, nil
		}
	}
	b, err := d.MarshalText()
	return string(b), err
}
