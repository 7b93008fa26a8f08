package bag

import (
	"math"

	"slabside/internal/fault"
)

// The sizes the exact sums are made for: a kilogram jar of the smallest drop
// holds about 1,100 pieces, a day's blend about a hundred thousand.
const (
	MostPieces  = 5_000         // in one bag
	MostPool    = 1_000_000_000 // in the blended pool
	MostColours = 32
)

// AtLeast returns the chance that a bag of so many pieces, taken blindly from a
// well-blended pool, holds at least least[i] pieces of every colour i. The pool
// is finite: pool[i] pieces of colour i, none put back.
//
// The counts X follow the multivariate hypergeometric distribution
//
//	P(X = x) = Π C(pool[i], x[i]) / C(Σ pool, bag),  Σ x = bag
//
// and the chance is their exact sum: with any 0 < θ it is the ratio of two
// coefficients of products of polynomials,
//
//	P = [z^bag] Π Σ_{x ≥ least[i]} C(pool[i], x) (θz)^x  /  [z^bag] Π Σ_{x ≥ 0} C(pool[i], x) (θz)^x
//
// multiplied out term by term. All terms are positive, so the relative error
// stays near bag × 10⁻¹⁶ far into the tails; a chance below about 10⁻²⁹⁰ may
// come out as 0.
//
// It is 0 where least cannot be met and 1 where it asks for nothing. Faults:
// Invalid for negative counts, lists of unequal length or a bag larger than the
// pool, or sizes above [MostPieces], [MostPool] or [MostColours].
func AtLeast(pool []int, bag int, least []int) (float64, error) {
	total, err := checkPool(pool, bag)
	if err != nil {
		return 0, err
	}
	if err := checkLeast(least, len(pool)); err != nil {
		return 0, err
	}
	top := make([]int, len(pool))
	for i, k := range pool {
		top[i] = min(k, bag)
	}
	if bag == total {
		// The whole pool goes into the bag: nothing is left to chance.
		for i, l := range least {
			if l > pool[i] {
				return 0, nil
			}
		}
		return 1, nil
	}
	// The tilt that puts the middle of every colour at its mean.
	theta := float64(bag) / float64(total-bag)
	step := func(i, x int) float64 { return float64(pool[i]-x) / float64(x+1) * theta }
	return ratioOfSums(step, top, bag, least), nil
}

// AtLeastEndless is [AtLeast] for a pool so large that what was taken does not
// change it: colour i comes with chance shares[i] / Σ shares in every piece, and
// the counts follow the multinomial distribution. Shares may be any positive
// numbers; a zero share is a colour that never comes.
func AtLeastEndless(shares []float64, bag int, least []int) (float64, error) {
	p, err := proportions(shares, bag)
	if err != nil {
		return 0, err
	}
	if err := checkLeast(least, len(shares)); err != nil {
		return 0, err
	}
	top := make([]int, len(p))
	for i := range p {
		if p[i] > 0 {
			top[i] = bag
		}
	}
	// The multinomial is what independent Poisson counts become when their sum is known.
	step := func(i, x int) float64 { return float64(bag) * p[i] / float64(x+1) }
	return ratioOfSums(step, top, bag, least), nil
}

// ratioOfSums returns the chance that every count is at least its least, given
// that the counts sum to bag. The counts are otherwise independent, count i
// within 0…top[i], with weights w that satisfy w(x+1)/w(x) = step(i, x).
func ratioOfSums(step func(i, x int) float64, top []int, bag int, least []int) float64 {
	slack := bag
	asks := false
	for i, l := range least {
		if l > top[i] {
			return 0
		}
		asks = asks || l > 0
		slack -= l
	}
	if slack < 0 {
		return 0
	}
	if !asks {
		return 1
	}
	some, any := make([][]float64, len(top)), make([][]float64, len(top))
	var logScale float64
	for i := range top {
		w := newWeights(func(x int) float64 { return step(i, x) }, top[i])
		any[i], _ = w.between(0, top[i])
		part, scale := w.between(least[i], min(top[i], least[i]+slack))
		some[i] = part
		logScale += scale
	}
	p := coefficient(some, slack) / coefficient(any, bag) * math.Exp(logScale)
	return min(p, 1)
}

// weights are the weights of one count, known by the ratios of neighbours.
type weights struct {
	step func(x int) float64
	mode int
}

func newWeights(step func(x int) float64, top int) weights {
	// The ratios fall, so the mode is the first x whose successor weighs less.
	low, high := 0, top
	for low < high {
		if mid := (low + high) / 2; step(mid) < 1 {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return weights{step, low}
}

// between returns the weights of low…high divided by the largest of them, and
// the logarithm of that largest one as a share of the weight of the mode.
func (w weights) between(low, high int) ([]float64, float64) {
	peak := min(max(w.mode, low), high)
	v := make([]float64, high-low+1)
	v[peak-low] = 1
	for x := peak; x < high; x++ {
		v[x+1-low] = v[x-low] * w.step(x)
	}
	for x := peak; x > low; x-- {
		v[x-1-low] = v[x-low] / w.step(x-1)
	}
	var logScale float64
	for x := w.mode; x < peak; x++ {
		logScale += math.Log(w.step(x))
	}
	for x := peak; x < w.mode; x++ {
		logScale -= math.Log(w.step(x))
	}
	return v, logScale
}

// coefficient returns the coefficient of z^n in the product of the polynomials,
// or 0 where the product does not reach so far.
func coefficient(factors [][]float64, n int) float64 {
	product := []float64{1}
	for _, f := range factors[:len(factors)-1] {
		next := make([]float64, min(len(product)+len(f)-2, n)+1)
		for i, a := range product {
			if a == 0 {
				continue
			}
			row := next[i:]
			for j, b := range f[:min(len(f), len(row))] {
				row[j] += a * b
			}
		}
		product = next
	}
	last := factors[len(factors)-1]
	var sum float64
	for i := max(0, n-len(last)+1); i <= min(n, len(product)-1); i++ {
		sum += product[i] * last[n-i]
	}
	return sum
}

func checkPool(pool []int, bag int) (total int, err error) {
	if err := checkBag(len(pool), bag); err != nil {
		return 0, err
	}
	for i, k := range pool {
		if k < 0 {
			return 0, fault.Invalid("colour %d of the pool has %d pieces", i+1, k).At("pool")
		}
		if k > MostPool-total {
			return 0, fault.Invalid("the pool has more than %d pieces", MostPool).At("pool").
				WithHint("leave the pool out: one so large is as good as endless")
		}
		total += k
	}
	if bag > total {
		return 0, fault.Invalid("a bag of %d pieces cannot be filled from a pool of %d", bag, total).At("bag")
	}
	return total, nil
}

// proportions returns the shares over their sum.
func proportions(shares []float64, bag int) ([]float64, error) {
	if err := checkBag(len(shares), bag); err != nil {
		return nil, err
	}
	return normalise(shares)
}

func normalise(shares []float64) ([]float64, error) {
	var sum float64
	for i, s := range shares {
		if !(s >= 0) || math.IsInf(s, 1) {
			return nil, fault.Invalid("share %d is %g, not a positive number", i+1, s).At("shares")
		}
		sum += s
	}
	if !(sum > 0) || math.IsInf(sum, 1) {
		return nil, fault.Invalid("the shares sum to %g", sum).At("shares").WithHint("give every colour a share, for example 2,2,1")
	}
	p := make([]float64, len(shares))
	for i, s := range shares {
		p[i] = s / sum
	}
	return p, nil
}

func checkBag(colours, bag int) error {
	switch {
	case colours == 0:
		return fault.Invalid("there is no colour to count")
	case colours > MostColours:
		return fault.Invalid("%d colours are more than the %d that can be counted", colours, MostColours)
	case bag < 1:
		return fault.Invalid("a bag of %d pieces is no bag", bag).At("bag")
	case bag > MostPieces:
		return fault.Invalid("a bag of %d pieces is more than the %d that can be counted", bag, MostPieces).At("bag")
	}
	return nil
}

func checkLeast(least []int, colours int) error {
	if len(least) != colours {
		return fault.Invalid("%d least counts for %d colours", len(least), colours).At("least").
			WithHint("give one for every colour, 0 where nothing is asked")
	}
	for i, l := range least {
		if l < 0 {
			return fault.Invalid("colour %d asks for at least %d pieces", i+1, l).At("least")
		}
	}
	return nil
}
