package bookfile_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/bookfile"
)

var update = flag.Bool("update", false, "rewrite the expected problems in testdata")

// lines prints problems as the cases hold them.
func lines(problems []bookfile.Problem, leave map[string]bool) string {
	var b strings.Builder
	for _, p := range problems {
		if leave[p.Text] {
			continue
		}
		kind := ""
		if p.Severity == book.Caution {
			kind = "caution "
		}
		fmt.Fprintf(&b, "%d %s%s: %s: %s\n", p.Line, kind, p.Code, p.Field, p.Text)
	}
	return b.String()
}

// Every file of testdata/mistakes spoils the sound book testdata/full.toml in
// one way (from → to, once or twice) and lists all the problems that must be reported, with
// their lines; the cautions of the sound book itself are left out.
func TestMistakes(t *testing.T) {
	t.Parallel()
	full := string(read(t, "testdata/full.toml"))
	_, own, err := bookfile.Decode("full.toml", []byte(full))
	if err != nil {
		t.Fatal(err)
	}
	leave := map[string]bool{}
	for _, p := range own {
		leave[p.Text] = true
	}
	files, err := filepath.Glob("testdata/mistakes/*.txtar")
	if err != nil {
		t.Fatal(err)
	}
	codes := map[string]bool{}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			archive := string(read(t, file))
			spoiled, from, want := full, "", ""
			for _, f := range sections(archive) {
				text := strings.TrimSuffix(f.text, "\n")
				switch f.name {
				case "from":
					if from = text; strings.Count(spoiled, from) != 1 {
						t.Fatalf("the text to spoil occurs %d times", strings.Count(spoiled, from))
					}
				case "to":
					spoiled = strings.Replace(spoiled, from, text, 1)
				case "want":
					want = f.text
				}
			}
			_, problems, err := bookfile.Decode("full.toml", []byte(spoiled))
			got := lines(problems, leave)
			if *update {
				head, _, _ := strings.Cut(archive, "-- want --\n")
				if err := os.WriteFile(file, []byte(head+"-- want --\n"+got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			if d := cmp.Diff(want, got); d != "" || got == "" {
				t.Errorf("(-want +got):\n%s", d)
			}
			for _, p := range problems {
				codes[p.Code] = true
				if p.Severity == book.Error && err == nil {
					t.Error("an error, but Decode returned none")
				}
			}
		})
	}
	if len(files) < 60 {
		t.Errorf("only %d kinds of mistake", len(files))
	}
	for _, code := range []string{book.Missing, book.Range, book.Unknown, book.Duplicate, book.BadID, book.BadWord, book.BadText,
		book.OneOf, book.Shares, book.Order, book.Clash, book.NoFit, book.Nobody, book.NoMeans, book.Child,
		bookfile.Syntax, bookfile.UnknownKey, bookfile.WrongType, bookfile.BadAmount} {
		if !codes[code] {
			t.Errorf("no case shows a problem of the kind %q", code)
		}
	}
}

// section is one "-- name --" part of a case.
type section struct{ name, text string }

func sections(archive string) []section {
	var out []section
	for _, line := range strings.SplitAfter(archive, "\n") {
		if rest, ok := strings.CutPrefix(line, "-- "); ok && strings.HasSuffix(rest, " --\n") {
			out = append(out, section{name: strings.TrimSuffix(rest, " --\n")})
		} else if len(out) > 0 {
			out[len(out)-1].text += line
		}
	}
	return out
}

func read(t testing.TB, file string) []byte {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return data
}
