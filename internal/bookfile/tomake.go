package bookfile

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"

	"slabside/internal/book"
	"slabside/internal/demand"
)

// toMakeKey is the key of the lines to make in the file.
const toMakeKey = "to_make"

// replaceToMake returns the file's text with other lines to make. The data must
// be sound. The new blocks stand where the first old one stood, or at the end;
// comments between old blocks stay, after the new ones.
func replaceToMake(data []byte, lines []demand.Line) ([]byte, error) {
	bom := []byte(nil)
	if bytes.HasPrefix(data, utf8BOM) {
		bom, data = utf8BOM, data[len(utf8BOM):]
	}
	t := newTree(data)
	t.full = func() bool { return false }
	t.fail = func(int, string, string) {}
	t.parse()
	eol := "\n"
	if bytes.Contains(data, []byte("\r\n")) {
		eol = "\r\n"
	}
	blocks, headed := toMakeBlocks(t)
	if !headed {
		return atEnd(bom, data, blocks, lines, eol)
	}
	var out bytes.Buffer
	out.Write(bom)
	out.Write(data[:blocks[0].from])
	if err := writeLines(&out, lines, eol, false); err != nil {
		return nil, err
	}
	for i, b := range blocks {
		next := len(data)
		if i+1 < len(blocks) {
			next = blocks[i+1].from
		}
		rest := data[b.to:next]
		if i+1 < len(blocks) && len(bytes.TrimSpace(rest)) == 0 {
			continue // nothing but the blank lines between two old blocks
		}
		out.Write(rest)
	}
	return out.Bytes(), nil
}

// atEnd takes out a list written as a key of the head, if there is one, and puts
// the new blocks at the end, since a header would swallow the keys below it.
func atEnd(bom, data []byte, blocks []span, lines []demand.Line, eol string) ([]byte, error) {
	var out bytes.Buffer
	out.Write(bom)
	from := 0
	for _, b := range blocks {
		out.Write(data[from:b.from])
		from = b.to
	}
	out.Write(data[from:])
	if err := writeLines(&out, lines, eol, true); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// toMakeBlocks returns the stretches of text that hold the old lines: from the
// header to the end of the last line with a key, or the line of a key in the head; headed says which of the two.
func toMakeBlocks(t *tree) (blocks []span, headed bool) {
	inside, head := false, true
	for _, s := range t.spans {
		end := t.lineEnd(s.to)
		if end < len(t.data) {
			end++
		}
		switch {
		case s.header:
			inside, head = slices.Equal(s.path, []string{toMakeKey}), false
			if inside {
				headed = true
				blocks = append(blocks, span{from: s.from, to: end})
			}
		case inside:
			blocks[len(blocks)-1].to = end
		case head && s.path[0] == toMakeKey:
			blocks = append(blocks, span{from: s.from, to: end})
		}
	}
	return blocks, headed
}

// writeLines writes the blocks; atEnd says that they follow the whole file.
func writeLines(out *bytes.Buffer, lines []demand.Line, eol string, atEnd bool) error {
	e := &encoder{fields: map[string]book.Field{}}
	for _, f := range book.Schema() {
		e.fields[f.Path] = f
	}
	for i, l := range lines {
		if i > 0 || atEnd {
			fmt.Fprint(&e.buf, "\n")
		}
		fmt.Fprintf(&e.buf, "[[%s]]\n", toMakeKey)
		e.body(toMakeKey, toMakeKey+"[]", reflect.ValueOf(l))
	}
	if e.err != nil {
		return e.err
	}
	if atEnd && e.buf.Len() > 0 && out.Len() > 0 && !bytes.HasSuffix(out.Bytes(), []byte("\n")) {
		out.WriteString(eol)
	}
	out.Write(bytes.ReplaceAll(e.buf.Bytes(), []byte("\n"), []byte(eol)))
	return nil
}
