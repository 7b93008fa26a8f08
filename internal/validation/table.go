package validation

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"slabside/internal/source"
)

// Kind says what a table is worth.
type Kind string

// The kinds of tables, in the order they are printed.
const (
	Outside    Kind = "outside"    // rows of outside origin: a check of the model
	Exact      Kind = "exact"      // exact solutions of the model's equations in numbers, worked out apart: a check of the solver, not of the model
	Fitted     Kind = "fitted"     // outside rows the model's numbers were fitted to: shows the fit, proves little
	Doubtful   Kind = "doubtful"   // outside rows that are coarse or contradict better ones: wide tolerance, reason given
	Rival      Kind = "rival"      // another model over outside rows: must fail
	Regression Kind = "regression" // rows computed from the model itself
	LeftOut    Kind = "left out"   // outside rows the model is not asked, and why; Got is not looked at
)

// Row is one comparison.
type Row struct {
	Name string // what identifies it in its source
	Got  float64
	Want float64
	Tol  float64    // allowed difference, in the table's unit; relative to Want in a relative table
	Key  source.Key // empty where the source has no entry

	// Place is where the row stands among the mixtures; nil where it has no place.
	Place *Place
}

// Place is a state of a mixture.
type Place struct {
	Solids float64 // % of the mass
	Temp   float64 // °C
}

// Table is one model held against rows of one kind.
type Table struct {
	Model    string
	Quantity string
	Unit     string // of the differences; "%" in a relative table
	Range    string // of the rows
	Kind     Kind
	Why      string  // where the tolerance, the doubt or the leaving out comes from
	MaxRMS   float64 // allowed root mean square difference; 0 for none
	Relative bool    // differences are per cent of Want
	Covers   string  // the property whose range the placed rows cover; empty for none
	Rows     []Row
}

// Against returns the table as one of a rival: the same rows and tolerances, with
// another model's answers.
func (t Table) Against(model, why string, got func(Row) float64) Table {
	t.Model, t.Why, t.Kind, t.MaxRMS, t.Covers = model, why, Rival, 0, ""
	rows := make([]Row, len(t.Rows))
	for i, r := range t.Rows {
		r.Got = got(r)
		rows[i] = r
	}
	t.Rows = rows
	return t
}

// Result is the outcome of one table.
type Result struct {
	Table
	Worst   float64 // largest difference, with its sign
	WorstAt string
	RMS     float64
	Tol     string // the tolerance, or its span
	Broken  int    // rows outside their tolerance
}

// difference returns Got − Want in the unit of the table.
func (t Table) difference(r Row) float64 {
	if t.Relative {
		return (r.Got/r.Want - 1) * 100
	}
	return r.Got - r.Want
}

// tolerance returns a row's allowed difference in the unit of the table.
func (t Table) tolerance(r Row) float64 {
	if t.Relative {
		return r.Tol * 100
	}
	return r.Tol
}

// Judge computes a table's outcome.
func Judge(t Table) Result {
	res := Result{Table: t}
	if t.Kind == LeftOut || len(t.Rows) == 0 {
		return res
	}
	sum, low, high := 0.0, math.Inf(1), math.Inf(-1)
	for _, r := range t.Rows {
		d, tol := t.difference(r), t.tolerance(r)
		if !(math.Abs(d) <= tol) { // a NaN breaks the row
			res.Broken++
		}
		if res.WorstAt == "" || math.Abs(d) > math.Abs(res.Worst) {
			res.Worst, res.WorstAt = d, r.Name
		}
		sum += d * d
		low, high = min(low, tol), max(high, tol)
	}
	res.RMS = math.Sqrt(sum / float64(len(t.Rows)))
	res.Tol = figure(low)
	if figure(low) != figure(high) {
		res.Tol = figure(low) + " to " + figure(high)
	}
	return res
}

// problems lists what is wrong with an outcome.
func (r Result) problems() []string {
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if len(r.Rows) == 0 {
		say("no rows")
	}
	if r.Why == "" || r.Model == "" || r.Quantity == "" || r.Range == "" {
		say("model, quantity, range and reason must be stated")
	}
	for _, row := range r.Rows {
		if row.Key != "" {
			if _, ok := source.Lookup(row.Key); !ok {
				say("%s: unknown source %q", row.Name, row.Key)
			}
		}
	}
	switch r.Kind {
	case LeftOut:
		return out
	case Rival:
		if r.Broken == 0 {
			say("the rival meets every row: the rows prove nothing")
		}
		return out
	case Outside, Exact, Fitted, Doubtful, Regression:
	default:
		say("unknown kind %q", r.Kind)
	}
	for _, row := range r.Rows {
		if d, tol := r.difference(row), r.tolerance(row); !(math.Abs(d) <= tol) {
			say("%s: %.6g, want %.6g within %s %s (off by %.4g; source %q)",
				row.Name, row.Got, row.Want, figure(tol), r.Unit, d, row.Key)
		}
	}
	if r.MaxRMS > 0 && !(r.RMS <= r.MaxRMS) {
		say("root mean square difference %.4g, allowed %.4g %s", r.RMS, r.MaxRMS, r.Unit)
	}
	return out
}

// keys lists the table's sources in order, each once.
func (t Table) keys() string {
	var keys []string
	for _, r := range t.Rows {
		k := string(r.Key)
		if k == "" {
			k = "no entry"
		}
		if !slices.Contains(keys, k) {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	return strings.Join(keys, "; ")
}

// figure prints a number to three significant digits, without an exponent.
func figure(v float64) string {
	if v == 0 {
		return "0"
	}
	digits := max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	s := fmt.Sprintf("%.*f", digits, v)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
