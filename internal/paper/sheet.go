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
	units q.Reader
	w, h  float64 // page
	y     float64 // next free line
	day   *app.DayPlan

	title, footer string // of the sheet that may run over several pages
	mark          string // the state of the book, at the foot of every page
	style         string // the face in use, taken up again after a page
	pt            float64
	tint          [3]int
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
	if d.Units.US() {
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
	s := &sheet{Fpdf: pdf, units: d.Units, w: w, h: h, day: d}
	if d.Book != nil {
		s.mark = "Book at " + d.Book.String()
	}
	return s, nil
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

// begin opens the first page of a sheet.
func (s *sheet) begin(title, footer string) {
	s.title, s.footer = title, footer
	s.page()
}

func (s *sheet) page() {
	s.AddPage()
	s.y = margin
	s.colour(quiet)
	s.face("", 7)
	mark := s.GetStringWidth(s.mark)
	s.Text(margin, s.h-6, s.fit(s.footer, s.inner()-mark-3))
	s.right(s.w-margin, s.h-6, s.mark)
	s.colour(ink)
	s.trial()
}

// trial says on every page of a day that is not the kept one that it is a trial,
// and by what it differs.
func (s *sheet) trial() {
	c := s.day.Compared
	if c == nil {
		return
	}
	says := make([]string, len(c.Changes))
	for i, x := range c.Changes {
		says[i] = x.Says
	}
	s.face("B", 9)
	s.text(margin, margin-2, s.fit("TRIAL, NOT KEPT: "+strings.Join(says, "; "), s.inner()-62))
}

// low is as far down as a page is written; the footer stands below.
func (s *sheet) low() float64 { return s.h - footRoom }

// room sees to it that the page still holds so many millimetres, and goes on on a
// new page, headed as a continuation, where it does not. What is taller than a
// page begins where it stands.
func (s *sheet) room(h float64) bool {
	if s.y+h <= s.low() || s.y <= s.top() {
		return false
	}
	style, pt, tint := s.style, s.pt, s.tint
	s.page()
	s.y = s.top()
	s.face("B", 11)
	s.text(margin, s.y-3, s.fit(s.title, s.inner()-25)+" … continued")
	s.face(style, pt)
	s.colour(tint)
	return true
}

// top is where a continued page begins.
func (s *sheet) top() float64 { return margin + 8 }

func (s *sheet) face(style string, pt float64) {
	s.style, s.pt = style, pt
	s.SetFont(font, style, pt)
}

func (s *sheet) colour(c [3]int) {
	s.tint = c
	s.SetTextColor(c[0], c[1], c[2])
}

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

// wrap draws a paragraph from s.y down and moves s.y below it. One that does not
// fit the page goes on on the next.
func (s *sheet) wrap(x, width, lead float64, str string) {
	for _, l := range s.SplitText(clean(str), width) {
		s.room(lead)
		s.y += lead
		s.Text(x, s.y, l)
	}
}

// lines counts the lines a paragraph takes.
func (s *sheet) lines(width float64, str string) int { return len(s.SplitText(clean(str), width)) }

// heading draws a small heading with a rule above, on one page with what stands
// below it, so many millimetres.
func (s *sheet) heading(str string, below float64) {
	s.room(7.6 + below)
	s.y += 3
	s.stroke(rule, 0.2)
	s.Line(margin, s.y, s.w-margin, s.y)
	s.y += 4.6
	s.face("B", 10)
	s.colour(verdigris)
	s.text(margin, s.y, s.fit(str, s.inner()))
	s.colour(ink)
}

// column of a table.
type column struct {
	head  string
	width float64
	right bool
}

// table draws rows under a head, which is repeated on every page; it keeps cells
// to their width.
func (s *sheet) table(cols []column, rows [][]string, pt, lead float64) {
	head := func() {
		s.face("", pt-1.5)
		s.colour(quiet)
		s.y += lead
		s.cells(cols, func(i int) string { return cols[i].head })
		s.stroke(rule, 0.15)
		s.Line(margin, s.y+1.1, s.w-margin, s.y+1.1)
		s.colour(ink)
		s.face("", pt)
	}
	s.room(2 * lead)
	head()
	for _, r := range rows {
		if s.room(lead + 1) {
			head()
		}
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
