package cli

import (
	"strings"

	"slabside/internal/app"
	q "slabside/internal/quantity"
)

type sugarCmd struct {
	Solids     q.Fraction `help:"Dry solids of the mixture." required:"" placeholder:"SHARE" eg:"97%"`
	SyrupShare q.Fraction `help:"Glucose syrup's share of the dry solids." default:"0%" placeholder:"SHARE" eg:"40%"`
	SyrupDE    float64    `help:"Dextrose equivalent of the syrup." default:"42" name:"syrup-de" eg:"42"`
	At         q.Celsius  `help:"Temperature." required:"" placeholder:"TEMP" eg:"100C"`
	Pressure   q.Pascals  `help:"Station pressure for the boiling point." default:"1013.25hPa" placeholder:"PRESSURE" eg:"950hPa"`
}

// Run prints the properties.
func (c *sugarCmd) Run(s *session) error {
	r, err := app.Sugar(app.SugarRequest{Solids: c.Solids, SyrupShare: c.SyrupShare, SyrupDE: c.SyrupDE, At: c.At, Pressure: c.Pressure})
	if err != nil {
		return err
	}
	return s.print(r, func(p *printer) {
		u := s.reader()
		row := func(name string, e *q.Estimate, unit string, prec int) {
			if e == nil {
				p.line("%-20s outside the range of its model", name)
				return
			}
			p.line("%-20s %s (%s–%s), %s", name, strings.TrimSpace(u.Digits(e.Value, prec)+" "+unit), u.Digits(e.Low, prec), u.Digits(e.High, prec), e.Basis)
		}
		p.line("%s solids, %s of them from %s DE syrup, at %s", u.Percent(c.Solids, 2), u.Percent(c.SyrupShare, 1), u.Digits(c.SyrupDE, 4), u.Temperature(c.At, 1))
		row("boils at", r.BoilingC, "°C", 4)
		row("water activity", r.WaterActivity, "", 3)
		row("density", r.DensityKgL, "kg/L", 4)
		row("viscosity", r.ViscosityPaS, "Pa·s", 3)
		row("heat capacity", r.HeatCapacity, "kJ/kg·K", 3)
		row("conductivity", r.Conductivity, "W/m·K", 3)
		row("stands up to", r.GlassC, "°C", 3)
		p.cautions(r.Cautions)
		p.sources(r.Sources)
	})
}

type piecesCmd struct {
	Mass     q.Kilograms `help:"Mass that goes through the rolls." required:"" placeholder:"MASS" eg:"9.5kg"`
	PerPound float64     `help:"Pieces to the pound of the pair of rolls." name:"pieces-per-lb" xor:"piece" required:"" placeholder:"N" eg:"200"`
	Piece    q.Kilograms `help:"Mass of one piece." xor:"piece" required:"" placeholder:"MASS" eg:"2.4g"`
	Loss     *q.Fraction `help:"Share lost as web, chips and dust; default by piece size." placeholder:"SHARE" eg:"5%"`
}

// Run prints how many pieces.
func (c *piecesCmd) Run(s *session) error {
	r, err := app.Pieces(app.PiecesRequest{Mass: c.Mass, PerPound: c.PerPound, Piece: c.Piece, Loss: c.Loss})
	if err != nil {
		return err
	}
	return s.print(r, func(p *printer) {
		p.line("%s", s.reader().SayCount(r.Pieces, "pieces"))
		p.cautions(r.Cautions)
		p.sources(r.Sources)
	})
}

type mixCmd struct {
	Bag    int       `help:"Pieces in a bag." required:"" placeholder:"N" eg:"40"`
	Shares []float64 `help:"Shares of the sweets in the pool, as 2,2,1." required:"" placeholder:"A,B,…" eg:"2,2,1"`
	Least  []int     `help:"Pieces a bag must hold at least: one number for all, or one a sweet; default 1." placeholder:"N" eg:"5"`
	Pool   int       `help:"Pieces in the blended pool; default unlimited." placeholder:"N" eg:"5000"`
}

// Run prints what a bag holds.
func (c *mixCmd) Run(s *session) error {
	r, err := app.Mix(app.MixRequest{Bag: c.Bag, Shares: c.Shares, Least: c.Least, Pool: c.Pool})
	if err != nil {
		return err
	}
	return s.print(r, func(p *printer) {
		p.line("A bag of %d holds at least what is asked of each in %s of bags.", c.Bag, s.reader().SayChance(q.Fraction(r.PAllAtLeast.Value), 1))
		for i, m := range r.PerColour {
			p.line("  share %s: %s pieces on average, %d–%d in nine bags of ten", s.reader().Digits(c.Shares[i], 6), s.reader().Number(float64(m.Mean), 1), m.P05, m.P95)
		}
		p.cautions(r.Cautions)
		p.sources(r.Sources)
	})
}
