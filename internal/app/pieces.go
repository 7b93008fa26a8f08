package app

import (
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/roller"
	"slabside/internal/source"
)

// mostMass is more than any shop boils or rolls in a day; more is a slip of the key.
const mostMass q.Kilograms = 10_000

// meant refuses a mass that cannot be meant.
func meant(field string, m q.Kilograms) error {
	switch {
	case m <= 0:
		return fault.Invalid("a mass of %g kg is not above zero", float64(m)).At(field)
	case m > mostMass:
		return fault.Invalid("%g kg cannot be meant", float64(m)).At(field).WithHint("up to %g kg", float64(mostMass))
	}
	return nil
}

// Pieces returns how many pieces a mass makes on a pair of rolls. It reads no book.
func Pieces(r PiecesRequest) (*PiecesResult, error) {
	if err := meant("mass", r.Mass); err != nil {
		return nil, err
	}
	piece := r.Piece
	if r.PerPound != 0 {
		if !(r.PerPound > 0) {
			return nil, fault.Invalid("%g pieces to the pound cannot be", r.PerPound).At("pieces-per-lb")
		}
		piece = q.Kilograms(q.KilogramsPerPound / r.PerPound)
	}
	c, err := roller.Pieces(r.Mass, piece, r.Loss)
	if err != nil {
		return nil, err
	}
	out := &PiecesResult{Pieces: c.Pieces, Cautions: []Caution{}, Sources: []string{}}
	if r.Loss == nil {
		out.Sources = append(out.Sources, string(source.Practice))
		out.Cautions = append(out.Cautions, Caution{Code: "ends-apart", Text: "The ends of the bars are not taken off here: they cost 0.3 to 1 kg a boil."})
	}
	for _, x := range c.Cautions {
		out.Cautions = append(out.Cautions, Caution{Code: string(x.Code), Text: x.Text})
	}
	return out, nil
}
