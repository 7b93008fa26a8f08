package cli

import (
	"strings"

	"slabside/internal/app"
	"slabside/internal/limit"
	q "slabside/internal/quantity"
)

type limitsCmd struct {
	Recipe string       `help:"A recipe of the shop book." required:"" placeholder:"ID" eg:"damson-leaves"`
	Charge *q.Kilograms `help:"All that goes into the kettle, water included; default a whole boil." placeholder:"MASS" eg:"7kg"`
	Market []string     `help:"Whose law: us, eu, uk or ca, several with commas; default the shop's market." placeholder:"MARKET" eg:"uk,us"`
	Date   string       `help:"The day on which the law holds; default today." placeholder:"DATE" eg:"2027-02-01"`
	Most   string       `help:"An ingredient of the recipe: how much of it may go in at most." placeholder:"ID" eg:"purple"`
}

// Run holds a recipe against the law; the answer is no where a limit of it is passed.
func (c *limitsCmd) Run(s *session) error {
	asked, err := app.BoilAsked{Recipe: c.Recipe, Charge: c.Charge}.Request("--")
	if err != nil {
		return err
	}
	req := app.LimitsRequest{Boil: asked, Markets: c.Market, Date: c.Date, Most: c.Most}
	return s.withBook(false, func(a *app.App) error {
		r, err := a.Limits(s.ctx, req)
		if err != nil {
			return flagged(err, "recipe", "charge", "market", "date", "most")
		}
		if err := s.print(r, func(p *printer) { printLimits(p, r) }); err != nil {
			return err
		}
		if r.Exceeded() {
			return errNo
		}
		return nil
	})
}

func printLimits(p *printer, r *app.LimitsResult) {
	p.line("%s, as on %s", r.Name, r.Date)
	for _, m := range r.Markets {
		p.line("")
		p.line("%s: %s by its law", m.Title(), m.Answer)
		for _, f := range m.List {
			line := f.Text
			if f.Status != "" {
				line += " [" + f.Status + "]"
			}
			p.line("%-12s %s", f.Answer, line)
			for _, w := range f.Why {
				p.line("%-12s   %s", "", w)
			}
		}
		for _, t := range m.Tables {
			p.line("table: %s, from %s, read on %s", t.Title, t.From, t.Read)
		}
		p.line("not covered:")
		for _, n := range m.NotCovered {
			p.line("  – %s", n)
		}
	}
	if g := r.Most; g != nil {
		p.line("")
		p.line("%s at most", g.Name)
		printGreatest(p, r.Units, "by the law's figures", g.Law, g.NoLaw)
		printGreatest(p, r.Units, "by surveys", g.Advice, g.NoAdvice)
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}

func printGreatest(p *printer, u q.Reader, by string, d *app.GreatestDose, none string) {
	if d == nil {
		p.line("%-21s none found: %s", by, none)
		return
	}
	var doses []string
	for _, x := range d.Doses {
		doses = append(doses, x.Text)
	}
	p.line("%-21s %s, for %s [%s]", by, strings.Join(doses, "; "), d.Rule, d.Status)
	p.line("%-21s   which then is %s; at most %s", "", limit.Content(u, d.Reached, d.Most), limit.Content(u, q.ExactOf(float64(d.Most)), d.Most))
}
