package cli

import (
	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type noteCmd struct {
	Batch string `arg:"" help:"Number of the batch."`

	Read     *q.Celsius   `help:"The lift: read on the glass." placeholder:"TEMP" eg:"151C"`
	Gross    *q.Kilograms `help:"The lift: kettle and sugar on the scale." placeholder:"MASS" eg:"15.2kg"`
	Empty    *q.Kilograms `help:"The empty kettle with all that stood on the scale; left out: the scale was set to zero with it." placeholder:"MASS" eg:"4kg"`
	Scale    string       `help:"On which scale." placeholder:"ID" eg:"bench"`
	Flame    *q.Duration  `help:"The lift: how long the flame burned." placeholder:"TIME" eg:"25min"`
	Pressure *q.Pascals   `help:"The lift: station pressure, not reduced to sea level." placeholder:"PRESSURE" eg:"998hPa"`

	Moisture *q.Fraction `help:"A measured moisture." placeholder:"SHARE" eg:"2.4%"`
	Sure     *q.Fraction `help:"How sure the moisture is, plus or minus." placeholder:"SHARE" eg:"0.3%"`
	Of       string      `help:"What it was measured of: sweet, or sugar from the kettle." placeholder:"sweet|sugar" eg:"sweet"`
	Method   string      `help:"How it was measured." placeholder:"TEXT" eg:"'oven, 4 h at 70 C'"`

	Pull       *q.Celsius `help:"At which it could first be pulled." placeholder:"TEMP" eg:"85C"`
	FirstSheet *q.Celsius `help:"Of the first good sheet through the rolls." placeholder:"TEMP" eg:"80C"`
	LastSheet  *q.Celsius `help:"Of the last good sheet." placeholder:"TEMP" eg:"70C"`
	Probe      *q.Kelvins `help:"How sure the thermometer of these is, plus or minus." placeholder:"DIFFERENCE" eg:"2C"`

	workFlags

	Corrects int64  `help:"In place of what this act wrote." placeholder:"ACT" eg:"13"`
	TakeBack int64  `help:"Take back what this act wrote." placeholder:"ACT" eg:"13"`
	Why      string `help:"Why, for the record." eg:"'misread'"`
	Who      string `help:"Who writes it down." default:"owner" eg:"Odile"`
}

// Run writes to the record of a batch and shows it.
func (c *noteCmd) Run(s *session) error {
	n := app.NoteAsked{Read: c.Read, Gross: c.Gross, Empty: c.Empty, Scale: c.Scale, Flame: c.Flame, Pressure: c.Pressure,
		Moisture: c.Moisture, Sure: c.Sure, Of: c.Of, Method: c.Method, Pull: c.Pull, FirstSheet: c.FirstSheet, LastSheet: c.LastSheet, Probe: c.Probe, Work: app.WorkAsked(c.workFlags)}
	w, err := app.ReadNote(c.Batch, n, c.Corrects, c.TakeBack, "--")
	if err != nil {
		return err
	}
	return s.withBook(false, func(a *app.App) error {
		if err := a.Write(s.ctx, w, c.Who, c.Why); err != nil {
			return app.NoteFault(err, "--")
		}
		return s.showRecord(a, c.Batch, false)
	})
}
