package bookfile

import (
	"cmp"
	"fmt"
	"slices"

	"slabside/internal/book"
	"slabside/internal/fault"
)

// Problem is a problem of a file with its place.
type Problem struct {
	File     string        `json:"file"`
	Line     int           `json:"line"`  // from 1
	Col      int           `json:"col"`   // from 1, in letters
	Field    string        `json:"field"` // path in the file's keys, counted from 0
	Place    string        `json:"place"` // the same in words, see [book.Place]
	Code     string        `json:"code"`
	Text     string        `json:"text"`
	Hint     string        `json:"hint,omitempty"`
	Severity book.Severity `json:"severity"`
}

// The codes of problems that only a file can have; the others are book's.
const (
	Syntax     = "syntax"      // not TOML
	UnknownKey = "unknown-key" // a key this format does not have
	WrongType  = "type"        // a number where text is wanted, and so on
	BadAmount  = "amount"      // an amount that cannot be read
	BadFile    = "file"        // too large, not UTF-8, empty
)

// String returns "file:line: place: text (hint)".
func (p Problem) String() string {
	s := fmt.Sprintf("%s:%d: ", p.File, p.Line)
	if p.Severity == book.Caution {
		s += "caution: "
	}
	if p.Place != "" {
		s += p.Place + ": "
	}
	s += p.Text
	if p.Hint != "" {
		s += " (" + p.Hint + ")"
	}
	return s
}

// Err returns the errors among the problems as one fault that names the first
// with its place, nil if there are only cautions.
func Err(list []Problem) error {
	var first *Problem
	n := 0
	for i := range list {
		if list[i].Severity == book.Error {
			if n++; first == nil {
				first = &list[i]
			}
		}
	}
	if first == nil {
		return nil
	}
	p := *first
	p.Hint = ""
	e := fault.Invalid("%s", p.String())
	switch {
	case n == 2:
		e = fault.Invalid("%s; and one more problem", p.String())
	case n > 2:
		e = fault.Invalid("%s; and %d more problems", p.String(), n-1)
	}
	if first.Hint != "" {
		e = e.WithHint("%s", first.Hint)
	}
	return e
}

// order sorts by place, errors before cautions on one line.
func order(list []Problem) []Problem {
	slices.SortStableFunc(list, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(b.Severity, a.Severity), cmp.Compare(a.Col, b.Col))
	})
	return slices.Compact(list)
}
