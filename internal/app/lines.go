package app

import (
	"bytes"
	"encoding/csv"
	"errors"
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

// orderColumns are the columns of an order file; the first two must be there.
var orderColumns = []string{"product", "bags", "must", "due", "for"}

const mostOrders = 4 << 20 // bytes of an order file

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

// ReadOrders reads lines to make from CSV with the columns product, bags and,
// if present, must (yes/no), due and for. Every problem is reported with its line.
func ReadOrders(name string, r io.Reader, b book.Book) ([]demand.Line, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostOrders+1))
	if err != nil {
		return nil, fault.Internal(err, "%s could not be read", name)
	}
	if len(data) > mostOrders {
		return nil, fault.Invalid("%s is larger than %d MB", name, mostOrders>>20).WithHint("split it; nothing was read")
	}
	cr := csv.NewReader(bytes.NewReader(data))
	cr.FieldsPerRecord = -1
	cr.TrimLeadingSpace = true
	head, err := cr.Read()
	if err != nil {
		return nil, fault.Invalid("%s:1: no header line", name).WithHint("the first line names the columns: product,bags,must,due,for")
	}
	col := map[string]int{}
	var odd []string // unknown, or there twice
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))
		if _, twice := col[h]; twice || !slices.Contains(orderColumns, h) {
			odd = append(odd, strconv.Quote(h))
		}
		col[h] = i
	}
	for _, need := range []string{"product", "bags"} {
		if _, ok := col[need]; !ok {
			return nil, fault.Invalid("%s:1: no column %q", name, need).WithHint("the first line names the columns: product,bags,must,due,for")
		}
	}
	if len(odd) > 0 {
		return nil, fault.Invalid("%s:1: column %s is unknown or stands twice", name, strings.Join(odd, ", ")).
			WithHint("the columns are %s", strings.Join(orderColumns, ", "))
	}
	out := []demand.Line{} // no lines is an answer: nothing to make
	var p Problems
	for {
		rec, err := cr.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			p = append(p, fault.Invalid("%s: %s", name, err.Error()))
			break
		}
		line, _ := cr.FieldPos(0)
		get := func(c string) string {
			if i, ok := col[c]; ok && i < len(rec) {
				return strings.TrimSpace(rec[i])
			}
			return ""
		}
		bad := func(e *fault.Error) { p = append(p, e.At(fmt.Sprintf("%s:%d", name, line))) }
		l := demand.Line{Product: get("product"), Due: get("due"), For: get("for")}
		if l.Bags, err = strconv.Atoi(get("bags")); err != nil {
			bad(fault.Invalid("bags %q is not a whole number", get("bags")))
			continue
		}
		switch strings.ToLower(get("must")) {
		case "", "no", "false", "0":
		case "yes", "true", "1":
			l.Must = true
		default:
			bad(fault.Invalid("must %q is neither yes nor no", get("must")))
			continue
		}
		if err := CheckLines(b, []demand.Line{l}); err != nil {
			var ps Problems
			errors.As(err, &ps)
			for _, e := range ps {
				bad(e)
			}
			continue
		}
		out = append(out, l)
	}
	if len(p) > 0 {
		return nil, p
	}
	return out, nil
}
