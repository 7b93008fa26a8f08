package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type readingsCmd struct {
	Batch string `help:"Those of one batch: said to be of it, or found to be by time and place." placeholder:"BATCH" eg:"2026-11-28-2"`
	Probe string `help:"Those of one thermometer." placeholder:"ID" eg:"brass"`
	In    string `help:"Those of one place: kettle, slab, plate, hook, rolls, sheet, water-in, water-out or air." placeholder:"PLACE" eg:"kettle"`
	From  string `help:"Measured then or later: a date, or a time in the shop's zone." placeholder:"TIME" eg:"2026-11-28"`
	To    string `help:"Measured before then." placeholder:"TIME" eg:"'2026-11-28 14:00'"`
	Limit int    `help:"How many at most, 1 to 5000." default:"500" placeholder:"N" eg:"50"`
	After string `help:"Go on after this one of the list." placeholder:"KEY" eg:"1795860000000,0,brass"`
}

// Run lists readings.
func (c *readingsCmd) Run(s *session) error {
	return s.withBook(false, func(a *app.App) error {
		b, _, err := a.Book(s.ctx)
		if err != nil {
			return err
		}
		zone, err := time.LoadLocation(b.Shop.TimeZone)
		if err != nil {
			zone = time.UTC
		}
		req := app.ReadingQuery{Batch: c.Batch, Probe: c.Probe, In: c.In, Limit: c.Limit, After: c.After}
		if req.From, err = app.ParseMoment("from", c.From, zone); err == nil {
			req.To, err = app.ParseMoment("to", c.To, zone)
		}
		var r *app.ReadingsResult
		if err == nil {
			r, err = a.Readings(s.ctx, req)
		}
		if err != nil {
			return flagged(err, "batch", "in", "from", "to", "limit", "after")
		}
		return s.print(r, func(p *printer) { printReadings(p, r) })
	})
}

func printReadings(p *printer, r *app.ReadingsResult) {
	if len(r.Readings) == 0 {
		p.line("There is no such reading.")
		return
	}
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "measured\tshown\twhere\tthermometer\tbatch\tcame from")
		for _, x := range r.Readings {
			value := r.Units.Temperature(q.Celsius(x.C), 1)
			if x.SetAside > 0 {
				value += ", set aside"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s, %s\n", x.At.Format("2006-01-02 15:04:05"), value, x.In, x.Probe, x.Batch, x.By, x.Source)
		}
	})
	if r.Next != "" {
		p.line("There are more: slabside readings --after %s", r.Next)
	}
	p.cautions(r.Cautions)
}

type importReadingsCmd struct {
	File  string `arg:"" help:"What the logger wrote: comma, semicolon or tab separated text, up to 8 MB."`
	Probe string `help:"The thermometer, by its id in the shop book." required:"" placeholder:"ID" eg:"brass"`
	In    string `help:"Where it looked: kettle, slab, plate, hook, rolls, sheet, water-in, water-out or air." required:"" placeholder:"PLACE" eg:"slab"`
	Batch string `help:"The batch it is of; left out: found by time and place." placeholder:"BATCH" eg:"2026-11-28-2"`

	DryRun      bool       `help:"Say what the file is taken for, and keep nothing."`
	TimeColumn  string     `help:"Column of the time, by its name or its number from 1; two with + between for date and time of day." placeholder:"NAME" eg:"Date+Time"`
	ValueColumn string     `help:"Column of the value." placeholder:"NAME" eg:"2"`
	Unit        string     `help:"C or F; left out: as the file says, else C." placeholder:"UNIT" eg:"F"`
	Dates       string     `help:"day-first or month-first, where the file leaves it open." placeholder:"ORDER" eg:"day-first"`
	Zone        string     `help:"Time zone of times that say none; left out: the shop's." placeholder:"ZONE" eg:"UTC"`
	Overlap     string     `help:"first or second, for times that come twice where the clocks go back." placeholder:"WHICH" eg:"first"`
	Ahead       q.Duration `help:"How far the logger's clock was ahead; --ahead=-90s: behind." placeholder:"TIME" eg:"90s"`
	Who         string     `help:"Who brings it in." default:"owner" eg:"Odile"`
}

// Run takes in a logger's file.
func (c *importReadingsCmd) Run(s *session) error {
	f, err := os.Open(c.File)
	if err != nil {
		return fileFault(c.File, err)
	}
	defer f.Close()
	return s.withBook(false, func(a *app.App) error {
		r, err := a.ReadLogger(s.ctx, app.LoggerRequest{Name: filepath.Base(c.File), From: f, Probe: c.Probe, In: c.In, Batch: c.Batch,
			TimeColumn: c.TimeColumn, ValueColumn: c.ValueColumn, Unit: c.Unit, Dates: c.Dates, Zone: c.Zone, Overlap: c.Overlap, Ahead: time.Duration(c.Ahead), Look: c.DryRun}, c.Who)
		if err != nil {
			return flagged(err, "probe", "in", "batch", "time-column", "value-column", "unit", "dates", "zone", "overlap", "ahead")
		}
		return s.print(r, func(p *printer) { printLogger(p, r) })
	})
}

func printLogger(p *printer, r *app.LoggerResult) {
	const form = "2006-01-02 15:04:05"
	p.line("Time in column %s, temperature in column %s, in %s; time zone: %s.", r.TimeColumn, r.ValueColumn, r.Unit, r.Zone)
	p.line("%d readings from %s to %s, %s.", r.N, r.First.Format(form), r.Last.Format(form), r.Units.TemperatureRange(q.Celsius(r.LowestC), q.Celsius(r.HighestC), 1))
	if r.Empty > 0 {
		p.line("%d rows without a value were left out.", r.Empty)
	}
	for _, n := range r.Notes {
		p.line("Look: %s.", n)
	}
	table(p, func(w *tabwriter.Writer) {
		for _, x := range r.Shown {
			fmt.Fprintf(w, "line %d\t%s\t%s\n", x.Line, x.At.Format(form), r.Units.Temperature(q.Celsius(x.C), 1))
		}
	})
	verb := "kept"
	if r.Looked {
		verb = "would be kept; this was a dry run"
	}
	p.line("%d new, %d there already, %d set aside: %s.", r.Kept, r.Repeated, r.SetAside, verb)
	p.cautions(r.Cautions)
}
