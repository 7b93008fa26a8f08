package validation

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// coverageFile is where a package keeps which part of its range has outside rows.
var coverageFile = filepath.Join("testdata", "coverage.csv")

// The cells of the range, in whole per cents of solids and in °C: each from its edge
// to below the next, the last with its end.
func solidsEdges() []float64 { return []float64{60, 70, 80, 90, 95, 99} }
func tempEdges() []float64   { return []float64{20, 40, 60, 80, 100, 120, 140, 160} }

// cell is how many rows stand in one part of a property's range.
type cell struct {
	property        string
	solids, temp    int // the cell's number
	outside, fitted int
}

// coverage is every cell with a row, by property in the order they come, then place.
type coverage []cell

// coverageOf counts the rows of outside origin that have a place.
func coverageOf(tables []Table) coverage {
	var out coverage
	var order []string
	for _, t := range tables {
		if t.Covers == "" || t.Kind != Outside && t.Kind != Fitted {
			continue
		}
		if !slices.Contains(order, t.Covers) {
			order = append(order, t.Covers)
		}
		for _, r := range t.Rows {
			if r.Place == nil {
				continue
			}
			s, k := band(solidsEdges(), r.Place.Solids), band(tempEdges(), r.Place.Temp)
			if s < 0 || k < 0 {
				continue
			}
			i := slices.IndexFunc(out, func(c cell) bool { return c.property == t.Covers && c.solids == s && c.temp == k })
			if i < 0 {
				i = len(out)
				out = append(out, cell{property: t.Covers, solids: s, temp: k})
			}
			if t.Kind == Outside {
				out[i].outside++
			} else {
				out[i].fitted++
			}
		}
	}
	slices.SortFunc(out, func(a, b cell) int {
		place := func(c cell) int {
			return (slices.Index(order, c.property)*len(tempEdges())+c.temp)*len(solidsEdges()) + c.solids
		}
		return place(a) - place(b)
	})
	return out
}

// band returns the number of the cell v is in, −1 outside all.
func band(edges []float64, v float64) int {
	last := len(edges) - 1
	if v == edges[last] {
		return last - 1
	}
	for i := range last {
		if v >= edges[i] && v < edges[i+1] {
			return i
		}
	}
	return -1
}

func coverageHeader() []string { return []string{"property", "solids", "temp", "outside", "fitted"} }

// csv returns the cells as a file, nil where there are none.
func (c coverage) csv() []byte {
	if len(c) == 0 {
		return nil
	}
	records := [][]string{coverageHeader()}
	for _, x := range c {
		records = append(records, []string{x.property, strconv.Itoa(x.solids), strconv.Itoa(x.temp), strconv.Itoa(x.outside), strconv.Itoa(x.fitted)})
	}
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	if err := w.WriteAll(records); err != nil { // to memory
		panic(err)
	}
	return buf.Bytes()
}

// renderCoverage prints a package's coverage file, nothing where there is none.
func renderCoverage(file string) (string, error) {
	f, err := os.Open(file)
	if os.IsNotExist(err) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return "", fmt.Errorf("%s: %w", file, err)
	}
	if len(rows) == 0 || !slices.Equal(rows[0], coverageHeader()) {
		return "", fmt.Errorf("%s: the header is not that of a coverage", file)
	}
	var c coverage
	for _, r := range rows[1:] {
		x := cell{property: r[0]}
		for i, to := range [4]*int{&x.solids, &x.temp, &x.outside, &x.fitted} {
			if *to, err = strconv.Atoi(r[i+1]); err != nil {
				return "", fmt.Errorf("%s: %w", file, err)
			}
		}
		c = append(c, x)
	}
	return c.render(), nil
}

// render prints how much of the range each property has rows in, and where.
func (c coverage) render() string {
	s, k := solidsEdges(), tempEdges()
	var b strings.Builder
	fmt.Fprintf(&b, "\n### Which part of %g to %g °C and %g to %g %% solids has outside rows\n\n", k[0], k[len(k)-1], s[0], s[len(s)-1])
	b.WriteString("Rows in a cell, those the model was fitted to after a plus. An empty cell is the model's word alone.\n\n")
	b.WriteString("| property | cells with rows |\n| --- | --- |\n")
	var properties []string
	for _, x := range c {
		if !slices.Contains(properties, x.property) {
			properties = append(properties, x.property)
		}
	}
	cells := (len(s) - 1) * (len(k) - 1)
	for _, p := range properties {
		n := 0
		for _, x := range c {
			if x.property == p {
				n++
			}
		}
		line(&b, p, fmt.Sprintf("%d of %d", n, cells))
	}
	b.WriteString("\n| property and temperature |")
	for i := range len(s) - 1 {
		fmt.Fprintf(&b, " %g to %g %% |", s[i], s[i+1])
	}
	b.WriteString("\n|" + strings.Repeat(" --- |", len(s)) + "\n")
	for _, p := range properties {
		for temp := range len(k) - 1 {
			counts, any := make([]string, len(s)), false
			counts[0] = fmt.Sprintf("%s, %g to %g °C", p, k[temp], k[temp+1])
			for _, x := range c {
				if x.property == p && x.temp == temp {
					counts[x.solids+1], any = x.count(), true
				}
			}
			if any {
				line(&b, counts...)
			}
		}
	}
	return b.String()
}

func (x cell) count() string {
	switch {
	case x.fitted == 0:
		return strconv.Itoa(x.outside)
	case x.outside == 0:
		return "+" + strconv.Itoa(x.fitted)
	}
	return fmt.Sprintf("%d+%d", x.outside, x.fitted)
}
