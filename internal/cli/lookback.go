package cli

import (
	"fmt"
	"text/tabwriter"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type lookBackCmd struct {
	Glass string `arg:"" help:"Thermometer that was checked."`
}

// Run looks back at what was boiled on a glass; the answer is no if any of it is to be
// held.
func (c *lookBackCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.LookBack(s.ctx, c.Glass)
		if err != nil {
			return err
		}
		if err := s.print(r, func(p *printer) { printLookBack(p, r) }); err != nil {
			return err
		}
		for _, x := range r.Batches {
			if x.Advice == app.AdviceHold {
				return errNo
			}
		}
		return nil
	})
}

func printLookBack(p *printer, r *app.LookBack) {
	u := r.Units
	if r.Check == nil {
		p.line("No check of %s found it off: there is nothing to look back at.", r.Name)
		p.cautions(r.Cautions)
		return
	}
	off, way := q.Kelvins(r.Check.OffK), "high"
	if off < 0 {
		off, way = -off, "low"
	}
	p.line("%s read %s too %s when it was checked on %s against %s; within %s it would have been good.", r.Name, u.Difference(off, 1), way, r.Check.On, againstWords(r.Check.Against),
		u.Difference(q.Kelvins(r.Check.AllowedK), 1))
	if r.LastGood != "" {
		p.line("The last good check before it: %s.", r.LastGood)
	} else {
		p.line("No good check was noted before it.")
	}
	if len(r.Batches) == 0 {
		p.line("No batch was read on it in between.")
	}
	for _, x := range r.Batches {
		p.line("")
		p.line("%s  %s: %s", x.Batch, x.Name, x.Advice)
		p.line("  → %s", x.Why)
		printWasIs(p, x, u)
		if x.Assumed {
			p.line("  no reading is written down: taken as lifted at its mark")
		}
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

// printWasIs puts what a batch was held to be beside what it is.
func printWasIs(p *printer, x app.LookedBack, u q.Reader) {
	if x.Is.WaterFrac == nil && x.Is.StandsC == nil {
		return
	}
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "  \tas it was held to be\tas the check has it")
		pct := func(e q.Estimate) string { return u.SayPercent(e, 2) }
		temp := func(e q.Estimate) string { return u.SayTemperature(e, 1) }
		fmt.Fprintf(w, "  water in the kettle at the lift\t%s\t%s\n", sayOr(x.Was.WaterFrac, pct), sayOr(x.Is.WaterFrac, pct))
		fmt.Fprintf(w, "  stands up to\t%s\t%s\n", sayOr(x.Was.StandsC, temp), sayOr(x.Is.StandsC, temp))
	})
}

// againstWords says what a glass was checked against.
func againstWords(against string) string {
	if against == "reference" {
		return "a probe that is known"
	}
	return against
}
