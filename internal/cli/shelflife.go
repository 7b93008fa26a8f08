package cli

import (
	"fmt"
	"text/tabwriter"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type shelfLifeCmd struct {
	Product string      `help:"A product of the shop book." required:"" placeholder:"ID" eg:"mint-beads-113"`
	RH      *q.Fraction `help:"Relative humidity of the store; default the room's." name:"rh" placeholder:"SHARE" eg:"65%"`
	At      *q.Celsius  `help:"Temperature of the store; default the warmest of the room's store." placeholder:"TEMP" eg:"25C"`
	Before  []string    `help:"A place it is in before that: days, temperature, humidity. Again for the next." placeholder:"DAYS,TEMP,SHARE" eg:"3,35C,60%" sep:"none"`
}

// Run prints how long a product keeps.
func (c *shelfLifeCmd) Run(s *session) error {
	req := app.ShelfLifeRequest{Product: c.Product, At: c.At, Humidity: c.RH}
	var err error
	if req.Before, err = app.ReadSteps(c.Before); err != nil {
		return err
	}
	return s.withBook(false, func(a *app.App) error {
		r, err := a.ShelfLife(s.ctx, req)
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printShelfLife(p, r) })
	})
}

func printShelfLife(p *printer, r *app.ShelfLifeResult) {
	u := r.Units
	p.line("%s in %s", r.ProductName, r.Pack)
	p.line("%-26s %s", "keeps", r.Text)
	water := func(name string, e *q.Estimate) {
		if e != nil {
			p.line("%-26s %s", name, u.SayPercent(*e, 2))
		}
	}
	water("water as it is made", r.StartWater)
	water("water at the limit", r.LimitWater)
	if r.BalanceWater != nil {
		p.line("%-26s %s", "water in the end", u.Percent(q.Fraction(*r.BalanceWater), 1))
	}
	for _, w := range r.Why {
		p.line("%-26s %s", "", w)
	}
	if len(r.Parts) > 1 {
		p.line("")
		table(p, func(w *tabwriter.Writer) {
			fmt.Fprintln(w, "sweet\tkeeps\twater at the limit")
			for _, k := range r.Parts {
				keeps, limit := k.Bound, ""
				if k.Days != nil {
					keeps = k.Says(u)
				}
				if k.LimitWater != nil {
					limit = u.Percent(q.Fraction(k.LimitWater.Value), 1)
				}
				fmt.Fprintf(w, "%s\t%s\t%s\n", k.Name, keeps, limit)
			}
		})
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}
