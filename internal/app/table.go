package app

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"slabside/internal/fault"
)

// The limits of a table; a file beyond them is refused whole.
const (
	mostOrders  = 4 << 20 // bytes
	mostRows    = 5000
	mostColumns = 60
	mostCell    = 2000 // bytes of one cell
)

// Table is a file of cells with a header line. Every cell is text: a formula is
// its letters and is never worked out.
type Table struct {
	Name    string
	Columns []string   // the header cells, one space between words
	Rows    []TableRow // without those that are blank
	Guessed bool       // the bytes were no UTF-8 and were read as Windows-1252
	Text    string     // the whole file as UTF-8
}

// TableRow is one record and the line of the file it begins in, from 1.
type TableRow struct {
	Line  int
	Cells []string // one space between words; as many as there are columns, unless the record holds more
}

// cell returns a cell, empty for column -1.
func (r TableRow) cell(col int) string {
	if col < 0 || col >= len(r.Cells) {
		return ""
	}
	return r.Cells[col]
}

// ReadTable reads comma, semicolon or tab separated text (RFC 4180 with any of
// the three) up to 4 MB, 5000 rows and 60 columns. It takes UTF-8, with or
// without its mark, and Windows-1252. Name stands in the faults, all Invalid.
func ReadTable(name string, r io.Reader) (*Table, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostOrders+1))
	if err != nil {
		return nil, fault.Internal(err, "%s could not be read", name)
	}
	if len(data) > mostOrders {
		return nil, fault.Invalid("%s is larger than %d MB", name, mostOrders>>20).WithHint("split it; nothing was read")
	}
	t := &Table{Name: name}
	if t.Text, t.Guessed, err = decode(name, data); err != nil {
		return nil, err
	}
	sep := separator(t.Text)
	cr := cells(t.Text, sep)
	head, err := cr.Read()
	if errors.Is(err, io.EOF) {
		return nil, fault.Invalid("%s:1: no header line", name).WithHint("the first line names the columns: %s", strings.Join(orderColumns[:], ","))
	}
	if err != nil {
		return nil, broken(name, err)
	}
	t.Columns = tidy(head)
	if len(t.Columns) > mostColumns {
		return nil, fault.Invalid("%s has %d columns; at most %d are read", name, len(t.Columns), mostColumns).WithHint("leave out the columns that are not needed")
	}
	for {
		rec, err := cr.Read()
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		if err != nil {
			return nil, broken(name, err)
		}
		line, _ := cr.FieldPos(0)
		if i := slices.IndexFunc(rec, func(c string) bool { return len(c) > mostCell }); i >= 0 {
			return nil, fault.Invalid("%s:%d: a cell is longer than %d letters", name, line, mostCell).WithHint("is a quotation mark missing before it?")
		}
		row := TableRow{Line: line, Cells: tidy(rec)}
		if len(row.Cells) == 0 {
			continue
		}
		for len(row.Cells) < len(t.Columns) {
			row.Cells = append(row.Cells, "")
		}
		if t.Rows = append(t.Rows, row); len(t.Rows) > mostRows {
			return nil, fault.Invalid("%s has more than %d rows", name, mostRows).WithHint("split it; nothing was read")
		}
	}
}

// decode turns the bytes of a file into text.
func decode(name string, data []byte) (text string, guessed bool, err error) {
	wide := bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff})
	switch data = bytes.TrimLeft(data, "\ufeff"); {
	case wide || bytes.IndexByte(data, 0) >= 0:
		return "", false, fault.Invalid("%s is not plain text", name).WithHint("save it as CSV in UTF-8, not as a workbook and not as Unicode text (UTF-16)")
	case utf8.Valid(data):
		text = string(data)
	default:
		// The five bytes that Windows-1252 leaves open come out as the replacement
		// letter (WHATWG Encoding, index windows-1252, fills them with controls).
		if data, err = charmap.Windows1252.NewDecoder().Bytes(data); err != nil || bytes.ContainsRune(data, utf8.RuneError) {
			return "", false, fault.Invalid("%s is neither UTF-8 nor Windows-1252", name).WithHint("save it as CSV in UTF-8")
		}
		text, guessed = string(data), true
	}
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	return text, guessed, nil
}

// separator is the one of the three that makes most columns of the header line;
// the comma where they are even.
func separator(text string) rune {
	best, most := ',', 1
	for _, sep := range [...]rune{',', ';', '\t'} {
		if head, err := cells(text, sep).Read(); err == nil && len(head) > most {
			best, most = sep, len(head)
		}
	}
	return best
}

func cells(text string, sep rune) *csv.Reader {
	cr := csv.NewReader(strings.NewReader(text))
	cr.Comma = sep
	cr.FieldsPerRecord = -1
	cr.TrimLeadingSpace = sep != '\t' // it would swallow empty cells between tabs
	return cr
}

// tidy puts one space between the words of each cell, so that a quoted line
// break is a space, and drops the blank cells at the end.
func tidy(rec []string) []string {
	out := make([]string, len(rec))
	n := 0
	for i, c := range rec {
		if out[i] = strings.Join(strings.Fields(c), " "); out[i] != "" {
			n = i + 1
		}
	}
	return out[:n]
}

// broken says what a table's syntax lacks.
func broken(name string, err error) error {
	var pe *csv.ParseError
	if !errors.As(err, &pe) {
		return fault.Internal(err, "%s could not be read", name)
	}
	return fault.Invalid("a quotation mark has no partner or stands inside a cell").At(fmt.Sprintf("%s:%d", name, pe.StartLine)).
		WithHint("put the whole cell in quotation marks and write those inside it twice")
}
