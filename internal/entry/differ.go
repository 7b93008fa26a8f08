package entry

import (
	"slices"
	"strconv"
	"strings"
)

// Difference is a field in which two versions of a thing differ.
type Difference struct {
	Name string `json:"name"` // of the field, "portion.0.share"
	From string `json:"from"` // as typed; "" if it was not set
	To   string `json:"to"`
}

// Differences lists the fields in which two forms of one thing differ, in the
// order of their names, rows by their number.
func Differences(a, b Form) []Difference {
	names := []string{}
	for n := range a.Text {
		names = append(names, n)
	}
	for n := range b.Text {
		if _, ok := a.Text[n]; !ok {
			names = append(names, n)
		}
	}
	slices.SortFunc(names, byRow)
	out := []Difference{}
	for _, n := range names {
		if a.Text[n] != b.Text[n] {
			out = append(out, Difference{n, a.Text[n], b.Text[n]})
		}
	}
	return out
}

// byRow orders names by their keys, numbers as numbers.
func byRow(a, b string) int {
	return slices.CompareFunc(strings.Split(a, "."), strings.Split(b, "."), func(x, y string) int {
		n, err1 := strconv.Atoi(x)
		m, err2 := strconv.Atoi(y)
		if err1 == nil && err2 == nil {
			return n - m
		}
		return strings.Compare(x, y)
	})
}
