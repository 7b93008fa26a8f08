package validation

import (
	"flag"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"slabside/internal/source"
)

var update = flag.Bool("update", false, "rewrite docs/validation.md")

func TestRender_MatchesTheDocument(t *testing.T) {
	t.Parallel()
	root := filepath.Join("..", "..")
	text, err := Render(root)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text, "## sugar") {
		t.Error("the document lacks the sugar models")
	}
	Golden(t, *update, filepath.Join(root, "docs", "validation.md"), []byte(text))
}

// Every way a table can be bad is noticed.
func TestJudge_Notices(t *testing.T) {
	t.Parallel()
	good := Table{Model: "m", Quantity: "q", Unit: "K", Range: "r", Kind: Outside, Why: "w",
		Rows: []Row{{"one", 10.1, 10, 0.2, source.CRC, nil}, {"two", 19.9, 20, 0.2, source.CRC, nil}}}
	cases := []struct {
		name string
		turn func(*Table)
		want string // "" for no problem
	}{
		{"good", func(*Table) {}, ""},
		{"row outside its tolerance", func(t *Table) { t.Rows[1].Got = 20.3 }, "two: 20.3, want 20"},
		{"row just inside", func(t *Table) { t.Rows[1].Got = 20.199 }, ""},
		{"not a number", func(t *Table) { t.Rows[0].Got = math.NaN() }, "one: NaN"},
		{"root mean square", func(t *Table) { t.MaxRMS = 0.09 }, "root mean square"},
		{"no rows", func(t *Table) { t.Rows = nil }, "no rows"},
		{"no reason", func(t *Table) { t.Why = "" }, "reason"},
		{"unknown source", func(t *Table) { t.Rows[0].Key = "nowhere" }, "unknown source"},
		{"unknown kind", func(t *Table) { t.Kind = "hearsay" }, "unknown kind"},
		{"rival that passes", func(t *Table) { t.Kind = Rival }, "prove nothing"},
		{"rival that fails", func(t *Table) { t.Kind = Rival; t.Rows[0].Got = 11 }, ""},
		{"relative row outside", func(t *Table) { t.Relative = true; t.Rows[0].Tol = 0.005 }, "one: 10.1"},
		{"relative rows inside", func(t *Table) { t.Relative = true; t.Rows[0].Tol, t.Rows[1].Tol = 0.011, 0.011 }, ""},
	}
	for _, c := range cases {
		table := good
		table.Rows = append([]Row(nil), good.Rows...)
		c.turn(&table)
		got := strings.Join(Judge(table).problems(), "\n")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s: problems %q, want %q", c.name, got, c.want)
		}
	}
}

func TestJudge_Figures(t *testing.T) {
	t.Parallel()
	r := Judge(Table{Kind: Outside, Rows: []Row{{"a", 1, 4, 5, "", nil}, {"b", 8, 4, 5, "", nil}}})
	if r.Worst != 4 || r.WorstAt != "b" || math.Abs(r.RMS-math.Sqrt(12.5)) > 1e-12 || r.Broken != 0 || r.Tol != "5" {
		t.Errorf("got %+v", r)
	}
	for v, want := range map[float64]string{0: "0", 0.123456: "0.123", -1.5: "-1.5", 123.4: "123", 1234.5: "1234", 0.00020: "0.0002"} {
		if got := figure(v); got != want {
			t.Errorf("figure(%g) is %q, want %q", v, got, want)
		}
	}
}

// Only outside and fitted rows with a place count; a row on the edge of two cells is in one.
func TestCoverage_Counts(t *testing.T) {
	t.Parallel()
	at := func(solids, temp float64) Row { return Row{Place: &Place{solids, temp}} }
	rows := []Row{at(60, 20), at(70, 20), at(99, 160), at(59.9, 20), at(70, 19.9), at(70, 160.1), {}}
	c := coverageOf([]Table{
		{Kind: Outside, Covers: "weight", Rows: rows},
		{Kind: Fitted, Covers: "weight", Rows: rows[:1]},
		{Kind: Rival, Covers: "weight", Rows: rows},
		{Kind: Outside, Rows: rows},
	})
	got := string(c.csv())
	want := "property,solids,temp,outside,fitted\nweight,0,0,1,1\nweight,1,0,1,0\nweight,4,6,1,0\n"
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if text := c.render(); !strings.Contains(text, "| weight | 3 of 35 |") || !strings.Contains(text, "| weight, 20 to 40 °C | 1+1 | 1 |") {
		t.Errorf("it prints %q", text)
	}
	if coverageOf([]Table{{Kind: Outside, Rows: rows}}).csv() != nil {
		t.Error("rows that cover nothing were written")
	}
}

// A rival keeps the rows and takes only the answers.
func TestAgainst_KeepsTheRows(t *testing.T) {
	t.Parallel()
	table := Table{Model: "m", Kind: Outside, MaxRMS: 1, Covers: "x", Rows: []Row{{Name: "a", Got: 1, Want: 2, Tol: 3}}}
	r := table.Against("other", "w", func(r Row) float64 { return r.Want + 10 })
	if r.Kind != Rival || r.Covers != "" || r.MaxRMS != 0 || r.Rows[0] != (Row{Name: "a", Got: 12, Want: 2, Tol: 3}) || table.Rows[0].Got != 1 {
		t.Errorf("got %+v from %+v", r, table)
	}
}
