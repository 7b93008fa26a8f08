package paper_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/demand"
	"slabside/internal/paper"
	q "slabside/internal/quantity"
)

var pictures = flag.Bool("pictures", false, "write pictures of the sheets to docs/pictures")

// demoBook is the demo shop's book: real input for what is printed. No figure of
// physics or law is checked against it here.
func demoBook(t *testing.T) book.Book {
	t.Helper()
	b, problems, err := bookfile.Decode("demo.toml", bookfile.Demo())
	if err != nil {
		t.Fatal(err)
	}
	if err := bookfile.Err(problems); err != nil {
		t.Fatal(err)
	}
	return b
}

func planOf(t *testing.T, b book.Book, req app.PlanRequest) *app.DayPlan {
	t.Helper()
	if req.Date == "" {
		req.Date = "2026-11-28"
	}
	p, err := app.MakePlan(context.Background(), b, req)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// printed writes sheets to a file and returns its name.
func printed(t *testing.T, p *app.DayPlan, print func(*bytes.Buffer, *app.DayPlan) error) string {
	t.Helper()
	var buf bytes.Buffer
	if err := print(&buf, p); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "sheets.pdf")
	if err := os.WriteFile(file, buf.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

func sheets(w *bytes.Buffer, p *app.DayPlan) error { return paper.Sheets(w, p) }
func daySheet(w *bytes.Buffer, p *app.DayPlan) error {
	return paper.DaySheet(w, p)
}
func batchSheets(w *bytes.Buffer, p *app.DayPlan) error {
	return paper.BatchSheets(w, p)
}

// tool runs one of poppler's or zbar's programs; make test installs them.
func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s (from Debian's poppler-utils or zbar-tools; make test installs it): %v", name, err)
	}
	return string(out)
}

// word is a word with its place in points, as pdftotext -bbox sees it.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

type pageWords struct {
	Width  float64 `xml:"width,attr"`
	Height float64 `xml:"height,attr"`
	Words  []word  `xml:"word"`
}

func words(t *testing.T, file string) []pageWords {
	t.Helper()
	var doc struct {
		Pages []pageWords `xml:"body>doc>page"`
	}
	d := xml.NewDecoder(strings.NewReader(tool(t, "pdftotext", "-bbox", file, "-")))
	d.Strict = false
	d.Entity = xml.HTMLEntity
	if err := d.Decode(&doc); err != nil {
		t.Fatal(err)
	}
	return doc.Pages
}

// check demands that every word lies on the page and none is printed over another.
func check(t *testing.T, pages []pageWords) {
	t.Helper()
	const edge = 20 // pt, 7 mm
	for n, p := range pages {
		for i, w := range p.Words {
			if w.XMin < edge || w.XMax > p.Width-edge || w.YMin < edge/2 || w.YMax > p.Height-8 {
				t.Errorf("page %d: %q runs off the page at %.0f,%.0f–%.0f,%.0f", n+1, w.Text, w.XMin, w.YMin, w.XMax, w.YMax)
			}
			for _, o := range p.Words[:i] {
				across := min(w.XMax, o.XMax) - max(w.XMin, o.XMin)
				down := min(w.YMax, o.YMax) - max(w.YMin, o.YMin)
				// Line boxes of close-set lines touch; half a line over another does not happen by design.
				if across > 1 && down > 0.55*min(w.YMax-w.YMin, o.YMax-o.YMin) {
					t.Errorf("page %d: %q is printed over %q", n+1, w.Text, o.Text)
				}
			}
		}
	}
}

func TestSheetsReadBack(t *testing.T) {
	t.Parallel()
	p := planOf(t, demoBook(t), app.PlanRequest{})
	file := printed(t, p, sheets)
	pages := words(t, file)
	if want := 1 + len(p.Batches); len(pages) != want {
		t.Fatalf("%d pages, want a day sheet and %d batch sheets", len(pages), len(p.Batches))
	}
	check(t, pages)
	for i, b := range p.Batches {
		text := tool(t, "pdftotext", "-layout", "-f", fmt.Sprint(i+2), "-l", fmt.Sprint(i+2), file, "-")
		for _, want := range []string{b.Name, b.ID, b.Lead, b.FlameUp.Format("15:04"), b.Pour.Format("15:04"),
			b.Sheet.Read} {
			if !strings.Contains(text, want) {
				t.Errorf("batch sheet %d does not say %q", i+1, want)
			}
		}
		for _, l := range b.Sheet.Weigh {
			if !strings.Contains(text, l.Show) {
				t.Errorf("batch sheet %d does not say %q of %s", i+1, l.Show, l.Name)
			}
		}
		flat := strings.Join(strings.Fields(text), " ")
		for _, m := range b.Sheet.MayContain {
			if !strings.Contains(flat, m.String()) {
				t.Errorf("batch sheet %d does not say it may contain %s", i+1, m)
			}
		}
		for _, c := range b.Cautions {
			if !strings.Contains(flat, strings.Join(strings.Fields(c.Text)[:4], " ")) {
				t.Errorf("batch sheet %d leaves out the caution %s", i+1, c.Code)
			}
		}
	}
	day := tool(t, "pdftotext", "-layout", "-l", "1", file, "-")
	for _, b := range p.Batches {
		if !strings.Contains(day, b.FlameUp.Format("15:04")) {
			t.Errorf("the day sheet does not say when to light boil %d", b.N)
		}
	}
	for _, b := range p.Bags {
		if !strings.Contains(day, b.Name) {
			t.Errorf("the day sheet does not name %s", b.Name)
		}
	}
}

// The barcode of every batch sheet is read back by another program (zbar).
func TestBarcodesRead(t *testing.T) {
	t.Parallel()
	p := planOf(t, demoBook(t), app.PlanRequest{})
	file := printed(t, p, batchSheets)
	stem := strings.TrimSuffix(file, ".pdf")
	tool(t, "pdftoppm", "-r", "200", "-png", file, stem)
	images, _ := filepath.Glob(stem + "*.png")
	if len(images) != len(p.Batches) {
		t.Fatalf("%d pictures for %d batches", len(images), len(p.Batches))
	}
	for i, img := range images {
		got := strings.TrimSpace(tool(t, "zbarimg", "-q", "--raw", img))
		if got != p.Batches[i].ID {
			t.Errorf("sheet %d reads %q, want %q", i+1, got, p.Batches[i].ID)
		}
	}
}

func TestSamePlanSameBytes(t *testing.T) {
	t.Parallel()
	p := planOf(t, demoBook(t), app.PlanRequest{})
	var a, b bytes.Buffer
	if err := paper.Sheets(&a, p); err != nil {
		t.Fatal(err)
	}
	if err := paper.Sheets(&b, p); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two prints of one plan differ")
	}
}

// US units print on Letter in pounds and degrees Fahrenheit.
func TestUSLetter(t *testing.T) {
	t.Parallel()
	b := demoBook(t)
	b.Shop.Units = q.US.With(q.Point)
	file := printed(t, planOf(t, b, app.PlanRequest{}), sheets)
	pages := words(t, file)
	check(t, pages)
	if pages[0].Width != 612 || pages[0].Height != 792 {
		t.Errorf("page is %g × %g pt, want US Letter", pages[0].Width, pages[0].Height)
	}
	text := tool(t, "pdftotext", "-layout", file, "-")
	for _, want := range []string{"°F", " lb ", " oz "} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q on the sheets of a US shop", want)
		}
	}
	if strings.Contains(text, "°C") {
		t.Error("°C on the sheets of a US shop")
	}
}

// A day too short, an empty day, a day full of boils, and names no font can
// draw: one day page each, nothing off the page.
func TestOddDays(t *testing.T) {
	t.Parallel()
	short := app.PlanRequest{Start: "15:00"}
	none := app.PlanRequest{Lines: []demand.Line{}}
	for name, req := range map[string]app.PlanRequest{"short": short, "empty": none} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			pages := words(t, printed(t, planOf(t, demoBook(t), req), daySheet))
			if len(pages) != 1 {
				t.Errorf("%d pages", len(pages))
			}
			check(t, pages)
		})
	}
	t.Run("names", func(t *testing.T) {
		t.Parallel()
		b := demoBook(t)
		b.Shop.Name = "Żółw 🍬 – Crème brûlée № ℮"
		for i := range b.Recipes {
			b.Recipes[i].Name = strings.Repeat(b.Recipes[i].Name+" ", 6)
		}
		pages := words(t, printed(t, planOf(t, b, app.PlanRequest{}), sheets))
		check(t, pages)
	})
}

// TestPictures writes the sheets as pictures for the documents.
func TestPictures(t *testing.T) {
	if !*pictures {
		return
	}
	file := printed(t, planOf(t, demoBook(t), app.PlanRequest{}), sheets)
	dir := "../../docs/pictures"
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	tool(t, "pdftoppm", "-r", "70", "-png", "-f", "1", "-l", "1", "-singlefile", file, filepath.Join(dir, "sheet-day"))
	tool(t, "pdftoppm", "-r", "70", "-png", "-f", "2", "-l", "2", "-singlefile", file, filepath.Join(dir, "sheet-batch"))
}
