package bag

import "math"

// Fill takes bags of the blend out of what is left of every sweet [kg], at most so
// many, and returns how many there were. Every bag takes its mean make-up at the
// mass of a piece of every sweet [kg]; see [Blend.KgPerBag]. What is taken is
// taken off leftKg.
func (b Blend) Fill(bags int, pieceKg, leftKg []float64) int {
	massKg := make([]float64, len(b.Pieces))
	b.KgPerBag(pieceKg, massKg)
	for h, k := range b.Pieces {
		// A billionth is forgiven, so that a pool that just suffices does.
		bags = min(bags, int(math.Floor(leftKg[k]/massKg[h]*(1+1e-9))))
	}
	for h, k := range b.Pieces {
		leftKg[k] = max(0, leftKg[k]-float64(bags)*massKg[h])
	}
	return bags
}
