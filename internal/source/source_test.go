package source

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite docs/sources.md")

func TestEntries_AreWhole(t *testing.T) {
	t.Parallel()
	marks := []Evidence{Published, Memory, Computed, Judgement}
	all := All()
	if !slices.IsSortedFunc(all, func(a, b Entry) int { return strings.Compare(string(a.Key), string(b.Key)) }) {
		t.Error("the entries are not in order")
	}
	for _, e := range all {
		if e.Key == "" || e.Title == "" {
			t.Errorf("%+v lacks a key or a title", e)
		}
		if !slices.Contains(marks, e.Evidence) {
			t.Errorf("%s: evidence %q is none of %v", e.Key, e.Evidence, marks)
		}
		if got, ok := Lookup(e.Key); !ok || got != e {
			t.Errorf("%s is looked up as %+v", e.Key, got)
		}
	}
	if _, ok := Lookup("no such work"); ok {
		t.Error("a key that is not listed was found")
	}
	if e, ok := Lookup(Practice); !ok || e.Evidence != Judgement || e.Title != "Common practice, no source" {
		t.Errorf("common practice is %+v", e)
	}
}

func TestDocument_IsTheTable(t *testing.T) {
	t.Parallel()
	path := filepath.Join(root, "docs", "sources.md")
	if *update {
		if err := os.WriteFile(path, []byte(document()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != document() {
		t.Error("docs/sources.md is not what sources.csv says: run this package's tests with -update")
	}
}

// document prints the bibliography.
func document() string {
	var b strings.Builder
	b.WriteString(`# Sources

Made by the tests from internal/source/sources.csv; not edited by hand. The key is
what data files, comments and results name.

Evidence: **published**, the text of the source, or a text quoting it, was read;
**memory**, recalled, to be confirmed; **computed**, from a stated formula;
**judgement**, a reasoned choice. A title in [ ] describes the work; its wording is
to be confirmed.

| key | author | title | year | where | evidence |
| --- | --- | --- | --- | --- | --- |
`)
	for _, e := range All() {
		cells := []string{string(e.Key), e.Author, e.Title, e.Year, e.Where, string(e.Evidence)}
		for i, c := range cells {
			cells[i] = strings.ReplaceAll(c, "|", "\\|")
		}
		fmt.Fprintf(&b, "| %s |\n", strings.Join(cells, " | "))
	}
	return b.String()
}
