package bookfile_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/fault"
)

// What a file must be before it can be read at all: one problem, one line.
func TestUnreadableFiles(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		data string
		line int
		text string
	}{
		"empty":         {"", 1, "the file is empty"},
		"blank":         {"\n \n\t", 1, "the file is empty"},
		"UTF-16":        {"\xff\xfef\x00", 1, "the file is UTF-16"},
		"UTF-16 BE":     {"\xfe\xff\x00f", 1, "the file is UTF-16"},
		"a database":    {"SQLite format 3\x00....", 1, "the file is a database, not a shop-book file"},
		"Latin letters": {"format = 1\n[shop]\nname = \"Caf\xe9\"\n", 3, "a letter here is not UTF-8"},
		"too large":     {strings.Repeat("#\n", 2<<20+1), 1, "the file is larger than 4 MB"},
	} {
		_, problems, err := bookfile.Decode("shop.toml", []byte(c.data))
		if len(problems) != 1 || problems[0].Line != c.line || problems[0].Text != c.text || problems[0].Code != bookfile.BadFile {
			t.Errorf("%s: %+v", name, problems)
		}
		if fault.KindOf(err) != fault.KindInvalid || !strings.HasPrefix(err.Error(), fmt.Sprintf("shop.toml:%d: ", c.line)) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The largest file that is allowed is read.
func TestLargestFile(t *testing.T) {
	t.Parallel()
	data := bookfile.Demo()
	data = append(data, bytes.Repeat([]byte("#\n"), (bookfile.Most-len(data))/2)...)
	if _, _, err := bookfile.Decode("large.toml", data); err != nil {
		t.Error(err)
	}
}

// Line endings of other systems and a byte order mark change nothing, not even the lines.
func TestLineEndings(t *testing.T) {
	t.Parallel()
	want := sound(t, "demo", bookfile.Demo())
	crlf := bytes.ReplaceAll(bookfile.Demo(), []byte("\n"), []byte("\r\n"))
	for name, data := range map[string][]byte{"crlf": crlf, "bom": append([]byte("\xef\xbb\xbf"), bookfile.Demo()...)} {
		if d := cmp.Diff(want, sound(t, name, data)); d != "" {
			t.Errorf("%s:\n%s", name, d)
		}
	}
	spoiled := strings.Replace(string(crlf), `units = "metric"`, `units = "cubits"`, 1)
	_, a, _ := bookfile.Decode("x", []byte(spoiled))
	_, b, _ := bookfile.Decode("x", []byte(strings.ReplaceAll(spoiled, "\r\n", "\n")))
	if d := cmp.Diff(a, b); d != "" {
		t.Error(d)
	}
}

// A file of nothing but problems ends in a bounded list, quickly.
func TestFloodsAreBounded(t *testing.T) {
	t.Parallel()
	for name, data := range map[string]string{
		"keys":          strings.Repeat("x", 10) + " = 1\n" + numbered("key%d = 1\n", 20000),
		"tables":        numbered("[table%d]\nx = 1\n", 20000),
		"broken lines":  strings.Repeat("a b c\n", 20000),
		"open arrays":   strings.Repeat("a = [\n", 20000),
		"open strings":  strings.Repeat("a = \"\"\"\n", 20001),
		"deep":          "a = " + strings.Repeat("[", 9000) + strings.Repeat("]", 9000) + "\n",
		"deeper":        "a = " + strings.Repeat("[", 2000000),
		"deep table":    "a = " + strings.Repeat("{b=", 9000) + "1" + strings.Repeat("}", 9000) + "\n",
		"long key":      strings.Repeat("k", 1<<20) + " = 1\n",
		"dotted":        strings.Repeat("a.", 100000) + "b = 1\n",
		"empty recipes": strings.Repeat("[[recipe]]\n", 20000),
	} {
		_, problems, err := bookfile.Decode("flood.toml", []byte(data))
		if err == nil || len(problems) == 0 || len(problems) > 1000 {
			t.Errorf("%s: %d problems, %v", name, len(problems), err)
		}
		for _, p := range problems {
			if p.Line < 1 || p.Col < 1 || len(p.Text) > 500 || len(p.Hint) > 500 || len(p.Field) > 500 {
				t.Errorf("%s: a problem out of shape: %.600v", name, p)
				break
			}
		}
	}
}

func numbered(format string, n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

func TestProblemAndErrorTexts(t *testing.T) {
	t.Parallel()
	spoiled := strings.Replace(string(bookfile.Demo()), `boil_to = "152 C"`, `boil_to = "252 C"`, 1)
	_, problems, err := bookfile.Decode("shop.toml", []byte(spoiled))
	line := 1 + strings.Count(spoiled[:strings.Index(spoiled, "252 C")], "\n")
	want := fmt.Sprintf("shop.toml:%d: recipe \"barley-barrels\", boil_to: 252 °C is too much (it must lie between 100 °C and 175 °C)", line)
	if err == nil || err.Error() != want {
		t.Errorf("error %q\nwant  %q", err, want)
	}
	found := false
	for _, p := range problems {
		found = found || p.String() == want && p.Severity == book.Error
	}
	if !found {
		t.Errorf("no problem reads %q", want)
	}
	_, _, err = bookfile.Decode("shop.toml", []byte("format = 2\n"))
	if err == nil || !strings.Contains(err.Error(), "and 3 more problems") { // shop, room, day
		t.Errorf("several problems: %v", err)
	}
	if err := bookfile.Err([]bookfile.Problem{{Severity: book.Caution}}); err != nil {
		t.Errorf("cautions alone: %v", err)
	}
}

// Standing values take the place of keys that are left out.
func TestStandingValues(t *testing.T) {
	t.Parallel()
	full := string(read(t, "testdata/full.toml"))
	from, to := strings.Index(full, "[room.times]"), strings.Index(full, "[[kettle]]")
	b := sound(t, "short.toml", []byte(full[:from]+full[to:]))
	if got := b.Room.Times.RollBandBoard.Minutes(); got != 14 { // common practice, no source
		t.Errorf("on the feeding board a batch stays in condition for %g min", got)
	}
	b = sound(t, "short.toml", []byte(strings.Replace(full, "wipe = \"5 min\"\n", "", 1)))
	if got := b.Room.Times.Wipe.Minutes(); got != 5 {
		t.Errorf("a wipe takes %g min", got)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add(bookfile.Demo())
	f.Add(read(f, "testdata/full.toml"))
	for _, s := range []string{"", "a", "[[", "[a]\n[a]\n", "a.b=1\na.b.c=2", "recipe = [{}, 1]", "[[recipe]]\nboil=[[]]", "format=1e400", "a=\"\\u00", "[recipe]\n[[recipe]]",
		"[[recipe]]\n[recipe.flavour.tolerates]\n\"a.b\" = 1\n", "day.opens=08:00:00", "to_make = []\n[[to_make]]"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		b, problems, err := bookfile.Decode("fuzz.toml", data)
		errs := 0
		for _, p := range problems {
			if p.Line < 1 || p.Col < 1 || p.Line > bytes.Count(data, []byte("\n"))+1 || p.Text == "" {
				t.Fatalf("a problem out of place: %+v", p)
			}
			if p.Severity == book.Error {
				errs++
			}
		}
		if (err != nil) != (errs > 0) {
			t.Fatalf("%d errors, but %v", errs, err)
		}
		if err != nil {
			return
		}
		// What is sound can be written, and what is written is the same book.
		out, err := bookfile.Encode(b)
		if err != nil {
			t.Fatal(err)
		}
		if again, _, err := bookfile.Decode("again.toml", out); err != nil || !cmp.Equal(b, again) {
			t.Fatalf("%v\n%s", err, cmp.Diff(b, again))
		}
	})
}
