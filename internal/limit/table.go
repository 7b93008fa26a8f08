package limit

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// The markets whose law there is a table of, as a shop book names them; and the
// surveys, which are of no market.
const (
	US     = "us"
	EU     = "eu"
	UK     = "uk"
	Canada = "ca"

	Survey = "survey"
)

// Markets lists the markets whose law there is a table of.
func Markets() []string { return []string{US, EU, UK, Canada} }

// Table is one edition of the rules of a market.
type Table struct {
	Market     string   `json:"market"`
	Title      string   `json:"title"`
	From       string   `json:"from"` // ISO date from which it holds
	Read       string   `json:"read"` // ISO date on which its sources were last looked at
	Covers     []string `json:"covers"`
	NotCovered []string `json:"not_covered"`
	Rules      []Rule   `json:"-"`
}

// Advisory reports whether its rules are advice and no law.
func (t Table) Advisory() bool { return t.Market == Survey }

// How says what a rule asks.
type How string

// What a rule can ask.
const (
	AtMost       How = "most"          // at most so much, of all its substances together
	AsNeeded     How = "as needed"     // no figure: as little as does its work
	NotPermitted How = "not permitted" // none
	NotAsSuch    How = "not as such"   // none put in as such; what comes with a plant is not meant
)

// hows lists what a rule can ask.
func hows() []How { return []How{AtMost, AsNeeded, NotPermitted, NotAsSuch} }

// Rule is one row of a table.
type Rule struct {
	Name       string
	Substances []string // words
	Most       q.Fraction
	How        How
	OnlyIf     []string // words; it binds a sweet that holds one of them; empty: every sweet
	Note       string
	Sources    []source.Key
}

// Confirmed reports whether every source of the rule was read.
func (r Rule) Confirmed() bool {
	return !slices.ContainsFunc(r.Sources, func(k source.Key) bool {
		e, ok := source.Lookup(k)
		return !ok || e.Evidence != source.Published
	})
}

// Tables returns every table, by market and then by the day it holds from.
func Tables() []Table { return slices.Clone(shelf().tables) }

// InForce returns the table of a market that holds on a date: the newest that began
// by then. False if there is none.
func InForce(market, date string) (Table, bool) {
	var out Table
	for _, t := range shelf().tables {
		if t.Market == market && t.From <= date { // ISO dates sort as text
			out = t
		}
	}
	return out, out.Market != ""
}

func readTables() []Table {
	entries, err := files.ReadDir("data")
	if err != nil {
		panic("limit: " + err.Error())
	}
	var out []Table
	for _, e := range entries {
		if e.Name() == "substances.csv" || e.Name() == "usual.csv" {
			continue
		}
		text, err := files.ReadFile("data/" + e.Name())
		if err == nil {
			var t Table
			t, err = parse(e.Name(), string(text))
			out = append(out, t)
		}
		if err != nil {
			panic("limit: " + err.Error())
		}
	}
	return out // in the order of their names: market, then day
}

// columns are those of a table.
func columns() []string {
	return []string{"rule", "substances", "most_mg_kg", "how", "only_if", "src", "note"}
}

// parse reads a table: lines "# key: value" and then rows. Its faults name the file
// and the line.
func parse(name, text string) (Table, error) {
	var t Table
	for line := range strings.SplitSeq(text, "\n") {
		head, ok := strings.CutPrefix(line, "#")
		if !ok {
			break
		}
		key, value, _ := strings.Cut(head, ":")
		if err := t.set(strings.TrimSpace(key), strings.TrimSpace(value)); err != nil {
			return t, err.At(name)
		}
	}
	for what, v := range map[string]string{"market": t.Market, "title": t.Title} {
		if v == "" {
			return t, fault.Invalid("the table has no %s", what).At(name)
		}
	}
	for what, v := range map[string]string{"from": t.From, "read": t.Read} {
		if _, err := time.Parse(time.DateOnly, v); err != nil {
			return t, fault.Invalid("%s: %q is no date", what, fault.Clip(v, fault.Echo)).At(name).WithHint("write it as 2026-11-25")
		}
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	head, err := r.Read()
	if err != nil || !slices.Equal(head, columns()) {
		return t, fault.Invalid("the columns are not %s", strings.Join(columns(), ", ")).At(name)
	}
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		if err != nil {
			return t, fault.Invalid("%s", err.Error()).At(name)
		}
		line, _ := r.FieldPos(0)
		rule, wrong := ruleOf(cells)
		if wrong == nil && slices.ContainsFunc(t.Rules, func(o Rule) bool { return o.Name == rule.Name }) {
			wrong = fault.Invalid("there is a rule %q already", fault.Clip(rule.Name, fault.Echo))
		}
		if wrong != nil {
			return t, wrong.At(fmt.Sprintf("%s:%d", name, line))
		}
		t.Rules = append(t.Rules, rule)
	}
}

func (t *Table) set(key, value string) *fault.Error {
	one := func(field *string) *fault.Error {
		if *field != "" {
			return fault.Invalid("%s stands there twice", key)
		}
		*field = value
		return nil
	}
	switch key {
	case "market":
		return one(&t.Market)
	case "title":
		return one(&t.Title)
	case "from":
		return one(&t.From)
	case "read":
		return one(&t.Read)
	case "covers":
		t.Covers = append(t.Covers, value)
	case "not covered":
		t.NotCovered = append(t.NotCovered, value)
	default:
		return fault.Invalid("%q is nothing that a table says of itself", fault.Clip(key, fault.Echo))
	}
	return nil
}

func ruleOf(cells []string) (Rule, *fault.Error) {
	r := Rule{Name: cells[0], Substances: list(cells[1]), How: How(cells[3]), OnlyIf: list(cells[4]), Note: cells[6]}
	for _, k := range list(cells[5]) {
		r.Sources = append(r.Sources, source.Key(k))
	}
	switch {
	case r.Name == "":
		return r, fault.Invalid("the rule has no name")
	case len(r.Substances) == 0:
		return r, fault.Invalid("the rule is of no substance")
	case len(r.Sources) == 0:
		return r, fault.Invalid("the rule has no source")
	case !slices.Contains(hows(), r.How):
		return r, fault.Invalid("%q is nothing that a rule asks", fault.Clip(cells[3], fault.Echo))
	}
	if r.How != AtMost {
		if m := cells[2]; m != "" && m != "0" {
			return r, fault.Invalid("a rule that is %q has no figure", cells[3])
		}
		return r, nil
	}
	v, err := strconv.ParseFloat(cells[2], 64)
	if err != nil || !(v > 0 && v <= 1e6) {
		return r, fault.Invalid("%q is no limit in mg/kg", fault.Clip(cells[2], fault.Echo)).WithHint("more than 0, and at most 1000000")
	}
	r.Most = q.Fraction(v / 1e6)
	return r, nil
}
