package validation

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"slabside/internal/source"
)

// Record is one row of a table of testdata, its cells by the name of their column.
// A column that is not there, or a cell that is no number where one is asked for,
// ends the test.
type Record struct {
	t     testing.TB
	file  string
	cells map[string]string
}

// Records returns the rows of testdata/name; lines that begin with # are left out.
// A table without rows ends the test.
func Records(t testing.TB, name string) []Record {
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
	if len(rows) < 2 {
		t.Fatalf("%s holds no rows", name)
	}
	var out []Record
	for _, row := range rows[1:] {
		cells := map[string]string{}
		for i, c := range row {
			cells[rows[0][i]] = c
		}
		out = append(out, Record{t, name, cells})
	}
	return out
}

// Text returns a cell.
func (r Record) Text(column string) string {
	r.t.Helper()
	v, ok := r.cells[column]
	if !ok {
		r.t.Fatalf("%s has no column %q", r.file, column)
	}
	return v
}

// Number returns a cell as a number.
func (r Record) Number(column string) float64 {
	r.t.Helper()
	v, err := strconv.ParseFloat(r.Text(column), 64)
	if err != nil {
		r.t.Fatalf("%s, %s: %v", r.file, column, err)
	}
	return v
}

// Whole returns a cell as a whole number.
func (r Record) Whole(column string) int {
	r.t.Helper()
	v, err := strconv.Atoi(r.Text(column))
	if err != nil {
		r.t.Fatalf("%s, %s: %v", r.file, column, err)
	}
	return v
}

// Key returns the source of the row, the cell of the column key.
func (r Record) Key() source.Key { return source.Key(r.Text("key")) }
