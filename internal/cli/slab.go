package cli

import (
	"fmt"
	"text/tabwriter"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type slabCmd struct {
	Mass       q.Kilograms `help:"Mass on the slab." required:"" placeholder:"MASS" eg:"10kg"`
	Pour       q.Celsius   `help:"Temperature of the sugar on the slab." required:"" placeholder:"TEMP" eg:"140C"`
	Depth      q.Metres    `help:"How deep it is poured; default 20mm." placeholder:"LENGTH" eg:"20mm"`
	WaterLeft  q.Fraction  `help:"Water left in the sugar." default:"3%" placeholder:"SHARE" eg:"2.5%"`
	SyrupShare q.Fraction  `help:"Glucose syrup's share of the dry solids." default:"40%" placeholder:"SHARE" eg:"40%"`
	SyrupDE    float64     `help:"Dextrose equivalent of the syrup." default:"42" name:"syrup-de" eg:"42"`
	Pulled     q.Fraction  `help:"The share that is pulled." default:"0%" placeholder:"SHARE" eg:"30%"`
	Slab       string      `help:"A slab of the shop book; default 10 mm of steel over channels of water." placeholder:"ID" eg:"marble"`
	Rolls      string      `help:"A pair of rolls of the shop book." placeholder:"ID" eg:"leaf"`
}

// Run follows one batch to its last sheet.
func (c *slabCmd) Run(s *session) error {
	req := app.SlabRequest{Mass: c.Mass, Pour: c.Pour, Depth: c.Depth, WaterLeft: c.WaterLeft, SyrupShare: c.SyrupShare, SyrupDE: c.SyrupDE, Pulled: c.Pulled, Slab: c.Slab, Rolls: c.Rolls}
	answer := func(r *app.SlabResult, err error) error {
		if err != nil {
			return err
		}
		return s.print(r, func(p *printer) { printSlab(p, r) })
	}
	if c.Slab == "" && c.Rolls == "" {
		return answer(app.SlabRaw(req, s.reader()))
	}
	return s.withBook(false, func(a *app.App) error { return answer(a.Slab(s.ctx, req)) })
}

func printSlab(p *printer, r *app.SlabResult) {
	u := r.Units
	row := func(name string, e *q.Estimate, say func(q.Estimate) string) {
		if e != nil {
			p.line("%-28s %s", name, say(*e))
		}
	}
	temp := func(e q.Estimate) string { return u.SayTemperature(e, 0) }
	p.line("From the end of the pour:")
	row("on the slab at", &r.PourC, temp)
	row("first turn, the edge lifts", &r.FirstTurnS, u.SayTime)
	row("folded; knead", &r.KneadS, u.SayTime)
	row("powdered acid from", &r.AcidFromS, u.SayTime)
	row("powdered acid until", &r.AcidToS, u.SayTime)
	row("pull from", r.PullFromS, u.SayTime)
	row("all is pulled", r.PullDoneS, u.SayTime)
	row("to the rolls", &r.Rolling.OpensS, u.SayTime)
	row("gone short", &r.Rolling.ClosesS, u.SayTime)
	p.line("At the rolls:")
	row("too soft above", &r.Rolling.FromC, temp)
	row("gone short below", &r.Rolling.ToC, temp)
	row("in condition for", &r.Rolling.HasS, u.SayTime)
	row("rolling takes", &r.Rolling.NeedsS, u.SayTime)
	row("last bar at", &r.Rolling.LastC, temp)
	row("rolls then at", &r.Rolling.PairC, temp)
	p.line("%-28s %s", "all rolled in condition", u.SayChance(q.Fraction(r.Rolling.Fits), 0))
	row("largest boil, on the slab", &r.LargestBoilKg, u.SayMass)
	row("a sheet breaks clean after", r.BreakS, u.SayTime)
	row("and is hand-warm after", r.BagS, u.SayTime)
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "comes to\tmean\thottest part")
		for _, x := range r.Reach {
			say := func(e *q.Estimate) string {
				if e == nil {
					return "at the rolls by then"
				}
				return u.SayTime(*e)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\n", u.Temperature(q.Celsius(x.C), 0), say(x.MeanS), say(x.CoreS))
		}
	})
	p.line("What the time to spare at the rolls hangs on:")
	for _, m := range r.Matters {
		p.line("  %s", m)
	}
	p.cautions(r.Cautions)
	p.sources(r.Sources)
}
