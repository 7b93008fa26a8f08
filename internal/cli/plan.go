package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

type planCmd struct {
	Date   string `help:"The day, as 2026-11-28; default today." placeholder:"DATE" eg:"2026-11-28"`
	Start  string `help:"When the room opens, as 08:00; default as in the shop book." placeholder:"HH:MM" eg:"08:00"`
	Orders string `help:"Lines to make from a CSV file (product,bags,must,due,for) instead of the book's." placeholder:"FILE.csv" eg:"orders.csv"`
	trialFlags
	PDF string `help:"Also write day sheet and batch sheets to this PDF." name:"pdf" placeholder:"FILE.pdf" eg:"day.pdf"`
}

// Run plans the day.
func (c *planCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error { return c.plan(s, a) })
}

func (c *planCmd) plan(s *session, a *app.App) (err error) {
	req := app.PlanRequest{Date: c.Date, Start: c.Start, End: c.End}
	if req.If, err = app.ReadChanges(c.given); err != nil {
		return trialFlagged(err)
	}
	if c.Orders != "" {
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		data, err := readFile(c.Orders)
		if err != nil {
			return err
		}
		if req.Lines, err = app.ReadOrders(c.Orders, bytes.NewReader(data), b); err != nil {
			return err
		}
	}
	p, err := a.Plan(s.ctx, req)
	if err != nil {
		return trialFlagged(flagged(err, "date", "start", "end"))
	}
	if c.PDF != "" {
		var buf bytes.Buffer
		if err := s.Sheets(&buf, p); err != nil {
			return err
		}
		if err := writeFile(c.PDF, buf.Bytes()); err != nil {
			return err
		}
	}
	if err := s.print(p, func(pr *printer) { printPlan(pr, p) }); err != nil {
		return err
	}
	if c.PDF != "" && !s.json {
		fmt.Fprintf(s.Stdout, "\nDay sheet and batch sheets: %s\n", c.PDF)
	}
	for _, b := range p.Bags {
		if b.Must && !b.Planned {
			return errNo
		}
	}
	return nil
}

func clock(t time.Time) string { return t.Format("15:04") }

// printPlan writes a day for people: clock, order with reasons, bags, left over.
func printPlan(p *printer, d *app.DayPlan) {
	day, _ := time.Parse(time.DateOnly, d.Date)
	printTrial(p, d)
	p.line("%s, %s: making day %s", d.Shop, d.Place, day.Format("Monday 2 January 2006"))
	if len(d.Batches) == 0 {
		p.line("Nothing to boil.")
	} else {
		boils := "1 boil"
		if n := len(d.Batches); n > 1 {
			boils = fmt.Sprintf("%d boils", n)
		}
		p.line("%s in %s, packed at %s, closed at %s (the day ends at %s). Read on %s.",
			boils, d.Kettle, clock(d.WorkEnd), clock(d.Closed), clock(d.Ends), d.Glass)
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "  \tboil\tcharge\tlight\tread\tpour\trolls\tpacked\tpieces")
		for _, b := range d.Batches {
			fmt.Fprintf(w, "%d\t%s\t%s %s\t%s\t%s\t%s\t%s %s\t%s\t%s\n", b.N, b.Name, b.Size, d.Units.Mass(q.Kilograms(b.ChargeKg)),
				clock(b.FlameUp), b.Sheet.Read, clock(b.Pour),
				clock(b.RollStart), b.RollsName, clock(b.Done), countRange(b.Pieces))
		}
	})
	if len(d.Changeovers) > 0 {
		p.line("")
		p.line("Between boils")
		for _, c := range d.Changeovers {
			for _, s := range c.SetUps {
				p.line("  %s–%s  %s  (%s)", clock(s.Begin), clock(s.End), s.Why, s.Hand)
			}
		}
	}
	p.line("")
	p.line("Clock")
	for _, m := range d.Clock {
		p.line("  %s  %s", clock(m.At), m.Text)
	}
	p.line("")
	p.line("Why in this order")
	for _, b := range d.Batches {
		p.line("  %d %s: %s", b.N, b.Name, strings.Join(b.WhyHere, "; "))
	}
	printAllergens(p, d)
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "bags\tasked\tfrom the shelf\tfilled today\tchance it is whole")
		for _, b := range d.Bags {
			kind := "should"
			if b.Must {
				kind = "must"
			}
			filled, chance := countRange(b.Made), d.Units.SayChance(q.Fraction(b.Chance), 0)
			if !b.Planned {
				// What loose stock and other boils would still fill is no promise.
				filled, chance = "not in this day", ""
				if b.Made.High > 0 {
					chance = fmt.Sprintf("what there is would fill %s of %d", countRange(b.Made), b.Asked-b.FromStock)
				}
			}
			fmt.Fprintf(w, "%s (%s)\t%d\t%d\t%s\t%s\n", b.Name, kind, b.Asked, b.FromStock, filled, chance)
		}
	})
	for _, b := range d.Bags {
		for _, m := range b.Mix {
			if m.Least > 0 {
				p.line("  %s: a bag holds %s %s (%d–%d); at least %d in %s of bags", b.Name, d.Units.Number(float64(m.Mean), 1), m.Name, m.P05, m.P95, m.Least, d.Units.SayChance(q.Fraction(m.PLeast), 1))
			}
		}
	}
	if len(d.LeftOver) > 0 {
		p.line("")
		p.line("Left over")
		for _, l := range d.LeftOver {
			more := ""
			if l.Bags != "" {
				more = ": " + l.Bags
			}
			p.line("  %s  %s%s", l.Name, d.Units.SayMass(l.Kg), more)
		}
	}
	if len(d.Unplaced) > 0 {
		p.line("")
		p.line("Not in this day")
		for _, u := range d.Unplaced {
			p.line("  %s, %s: %s", u.Name, d.Units.Mass(q.Kilograms(u.ChargeKg)), u.Why)
		}
	}
	for _, o := range d.Offers {
		p.line("  → %s", o)
	}
	p.line("")
	switch {
	case d.ProvedBest:
		p.line("This order is proved best. What counts, the first before all that follows:")
	case d.StoppedBy == app.ByClock:
		p.line("The search took too long and was stopped; this is the best order found. What counts, the first before all that follows:")
	case d.StoppedBy == app.ByBudget:
		p.line("The search ended at %d states, as many as it may look at; this is the best order found. What counts, the first before all that follows:", d.States)
	default:
		p.line("This is the best order found; that none is better is not proved. What counts, the first before all that follows:")
	}
	table(p, func(w *tabwriter.Writer) {
		for _, o := range d.Objectives {
			name, value, bound := d.Goal(o)
			if bound != value {
				value += " (at best " + bound + ")"
			}
			fmt.Fprintf(w, "  %s\t%s\n", name, value)
		}
	})
	p.cautions(d.Cautions)
	p.sources(d.Sources)
}

// printAllergens says of every sweet of the day what it contains, what suppliers
// say it may contain, and who has not said.
func printAllergens(p *printer, d *app.DayPlan) {
	said := map[string]bool{}
	for _, b := range d.Batches {
		var words []string
		if len(b.Sheet.Allergens) > 0 {
			words = append(words, "contains "+strings.Join(b.Sheet.Allergens, ", "))
		}
		if may := b.Sheet.MayContainText(); may != "" {
			words = append(words, "may contain: "+may)
		}
		if len(b.Sheet.Unstated) > 0 {
			words = append(words, "supplier has not said: "+strings.Join(b.Sheet.Unstated, ", "))
		}
		if len(words) == 0 || said[b.Recipe] {
			continue
		}
		if len(said) == 0 {
			p.line("")
			p.line("Allergens")
		}
		said[b.Recipe] = true
		p.line("  %s: %s", b.Name, strings.Join(words, "; "))
	}
}

// countRange prints a number of things with its range.
func countRange(e q.Estimate) string {
	s := q.Plain.Number(e.Value, 0)
	if e.Spread() {
		s += fmt.Sprintf(" (%.0f–%.0f)", e.Low, e.High)
	}
	return s
}

func table(p *printer, rows func(w *tabwriter.Writer)) {
	w := tabwriter.NewWriter(p.w, 0, 8, 2, ' ', 0)
	rows(w)
	if err := w.Flush(); err != nil && p.err == nil {
		p.err = fault.Internal(err, "the answer could not be written")
	}
}

// mostFile is the largest file a command reads.
const mostFile = 64 << 20

func readFile(path string) ([]byte, error) {
	st, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil, fault.NotFound("no file %s", path)
	case err != nil:
		return nil, fault.Forbidden("%s cannot be read", path).WithCause(err)
	case st.IsDir():
		return nil, fault.Invalid("%s is a folder", path).WithHint("name a file")
	case st.Size() > mostFile:
		return nil, fault.Invalid("%s is larger than %d MB", path, mostFile>>20)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fault.Forbidden("%s cannot be read", path).WithCause(err)
	}
	return data, nil
}

// writeFile writes beside the file, syncs and renames, so that nothing is ever half-written.
func writeFile(path string, data []byte) error {
	refused := func(err error) error {
		return fault.Forbidden("%s cannot be written", path).WithCause(err).WithHint("choose a folder you may write to; nothing was changed")
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".slabside-*")
	if err != nil {
		return refused(err)
	}
	defer os.Remove(f.Name())
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return refused(err)
	}
	return nil
}
