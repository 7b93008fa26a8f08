package demand

import (
	"fmt"
	"math"
	"slices"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
)

// microgram is a mass that is nothing: it keeps a boil that gives exactly what is
// needed from failing by the last bit of a sum [kg].
const microgram = 1e-9

// cover is the question one recipe puts: which boils cover it. Matrices are
// [portion][draw], in kg.
type cover struct {
	id       string
	portions []string
	must     [][]float64 // needed by the must-lines, loose stock taken off
	all      [][]float64 // needed by all lines
	yield    func(charge q.Kilograms, index int) ([][]float64, error)
	known    map[boil][][]float64
	draws    int
}

type boil struct {
	charge q.Kilograms
	index  int
}

// boilYield returns what a boil gives, asked for once and checked.
func (c *cover) boilYield(charge q.Kilograms, index int) ([][]float64, error) {
	key := boil{charge, index}
	if y, ok := c.known[key]; ok {
		return y, nil
	}
	y, err := c.yield(charge, index)
	if err != nil {
		return nil, fmt.Errorf("yield of %s: %w", c.id, err)
	}
	if len(y) != len(c.portions) {
		return nil, fault.Internal(nil, "a boil of recipe %q yields %d portions where %d are expected", c.id, len(y), len(c.portions))
	}
	for p := range y {
		if len(y[p]) != c.draws {
			return nil, fault.Internal(nil, "a boil of recipe %q yields %d draws where %d are expected", c.id, len(y[p]), c.draws)
		}
		for _, kg := range y[p] {
			if !(kg >= 0) || math.IsInf(kg, 1) {
				return nil, fault.Invalid("a boil of %g kg of recipe %q would yield %g kg", float64(charge), c.id, kg)
			}
		}
	}
	c.known[key] = y
	return y, nil
}

// made returns the sum of what the boils give. The charges' places are the boils' indices.
func (c *cover) made(charges []q.Kilograms) ([][]float64, error) {
	sum := matrix(len(c.portions), c.draws)
	for i, charge := range charges {
		y, err := c.boilYield(charge, i)
		if err != nil {
			return nil, err
		}
		add(sum, y)
	}
	return sum, nil
}

func matrix(rows, columns int) [][]float64 {
	m := make([][]float64, rows)
	for i := range m {
		m[i] = make([]float64, columns)
	}
	return m
}

func add(sum, m [][]float64) {
	for i := range sum {
		row := m[i]
		for d := range sum[i] {
			sum[i][d] += row[d]
		}
	}
}

// share returns the share of draws in which made reaches need in every portion.
func share(made, need [][]float64) float64 {
	draws := len(made[0])
	met := 0
draw:
	for d := range draws {
		for p := range made {
			if made[p][d] < need[p][d]-microgram {
				continue draw
			}
		}
		met++
	}
	return float64(met) / float64(draws)
}

func (c *cover) chance(made [][]float64) Chance {
	return Chance{Must: share(made, c.must), All: share(made, c.all)}
}

// leftOver returns the expected mass beyond what all lines need [kg].
func (c *cover) leftOver(made [][]float64) float64 {
	var sum float64
	for p := range made {
		need := c.all[p]
		for d, kg := range made[p] {
			sum += max(0, kg-need[d])
		}
	}
	return sum / float64(c.draws)
}

// lot describes the boils.
func (c *cover) lot(charges []q.Kilograms, isOdd bool) (Lot, error) {
	made, err := c.made(charges)
	if err != nil {
		return Lot{}, err
	}
	l := Lot{Charges: charges, Odd: isOdd, Chance: c.chance(made), LeftOver: q.Kilograms(c.leftOver(made))}
	for p, id := range c.portions {
		left := make([]float64, c.draws)
		for d := range left {
			left[d] = max(0, made[p][d]-c.all[p][d])
		}
		m := mean(left)
		slices.Sort(left)
		l.Portions = append(l.Portions, LeftOver{
			Portion: id, Mean: q.Kilograms(m),
			Low:  q.Kilograms(numeric.Quantile(left, numeric.LowPoint)),
			High: q.Kilograms(numeric.Quantile(left, numeric.HighPoint)),
		})
	}
	return l, nil
}

// atMost returns whether a yields no more than b in every portion and draw.
func atMost(a, b [][]float64) bool {
	for p := range a {
		for d := range a[p] {
			if a[p][d] > b[p][d]+microgram {
				return false
			}
		}
	}
	return true
}
