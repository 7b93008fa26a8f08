package daytest

import (
	"slices"

	"slabside/internal/day"
)

// allergens reports whether an allergen can be left anywhere.
func (g *Programme) allergens() bool {
	return slices.ContainsFunc(g.p.Channels, func(c day.Channel) bool { return c.Allergen })
}

// residue carries the levels from neighbour to neighbour; a level may be
// called higher than it is, which never helps.
func (g *Programme) residue() {
	p := g.p
	for c, ch := range p.Channels {
		most, opening := 0, 0
		if p.Levels != nil {
			opening = p.Levels[c]
		}
		most = max(most, opening)
		for _, b := range p.Boils {
			most = max(most, b.Emit[c])
		}
		for j, b := range p.Boils {
			before := g.bounded(nameBefore(j, c), b.Limit[c])
			after := g.bounded(nameAfter(j, c), max(most, b.Limit[c]))
			var s sum
			s.add(1, after)
			s.add(-1, before)
			if ch.Allergen {
				g.row(s, ">=", 0)
			} else {
				g.row(s, ">=", -1)
			}
			var e sum
			e.add(1, after)
			g.row(plus(e, -b.Emit[c], g.made(j)), ">=", 0)
		}
		big := most
		for _, b := range p.Boils {
			big = max(big, b.Limit[c])
		}
		g.flow(c, opening, big, nameBefore, nameAfter, func(s *sum, j int) {
			s.add(big, nameAct(j, day.AllergenClean))
			if !ch.Allergen {
				s.add(big, nameAct(j, day.Wash))
				s.add(2, nameAct(j, day.Wipe))
			}
		})
	}
}

// flow carries a level of channel c from each boil to the one that follows it:
// before_j ≥ after_i, less what is taken off between them.
func (g *Programme) flow(c, opening, big int, before, after func(boil, c int) string, taken func(s *sum, j int)) {
	n := len(g.p.Boils)
	for j := range n {
		for i := -1; i < n; i++ {
			if i == j {
				continue
			}
			var s sum
			s.add(1, before(j, c))
			rhs := -big
			if i == -1 {
				rhs += opening
			} else {
				s.add(-1, after(i, c))
			}
			s.add(-big, g.next(i, j))
			taken(&s, j)
			g.row(s, ">=", rhs)
		}
	}
}

// kettleCleans lets the kettle be cleaned in the minutes before a charge.
func (g *Programme) kettleCleans(clean *sum) {
	if !g.allergens() {
		return // a clean would take nothing away
	}
	for j := range g.p.Boils {
		k := g.bin(nameKettle(j))
		clean.add(g.p.KettleMin, k)
		var starts sum
		for m := range g.last {
			charged := g.over(j, func(_, t int) int {
				if g.kettleFrom(j, t) == m {
					return 1
				}
				return 0
			})
			var s sum
			s.add(1, g.bin(nameKettleAt(j, m)))
			g.row(plus(s, -1, charged), "<=", 0)
			starts.add(1, nameKettleAt(j, m))
		}
		starts.add(-1, k)
		g.row(starts, "=", 0)
	}
}

// kettleFrom is the minute from which the kettle is cleaned for a boil.
func (g *Programme) kettleFrom(j, pour int) int {
	b := &g.p.Boils[j]
	return pour - b.Lit - b.Charge - g.p.KettleMin
}

// kettleCleaned is 1 if the kettle is cleaned for a boil in a minute.
func (g *Programme) kettleCleaned(j, m int) (out sum) {
	if !g.allergens() {
		return out
	}
	for t := max(0, m-g.p.KettleMin+1); t <= m; t++ {
		out.add(1, nameKettleAt(j, t))
	}
	return out
}

// kettleResidue carries the levels of the kettle from neighbour to neighbour.
func (g *Programme) kettleResidue() {
	p, n := g.p, len(g.p.Boils)
	for c, ch := range p.Channels {
		if !ch.Allergen {
			continue
		}
		opening := 0
		if p.KettleLevels != nil {
			opening = p.KettleLevels[c]
		}
		emit := make([]int, n)
		big := opening
		for j, b := range p.Boils {
			if b.KettleEmit != nil {
				emit[j] = b.KettleEmit[c]
			}
			big = max(big, emit[j], b.Limit[c])
		}
		for j, b := range p.Boils {
			var s, e sum
			s.add(1, g.bounded(nameKettleAfter(j, c), big))
			e.addSum(1, s)
			s.add(-1, g.bounded(nameKettleBefore(j, c), b.Limit[c]))
			g.row(s, ">=", 0)
			g.row(plus(e, -emit[j], g.made(j)), ">=", 0)
		}
		g.flow(c, opening, big, nameKettleBefore, nameKettleAfter, func(s *sum, j int) { s.add(big, nameKettle(j)) })
	}
}

// soiled carries from neighbour to neighbour which pairs are off the machine
// and soiled; a pair may be called soiled when it is not, which never helps.
func (g *Programme) soiled() {
	if !g.allergens() {
		return
	}
	p, n := g.p, len(g.p.Boils)
	dirtyAtOpening := 0
	for c, ch := range p.Channels {
		if ch.Allergen && p.Levels != nil && p.Levels[c] > 0 {
			dirtyAtOpening = 1
		}
	}
	for i := range n {
		dirty := g.bin(nameDirty(i))
		for c, ch := range p.Channels {
			if !ch.Allergen {
				continue
			}
			var s sum // the level after boil i makes the line dirty
			s.add(1, nameAfter(i, c))
			s.add(-g.upper[nameAfter(i, c)], dirty)
			g.row(s, "<=", 0)
		}
		for pair := range p.Pairs {
			g.bin(nameSoiled(i, pair))
		}
	}
	for j, b := range p.Boils {
		for i := -1; i < n; i++ {
			if i == j {
				continue
			}
			off := p.Mounted
			if i != -1 {
				off = p.Boils[i].Rolls
			}
			for pair := range p.Pairs {
				// soiled while j is made, or before its pair goes on, if j follows i
				var s sum
				s.add(1, nameSoiled(j, pair))
				if pair == b.Rolls {
					s = sum{}
					s.add(1, nameRolls(j, rollsSoiled))
				}
				rhs := -1
				switch {
				case off == b.Rolls && pair == off:
					continue // it stays
				case pair == off && i == -1:
					rhs += dirtyAtOpening
				case pair == off:
					s.add(-1, nameDirty(i))
				case i != -1:
					s.add(-1, nameSoiled(i, pair))
				}
				s.add(-1, g.next(i, j))
				g.row(s, ">=", rhs)
			}
		}
	}
}
