package demand

import (
	"cmp"
	"slices"

	q "slabside/internal/quantity"
)

// tally is a set of boils of standard sizes: how many of each, largest first.
type tally [3]int

func (t tally) boils() int { return t[0] + t[1] + t[2] }

// standardSearch looks through sets of boils of a recipe's standard sizes.
//
// The boils of a set stand in order of size, so the boils of one size have
// neighbouring indices and their sum is a difference of two running sums: a set
// is judged in one pass over the draws, however many boils it has.
type standardSearch struct {
	*cover
	sizes   []q.Kilograms
	running [][][][]float64 // [size][boils][portion][draw]
	judged  map[tally]verdict
}

type verdict struct {
	chance Chance
	left   float64
}

func newStandardSearch(c *cover, sizes []q.Kilograms) *standardSearch {
	s := &standardSearch{cover: c, sizes: sizes, judged: make(map[tally]verdict)}
	for range sizes {
		s.running = append(s.running, [][][]float64{matrix(len(c.portions), c.draws)})
	}
	return s
}

// upTo makes the running sums of a size reach k boils.
func (s *standardSearch) upTo(size, k int) error {
	for i := len(s.running[size]) - 1; i < k; i++ {
		y, err := s.boilYield(s.sizes[size], i)
		if err != nil {
			return err
		}
		next := matrix(len(s.portions), s.draws)
		add(next, s.running[size][i])
		add(next, y)
		s.running[size] = append(s.running[size], next)
	}
	return nil
}

// judge returns how well a set covers.
func (s *standardSearch) judge(t tally) (verdict, error) {
	if v, ok := s.judged[t]; ok {
		return v, nil
	}
	made := matrix(len(s.portions), s.draws)
	from := 0
	for size, n := range t[:len(s.sizes)] {
		if n == 0 {
			continue
		}
		if err := s.upTo(size, from+n); err != nil {
			return verdict{}, err
		}
		low, high := s.running[size][from], s.running[size][from+n]
		for p := range made {
			for d := range made[p] {
				made[p][d] += high[p][d] - low[p][d]
			}
		}
		from += n
	}
	v := verdict{s.chance(made), s.leftOver(made)}
	s.judged[t] = v
	return v, nil
}

// covering returns the sets of exactly k boils that cover.
func (s *standardSearch) covering(k int) ([]tally, error) {
	var found []tally
	for a := k; a >= 0; a-- {
		for b := k - a; b >= 0; b-- {
			t := tally{a, b, k - a - b}
			if (len(s.sizes) < 3 && t[2] > 0) || (len(s.sizes) < 2 && t[1] > 0) {
				continue
			}
			v, err := s.judge(t)
			if err != nil {
				return nil, err
			}
			if v.chance.covers() {
				found = append(found, t)
			}
		}
	}
	return found, nil
}

// fewest returns the smallest number of boils that can cover and every set of
// that many that does.
//
// Where a larger charge never yields less (checked draw by draw on every boil
// that counts), whole boils cover if anything does, so the first number at which
// they do is the smallest. Where that does not hold, all sets of every smaller
// number are looked at.
func (s *standardSearch) fewest() (int, []tally, error) {
	for k := 0; k <= MostBoils; k++ {
		whole, err := s.judge(tally{k})
		if err != nil {
			return 0, nil, err
		}
		if !whole.chance.covers() {
			if k == 1 {
				if err := s.never(); err != nil {
					return 0, nil, err
				}
			}
			continue
		}
		rising, err := s.rising(k)
		if err != nil {
			return 0, nil, err
		}
		first := k
		if !rising {
			first = 0
		}
		for ; ; first++ {
			if found, err := s.covering(first); err != nil || len(found) > 0 {
				return first, found, err
			}
		}
	}
	return 0, nil, s.hopeless()
}

// rising reports whether, for each of the first k boils, a larger standard size
// yields at least as much in every portion and draw.
func (s *standardSearch) rising(k int) (bool, error) {
	for i := range k {
		for size := 1; size < len(s.sizes); size++ {
			small, err := s.boilYield(s.sizes[size], i)
			if err != nil {
				return false, err
			}
			large, err := s.boilYield(s.sizes[size-1], i)
			if err != nil {
				return false, err
			}
			if !atMost(small, large) {
				return false, nil
			}
		}
	}
	return true, nil
}

// needless reports whether a set still covers with a boil taken out or made one
// size smaller.
func (s *standardSearch) needless(t tally) (bool, error) {
	for size := range s.sizes {
		if t[size] == 0 {
			continue
		}
		less := t
		less[size]--
		v, err := s.judge(less)
		if err != nil || v.chance.covers() {
			return true, err
		}
		if size+1 == len(s.sizes) {
			continue
		}
		less[size+1]++
		if v, err = s.judge(less); err != nil || v.chance.covers() {
			return true, err
		}
	}
	return false, nil
}

// options returns the sets worth choosing from, best first: fewest boils, then
// least left over. Those with one boil more than needed are kept if they leave
// less than the best. Beside the first of each number, no set stands in the list
// that covers with a boil taken out or made one size smaller.
func (s *standardSearch) options() ([]tally, error) {
	k, found, err := s.fewest()
	if err != nil {
		return nil, err
	}
	if k == 0 {
		return []tally{{}}, nil
	}
	options, err := s.lean(found)
	if err != nil {
		return nil, err
	}
	if len(s.sizes) == 1 || k == MostBoils {
		return options[:min(len(options), MostOthers+1)], nil
	}
	if found, err = s.covering(k + 1); err != nil {
		return nil, err
	}
	more, err := s.lean(found)
	if err != nil {
		return nil, err
	}
	best := s.judged[options[0]].left
	for _, t := range more {
		if s.judged[t].left < best-gram {
			options = append(options, t)
		}
	}
	return options[:min(len(options), MostOthers+1)], nil
}

// lean returns the set that leaves least and after it those that are not
// needless, least left over first.
func (s *standardSearch) lean(found []tally) ([]tally, error) {
	slices.SortStableFunc(found, func(a, b tally) int {
		return cmp.Compare(s.judged[a].left, s.judged[b].left)
	})
	var kept []tally
	for i, t := range found {
		spare, err := s.needless(t)
		if err != nil {
			return nil, err
		}
		if i == 0 || !spare {
			kept = append(kept, t)
		}
	}
	return kept, nil
}

func (s *standardSearch) charges(t tally) []q.Kilograms {
	list := make([]q.Kilograms, 0, t.boils())
	for size, n := range t[:len(s.sizes)] {
		for range n {
			list = append(list, s.sizes[size])
		}
	}
	return list
}
