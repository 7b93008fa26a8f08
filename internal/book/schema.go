package book

import (
	"slices"
	"strconv"
	"strings"

	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// Kind says how the value of a field is written.
type Kind string

// The kinds of field.
const (
	Mass        Kind = "mass"
	Temperature Kind = "temperature"
	Difference  Kind = "difference"
	Volume      Kind = "volume"
	Length      Kind = "length"
	Pressure    Kind = "pressure"
	Power       Kind = "power"
	Share       Kind = "share"
	Duration    Kind = "duration"
	Number      Kind = "number"
	Count       Kind = "whole number"
	Flag        Kind = "true or false"
	ID          Kind = "id"
	Ref         Kind = "id of"
	Word        Kind = "word"
	Words       Kind = "words"
	Clock       Kind = "clock"
	Date        Kind = "date"
	Text        Kind = "text"
	Paint       Kind = "paint"
	Currency    Kind = "currency"
	Money       Kind = "money"
	Zone        Kind = "time zone"
	Levels      Kind = "levels"
	Table       Kind = "table"
	List        Kind = "list"
)

// Quantity reports whether the kind is an amount written with its unit.
func (k Kind) Quantity() bool {
	switch k {
	case Mass, Temperature, Difference, Volume, Length, Pressure, Power, Share, Duration:
		return true
	}
	return false
}

// Numeric reports whether the kind has a least and a most.
func (k Kind) Numeric() bool {
	return k.Quantity() || k == Number || k == Count || k == Levels
}

// Need says whether a field must be given.
type Need int

// The needs.
const (
	Required Need = iota
	Optional      // left out, it means what Field.Default says, and stays unset
	Standing      // left out, it gets Field.Default
)

// Field is one key of the shop book.
type Field struct {
	Path string // "recipe[].portion[].share"
	Kind Kind
	Need Need
	// Default is the value a Standing field gets, as it is written in a file,
	// or what an Optional field means when it is left out.
	Default string
	Low     float64  // least value, base unit of the kind
	High    float64  // greatest value
	Words   []string // for Word and Words
	Refs    string   // for Ref: the list whose ids it takes
	Text    string   // what it is, for people
	Usual   Usual    // what makers give
	Why     string   // why it is asked, what it changes or who decides it; "" where Text says enough
	Rare    bool     // few shops give it: a form folds it away
}

// Usual is what makers usually give for a field: spans, words, or both. The zero
// Usual says nothing.
type Usual struct {
	Spans   []Span
	Words   string
	Sources []source.Key
}

// Span is a stretch of usual values, in the base unit of the field's kind. Of says
// of what it is the usual one, "" of all.
type Span struct {
	Low, High float64
	Of        string
}

// Schema returns every key of the shop book, parents before children.
func Schema() []Field {
	return slices.Concat(shopFields(), rigFields(), sweetFields(), supplyFields(), dayFields())
}

// Named returns what a Ref takes, as a sentence says it: "an ingredient".
func (f Field) Named() string {
	switch f.Refs {
	case "rolls":
		return "a pair of rolls"
	case "ingredient":
		return "an ingredient"
	}
	return "a " + f.Refs
}

// Limits returns the least and the greatest value of a numeric field as a
// person would write them.
func (f Field) Limits() (low, high string) { return f.print(f.Low), f.print(f.High) }

// Usually says what makers usually give, amounts as a reader of the mark would write
// them in metric units; "" if nothing is known.
func (f Field) Usually(d q.Decimal) string {
	return f.Usual.Say(func(v float64) string {
		if f.Kind == Mass && v < 1 && v >= 0.1 { // of usual amounts people speak in grams up to the kilogram
			return d.Mark(strconv.FormatFloat(v*1e3, 'g', 6, 64)) + " g"
		}
		return d.Mark(f.print(v))
	})
}

// Say writes the usual values with print, which writes one value with its unit.
func (u Usual) Say(print func(float64) string) string {
	var out []string
	for _, s := range u.Spans {
		out = append(out, strings.TrimSuffix(stretch(print(s.Low), print(s.High))+" "+s.Of, " "))
	}
	if u.Words != "" {
		out = append(out, u.Words)
	}
	return strings.Join(out, "; ")
}

// stretch joins two printed values: "146–154 °C", "500 g to 2 kg".
func stretch(low, high string) string {
	number, unit, _ := strings.Cut(low, " ")
	_, same, _ := strings.Cut(high, " ")
	switch {
	case low == high:
		return low
	case unit == same && !strings.HasPrefix(low, "-"):
		return number + "–" + high
	}
	return low + " to " + high
}

// print writes a value of the field in the unit in which its limits read best.
func (f Field) print(v float64) string {
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
	top, size := max(f.High, -f.Low), abs(v)
	switch f.Kind {
	case Mass:
		switch {
		case size > 0 && size < 1e-4:
			return num(v*1e6) + " mg"
		case top < 0.1 || size > 0 && size < 0.1:
			return num(v*1e3) + " g"
		}
		return num(v) + " kg"
	case Temperature:
		return num(v) + " °C"
	case Difference:
		return num(v) + " K"
	case Volume:
		return num(v) + " L"
	case Length:
		if size > 0 && size < q.FilmLength {
			return num(v*1e6) + " µm"
		}
		if top < 0.1 {
			return num(v*1e3) + " mm"
		}
		return num(v) + " m"
	case Pressure:
		return num(v/100) + " hPa"
	case Power:
		return num(v/1000) + " kW"
	case Share:
		if size > 0 && size < 1e-4 {
			return num(v*1e6) + " ppm"
		}
		return num(v*100) + " %"
	case Duration:
		if s := q.Duration(v * 1e9); size > 0 && size < 60 {
			return num(s.Std().Seconds()) + " s"
		}
		return num(v/60) + " min"
	}
	return num(v)
}

// The functions below make the rows of the schema.

func table(path string, n Need, text string) Field {
	return Field{Path: path, Kind: Table, Need: n, Text: text}
}

func list(path string, n Need, text string) Field {
	return Field{Path: path, Kind: List, Need: n, Text: text}
}

func amount(path string, k Kind, low, high float64, text string) Field {
	return Field{Path: path, Kind: k, Low: low, High: high, Text: text}
}

func text(path, what string) Field  { return Field{Path: path, Kind: Text, Text: what} }
func flag(path, what string) Field  { return Field{Path: path, Kind: Flag, Text: what} }
func ident(path, what string) Field { return Field{Path: path, Kind: ID, Text: what} }
func clock(path, what string) Field { return Field{Path: path, Kind: Clock, Text: what} }
func date(path, what string) Field  { return Field{Path: path, Kind: Date, Text: what} }
func of(path, refs, what string) Field {
	return Field{Path: path, Kind: Ref, Refs: refs, Text: what}
}

func word[W ~string](path string, words []W, what string) Field {
	return Field{Path: path, Kind: Word, Words: plain(words), Text: what}
}

func words[W ~string](path string, list []W, what string) Field {
	return Field{Path: path, Kind: Words, Words: plain(list), Text: what}
}

func plain[W ~string](list []W) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return out
}

// or makes the field optional; means says what leaving it out means.
func (f Field) or(means string) Field { f.Need, f.Default = Optional, means; return f }

// std gives the field a standing value.
func (f Field) std(value string) Field { f.Need, f.Default = Standing, value; return f }

// usually adds a span of usual values: common practice, unless from says more.
func (f Field) usually(low, high float64, of string) Field {
	f.Usual.Spans = append(f.Usual.Spans, Span{low, high, of})
	return f.from(source.Practice)
}

// mostly says in words what makers give: common practice, unless from says more.
func (f Field) mostly(words string) Field {
	f.Usual.Words = words
	return f.from(source.Practice)
}

// from names where the usual values are from.
func (f Field) from(keys ...source.Key) Field { f.Usual.Sources = keys; return f }

// because says why the field is asked, what it changes or who decides it.
func (f Field) because(why string) Field { f.Why = why; return f }

// rarely marks a field that few shops give.
func (f Field) rarely() Field { f.Rare = true; return f }
