package sugar

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"slabside/internal/source"
)

// record is one row of a check table, its cells by the name of their column.
type record struct {
	t     *testing.T
	file  string
	cells map[string]string
}

// read returns the rows of testdata/name.
func read(t *testing.T, name string) []record {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var out []record
	for _, row := range rows[1:] {
		cells := map[string]string{}
		for i, c := range row {
			cells[rows[0][i]] = c
		}
		out = append(out, record{t, name, cells})
	}
	return out
}

// text returns a cell.
func (r record) text(column string) string {
	r.t.Helper()
	v, ok := r.cells[column]
	if !ok {
		r.t.Fatalf("%s has no column %q", r.file, column)
	}
	return v
}

// number returns a cell as a number.
func (r record) number(column string) float64 {
	r.t.Helper()
	v, err := strconv.ParseFloat(r.text(column), 64)
	if err != nil {
		r.t.Fatalf("%s, %s: %v", r.file, column, err)
	}
	return v
}

func (r record) key() source.Key { return source.Key(r.text("key")) }

// must returns a value whose fault would be a defect of the test.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
