package demand

import (
	"cmp"
	"fmt"
	"slices"

	q "slabside/internal/quantity"
)

// nextSmaller returns the next smaller size: standard where there are standard
// sizes, else one step of the odd ones.
func nextSmaller(charge q.Kilograms, sizes []q.Kilograms, o odd) (q.Kilograms, bool) {
	if len(sizes) > 0 {
		i := slices.Index(sizes, charge)
		if i < 0 || i+1 == len(sizes) {
			return 0, false
		}
		return sizes[i+1], true
	}
	for steps := o.high; steps >= o.low; steps-- {
		if to := o.at(steps); to < charge-gram/2 {
			return to, true
		}
	}
	return 0, false
}

// swapped returns the charges with one replaced, largest first.
func swapped(charges []q.Kilograms, i int, to q.Kilograms) []q.Kilograms {
	list := slices.Clone(charges)
	list[i] = to
	slices.SortStableFunc(list, func(a, b q.Kilograms) int { return cmp.Compare(b, a) })
	return list
}

// combine returns up to most picks of one choice a recipe, best first: fewest
// boils in all, then least left over. Every recipe's choices are in that order
// themselves, so the successors of a pick are those with one recipe moved on by
// one, and the best pick not yet taken is always among the successors of those taken.
func combine(choices [][]choice, most int) [][]int {
	type total struct {
		pick  []int
		boils int
		left  q.Kilograms
	}
	sum := func(pick []int) total {
		t := total{pick: pick}
		for r, i := range pick {
			t.boils += len(choices[r][i].lot.Charges)
			t.left += choices[r][i].lot.LeftOver
		}
		return t
	}
	frontier := []total{sum(make([]int, len(choices)))}
	seen := map[string]bool{fmt.Sprint(frontier[0].pick): true}
	var picks [][]int
	for len(picks) < most && len(frontier) > 0 {
		slices.SortStableFunc(frontier, func(a, b total) int {
			return cmp.Or(cmp.Compare(a.boils, b.boils), cmp.Compare(a.left, b.left), slices.Compare(a.pick, b.pick))
		})
		best := frontier[0].pick
		frontier = frontier[1:]
		picks = append(picks, best)
		for r := range best {
			if best[r]+1 == len(choices[r]) {
				continue
			}
			next := slices.Clone(best)
			next[r]++
			if key := fmt.Sprint(next); !seen[key] {
				seen[key] = true
				frontier = append(frontier, sum(next))
			}
		}
	}
	return picks
}

// countBoils works out, for every choice that is picked, how many of its boils
// each line waits for.
func (s *shop) countBoils(choices [][]choice, picks [][]int) error {
	for _, pick := range picks {
		for r, i := range pick {
			choices[r][i].used = true
		}
	}
	made := make([][][][]float64, len(choices)) // [recipe][choice][portion][draw], of the boils counted so far
	for r := range choices {
		made[r] = make([][][]float64, len(choices[r]))
		for i := range choices[r] {
			if choices[r][i].used {
				made[r][i] = matrix(len(s.Recipes[r].Portions), s.Draws)
				choices[r][i].boils = make([]int, len(s.asked))
			}
		}
	}
	need := matrix(len(s.sweets), s.Draws) // of this line and all before it
	net := matrix(len(s.sweets), s.Draws)  // loose stock taken off
	for l, a := range s.asked {
		touched := make([]bool, len(choices))
		if n := s.perBag[l]; n != nil {
			for h, k := range n.sweets {
				addNeed(&need[k], n.kg[h], float64(a.ToPack))
				copy(net[k], need[k])
				takeOff(net[k], s.loose[k])
				touched[s.recipe[k]] = true
			}
		}
		confidence := ShouldCover
		if s.Lines[a.Line].Must {
			confidence = MustCover
		}
		for r := range choices {
			needed := net[s.first[r] : s.first[r]+len(s.Recipes[r].Portions)]
			for i := range choices[r] {
				ch := &choices[r][i]
				if !ch.used {
					continue
				}
				if l > 0 {
					ch.boils[l] = ch.boils[l-1]
				}
				if !touched[r] {
					continue
				}
				for ch.boils[l] < len(ch.lot.Charges) && share(made[r][i], needed) < confidence-1e-12 {
					y, err := ch.cover.boilYield(ch.lot.Charges[ch.boils[l]], ch.boils[l])
					if err != nil {
						return err
					}
					add(made[r][i], y)
					ch.boils[l]++
				}
			}
		}
	}
	return nil
}

// lotPlan puts a pick together.
func (s *shop) lotPlan(choices [][]choice, pick []int) LotPlan {
	var plan LotPlan
	for r, i := range pick {
		l := choices[r][i].lot
		plan.Lots = append(plan.Lots, l)
		plan.Boils += len(l.Charges)
		plan.LeftOver += l.LeftOver
	}
	for l := range s.asked {
		n := LineNeeds{Needs: make([]int, len(pick)), Own: make([]int, len(pick))}
		for r, i := range pick {
			n.Needs[r] = choices[r][i].boils[l]
		}
		for _, k := range s.asked[l].Kg {
			n.Own[k.Recipe] = n.Needs[k.Recipe]
		}
		plan.Lines = append(plan.Lines, n)
	}
	return plan
}
