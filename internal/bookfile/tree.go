package bookfile

import (
	"errors"
	"fmt"
	"regexp"
	"sort"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"slabside/internal/fault"
)

// node is a value of the file with its place.
type node struct {
	kind   unstable.Kind // Table, ArrayTable, Array, InlineTable or a scalar
	text   string        // a scalar's decoded text
	from   int           // where it begins: a value, or the header of a table
	to     int           // where a scalar ends
	keys   []entry       // of a table, in the file's order
	index  map[string]int
	items  []*node // of an array
	header bool    // a table that has its own [header]
}

// entry is a key of a table with its place.
type entry struct {
	name string
	at   int
	val  *node
}

func (n *node) table() bool { return n.kind == unstable.Table || n.kind == unstable.InlineTable }
func (n *node) array() bool { return n.kind == unstable.ArrayTable || n.kind == unstable.Array }

func (n *node) get(key string) (entry, bool) {
	if n == nil {
		return entry{}, false
	}
	i, ok := n.index[key]
	if !ok {
		return entry{}, false
	}
	return n.keys[i], true
}

func (n *node) put(key string, at int, val *node) {
	if n.index == nil {
		n.index = map[string]int{}
	}
	n.index[key] = len(n.keys)
	n.keys = append(n.keys, entry{key, at, val})
}

// span is a top-level expression of the file.
type span struct {
	from, to int
	path     []string // of a header; of a key-value its own keys alone
	header   bool
}

// mostDepth is how deep values may nest; the format itself needs four.
const mostDepth = 16

// tree builds the nodes of a file from the parser's expressions. Where the text
// is broken it notes the problem and goes on at the next line that can begin an
// expression, so that one slip does not hide the others.
type tree struct {
	data  []byte
	lines []int // offset of every line's first byte
	root  *node
	cur   *node
	lost  bool // the last header could not be read: skip its keys
	spans []span
	fail  func(at int, text, hint string)
	full  func() bool // enough problems
}

func newTree(data []byte) *tree {
	t := &tree{data: data, lines: []int{0}, root: &node{kind: unstable.Table, header: true}}
	for i, c := range data {
		if c == '\n' {
			t.lines = append(t.lines, i+1)
		}
	}
	t.cur = t.root
	return t
}

// place returns the line and the column of an offset, both from 1.
func (t *tree) place(at int) (line, col int) {
	i := sort.SearchInts(t.lines, at+1) - 1
	return i + 1, utf8.RuneCount(t.data[t.lines[i]:at]) + 1
}

// beginsExpression tells lines that can begin an expression from the inside of
// a broken array.
var beginsExpression = regexp.MustCompile(`^[ \t]*(\[|"[^"]*"[ \t]*[=.]|[A-Za-z0-9_-]+[ \t]*[=.])`)

// parse reads the whole file and reports whether it is sound TOML.
func (t *tree) parse() bool {
	sound := true
	note := t.fail
	t.fail = func(at int, text, hint string) { sound = false; note(at, text, hint) }
	from := 0
	for from < len(t.data) && !t.full() {
		end, perr := t.run(from)
		if perr == nil {
			break
		}
		from = t.broken(end, perr)
	}
	if sound {
		t.secondOpinion()
	}
	return sound
}

// run parses from an offset until the end or the first error; end is where the
// last good expression ended.
func (t *tree) run(from int) (end int, perr *failure) {
	var p unstable.Parser
	p.Reset(t.data[from:])
	end = from
	for p.NextExpression() {
		if t.full() {
			return end, nil
		}
		e := p.Expression()
		switch e.Kind {
		case unstable.KeyValue:
			s := span{from: from + int(e.Raw.Offset), to: from + int(e.Raw.Offset+e.Raw.Length)}
			s.path = keyNames(e)
			t.spans = append(t.spans, s)
			end = s.to
			if !t.lost {
				t.keyValue(t.cur, e, from, 0)
			}
		case unstable.Table, unstable.ArrayTable:
			keys := keyNodes(e)
			last := keys[len(keys)-1]
			at := from + int(keys[0].Raw.Offset)
			end = from + int(last.Raw.Offset+last.Raw.Length)
			line, _ := t.place(at)
			t.spans = append(t.spans, span{from: t.lines[line-1], to: t.lineEnd(end), path: keyNames(e), header: true})
			t.heading(e.Kind, keys, at)
		}
	}
	if err := p.Error(); err != nil {
		f := &failure{text: err.Error(), at: end}
		var pe *unstable.ParserError
		if errors.As(err, &pe) {
			f.text = pe.Message
			f.at = from + int(p.Range(pe.Highlight).Offset)
		}
		return end, f
	}
	return end, nil
}

// failure is where and why the parser stopped.
type failure struct {
	at   int
	text string
}

// broken notes a syntax error and returns where to go on.
func (t *tree) broken(end int, f *failure) int {
	begin := t.nextText(end)
	hint := "text and amounts stand between quotes, such as \"12 kg\"; lists between [ and ]"
	line, _ := t.place(min(f.at, len(t.data)))
	if first, _ := t.place(begin); first < line {
		hint = fmt.Sprintf("what is broken begins on line %d; %s", first, hint)
	}
	t.fail(min(f.at, len(t.data)-1), "this is not TOML: "+f.text, hint)
	if begin < len(t.data) && t.data[begin] == '[' {
		t.lost = true
	}
	for ; line < len(t.lines); line++ { // lines[line] is the line after the broken one
		if rest := t.data[t.lines[line]:t.lineEnd(t.lines[line])]; beginsExpression.Match(rest) {
			return t.lines[line]
		}
	}
	return len(t.data)
}

// nextText returns the first offset from at on that is neither blank nor comment.
func (t *tree) nextText(at int) int {
	for at < len(t.data) {
		switch c := t.data[at]; {
		case c == '#':
			at = t.lineEnd(at)
		case c == ' ' || c == '\t' || c == '\r' || c == '\n':
			at++
		default:
			return at
		}
	}
	return at
}

// lineEnd returns the offset of the line break at or after at, or the end.
func (t *tree) lineEnd(at int) int {
	for at < len(t.data) && t.data[at] != '\n' {
		at++
	}
	return at
}

func keyNodes(e *unstable.Node) []*unstable.Node {
	var out []*unstable.Node
	for it := e.Key(); it.Next(); {
		out = append(out, it.Node())
	}
	return out
}

func keyNames(e *unstable.Node) []string {
	var out []string
	for _, k := range keyNodes(e) {
		out = append(out, string(k.Data))
	}
	return out
}

// heading opens the table of a [header] or [[header]].
func (t *tree) heading(kind unstable.Kind, keys []*unstable.Node, at int) {
	t.lost = false
	n := t.root
	for i, k := range keys {
		name := string(k.Data)
		e, ok := n.get(name)
		last := i == len(keys)-1
		switch {
		case !ok:
			e.val = &node{kind: unstable.Table, from: at}
			if last && kind == unstable.ArrayTable {
				e.val.kind = unstable.ArrayTable
			}
			n.put(name, at, e.val)
		case e.val.kind != unstable.Table && e.val.kind != unstable.ArrayTable:
			t.twice(at, e, "[header]")
			t.lost = true
			return
		case last && e.val.kind != kind:
			line, _ := t.place(e.at)
			t.fail(at, fmt.Sprintf("%q was written %s on line %d", fault.Clip(name, fault.Echo), brackets(e.val.kind, name), line), "write "+brackets(e.val.kind, name)+" here as well")
			t.lost = true
			return
		case last && kind == unstable.Table && e.val.header:
			t.twice(at, e, "[header]")
		}
		n = e.val
		if n.kind == unstable.ArrayTable {
			if last {
				n.items = append(n.items, &node{kind: unstable.Table, from: at, header: true})
			}
			n = n.items[len(n.items)-1]
		}
		if last {
			n.header, n.from = true, at
		}
	}
	t.cur = n
}

func brackets(k unstable.Kind, name string) string {
	if k == unstable.ArrayTable {
		return "[[" + fault.Clip(name, fault.Echo) + "]]"
	}
	return "[" + fault.Clip(name, fault.Echo) + "]"
}

// twice notes a key or table that is written a second time.
func (t *tree) twice(at int, first entry, what string) {
	line, _ := t.place(first.at)
	t.fail(at, fmt.Sprintf("the %s %q is written twice, first on line %d", what, fault.Clip(first.name, fault.Echo), line), "keep one of them")
}

// keyValue puts a key with its value into a table. Offset is where the parser's
// slice begins in the file.
func (t *tree) keyValue(in *node, e *unstable.Node, offset, depth int) {
	keys := keyNodes(e)
	for _, k := range keys[:len(keys)-1] {
		name, at := string(k.Data), offset+int(k.Raw.Offset)
		sub, ok := in.get(name)
		switch {
		case !ok:
			sub.val = &node{kind: unstable.Table, from: at}
			in.put(name, at, sub.val)
		case sub.val.kind != unstable.Table || sub.val.header:
			t.twice(at, sub, "key")
			return
		}
		in = sub.val
	}
	last := keys[len(keys)-1]
	name, at := string(last.Data), offset+int(last.Raw.Offset)
	if first, dup := in.get(name); dup {
		t.twice(at, first, "key")
		return
	}
	in.put(name, at, t.value(e.Value(), offset, at, depth))
}

// value converts a value; at is where to point if the parser does not say.
func (t *tree) value(v *unstable.Node, offset, at, depth int) *node {
	n := &node{kind: v.Kind, from: at, to: at, text: string(v.Data)}
	if v.Raw.Length > 0 {
		n.from = offset + int(v.Raw.Offset)
		n.to = n.from + int(v.Raw.Length)
	}
	if depth > mostDepth {
		t.fail(at, "values are nested too deep", fmt.Sprintf("at most %d deep", mostDepth))
		return n
	}
	switch v.Kind {
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			if c := it.Node(); c.Kind != unstable.Comment {
				n.items = append(n.items, t.value(c, offset, at, depth+1))
			}
		}
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			if c := it.Node(); c.Kind == unstable.KeyValue {
				t.keyValue(n, c, offset, depth+1)
			}
		}
	}
	return n
}

// secondOpinion lets the library's own decoder judge what the tree took for
// sound, so that no rule of TOML is forgotten here.
func (t *tree) secondOpinion() {
	var all map[string]any
	err := toml.Unmarshal(t.data, &all)
	if err == nil {
		return
	}
	at := 0
	var de *toml.DecodeError
	if errors.As(err, &de) {
		row, col := de.Position()
		if row >= 1 && row <= len(t.lines) {
			at = min(t.lines[row-1]+max(col-1, 0), max(len(t.data)-1, 0))
		}
	}
	t.fail(at, "this is not TOML: "+fault.Clip(strings.TrimPrefix(err.Error(), "toml: "), 200), "")
}
