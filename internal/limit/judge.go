package limit

import (
	"fmt"
	"slices"
	"strings"

	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// Answer is how a sweet stands to a rule.
type Answer string

// The answers. Borderline is a range that crosses its limit.
const (
	Within     Answer = "within"
	NoFigure   Answer = "as needed" // the rule has no figure: as little as does its work
	NotJudged  Answer = "not judged"
	Borderline Answer = "borderline"
	Over       Answer = "over"
	NotAllowed Answer = "not allowed"
)

// rank orders the answers from the best to the worst.
func (a Answer) rank() int {
	return slices.Index([]Answer{Within, NoFigure, NotJudged, Borderline, Over, NotAllowed}, a)
}

// Exceeded reports whether the limit is passed for sure.
func (a Answer) Exceeded() bool { return a == Over || a == NotAllowed }

// Finding is what one rule says of a sweet, or that none says anything. Of several
// portions it is of the worst.
type Finding struct {
	Rule       string      `json:"rule"` // empty where no rule is meant
	Answer     Answer      `json:"answer"`
	Advisory   bool        `json:"advisory"`     // no law
	Confirmed  bool        `json:"confirmed"`    // every source was read; false: from memory
	Status     string      `json:"status"`       // the two in words; empty where nothing was judged
	Substances []string    `json:"substances"`   // those of the rule that are in it
	Portion    string      `json:"portion"`      // id; empty where nothing is held against a figure
	Amount     *q.Estimate `json:"amount_mg_kg"` // of the finished sweet
	Most       *q.Number   `json:"most_mg_kg"`   // null where the rule has no figure
	Text       string      `json:"text"`         // amount and limit in one line, without the answer
	Why        []string    `json:"why"`          // what the rule is and what it leaves open, a sentence each
	Parts      []Part      `json:"parts"`        // what the amount is made of
	Table      string      `json:"table"`        // title of the edition
	From       string      `json:"from"`         // the day it holds from
	Sources    []string    `json:"sources"`
}

// Inputs is a sweet and what it is held against.
type Inputs struct {
	Market string
	Date   string // ISO date on which the rules hold
	Sweets []Sweet
	Units  q.Reader // for whom the texts are printed
}

// Report is all there is to say of a sweet in one market.
type Report struct {
	Market     string    `json:"market"`
	Date       string    `json:"date"`
	Answer     Answer    `json:"answer"` // the worst that its law says
	Tables     []Table   `json:"tables"` // in force on the date
	List       []Finding `json:"findings"`
	NotCovered []string  `json:"not_covered"`
}

// Title names the law that was asked: that of its table, or the market's word where
// there is none.
func (r Report) Title() string {
	for _, t := range r.Tables {
		if !t.Advisory() {
			return t.Title
		}
	}
	return r.Market
}

// Judge holds a sweet against the tables of a market that are in force on a date: its
// law, and then what surveys say.
//
// All of a range up to the limit is within, all of it beyond is over, and one that
// crosses is borderline.
func Judge(in Inputs) Report {
	r := Report{Market: in.Market, Date: in.Date, Tables: []Table{}, List: []Finding{}}
	law, ok := InForce(in.Market, in.Date)
	if ok {
		r.add(in, law)
		r.unjudged(in, law)
		r.NotCovered = slices.Clone(law.NotCovered)
	} else {
		r.List = append(r.List, open(law, fmt.Sprintf("there is no table of the law of %q for %s", in.Market, in.Date), firstOf(in.Market)))
	}
	r.NotCovered = append(r.NotCovered, "sugar, syrups, fats, nuts and other foods, unless the shop book says what they hold",
		"what slab, hook and rolls leave on a sweet", "what flashes off: an amount is the most there can be")
	r.sort()
	r.Answer = Within
	for _, f := range r.List {
		if f.Answer.rank() > r.Answer.rank() {
			r.Answer = f.Answer
		}
	}
	if survey, ok := InForce(Survey, in.Date); ok {
		advice := Report{}
		advice.add(in, survey)
		advice.sort()
		r.Tables, r.List = append(r.Tables, advice.Tables...), append(r.List, advice.List...)
	}
	return r
}

// sort puts the worst first.
func (r *Report) sort() {
	slices.SortStableFunc(r.List, func(a, b Finding) int { return b.Answer.rank() - a.Answer.rank() })
}

// add judges by the rules of a table.
func (r *Report) add(in Inputs, t Table) {
	r.Tables = append(r.Tables, t)
	for _, rule := range t.Rules {
		if f, ok := in.worst(t, rule); ok {
			r.List = append(r.List, f)
		}
	}
}

// worst judges each portion by a rule and keeps the worst; false if the rule has
// nothing to say of any.
func (in Inputs) worst(t Table, rule Rule) (Finding, bool) {
	var out Finding
	found := false
	for _, s := range in.Sweets {
		f, ok := in.judge(t, rule, s)
		if !ok {
			continue
		}
		if !found || f.Answer.rank() > out.Answer.rank() || f.Answer == out.Answer && f.Amount.High > out.Amount.High {
			out, found = f, true
		}
	}
	return out, found
}

func (in Inputs) judge(t Table, rule Rule, s Sweet) (Finding, bool) {
	parts, e := rule.parts(s)
	if len(parts) == 0 || !rule.binds(s) {
		return Finding{}, false
	}
	amount := e.Scale(1e6)
	f := Finding{Rule: rule.Name, Advisory: t.Advisory(), Confirmed: rule.Confirmed(), Portion: s.ID, Amount: &amount, Parts: parts,
		Table: t.Title, From: t.From, Why: []string{}, Sources: source.Strings(rule.Sources...)}
	f.Status = status(f.Advisory, f.Confirmed)
	var names []string
	for _, p := range parts {
		if !contains(f.Substances, p.Substance) {
			f.Substances = append(f.Substances, p.Substance)
			names = append(names, nameOf(p.Substance))
		}
		if p.By == "book" {
			f.Why = append(f.Why, fmt.Sprintf("what %s holds of %s is a usual figure, and not its supplier's", p.Name, p.Substance))
		}
	}
	f.Text = listed(names)
	if s.Name != "" {
		f.Text += " in the " + s.Name
	}
	f.Text += ": " + content(in.Units, e, rule.Most)
	switch rule.How {
	case AtMost:
		most := q.Number(float64(rule.Most) * 1e6)
		f.Most, f.Answer = &most, over(e, float64(rule.Most))
		f.Text += "; " + map[bool]string{false: "at most ", true: "makers use at most some "}[f.Advisory] + content(in.Units, q.ExactOf(float64(rule.Most)), rule.Most)
	case AsNeeded:
		f.Answer = NoFigure
		f.Text += "; no figure, as little as does its work"
	case NotPermitted:
		f.Answer = NotAllowed
		f.Text += "; not permitted in such sweets"
	case NotAsSuch:
		f.Answer = NotAllowed
		f.Text += "; not to be put in as such"
		f.Why = append(f.Why, "if it came with the plant and nobody put it in, the shop book has to say so")
	}
	if rule.Note != "" {
		f.Why = append(f.Why, rule.Note)
	}
	return f, true
}

// over answers whether an amount lies above a limit, by its range.
func over(e q.Estimate, limit float64) Answer {
	switch {
	case e.High <= limit:
		return Within
	case e.Low > limit:
		return Over
	}
	return Borderline
}

// status says what a rule is worth.
func status(advisory, confirmed bool) string {
	s := "law"
	if advisory {
		s = "advice, no law"
	}
	if !confirmed {
		s += "; not confirmed, from memory"
	}
	return s
}

// content prints an amount as its limit is written, in per cent from 1 % up, and
// without one in per cent from half of that.
func content(u q.Reader, e q.Estimate, limit q.Fraction) string {
	if limit >= 0.01 || limit == 0 && e.Value >= 0.005 {
		return u.SayPercent(e, 2)
	}
	return u.SayMgKg(e)
}

// Content prints an amount in mg/kg of a finding as its text does; most is the rule's
// figure, 0 if it has none.
func Content(u q.Reader, mgKg q.Estimate, most q.Number) string {
	return content(u, mgKg.Scale(1e-6), q.Fraction(float64(most)/1e6))
}

// open is a finding that nothing could be judged.
func open(t Table, text string, why ...string) Finding {
	return Finding{Answer: NotJudged, Confirmed: true, Text: text, Why: append([]string{}, why...), Substances: []string{}, Parts: []Part{},
		Table: t.Title, From: t.From, Sources: []string{}}
}

// firstOf says when the tables of a market begin.
func firstOf(market string) string {
	for _, t := range shelf().tables {
		if t.Market == market {
			return "the first begins on " + t.From
		}
	}
	return "there are tables for " + strings.Join(Markets(), ", ")
}

// listed writes names out: "a, b and c".
func listed(names []string) string {
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}
