package demand

import (
	"slices"

	q "slabside/internal/quantity"
)

// oddSearch returns the odd charges that cover with the fewest boils and the
// smallest total: full charges as far as they go, then one between, then the
// least. It returns nil if no number of boils covers.
//
// What is left over follows the total nearly alone, so only one split of every
// total is looked at. The smallest total is found by halving, which asks that a
// larger charge never yields less; where that fails the answer still covers, but
// a smaller total may exist.
func (c *cover) oddSearch(o odd) ([]q.Kilograms, error) {
	if o.high < o.low {
		return nil, nil
	}
	for k := 1; k <= MostBoils; k++ {
		high := o.steps(k) - 1
		ok, err := c.covered(o.charges(k, high))
		if err != nil {
			return nil, err
		}
		if !ok {
			if k == 1 {
				if err := c.never(); err != nil {
					return nil, err
				}
			}
			continue
		}
		low := -1 // does not cover, as far as is known
		for high-low > 1 {
			mid := (low + high) / 2
			if ok, err = c.covered(o.charges(k, mid)); err != nil {
				return nil, err
			}
			if ok {
				high = mid
			} else {
				low = mid
			}
		}
		return o.charges(k, high), nil
	}
	return nil, nil
}

func (c *cover) covered(charges []q.Kilograms) (bool, error) {
	made, err := c.made(charges)
	if err != nil {
		return false, err
	}
	return c.chance(made).covers(), nil
}

// oddAlternative returns a lot with an odd charge where it beats the best lot of
// standard sizes: fewer boils, or as many that leave less.
func (c *cover) oddAlternative(r Recipe, sizes []q.Kilograms, best Lot) (*Lot, q.Kilograms, error) {
	if len(best.Charges) == 0 {
		return nil, 0, nil
	}
	charges, err := c.oddSearch(oddCharges(r))
	if err != nil || charges == nil {
		return nil, 0, err
	}
	plain := true
	for _, charge := range charges {
		plain = plain && slices.Contains(sizes, charge)
	}
	if plain {
		return nil, 0, nil
	}
	l, err := c.lot(charges, true)
	if err != nil {
		return nil, 0, err
	}
	less := best.LeftOver - l.LeftOver
	if len(charges) >= len(best.Charges) && less < gram {
		return nil, 0, nil
	}
	return &l, less, nil
}
