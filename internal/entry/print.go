package entry

import (
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/book"
	q "slabside/internal/quantity"
)

// printer writes a thing into a form.
type printer struct {
	units  q.Reader
	schema schema
	form   Form
	values func(pattern, text string, v reflect.Value) // told of every value, if set
}

func (p *printer) structure(v reflect.Value, pattern, name string) {
	for i := range v.NumField() {
		k, _ := book.Key(v.Type().Field(i))
		if f, ok := p.schema.fields[join(pattern, k)]; ok {
			p.field(v.Field(i), f, join(name, k))
		}
	}
}

func (p *printer) field(v reflect.Value, f book.Field, name string) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	switch f.Kind {
	case book.Table:
		p.structure(v, f.Path, name)
	case book.List:
		p.list(v, f.Path, name)
	default:
		s := printValue(v, f, p.units)
		if s != "" {
			p.form.Text[name] = s
		}
		if p.values != nil {
			p.values(f.Path, s, v)
		}
	}
}

func (p *printer) list(v reflect.Value, pattern, name string) {
	p.form.Rows[name] = v.Len()
	for i := range v.Len() {
		p.structure(v.Index(i), pattern+"[]", name+"."+strconv.Itoa(i))
	}
}

// Yes is how a ticked box is typed.
const Yes = "yes"

// printValue writes one value as a person of the shop would type it; what is not
// set is "".
func printValue(v reflect.Value, f book.Field, u q.Reader) string {
	if v.IsZero() && (f.Need == book.Optional || v.Kind() == reflect.String || v.Kind() == reflect.Bool) {
		return ""
	}
	switch x := v.Interface().(type) {
	case q.Kilograms:
		return mass(float64(x), u)
	case q.Celsius:
		if u.US() {
			return digits(u, x.Fahrenheit()) + " °F"
		}
		return digits(u, float64(x)) + " °C"
	case q.Kelvins:
		if u.US() {
			return digits(u, float64(x)*9/5) + " °F"
		}
		return digits(u, float64(x)) + " K"
	case q.Litres:
		if u.US() {
			return digits(u, float64(x)/q.LitresPerUSGallon*4) + " qt"
		}
		return digits(u, float64(x)) + " L"
	case q.Metres:
		return length(float64(x), u)
	case q.Pascals:
		if u.US() {
			return digits(u, float64(x)/q.PascalsPerInchOfHg) + " inHg"
		}
		return digits(u, float64(x)/100) + " hPa"
	case q.Watts:
		if u.US() {
			return digits(u, float64(x)*3600/q.JoulesPerBTU) + " BTU/h"
		}
		return digits(u, float64(x)/1000) + " kW"
	case q.Fraction:
		if x > 0 && x < 1e-4 {
			return digits(u, x.PPM()) + " ppm"
		}
		return digits(u, x.Percent()) + " %"
	case q.Duration:
		if s := x.Std().Seconds(); s < 60 && s != 0 {
			return digits(u, s) + " s"
		}
		return digits(u, x.Minutes()) + " min"
	case q.Money:
		return u.Decimal().Mark(string(x))
	case q.Reader:
		return string(x.System())
	case map[string]int:
		var out []string
		for _, k := range slices.Sorted(maps.Keys(x)) {
			out = append(out, k+" "+strconv.Itoa(x[k]))
		}
		return strings.Join(out, ", ")
	}
	switch v.Kind() {
	case reflect.Bool:
		return Yes
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Float64:
		return digits(u, v.Float())
	case reflect.Slice:
		out := make([]string, v.Len())
		for i := range out {
			out[i] = v.Index(i).String()
		}
		return strings.Join(out, ", ")
	}
	return v.String()
}

// digits prints a number with up to five of them: what a person types, and no
// more of what came from another unit.
func digits(u q.Reader, x float64) string {
	s := strconv.FormatFloat(x, 'g', 5, 64)
	if y, err := strconv.ParseFloat(s, 64); err == nil { // no exponent
		s = strconv.FormatFloat(y, 'f', -1, 64)
	}
	return u.Decimal().Mark(s)
}

func mass(kg float64, u q.Reader) string {
	if u.US() {
		if lb := kg / q.KilogramsPerPound; lb >= 1 {
			return digits(u, lb) + " lb"
		}
		return digits(u, kg/q.KilogramsPerOunce) + " oz"
	}
	switch {
	case kg >= 1 || kg == 0:
		return digits(u, kg) + " kg"
	case kg >= 1e-3:
		return digits(u, kg*1e3) + " g"
	}
	return digits(u, kg*1e6) + " mg"
}

func length(m float64, u q.Reader) string {
	switch {
	case m > 0 && m < q.FilmLength && u.US():
		return digits(u, m/q.MetresPerInch*1e3) + " mil"
	case m > 0 && m < q.FilmLength:
		return digits(u, m*1e6) + " µm"
	case u.US() && (m >= 3 || m <= 0):
		return digits(u, m/q.MetresPerFoot) + " ft"
	case u.US():
		return digits(u, m/q.MetresPerInch) + " in"
	case m > 0 && m < 0.1:
		return digits(u, m*1e3) + " mm"
	}
	return digits(u, m) + " m"
}
