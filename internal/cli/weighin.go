package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

type weighInCmd struct {
	Batch string `arg:"" help:"Number of the batch."`
}

// Run shows the sheet of a batch as it is weighed.
func (c *weighInCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error { return s.showWeighIn(a, c.Batch) })
}

type weighCmd struct {
	Batch      string       `arg:"" help:"Number of the batch."`
	Ingredient string       `help:"What was weighed." placeholder:"ID" eg:"sugar"`
	Mass       *q.Kilograms `help:"What the scale says." placeholder:"MASS" eg:"4500g"`
	Lot        string       `help:"Out of which lot; left out: it has none, or nobody can tell." placeholder:"LOT" eg:"r2026-11-20-1"`
	Code       string       `help:"Or the code off the pot, as a scanner types it." placeholder:"TEXT" eg:"GS-2304"`
	Stage      string       `help:"For which moment of the sheet; left out: into the charge." placeholder:"STAGE" eg:"fold"`
	Portion    string       `help:"For which portion; left out: the whole boil." placeholder:"NAME" eg:"green"`
	Instead    string       `help:"In whose place it goes; needs --why." placeholder:"ID" eg:"sugar"`
	Scale      string       `help:"On which scale." placeholder:"ID" eg:"floor"`
	Second     string       `help:"Who looked at label and scale too." placeholder:"NAME" eg:"Wilma"`
	Why        string       `help:"Why another thing, more, or no lot." placeholder:"TEXT" eg:"'out of it'"`
	Corrects   int64        `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	TakeBack   int64        `help:"Take back what this act wrote." placeholder:"ACT" eg:"13"`
	Who        string       `help:"Who weighs." default:"owner" eg:"Odile"`
}

// Run writes down a weighing, corrects one or takes one back.
func (c *weighCmd) Run(s *session) error {
	if c.TakeBack == 0 && (c.Ingredient == "" || c.Mass == nil) {
		return fault.Invalid("it is not said what was weighed").At("--ingredient").WithHint("write --ingredient sugar --mass 4500g, or --take-back ACT")
	}
	return s.withBook(false, func(a *app.App) error {
		if c.TakeBack != 0 {
			if err := a.Enter(s.ctx, record.Entry{Batch: c.Batch}, c.TakeBack, c.Who, c.Why); err != nil {
				return weighFault(err)
			}
			return s.showWeighIn(a, c.Batch)
		}
		w := record.Weighed{Ingredient: c.Ingredient, Lot: c.Lot, MassMg: c.Mass.Milligrams(), Stage: c.Stage, Portion: c.Portion, Instead: c.Instead, Scale: c.Scale, Second: c.Second, Why: c.Why}
		if c.Code != "" {
			got, err := a.ScanFor(s.ctx, c.Ingredient, c.Code)
			var f *fault.Error
			switch {
			case errors.As(err, &f):
				return f.At("--code")
			case err != nil:
				return err
			case !got.Right:
				return fault.Invalid("%s", strings.TrimSuffix(got.Says, ".")).At("--code")
			}
			w.Lot, w.Scanned = got.Lot, true
		}
		if err := a.Weigh(s.ctx, app.WeighRequest{Batch: c.Batch, Weighed: w, Corrects: c.Corrects}, c.Who); err != nil {
			return weighFault(err)
		}
		return s.showWeighIn(a, c.Batch)
	})
}

type scanCmd struct {
	Ingredient string `arg:"" help:"What the sheet asks for."`
	Code       string `arg:"" help:"As the scanner types it."`
}

// Run says what a code on a pot is; status 1 if it is not what the sheet asks for.
func (c *scanCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.ScanFor(s.ctx, c.Ingredient, c.Code)
		if err != nil {
			return flagged(err, "")
		}
		if err := s.print(r, func(p *printer) { p.line("%s", r.Says) }); err != nil || r.Right {
			return err
		}
		return errNo
	})
}

// weighFault names the flag instead of the field it fills.
func weighFault(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	name := strings.TrimPrefix(f.Field, "weighed.")
	for field, flag := range map[string]string{"mass_mg": "mass", "checked_by": "second", "instead_of": "instead"} {
		if name == field {
			name = flag
		}
	}
	if slices.Contains([]string{"ingredient", "lot", "mass", "second", "instead", "why", "scale", "corrects"}, name) {
		return f.At("--" + name)
	}
	return f.At("")
}

func (s *session) showWeighIn(a *app.App, batch string) error {
	r, err := a.WeighInOf(s.ctx, batch)
	if err != nil {
		return err
	}
	return s.print(r, func(p *printer) { printWeighIn(p, r) })
}

func printWeighIn(p *printer, r *app.WeighIn) {
	u := r.Units
	p.line("%s  %s: %s in the kettle of %s", r.Batch, r.Name, massOf(u, r.KettleMg), massOf(u, r.ChargeMg))
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "\twhat\tfor\tgrams\taccept\tscale\tlot\tweighed")
		for i, l := range r.Lines {
			step := q.Kilograms(float64(l.StepMg) / 1e6)
			weight := func(mg int64) string { return u.Weight(q.Kilograms(float64(mg)/1e6), step) }
			mark := " "
			switch {
			case i == r.Next:
				mark = ">"
			case l.State == app.LineDone:
				mark = "x"
			}
			lot := "–"
			switch {
			case l.Tap:
				lot = "tap"
			case len(l.Lots) > 0:
				if lot = l.Lots[0].Lot; l.Lots[0].Strength < 1 {
					lot = fmt.Sprintf("%s of %s (%s in %s)", massOf(u, l.Lots[0].WeighMg), lot, u.Percent(q.Fraction(l.Lots[0].Strength), 2), l.Lots[0].Carrier)
				}
			}
			where := "kettle"
			if l.Stage != "" {
				where = strings.TrimSpace(l.Stage + " " + l.Portion)
			}
			done := l.State
			if l.DoneMg > 0 {
				done = weight(l.DoneMg)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s – %s\t%s\t%s\t%s\n", mark, l.Name, where, weight(l.TargetMg), weight(l.LowMg), weight(l.HighMg), l.ScaleName, lot, done)
		}
	})
	for _, l := range r.Lines {
		if l.Second != "" && l.State != app.LineDone {
			p.line("Two people look at %s: it %s.", l.Name, l.Second)
		}
		for _, x := range l.Stopped {
			p.line("Not this one of %s: %s, %s.", l.Name, x.Lot, x.Status)
		}
		for _, x := range l.Weighed {
			p.line("act %d: %s of %s by %s%s", x.Act, massOf(u, x.MassMg), l.Name, x.Person, outOf(x.Lot)+dosed(u, x.Weighed))
		}
	}
	p.cautions(r.Cautions)
}

// dosed says how much of the ingredient is in a solution that was weighed.
func dosed(u q.Reader, w record.Weighed) string {
	if w.Strength == 0 {
		return ""
	}
	return fmt.Sprintf(", a solution of %s: %s of it", u.Percent(q.Fraction(w.Strength), 2), massOf(u, w.DoseMg()))
}

func outOf(lot string) string {
	if lot == "" {
		return ""
	}
	return " out of " + lot
}
