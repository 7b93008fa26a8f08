package paper_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// longDay is the demo day with far more of everything than a page holds, and the
// marks by which each thing must be found again.
func longDay(t *testing.T) (p *app.DayPlan, day, sheet []string) {
	t.Helper()
	p = planOf(t, demoBook(t), app.PlanRequest{})
	mark := func(list *[]string, kind string, i int) string {
		m := fmt.Sprintf("%s%03d", kind, i)
		*list = append(*list, m)
		return m
	}
	bag := p.Bags[0]
	p.Bags = nil
	for i := range 40 {
		bag.Name = mark(&day, "bag", i)
		p.Bags = append(p.Bags, bag)
	}
	left := p.LeftOver[0]
	for i := range 30 {
		left.Name = mark(&day, "left", i)
		p.LeftOver = append(p.LeftOver, left)
	}
	between := p.Changeovers[0]
	for i := range 30 {
		x := between.SetUps[0]
		x.Why = mark(&day, "between", i) + strings.Repeat(" what is on the line would be tasted", 6)
		between.SetUps = []app.SetUp{x}
		p.Changeovers = append(p.Changeovers, between)
	}
	row := p.Rows[0]
	for i := range 50 {
		row.Name = mark(&day, "row", i)
		p.Rows = append(p.Rows, row)
	}
	for i := range 20 {
		p.Offers = append(p.Offers, mark(&day, "offer", i))
		p.Unplaced = append(p.Unplaced, app.Unplaced{Name: mark(&day, "unplaced", i), Why: "no time"})
	}
	b := p.Batches[0]
	steps := []string{"weigh", "flame", "hold", "end", "pour", "slab", "rolls", "pack"}
	b.Cautions = nil
	p.Cautions = nil
	for i := range 30 {
		text := strings.Repeat(" hot sugar sticks and burns", 5)
		p.Cautions = append(p.Cautions, app.Caution{Text: mark(&day, "mind", i) + text})
		b.Cautions = append(b.Cautions, app.Caution{Text: mark(&sheet, "caution", i) + text, At: steps[i%len(steps)]})
	}
	b.Sheet.Weigh, b.Sheet.Stock, b.Portions = nil, nil, b.Portions[:1]
	for i := range 60 {
		l := app.WeighLine{Stage: "kettle", Name: mark(&sheet, "weigh", i), Show: "1.25 kg", Scale: "Platform scale", Fine: true,
			Lots: []string{mark(&sheet, "lot", i)}}
		if i%7 == 0 {
			for j := range 25 {
				l.Lots = append(l.Lots, mark(&sheet, fmt.Sprintf("lot%02dx", i), j))
			}
		}
		b.Sheet.Weigh = append(b.Sheet.Weigh, l)
		b.Sheet.Stock = append(b.Sheet.Stock, app.StockSolution{Text: mark(&sheet, "stock", i)})
	}
	for i := range 25 {
		portion := b.Portions[0]
		portion.ID = mark(&sheet, "portion", i)
		b.Portions = append(b.Portions, portion)
	}
	p.Batches = []app.Batch{b}
	for i := 2; i <= 40; i++ {
		n := b
		n.N, n.Name, n.FlameUp = i, mark(&day, "boil", i), b.FlameUp.Add(time.Duration(i)*time.Minute)
		p.Batches = append(p.Batches, n)
	}
	return p, day, sheet
}

// Long lists flow on to further pages: every line is there, nothing stands below
// the bottom margin but the footer, and no line is printed over another.
func TestLongSheets(t *testing.T) {
	t.Parallel()
	for _, units := range []q.System{q.Metric, q.US} {
		t.Run(string(units), func(t *testing.T) {
			t.Parallel()
			p, day, sheet := longDay(t)
			p.Units = units.With(q.Point)
			found := func(file string, marks []string, pagesAtLeast int) {
				t.Helper()
				pages := words(t, file)
				check(t, pages)
				if len(pages) < pagesAtLeast {
					t.Errorf("%d pages, want at least %d", len(pages), pagesAtLeast)
				}
				seen := map[string]bool{}
				for n, page := range pages {
					low := page.Height - 10*72/25.4 // the foot of a page keeps 10 mm
					var foot []string
					continued := false
					for _, w := range page.Words {
						for f := range strings.FieldsFuncSeq(w.Text, func(r rune) bool { return strings.ContainsRune(",:;", r) }) {
							seen[f] = true
						}
						continued = continued || w.Text == "continued"
						if w.YMax > low+2 { // the descent of a line whose baseline is inside
							foot = append(foot, w.Text)
						}
					}
					if text := strings.Join(foot, " "); !strings.HasPrefix(text, "Slabside · ") || !strings.HasSuffix(text, "the thermometer decides") {
						t.Errorf("page %d: below the bottom margin stands %q", n+1, text)
					}
					if continued != (n > 0) {
						t.Errorf("page %d: headed as continued: %v", n+1, continued)
					}
				}
				for _, m := range marks {
					if !seen[m] {
						t.Errorf("%s is lost", m)
					}
				}
			}
			found(printed(t, p, daySheet), day, 3)
			p.Batches = p.Batches[:1]
			found(printed(t, p, batchSheets), sheet, 3)
		})
	}
}
