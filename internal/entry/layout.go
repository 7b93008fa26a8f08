package entry

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/source"
)

// Node is a field of a form, a group of them or rows of them, ready to be shown.
type Node struct {
	Name    string // of the field in the form
	Helped  string // the field whose help is this one's too: of the first row of a list; else its own name
	Label   string
	Help    string // what it is
	Why     string // why it is asked; "" where the help says enough
	Kind    book.Kind
	Must    bool   // it has to be given
	LeftOut string // what leaving it out means, or what it starts as; "" nothing
	Usually string // what makers give; "" nothing is known
	Sources []source.Key
	Limits  string // "1 L to 200 L"
	Value   string // as typed
	Given   bool   // it, or something in it, says more than leaving it out would
	Rare    bool   // few shops give it
	Choice  []Choice
	Open    bool    // the choices are suggestions: another text may be meant
	Sub     []Node  // of a table
	Rows    []Row   // of a list
	Fault   *Fault  // what is wrong here
	Faults  []Fault // of a table or list and all below it
}

// Row is one row of a list.
type Row struct {
	N    int // from 0
	Name string
	Of   string // label of the list
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
		return []Node{l.node(at, f.Kind, f.Kind)}
	}
	pattern := f.Kind
	if !Single(f.Kind) {
		pattern += "[]"
	}
	return l.nodes(pattern, "", "")
}

type layout struct {
	b      *book.Book
	form   Form
	faults []Fault
	schema schema
}

// nodes lays out what is in a table, a thing or a row. The help of a row's fields
// stands by those of the first one, which has the name helped.
func (l *layout) nodes(pattern, name, helped string) []Node {
	var out []Node
	for _, f := range l.schema.below(pattern) {
		if key(f) == "id" && name == "" && l.form.ID != "" {
			continue // it stays what it is
		}
		out = append(out, l.node(f, join(name, key(f)), join(helped, key(f))))
	}
	return out
}

func (l *layout) node(f book.Field, name, helped string) Node {
	n := Node{Name: name, Helped: helped, Label: capital(label(f)), Help: words(f.Text), Why: f.Why, Kind: f.Kind, Must: f.Need == book.Required,
		Sources: f.Usual.Sources, Value: l.form.Text[name], Rare: f.Rare}
	u := l.b.Shop.Units
	n.Usually = usually(f, u)
	if f.Need != book.Required && f.Kind != book.Flag { // what is not ticked says what that means
		n.LeftOut = words(standing(f, u))
	}
	n.Given = n.Value != "" && (f.Need != book.Standing || n.Value != standing(f, u))
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
		n.Sub = l.nodes(f.Path, name, helped)
		n.Given = slices.ContainsFunc(n.Sub, func(s Node) bool { return s.Given })
		for i := range n.Sub {
			n.Sub[i].Must = n.Sub[i].Must && n.Must // nothing of a table that is left out is needed
		}
	case book.List:
		for i := range l.form.Rows[name] {
			row := name + "." + strconv.Itoa(i)
			n.Rows = append(n.Rows, Row{N: i, Name: row, Of: n.Label, Sub: l.nodes(f.Path+"[]", row, helped+".0")})
		}
		n.Given = len(n.Rows) > 0
	case book.Text: // words that suggest themselves, and any other
		for _, w := range f.Words {
			n.Open = true
			n.Choice = append(n.Choice, Choice{Value: w, Label: w})
		}
	case book.Word:
		n.choose(f.Words, f.Words)
	case book.Words:
		n.choose(f.Words, f.Words)
	case book.Ref:
		l.refer(&n, f)
	case book.ID:
		if name == "id" { // made of the thing's name when it is left out
			n.Must, n.LeftOut, n.Rare = false, "made of the name", true
		}
	}
	if f.Kind.Numeric() && f.Low < f.High {
		n.Limits = limits(f, u)
	}
	return n
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
			n.Choice = append(n.Choice, Choice{t, fault.Clip(t, fault.Echo) + " (not known here)", true})
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
	if l, ok := pathLabels[f.Path]; ok {
		return l
	}
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
	"finish_gain": "gain by dusting or sanding", "finish_with": "dusted or sanded with", "efficiency_low": "low end of the efficiency", "efficiency_high": "high end of the efficiency",
	"air": "air kept", "wvtr": "water vapour it passes, g/m² a day", "leak_mg_day": "leak past the lid, mg a day", "weighed_net": "sweets in the one that was weighed", "least": "at least, pieces a bag", "glass": "thermometer",
}

// pathLabels are those of keys that mean something else elsewhere.
var pathLabels = map[string]string{
	"room.air": "air in the room", "pack[].weighing[].at": "temperature where it stood", "pack[].weighing[].days": "days since it was shut", "pack[].weighing[].gain": "gained since then",
	"ingredient[].hold[].share": "how much", "ingredient[].hold[].most": "at most", "ingredient[].hold[].by": "by",
	"ingredient[].holds_all": "all it holds is stated", "ingredient[].hold[].natural": "came with the plant", "kettle[].mass": "mass of the pan", "recipe[].stain.limit": "colour it bears",
	"kettle[].tested.by": "tested by", "kettle[].tested.on": "tested on", "rolls[].tested.by": "tested by", "rolls[].tested.on": "tested on",
}

var listLabels = map[string]string{
	"boil": "into the kettle", "addition": "additions", "portion": "portions", "part": "sweets in it", "lot": "deliveries",
	"stain": "colour it leaves", "hold": "what it holds", "layer": "sheets of its wall", "weighing": "weighings of a filled one", "break": "breaks", "announced_pour": "announced pours", "rule": "order rules",
	"residue": "left from the day before", "tested": "metal tested", "times": "how long the jobs take here", "stock": "on hand",
}

// capital begins a label with a capital letter.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// words is a text of the schema without the keys of the file in it.
func words(text string) string { return strings.ReplaceAll(text, "_", " ") }
