package app

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
)

// Problems is a set of faults that are reported together.
type Problems []*fault.Error

// Error lists all of them.
func (p Problems) Error() string {
	s := make([]string, len(p))
	for i, e := range p {
		s[i] = e.Error()
	}
	return strings.Join(s, "\n")
}

// Unwrap lets errors.As find the first fault.
func (p Problems) Unwrap() []error {
	out := make([]error, len(p))
	for i, e := range p {
		out[i] = e
	}
	return out
}

// CheckLines judges lines to make against the book, reporting every problem
// with its field.
func CheckLines(b book.Book, lines []demand.Line) error {
	var p Problems
	for i, l := range lines {
		at := func(field string) string { return fmt.Sprintf("line[%d].%s", i, field) }
		if !slices.ContainsFunc(b.Products, productID(l.Product)) {
			p = append(p, fault.Invalid("unknown product %q", l.Product).At(at("product")).WithHint("choose one of the shop book's products"))
		}
		if l.Bags < 1 || l.Bags > demand.MostBags {
			p = append(p, fault.Invalid("%d bags cannot be meant", l.Bags).At(at("bags")).WithHint("write a whole number from 1 to %d, or take the line out", demand.MostBags))
		}
		if l.Due != "" {
			if _, err := time.Parse(time.DateOnly, l.Due); err != nil {
				p = append(p, fault.Invalid("%q is not a date", l.Due).At(at("due")).WithHint("write it as 2026-11-28, or leave it empty for today"))
			}
		}
	}
	if len(p) > 0 {
		return p
	}
	return nil
}

// ReadOrders reads lines to make from a table with the columns product, bags
// and, if present, must (yes/no), due (2026-11-28) and for; products by their
// ids. Every problem is reported with its line.
func ReadOrders(name string, r io.Reader, b book.Book) ([]demand.Line, error) {
	t, err := ReadTable(name, r)
	if err != nil {
		return nil, err
	}
	m := Mapping{Columns: map[string]int{}}
	var odd []string // unknown, or there twice
	for i, h := range t.Columns {
		h = strings.ToLower(h)
		if _, twice := m.Columns[h]; twice || !slices.Contains(orderColumns[:], h) {
			odd = append(odd, strconv.Quote(h))
		}
		m.Columns[h] = i
	}
	for _, need := range orderColumns[:2] {
		if m.column(need) < 0 {
			return nil, fault.Invalid("%s:1: no column %q", name, need).WithHint("the first line names the columns: %s", strings.Join(orderColumns[:], ","))
		}
	}
	if len(odd) > 0 {
		return nil, fault.Invalid("%s:1: column %s is unknown or stands twice", name, strings.Join(odd, ", ")).
			WithHint("the columns are %s", strings.Join(orderColumns[:], ", "))
	}
	lines, p := MapOrders(t, m, b)
	if len(p) > 0 {
		return nil, p
	}
	return lines, nil
}
