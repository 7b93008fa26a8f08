package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"slabside/internal/app"
	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

type recordCmd struct {
	Batch string `arg:"" help:"Number of the batch."`
	Rules bool   `help:"List what record rules ask for, item by item, and what this record has of it."`
}

// Run shows one record.
func (c *recordCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error { return s.showRecord(a, c.Batch, c.Rules) })
}

// showRecord prints the record of a batch.
func (s *session) showRecord(a *app.App, batch string, rules bool) error {
	r, err := a.Record(s.ctx, batch)
	if err != nil {
		return err
	}
	b, _, err := a.Book(s.ctx)
	if err != nil {
		return err
	}
	zone, err := time.LoadLocation(b.Shop.TimeZone)
	if err != nil {
		zone = time.UTC
	}
	return s.print(r, func(p *printer) { printRecord(p, r, zone, rules) })
}

func printRecord(p *printer, r *app.RecordResult, zone *time.Location, rules bool) {
	u := r.Units
	if b := r.Begun; b != nil {
		p.line("%s  %s, %s in %s, read on %s", r.Batch, r.Name, massOf(u, b.ChargeMg), r.Kettle, r.Glass)
	} else {
		p.line("%s  taken back", r.Batch)
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "act\twhen\twho\twhat")
		for _, e := range r.Entries {
			what := entryWords(e, u)
			if e.Corrected {
				what = "corrected: " + what
			}
			if e.Reason != "" {
				what += " (" + e.Reason + ")"
			}
			if e.Unsigned {
				what += " [after the sign-off]"
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", e.Act, e.At.In(zone).Format("2006-01-02 15:04"), e.Person, what)
		}
	})
	printBefore(p, r)
	printMade(p, r)
	printSeen(p, r)
	printBalance(p, r.Units, r.Balance)
	printStands(p, r, zone)
	printRules(p, r.Rules, rules)
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

// entryWords says what an entry writes down.
func entryWords(e app.EntryLine, u q.Reader) string {
	var says []string
	say := func(format string, a ...any) { says = append(says, fmt.Sprintf(format, a...)) }
	temp := func(what string, c float64) {
		if c != 0 {
			say("%s %s", what, u.Temperature(q.Celsius(c), 1))
		}
	}
	kind := ""
	switch {
	case e.Begun != nil:
		say("begun: %s of %s in %s, read on %s", massOf(u, e.Begun.ChargeMg), e.Begun.Recipe, e.Begun.Kettle, e.Begun.Glass)
	case e.Lifted != nil:
		l := e.Lifted
		kind = "lifted: "
		temp("read", l.ReadC)
		if net, ok := l.NetKg(); ok {
			say("held %s (%s less %s)", u.Mass(q.Kilograms(net)), massOf(u, l.GrossMg), massOf(u, l.EmptyMg))
		}
		if l.FlameS != 0 {
			say("flame %s", strings.TrimSuffix(q.Span(float64(l.FlameS)), " 0 s"))
		}
		if l.LitAt != "" {
			say("lit at %s", l.LitAt)
		}
		if l.LiftedAt != "" {
			say("lifted at %s", l.LiftedAt)
		}
		if l.StationPa != 0 {
			say("air %s", u.Pressure(q.Pascals(l.StationPa)))
		}
	case e.Moisture != nil:
		m := e.Moisture
		say("moisture of the %s: %s ± %s", m.Of, u.Percent(q.Fraction(m.WaterFrac), 2), u.Percent(q.Fraction(m.SureFrac), 2))
		if m.Method != "" {
			say("%s", m.Method)
		}
	case e.Worked != nil:
		temp("pulled from", e.Worked.PullC)
		temp("first good sheet at", e.Worked.RollC)
		temp("last good sheet at", e.Worked.LastC)
		say("± %s", u.Difference(q.Kelvins(e.Worked.SureK), 1))
	case e.Kind() == record.Taking:
		return fmt.Sprintf("act %d taken back", e.Corrects)
	default:
		says = []string{strings.Join(app.SayWork(u, e.Entry), "; ")}
	}
	if e.Corrects != 0 {
		say("in place of act %d", e.Corrects)
	}
	return kind + strings.Join(says, ", ")
}

func massOf(u q.Reader, mg int64) string { return u.Mass(q.Kilograms(float64(mg) / 1e6)) }

// printMade puts what a batch was to be beside what it must have become.
func printMade(p *printer, r *app.RecordResult) {
	if r.Planned == nil {
		return
	}
	u := r.Units
	became := app.MadeFigures{}
	if r.Became != nil {
		became = *r.Became
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "\tas planned\tas it became")
		row := func(name string, planned, became *q.Estimate, say func(q.Estimate) string) {
			if planned != nil || became != nil {
				fmt.Fprintf(w, "%s\t%s\t%s\n", name, sayOr(planned, say), sayOr(became, say))
			}
		}
		temp := func(e q.Estimate) string { return u.SayTemperature(e, 1) }
		row("read on the glass", r.Planned.ReadC, became.ReadC, temp)
		row("water in the kettle at the lift", r.Planned.WaterFrac, became.WaterFrac, func(e q.Estimate) string { return u.SayPercent(e, 2) })
		row("stands up to", r.Planned.StandsC, became.StandsC, temp)
		row("time with the flame", r.Planned.FlameS, became.FlameS, u.SayMinutes)
		for _, l := range r.Made {
			made := "–"
			if l.Made != nil {
				made = app.SayMade(u, l.Unit, q.ExactOf(float64(*l.Made)))
			}
			if l.Off {
				made += ", out of the range"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\n", app.MadeName(l.What), app.SayMade(u, l.Unit, l.Planned), made)
		}
	})
}

// sayOr prints an estimate that may be missing.
func sayOr(e *q.Estimate, say func(q.Estimate) string) string {
	if e == nil {
		return "–"
	}
	return say(*e)
}

// printBefore says what is looked at before the flame, and how it was answered.
func printBefore(p *printer, r *app.RecordResult) {
	if r.Before == nil {
		return
	}
	p.line("")
	if r.Before.Ready {
		p.line("Before the flame: all looked at.")
	} else {
		p.line("NOT BEFORE THE FLAME: look at what is not answered with yes.")
	}
	table(p, func(w *tabwriter.Writer) {
		for _, x := range r.Before.Asked {
			says := string(x.Says)
			if says == "" {
				says = "not answered"
			}
			if x.By != "" {
				says += ", " + x.By
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\n", app.CheckName(x.Item), says, x.Why)
		}
	})
}

// printBalance holds what was in the kettle against what is written of it.
func printBalance(p *printer, u q.Reader, x *app.Balance) {
	if x == nil {
		return
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		how := "by the plan"
		if x.Weighed {
			how = "weighed"
		}
		fmt.Fprintf(w, "in the kettle at the lift, %s\t%s\n", how, u.SayMass(x.LiftKg))
		fmt.Fprintf(w, "and added after it, by the recipe\t%s\n", u.SayMass(x.AddedKg))
		for _, l := range x.Written {
			fmt.Fprintf(w, "less %s\t%s\n", app.MadeName(l.What), u.Mass(q.Kilograms(l.Kg)))
		}
		fmt.Fprintf(w, "unaccounted\t%s\n", u.SayMass(x.UnaccountedKg))
		fmt.Fprintf(w, "of it the kettle keeps, by the book\t%s\n", u.SayMass(x.KettleKeepsKg))
	})
}

// printStands says what is open, who signed, and what the record rules ask.
func printStands(p *printer, r *app.RecordResult, zone *time.Location) {
	if r.Begun == nil {
		return
	}
	p.line("")
	if len(r.Open) > 0 {
		p.line("Not written: %s.", app.KindNames(r.Open))
	}
	switch s := r.Signed; {
	case s == nil:
		p.line("Not signed off.")
	case s.Later > 0:
		p.line("Signed off by %s on %s up to act %d; %d written since.", s.By, s.At.In(zone).Format("2006-01-02 15:04"), s.Through, s.Later)
	default:
		p.line("Signed off by %s on %s up to act %d.", s.By, s.At.In(zone).Format("2006-01-02 15:04"), s.Through)
	}
}

// printRules says what record rules ask for: how much of it is written, or all of it.
func printRules(p *printer, list []app.RuleLine, all bool) {
	if len(list) == 0 {
		return
	}
	states := map[string]int{}
	for _, x := range list {
		states[x.State]++
	}
	if !all {
		p.line("Of %d items that record rules ask for %d are written, %d not, %d not covered: --rules lists them.", len(list), states["written"], states["not written"], states["not covered"])
		return
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "record rules\task for\tin this record\tsource")
		for _, x := range list {
			state := x.State
			if x.Else != "" {
				state += ": " + x.Else
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", x.Rule, x.Asks, state, x.Source)
		}
	})
	p.line("As recalled. %s", caution.Text(caution.NotLegal))
}

// printSeen puts what was seen of a batch beside what was to be expected of it.
func printSeen(p *printer, r *app.RecordResult) {
	if len(r.Seen) == 0 {
		return
	}
	p.line("")
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "seen\t\texpected without records\texpected with them")
		for _, x := range r.Seen {
			say := seenUnit(r.Units, x.Unit)
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", seenWords(x.What), say(q.ExactOf(float64(x.Seen))), say(x.Before), say(x.Now))
		}
	})
}

// seenUnit prints what is seen in a unit.
func seenUnit(u q.Reader, unit string) func(q.Estimate) string {
	switch unit {
	case "frac":
		return func(e q.Estimate) string { return u.SayPercent(e, 2) }
	case "s":
		return u.SayMinutes
	}
	return func(e q.Estimate) string { return u.SayTemperature(e, 1) }
}

// seenWords names what was seen.
func seenWords(what string) string {
	switch what {
	case "read":
		return "the glass at the lift"
	case "weighed":
		return "water, by the kettle on the scale"
	case "measured":
		return "water, by the measured moisture"
	case "pulled":
		return "could be pulled from"
	case "rolled":
		return "first good sheet at"
	case "last":
		return "last good sheet at"
	case "burned":
		return "time with the flame"
	}
	return what
}
