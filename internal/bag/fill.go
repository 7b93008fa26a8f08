package bag

import (
	"math"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Wanted is so many bags of a blend.
type Wanted struct {
	Blend Blend
	Bags  int
}

// Filled is what became of a [Wanted].
type Filled struct {
	Bags int // filled, at most those wanted
	Out  int // index of the sweet that ran out first; −1 if every bag was filled
}

// Left is what lies loose once the bags are filled.
type Left struct {
	Mass   q.Kilograms
	Pieces int // whole pieces
}

// BagsFrom fills bags from what was made, in the order of the list: a line
// takes what it can before the next one is served. made holds the mass of good
// pieces of every sweet, in the order of the sweets. Every bag takes its mean
// make-up ([Blend.KgPerBag]). What is left over is returned sweet by sweet.
// Faults: Invalid for a negative count or mass or lists of unequal length.
func BagsFrom(wanted []Wanted, sweets []Sweet, made []q.Kilograms) ([]Filled, []Left, error) {
	if len(made) != len(sweets) {
		return nil, nil, fault.Invalid("%d masses for %d sweets", len(made), len(sweets)).At("made")
	}
	leftKg := make([]float64, len(sweets))
	for i, m := range made {
		if !(m >= 0) || math.IsInf(float64(m), 1) {
			return nil, nil, fault.Invalid("%g kg of %s cannot have been made", float64(m), name(sweets[i].Recipe, sweets[i].Portion)).At("made")
		}
		if !(sweets[i].Piece > 0) {
			return nil, nil, fault.Invalid("a piece of %s has mass %g kg", name(sweets[i].Recipe, sweets[i].Portion), float64(sweets[i].Piece)).At("piece")
		}
		leftKg[i] = float64(m)
	}
	pieceKg := pieceMasses(sweets)
	filled := make([]Filled, len(wanted))
	for i, w := range wanted {
		if w.Bags < 0 {
			return nil, nil, fault.Invalid("%d bags of product %q are wanted", w.Bags, w.Blend.Product.ID).At("bags")
		}
		massKg := make([]float64, len(w.Blend.Pieces))
		w.Blend.KgPerBag(pieceKg, massKg)
		f := Filled{Bags: w.Bags, Out: -1}
		for h, k := range w.Blend.Pieces {
			// A billionth is forgiven, so that a pool that just suffices does.
			if n := math.Floor(leftKg[k] / massKg[h] * (1 + 1e-9)); n < float64(f.Bags) {
				f = Filled{Bags: int(n), Out: k}
			}
		}
		for h, k := range w.Blend.Pieces {
			leftKg[k] = max(0, leftKg[k]-float64(f.Bags)*massKg[h])
		}
		filled[i] = f
	}
	left := make([]Left, len(sweets))
	for i, kg := range leftKg {
		left[i] = Left{Mass: q.Kilograms(kg), Pieces: int(kg / pieceKg[i] * (1 + 1e-9))}
	}
	return filled, left, nil
}
