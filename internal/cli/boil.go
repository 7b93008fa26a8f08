package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type boilCmd struct {
	Recipe string       `help:"A recipe of the shop book, instead of raw amounts." placeholder:"ID" eg:"damson-leaves"`
	Charge *q.Kilograms `help:"All that goes into the kettle, water included; default a whole boil." placeholder:"MASS" eg:"7kg"`

	Pieces  *int   `help:"Scale the recipe to so many sound pieces, instead of --charge." placeholder:"N" eg:"2000"`
	Bags    *int   `help:"Scale the recipe to so many bags, instead of --charge." placeholder:"N" eg:"40"`
	Product string `help:"What the bags are of; default the only product made of the recipe." placeholder:"ID" eg:"damson-bag"`

	Kettle string `help:"In this pan instead of the recipe's own, as for a trial." placeholder:"ID" eg:"trial-pan"`

	Sugar       *q.Kilograms `help:"Sugar." placeholder:"MASS" eg:"6.35kg"`
	Syrup       *q.Kilograms `help:"Glucose syrup." placeholder:"MASS" eg:"1.36kg"`
	SyrupDE     *float64     `help:"Dextrose equivalent of the syrup; default 42." name:"syrup-de" placeholder:"DE" eg:"42"`
	SyrupSolids *q.Fraction  `help:"Dry solids of the syrup; default 80.3%." placeholder:"SHARE" eg:"80.3%"`
	Water       *q.Kilograms `help:"Water; default a third of the sugar." placeholder:"MASS" eg:"2kg"`
	Tartar      *q.Kilograms `help:"Cream of tartar." placeholder:"MASS" eg:"10g"`

	To        *q.Celsius  `help:"Boil to this true temperature, here." placeholder:"TEMP" eg:"149C"`
	WaterLeft *q.Fraction `help:"Boil to this much water left." placeholder:"SHARE" eg:"2.5%"`
	StandsUp  *q.Celsius  `help:"Boil to where the finished sweet stands up to this." name:"stands-up-to" placeholder:"TEMP" eg:"43C"`
	Invert    *q.Fraction `help:"Dose the recipe's cream of tartar so that so much of the sweet is invert." placeholder:"SHARE" eg:"14%"`
	Switch    bool        `help:"Change the recipe's doctor: glucose syrup for cream of tartar, or back." name:"switch-doctor"`
	SourAs    string      `help:"Change the recipe's acid for this one, as sour: citric, tartaric or malic." name:"sour-as" placeholder:"ACID" eg:"malic"`
	OilLeft   *q.Fraction `help:"Dose the recipe's oil so that so much of it stays in the sweet." placeholder:"SHARE" eg:"900ppm"`
	CookBack  *q.Fraction `help:"The share of the sugar that is sweets of the boil before, in a long row of boils." placeholder:"SHARE" eg:"10%"`
	Altitude  *q.Metres   `help:"Height above the sea; default the shop book's, else sea level." placeholder:"HEIGHT" eg:"600m"`
	Pressure  *q.Pascals  `help:"Station pressure, not reduced to sea level." placeholder:"PRESSURE" eg:"950hPa"`
}

// Run computes one boil.
func (c *boilCmd) Run(s *session) error {
	req, err := app.BoilAsked{Recipe: c.Recipe, Charge: c.Charge, Pieces: c.Pieces, Bags: c.Bags, Product: c.Product, Kettle: c.Kettle, Sugar: c.Sugar, Syrup: c.Syrup, Water: c.Water, Tartar: c.Tartar,
		SyrupDE: c.SyrupDE, SyrupSolids: c.SyrupSolids, To: c.To, WaterLeft: c.WaterLeft, StandsUp: c.StandsUp, Invert: c.Invert, Switch: c.Switch, SourAs: c.SourAs, OilLeft: c.OilLeft, CookBack: c.CookBack, Altitude: c.Altitude, Pressure: c.Pressure}.Request("--")
	if err != nil {
		return err
	}
	answer := func(r *app.BoilResult, err error) error {
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printBoil(p, r) })
	}
	if req.Recipe == "" {
		return answer(app.BoilRaw(req, s.reader()))
	}
	return s.withBook(false, func(a *app.App) error { return answer(a.Boil(s.ctx, req)) })
}

func printBoil(p *printer, r *app.BoilResult) {
	u := r.Units
	row := func(name string, e *q.Estimate, say func(q.Estimate) string) {
		if e != nil {
			p.line("%-26s %s", name, say(*e))
		}
	}
	temp := func(e q.Estimate) string { return u.SayTemperature(e, 1) }
	pct := func(e q.Estimate) string { return u.SayPercent(e, 2) }
	p.line("%-26s %s", "charge", u.Mass(q.Kilograms(r.ChargeKg)))
	p.line("%-26s %s", "station pressure", u.Pressure(q.Pascals(r.PressurePa)))
	row("true temperature here", r.BoilC, temp)
	if e := r.DialC; e != nil {
		p.line("%-26s %s (computed %s)", "read on the glass", r.Read, temp(*e))
	}
	if r.LiftC != nil {
		p.line("%-26s %s (computed %s)", "flame off at", r.Lift, temp(*r.LiftC))
		row("then it rides up by", r.AfterHeatK, func(e q.Estimate) string { return u.SayDifference(e, 1) })
		row("ten seconds late", r.LateK, func(e q.Estimate) string { return u.SayDifference(e, 1) + " hotter" })
	}
	row("water left", r.WaterFrac, pct)
	row("in the kettle at the lift", r.MassKg, u.SayMass)
	row("on the slab", r.FinishedKg, u.SayMass)
	row("dry solids", r.SolidsKg, u.SayMass)
	row("water boiled off", r.WaterOffKg, u.SayMass)
	row("stands up to", r.GlassC, temp)
	row("invert sugar", r.InvertFrac, func(e q.Estimate) string { return u.SayPercent(e, 1) })
	row("sound pieces", r.Pieces, func(e q.Estimate) string { return u.SayCount(e, "pieces") })
	row("time with the flame", r.BoilTimeS, u.SayMinutes)
	row("gas or power", r.EnergyKWh, func(e q.Estimate) string {
		return fmt.Sprintf("%s kWh (%s–%s), estimated", u.Number(e.Value, 2), u.Number(e.Low, 2), u.Number(e.High, 2))
	})
	if r.Course != nil {
		p.line("")
		table(p, func(w *tabwriter.Writer) {
			fmt.Fprintln(w, "after\tstep\ton the glass\twater")
			for _, s := range r.Course.Steps {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", q.Span(float64(s.AtS)), s.What, s.Read, u.Percent(q.Fraction(s.WaterFrac), 1))
			}
		})
	}
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
	printAdditions(p, r)
	printVerdicts(p, r)
	printSmall(p, r)
	if sw := r.Switched; sw != nil {
		p.line("")
		p.line("%s instead of %s. What is done otherwise:", sw.To, sw.From)
		for _, s := range sw.Rules {
			p.line("  → %s", s)
		}
		p.line("What cannot be made equal:")
		for _, s := range sw.Unequal {
			p.line("  – %s", s)
		}
	}
	for _, s := range r.Soured {
		p.line("")
		p.line("%s instead of %s: %s", s.To, s.From, s.Why)
	}
	p.cautions(r.Cautions)
	p.sources(withVerdicts(r))
}

// stages says when an addition goes in.
var stages = map[string]string{"boil": "in the boil", "end": "at the end of the boil", "pour": "at the pour", "fold": "folded in"}

// printAdditions says what every addition brings, loses and does, and what cook-back does.
func printAdditions(p *printer, r *app.BoilResult) {
	for _, a := range r.Additions {
		p.line("")
		p.line("%s", strings.TrimSuffix(a.Name+", "+a.Portion, ", ")+", "+stages[a.Stage])
		for _, s := range a.Says {
			p.line("  %-28s %s", s.Name, s.Text)
		}
		for _, s := range a.Does {
			p.line("  – %s", s)
		}
		if a.Window != "" {
			p.line("  – %s", a.Window)
		}
	}
	c := r.CookedBack
	if c == nil {
		return
	}
	u := r.Units
	p.line("")
	p.line("%-26s %s of the sugar; late in a row of boils it has been boiled again %s times on average", "cook-back", u.Percent(q.Fraction(c.ShareFrac), 1), u.Number(float64(c.Reboils), 2))
	if c.Times != nil {
		p.line("%-26s %s", "inverted, against fresh", u.SayTimes(*c.Times, 2))
	}
}
