package entry

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"slabside/internal/book"
	q "slabside/internal/quantity"
)

// Node is a field of a form, a group of them or rows of them, ready to be shown.
type Node struct {
	Name   string // of the field in the form
	Label  string
	Help   string // what it is
	Kind   book.Kind
	Must   bool   // it has to be given
	Usual  string // what leaving it out means, or what it starts as; "" nothing
	Limits string // "1 L to 200 L"
	Value  string // as typed
	Choice []Choice
	Open   bool    // the choices are suggestions: another text may be meant
	Sub    []Node  // of a table
	Rows   []Row   // of a list
	Fault  *Fault  // what is wrong here
	Faults []Fault // of a table or list and all below it
}

// Row is one row of a list.
type Row struct {
	N    int // from 0
	Name string
	Sub  []Node
}

// Place is the row's number for people, from 1.
func (r Row) Place() int { return r.N + 1 }

// Choice is one of the words a field takes.
type Choice struct {
	Value, Label string
	Chosen       bool
}

// Layout lays a form out in the order of the schema, with what is typed and
// what is wrong with it.
func Layout(b *book.Book, f Form, faults []Fault) []Node {
	l := layout{b: b, form: f, faults: faults, schema: rows()}
	if at, ok := l.schema.fields[f.Kind]; ok && Single(f.Kind) && at.Kind == book.List {
		return []Node{l.node(at, f.Kind)}
	}
	pattern := f.Kind
	if !Single(f.Kind) {
		pattern += "[]"
	}
	return l.nodes(pattern, "")
}

type layout struct {
	b      *book.Book
	form   Form
	faults []Fault
	schema schema
}

func (l *layout) nodes(pattern, name string) []Node {
	var out []Node
	for _, f := range l.schema.below(pattern) {
		if key(f) == "id" && name == "" && l.form.ID != "" {
			continue // it stays what it is
		}
		out = append(out, l.node(f, join(name, key(f))))
	}
	return out
}

func (l *layout) node(f book.Field, name string) Node {
	n := Node{Name: name, Label: capital(label(f)), Help: words(f.Text), Kind: f.Kind, Must: f.Need == book.Required, Value: l.form.Text[name]}
	if f.Need != book.Required {
		n.Usual = words(f.Default)
	}
	for i := range l.faults {
		switch x := &l.faults[i]; {
		case x.Name == name && n.Fault == nil:
			n.Fault = x
			n.Faults = append(n.Faults, *x)
		case strings.HasPrefix(x.Name, name+"."):
			n.Faults = append(n.Faults, *x)
		}
	}
	switch f.Kind {
	case book.Table:
		n.Sub = l.nodes(f.Path, name)
	case book.List:
		for i := range l.form.Rows[name] {
			row := name + "." + strconv.Itoa(i)
			n.Rows = append(n.Rows, Row{N: i, Name: row, Sub: l.nodes(f.Path+"[]", row)})
		}
	case book.Word:
		n.choose(f.Words, f.Words)
	case book.Words:
		n.choose(f.Words, f.Words)
	case book.Ref:
		l.refer(&n, f)
	case book.ID:
		if name == "id" { // made of the thing's name when it is left out
			n.Must, n.Usual = false, "made of the name"
		}
	}
	if f.Kind.Numeric() && f.Low < f.High {
		n.Limits = limits(f, l.b.Shop.Units)
	}
	return n
}

// limits says between what a field lies. In US units, which the limits are not
// round in, only about.
func limits(f book.Field, u q.Reader) string {
	low, high := f.Limits()
	low, high = u.Decimal().Mark(low), u.Decimal().Mark(high)
	if !u.US() {
		return low + " to " + high
	}
	say := func(x float64) string {
		var v any
		switch f.Kind {
		case book.Mass:
			v = q.Kilograms(x)
		case book.Temperature:
			v = q.Celsius(x)
		case book.Difference:
			v = q.Kelvins(x)
		case book.Volume:
			v = q.Litres(x)
		case book.Length:
			v = q.Metres(x)
		case book.Pressure:
			v = q.Pascals(x)
		case book.Power:
			v = q.Watts(x)
		default:
			return ""
		}
		number, unit, _ := strings.Cut(printValue(reflect.ValueOf(v), book.Field{}, q.US.With(q.Point)), " ")
		if y, err := strconv.ParseFloat(number, 64); err == nil {
			number = u.Decimal().Mark(strconv.FormatFloat(y, 'g', 3, 64))
		}
		return number + " " + unit
	}
	if l := say(f.Low); l != "" {
		return "about " + l + " to " + say(f.High)
	}
	return low + " to " + high
}

// choose offers words with their labels, and keeps what was typed among them.
func (n *Node) choose(values, labels []string) {
	typed := []string{n.Value}
	if n.Kind == book.Words {
		typed = parts(n.Value)
	}
	for i, v := range values {
		n.Choice = append(n.Choice, Choice{v, strings.ReplaceAll(labels[i], "_", " "), slices.Contains(typed, v)})
	}
	for _, t := range typed {
		if t != "" && !slices.Contains(values, t) {
			n.Choice = append(n.Choice, Choice{t, clip(t) + " (not known here)", true})
		}
	}
}

// refer offers the things a reference may name. Which portions there are depends
// on the recipe, which may be in the making: they are suggestions.
func (l *layout) refer(n *Node, f book.Field) {
	if f.Refs == "portion" {
		n.Open = true
		seen := map[string]bool{}
		add := func(id string) {
			if id != "" && !seen[id] {
				seen[id] = true
				n.Choice = append(n.Choice, Choice{Value: id, Label: id})
			}
		}
		for i := range l.form.Rows["portion"] {
			add(l.form.Text["portion."+strconv.Itoa(i)+".id"])
		}
		if l.form.Kind != "recipe" {
			for _, r := range l.b.Recipes {
				for _, p := range r.Portions {
					add(p.ID)
				}
			}
		}
		return
	}
	var ids, names []string
	for _, t := range List(l.b, f.Refs) {
		ids, names = append(ids, t.ID), append(names, t.Name)
	}
	n.choose(ids, names)
}

// label is the name of a field as a person says it.
func label(f book.Field) string {
	k := key(f)
	if l, ok := listLabels[k]; ok && (f.Kind == book.List || f.Kind == book.Table) {
		return l
	}
	if l, ok := labels[k]; ok {
		return l
	}
	if rate, ok := strings.CutSuffix(k, "_kg_min"); ok {
		return rate + ", kg a minute"
	}
	return strings.ReplaceAll(k, "_", " ")
}

// labels are those that the key alone does not say.
var labels = map[string]string{
	"id": "short name", "de": "dextrose equivalent (DE)", "net": "net weight", "by": "shared by", "may": "may do",
	"paint": "drawn in", "for": "for whom", "most": "most at once", "change": "time to change", "piece": "mass of one piece",
	"piece_sd": "spread of a piece", "pieces_per_lb": "pieces to the pound", "class": "class, ± at 150 °C",
	"air": "air kept", "least": "at least, pieces a bag", "glass": "thermometer",
}

var listLabels = map[string]string{
	"boil": "into the kettle", "addition": "additions", "portion": "portions", "part": "sweets in it", "lot": "deliveries",
	"stain": "colour it leaves", "break": "breaks", "announced_pour": "announced pours", "rule": "order rules",
	"residue": "left from the day before", "tested": "metal tested", "times": "how long the jobs take here", "stock": "on hand",
}

// capital begins a label with a capital letter.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// words is a text of the schema without the keys of the file in it.
func words(text string) string { return strings.ReplaceAll(text, "_", " ") }
