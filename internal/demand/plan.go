package demand

import (
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Cover turns lines into boils: the fewest that cover what the lines need, and
// of those the ones that leave least over.
//
// A recipe's boils cover when in at least [MustCover] of the draws every portion
// gives what the must-lines need of it, and in at least [ShouldCover] of them
// what all lines need. Packed bags of a product come off its lines first, then
// loose sweets off what the recipe and portion need. Charges are whole, half and
// third boils; odd charges are used where none of these is allowed and offered
// beside them elsewhere ([Reasons.OddLot]).
//
// Every set of standard charges of the fewest number is looked at, so that no
// other leaves less; see [Reasons] for what shows that fewer would not do.
// Nothing to make gives empty lots, not an error. Faults: Invalid and NotFound
// with the field; what the yield function returns is passed on.
func Cover(p Problem) (Result, error) {
	s, err := open(p)
	if err != nil {
		return Result{}, err
	}
	must, all := s.needs()
	res := Result{Lines: s.asked}
	var choices [][]choice
	for r := range s.Recipes {
		c, why, err := s.choose(r, must, all)
		if err != nil {
			return Result{}, err
		}
		choices = append(choices, c)
		res.Recipes = append(res.Recipes, why)
	}
	picks := combine(choices, MostOthers+1)
	if err := s.countBoils(choices, picks); err != nil {
		return Result{}, err
	}
	for i, pick := range picks {
		plan := s.lotPlan(choices, pick)
		if i == 0 {
			res.Best = plan
		} else {
			res.Others = append(res.Others, plan)
		}
	}
	return res, nil
}

// choice is one lot a recipe can have.
type choice struct {
	lot   Lot
	cover *cover
	used  bool
	// boils is how many boils, in index order, each line waits for; set for choices that are used.
	boils []int
}

// needs returns what the must-lines and all lines need, [sweet][draw], loose
// stock taken off; nil where nothing is needed.
func (s *shop) needs() (must, all [][]float64) {
	must, all = make([][]float64, len(s.sweets)), make([][]float64, len(s.sweets))
	for i, n := range s.perBag {
		if n == nil {
			continue
		}
		bags := float64(s.asked[i].ToPack)
		for h, k := range n.sweets {
			addNeed(&all[k], n.kg[h], bags)
			if s.Lines[s.asked[i].Line].Must {
				addNeed(&must[k], n.kg[h], bags)
			}
		}
	}
	for k, loose := range s.loose {
		takeOff(must[k], loose)
		takeOff(all[k], loose)
	}
	return must, all
}

func addNeed(sum *[]float64, kgPerBag []float64, bags float64) {
	if *sum == nil {
		*sum = make([]float64, len(kgPerBag))
	}
	for d, kg := range kgPerBag {
		(*sum)[d] += bags * kg
	}
}

func takeOff(need []float64, loose float64) {
	for d := range need {
		need[d] = max(0, need[d]-loose)
	}
}

// choose finds the lots a recipe can have, best first, and the reasons for the best.
func (s *shop) choose(r int, must, all [][]float64) ([]choice, Reasons, error) {
	rec := s.Recipes[r]
	var why Reasons
	c := &cover{
		id: rec.ID, draws: s.Draws, known: make(map[boil][][]float64),
		yield: func(charge q.Kilograms, index int) ([][]float64, error) { return s.Yield(r, charge, index) },
	}
	zero := make([]float64, s.Draws)
	asked := false
	for j, p := range rec.Portions {
		k := s.first[r] + j
		c.portions = append(c.portions, p.ID)
		c.must = append(c.must, orZero(must[k], zero))
		c.all = append(c.all, orZero(all[k], zero))
		why.Must = append(why.Must, q.Kilograms(mean(c.must[j])))
		why.All = append(why.All, q.Kilograms(mean(c.all[j])))
		asked = asked || all[k] != nil
	}
	if !asked {
		// Nothing asks for the recipe, so its kettle is no concern.
		l, err := c.lot(nil, false)
		return []choice{{lot: l, cover: c}}, why, err
	}
	if err := checkKettle(rec); err != nil {
		return nil, why, err
	}
	why.Sizes, why.Capped = standard(rec)
	lots, err := c.lots(rec, why.Sizes)
	if err != nil {
		return nil, why, err
	}
	var list []choice
	for _, l := range lots {
		list = append(list, choice{lot: l, cover: c})
	}
	return list, why, c.explain(&why, rec, lots[0])
}

func orZero(v, zero []float64) []float64 {
	if v == nil {
		return zero
	}
	return v
}

// lots returns the lots a recipe can have, best first.
func (c *cover) lots(r Recipe, sizes []q.Kilograms) ([]Lot, error) {
	var sets [][]q.Kilograms
	switch nothing, err := c.covered(nil); {
	case err != nil:
		return nil, err
	case nothing:
		sets = [][]q.Kilograms{nil}
	case len(sizes) == 0:
		charges, err := c.oddSearch(oddCharges(r))
		if err != nil {
			return nil, err
		}
		if charges == nil {
			if o := oddCharges(r); o.high < o.low {
				return nil, fault.Invalid("no charge of recipe %q fits between the kettle's least and the most allowed", r.ID).At("most_charge")
			}
			return nil, c.hopeless()
		}
		sets = [][]q.Kilograms{charges}
	default:
		search := newStandardSearch(c, sizes)
		tallies, err := search.options()
		if err != nil {
			return nil, err
		}
		for _, t := range tallies {
			sets = append(sets, search.charges(t))
		}
	}
	lots := make([]Lot, len(sets))
	for i, charges := range sets {
		var err error
		if lots[i], err = c.lot(charges, len(sizes) == 0 && len(charges) > 0); err != nil {
			return nil, err
		}
	}
	return lots, nil
}

// explain works out what shows that the best lot is the best.
func (c *cover) explain(why *Reasons, r Recipe, best Lot) error {
	n := len(best.Charges)
	if n == 0 {
		return nil
	}
	largest := oddCharges(r).top
	if len(why.Sizes) > 0 {
		largest = why.Sizes[0]
	}
	fewer := make([]q.Kilograms, n-1)
	for i := range fewer {
		fewer[i] = largest
	}
	made, err := c.made(fewer)
	if err != nil {
		return err
	}
	chance := c.chance(made)
	why.Fewer = &chance
	for i, charge := range best.Charges {
		if i+1 < n && best.Charges[i+1] == charge {
			continue // the last of its size is the one that shrinks, so the order of sizes holds
		}
		to, ok := nextSmaller(charge, why.Sizes, oddCharges(r))
		if !ok {
			continue
		}
		made, err := c.made(swapped(best.Charges, i, to))
		if err != nil {
			return err
		}
		why.Smaller = append(why.Smaller, Smaller{From: charge, To: to, Chance: c.chance(made)})
	}
	if len(why.Sizes) > 0 {
		why.OddLot, why.OddLess, err = c.oddAlternative(r, why.Sizes, best)
	}
	return err
}
