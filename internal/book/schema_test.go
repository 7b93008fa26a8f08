package book_test

import (
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/book"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// kindTypes says which Go types a kind of field may have.
var kindTypes = map[book.Kind]string{
	book.Mass: "quantity.Kilograms", book.Temperature: "quantity.Celsius", book.Difference: "quantity.Kelvins",
	book.Volume: "quantity.Litres", book.Length: "quantity.Metres", book.Pressure: "quantity.Pascals",
	book.Power: "quantity.Watts", book.Share: "quantity.Fraction", book.Duration: "quantity.Duration",
	book.Number: "float64", book.Count: "int", book.Flag: "bool", book.Levels: "map[string]int",
}

type leaf struct {
	typ  reflect.Type
	omit bool
}

// paths returns every path of the book's types, found by reflection.
func paths(t reflect.Type, at string, into map[string]leaf, test *testing.T) {
	for i := range t.NumField() {
		f := t.Field(i)
		key, omit := book.Key(f)
		if key == "" || key == "-" {
			test.Errorf("%s.%s has no key", t, f.Name)
		}
		path := strings.TrimPrefix(at+"."+key, ".")
		if _, dup := into[path]; dup {
			test.Errorf("two fields have the key %s", path)
		}
		ft := f.Type
		if ft.Kind() == reflect.Pointer {
			ft = ft.Elem()
		}
		into[path] = leaf{ft, omit}
		switch {
		case ft.Kind() == reflect.Struct:
			paths(ft, path, into, test)
		case ft.Kind() == reflect.Slice && ft.Elem().Kind() == reflect.Struct:
			paths(ft.Elem(), path+"[]", into, test)
		}
	}
}

// The schema lists exactly the fields of the types, each with a kind that fits.
func TestSchemaIsTheTypes(t *testing.T) {
	t.Parallel()
	want := map[string]leaf{}
	paths(reflect.TypeFor[book.Book](), "", want, t)
	seen := map[string]bool{}
	for _, f := range book.Schema() {
		l, ok := want[f.Path]
		if !ok || seen[f.Path] {
			t.Errorf("%s: no such field, or listed twice", f.Path)
			continue
		}
		seen[f.Path] = true
		switch f.Kind {
		case book.Table:
			ok = l.typ.Kind() == reflect.Struct
		case book.List:
			ok = l.typ.Kind() == reflect.Slice && l.typ.Elem().Kind() == reflect.Struct
		case book.Words:
			ok = l.typ.Kind() == reflect.Slice && l.typ.Elem().Kind() == reflect.String && len(f.Words) > 0
		case book.Word:
			ok = l.typ.Kind() == reflect.String && len(f.Words) > 0
		default:
			if name := kindTypes[f.Kind]; name != "" {
				ok = l.typ.String() == name
			} else {
				ok = l.typ.Kind() == reflect.String
			}
		}
		if !ok {
			t.Errorf("%s is called %s, but is %s", f.Path, f.Kind, l.typ)
		}
		if f.Text == "" {
			t.Errorf("%s: not a word about what it is", f.Path)
		}
		if f.Kind.Numeric() && !(f.Low <= f.High) || !f.Kind.Numeric() && (f.Low != 0 || f.High != 0) {
			t.Errorf("%s: limits %g to %g", f.Path, f.Low, f.High)
		}
		// What is left out of a file when it is unset must mean the same when it
		// is read, so a standing value needs a key that is always written.
		leafKind := f.Kind != book.Table && f.Kind != book.List
		switch {
		case f.Need == book.Standing && (l.omit || f.Default == ""):
			t.Errorf("%s: a standing value %q, omitted when zero: %v", f.Path, f.Default, l.omit)
		case f.Need == book.Required && l.omit, f.Need == book.Optional && leafKind && !l.omit:
			t.Errorf("%s: need %d, but omitted when zero: %v", f.Path, f.Need, l.omit)
		case f.Need == book.Optional && leafKind && f.Default == "":
			t.Errorf("%s: does not say what leaving it out means", f.Path)
		}
		if f.Kind == book.Ref && f.Refs != "portion" {
			if _, ok := want[f.Refs+"[].id"]; !ok {
				t.Errorf("%s takes ids of %q, which has none", f.Path, f.Refs)
			}
		}
	}
	for path := range want {
		if !seen[path] {
			t.Errorf("%s is not in the schema", path)
		}
	}
}

// Parents stand before children, so that a page made from the schema reads top down.
func TestSchemaParentsFirst(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{"": true}
	for _, f := range book.Schema() {
		parent := strings.TrimSuffix(f.Path[:max(strings.LastIndexByte(f.Path, '.'), 0)], "[]")
		if !seen[parent] {
			t.Errorf("%s stands before %s", f.Path, parent)
		}
		seen[f.Path] = true
	}
}

func TestLimitsReadWell(t *testing.T) {
	t.Parallel()
	got := map[string]string{}
	for _, f := range book.Schema() {
		lo, hi := f.Limits()
		got[f.Path] = lo + " to " + hi
	}
	for path, want := range map[string]string{
		"recipe[].boil_to":          "100 °C to 175 °C",
		"kettle[].efficiency":       "5 % to 95 %",
		"room.altitude":             "-450 m to 5000 m",
		"room.station_pressure":     "500 hPa to 1100 hPa",
		"rolls[].piece":             "0.1 g to 50 g",
		"recipe[].addition[].dose":  "1 ppm to 20 %",
		"room.times.weigh_line":     "5 s to 15 min",
		"sieve[].aperture":          "0.5 mm to 20 mm",
		"scale[].resolution":        "1 mg to 0.1 kg",
		"kettle[].burner":           "0.5 kW to 100 kW",
		"recipe[].stain.carry_over": "0 to 6",
	} {
		if got[path] != want {
			t.Errorf("%s: %s, want %s", path, got[path], want)
		}
	}
}

func TestPattern(t *testing.T) {
	t.Parallel()
	for path, want := range map[string]string{
		"recipe[12].portion[0].share": "recipe[].portion[].share", "room.air": "room.air", "": "", "hand[0].may[2]": "hand[].may[]",
	} {
		if got := book.Pattern(path); got != want {
			t.Errorf("Pattern(%q) = %q, want %q", path, got, want)
		}
	}
}

func TestNearest(t *testing.T) {
	t.Parallel()
	known := []string{"damson-leaves", "mint-beads", "barley-barrels", "by", "to"}
	for word, want := range map[string]string{
		"damson-leafs": "damson-leaves", "Mint-Beads": "mint-beads", "barley barrels": "barley-barrels",
		"toffee": "", "": "", "tO": "to", strings.Repeat("x", 100): "", "demson-leeves": "damson-leaves",
	} {
		if got := book.Nearest(word, known); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", word, got, want)
		}
	}
	if got := book.Nearest("mint", nil); got != "" {
		t.Errorf("nearest of nothing: %q", got)
	}
}

// The standard atmosphere: ISO 2533 (table of pressures at geopotential heights
// 0, 500, 1000, 2000, 3000 and 5000 m, from memory: 1013.25, 954.61, 898.75,
// 794.95, 701.09, 540.20 hPa).
func TestStandardPressure(t *testing.T) {
	t.Parallel()
	for h, want := range map[q.Metres]float64{0: 1013.25, 500: 954.61, 1000: 898.75, 2000: 794.95, 3000: 701.09, 5000: 540.20} {
		if got := float64(book.StandardPressure(h)) / 100; got < want*0.9998 || got > want*1.0002 {
			t.Errorf("%g m: %.2f hPa, want %.2f", float64(h), got, want)
		}
	}
	if !slices.IsSorted([]float64{float64(book.StandardPressure(100)), float64(book.StandardPressure(0)), float64(book.StandardPressure(-400))}) {
		t.Error("pressure does not rise downwards")
	}
}

// needNoUsual are the fields of which nothing can be said that makers usually give:
// beside those of kinds that speak for themselves.
var needNoUsual = []string{
	"format", "shop.name", "shop.place",
	"kettle[].name", "slab[].name", "hook[].name", "machine[].name", "rolls[].name", "board[].name", "bench[].name", "sieve[].name",
	"scale[].name", "glass[].name", "hand[].name", "ingredient[].name", "recipe[].name", "pack[].name", "product[].name", "supply[].name", "supply[].supplier", "supply[].note",
	"kettle[].tested.by", "rolls[].tested.by", "ingredient[].lot[].lot", "ingredient[].lot[].supplier", "stock[].lot",
	"ingredient[].note", "recipe[].note", "day.rule[].why",
	"product[].price", "day.break[].from", "day.break[].to", "day.announced_pour[].at",
}

// Every field says what makers usually give, but for things and references, names,
// marks, dates and notes; a new one that does neither fails here.
func TestUsual_OfEveryField(t *testing.T) {
	t.Parallel()
	spoken := []book.Kind{book.Table, book.List, book.ID, book.Ref, book.Date, book.Paint}
	left := map[string]bool{}
	for _, path := range needNoUsual {
		left[path] = true
	}
	for _, f := range book.Schema() {
		says := f.Usually(q.Point) != ""
		switch {
		case left[f.Path] && says:
			t.Errorf("%s has a usual value and is listed as needing none", f.Path)
		case !left[f.Path] && !says && !slices.Contains(spoken, f.Kind):
			t.Errorf("%s does not say what makers usually give", f.Path)
		}
		delete(left, f.Path)
	}
	for path := range left {
		t.Errorf("%s is listed and not in the schema", path)
	}
}

// inUnits finds an amount with a unit that some shops do not use.
var inUnits = regexp.MustCompile(`\d ?(°C|°F|C|F|K|kg|g|mg|lb|oz|L|mm|cm|m|in|ft|kW|hPa)\b`)

// Usual values lie within the limits, are of amounts only and have a source; what a
// field is when it is left out is usual. Words name no amounts, which would stand in
// one shop's units alone.
func TestUsual_Values(t *testing.T) {
	t.Parallel()
	for _, f := range book.Schema() {
		u := f.Usual
		for _, s := range u.Spans {
			if !f.Kind.Numeric() || s.Low > s.High || s.Low < f.Low || s.High > f.High {
				t.Errorf("%s: usually %g to %g, limits %g to %g", f.Path, s.Low, s.High, f.Low, f.High)
			}
			if inUnits.MatchString(s.Of) {
				t.Errorf("%s: %q has an amount in it", f.Path, s.Of)
			}
		}
		for _, text := range []string{u.Words, f.Why} {
			if inUnits.MatchString(text) {
				t.Errorf("%s: %q has an amount in it", f.Path, text)
			}
		}
		if (f.Usually(q.Point) == "") != (len(u.Sources) == 0) {
			t.Errorf("%s: usually %q, sources %v", f.Path, f.Usually(q.Point), u.Sources)
		}
		for _, k := range u.Sources {
			if _, ok := source.Lookup(k); !ok {
				t.Errorf("%s: no source %q", f.Path, k)
			}
		}
		if f.Need == book.Standing && len(u.Spans) > 0 && !slices.ContainsFunc(u.Spans, func(s book.Span) bool { return holds(t, f, s) }) {
			t.Errorf("%s: left out it is %s, which is not usual: %s", f.Path, f.Default, f.Usually(q.Point))
		}
		if f.Rare && f.Need == book.Required {
			t.Errorf("%s must be given and is folded away", f.Path)
		}
	}
}

// holds reports whether what a standing field starts as lies within a span.
func holds(t *testing.T, f book.Field, s book.Span) bool {
	t.Helper()
	var x float64
	var err error
	switch f.Kind {
	case book.Duration:
		var d q.Duration
		err = d.UnmarshalText([]byte(f.Default))
		x = d.Std().Seconds()
	case book.Mass:
		var m q.Kilograms
		err = m.UnmarshalText([]byte(f.Default))
		x = float64(m)
	case book.Temperature:
		var c q.Celsius
		err = c.UnmarshalText([]byte(f.Default))
		x = float64(c)
	case book.Share:
		var p q.Fraction
		err = p.UnmarshalText([]byte(f.Default))
		x = float64(p)
	default:
		x, err = strconv.ParseFloat(f.Default, 64)
	}
	if err != nil {
		t.Fatalf("%s: %v", f.Path, err)
	}
	return x >= s.Low && x <= s.High
}

func TestUsuallyReadsWell(t *testing.T) {
	t.Parallel()
	for _, f := range book.Schema() {
		want, ok := map[string]string{
			"recipe[].boil_to":            "146–154 °C with glucose syrup; 152–157 °C with cream of tartar",
			"kettle[].efficiency":         "35–55 % sunk in the ring of a candy stove; 25–40 % on a range top",
			"kettle[].smear":              "50–150 g",
			"rolls[].piece":               "0.9 g acid drops; 2–4.5 g other drops",
			"glass[].offset":              "-2 K to 2 K",
			"scale[].capacity":            "15–60 kg for sugar and boils; 300 g to 2 kg for acids and flavours",
			"room.times.first_turn":       "1–2 min on cooled steel; 2–3 min on marble",
			"machine[].hands":             "2",
			"recipe[].flavour.carry_over": "1–2 barley, butter, malt; 2–3 fruit; 4–6 anise, clove, mint",
			"shop.name":                   "",
		}[f.Path]
		if got := f.Usually(q.Point); ok && got != want {
			t.Errorf("%s: usually %q, want %q", f.Path, got, want)
		}
	}
}
