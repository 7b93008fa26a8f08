package cli

import (
	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type beginCmd struct {
	Recipe   string       `help:"What is boiled." placeholder:"ID" eg:"damson-leaves"`
	Charge   *q.Kilograms `help:"All that goes into the kettle, water included; default a whole boil." placeholder:"MASS" eg:"7kg"`
	On       string       `help:"Making day; default that of --batch, else today." placeholder:"DATE" eg:"2026-11-28"`
	Batch    string       `help:"Number of the batch; default the next of the day." placeholder:"BATCH" eg:"2026-11-28-2"`
	Kettle   string       `help:"Kettle; default the recipe's." placeholder:"ID" eg:"pan"`
	Glass    string       `help:"Thermometer that is read; default the day's." placeholder:"ID" eg:"brass"`
	Corrects int64        `help:"Correct the beginning that this act wrote; what is left out stays." placeholder:"ACT" eg:"12"`
	Why      string       `help:"Why, for the record." eg:"'read off the sheet'"`
	Who      string       `help:"Who begins it." default:"owner" eg:"Odile"`
}

// Run begins the record of a batch.
func (c *beginCmd) Run(s *session) error {
	req, err := app.BeginAsked{Recipe: c.Recipe, Charge: c.Charge, On: c.On, Batch: c.Batch, Kettle: c.Kettle, Glass: c.Glass, Corrects: c.Corrects}.Request("--")
	if err != nil {
		return err
	}
	return s.withBook(false, func(a *app.App) error {
		batch, err := a.Begin(s.ctx, req, c.Who, c.Why)
		if err != nil {
			return app.BeginFault(err, "--")
		}
		if s.json {
			return s.showRecord(a, batch, false)
		}
		p := &printer{w: s.Stdout}
		p.line("%s", batch)
		return p.err
	})
}
