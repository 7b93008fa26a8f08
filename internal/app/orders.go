package app

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
)

// orderColumns are the fields of a line to make as an order file names them; the
// first two must be there.
var orderColumns = [...]string{"product", "bags", "must", "due", "for"}

// mostWho is the longest text that says whom a line is for [bytes].
const mostWho = 200

// LeftOut is what a word of the product column is mapped to when its rows are
// no bags at all, as those of the postage.
const LeftOut = "-"

// DateOrder says how dates written with the year last are meant; dates with the
// year first are always read.
type DateOrder string

// The orders. With YearFirst alone any other date is a problem.
const (
	YearFirst  DateOrder = ""
	DayFirst   DateOrder = "day"
	MonthFirst DateOrder = "month"
)

// Mapping says which column of a table is which field of a line to make.
type Mapping struct {
	Columns map[string]int    // by field: product, bags, must, due, for; those left out have none
	Words   map[string]string // by word of the product column: a product's id, LeftOut, or empty for not said; a word that is missing is an id itself
	Dates   DateOrder
}

// column returns the column of a field, -1 for none.
func (m Mapping) column(field string) int {
	if i, ok := m.Columns[field]; ok {
		return i
	}
	return -1
}

// MapOrders makes lines to make of the rows of a table. The lines are those
// without a problem, in the order of the file, never nil; each problem is at
// "name:line", those of the mapping itself at its field.
func MapOrders(t *Table, m Mapping, b book.Book) ([]demand.Line, Problems) {
	out := []demand.Line{} // no lines is an answer: nothing to make
	var p Problems
	for _, need := range orderColumns[:2] {
		if m.column(need) < 0 {
			p = append(p, fault.Invalid("no column %q", need).At(need).WithHint("say which column it is"))
		}
	}
	if len(p) > 0 {
		return out, p
	}
	for _, row := range t.Rows {
		l, ps := m.line(row, len(t.Columns), b)
		for _, e := range ps {
			p = append(p, e.At(fmt.Sprintf("%s:%d", t.Name, row.Line)))
		}
		if len(ps) == 0 && l.Product != LeftOut {
			out = append(out, l)
		}
	}
	return out, p
}

// line reads one row.
func (m Mapping) line(row TableRow, columns int, b book.Book) (demand.Line, Problems) {
	if len(row.Cells) > columns {
		return demand.Line{}, Problems{fault.Invalid("%d cells stand under %d columns", len(row.Cells), columns).
			WithHint("put a cell that holds a separator in quotation marks")}
	}
	get := func(field string) string { return row.cell(m.column(field)) }
	l := demand.Line{Product: get("product"), For: get("for")}
	if id, ok := m.Words[l.Product]; ok {
		switch id {
		case LeftOut:
			return demand.Line{Product: LeftOut}, nil
		case "":
			return l, Problems{fault.Invalid("no product is chosen for %q", l.Product).WithHint("choose one, or leave its rows out")}
		}
		l.Product = id
	}
	var p Problems
	var ok bool
	if l.Bags, ok = wholeBags(get("bags")); !ok {
		p = append(p, fault.Invalid("bags %q is not a whole number", get("bags")))
		l.Bags = 1 // one problem is enough
	}
	if l.Must, ok = yes(get("must")); !ok {
		p = append(p, fault.Invalid("must %q is neither yes nor no", get("must")))
	}
	l.Due, _ = isoDate(get("due"), m.Dates)
	if len(l.For) > mostWho {
		p = append(p, fault.Invalid("the text of whom it is for is too long").WithHint("write up to %d letters", mostWho))
	}
	var ps Problems
	errors.As(CheckLines(b, []demand.Line{l}), &ps)
	return l, append(p, ps...)
}

// wholeBags reads a whole number of bags. One or two noughts behind a point or
// comma are a spreadsheet's way to write it; three would be thousands.
func wholeBags(s string) (int, bool) {
	if i := strings.IndexAny(s, ".,"); i > 0 && (s[i+1:] == "0" || s[i+1:] == "00") {
		s = s[:i]
	}
	n, err := strconv.Atoi(s)
	return n, err == nil
}

// yes reads yes or no; a blank is no.
func yes(s string) (yes, ok bool) {
	switch strings.ToLower(s) {
	case "", "no", "n", "false", "0":
		return false, true
	case "yes", "y", "true", "1", "x":
		return true, true
	}
	return false, false
}

// isoDate returns a date as 2026-11-28; what cannot be read comes back as it
// is, for CheckLines to refuse. A time of day behind the date is left off.
func isoDate(s string, order DateOrder) (date string, ok bool) {
	day, clock, _ := strings.Cut(strings.Replace(s, "T", " ", 1), " ")
	if strings.Trim(clock, "0123456789:.+-Z") != "" {
		return s, false
	}
	day = strings.NewReplacer("/", "-", ".", "-").Replace(day)
	layout := "2006-1-2"
	switch order {
	case DayFirst:
		if _, _, last := yearLast(day); last {
			layout = "2-1-2006"
		}
	case MonthFirst:
		if _, _, last := yearLast(day); last {
			layout = "1-2-2006"
		}
	}
	d, err := time.Parse(layout, day)
	if err != nil {
		return s, false
	}
	return d.Format(time.DateOnly), true
}

// yearLast splits a date such as 28/11/2026, 28.11.2026 or 28-11-2026.
func yearLast(s string) (first, second int, ok bool) {
	part := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("/.-", r) })
	if len(part) != 3 || len(part[2]) != 4 {
		return 0, 0, false
	}
	first, err1 := strconv.Atoi(part[0])
	second, err2 := strconv.Atoi(part[1])
	return first, second, err1 == nil && err2 == nil
}
