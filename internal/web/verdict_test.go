package web

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// The three questions are answered in one line each, with what would help and a slip.
func TestRecipe_Verdicts(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	p := ask(t, site, "GET", "/recipes/pear", nil)
	if n := p.count(".verdicts .tag"); n != 3 {
		t.Fatalf("%d verdicts", n)
	}
	p.says(t, ".verdicts dt", "Sticks? borderline")
	p.says(t, ".verdicts dd", "Stands up to 46 °C (38–53), estimated; the post reaches 40 °C, 13 % that it sticks there.")
	p.says(t, ".moves", "What would help: boil 1.5 K hotter; or 16 points more glucose syrup")
	p.says(t, ".verdicts li", "post, usual, 40 °C : borderline, 13 % of the outcomes")
	p.says(t, ".verdicts p", "Open to the room: in air of 45 % about 6 h (2.1–19), estimated.")
	p.says(t, ".verdicts p", "Slab water 11 °C or warmer")
	p.says(t, ".verdicts dt", "Grains? no")
	p.says(t, ".verdicts dd", "Syrup in the dry sugars 33 % (33–34), estimated; under 12 % it may grain, from 25 % it keeps easily.")
	p.says(t, ".verdicts dt", "Browns? no")
	p.says(t, ".verdicts .sources", "stage-table")
	// The drawing, and the same in words.
	if p.count("details.slip svg.map") != 1 || p.count("svg.map") != 1 {
		t.Error("the map is not on a slip")
	}
	for _, n := range all(p.root, ".verdicts details") {
		if _, open := attrOf(n, "open"); open {
			t.Error("a slip stands open")
		}
	}
	p.says(t, ".verdicts .pairs div", "this boil, water in the sugar 2.7 %")
	p.says(t, ".verdicts .pairs div", "most water for the post, 40 °C 3.4 % (")
	p.says(t, ".verdicts .pairs div", "syrup under which it may grain 12 %")
}

// What the map shows stands where its numbers say.
func TestMapOf(t *testing.T) {
	t.Parallel()
	res := &app.BoilResult{Verdicts: fakeVerdicts()}
	v := mapOf(q.Plain, res)
	// Per cent a unit of the drawing, from the ticks.
	scale := func(ticks []curveTick, at float64) float64 {
		a, b := ticks[0], ticks[len(ticks)-1]
		low, high := numberIn(t, a.Label), numberIn(t, b.Label)
		return low + (at-a.At)/(b.At-a.At)*(high-low)
	}
	m := res.Verdicts.Map
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 0.1 {
			t.Errorf("%s: drawn at %.3f %%, is %.3f %%", what, got, want)
		}
	}
	near("water", scale(v.XTicks, v.Dot.X), 100*m.Dot.WaterFrac.Value)
	near("least water", scale(v.XTicks, v.Dot.X1), 100*m.Dot.WaterFrac.Low)
	near("most water", scale(v.XTicks, v.Dot.X2), 100*m.Dot.WaterFrac.High)
	near("syrup", scale(v.YTicks, v.Dot.Y), 100*m.Dot.DoctorFrac.Value)
	near("risk", scale(v.YTicks, v.Levels[0].Y), 12)
	near("easy", scale(v.YTicks, v.Levels[1].Y), 25)
	for i, l := range m.Lines {
		points := strings.Split(strings.TrimPrefix(v.Lines[i].Path, "M"), "L")
		if len(points) != len(l.Points) {
			t.Fatalf("%s: %d points drawn, %d are", l.Name, len(points), len(l.Points))
		}
		for j, text := range points {
			x, y, _ := strings.Cut(text, " ")
			near(l.Name+" water", scale(v.XTicks, numberIn(t, x)), 100*l.Points[j].WaterFrac.Value)
			near(l.Name+" syrup", scale(v.YTicks, numberIn(t, y)), 100*float64(l.Points[j].DoctorFrac))
		}
	}
	if len(v.Arrows) == 0 || m.To == nil {
		t.Error("no way to move is drawn")
	}
}

// Where the doctor is not known the boil has no dot and stands up the whole height.
func TestMapOf_DoctorNotKnown(t *testing.T) {
	t.Parallel()
	all := fakeVerdicts()
	m := *all.Map
	m.Dot.DoctorFrac, all.Map = nil, &m
	v := mapOf(q.Plain, &app.BoilResult{Verdicts: all})
	if v.Dot.Known || v.Dot.Y1 != float64(v.Y0) || v.Dot.Y2 != float64(v.Y1) {
		t.Errorf("%+v", v.Dot)
	}
	if v.Rows[1].Text != "not known" {
		t.Errorf("the table says %q", v.Rows[1].Text)
	}
	if mapOf(q.Plain, &app.BoilResult{}) != nil {
		t.Error("a boil without a map has one")
	}
}

func numberIn(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
