package roller

import (
	"math"

	q "slabside/internal/quantity"
)

// lossNode is the loss by web, chips and dust at one size of piece.
type lossNode struct {
	pieceG float64
	share  float64
}

// lossNodes are the loss by piece (source key practice: judgement of the trade, a
// shop's own figures are better).
func lossNodes() [3]lossNode {
	return [...]lossNode{{0.9, 0.12}, {2.4, 0.08}, {4.5, 0.06}}
}

// lossLogSD is one standard deviation of the logarithm of the loss between shops
// or pairs of rolls, and between boils of one (judgement): with 8 % in the middle
// the first spans 5 to 12 %, about the 3 to 10 % that is told of web and chips.
const (
	lossLogSD      = 0.25
	lossBatchLogSD = 0.10
)

// Loss returns the share lost as web, chips and dust by pieces of a mass, straight
// in the logarithm of the mass between 0.9 g (12 %), 2.4 g (8 %) and 4.5 g (6 %).
// Outside it stays level, and edge is true: nothing is known there.
func Loss(piece q.Kilograms) (share q.Fraction, edge bool) {
	nodes := lossNodes()
	g := piece.Grams()
	first, last := nodes[0], nodes[len(nodes)-1]
	switch {
	case !(g >= first.pieceG):
		return q.Fraction(first.share), true
	case g >= last.pieceG:
		return q.Fraction(last.share), g > last.pieceG
	}
	for i := 1; i < len(nodes); i++ {
		a, b := nodes[i-1], nodes[i]
		if g <= b.pieceG {
			part := math.Log(g/a.pieceG) / math.Log(b.pieceG/a.pieceG)
			return q.Fraction(a.share + part*(b.share-a.share)), false
		}
	}
	return q.Fraction(last.share), true
}

// Ends of the bars and cold remnants: 0.3 to 1 kg a boil (source key practice),
// of boils as the trade makes them. Below wholeBoil [kg on the slab], about the
// middle of the old boil sizes of 3.2 to 7.7 kg (source key guide1896), they
// shrink with the boil: a third boil has not the ends of a whole one.
const (
	endsLow   = 0.3
	endsHigh  = 1.0
	wholeBoil = 6.0
)

// ends returns the ends of a boil of a mass, at a place between 0 and 1 in their range.
func ends(massKg, place float64) float64 {
	return (endsLow + place*(endsHigh-endsLow)) * math.Min(1, massKg/wholeBoil)
}
