package daytest

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"slabside/internal/day"
)

// Programme is a day written as a mixed integer programme with a binary for
// every boil, shape and minute of pour, for every act and set-up and minute of
// start, and for every pair of neighbours. It is solved in the order of the
// objective: first the lines and appointments, then the end, then the cleaning.
type Programme struct {
	p     *day.Problem
	rows  []string
	bins  []string
	ints  []string
	upper map[string]int
	names []string // of upper, in order
	last  int      // E may not exceed it
}

// The variables that hold the objective.
const (
	varMust   = "MUST"
	varMissed = "MISSED"
	varShould = "SHOULD"
	varEnd    = "EEND"
	varClean  = "CLEAN"
)

// NewProgramme writes the constraints of a day.
func NewProgramme(p *day.Problem) *Programme {
	g := &Programme{p: p, upper: map[string]int{}, last: p.End - p.Closing}
	g.boils()
	g.neighbours()
	g.machines()
	g.setups()
	g.residue()
	g.kettleResidue()
	g.soiled()
	g.breaks()
	g.hands()
	g.rules()
	g.lines()
	return g
}

// Stages is the number of stages to solve.
const Stages = 3

// Write writes a stage in CPLEX LP format, with the values of the stages
// before it, which must not get worse.
func (g *Programme) Write(w io.Writer, stage int, best Vector) error {
	out := bufio.NewWriter(w)
	var goal sum
	switch stage {
	case 0: // no count of a lower level outweighs one of a higher
		should := len(g.p.Lines) + 1
		goal.add(should*(len(g.p.Appoint)+1), varMust)
		goal.add(should, varMissed)
		goal.add(1, varShould)
	case 1:
		goal.add(1, varEnd)
	default:
		goal.add(1, varClean)
	}
	fmt.Fprintf(out, "Minimize\n obj: %s\nSubject To\n", goal.text())
	rows := slices.Clone(g.rows)
	for i, v := range []string{varMust, varMissed, varShould, varEnd} {
		if stage == 1 && i < 3 || stage == 2 {
			rows = append(rows, fmt.Sprintf("%s <= %d", v, best[i]))
		}
	}
	for i, r := range rows {
		fmt.Fprintf(out, " r%d: %s\n", i, r)
	}
	fmt.Fprintln(out, "Bounds")
	for _, n := range g.names {
		fmt.Fprintf(out, " 0 <= %s <= %d\n", n, g.upper[n])
	}
	fmt.Fprintln(out, "Generals")
	for _, n := range g.ints {
		fmt.Fprintf(out, " %s\n", n)
	}
	fmt.Fprintln(out, "Binaries")
	for _, n := range g.bins {
		fmt.Fprintf(out, " %s\n", n)
	}
	fmt.Fprintln(out, "End")
	return out.Flush()
}

// pours visits every shape and minute at which a boil may be poured.
func (g *Programme) pours(i int, visit func(s, t int, x string)) {
	b := &g.p.Boils[i]
	for s := range b.Shapes {
		for t := b.Charge + b.Lit; t+blockLength(b, s) <= g.last; t++ {
			visit(s, t, namePour(i, s, t))
		}
	}
}

func blockLength(b *day.Boil, s int) int {
	sh := &b.Shapes[s]
	n := max(b.Pour+b.Rinse, sh.SlabFree, sh.RollTo+b.Cool)
	if sh.HookFrom < sh.HookTo {
		n = max(n, sh.HookTo)
	}
	for _, st := range sh.Steps {
		n = max(n, st.To)
	}
	return n
}

// over returns Σ f(shape, t)·x over the pours of a boil.
func (g *Programme) over(i int, f func(s, t int) int) (out sum) {
	g.pours(i, func(s, t int, x string) {
		if c := f(s, t); c != 0 {
			out.add(c, x)
		}
	})
	return out
}

func (g *Programme) made(i int) sum { return g.over(i, func(int, int) int { return 1 }) }
func (g *Programme) pour(i int) sum { return g.over(i, func(_, t int) int { return t }) }

// slabFree is the minute from which slab and hook are free of a boil.
func (g *Programme) slabFree(i int) sum {
	return g.over(i, func(s, t int) int {
		sh := &g.p.Boils[i].Shapes[s]
		if sh.HookFrom < sh.HookTo {
			return t + max(sh.SlabFree, sh.HookTo)
		}
		return t + sh.SlabFree
	})
}

func (g *Programme) boils() {
	g.bounded(varEnd, g.last)
	g.ints = append(g.ints, varEnd)
	for i := range g.p.Boils {
		g.pours(i, func(_, _ int, x string) { g.bin(x) })
		g.row(g.made(i), "<=", 1)
		end := g.over(i, func(s, t int) int { return t + blockLength(&g.p.Boils[i], s) })
		var e sum
		e.add(1, varEnd)
		g.row(plus(e, -1, end), ">=", 0)
	}
	// boils of one recipe in index order
	for j := range g.p.Boils {
		for i := range j {
			if g.p.Boils[i].Recipe == g.p.Boils[j].Recipe {
				g.row(plus(g.made(i), -1, g.made(j)), ">=", 0)
				// T_j ≥ T_i + 1 if j is made
				s := plus(g.pour(j), -1, g.pour(i))
				g.row(plus(s, -(g.last+1), g.made(j)), ">=", 1-(g.last+1))
			}
		}
	}
}

// next is the binary that j directly follows i. Boils are their index, the
// start of the day is −1, written s, and its end the number of boils.
func (g *Programme) next(i, j int) string {
	return strings.Replace(nameNext(i, j), "-1", "s", 1)
}

func (g *Programme) neighbours() {
	n := len(g.p.Boils)
	var starts, ends sum
	for i := -1; i < n; i++ {
		for j := 0; j <= n; j++ {
			if i != j && (i != -1 || j != n) {
				g.bin(g.next(i, j))
			}
		}
	}
	for i := range n {
		var in, out sum
		for j := -1; j < n; j++ {
			if j != i {
				in.add(1, g.next(j, i))
			}
		}
		for j := range n + 1 {
			if j != i {
				out.add(1, g.next(i, j))
			}
		}
		g.row(plus(in, -1, g.made(i)), "=", 0)
		g.row(plus(out, -1, g.made(i)), "=", 0)
		starts.add(1, g.next(-1, i))
		ends.add(1, g.next(i, n))
	}
	g.row(starts, "<=", 1)
	g.row(ends, "<=", 1)
	big := g.last + 1
	for i := range n {
		for j := range n {
			if i == j {
				continue
			}
			// T_j ≥ T_i + 1 if j follows i
			s := plus(g.pour(j), -1, g.pour(i))
			s.add(-big, g.next(i, j))
			g.row(s, ">=", 1-big)
		}
	}
}

// machines lets one boil at a time on each, and no more on the bench than it holds.
func (g *Programme) machines() {
	for m := range g.last {
		var kettle, slab, hook, rolls, bench sum
		for i := range g.p.Boils {
			b := &g.p.Boils[i]
			kettle.addSum(1, g.kettleCleaned(i, m))
			g.pours(i, func(s, t int, x string) {
				sh := &b.Shapes[s]
				d := m - t
				if -b.Lit-b.Charge <= d && d < b.Pour+b.Rinse {
					kettle.add(1, x)
				}
				if 0 <= d && d < sh.SlabFree {
					slab.add(1, x)
				}
				if sh.HookFrom <= d && d < sh.HookTo {
					hook.add(1, x)
				}
				if sh.RollFrom <= d && d < sh.RollTo {
					rolls.add(1, x)
				}
				if sh.RollFrom <= d && d < sh.RollTo+b.Cool {
					bench.add(b.BenchG, x)
				}
			})
		}
		for _, s := range []sum{kettle, slab, hook, rolls} {
			g.row(s, "<=", 1)
		}
		if g.p.BenchG > 0 {
			g.row(bench, "<=", g.p.BenchG)
		}
	}
}
