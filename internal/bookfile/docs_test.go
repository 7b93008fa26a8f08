package bookfile_test

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

const docsFile = "../../docs/shop-book.md"

var keysBlock = regexp.MustCompile(`(?s)<!-- keys:([^>]*)-->\n.*?<!-- end -->\n`)

// pageSection returns the part of the reference page a field stands in: its table
// of the file's head, or room.times.
func pageSection(path string) string {
	if strings.HasPrefix(path, "room.times.") {
		return "room.times"
	}
	head, _, nested := strings.Cut(path, ".")
	if !nested {
		return ""
	}
	return head
}

// row describes one field in a row of the page.
func row(f book.Field, section string) string {
	key := strings.TrimPrefix(f.Path, section+".")
	how := string(f.Kind)
	switch f.Kind {
	case book.Ref:
		how = "id of " + f.Named()
	case book.Word, book.Words:
		how = strings.Join(f.Words, ", ")
	}
	if f.Kind.Numeric() {
		lo, hi := f.Limits()
		how += ", " + lo + " to " + hi
		if lo == hi {
			how = string(f.Kind) + ", " + lo
		}
	}
	need := "must"
	switch f.Need {
	case book.Optional:
		need = "left out: " + f.Default
		if f.Default == "" {
			need = "may be left out"
		}
	case book.Standing:
		need = "left out: `" + f.Default + "`"
	}
	usually := f.Usually(q.Point)
	for _, k := range f.Usual.Sources {
		if k != source.Practice {
			usually += fmt.Sprintf(" (`%s`)", k)
		}
	}
	meaning := f.Text
	if f.Why != "" {
		meaning += ". " + f.Why
	}
	return fmt.Sprintf("| `%s` | %s | %s | %s | %s |\n", key, how, need, usually, strings.ReplaceAll(meaning, "|", "\\|"))
}

// The reference page lists every key of the schema with its kind, limits,
// default and meaning; it is made from the schema with -update.
func TestReferencePage(t *testing.T) {
	t.Parallel()
	page := string(read(t, docsFile))
	placed := map[string]bool{}
	made := keysBlock.ReplaceAllStringFunc(page, func(block string) string {
		names := strings.Fields(keysBlock.FindStringSubmatch(block)[1])
		if len(names) == 0 {
			names = []string{""}
		}
		var b strings.Builder
		head, _, _ := strings.Cut(block, "\n")
		fmt.Fprintf(&b, "%s\n| key | value | need | usually | meaning |\n| --- | --- | --- | --- | --- |\n", head)
		for _, section := range names {
			for _, f := range book.Schema() {
				isHead := strings.TrimSuffix(section, "[]") == f.Path && section != "" || f.Path == "room.times"
				if pageSection(f.Path) != section || isHead || section == "" && (f.Kind == book.Table || f.Kind == book.List) {
					continue
				}
				shown := section
				if len(names) > 1 { // several things in one table: keep whose key it is
					shown = ""
				}
				placed[f.Path] = true
				b.WriteString(row(f, shown))
			}
		}
		return b.String() + "<!-- end -->\n"
	})
	for _, f := range book.Schema() {
		nested := strings.Contains(f.Path, ".") && f.Path != "room.times"
		if !placed[f.Path] && (nested || f.Path == "format") {
			t.Errorf("%s stands nowhere on the page", f.Path)
		}
	}
	if *update {
		if err := os.WriteFile(docsFile, []byte(made), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if d := cmp.Diff(made, page); d != "" {
		t.Errorf("docs/shop-book.md is not what the schema says; run the test with -update (-schema +page):\n%s", d)
	}
}

// Every header of the page is a table of the format, and every table of the
// head has one.
func TestReferencePageHeaders(t *testing.T) {
	t.Parallel()
	page := string(read(t, docsFile))
	for _, f := range book.Schema() {
		if strings.Contains(f.Path, ".") || f.Kind != book.Table && f.Kind != book.List {
			continue
		}
		header := "`[" + f.Path + "]`"
		if f.Kind == book.List {
			header = "`[[" + f.Path + "]]`"
		}
		found := false
		for _, line := range strings.Split(page, "\n") {
			found = found || strings.HasPrefix(line, "## ") && strings.Contains(line, header)
		}
		if !found {
			t.Errorf("no header for %s", header)
		}
	}
}
