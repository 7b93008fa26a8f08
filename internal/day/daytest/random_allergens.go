package daytest

import "slabside/internal/day"

// RandomAllergens returns a small making day like those of Random, with an
// allergen and two pairs of rolls that must be changed to and fro, so that rolls
// that went off soiled go on again and the kettle is to be cleaned.
func RandomAllergens(seed uint64, size int) *day.Problem {
	r := &rng{seed*1_000_037 + uint64(size)}
	p := random(r, size, true)
	randomKettle(r, p)
	return p
}

// toAndFro has the recipes use two pairs by turns, mostly in the order of their
// numbers, and the first of them mostly leave an allergen.
func toAndFro(r *rng, p *day.Problem) {
	allergen := len(p.Channels) - 1
	leaves := !r.one(4)
	for i := range p.Boils {
		b := &p.Boils[i]
		b.Rolls = b.Recipe % 2
		if b.Recipe == 0 && leaves {
			b.Emit[allergen], b.Limit[allergen] = 2, 3
		}
	}
	for b := 1; b < len(p.Recipes) && !r.one(4); b++ {
		p.Rules = append(p.Rules, day.Rule{Kind: day.Before, A: b - 1, B: b})
	}
}

// randomKettle draws what the boils leave in the kettle and how long it takes to
// clean. A day without allergens has nothing of it.
func randomKettle(r *rng, p *day.Problem) {
	allergens := false
	for _, c := range p.Channels {
		allergens = allergens || c.Allergen
	}
	if !allergens {
		return
	}
	levels := func() (out []int) {
		for range p.Channels { // those of flavours too, which do not count
			out = append(out, r.in(0, 3))
		}
		return out
	}
	p.KettleMin = r.in(0, 3)
	if r.one(3) {
		p.KettleLevels = levels()
	}
	for i := range p.Boils {
		switch b := &p.Boils[i]; r.in(1, 4) {
		case 1: // nothing
		case 2:
			b.KettleEmit = levels()
		default:
			b.KettleEmit = b.Emit
		}
	}
}
