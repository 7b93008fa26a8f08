package bookfile

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"slabside/internal/book"
	"slabside/internal/fault"
)

// Most is the largest shop-book file that is read, in bytes.
const Most = 4 << 20

// mostProblems is how many problems of a file are reported.
const mostProblems = 1000

var utf8BOM = []byte("\xef\xbb\xbf")

// Decode reads a shop-book file. It returns every problem it finds, in the
// order of the file, and the book as far as it could be read; the error is a
// fault.Invalid that names the first problem with its place, nil if there are
// only cautions. Name stands before the line numbers.
func Decode(name string, data []byte) (book.Book, []Problem, error) {
	b, out := decode(name, data)
	return b, out, Err(out)
}

func decode(name string, data []byte) (book.Book, []Problem) {
	d := &decoder{name: name, fields: map[string]book.Field{}, at: map[string]int{},
		failed: map[string]bool{}, above: map[string]bool{}, lists: map[string]bool{}}
	for _, f := range book.Schema() {
		d.fields[f.Path] = f
	}
	data = bytes.TrimPrefix(data, utf8BOM) // some editors put one; it means nothing
	d.tree = newTree(data)
	var b book.Book
	if !d.readable(data) {
		return b, d.out
	}
	d.tree.full = func() bool { return len(d.out) >= mostProblems }
	d.tree.fail = func(at int, text, hint string) { d.note(at, "", Syntax, text, hint) }
	d.broken = !d.tree.parse()
	d.table(reflect.ValueOf(&b).Elem(), d.tree.root, "", "", 0)
	for _, p := range book.Validate(&b) {
		d.merge(p)
	}
	out := order(d.out)
	if len(out) > mostProblems {
		last := out[mostProblems-1]
		last.Field, last.Code, last.Text, last.Hint = "", BadFile, "and more; the rest is not shown", ""
		out = append(out[:mostProblems-1], last)
	}
	for i, p := range out {
		out[i].Place = book.Place(&b, p.Field)
	}
	return b, out
}

// decoder fills a book from a tree and notes what does not fit.
type decoder struct {
	name   string
	tree   *tree
	fields map[string]book.Field
	at     map[string]int  // offset of every field that stands in the file
	failed map[string]bool // fields whose value is not to be trusted
	above  map[string]bool // every field around one of those
	lists  map[string]bool // lists of which an id or a whole entry failed
	broken bool            // the file is not sound TOML, so what is missing proves nothing
	out    []Problem
}

func (d *decoder) note(at int, field, code, text, hint string) {
	if len(d.out) >= 20*mostProblems {
		return // more are neither read nor sorted by anybody
	}
	line, col := d.tree.place(max(min(at, len(d.tree.data)), 0))
	d.out = append(d.out, Problem{File: d.name, Line: line, Col: col, Field: field, Code: code, Text: text, Hint: hint, Severity: book.Error})
}

// fail notes a problem of a field and remembers that its value is not to be trusted.
func (d *decoder) fail(at int, field, code, text, hint string) {
	d.failed[field] = true
	for f := outer(field); f != ""; f = outer(f) {
		d.above[f] = true
	}
	switch list, rest, _ := strings.Cut(field, "["); {
	case rest == "", strings.HasSuffix(rest, "]") && !strings.Contains(rest, "."), strings.HasSuffix(rest, "].id") && strings.Count(rest, ".") == 1:
		d.lists[list] = true
	}
	d.note(at, field, code, text, hint)
}

// readable checks what a file must be before it can be parsed.
func (d *decoder) readable(data []byte) bool {
	switch {
	case len(data) > Most:
		d.note(0, "", BadFile, fmt.Sprintf("the file is larger than %d MB", Most>>20), "a shop book of one shop is far smaller")
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		d.note(0, "", BadFile, "the file is UTF-16", "save it as UTF-8")
	case bytes.HasPrefix(data, []byte("SQLite format 3\x00")):
		d.note(0, "", BadFile, "the file is a database, not a shop-book file", "give it to --book under a name that ends in .db")
	case len(bytes.TrimSpace(data)) == 0:
		d.note(0, "", BadFile, "the file is empty", "start from the demo shop book")
	case !utf8.Valid(data):
		at := 0
		for at < len(data) {
			r, n := utf8.DecodeRune(data[at:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		d.note(at, "", BadFile, "a letter here is not UTF-8", "save the file as UTF-8")
	default:
		return true
	}
	return false
}

// merge adds a problem of the book with its place, unless it only follows from
// one that is noted already.
func (d *decoder) merge(p book.Problem) {
	if p.Severity == book.Error && d.follows(p) {
		return
	}
	line, col := d.tree.place(d.offset(p.Field))
	d.out = append(d.out, Problem{File: d.name, Line: line, Col: col, Field: p.Field, Code: p.Code, Text: p.Text, Hint: p.Hint, Severity: p.Severity})
}

func (d *decoder) follows(p book.Problem) bool {
	if d.broken {
		if _, stands := d.at[p.Field]; !stands {
			return true
		}
		switch p.Code {
		case book.Missing, book.Unknown, book.OneOf, book.Shares, book.NoMeans, book.Nobody:
			return true
		}
	}
	if d.above[p.Field] {
		return true
	}
	for f := p.Field; f != ""; f = outer(f) {
		if d.failed[f] {
			return true
		}
	}
	if p.Code != book.Unknown {
		return false
	}
	refs := d.fields[book.Pattern(p.Field)].Refs
	return d.lists[refs] || refs == "portion" && d.lists["recipe"]
}

// outer returns the field around a field: "recipe[2].id" gives "recipe[2]", that
// gives "recipe", that gives "".
func outer(field string) string { return field[:max(strings.LastIndexAny(field, ".["), 0)] }

// offset returns where a field stands, or else the nearest table around it.
func (d *decoder) offset(field string) int {
	for field != "" {
		if at, ok := d.at[field]; ok {
			return at
		}
		field = outer(field)
	}
	return 0
}

// table fills a struct from a table. From is where to point for what is missing.
func (d *decoder) table(v reflect.Value, n *node, pattern, path string, from int) {
	var keys []string
	for i := range v.NumField() {
		key, _ := book.Key(v.Type().Field(i))
		keys = append(keys, key)
		f := d.fields[join(pattern, key)]
		e, ok := n.get(key)
		if !ok {
			d.absent(v.Field(i), f, join(path, key), from)
			continue
		}
		d.at[join(path, key)] = e.at
		d.value(v.Field(i), e.val, f, join(path, key))
	}
	for _, e := range n.keys {
		if !slices.Contains(keys, e.name) {
			d.unknownKey(e, path, keys)
		}
	}
}

func (d *decoder) unknownKey(e entry, path string, keys []string) {
	hint := "keys here are " + strings.Join(keys, ", ")
	if n := book.Nearest(e.name, keys); n != "" {
		hint = fmt.Sprintf("did you mean %s?", n)
	}
	where := "the file's head"
	if path != "" {
		where = book.Pattern(path)
	}
	d.note(e.at, join(path, fault.Clip(e.name, fault.Echo)), UnknownKey, fmt.Sprintf("no key %q is known in %s", fault.Clip(e.name, fault.Echo), where), hint)
}

// absent deals with a key that is not in the file.
func (d *decoder) absent(v reflect.Value, f book.Field, path string, from int) {
	switch f.Need {
	case book.Standing:
		d.stand(v, f)
	case book.Optional:
		if f.Kind == book.Table && v.Kind() == reflect.Struct {
			for i := range v.NumField() {
				key, _ := book.Key(v.Type().Field(i))
				if sub := d.fields[join(f.Path, key)]; sub.Need == book.Standing {
					d.stand(v.Field(i), sub)
				}
			}
		}
	case book.Required:
		if !d.broken {
			d.fail(from, path, book.Missing, "is missing: "+f.Text, "")
		}
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
