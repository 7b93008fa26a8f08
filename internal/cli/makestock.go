package cli

import (
	"fmt"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
)

type makeStockCmd struct {
	Lot         string       `arg:"" optional:"" help:"Its number; left out: the next of the day."`
	Of          []string     `help:"A lot and what was taken of it; once for each." placeholder:"LOT=MASS" eg:"r2026-11-20-3=50g"`
	Ingredient  string       `help:"What it is a solution of; left out: that of the first lot." placeholder:"ID" eg:"citric"`
	Carrier     string       `help:"What it is dissolved in: water, neutral oil, its own solvent; left out: nothing." placeholder:"TEXT" eg:"water"`
	CarrierMass *q.Kilograms `help:"Of the carrier, where it has no lot; left out: what the strength asks for." placeholder:"MASS" eg:"200g"`
	Strength    *q.Fraction  `help:"As it is meant, by mass; left out: as it was weighed." placeholder:"SHARE" eg:"20%"`
	Mass        *q.Kilograms `help:"What came out; left out: all that went in. The rest stands as lost." placeholder:"MASS" eg:"249g"`
	Packets     int          `help:"How many packets it is shared out in." placeholder:"N" eg:"10"`
	BestBefore  string       `help:"Its date; left out: that of the lot that expires first. With water in it, say it." placeholder:"DATE" eg:"2026-12-05"`
	On          string       `help:"Day it was made; left out: today." placeholder:"DATE" eg:"2026-11-28"`
	Note        string       `help:"Anything to remember." placeholder:"TEXT" eg:"'in the brown bottle'"`
	Corrects    int64        `help:"Put right the making that this act wrote; say all of it again." placeholder:"ACT" eg:"12"`
	Why         string       `help:"Why, for the record." eg:"'misread'"`
	Who         string       `help:"Who makes it." default:"owner" eg:"Odile"`
}

// Run makes a lot out of others and prints its number.
func (c *makeStockCmd) Run(s *session) error {
	if c.Corrects != 0 && c.Lot == "" {
		return fault.Invalid("--corrects without the number of the lot").WithHint("name the lot whose making is put right")
	}
	of, err := partsOf(c.Of)
	if err != nil {
		return err
	}
	req := app.MakeRequest{Lot: c.Lot, On: c.On, Ingredient: c.Ingredient, Of: of, Carrier: c.Carrier, Packets: c.Packets, BestBefore: c.BestBefore, Note: c.Note, Corrects: c.Corrects}
	if c.CarrierMass != nil {
		req.CarrierMass = *c.CarrierMass
	}
	if c.Strength != nil {
		req.Strength = *c.Strength
	}
	if c.Mass != nil {
		req.Mass = *c.Mass
	}
	return s.withBook(false, func(a *app.App) error {
		id, err := a.Make(s.ctx, req, c.Who, c.Why)
		if err != nil {
			return lotFault(err)
		}
		if s.json {
			return s.showLot(a, id)
		}
		p := &printer{w: s.Stdout}
		p.line("%s", id)
		return p.err
	})
}

// partsOf reads LOT=MASS.
func partsOf(texts []string) ([]lot.Part, error) {
	var out []lot.Part
	for _, text := range texts {
		id, mass, ok := strings.Cut(text, "=")
		if !ok {
			return nil, fault.Invalid("%q is no lot and mass", fault.Clip(text, fault.Echo)).At("--of").WithHint("write --of r2026-11-20-3=50g")
		}
		m, err := q.ParseMass(mass)
		if err != nil {
			return nil, flagged(err, "of")
		}
		out = append(out, lot.Part{Lot: strings.TrimSpace(id), MassMg: m.Milligrams()})
	}
	return out, nil
}

// makingWords says what a lot is and was made of.
func makingWords(r *lot.Received, u q.Reader) string {
	m := r.Made
	var of []string
	for _, p := range m.Of {
		of = append(of, massOf(u, p.MassMg)+" of "+p.Lot)
	}
	if m.CarrierMg > 0 {
		of = append(of, massOf(u, m.CarrierMg)+" of "+m.Carrier)
	}
	text := fmt.Sprintf("made %s out of %s", massOf(u, r.MassMg), strings.Join(of, " + "))
	if m.Strength < 1 {
		text += ", " + u.Percent(q.Fraction(m.Strength), 2)
	}
	if m.LostMg > 0 {
		text += ", " + massOf(u, m.LostMg) + " lost"
	}
	if m.Packets > 0 {
		text += fmt.Sprintf(", %d packets", m.Packets)
	}
	return text
}
