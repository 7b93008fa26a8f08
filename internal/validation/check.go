package validation

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// summaryFile is where a package keeps the outcome of its tables.
var summaryFile = filepath.Join("testdata", "validation.csv")

// header names the columns of a summary.
func header() []string {
	return []string{"kind", "model", "quantity", "range", "rows", "worst", "worst_at", "rms", "tolerance", "unit",
		"broken", "sources", "why"}
}

// Check judges the tables, reports every row that breaks its tolerance, every
// rival that does not fail, and compares the summary with the committed one,
// which it rewrites if update is set.
func Check(t *testing.T, update bool, tables ...Table) {
	t.Helper()
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	write := func(record []string) {
		if err := w.Write(record); err != nil {
			t.Fatal(err)
		}
	}
	write(header())
	for _, table := range tables {
		r := Judge(table)
		for _, p := range r.problems() {
			t.Errorf("%s, %s (%s, %s): %s", r.Model, r.Quantity, r.Range, r.Kind, p)
		}
		write(r.record())
	}
	w.Flush()
	Golden(t, update, summaryFile, buf.Bytes())
	if text := coverageOf(tables).csv(); text != nil {
		Golden(t, update, coverageFile, text)
	}
}

func (r Result) record() []string {
	worst, rms, broken := figure(r.Worst), figure(r.RMS), strconv.Itoa(r.Broken)
	if r.Kind == LeftOut {
		worst, rms, broken = "", "", ""
	}
	return []string{string(r.Kind), r.Model, r.Quantity, r.Range, strconv.Itoa(len(r.Rows)), worst, r.WorstAt, rms,
		r.Tol, r.Unit, broken, r.keys(), r.Why}
}

// Golden compares got with a committed file, which it rewrites if update is set.
func Golden(t *testing.T, update bool, path string, got []byte) {
	t.Helper()
	if update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run the test with -update to write it)", err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what the tests compute: run this package's tests with -update and read the difference", path)
	}
}
