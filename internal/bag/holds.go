package bag

import (
	"math"
	"slices"

	"slabside/internal/fault"
)

// Held is what a bag holds of one colour: the mean number of pieces, and the
// smallest counts that at least 5 % and 95 % of bags do not exceed.
type Held struct {
	Mean     float64
	P05, P95 int
}

// Holds returns what a bag of so many pieces, taken blindly from the finite
// pool, holds of every colour. Colour i alone is hypergeometric. Faults are
// those of [AtLeast].
func Holds(pool []int, bag int) ([]Held, error) {
	total, err := checkPool(pool, bag)
	if err != nil {
		return nil, err
	}
	held := make([]Held, len(pool))
	for i, k := range pool {
		rest := total - k
		low, high := max(0, bag-rest), min(k, bag)
		// P(x+1)/P(x), shifted so that the count starts at the least possible one.
		step := func(s int) float64 {
			x := low + s
			return float64(k-x) / float64(x+1) * float64(bag-x) / float64(rest-bag+x+1)
		}
		held[i] = heldOf(step, low, high)
		held[i].Mean = float64(bag) * float64(k) / float64(total)
	}
	return held, nil
}

// HoldsEndless is [Holds] for an endless pool: colour i alone is binomial.
func HoldsEndless(shares []float64, bag int) ([]Held, error) {
	ps, err := proportions(shares, bag)
	if err != nil {
		return nil, err
	}
	held := make([]Held, len(ps))
	for i, p := range ps {
		switch p {
		case 0:
			held[i] = Held{}
		case 1:
			held[i] = Held{Mean: float64(bag), P05: bag, P95: bag}
		default:
			odds := p / (1 - p)
			step := func(x int) float64 { return float64(bag-x) / float64(x+1) * odds }
			held[i] = heldOf(step, 0, bag)
			held[i].Mean = float64(bag) * p
		}
	}
	return held, nil
}

// heldOf finds the quantiles of a count in low…high whose weights have the
// ratios step(x − low).
func heldOf(step func(s int) float64, low, high int) Held {
	w, _ := newWeights(step, high-low).between(0, high-low)
	var sum float64
	for _, v := range w {
		sum += v
	}
	return Held{P05: low + quantile(w, 0.05*sum), P95: low + quantile(w, 0.95*sum)}
}

// quantile returns the first place at which the running sum reaches mass. The
// last bits of the sum are forgiven, as a sum that should be equal may fall short.
func quantile(w []float64, mass float64) int {
	var sum float64
	for x, v := range w {
		if sum += v; sum >= mass*(1-1e-12) {
			return x
		}
	}
	return len(w) - 1
}

// PoolOf shares out a pool of so many pieces between colours: whole pieces in
// proportion, the pieces left by rounding down to the largest remainders, the
// earlier colour first where they are equal.
func PoolOf(shares []float64, pieces int) ([]int, error) {
	if pieces < 1 || pieces > MostPool {
		return nil, fault.Invalid("a pool of %d pieces is outside 1 to %d", pieces, MostPool).At("pool")
	}
	if len(shares) == 0 || len(shares) > MostColours {
		return nil, fault.Invalid("%d colours are outside 1 to %d", len(shares), MostColours).At("shares")
	}
	p, err := normalise(shares)
	if err != nil {
		return nil, err
	}
	pool := make([]int, len(p))
	order := make([]int, len(p))
	rest := make([]float64, len(p))
	left := pieces
	for i := range p {
		exact := p[i] * float64(pieces)
		// A share that should be whole may come out a hair below it.
		pool[i] = int(math.Floor(exact*(1+1e-14) + 1e-9))
		rest[i] = exact - float64(pool[i])
		order[i] = i
		left -= pool[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch d := rest[b] - rest[a]; {
		case d > 1e-9:
			return 1
		case d < -1e-9:
			return -1
		}
		return 0
	})
	for _, i := range order[:max(left, 0)] {
		pool[i]++
	}
	return pool, nil
}
