package limit

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"unicode"

	q "slabside/internal/quantity"
	"slabside/internal/source"
)

//go:embed data
var files embed.FS

// Group says what a substance is to a sweet.
type Group string

// The groups.
const (
	Colour  Group = "colour"
	Acid    Group = "acid"
	Flavour Group = "flavour" // one compound
	Oil     Group = "oil"     // an oil as a whole
	Other   Group = "other"
)

// Substance is something that a table has a row for, by the word this program uses.
type Substance struct {
	Word  string
	Also  []string // other names: E numbers, names of a market
	Group Group
}

// Name is the word with its first other name, "allura red (E 129)".
func (s Substance) Name() string {
	if len(s.Also) == 0 || s.Group != Colour {
		return s.Word
	}
	return s.Word + " (" + s.Also[0] + ")"
}

// Usual is what an oil usually holds of a substance, as shares of the oil. It is said
// where an oil's own figures are not stated and never reckoned with.
type Usual struct {
	Of, Substance string
	Least, Most   q.Fraction
	Source        source.Key
}

// library is all data files, read once.
type library struct {
	substances []Substance
	named      map[string]int // by folded name
	usual      []Usual
	tables     []Table
}

// shelf reads the embedded files. It panics if one is broken, which a test rules out.
var shelf = sync.OnceValue(func() library {
	l := library{named: map[string]int{}}
	for _, r := range rows("substances.csv") {
		s := Substance{Word: r["word"], Also: list(r["also"]), Group: Group(r["kind"])}
		for _, name := range append([]string{s.Word}, s.Also...) {
			l.named[fold(name)] = len(l.substances)
		}
		l.substances = append(l.substances, s)
	}
	for _, r := range rows("usual.csv") {
		l.usual = append(l.usual, Usual{Of: r["of"], Substance: r["substance"], Least: percent(r["least_pct"]), Most: percent(r["most_pct"]), Source: source.Key(r["src"])})
	}
	l.tables = readTables()
	return l
})

// rows returns the rows of a file of data/, their cells by column.
func rows(name string) []map[string]string {
	text, err := files.ReadFile("data/" + name)
	if err != nil {
		panic("limit: " + err.Error())
	}
	r := csv.NewReader(strings.NewReader(string(text)))
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil || len(all) == 0 {
		panic(fmt.Sprintf("limit: %s: %v", name, err))
	}
	var out []map[string]string
	for _, row := range all[1:] {
		cells := map[string]string{}
		for i, c := range row {
			cells[all[0][i]] = c
		}
		out = append(out, cells)
	}
	return out
}

func percent(s string) q.Fraction {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic("limit: " + err.Error())
	}
	return q.Fraction(v / 100)
}

// list parts a cell at its semicolons.
func list(cell string) []string {
	var out []string
	for s := range strings.SplitSeq(cell, ";") {
		if s = strings.TrimSpace(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// fold leaves the letters and digits of a name, without capitals.
func fold(name string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}

// Words lists the words of the substances that a table has a row for.
func Words() []string {
	var out []string
	for _, s := range shelf().substances {
		out = append(out, s.Word)
	}
	return out
}

// Named finds a substance by any of its names.
func Named(name string) (Substance, bool) {
	l := shelf()
	i, ok := l.named[fold(name)]
	if !ok {
		return Substance{}, false
	}
	return l.substances[i], true
}

// wordOf is the word of a name; a name that is not known stays what it is.
func wordOf(name string) string {
	if s, ok := Named(name); ok {
		return s.Word
	}
	return strings.TrimSpace(name)
}

// nameOf is how a word is said.
func nameOf(word string) string {
	if s, ok := Named(word); ok {
		return s.Name()
	}
	return word
}

// UsualIn lists what an oil usually holds of what has a limit somewhere.
func UsualIn(oil string) []Usual {
	var out []Usual
	for _, u := range shelf().usual {
		if u.Of == wordOf(oil) {
			out = append(out, u)
		}
	}
	return out
}
