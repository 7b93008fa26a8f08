package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// trialFlags ask for a trial day: a flag for each of app.ChangeKinds, by its name.
type trialFlags struct {
	End         string   `help:"When the day ends, as 17:30; default as in the shop book." placeholder:"HH:MM" eg:"17:30"`
	WithoutHand []string `help:"Plan without this hand, that day alone." placeholder:"HAND" eg:"ada" sep:"none"`
	Hand        []string `help:"One more hand, hours, and what the hand may do; adult among it." placeholder:"NAME [HH:MM-HH:MM] TASKS" eg:"\"Dora 09:00-13:00 adult,weigh,pack\"" sep:"none"`
	NotToday    []string `help:"Do not boil this recipe that day; what needs it is not made." placeholder:"RECIPE" eg:"barley-barrels" sep:"none"`
	Without     []string `help:"Leave out the lines to make of this product." placeholder:"PRODUCT[@FOR]" eg:"mint-beads-113" sep:"none"`
	Bags        []string `help:"Another number of bags of this product." placeholder:"PRODUCT[@FOR]=BAGS" eg:"mint-beads-113=60" sep:"none"`
	Must        []string `help:"The lines of this product must go that day." placeholder:"PRODUCT[@FOR]" eg:"mint-beads-113" sep:"none"`
	First       []string `help:"Boil this recipe first of the day." placeholder:"RECIPE" eg:"barley-barrels" sep:"none"`
	Last        []string `help:"Boil this recipe last of the day." placeholder:"RECIPE" eg:"barley-barrels" sep:"none"`
	Next        []string `help:"Boil recipe B straight after A." placeholder:"A,B" eg:"mint-beads,barley-barrels" sep:"none"`
	NotNext     []string `help:"Do not boil recipe B straight after A." placeholder:"A,B" eg:"mint-beads,barley-barrels" sep:"none"`
	Later       []string `help:"Boil recipe B later than every boil of A." placeholder:"A,B" eg:"mint-beads,barley-barrels" sep:"none"`
	AtLeast     []string `help:"At least this act (wipe, wash, allergen clean) before recipe B, or only where it follows A." placeholder:"ACT,[A,]B" eg:"wash,barley-barrels" sep:"none"`
	Break       []string `help:"One more break, earliest and latest start, and how long." placeholder:"NAME HH:MM-HH:MM LENGTH" eg:"\"tea 10:30-11:00 20min\"" sep:"none"`
	Pour        []string `help:"Announce a pour: time, how early and how late it is still kept, and of which recipe." placeholder:"NAME HH:MM EARLY LATE [RECIPE]" eg:"\"school visit 11:00 10min 15min\"" sep:"none"`
}

// given returns what was written after the flag of a kind of change.
func (f *trialFlags) given(kind string) []string {
	return map[string][]string{
		"without-hand": f.WithoutHand, "hand": f.Hand, "not-today": f.NotToday, "without": f.Without, "bags": f.Bags, "must": f.Must,
		"first": f.First, "last": f.Last, "next": f.Next, "not-next": f.NotNext, "later": f.Later, "at-least": f.AtLeast,
		"break": f.Break, "pour": f.Pour,
	}[kind]
}

// trialFlagged names the flags instead of the changes that they ask for.
func trialFlagged(err error) error {
	var p app.Problems
	if !errors.As(err, &p) {
		return err
	}
	var names []string
	for _, k := range app.ChangeKinds() {
		names = append(names, k.Name)
	}
	out := make(app.Problems, len(p))
	for i, e := range p {
		out[i] = e
		errors.As(flagged(e, names...), &out[i])
	}
	return out
}

// printTrial writes what a trial changes and what that costs, above its plan.
func printTrial(p *printer, d *app.DayPlan) {
	c := d.Compared
	if c == nil {
		return
	}
	p.line("TRIAL, not kept")
	for _, x := range c.Changes {
		p.line("  %s", x.Says)
	}
	p.line("%s", c.Cost)
	table(p, func(w *tabwriter.Writer) {
		at := func(t time.Time) string { return t.Format("15:04") }
		bests := map[bool]string{true: "proved", false: "not proved"}
		fmt.Fprintln(w, "  \tkept\ttrial")
		for _, r := range []struct {
			what string
			of   func(app.Figures) string
		}{
			{"last bag packed", func(f app.Figures) string { return at(f.WorkEnd) }},
			{"closed", func(f app.Figures) string { return at(f.Closed) }},
			{"cleaning", func(f app.Figures) string { return fmt.Sprintf("%d min", f.CleaningMin) }},
			{"boils", func(f app.Figures) string { return fmt.Sprint(f.Boils) }},
			{"bags made", func(f app.Figures) string { return fmt.Sprint(f.BagsMade) }},
			{"bags short", func(f app.Figures) string { return fmt.Sprint(f.BagsShort) }},
			{"announced pours kept", func(f app.Figures) string { return fmt.Sprintf("%d of %d", f.PoursKept, f.PoursKept+f.PoursMissed) }},
			{"left over", func(f app.Figures) string { return d.Units.Mass(q.Kilograms(f.LeftKg)) }},
			{"best order", func(f app.Figures) string { return bests[f.ProvedBest] }},
		} {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", r.what, r.of(c.Kept), r.of(c.Trial))
		}
	})
	p.line("  kept order: %s", strings.Join(c.Kept.Order, ", "))
	p.line("  trial order: %s", strings.Join(c.Trial.Order, ", "))
	for _, x := range c.Gained {
		p.line("  + %s", x.Text)
	}
	for _, x := range c.Lost {
		p.line("  - %s", x.Text)
	}
	p.line("")
}
