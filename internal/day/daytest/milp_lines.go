package daytest

import (
	"slices"

	"slabside/internal/day"
)

func (g *Programme) rules() {
	p, n := g.p, len(g.p.Boils)
	recipe := func(i int) int {
		if i == -1 || i == n {
			return -1
		}
		return p.Boils[i].Recipe
	}
	never := func(i, j int) {
		var s sum
		s.add(1, g.next(i, j))
		g.row(s, "=", 0)
	}
	for _, rule := range p.Rules {
		var need sum // of neighbours before the first boil of B
		firstB := slices.IndexFunc(p.Boils, func(b day.Boil) bool { return b.Recipe == rule.B })
		for i := -1; i < n; i++ {
			for j := 0; j <= n; j++ {
				if i == j || i == -1 && j == n {
					continue
				}
				switch {
				case rule.Kind == day.First && i == -1 && recipe(j) != rule.A,
					rule.Kind == day.Last && j == n && recipe(i) != rule.A,
					rule.Kind == day.NotNext && i != -1 && j != n && recipe(i) == rule.A && recipe(j) == rule.B:
					never(i, j)
				case rule.Kind == day.Next && i != -1 && j == firstB && recipe(i) == rule.A:
					need.add(1, g.next(i, j))
				case rule.Kind == day.AtLeast && j != n && recipe(j) == rule.B &&
					(rule.A == -1 && recipe(i) != rule.B || rule.A != -1 && i != -1 && recipe(i) == rule.A):
					var acts sum
					for k := max(rule.Act, day.Wipe); int(k) < day.NumActs; k++ {
						acts.add(1, nameAct(j, k))
					}
					acts.add(-1, g.next(i, j))
					if rule.Act > day.None {
						g.row(acts, ">=", 0)
					}
				}
			}
		}
		if rule.Kind == day.Before && rule.A != rule.B {
			g.before(rule.A, rule.B)
		}
		if rule.Kind == day.Next && firstB >= 0 {
			g.row(plus(need, -1, g.made(firstB)), "=", 0)
		}
	}
}

// before has every boil of recipe b that is made poured after every boil of
// recipe a that is made.
func (g *Programme) before(a, b int) {
	big := g.last + 1
	for i := range g.p.Boils {
		for j := range g.p.Boils {
			if g.p.Boils[i].Recipe != a || g.p.Boils[j].Recipe != b {
				continue
			}
			s := plus(g.pour(j), -1, g.pour(i))
			s = plus(plus(s, -big, g.made(i)), -big, g.made(j))
			g.row(s, ">=", 1-2*big)
		}
	}
}

func (g *Programme) lines() {
	p := g.p
	boils := make([][]int, len(p.Recipes))
	for i, b := range p.Boils {
		boils[b.Recipe] = append(boils[b.Recipe], i)
	}
	var unmade [2]sum
	for l, line := range p.Lines {
		name := g.bin(nameLine(l))
		var m sum
		m.add(1, name)
		for rec, need := range line.Needs {
			if need > len(boils[rec]) {
				g.row(m, "=", 0)
			} else if need > 0 {
				g.row(plus(m, -1, g.made(boils[rec][need-1])), "<=", 0)
			}
		}
		which := 1
		if line.Must {
			which = 0
		}
		unmade[which].fixed++
		unmade[which].add(-1, name)
	}
	var missed sum
	perBoil := make([]sum, len(p.Boils))
	for a, ap := range p.Appoint {
		missed.fixed++
		var kept sum
		for i, b := range p.Boils {
			if ap.Recipe != -1 && ap.Recipe != b.Recipe {
				continue
			}
			k := g.bin(nameKept(a, i))
			kept.add(1, k)
			missed.add(-1, k)
			perBoil[i].add(1, k)
			var s sum
			s.add(1, k)
			in := g.over(i, func(_, t int) int {
				if ap.At-ap.Early <= t && t <= ap.At+ap.Late {
					return 1
				}
				return 0
			})
			g.row(plus(s, -1, in), "<=", 0)
		}
		g.row(kept, "<=", 1)
	}
	for _, s := range perBoil {
		g.row(s, "<=", 1)
	}
	for _, v := range []struct {
		name  string
		upper int
		value sum
	}{{varMust, len(p.Lines), unmade[0]}, {varMissed, len(p.Appoint), missed}, {varShould, len(p.Lines), unmade[1]}} {
		g.bounded(v.name, v.upper)
		var s sum
		s.add(1, v.name)
		g.row(plus(s, -1, v.value), "=", 0)
	}
}
