package boil

import (
	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	"slabside/internal/sugar"
)

// DefaultSyrupSolids is the dry matter of ordinary 42 DE confectioners' syrup
// (source key cra, from memory).
const DefaultSyrupSolids = 0.803

// ninety is the standard-normal 95 % point: a stated ± is read as the 5 % to 95 %
// half-width, since that is how ranges are printed.
const ninety = 1.6448536269514722

// Half-widths (5 % to 95 %) of what suppliers state. Judgement of the trade
// (source key practice): a delivery of syrup is held to half a point of solids
// and one DE; of a syrup whose figures nobody has, the composition table leaves
// 36 to 48 DE and 78.8 to 81.8 %.
const (
	syrupSolidsHalf        = 0.005
	unknownSyrupSolidsHalf = 0.015
	syrupDEHalf            = 1
	unknownDEHalf          = 6
	fatSolidsHalf          = 0.01
	wetnessHalf            = 0.10 // of the water and spirit in any other ingredient
)

// stated returns an ingredient's solids and DE with the unknown ones filled in.
func stated(in ingredient.Ingredient) (solids, de float64) {
	solids, de = float64(in.Solids), in.DE
	if in.Kind == ingredient.Syrup {
		if solids == 0 {
			solids = DefaultSyrupSolids
		}
		if de == 0 {
			de = sugar.DefaultDE
		}
	}
	return solids, de
}

// suppliers gives the draws of what is stated of ingredients. A delivery is the
// same for every boil: its columns are named after the ingredient.
type suppliers struct {
	e numeric.Ensemble
}

// draw returns an ingredient's solids and DE, a draw each.
func (s suppliers) draw(in ingredient.Ingredient) (solids, de []float64) {
	mid, midDE := stated(in)
	half := solidsHalf(in, mid)
	solids = s.column("ingredient:"+in.ID+":solids", mid, half)
	for i, v := range solids {
		solids[i] = min(max(v, 0), 1-float64(in.Spirit))
	}
	deHalf := 0.0
	if in.Kind == ingredient.Syrup {
		deHalf = syrupDEHalf
		if in.DE == 0 {
			deHalf = unknownDEHalf
		}
	}
	de = s.column("ingredient:"+in.ID+":de", midDE, deHalf)
	if in.Kind == ingredient.Syrup {
		for i, v := range de {
			de[i] = min(max(v, sugar.MinDE), sugar.MaxDE)
		}
	}
	return solids, de
}

func solidsHalf(in ingredient.Ingredient, mid float64) float64 {
	switch in.Kind {
	case ingredient.Sugar, ingredient.Water:
		return 0
	case ingredient.Syrup:
		if in.Solids == 0 {
			return unknownSyrupSolidsHalf
		}
		return syrupSolidsHalf
	case ingredient.Invert:
		return syrupSolidsHalf
	case ingredient.Fat:
		return fatSolidsHalf
	}
	return wetnessHalf * (1 - mid)
}

// column returns mid with a normal error of the given half-width.
func (s suppliers) column(name string, mid, half float64) []float64 {
	if half == 0 {
		c := make([]float64, s.e.Len())
		for i := range c {
			c[i] = mid
		}
		return c
	}
	c := s.e.Normal(name)
	for i, z := range c {
		c[i] = mid + z*half/ninety
	}
	return c
}
