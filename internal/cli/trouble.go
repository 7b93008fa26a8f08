package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

type troubleCmd struct {
	Batch    string `arg:"" help:"Number of the batch; a boil of the day's plan is begun with its trouble."`
	What     string `help:"How it went wrong: grained, scorched, too-soft, wrong-ingredient, metal-or-glass, dropped, stopped; left out: what is written already is looked at." placeholder:"TROUBLE" eg:"grained"`
	When     string `help:"When; left out: now, for a batch of today." placeholder:"HH:MM" eg:"10:17"`
	Note     string `help:"Anything to remember." placeholder:"TEXT" eg:"'on the slab, at the third fold'"`
	WashedBy string `help:"All that a grained batch touched is washed hot and wet, by whom." placeholder:"NAME" eg:"Bram"`
	Corrects int64  `help:"In place of the trouble that this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'wrong button'"`
	Who      string `help:"Who writes it down." default:"owner" eg:"Odile"`
}

// Run writes a trouble down and says what to do.
func (c *troubleCmd) Run(s *session) error {
	switch {
	case c.What == "" && (c.When != "" || c.Note != "" || c.Corrects != 0):
		return fault.Invalid("it is not said how it went wrong").At("--what").WithHint("one of %s", strings.Join(hyphened(record.Troubles()), ", "))
	case c.What != "" && c.WashedBy != "":
		return fault.Invalid("--washed-by goes with no trouble").At("--washed-by").WithHint("write the trouble down first, and the wash when it is done")
	}
	return s.withBook(false, func(a *app.App) error {
		var err error
		switch {
		case c.What != "":
			what := record.Trouble(strings.ReplaceAll(strings.ToLower(strings.TrimSpace(c.What)), "-", " "))
			err = a.Trouble(s.ctx, app.TroubleRequest{Batch: c.Batch, What: what, When: c.When, Note: c.Note, Corrects: c.Corrects}, c.Who, c.Why)
		case c.WashedBy != "":
			err = a.Washed(s.ctx, c.Batch, c.WashedBy, c.Who)
		}
		if err != nil {
			return troubleFault(err)
		}
		return s.showTrouble(a, c.Batch)
	})
}

type decideCmd struct {
	Batch    string `arg:"" help:"Number of the batch."`
	As       string `help:"What becomes of it: hold, reboil, relabel, divert, bin, usable." required:"" placeholder:"PLACE" eg:"bin"`
	Because  string `help:"What was looked at, and what was found; a hold may do without." placeholder:"TEXT" eg:"scorched"`
	Corrects int64  `help:"In place of what this act decided." placeholder:"ACT" eg:"14"`
	Why      string `help:"Why it is corrected, for the record." eg:"'wrong batch'"`
	Who      string `help:"Who decides." default:"owner" eg:"Odile"`
}

// Run says what becomes of a batch.
func (c *decideCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		err := a.Decide(s.ctx, app.DecideRequest{Batch: c.Batch, As: record.Place(strings.ToLower(strings.TrimSpace(c.As))), Why: c.Because, Corrects: c.Corrects}, c.Who, c.Why)
		if err != nil {
			return troubleFault(err)
		}
		return s.showTrouble(a, c.Batch)
	})
}

// hyphened are words as they are written in a command.
func hyphened[T ~string](list []T) []string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = strings.ReplaceAll(string(x), " ", "-")
	}
	return out
}

// troubleFault names the flag instead of the field of the record it fills.
func troubleFault(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	for field, flag := range map[string]string{"trouble.what": "--what", "trouble.when": "--when", "trouble": "--note", "placed.as": "--as", "placed.why": "--because", "placed": "--because", "cleaned": "--washed-by", "cleaned.by": "--washed-by", "corrects": "--corrects"} {
		if f.Field == field {
			return f.At(flag)
		}
	}
	return err
}

func (s *session) showTrouble(a *app.App, batch string) error {
	r, err := a.TroubleOf(s.ctx, batch)
	if err != nil {
		return err
	}
	return s.print(r, func(p *printer) { printTrouble(p, r) })
}

func printTrouble(p *printer, r *app.TroubleResult) {
	p.line("%s  %s: %s%s", r.Batch, r.Name, app.SayPlace(r.Place), after(", ", r.PlaceWhy))
	if len(r.Troubles) == 0 {
		p.line("No trouble is written of it.")
	}
	for _, n := range r.Now {
		p.line("")
		p.line("%s: the next thirty seconds", strings.ToUpper(string(n.What)))
		for i, line := range n.Lines {
			p.line("%d. %s", i+1, line)
		}
	}
	if r.Wash != nil {
		p.line("")
		p.line("%s", r.Wash.SayWash())
	}
	if len(r.Options) > 0 {
		p.line("")
		table(p, func(w *tabwriter.Writer) {
			for _, o := range r.Options {
				open := "open"
				if !o.Open {
					open = "closed"
				}
				fmt.Fprintf(w, "%s\t%s\t%s\n", o.As, open, o.Why)
			}
		})
	}
	printLoss(p, r.Day, r.Units)
	printCauses(p, r.Causes)
	if len(r.OnHold) > 0 {
		p.line("")
		p.line("On hold:")
		for _, h := range r.OnHold {
			p.line("  %s  %s%s", h.Batch, h.Name, after(": ", h.Why))
		}
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

// after puts a text behind a mark, nothing for an empty one.
func after(mark, text string) string {
	if text == "" {
		return ""
	}
	return mark + text
}

func printLoss(p *printer, l *app.Loss, u q.Reader) {
	if l == nil {
		return
	}
	p.line("")
	if l.Why != "" {
		p.line("Short: nothing; %s.", l.Why)
	}
	table(p, func(w *tabwriter.Writer) {
		for _, x := range l.Short {
			fmt.Fprintf(w, "short\t%s\tof %d bags\t%s\n", x.Name+after(", ", x.For), x.Asked, u.SayCount(x.Short, "bags"))
		}
	})
	if !l.Remake.Until.IsZero() {
		least := ""
		if !l.Remake.Proved {
			least = " (perhaps later still)"
		}
		p.line("Remake: flame up by %s%s: %s.", l.Remake.Until.Format("15:04"), least, l.Remake.Why)
		return
	}
	p.line("Remake: %s.", l.Remake.Why)
}

func printCauses(p *printer, list []app.CauseLine) {
	if len(list) == 0 {
		return
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "possible cause\twhat is written\tlook at")
		for _, c := range list {
			fmt.Fprintf(w, "%s\t%s\t%s\n", c.What, strings.Join(c.Says(), "; "), c.Look)
		}
	})
}
