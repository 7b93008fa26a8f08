package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type recordCmd struct {
	Batch string `arg:"" help:"Number of the batch."`
}

// Run shows one record.
func (c *recordCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error { return s.showRecord(a, c.Batch) })
}

// showRecord prints the record of a batch.
func (s *session) showRecord(a *app.App, batch string) error {
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
	return s.print(r, func(p *printer) { printRecord(p, r, zone) })
}

func printRecord(p *printer, r *app.RecordResult, zone *time.Location) {
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
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", e.Act, e.At.In(zone).Format("2006-01-02 15:04"), e.Person, what)
		}
	})
	printMade(p, r)
	printSeen(p, r)
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
	default:
		return fmt.Sprintf("act %d taken back", e.Corrects)
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
	})
}

// sayOr prints an estimate that may be missing.
func sayOr(e *q.Estimate, say func(q.Estimate) string) string {
	if e == nil {
		return "–"
	}
	return say(*e)
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
