package daytest

import (
	"slices"

	"slabside/internal/day"
)

func (r *replay) residue() {
	level := make([]int, len(r.p.Channels))
	copy(level, r.p.Levels)
	for k := range r.plan.Made {
		b := r.block(k)
		r.before = append(r.before, slices.Clone(level))
		for c, ch := range r.p.Channels {
			switch {
			case b.Act == day.AllergenClean:
				level[c] = 0
			case ch.Allergen:
			case b.Act == day.Wash:
				level[c] = 0
			case b.Act == day.Wipe:
				level[c] = max(0, level[c]-2)
			}
			if level[c] > b.boil.Limit[c] {
				r.add(CodeResidue, b.Pour, "boil %d: %s at %d, limit %d", b.Placed.Boil, ch.Name, level[c], b.boil.Limit[c])
			}
			if ch.Allergen {
				level[c] = max(level[c], b.boil.Emit[c])
			} else {
				level[c] = max(level[c]-1, b.boil.Emit[c])
			}
		}
	}
}

func (r *replay) kettleResidue() {
	for c, ch := range r.p.Channels {
		if !ch.Allergen {
			continue
		}
		level := 0
		if r.p.KettleLevels != nil {
			level = r.p.KettleLevels[c]
		}
		for k := range r.plan.Made {
			b := r.block(k)
			if b.KettleClean {
				level = 0
			}
			if level > b.boil.Limit[c] {
				r.add(CodeKettleLevel, b.chargeFrom(), "boil %d: %s in the kettle at %d, limit %d", b.Placed.Boil, ch.Name, level, b.boil.Limit[c])
			}
			if b.boil.KettleEmit != nil {
				level = max(level, b.boil.KettleEmit[c])
			}
		}
	}
}

// rollsWork says what the rolls take before every place: the cleaning of a pair
// that stays, or a change, longer if the pair went off soiled.
func (r *replay) rollsWork() {
	soiled := map[int]bool{}
	for k := range r.plan.Made {
		b := r.block(k)
		off, on := r.pairBefore(k), b.boil.Rolls
		change, cleaning := 0, r.p.RollsMin[b.Act]
		if off != on {
			change, cleaning = r.p.Pairs[on].Mount, 0
			if soiled[on] {
				cleaning = r.p.RollsMin[day.AllergenClean]
			}
			soiled[on] = false
			for c, ch := range r.p.Channels {
				if ch.Allergen && r.before[k][c] > 0 {
					soiled[off] = true
				}
			}
		}
		r.rolls = append(r.rolls, change+cleaning)
		r.cleaned = append(r.cleaned, cleaning)
	}
}
