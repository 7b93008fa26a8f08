package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

type boilCmd struct {
	Recipe string       `help:"A recipe of the shop book, instead of raw amounts." placeholder:"ID" eg:"damson-leaves"`
	Charge *q.Kilograms `help:"All that goes into the kettle, water included; default a whole boil." placeholder:"MASS" eg:"7kg"`

	Sugar       *q.Kilograms `help:"Sugar." placeholder:"MASS" eg:"6.35kg"`
	Syrup       *q.Kilograms `help:"Glucose syrup." placeholder:"MASS" eg:"1.36kg"`
	SyrupDE     *float64     `help:"Dextrose equivalent of the syrup; default 42." name:"syrup-de" placeholder:"DE" eg:"42"`
	SyrupSolids *q.Fraction  `help:"Dry solids of the syrup; default 80.3%." placeholder:"SHARE" eg:"80.3%"`
	Water       *q.Kilograms `help:"Water; default a third of the sugar." placeholder:"MASS" eg:"2kg"`
	Tartar      *q.Kilograms `help:"Cream of tartar." placeholder:"MASS" eg:"10g"`

	To        *q.Celsius  `help:"Boil to this true temperature, here." placeholder:"TEMP" eg:"149C"`
	WaterLeft *q.Fraction `help:"Boil to this much water left." placeholder:"SHARE" eg:"2.5%"`
	Altitude  *q.Metres   `help:"Height above the sea; default the shop book's, else sea level." placeholder:"HEIGHT" eg:"600m"`
	Pressure  *q.Pascals  `help:"Station pressure, not reduced to sea level." placeholder:"PRESSURE" eg:"950hPa"`
}

// check refuses flags that do not go together, and zeros that cannot be meant.
func (c *boilCmd) check() error {
	apart := func(a, b, hint string) error {
		return fault.Invalid("%s and %s do not go together", a, b).WithHint("%s", hint)
	}
	for _, f := range []struct {
		name  string
		given bool
	}{{"--sugar", c.Sugar != nil}, {"--syrup", c.Syrup != nil}, {"--syrup-de", c.SyrupDE != nil},
		{"--syrup-solids", c.SyrupSolids != nil}, {"--water", c.Water != nil}, {"--tartar", c.Tartar != nil}} {
		switch {
		case f.given && c.Recipe != "":
			return apart("--recipe", f.name, "a recipe brings its own amounts; --charge makes it larger or smaller")
		case f.given && c.Charge != nil:
			return apart("--charge", f.name, "the amounts together are the charge; --charge is for a --recipe")
		}
	}
	switch {
	case c.Charge != nil && c.Recipe == "":
		return fault.Invalid("--charge without --recipe").WithHint("name the recipe that it is a charge of, or give --sugar, --syrup and --water")
	case c.Syrup == nil && c.SyrupDE != nil:
		return fault.Invalid("--syrup-de without --syrup").WithHint("say how much syrup it is of")
	case c.Syrup == nil && c.SyrupSolids != nil:
		return fault.Invalid("--syrup-solids without --syrup").WithHint("say how much syrup it is of")
	case c.To != nil && c.WaterLeft != nil:
		return apart("--to", "--water-left", "give one of the two")
	case c.Altitude != nil && c.Pressure != nil:
		return apart("--altitude", "--pressure", "a station pressure needs no altitude")
	case c.To == nil && c.WaterLeft == nil && c.Recipe == "":
		return fault.Invalid("no end of the boil").At("--to").WithHint("give --to 154C or --water-left 2.5%%")
	}
	for _, f := range []struct {
		name  string
		value float64
	}{{"--charge", float64(or(c.Charge, 1))}, {"--to", float64(or(c.To, 1))},
		{"--water-left", float64(or(c.WaterLeft, 1))}, {"--pressure", float64(or(c.Pressure, 1))}} {
		if !(f.value > 0) {
			return fault.Invalid("%s is not above zero", f.name).WithHint("write more than zero, or leave it out")
		}
	}
	return nil
}

// or returns what a flag holds, or what stands for it when it is not given.
func or[T any](p *T, usual T) T {
	if p == nil {
		return usual
	}
	return *p
}

// Run computes one boil.
func (c *boilCmd) Run(s *session) error {
	if err := c.check(); err != nil {
		return err
	}
	var r *app.BoilResult
	end := app.BoilRequest{To: or(c.To, 0), WaterLeft: or(c.WaterLeft, 0), Altitude: c.Altitude, Pressure: or(c.Pressure, 0)}
	if c.Recipe != "" {
		end.Recipe, end.Charge = c.Recipe, or(c.Charge, 0)
		a, k, err := s.open(false)
		if err != nil {
			return err
		}
		defer k.Close()
		if r, err = a.Boil(s.ctx, end); err != nil {
			return err
		}
	} else {
		end.Sugar, end.Syrup, end.Tartar = or(c.Sugar, 0), or(c.Syrup, 0), or(c.Tartar, 0)
		// A confectioner's syrup (common practice, no source).
		end.SyrupDE, end.SyrupSolids = or(c.SyrupDE, 42), or(c.SyrupSolids, 0.803)
		if end.Water = or(c.Water, -1); c.Water != nil && *c.Water < 0 {
			return fault.Invalid("a mass of water below zero").At("--water")
		}
		var err error
		if r, err = app.BoilRaw(end); err != nil {
			return err
		}
	}
	return s.print(r, func(p *printer) { printBoil(p, r) })
}

func printBoil(p *printer, r *app.BoilResult) {
	u := r.Units
	row := func(name string, e *q.Estimate, say func(q.Estimate) string) {
		if e != nil {
			p.line("%-26s %s", name, say(*e))
		}
	}
	temp := func(e q.Estimate) string { return u.SayTemperature(e, 1) }
	pct := func(e q.Estimate) string { return q.SayPercent(e, 2) }
	p.line("%-26s %s", "charge", u.Mass(q.Kilograms(r.ChargeKg)))
	p.line("%-26s %s", "station pressure", u.Pressure(q.Pascals(r.PressurePa)))
	row("true temperature here", r.BoilC, temp)
	if e := r.DialC; e != nil {
		p.line("%-26s %s (computed %s)", "read on the glass", r.Read, temp(*e))
	}
	row("water left", r.WaterFrac, pct)
	row("in the kettle at the lift", r.MassKg, u.SayMass)
	row("on the slab", r.FinishedKg, u.SayMass)
	row("dry solids", r.SolidsKg, u.SayMass)
	row("water boiled off", r.WaterOffKg, u.SayMass)
	row("stands up to", r.GlassC, temp)
	row("sound pieces", r.Pieces, func(e q.Estimate) string { return q.SayCount(e, "pieces") })
	row("time with the flame", r.BoilTimeS, q.SayMinutes)
	row("gas or power", r.EnergyKWh, func(e q.Estimate) string {
		return fmt.Sprintf("%.2f kWh (%.2f–%.2f), estimated", e.Value, e.Low, e.High)
	})
	if len(r.Weigh) > 0 {
		p.line("")
		table(p, func(w *tabwriter.Writer) {
			fmt.Fprintln(w, "when\tweigh\tmass\ton\t")
			for _, l := range r.Weigh {
				note := ""
				if !l.Fine {
					note = "this scale is too coarse for it"
				}
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", l.Stage, strings.TrimSuffix(l.Name+", "+l.Portion, ", "), l.Show, l.Scale, note)
			}
		})
		for _, st := range r.Stock {
			p.line("  → %s", st.Text)
		}
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}
