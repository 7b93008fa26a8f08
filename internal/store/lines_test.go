package store_test

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/store"
)

// null is a sink that writes the entries out again.
type null struct{ out *store.LineWriter }

func (n null) Act(a store.Act) error                          { n.out.Act(a); return nil }
func (n null) Revision(r store.Revision, _ []store.Ref) error { n.out.Revision(r); return nil }
func (n null) Attachment(sum string, data []byte) error       { n.out.Attachment(sum, data); return nil }
func (n null) Reading(k reading.Kept) error                   { n.out.Reading(k); return nil }
func (n null) Settle(store.ActBody) error                     { return nil }
func (n null) Lines(lines []demand.Line) error                { return nil }
func readAll(text []byte, buf *bytes.Buffer) (*store.State, error) {
	return store.ReadLines(bytes.NewReader(text), null{store.NewLineWriter(buf)})
}

// TestReadLines_anyByte changes single bytes of a committed export: the line is
// named, whatever the byte, except where the book itself comes out the same.
func TestReadLines_anyByte(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("sqlite/testdata/schema-v1.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var whole bytes.Buffer
	if _, err := readAll(text, &whole); err != nil {
		t.Fatalf("unspoiled: %v", err)
	}
	rnd := rand.New(rand.NewPCG(3, 4))
	refused := 0
	for range 300 {
		at := rnd.IntN(len(text))
		bad := bytes.Clone(text)
		bad[at] ^= 1 << rnd.IntN(8)
		start := bytes.LastIndexByte(text[:at], '\n') + 1
		if bytes.HasPrefix(text[start:], []byte(`{"line":"to_make"`)) && bytes.Contains(text[start:at], []byte(`"for":"`)) {
			continue // whom a line is for is kept outside the chain, on purpose
		}
		if text[at] == '\n' {
			continue // two lines in one: either number will do, and TestReadLines_order has it
		}
		var buf bytes.Buffer
		_, err := readAll(bad, &buf)
		if err == nil {
			// JSON takes either case in a member's name, and space between tokens.
			if !bytes.Equal(buf.Bytes(), whole.Bytes()) {
				t.Fatalf("byte %d, %q for %q: taken in, and another book", at, bad[at], text[at])
			}
			continue
		}
		refused++
		f, ok := err.(*fault.Error)
		want := "line " + strconv.Itoa(1+bytes.Count(text[:at], []byte("\n")))
		if !ok || f.Kind != fault.KindInvalid || f.Field != want {
			t.Fatalf("byte %d, %q for %q: %v, want an invalid %s", at, bad[at], text[at], err, want)
		}
	}
	if refused < 250 {
		t.Errorf("only %d of 300 spoiled bytes were refused", refused)
	}
}

// TestReadLines_order takes lines where they cannot stand.
func TestReadLines_order(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("sqlite/testdata/schema-v1.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	last := len(lines)
	for _, c := range []struct {
		name  string
		lines []string
		want  int
	}{
		{"nothing", nil, 1},
		{"no start", lines[1:], 1},
		{"an act first", lines[1:2], 1},
		{"two starts", append([]string{lines[0]}, lines...), 2},
		{"a joined line", append([]string{lines[0] + lines[1]}, lines[2:]...), 1},
		{"two ends", append(lines[:last:last], lines[last-1]), last + 1},
		{"an act after the end", append(lines[:last:last], lines[1]), last + 1},
		{"no acts", []string{lines[0], `{"line":"book","name":"","time_zone":"","units":"","currency":"","market":""}`,
			`{"line":"end","acts":0,"revisions":0,"hash":"` + store.FirstHash + `"}`}, 3},
		{"another format", []string{`{"line":"start","format":2}`}, 1},
		{"a list", []string{`["start"]`}, 1},
		{"a kind of line not known", []string{lines[0], `{"line":"party"}`}, 2},
	} {
		_, err := readAll([]byte(strings.Join(c.lines, "\n")), &bytes.Buffer{})
		f, ok := err.(*fault.Error)
		if !ok || f.Kind != fault.KindInvalid || f.Field != "line "+strconv.Itoa(c.want) {
			t.Errorf("%s: %v, want an invalid line %d", c.name, err, c.want)
		}
	}
}

func FuzzReadLines(f *testing.F) {
	text, err := os.ReadFile("sqlite/testdata/schema-v1.jsonl")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add(text[:len(text)/3])
	f.Add([]byte(`{"line":"start","format":1}` + "\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if _, err := readAll(text, &bytes.Buffer{}); err != nil && fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%v", err)
		}
	})
}

// TestReadLines_everyMember changes each member of each line in turn.
func TestReadLines_everyMember(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("sqlite/testdata/schema-v1.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
	members := map[string]bool{}
	for i, line := range lines {
		var m map[string]json.RawMessage
		if err := json.Unmarshal([]byte(line), &m); err != nil {
			t.Fatal(err)
		}
		kind := string(m["line"])
		for name, was := range m {
			if kind == `"to_make"` && name == "for" {
				continue // kept outside the chain, on purpose
			}
			members[kind+name] = true
			for _, now := range others(string(was)) {
				m[name] = json.RawMessage(now)
				spoiled, err := json.Marshal(m)
				if err != nil {
					t.Fatal(err)
				}
				all := slices.Concat(lines[:i], []string{string(spoiled)}, lines[i+1:])
				_, err = readAll([]byte(strings.Join(all, "\n")), &bytes.Buffer{})
				if f, ok := err.(*fault.Error); !ok || f.Kind != fault.KindInvalid || f.Field != "line "+strconv.Itoa(i+1) {
					t.Errorf("line %d, %s %s: %v", i+1, name, now, err)
				}
			}
			m[name] = was
		}
		m["more"] = json.RawMessage("1")
		spoiled, _ := json.Marshal(m)
		all := slices.Concat(lines[:i], []string{string(spoiled)}, lines[i+1:])
		if _, err := readAll([]byte(strings.Join(all, "\n")), &bytes.Buffer{}); fault.KindOf(err) != fault.KindInvalid || err == nil {
			t.Errorf("line %d, one member more: %v", i+1, err)
		}
	}
	if len(members) != 2+14+8+6+5+4 {
		t.Errorf("%d kinds of member changed: %v", len(members), members)
	}
}

// others returns values of the same type as a JSON value, and of another one.
func others(was string) []string {
	switch {
	case was == "true", was == "false":
		return []string{map[string]string{"true": "false", "false": "true"}[was], `"x"`}
	case was[0] == '"':
		return []string{was[:len(was)-1] + `x"`, "7"}
	case was[0] == '{' && was != "{}":
		return []string{"{}", strings.Replace(was, `":`, `x":`, 1), "[]"}
	case was[0] == '[' || was == "{}":
		return []string{`"x"`}
	}
	n, err := strconv.ParseInt(was, 10, 64)
	if err != nil {
		return []string{"null"}
	}
	return []string{strconv.FormatInt(n+1, 10), strconv.FormatInt(n-1, 10), `"x"`}
}
