package bookfile

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"slabside/internal/book"
	"slabside/internal/fault"
)

// Encode writes a book as a shop-book file: grouped under headings, with what is
// unset left out. Reading it gives the same book again, and the same book always
// gives the same bytes. It fails with fault.Invalid on numbers that are not
// finite and on text that is not UTF-8.
func Encode(b book.Book) ([]byte, error) {
	e := &encoder{fields: map[string]book.Field{}}
	for _, f := range book.Schema() {
		e.fields[f.Path] = f
	}
	title := "a shop"
	if b.Shop.Name != "" {
		title = b.Shop.Name
	}
	e.comment("The shop book of " + title + ".")
	e.comment("Amounts stand between quotes and carry their unit: \"12 kg\", \"154 C\", \"900 ppm\".")
	e.buf.WriteString("\n")
	v := reflect.ValueOf(b)
	for i := range v.NumField() {
		key, omit := book.Key(v.Type().Field(i))
		e.top(key, v.Field(i), omit)
	}
	if e.err != nil {
		return nil, e.err
	}
	return e.buf.Bytes(), nil
}

type encoder struct {
	buf    bytes.Buffer
	fields map[string]book.Field
	err    error
}

func (e *encoder) comment(s string) {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == utf8.RuneError {
			return ' '
		}
		return r
	}, s)
	fmt.Fprintf(&e.buf, "# %s\n", s)
}

// headings holds the line of comment above a group of the file.
var headings = map[string]string{
	"shop":       "The shop",
	"room":       "The room, and how long the usual jobs take in it",
	"kettle":     "Kettles",
	"slab":       "Slabs",
	"hook":       "Hooks",
	"machine":    "Drop machines",
	"rolls":      "Pairs of rolls",
	"board":      "Feeding boards",
	"bench":      "Benches for the sheets",
	"sieve":      "Sieves",
	"scale":      "Scales",
	"glass":      "Thermometers",
	"hand":       "Hands",
	"ingredient": "Ingredients",
	"recipe":     "Recipes",
	"pack":       "Packs, empty, as they are bought",
	"product":    "Products",
	"supply":     "Supplies: packaging, gas, consumables",
	"day":        "A making day",
	"stock":      "What is already there",
	"to_make":    "To make",
}

// top writes one key of the file's head with its heading.
func (e *encoder) top(key string, v reflect.Value, omit bool) {
	if omit && empty(v) {
		return
	}
	if h := headings[key]; h != "" {
		e.buf.WriteString("\n")
		e.comment(strings.Repeat("-", 60))
		e.comment(h)
	}
	e.entry(key, key, v)
}

// entry writes tables and lists of tables under headers of their own and
// everything else as key = value.
func (e *encoder) entry(path, pattern string, v reflect.Value) {
	switch {
	case v.Kind() == reflect.Struct && !inline(pattern):
		fmt.Fprintf(&e.buf, "\n[%s]\n", path)
		e.body(path, pattern, v)
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct && !inline(pattern):
		for i := range v.Len() {
			fmt.Fprintf(&e.buf, "\n[[%s]]\n", path)
			e.body(path, pattern+"[]", v.Index(i))
		}
	default:
		fmt.Fprintf(&e.buf, "%s = %s\n", bare(pattern), e.value(pattern, v))
	}
}

// inline reports whether a table or a list of tables stands inside the table
// that owns it, and not under a header of its own.
func inline(pattern string) bool {
	switch pattern {
	case "shop", "room", "room.times", "day", "day.break", "day.announced_pour", "day.rule":
		return false
	}
	return strings.Contains(pattern, ".")
}

// bare returns the last key of a path.
func bare(path string) string { return path[strings.LastIndexByte(path, '.')+1:] }

// body writes the keys of a table: plain ones first, tables with headers last.
func (e *encoder) body(path, pattern string, v reflect.Value) {
	for _, headed := range []bool{false, true} {
		for i := range v.NumField() {
			key, omit := book.Key(v.Type().Field(i))
			sub := join(pattern, key)
			f := v.Field(i)
			if omit && empty(f) || e.hasHeader(sub, f) != headed {
				continue
			}
			e.entry(join(path, key), sub, f)
		}
	}
}

func (e *encoder) hasHeader(pattern string, v reflect.Value) bool {
	table := v.Kind() == reflect.Struct || v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct
	return table && !inline(pattern)
}

// empty reports whether a value is left out of the file where its key allows it.
func empty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.Map:
		return v.Len() == 0
	}
	return v.IsZero()
}

// value writes a value on one line, or a list of tables on one line each.
func (e *encoder) value(pattern string, v reflect.Value) string {
	f := e.fields[pattern]
	switch {
	case f.Kind.Quantity():
		if v.CanFloat() && !finite(v.Float()) {
			return e.bad(pattern, "is not a finite number")
		}
		s, err := amount(v, f.Kind)
		if err != nil {
			e.err = err
		}
		return strconv.Quote(s)
	case v.Kind() == reflect.Pointer:
		return e.value(pattern, v.Elem())
	case v.Kind() == reflect.Struct:
		return e.inlineTable(pattern, v)
	case v.Kind() == reflect.Map:
		return e.inlineMap(v)
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct:
		return e.inlineList(pattern, v)
	case v.Kind() == reflect.Slice:
		items := make([]string, v.Len())
		for i := range items {
			items[i] = e.quote(pattern, v.Index(i).String())
		}
		return "[" + strings.Join(items, ", ") + "]"
	}
	return e.scalar(pattern, v)
}

func (e *encoder) scalar(pattern string, v reflect.Value) string {
	switch v.Kind() {
	case reflect.String:
		return e.quote(pattern, book.TextOf(v))
	case reflect.Bool:
		return strconv.FormatBool(v.Bool())
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Float64:
		if !finite(v.Float()) {
			return e.bad(pattern, "is not a finite number")
		}
		s := strconv.FormatFloat(v.Float(), 'f', -1, 64)
		if len(s) > 24 {
			s = strconv.FormatFloat(v.Float(), 'e', -1, 64)
		}
		return s
	}
	panic("bookfile: no rule to write a field of kind " + v.Kind().String())
}

// inlineList writes a list of tables, a line each, or a single short one whole.
func (e *encoder) inlineList(pattern string, v reflect.Value) string {
	items := make([]string, v.Len())
	for i := range items {
		items[i] = e.inlineTable(pattern+"[]", v.Index(i))
	}
	switch {
	case len(items) == 0:
		return "[]"
	case len(items) == 1 && len(items[0]) < 80:
		return "[" + items[0] + "]"
	}
	return "[\n  " + strings.Join(items, ",\n  ") + ",\n]"
}

func (e *encoder) inlineTable(pattern string, v reflect.Value) string {
	var parts []string
	for i := range v.NumField() {
		key, omit := book.Key(v.Type().Field(i))
		if f := v.Field(i); !omit || !empty(f) {
			parts = append(parts, key+" = "+e.value(join(pattern, key), f))
		}
	}
	if len(parts) == 0 {
		return "{}"
	}
	return "{ " + strings.Join(parts, ", ") + " }"
}

var bareKey = regexp.MustCompile(`^[A-Za-z0-9_-]+$`)

func (e *encoder) inlineMap(v reflect.Value) string {
	m := v.Interface().(map[string]int)
	var parts []string
	for _, k := range slices.Sorted(maps.Keys(m)) {
		key := k
		if !bareKey.MatchString(k) {
			key = e.quote("", k)
		}
		parts = append(parts, fmt.Sprintf("%s = %d", key, m[k]))
	}
	return "{ " + strings.Join(parts, ", ") + " }"
}

// quote writes a basic string with everything escaped that TOML asks for.
func (e *encoder) quote(pattern, s string) string {
	if !utf8.ValidString(s) {
		return e.bad(pattern, "holds text that is not UTF-8")
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// bad notes that a book cannot be written.
func (e *encoder) bad(pattern, what string) string {
	if e.err == nil {
		e.err = fault.Invalid("%s", what).At(pattern)
	}
	return `""`
}
