package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/care"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

type careCmd struct {
	List  careListCmd  `cmd:"" default:"withargs" eg:"slabside care" help:"What is wrong in the room and what is due, the most urgent first."`
	Of    careOfCmd    `cmd:"" eg:"slabside care of rolls leaf" help:"The whole ledger of a thing, or take an entry back."`
	Found careFoundCmd `cmd:"" eg:"slabside care found rolls leaf --kind cracked --what 'a hair crack' --where 'third groove'" help:"Write down a fault."`
	Done  careDoneCmd  `cmd:"" eg:"slabside care done rolls leaf --work replaced --by 'Pell, fitter' --settles 12" help:"Write down what was done."`
	Due   careDueCmd   `cmd:"" eg:"slabside care due machine drop --what 'oil the bearings' --every-days 30" help:"Write down what is due, and how often."`
}

type careListCmd struct {
	Date string `help:"The day; default today." placeholder:"DATE" eg:"2026-11-28"`
}

// Run lists open faults and what is due.
func (c *careListCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Care(s.ctx, c.Date)
		if err != nil {
			return flagged(err, "date")
		}
		return s.print(r, func(p *printer) { printCare(p, r) })
	})
}

func printCare(p *printer, r *app.CareResult) {
	if len(r.Faults)+len(r.Due)+len(r.Offered) == 0 {
		p.line("Nothing is wrong and nothing is due, as far as it is written down: slabside care found, slabside care due")
		return
	}
	table(p, func(w *tabwriter.Writer) {
		for _, f := range r.Faults {
			fmt.Fprintf(w, "%s\t%s\t%s\tact %d\n", f.Name, stopWord(f), app.SayTrouble(f.Found)+", found "+f.On, f.Act)
		}
		for _, d := range r.Due {
			fmt.Fprintf(w, "%s\t%s\t%s\t\n", d.Name, strings.ToUpper(string(d.Urgency)), d.What+", "+dueWords(d))
		}
	})
	for _, f := range r.Faults {
		if len(f.NeededBy) > 0 {
			p.line("%s is not made meanwhile: %s", app.Listed(f.NeededBy), f.Name)
		}
	}
	for _, o := range r.Offered {
		p.line("Batch %s says of the %s: %s. Not written down as a fault: slabside care found %s %s --kind %s --batch %s", o.Batch, o.Name, o.What, o.Thing.Kind, o.Thing.ID, o.Kind, o.Batch)
	}
	p.cautions(r.Cautions)
}

func stopWord(f app.CareFault) string {
	switch {
	case f.SettledOn != "":
		return "settled"
	case f.Stops:
		return "OUT OF USE"
	}
	return "open"
}

// dueWords says when something is due.
func dueWords(d app.CareDue) string {
	var out []string
	if d.DaysLeft != nil {
		out = append(out, "due "+d.On)
	}
	if d.BatchesLeft != nil {
		out = append(out, batchesWords(*d.BatchesLeft))
	}
	last := "never done"
	if d.DoneOn != "" {
		last = "last " + d.DoneOn
	}
	by := d.On
	return strings.Join(out, " or ") + " (" + app.Often(d.EveryDays, d.EveryBatches, by) + "; " + last + ")"
}

// batchesWords says how many batches are left.
func batchesWords(n int) string {
	switch {
	case n == 0:
		return "before the next batch"
	case n == 1:
		return "in 1 batch"
	case n > 0:
		return fmt.Sprintf("in %d batches", n)
	case n == -1:
		return "1 batch late"
	}
	return fmt.Sprintf("%d batches late", -n)
}

// thingArgs name a thing of the room.
type thingArgs struct {
	Thing string `arg:"" help:"Kind: rolls, machine, kettle, slab, hook, board, bench, sieve, scale, glass."`
	ID    string `arg:"" name:"id" help:"Its id in the shop book."`
}

func (x thingArgs) thing() care.Thing { return care.Thing{Kind: x.Thing, ID: x.ID} }

type careOfCmd struct {
	thingArgs
	TakeBack int64  `help:"Take back what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'another pair'"`
	Who      string `help:"Who takes it back." default:"owner" eg:"Odile"`
}

// Run shows the ledger of a thing, or takes an entry back.
func (c *careOfCmd) Run(s *session) error {
	if c.TakeBack == 0 {
		return s.withBook(false, func(a *app.App) error { return s.showCare(a, c.thing()) })
	}
	return s.writeCare(care.Entry{Thing: c.thing()}, c.TakeBack, c.Who, c.Why)
}

type careFoundCmd struct {
	thingArgs
	Kind     string `help:"Kind of fault: cracked, chipped, loose, worn, leaks, sticks, guard, stop, metal, reads off, other." required:"" placeholder:"KIND" eg:"cracked"`
	What     string `help:"What was seen." required:"" placeholder:"TEXT" eg:"'a hair crack'"`
	Where    string `help:"Where on it." placeholder:"TEXT" eg:"'third groove'"`
	Stops    bool   `help:"Not to be used until it is done; a crack, a chip, a guard and a stop always are."`
	Batch    string `help:"Batch in whose record it was seen first." placeholder:"BATCH" eg:"2026-11-28-2"`
	On       string `help:"Day it was found; default today." placeholder:"DATE" eg:"2026-11-28"`
	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'looked again'"`
	Who      string `help:"Who found it." default:"owner" eg:"Odile"`
}

// Run writes down a fault.
func (c *careFoundCmd) Run(s *session) error {
	kind := care.Trouble(c.Kind)
	return s.writeCare(care.Entry{Thing: c.thing(), Found: &care.Found{On: c.On, Kind: kind, What: c.What, Where: c.Where, Stops: c.Stops || kind.MustStop(), Batch: c.Batch}}, c.Corrects, c.Who, c.Why)
}

type careDoneCmd struct {
	thingArgs
	Work      string `help:"Oiled, greased, tightened, adjusted, sharpened, polished, tinned, repaired, replaced, tested, looked at, other." required:"" placeholder:"WORK" eg:"oiled"`
	By        string `help:"Who did it; default --who." placeholder:"TEXT" eg:"'Pell, fitter'"`
	With      string `help:"With what: the lubricant or the part by its name." placeholder:"TEXT" eg:"'white oil 68'"`
	FoodGrade bool   `help:"Its label allows it where it may touch food."`
	For       string `help:"What was due, as it is written." placeholder:"TEXT" eg:"'oil the bearings'"`
	Settles   int64  `help:"Act of the fault that is done with." placeholder:"ACT" eg:"12"`
	Note      string `help:"Anything to remember." placeholder:"TEXT" eg:"'new bush'"`
	On        string `help:"Day; default today." placeholder:"DATE" eg:"2026-11-28"`
	Corrects  int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why       string `help:"Why, for the record." eg:"'misread'"`
	Who       string `help:"Who writes it down." default:"owner" eg:"Odile"`
}

// Run writes down what was done.
func (c *careDoneCmd) Run(s *session) error {
	d := care.Done{On: c.On, Work: care.Work(c.Work), By: c.By, With: c.With, FoodGrade: c.FoodGrade, For: c.For, Settles: c.Settles, Note: c.Note}
	return s.writeCare(care.Entry{Thing: c.thing(), Done: &d}, c.Corrects, c.Who, c.Why)
}

type careDueCmd struct {
	thingArgs
	What         string `help:"What is due; of the same words the last holds." required:"" placeholder:"TEXT" eg:"'oil the bearings'"`
	EveryDays    int    `help:"Every so many days." placeholder:"N" eg:"30"`
	EveryBatches int    `help:"Every so many batches." placeholder:"N" eg:"40"`
	By           string `help:"Once, by a date." placeholder:"DATE" eg:"2027-06-01"`
	From         string `help:"Day from which it is counted; default today." placeholder:"DATE" eg:"2026-11-28"`
	Ends         bool   `help:"It is due no more."`
	Corrects     int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	Why          string `help:"Why, for the record." eg:"'by the maker of the machine'"`
	Who          string `help:"Who writes it down." default:"owner" eg:"Odile"`
}

// Run writes down what is due.
func (c *careDueCmd) Run(s *session) error {
	d := care.Due{What: c.What, EveryDays: c.EveryDays, EveryBatches: c.EveryBatches, By: c.By, From: c.From, Ends: c.Ends}
	return s.writeCare(care.Entry{Thing: c.thing(), Due: &d}, c.Corrects, c.Who, c.Why)
}

// writeCare writes an entry and shows the ledger.
func (s *session) writeCare(e care.Entry, corrects int64, who, why string) error {
	return s.withBook(false, func(a *app.App) error {
		if err := a.WriteCare(s.ctx, e, corrects, who, why); err != nil {
			return careFault(err)
		}
		return s.showCare(a, e.Thing)
	})
}

// careFault names the flag instead of the field that it fills.
func careFault(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	part, field, _ := strings.Cut(f.Field, ".")
	switch {
	case part == "corrects":
		return f.At("--corrects")
	case field != "":
		return f.At("--" + strings.ReplaceAll(field, "_", "-"))
	}
	return f.At("")
}

func (s *session) showCare(a *app.App, t care.Thing) error {
	r, err := a.CareOf(s.ctx, t)
	if err != nil {
		return careFault(err)
	}
	return s.print(r, func(p *printer) { printCareOf(p, r) })
}

func printCareOf(p *printer, r *app.CareThing) {
	state := "in use"
	if r.OutOfUse {
		state = "OUT OF USE"
	}
	if !r.InBook {
		state += ", no longer in the shop book"
	}
	p.line("%s (%s)  %s", r.Name, r.Thing, state)
	table(p, func(w *tabwriter.Writer) {
		for _, f := range r.Faults {
			by := ""
			if f.SettledOn != "" {
				by = " " + f.SettledOn + " " + f.SettledBy
			}
			fmt.Fprintf(w, "fault, act %d\t%s%s\t%s, found %s\n", f.Act, stopWord(f), by, app.SayTrouble(f.Found), f.On)
		}
		for _, d := range r.Due {
			fmt.Fprintf(w, "due\t%s\t%s, %s\n", d.Urgency, d.What, dueWords(d))
		}
		for _, x := range r.Last {
			fmt.Fprintf(w, "last\t%s\t%s\n", x.Work, x.On)
		}
	})
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "act\twritten\twho\twhat")
		for _, e := range r.Entries {
			what := app.SayCare(e.Entry)
			if e.Corrected {
				what = "corrected: " + what
			}
			switch {
			case e.Corrects != 0 && e.Entry == (care.Entry{Thing: e.Entry.Thing}):
				what += fmt.Sprintf(": act %d", e.Corrects)
			case e.Corrects != 0:
				what += fmt.Sprintf(", in place of act %d", e.Corrects)
			}
			if e.Reason != "" {
				what += " (" + e.Reason + ")"
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", e.Act, e.At.Format("2006-01-02"), e.Person, what)
		}
	})
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

type rollsCmd struct {
	InsteadOf string       `help:"The pair that is not to be used; left out with --recipe: the recipe's." placeholder:"ID" eg:"leaf"`
	Recipe    string       `help:"One recipe; default all that run on the pair." placeholder:"ID" eg:"damson-leaves"`
	Product   string       `help:"Bags of one product; default all the recipe goes into." placeholder:"ID" eg:"damson-leaves-113"`
	Charge    *q.Kilograms `help:"All that goes into the kettle; default a whole boil." placeholder:"MASS" eg:"7kg"`
}

// Run says what other pairs of rolls come to.
func (c *rollsCmd) Run(s *session) error {
	req := app.RollsRequest{Rolls: c.InsteadOf, Recipe: c.Recipe, Product: c.Product}
	if c.Charge != nil {
		req.Charge = *c.Charge
	}
	return s.withBook(false, func(a *app.App) error {
		r, err := a.InsteadOf(s.ctx, req)
		var f *fault.Error
		if errors.As(err, &f) && f.Field == "rolls" {
			return f.At("--instead-of")
		}
		if err != nil {
			return flagged(err, "recipe", "product", "charge")
		}
		return s.print(r, func(p *printer) { printRolls(p, r) })
	})
}

func printRolls(p *printer, r *app.RollsResult) {
	u := r.Units
	if r.OutOfUse != "" {
		p.line("! %s", r.OutOfUse)
	}
	if len(r.Recipes) == 0 {
		p.line("Nothing runs on the %s rolls.", r.Name)
	}
	for _, x := range r.Recipes {
		p.line("")
		p.line("%s, a boil of %s", x.Name, u.Mass(q.Kilograms(x.ChargeKg)))
		table(p, func(w *tabwriter.Writer) {
			fmt.Fprintln(w, "rolls\ta piece\tpieces\tchange\tbags")
			for _, y := range append([]app.RollsPair{x.Own}, x.Others...) {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s min\t%s\n", rollsName(y), u.Mass(q.Kilograms(y.PieceG/1000)), countWords(u, y.Pieces), u.Number(float64(y.ChangeMin), 0), bagWords(u, y))
			}
		})
		for _, y := range x.Others {
			for _, f := range y.Bags {
				for _, d := range f.Differs {
					p.line("  %s, %s: %s", y.Name, f.Name, d)
				}
			}
			for _, d := range y.Differs {
				p.line("  %s: %s", y.Name, d)
			}
			for _, c := range y.Cautions {
				p.line("  ! %s: %s", y.Name, c.Text)
			}
		}
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

func rollsName(y app.RollsPair) string {
	switch {
	case y.OutOfUse != "":
		return y.Name + " OUT OF USE"
	case y.Mounted:
		return y.Name + " (mounted)"
	}
	return y.Name
}

func countWords(u q.Reader, e *q.Estimate) string {
	if e == nil {
		return "–"
	}
	return fmt.Sprintf("%s (%s–%s), %s", u.Number(e.Value, 0), u.Number(e.Low, 0), u.Number(e.High, 0), e.Basis)
}

func bagWords(u q.Reader, y app.RollsPair) string {
	if y.Cannot != "" {
		return y.Cannot
	}
	out := make([]string, len(y.Bags))
	for i, f := range y.Bags {
		out[i] = fmt.Sprintf("%s: %s of about %s pieces", f.Name, countWords(u, &f.Bags), u.Number(f.Pieces.Value, 0))
	}
	return strings.Join(out, "; ")
}
