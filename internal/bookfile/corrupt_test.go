package bookfile_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/bookfile"
)

// spot is where a key of testdata/full.toml stands, found by reading its lines
// without any of the program's own parsing.
type spot struct {
	line  int    // from 1
	table int    // line of the table around it
	path  string // with indices
	text  string // `key = value`
	alone bool   // nothing else on its line
}

var (
	headerLine = regexp.MustCompile(`^(\[\[?)([a-z_.]+)\]`)
	keyValue   = regexp.MustCompile(`([a-z_]+) = ("[^"]*"|\[[^\[\]{}]*\]|[0-9.]+|true|false|\{|\[)`)
)

// spots reads the layout of full.toml: headers, one key a line, and tables
// between braces on one line, in a list or not.
func spots(full string) map[string]spot {
	out := map[string]spot{}
	counts := map[string]int{}
	prefix, head := "", 0
	item, listPath := -1, "" // inside a list of tables over several lines
	add := func(line, table int, prefix, text string, m []int, alone bool) string {
		path := strings.TrimPrefix(prefix+"."+text[m[2]:m[3]], ".")
		if _, dup := out[book.Pattern(path)]; !dup {
			out[book.Pattern(path)] = spot{line, table, path, text[m[0]:m[1]], alone}
		}
		return path
	}
	for i, line := range strings.Split(full, "\n") {
		n := i + 1
		if h := headerLine.FindStringSubmatch(line); h != nil {
			head, prefix = n, h[2]
			if parent, child, ok := strings.Cut(h[2], "."); ok && counts[parent] > 0 {
				prefix = fmt.Sprintf("%s[%d].%s", parent, counts[parent]-1, child)
			}
			if h[1] == "[[" {
				full := prefix
				prefix = fmt.Sprintf("%s[%d]", full, counts[full])
				counts[full]++
			}
			continue
		}
		at, table, alone := prefix, head, true
		if listPath != "" {
			if strings.HasPrefix(line, "]") {
				listPath = ""
				continue
			}
			item++
			at, table, alone = fmt.Sprintf("%s[%d]", listPath, item), n, false
		}
		for _, m := range keyValue.FindAllStringSubmatchIndex(line, -1) {
			path := add(n, table, at, line, m, alone && m[0] == 0)
			switch value := line[m[4]:m[5]]; {
			case value == "[" && strings.HasSuffix(line, "["):
				listPath, item = path, -1
			case value == "[": // [{ … }]
				at, table, alone = path+"[0]", n, false
			case value == "{":
				at, table, alone = path, n, false
			}
		}
	}
	return out
}

func TestSpotsFindEveryKey(t *testing.T) {
	t.Parallel()
	found := spots(string(read(t, "testdata/full.toml")))
	for _, f := range book.Schema() {
		if f.Kind == book.Table || f.Kind == book.List {
			continue
		}
		if _, ok := found[f.Path]; !ok {
			t.Errorf("testdata/full.toml has no %s", f.Path)
		}
	}
}

// unit is the base unit of a kind of amount with the factor to write it by.
func unit(k book.Kind) (string, float64) {
	switch k {
	case book.Mass:
		return "kg", 1
	case book.Temperature:
		return "C", 1
	case book.Difference:
		return "K", 1
	case book.Volume:
		return "L", 1
	case book.Length:
		return "m", 1
	case book.Pressure:
		return "Pa", 1
	case book.Power:
		return "W", 1
	case book.Share:
		return "%", 100
	}
	return "s", 1
}

// spoil is a bad value for a field and the kind of problem it must be.
type spoil struct{ value, code string }

// beyond returns values 1 % outside the limits of a field, and inside ones.
func beyond(f book.Field) (outside, inside []float64) {
	step := func(x float64) float64 {
		if x == 0 {
			return 0.01 * math.Max(1e-4, math.Min(1, f.High-f.Low))
		}
		return math.Abs(x) * 0.01
	}
	if f.Kind == book.Count || f.Kind == book.Levels {
		if f.Low != 1 { // one below one is none, which may be unset
			outside = append(outside, f.Low-1)
		}
		return append(outside, f.High+1), []float64{f.Low, f.High}
	}
	return []float64{f.Low - step(f.Low), f.High + step(f.High)}, []float64{f.Low + step(f.Low), f.High - step(f.High)}
}

func write(f book.Field, x float64) string {
	if f.Kind.Quantity() {
		u, factor := unit(f.Kind)
		return strconv.Quote(strconv.FormatFloat(x*factor, 'g', 12, 64) + " " + u)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// spoils returns the bad values that fit the field's kind.
func spoils(f book.Field) []spoil {
	var out []spoil
	text := func(values ...string) {
		for _, v := range values {
			out = append(out, spoil{v, book.BadText})
		}
	}
	if f.Kind.Numeric() {
		outside, _ := beyond(f)
		for _, x := range outside {
			out = append(out, spoil{write(f, x), book.Range})
		}
		if f.Need == book.Required && f.Low > 0 {
			out = append(out, spoil{write(f, 0), book.Missing})
		}
	}
	switch {
	case f.Kind.Quantity():
		return append(out, spoil{"true", bookfile.WrongType}, spoil{"5", bookfile.BadAmount}, spoil{`"5"`, bookfile.BadAmount},
			spoil{`"5 furlongs"`, bookfile.BadAmount}, spoil{`"much"`, bookfile.BadAmount}, spoil{`""`, bookfile.BadAmount}, spoil{`["5 kg"]`, bookfile.WrongType})
	case f.Kind == book.Number:
		return append(out, spoil{`"1.5"`, bookfile.WrongType}, spoil{"nan", bookfile.BadAmount}, spoil{"inf", bookfile.BadAmount})
	case f.Kind == book.Count, f.Kind == book.Levels:
		return append(out, spoil{`"1"`, bookfile.WrongType}, spoil{"1.5", bookfile.WrongType}, spoil{"99999999999", bookfile.BadAmount})
	case f.Kind == book.Flag:
		return []spoil{{`"yes"`, bookfile.WrongType}, {"1", bookfile.WrongType}}
	}
	out = append(out, spoil{"7", bookfile.WrongType}, spoil{"true", bookfile.WrongType}, spoil{"2026-03-14", bookfile.WrongType})
	if f.Kind != book.Words && f.Need == book.Required {
		out = append(out, spoil{`""`, book.Missing})
	}
	switch f.Kind {
	case book.Words:
		out = append(out, spoil{`"gluten"`, bookfile.WrongType}, spoil{`["nonsense"]`, book.BadWord}, spoil{`[7]`, bookfile.WrongType})
		if f.Need == book.Required {
			out = append(out, spoil{`[]`, book.Missing})
		}
	case book.Word:
		out = append(out, spoil{`"nonsense"`, book.BadWord})
	case book.ID:
		out = append(out, spoil{`"Not An Id"`, book.BadID}, spoil{`"-x"`, book.BadID}, spoil{`"` + strings.Repeat("x", 61) + `"`, book.BadID})
	case book.Ref:
		out = append(out, spoil{`"no-such-thing"`, book.Unknown})
	case book.Clock:
		text(`"25:00"`, `"8:00"`, `"08.00"`)
	case book.Date:
		text(`"2026-02-30"`, `"14.3.2026"`)
	case book.Paint:
		text(`"red"`, `"#12345"`)
	case book.Currency:
		text(`"pounds"`, `"gbp"`)
	case book.Money:
		text(`"2.80"`, `"2.805 GBP"`, `"-1 EUR"`, `"2 pounds"`)
	case book.Zone:
		text(`"Nowhere/Else"`, `"Local"`)
	case book.Text:
		if strings.HasSuffix(f.Path, ".family") {
			out = append(out, spoil{`"no-such-family"`, book.Unknown})
		}
		text(`"  "`, `"a\u0007b"`, `"`+strings.Repeat("x", 4001)+`"`)
	}
	return out
}

// Every field of the schema is corrupted in every way that fits its kind, and
// each corruption is named with its line and its path.
func TestEveryFieldCorrupted(t *testing.T) {
	t.Parallel()
	full := string(read(t, "testdata/full.toml"))
	found := spots(full)
	fields, ways := 0, 0
	for _, f := range book.Schema() {
		if f.Kind == book.Table || f.Kind == book.List {
			continue
		}
		fields++
		s := found[f.Path]
		key, _, _ := strings.Cut(s.text, " = ")
		old, path := s.text, s.path
		if f.Kind == book.Levels { // corrupt one of the levels
			key, old, path = "vanilla", "vanilla = 3", path+".vanilla"
		}
		for _, bad := range spoils(f) {
			ways++
			problems := decodeLine(full, s.line, old, key+" = "+bad.value)
			if !named(problems, bad.code, s.line, path) {
				t.Errorf("line %d, %s = %s: not named as %q; got\n%s", s.line, path, short(bad.value), bad.code, lines(problems, nil))
			}
		}
		if f.Kind.Numeric() && f.Kind != book.Levels {
			_, inside := beyond(f)
			for _, x := range inside {
				problems := decodeLine(full, s.line, old, key+" = "+write(f, x))
				if named(problems, book.Range, s.line, path) {
					t.Errorf("%s = %s is inside the limits, but called outside", path, write(f, x))
				}
			}
		}
	}
	t.Logf("%d fields, %d corruptions", fields, ways)
	if fields < 150 || ways < 900 {
		t.Errorf("only %d fields and %d corruptions", fields, ways)
	}
}

// Every key that must be there is taken out in turn and named with the line of
// its table.
func TestEveryRequiredKeyTakenOut(t *testing.T) {
	t.Parallel()
	full := string(read(t, "testdata/full.toml"))
	found := spots(full)
	n := 0
	for _, f := range book.Schema() {
		if f.Need != book.Required || f.Kind == book.Table || f.Kind == book.List {
			continue
		}
		n++
		s := found[f.Path]
		table := s.table
		problems := decodeLine(full, s.line, s.text, "")
		if !s.alone {
			out := regexp.MustCompile(regexp.QuoteMeta(s.text) + `(, )?`)
			all := strings.Split(full, "\n")
			all[s.line-1] = strings.Replace(out.ReplaceAllString(all[s.line-1], ""), ",  }", " }", 1)
			_, problems, _ = bookfile.Decode("full.toml", []byte(strings.Join(all, "\n")))
		}
		if s.table == 0 {
			table = 1
		}
		if !named(problems, book.Missing, table, s.path) {
			t.Errorf("%s taken out of the table of line %d: not named; got\n%s", s.path, table, lines(problems, nil))
		}
	}
	if n < 80 {
		t.Errorf("only %d required keys", n)
	}
}

// Every table and every list of tables gets a value of the wrong type, a key
// nobody knows, and is left out if it must be there.
func TestEveryTableCorrupted(t *testing.T) {
	t.Parallel()
	_, problems, _ := bookfile.Decode("x", []byte("no_such_key = 1\n"))
	if !named(problems, bookfile.UnknownKey, 1, "no_such_key") {
		t.Error("an unknown key of the head is not named")
	}
	for _, f := range book.Schema() {
		if f.Kind != book.Table && f.Kind != book.List {
			continue
		}
		parent, key, nested := cutLast(f.Path)
		head, at := "", parent
		if nested {
			// The parent as a header: [room], [[recipe]], [day]; nothing nests deeper.
			head = "[" + parent + "]\n"
			if name, isList := strings.CutSuffix(parent, "[]"); isList {
				head, at = "[["+name+"]]\n", name+"[0]"
			}
		}
		path := strings.TrimPrefix(at+"."+key, ".")
		line := 1 + strings.Count(head, "\n")
		unknown, inner := "{ no_such_key = 1 }", path+".no_such_key"
		if f.Kind == book.List {
			unknown, inner = "[{ no_such_key = 1 }]", path+"[0].no_such_key"
			_, problems, _ := bookfile.Decode("x", []byte(head+key+" = [7]\n"))
			if !named(problems, bookfile.WrongType, line, path+"[0]") {
				t.Errorf("%s = [7] is not named", path)
			}
		}
		_, problems, _ := bookfile.Decode("x", []byte(head+key+" = "+unknown+"\n"))
		if !named(problems, bookfile.UnknownKey, line, inner) {
			t.Errorf("an unknown key in %s is not named; got\n%s", path, lines(problems, nil))
		}
		for _, bad := range []string{"7", `"text"`, "true"} {
			_, problems, _ := bookfile.Decode("x", []byte(head+key+" = "+bad+"\n"))
			if !named(problems, bookfile.WrongType, line, path) {
				t.Errorf("%s = %s is not named; got\n%s", path, bad, lines(problems, nil))
			}
		}
		if f.Need == book.Required {
			_, problems, _ := bookfile.Decode("x", []byte("format = 1\n"+head))
			want := 2
			if !nested {
				want = 1
			}
			if !named(problems, book.Missing, want, path) {
				t.Errorf("%s left out is not named; got\n%s", path, lines(problems, nil))
			}
		}
	}
}

func cutLast(path string) (parent, key string, nested bool) {
	i := strings.LastIndexByte(path, '.')
	if i < 0 {
		return "", path, false
	}
	return path[:i], path[i+1:], true
}

// decodeLine replaces a piece of one line of the file, first occurrence, and decodes.
func decodeLine(full string, line int, old, new string) []bookfile.Problem {
	all := strings.Split(full, "\n")
	all[line-1] = strings.Replace(all[line-1], old, new, 1)
	_, problems, _ := bookfile.Decode("full.toml", []byte(strings.Join(all, "\n")))
	return problems
}

// named reports whether an error of the kind stands at the line and the field,
// or at a part of the field.
func named(problems []bookfile.Problem, code string, line int, field string) bool {
	for _, p := range problems {
		rest, ok := strings.CutPrefix(p.Field, field)
		if ok && (rest == "" || rest[0] == '[') && p.Line == line && p.Code == code && p.Severity == book.Error {
			return true
		}
	}
	return false
}

func short(s string) string {
	if len(s) > 40 {
		return s[:40] + "…"
	}
	return s
}
