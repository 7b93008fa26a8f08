package daytest

import "slabside/internal/day"

// The ways to set up the rolls: a change, the cleaning that goes with an act,
// or a change to a pair that went off soiled.
const (
	rollsChange = 0
	rollsSoiled = day.NumActs
)

// rollsWays is the number of ways there are; without allergens no pair is soiled.
func (g *Programme) rollsWays() int {
	if g.allergens() {
		return rollsSoiled + 1
	}
	return rollsSoiled
}

// rollsMin is the minutes of a way to set up the rolls.
func (g *Programme) rollsMin(boil, way int) int {
	mount := g.p.Pairs[g.p.Boils[boil].Rolls].Mount
	switch way {
	case rollsChange:
		return mount
	case rollsSoiled:
		return mount + g.p.RollsMin[day.AllergenClean]
	}
	return g.p.RollsMin[way]
}

// stays says whether the pair stays mounted between i and j.
func (g *Programme) stays(i, j int) bool {
	if i == -1 {
		return g.p.Mounted == g.p.Boils[j].Rolls
	}
	return g.p.Boils[i].Rolls == g.p.Boils[j].Rolls
}

func (g *Programme) setups() {
	p, n := g.p, len(g.p.Boils)
	var clean sum
	for j := range n {
		var acts, actStart, actEnd, timed sum
		for k := day.Wipe; int(k) < day.NumActs; k++ {
			a := g.bin(nameAct(j, k))
			acts.add(1, a)
			clean.add(p.ActMin[k], a)
			if p.ActMin[k] == 0 {
				continue
			}
			timed.add(1, a)
			var one sum
			for t := 0; t+p.ActMin[k] <= g.last; t++ {
				u := g.bin(nameActAt(j, k, t))
				one.add(1, u)
				actStart.add(t, u)
				actEnd.add(t+p.ActMin[k], u)
			}
			one.add(-1, a)
			g.row(one, "=", 0)
		}
		g.row(plus(acts, -1, g.made(j)), "<=", 0)
		g.row(plus(actEnd, -1, g.pour(j)), "<=", 0)

		var change, stay, rollsStart, rollsEnd, rolls sum
		for i := -1; i < n; i++ {
			if i == j {
				continue
			}
			if g.stays(i, j) {
				stay.add(1, g.next(i, j))
			} else {
				change.add(1, g.next(i, j))
			}
		}
		for v := range g.rollsWays() {
			c := g.bin(nameRolls(j, v))
			var is sum
			is.add(1, c)
			switch v {
			case rollsChange:
				var soiled sum
				if g.allergens() {
					soiled.add(1, nameRolls(j, rollsSoiled))
				}
				g.row(plus(plus(is, 1, soiled), -1, change), "=", 0)
			case rollsSoiled:
				clean.add(p.RollsMin[day.AllergenClean], c)
			default:
				var act sum
				act.add(1, nameAct(j, day.Act(v)))
				g.row(plus(is, -1, act), "<=", 0)
				g.row(plus(is, -1, stay), "<=", 0)
				g.row(plus(plus(is, -1, act), -1, stay), ">=", -1)
				clean.add(p.RollsMin[v], c)
			}
			minutes := g.rollsMin(j, v)
			if minutes == 0 {
				continue
			}
			rolls.add(1, c)
			var one sum
			for t := 0; t+minutes <= g.last; t++ {
				s := g.bin(nameRollsAt(j, v, t))
				one.add(1, s)
				rollsStart.add(t, s)
				rollsEnd.add(t+minutes, s)
			}
			g.row(plus(one, -1, is), "=", 0)
		}
		rolling := g.over(j, func(s, t int) int { return t + p.Boils[j].Shapes[s].RollFrom })
		g.row(plus(rollsEnd, -1, rolling), "<=", 0)

		// after boil i, if j follows it and there is something to do
		big := g.last
		for i := range n {
			if i == j {
				continue
			}
			var follows sum
			follows.add(1, g.next(i, j))
			both := plus(follows, 1, timed)
			g.row(plus(plus(actStart, -1, g.slabFree(i)), -big, both), ">=", -2*big)
			both = plus(follows, 1, rolls)
			free := g.over(i, func(s, t int) int { return t + p.Boils[i].Shapes[s].RollTo })
			g.row(plus(plus(rollsStart, -1, free), -big, both), ">=", -2*big)
		}
	}
	most := 0
	for k := range day.NumActs {
		most = max(most, p.ActMin[k]+p.RollsMin[k]+p.RollsMin[day.AllergenClean]+p.KettleMin)
	}
	g.kettleCleans(&clean)
	g.bounded(varClean, n*most)
	var total sum
	total.add(1, varClean)
	g.row(plus(total, -1, clean), "=", 0)
}
