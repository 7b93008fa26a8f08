package cli

import (
	"cmp"
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
			say := func(e q.Estimate) string { return u.SayDifference(e, 1) }
			if f.Unit == "frac" {
				say = func(e q.Estimate) string { return u.SayPercent(e, 0) }
			}
			fmt.Fprintf(w, "%s\t%s\t%s\n", learnedWords(f.Name, f.OfName), say(f.Before), say(f.Now()))
		}
	})
	if len(r.Refused) > 0 {
		p.line("")
		p.line("Not learned")
		for _, x := range r.Refused {
			p.line("  – %s: %s", learnedWords(x.Name, ""), x.Why)
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

// learnedWords says what a learned figure is, of a glass or a kettle by its name.
func learnedWords(figure, of string) string {
	switch figure {
	case "boils_hotter":
		return "the sugar boils hotter than the equation says by"
	case "glass_reads_high":
		return cmp.Or(of, "the glass") + " reads too high, at the end of a boil, by"
	case "stands_up_higher":
		return "the sweet stands up to more than the glass transition says by"
	case "kettle_gets":
		return cmp.Or(of, "the kettle") + " gets of its burner's heat"
	}
	return strings.ReplaceAll(figure, "_", " ")
}
