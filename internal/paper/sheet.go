package paper

import (
	"bytes"
	_ "embed"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

//go:embed fonts/NotoSans-Regular.ttf
var regular []byte

//go:embed fonts/NotoSans-Bold.ttf
var bold []byte

const (
	margin = 12.0 // mm, what office printers leave white
	font   = "noto"
)

// colours of the house, for paper
var (
	ink       = [3]int{0x16, 0x21, 0x1F}
	quiet     = [3]int{0x4A, 0x57, 0x54}
	rule      = [3]int{0x9A, 0xA6, 0xA2}
	verdigris = [3]int{0x0B, 0x5D, 0x50}
	brass     = [3]int{0x6B, 0x4E, 0x0F}
	danger    = [3]int{0x9B, 0x14, 0x14}
	pale      = [3]int{0xEC, 0xF0, 0xEC}
)

// sheet draws on one document with mm coordinates.
type sheet struct {
	*fpdf.Fpdf
	units q.System
	w, h  float64 // page
	y     float64 // next free line
	day   *app.DayPlan
}

// Sheets writes the day sheet and the batch sheets of a plan.
func Sheets(w io.Writer, d *app.DayPlan) error { return print(w, d, true, true) }

// DaySheet writes the day sheet alone.
func DaySheet(w io.Writer, d *app.DayPlan) error { return print(w, d, true, false) }

// BatchSheets writes the batch sheets alone.
func BatchSheets(w io.Writer, d *app.DayPlan) error { return print(w, d, false, true) }

func print(w io.Writer, d *app.DayPlan, day, batches bool) error {
	s, err := newSheet(d)
	if err != nil {
		return err
	}
	if day || len(d.Batches) == 0 {
		if err := s.dayPage(); err != nil {
			return err
		}
	}
	if batches {
		for i := range d.Batches {
			s.batchPage(&d.Batches[i])
		}
	}
	var buf bytes.Buffer
	if err := s.Output(&buf); err != nil {
		return fault.Internal(err, "the sheets could not be printed")
	}
	if _, err := w.Write(buf.Bytes()); err != nil {
		return fault.Internal(err, "the sheets could not be written")
	}
	return nil
}

func newSheet(d *app.DayPlan) (*sheet, error) {
	size := "A4"
	if d.Units == q.US {
		size = "Letter"
	}
	pdf := fpdf.New("P", "mm", size, "")
	pdf.AddUTF8FontFromBytes(font, "", regular)
	pdf.AddUTF8FontFromBytes(font, "B", bold)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(false, margin)
	pdf.SetTitle(clean("Making day "+d.Date+", "+d.Shop), true)
	pdf.SetCreator("Slabside", true)
	pdf.SetLang("en-GB")
	// The same plan gives the same bytes.
	pdf.SetCreationDate(d.Opens)
	pdf.SetModificationDate(d.Opens)
	pdf.SetCatalogSort(true)
	if err := pdf.Error(); err != nil {
		return nil, fault.Internal(err, "the sheets could not be set up")
	}
	w, h := pdf.GetPageSize()
	return &sheet{Fpdf: pdf, units: d.Units, w: w, h: h, day: d}, nil
}

// clean keeps text within what the font can draw.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return ' '
		case r < 0x20 || r > 0xFFFF:
			return '□'
		}
		return r
	}, s)
}

func (s *sheet) page(footer string) {
	s.AddPage()
	s.y = margin
	s.colour(quiet)
	s.face("", 7)
	s.Text(margin, s.h-6, s.fit(footer, s.inner()))
	s.colour(ink)
}

func (s *sheet) face(style string, pt float64) { s.SetFont(font, style, pt) }
func (s *sheet) colour(c [3]int)               { s.SetTextColor(c[0], c[1], c[2]) }
func (s *sheet) stroke(c [3]int, width float64) {
	s.SetDrawColor(c[0], c[1], c[2])
	s.SetLineWidth(width)
}
func (s *sheet) fill(c [3]int) { s.SetFillColor(c[0], c[1], c[2]) }

func (s *sheet) inner() float64 { return s.w - 2*margin }

// text draws one line with its baseline at y and returns its width.
func (s *sheet) text(x, y float64, str string) float64 {
	str = clean(str)
	s.Text(x, y, str)
	return s.GetStringWidth(str)
}

// right draws one line that ends at x.
func (s *sheet) right(x, y float64, str string) {
	str = clean(str)
	s.Text(x-s.GetStringWidth(str), y, str)
}

// fit shortens a line to a width.
func (s *sheet) fit(str string, width float64) string {
	str = clean(str)
	if s.GetStringWidth(str) <= width {
		return str
	}
	r := []rune(str)
	for len(r) > 1 && s.GetStringWidth(string(r)+"…") > width {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// wrap draws a paragraph from s.y down and moves s.y below it.
func (s *sheet) wrap(x, width, lead float64, str string) {
	for _, l := range s.SplitText(clean(str), width) {
		s.y += lead
		s.Text(x, s.y, l)
	}
}

// lines counts the lines a paragraph takes.
func (s *sheet) lines(width float64, str string) int { return len(s.SplitText(clean(str), width)) }

// heading draws a small heading with a rule above.
func (s *sheet) heading(str string) {
	s.y += 3
	s.stroke(rule, 0.2)
	s.Line(margin, s.y, s.w-margin, s.y)
	s.y += 4.6
	s.face("B", 10)
	s.colour(verdigris)
	s.text(margin, s.y, str)
	s.colour(ink)
}

// column of a table.
type column struct {
	head  string
	width float64
	right bool
}

// table draws rows under a head; it keeps cells to their width.
func (s *sheet) table(cols []column, rows [][]string, pt, lead float64) {
	s.face("", pt-1.5)
	s.colour(quiet)
	s.y += lead
	s.cells(cols, func(i int) string { return cols[i].head })
	s.stroke(rule, 0.15)
	s.Line(margin, s.y+1.1, s.w-margin, s.y+1.1)
	s.colour(ink)
	s.face("", pt)
	for _, r := range rows {
		s.y += lead
		s.cells(cols, func(i int) string { return r[i] })
	}
}

func (s *sheet) cells(cols []column, cell func(i int) string) {
	x := margin
	for i, c := range cols {
		str := s.fit(cell(i), c.width-1.2)
		if c.right {
			s.right(x+c.width-1.2, s.y, str)
		} else {
			s.text(x, s.y, str)
		}
		x += c.width
	}
}

// box draws an empty box for an actual, with its label above the line.
func (s *sheet) box(x, y, w, h float64, label string) {
	s.stroke(quiet, 0.25)
	s.Rect(x, y, w, h, "D")
	if label != "" {
		s.face("", 6.5)
		s.colour(quiet)
		s.text(x+1, y+2.6, label)
		s.colour(ink)
	}
}

func clock(t time.Time) string { return t.Format("15:04") }

func longDay(d *app.DayPlan) string {
	t, err := time.Parse(time.DateOnly, d.Date)
	if err != nil {
		return d.Date
	}
	return t.Format("Monday 2 January 2006")
}
