package reading

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"slabside/internal/fault"
)

// The limits of a logger's file; one beyond them is refused whole.
const (
	MostFile     = 8 << 20 // bytes
	MostRows     = 100_000
	mostColumns  = 60
	mostPreamble = 60 // lines before the first reading
	mostTold     = 20 // problems that are told
)

// Layout says how a logger's file is to be read. What is empty is found in the file.
type Layout struct {
	TimeColumn  string // name or number from 1; two with + between, of the date and of the time of day
	ValueColumn string // name or number from 1
	Unit        Unit
	Dates       DateOrder
	Overlap     Overlap        // which hour is meant where the clocks go back
	Zone        *time.Location // of times that say none; nil is UTC
	Ahead       time.Duration  // how far the logger's clock was ahead
}

// DateOrder says how dates with the year last are meant.
type DateOrder string

// The orders.
const (
	DayFirst   DateOrder = "day-first"
	MonthFirst DateOrder = "month-first"
)

// Overlap says which of the two hours is meant that have the same name where the clocks
// go back.
type Overlap string

// The two.
const (
	First  Overlap = "first"
	Second Overlap = "second"
)

// File is a logger's file as it was read.
type File struct {
	Columns     []string  `json:"columns,omitempty"` // as the header names them; none without a header
	TimeColumn  string    `json:"time_column"`
	ValueColumn string    `json:"value_column"`
	Unit        Unit      `json:"unit"`
	Separator   string    `json:"separator"`
	Comma       bool      `json:"decimal_comma"`
	Zone        string    `json:"zone"`            // that its times were read in
	Dates       DateOrder `json:"dates,omitempty"` // where day and month could change places
	Rows        []Row     `json:"-"`
	Empty       int       `json:"rows_without_value"`
	Notes       []string  `json:"notes"`
}

// Row is one reading of a file.
type Row struct {
	Line int
	At   time.Time
	C    float64
}

// ReadFile reads what a logger wrote: comma, semicolon or tab separated text, in UTF-8
// with or without its mark or in Windows-1252, with or without lines of its own before
// the header, with decimal points or commas. Which column is the time and which the
// value, the unit and the order of day and month are found in the file unless the layout
// says them; where it is not sure, it is a fault that says what to state.
//
// Faults are Invalid, at most 20; each names line and column. Any fault means that
// nothing of the file is to be used.
func ReadFile(name string, data []byte, l Layout) (*File, []*fault.Error) {
	text, err := decode(name, data)
	if err != nil {
		return nil, []*fault.Error{err}
	}
	if l.Zone == nil {
		l.Zone = time.UTC
	}
	var first *fault.Error
	for _, sep := range separators(text) {
		t, err := split(name, text, sep)
		if err == nil {
			var f *File
			var faults []*fault.Error
			if f, faults, err = t.read(l); err == nil {
				return f, faults
			}
		}
		if first == nil || first.Field == "" && err.Field != "" {
			first = err
		}
	}
	return nil, []*fault.Error{first}
}

// separators are those that the text may be separated by, the likeliest first: a comma
// may be a decimal mark as well.
func separators(text string) []rune {
	var out []rune
	for _, sep := range "\t;," {
		if strings.ContainsRune(text, sep) {
			out = append(out, sep)
		}
	}
	if out == nil {
		return []rune{','}
	}
	return out
}

// Text returns a file's bytes as text, by which it can be read again. The fault is Invalid
// for what is no text, and for a file that is too large or empty.
func Text(name string, data []byte) (string, error) {
	text, err := decode(name, data)
	if err != nil {
		return "", err
	}
	return text, nil
}

// decode turns the bytes of a file into text.
func decode(name string, data []byte) (string, *fault.Error) {
	if len(data) > MostFile {
		return "", fault.Invalid("%s is larger than %d MB", name, MostFile>>20).WithHint("split it; nothing was read")
	}
	wide := bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff})
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if wide || bytes.IndexByte(data, 0) >= 0 {
		return "", fault.Invalid("%s is not plain text", name).WithHint("save it as CSV in UTF-8, not as a workbook and not as Unicode text (UTF-16)")
	}
	if !utf8.Valid(data) {
		wide, err := charmap.Windows1252.NewDecoder().Bytes(data)
		if err != nil || bytes.ContainsRune(wide, utf8.RuneError) {
			return "", fault.Invalid("%s is neither UTF-8 nor Windows-1252", name).WithHint("save it as CSV in UTF-8")
		}
		data = wide
	}
	text := string(data)
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	if strings.TrimSpace(text) == "" {
		return "", fault.Invalid("%s is empty", name).WithHint("choose the file that the logger wrote")
	}
	return text, nil
}

// table is a file split into cells.
type table struct {
	name string
	sep  rune
	rows []cells
}

type cells struct {
	line int
	text []string
}

func (c cells) at(i int) string {
	if i < 0 || i >= len(c.text) {
		return ""
	}
	return c.text[i]
}

func split(name, text string, sep rune) (*table, *fault.Error) {
	cr := csv.NewReader(strings.NewReader(text))
	cr.Comma, cr.FieldsPerRecord, cr.LazyQuotes = sep, -1, true
	t := &table{name: name, sep: sep}
	for {
		rec, err := cr.Read()
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		var pe *csv.ParseError
		if errors.As(err, &pe) {
			return nil, fault.Invalid("a quotation mark has no partner").At(fmt.Sprintf("%s:%d", name, pe.StartLine)).WithHint("put the whole cell in quotation marks, or none of it")
		}
		line, _ := cr.FieldPos(0)
		if len(rec) > mostColumns {
			return nil, fault.Invalid("more than %d columns", mostColumns).At(fmt.Sprintf("%s:%d", name, line)).WithHint("leave out the columns that are not needed")
		}
		blank := true
		for i, c := range rec {
			rec[i] = strings.Join(strings.Fields(c), " ")
			blank = blank && rec[i] == ""
		}
		if blank {
			continue
		}
		if t.rows = append(t.rows, cells{line, rec}); len(t.rows) > MostRows+mostPreamble {
			return nil, fault.Invalid("%s has more than %d rows", name, MostRows).WithHint("split it; nothing was read")
		}
	}
}

// columns are where the time and the value of a row stand.
type columns struct {
	date, clock int // clock −1: the whole time stands in one cell; date −1: there is no time
	value       int
	body        int      // the first row with a reading
	header      []string // nil: none
}

// read makes readings of the rows. An error says that this is not how the file is
// separated; faults are of single rows.
func (t *table) read(l Layout) (*File, []*fault.Error, *fault.Error) {
	c, err := t.find(l)
	if err != nil {
		return nil, nil, err
	}
	f := &File{Columns: c.header, Separator: string(t.sep), Zone: l.Zone.String(), Notes: []string{}, ValueColumn: c.name(c.value)}
	if f.TimeColumn = c.name(c.date); c.clock >= 0 {
		f.TimeColumn += "+" + c.name(c.clock)
	}
	if f.Unit, err = t.unit(c, l); err != nil {
		return nil, []*fault.Error{err}, nil
	}
	body := t.rows[c.body:]
	order, err := t.order(body, c, l)
	if err != nil {
		return nil, []*fault.Error{err}, nil
	}
	f.Dates = order
	clock := newClock(l, order)
	var faults []*fault.Error
	backwards := newestFirst(body, c, order)
	if backwards {
		body = slices.Clone(body)
		slices.Reverse(body)
		f.Notes = append(f.Notes, "the newest reading stands first; they were read from the last line up")
	}
	clock.later = func(i int) (string, bool) { return stampOf(body, c, i) }
	for i, row := range body {
		fail := func(column int, err *fault.Error) {
			where := fmt.Sprintf("%s:%d", t.name, row.line)
			if column >= 0 {
				where += ", column " + c.name(column)
			}
			faults = append(faults, err.At(where))
		}
		if n := len(c.header); n > 0 && len(row.text) > n && strings.Join(row.text[n:], "") != "" {
			fail(-1, fault.Invalid("the line has %d cells and the header %d", len(row.text), n).
				WithHint("a comma may stand for the decimal point here: save the file with semicolons between the cells"))
			continue
		}
		if row.at(c.value) == "" {
			f.Empty++
			continue
		}
		v, comma, err := number(row.at(c.value), f.Unit)
		if err != nil {
			fail(c.value, err)
			continue
		}
		f.Comma = f.Comma || comma
		at, err := clock.read(row.at(c.date), row.at(c.clock), i)
		if err != nil {
			fail(c.date, err)
			continue
		}
		f.Rows = append(f.Rows, Row{row.line, at.Add(-l.Ahead), f.Unit.ToC(v)})
	}
	f.Notes = append(f.Notes, clock.notes...)
	if clock.stated > 0 {
		f.Zone = "as the file says"
	}
	if clock.stated > 0 && clock.stated < len(f.Rows) {
		f.Notes = append(f.Notes, fmt.Sprintf("%d times of %d say their zone, the others were read in %s", clock.stated, len(f.Rows), l.Zone))
	}
	if len(faults) > mostTold {
		more := len(faults) - mostTold
		faults = append(faults[:mostTold], fault.Invalid("%d more lines are wrong", more).WithHint("is it the right column, and the right unit?"))
	}
	if len(faults) == 0 && len(f.Rows) == 0 {
		faults = []*fault.Error{fault.Invalid("there is no reading in %s", t.name).WithHint("choose another file, or say which column holds the value")}
	}
	return f, faults, nil
}

// name is what a column is called in faults and in a preview.
func (c columns) name(i int) string {
	if i >= 0 && i < len(c.header) && c.header[i] != "" {
		return c.header[i]
	}
	return strconv.Itoa(i + 1)
}

// number reads a value: an optional sign, decimal point or comma, and the unit after it.
func number(text string, unit Unit) (v float64, comma bool, err *fault.Error) {
	bare := strings.TrimSpace(strings.ReplaceAll(text, "\u2212", "-"))
	if n := len(bare); n > 0 && strings.ContainsAny(bare[n-1:], "CcFf") {
		said := Celsius
		if strings.ContainsAny(bare[n-1:], "Ff") {
			said = Fahrenheit
		}
		if said != unit {
			return 0, false, fault.Invalid("%q is in %s and the readings are in %s", fault.Clip(text, fault.Echo), said, unit).WithHint("state the unit the thermometer showed")
		}
		bare = strings.TrimSpace(strings.TrimRight(strings.TrimSpace(bare[:n-1]), "°º"))
	}
	if comma = strings.Contains(bare, ","); comma && !strings.Contains(bare, ".") && strings.Count(bare, ",") == 1 {
		bare = strings.Replace(bare, ",", ".", 1)
	}
	if !plainNumber(bare) {
		return 0, false, fault.Invalid("%q is no temperature", fault.Clip(text, fault.Echo)).WithHint("write a number such as 151.2, or leave the cell empty where nothing was measured")
	}
	v, e := strconv.ParseFloat(bare, 64)
	if e != nil {
		return 0, false, fault.Invalid("%q is no temperature", fault.Clip(text, fault.Echo))
	}
	return v, comma, nil
}

// plainNumber reports whether a text is digits with at most a sign and a point: no
// hexadecimal, no infinity, no power of ten.
func plainNumber(s string) bool {
	s = strings.TrimLeft(s, "+-")
	digits := strings.Replace(s, ".", "", 1)
	return digits != "" && len(s) < 30 && strings.Trim(digits, "0123456789") == ""
}

// ParseValue reads a value with or without its unit, "151.2" or "304 °F"; without it is in
// °C. The fault is Invalid at "value".
func ParseValue(text string) (float64, Unit, error) {
	v, _, err := number(text, Celsius)
	if err == nil {
		return v, Celsius, nil
	}
	if v, _, other := number(text, Fahrenheit); other == nil {
		return v, Fahrenheit, nil
	}
	return 0, "", err.At("value")
}
