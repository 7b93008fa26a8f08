package bag

import (
	"math"

	"slabside/internal/fault"
)

// Chance says how surely the bags of a blend hold at least what each part asks for.
type Chance struct {
	Pieces int     // in a bag
	Bag    float64 // that a given bag holds the least of every part
	// Short is the expected number of bags that do not, of all bags filled from
	// the pool; 0 for an endless pool, where there is no number of bags.
	Short float64
	// Every is a chance that is surely reached that no bag at all is short
	// (Boole's inequality); 0 for an endless pool.
	Every float64
}

// LeastMet returns the chance that the bags hold the least of every part when
// the whole blend for so many bags is mixed at random and filled blindly; 0 bags
// stands for an endless pool. The pool is made up exactly in the product's
// shares, a bag is the number of mean pieces that first reaches the net weight.
// Portions of one part count together. Faults are those of [AtLeast].
func (b Blend) LeastMet(sweets []Sweet, bags int) (Chance, error) {
	if bags < 0 {
		return Chance{}, fault.Invalid("%d bags cannot be filled", bags).At("bags")
	}
	m := b.Makeup(sweets)
	shares := make([]float64, len(b.Product.Parts))
	least := make([]int, len(shares))
	for _, h := range m.Holdings {
		shares[h.Part] += h.Pieces
	}
	for i, part := range b.Product.Parts {
		least[i] = part.Least
	}
	// Pieces − ½ is net / w̄; a quotient meant to be whole may come out a hair above it.
	exact := m.Pieces - 0.5
	if exact > MostPieces {
		return Chance{}, fault.Invalid("a bag of product %q would hold %.0f pieces, more than the %d that can be counted",
			b.Product.ID, exact, MostPieces).At("net")
	}
	c := Chance{Pieces: max(1, int(math.Ceil(exact*(1-1e-12))))}
	var err error
	if bags == 0 {
		c.Bag, err = AtLeastEndless(shares, c.Pieces, least)
		return c, err
	}
	if bags > MostPool/c.Pieces {
		return Chance{}, fault.Invalid("%d bags of %d pieces are more than the %d that can be counted", bags, c.Pieces, MostPool).At("bags")
	}
	pool, err := PoolOf(shares, bags*c.Pieces)
	if err != nil {
		return Chance{}, err
	}
	if c.Bag, err = AtLeast(pool, c.Pieces, least); err != nil {
		return Chance{}, err
	}
	c.Short = float64(bags) * (1 - c.Bag)
	c.Every = max(0, 1-c.Short)
	return c, nil
}
