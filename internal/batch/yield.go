package batch

import (
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Yield is what one portion of one boil makes, draw by draw.
type Yield struct {
	Portion string
	Kg      []float64 // sound pieces, finish included
	Pieces  []float64
}

// YieldOf returns what a boil of a recipe makes, in the order of its portions,
// without the figures a plan does not need. charge 0 keeps the recipe as written;
// index tells the boils of one recipe apart: the same index is the same boil.
//
// It agrees with [Predict] draw for draw.
func YieldOf(in Inputs, charge q.Kilograms, index int) ([]Yield, error) {
	in.Charge, in.Index = charge, index
	pair, ok := in.pair()
	if !ok {
		return nil, fault.Invalid("recipe %s names no rolls the shop has", in.Recipe.ID).At("rolls")
	}
	_, draws, err := in.simulate()
	if err != nil {
		return nil, err
	}
	rolled, err := pair.Roll(in.portions(draws))
	if err != nil {
		return nil, err
	}
	out := make([]Yield, len(rolled))
	for i, y := range rolled {
		out[i] = Yield{y.Portion, y.Kg, y.Pieces}
	}
	return out, nil
}
