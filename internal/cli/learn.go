package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type learnCmd struct{}

// Run says what the records teach of the room.
func (c *learnCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Learned(s.ctx)
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printLearned(p, r) })
	})
}

func printLearned(p *printer, r *app.LearnResult) {
	u := r.Units
	if r.From != "" {
		p.line("By the batches made from %s on.", r.From)
	}
	table(p, func(w *tabwriter.Writer) {
		if len(r.Figures) > 0 {
			fmt.Fprintln(w, "figure\twithout records\twith them")
		}
		for _, f := range r.Figures {
			say := func(e q.Estimate) string { return app.SayLearned(u, f.Unit, e) }
			fmt.Fprintf(w, "%s\t%s\t%s\n", named(f.Says, f.OfName), say(f.Before), say(f.Now()))
		}
	})
	if len(r.Refused) > 0 {
		p.line("")
		p.line("Not learned")
		for _, x := range r.Refused {
			p.line("  – %s: %s", x.Says, x.Why)
		}
	}
	if len(r.Aside) > 0 {
		p.line("")
		p.line("Set aside")
		for _, x := range r.Aside {
			p.line("  – %s: %s", strings.Join(x.Batches, ", "), x.Why)
		}
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

// named is a figure with what it is of, where it is of a thing.
func named(says, of string) string {
	if of == "" {
		return says
	}
	return says + ", " + of
}
