package day

import "slices"

// residue keeps the levels of a day in one list: the line's of every channel,
// the kettle's of the allergen channels, and for every pair of rolls 1 if it is off
// the machine and soiled. Less of any of them is never worse.
type residue struct {
	p        *Problem
	allergen []int // the allergen channels; without any there is nothing but the line
}

func newResidue(p *Problem) residue {
	r := residue{p: p}
	for c, ch := range p.Channels {
		if ch.Allergen {
			r.allergen = append(r.allergen, c)
		}
	}
	return r
}

// kettle is where the kettle's levels begin, pairs where those of the rolls do.
func (r *residue) kettle() int { return len(r.p.Channels) }
func (r *residue) pairs() int  { return len(r.p.Channels) + len(r.allergen) }

func (r *residue) len() int {
	if len(r.allergen) == 0 {
		return len(r.p.Channels)
	}
	return r.pairs() + len(r.p.Pairs)
}

// opening returns the levels at the opening of the room.
func (r *residue) opening() []int {
	out := make([]int, r.len())
	copy(out, r.p.Levels)
	if r.p.KettleLevels != nil {
		for i, c := range r.allergen {
			out[r.kettle()+i] = r.p.KettleLevels[c]
		}
	}
	return out
}

// step appends to into the levels a boil leaves when act and perhaps a clean of
// the kettle come first and a pair is mounted; ok tells whether it may be made on
// what is left, soiled whether its own pair goes on soiled and is cleaned.
func (r *residue) step(into, levels []int, mounted, boil int, act Act, clean bool) (out []int, soiled, ok bool) {
	b := &r.p.Boils[boil]
	out = into
	for c, ch := range r.p.Channels {
		l := cleaned(levels[c], act, ch.Allergen)
		if l > b.Limit[c] {
			return out, false, false
		}
		if !ch.Allergen {
			l--
		}
		out = append(out, max(l, b.Emit[c]))
	}
	if len(r.allergen) == 0 {
		return out, false, true
	}
	for i, c := range r.allergen {
		l := levels[r.kettle()+i]
		if clean {
			l = 0
		}
		if l > b.Limit[c] {
			return out, false, false
		}
		if b.KettleEmit != nil {
			l = max(l, b.KettleEmit[c])
		}
		out = append(out, l)
	}
	off := len(out)
	out = append(out, levels[r.pairs():]...)
	if mounted == b.Rolls {
		return out, false, true
	}
	if mounted >= 0 && slices.ContainsFunc(r.allergen, func(c int) bool { return levels[c] > 0 }) {
		out[off+mounted] = 1
	}
	soiled = out[off+b.Rolls] > 0
	out[off+b.Rolls] = 0
	return out, soiled, true
}

// cleaned is a channel's level after an act.
func cleaned(level int, act Act, allergen bool) int {
	switch {
	case act == AllergenClean, act == Wash && !allergen:
		return 0
	case act == Wipe && !allergen:
		return max(0, level-2)
	}
	return level
}

// mounted is the pair on the machine after a boil, −1 being the opening.
func (r *residue) mounted(boil int) int {
	if boil < 0 {
		return r.p.Mounted
	}
	return r.p.Boils[boil].Rolls
}

// prep is what is done before a boil, what it takes, and what is left after the boil.
type prep struct {
	act    Act
	clean  bool // the kettle is cleaned
	kettle int  // minutes of that
	rolls  int  // minutes of the work on the rolls
	cost   int  // cleaning minutes of it all
	levels []int
}

// preps appends to into every useful way to prepare for a boil, the weakest first,
// when a pair is mounted and the boil before has left levels; code is of what is
// made then. Levels that nothing to come minds are left out.
func (in *instance) preps(into []prep, levels []int, mounted, boil int, least Act, code int32) []prep {
	p, b := in.p, &in.p.Boils[boil]
	var scratch [32]int
	for act := least; act < nActs; act++ {
		for _, clean := range []bool{false, true} {
			if clean && len(in.allergen) == 0 {
				continue
			}
			lev, soiled, ok := in.step(scratch[:0], levels, mounted, boil, act, clean)
			if !ok {
				continue
			}
			in.forget(lev, b.Rolls, code)
			n := prep{act: act, clean: clean, rolls: p.RollsMin[act], cost: p.ActMin[act] + p.RollsMin[act]}
			if mounted != b.Rolls {
				n.rolls, n.cost = p.Pairs[b.Rolls].Mount, p.ActMin[act]
				if soiled {
					n.rolls += p.RollsMin[AllergenClean]
					n.cost += p.RollsMin[AllergenClean]
				}
			}
			if clean {
				n.kettle = p.KettleMin
				n.cost += n.kettle
			}
			if needless := slices.ContainsFunc(into, func(o prep) bool {
				return p.ActMin[o.act] <= p.ActMin[act] && o.rolls <= n.rolls && o.kettle <= n.kettle && slices.Equal(o.levels, lev)
			}); needless {
				continue
			}
			n.levels = slices.Clone(lev)
			into = append(into, n)
		}
	}
	return into
}

// rest is what the boils still to be made ask: the least limit of every channel
// and the pairs they use.
type rest struct {
	limit []int
	pairs []bool
}

func (in *instance) restOf(code int32) *rest {
	if r := in.rests[code]; r != nil {
		return r
	}
	r := &rest{limit: make([]int, len(in.p.Channels)), pairs: make([]bool, len(in.p.Pairs))}
	for c := range r.limit {
		r.limit[c] = 1 << 30
	}
	for k, n := range in.counts(code) {
		for _, i := range in.order[k][n:] {
			b := &in.p.Boils[i]
			r.pairs[b.Rolls] = true
			for c, l := range b.Limit {
				r.limit[c] = min(r.limit[c], l)
			}
		}
	}
	in.rests[code] = r
	return r
}

// forget sets to 0 the levels that none of the boils still to be made minds: a
// flavour only falls until the next emission, which does not add to it. An
// allergen that all bear still soils the mounted pair if that comes off and on again.
func (in *instance) forget(levels []int, mounted int, code int32) {
	r := in.restOf(code)
	again := false
	if r.pairs[mounted] {
		for q, on := range r.pairs {
			again = again || on && q != mounted
		}
	}
	for c, ch := range in.p.Channels {
		if levels[c] <= r.limit[c] {
			levels[c] = min(levels[c], 1)
			if !again || !ch.Allergen {
				levels[c] = 0
			}
		}
	}
	if len(in.allergen) == 0 {
		return
	}
	for i, c := range in.allergen {
		if k := in.kettle() + i; levels[k] <= r.limit[c] {
			levels[k] = 0
		}
	}
	for q, on := range r.pairs {
		if !on {
			levels[in.pairs()+q] = 0
		}
	}
}
