package daytest

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
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

// ReadSolution reads the solution file of cbc: whether it is called optimal,
// and the variables that are not zero.
func ReadSolution(r io.Reader) (optimal bool, value map[string]float64, err error) {
	value = map[string]float64{}
	in := bufio.NewScanner(r)
	for first := true; in.Scan(); first = false {
		if first {
			optimal = strings.HasPrefix(in.Text(), "Optimal")
			continue
		}
		f := strings.Fields(in.Text())
		if len(f) < 3 {
			continue
		}
		if f[0] == "**" { // cbc marks a variable outside its bounds
			return false, nil, fmt.Errorf("solution breaks a bound: %s", in.Text())
		}
		x, err := strconv.ParseFloat(f[2], 64)
		if err != nil {
			return false, nil, err
		}
		value[f[1]] = x
	}
	return optimal, value, in.Err()
}

// Vector reads the objective vector out of a solution.
func (g *Programme) Vector(value map[string]float64) (v Vector) {
	for i, n := range []string{varMust, varMissed, varShould, varEnd, varClean} {
		v[i] = int(math.Round(value[n]))
	}
	return v
}

// Plan reads the plan out of a solution, for the replay.
func (g *Programme) Plan(value map[string]float64) *day.Plan {
	p := g.p
	on := func(name string) bool { return value[name] > 0.5 }
	plan := &day.Plan{}
	for i := range p.Boils {
		g.pours(i, func(s, t int, x string) {
			if !on(x) {
				return
			}
			pl := day.Placed{Boil: i, Shape: s, Pour: t}
			for k := day.Wipe; int(k) < day.NumActs; k++ {
				if on(nameAct(i, k)) {
					pl.Act = k
				}
				for m := range g.last {
					if on(nameActAt(i, k, m)) {
						pl.ActFrom = m
					}
				}
			}
			for v := range day.NumActs {
				for m := range g.last {
					if on(nameRollsAt(i, v, m)) {
						pl.RollsFrom, pl.RollsMin = m, g.rollsMin(i, v)
					}
				}
			}
			plan.Made = append(plan.Made, pl)
		})
	}
	slices.SortFunc(plan.Made, func(a, b day.Placed) int { return a.Pour - b.Pour })
	for i, b := range p.Breaks {
		start := -1
		for m := b.From; m <= b.To; m++ {
			if on(nameBreak(i, m)) {
				start = m
			}
		}
		plan.Breaks = append(plan.Breaks, start)
	}
	for a := range p.Appoint {
		kept := -1
		for k, m := range plan.Made {
			if on(nameKept(a, m.Boil)) {
				kept = k
			}
		}
		plan.Kept = append(plan.Kept, kept)
	}
	v := g.Vector(value)
	plan.End, plan.Cleaning = v[3], v[4]
	for i, n := range []string{day.ObjMust, day.ObjAppoint, day.ObjShould, day.ObjEnd, day.ObjClean} {
		plan.Objectives = append(plan.Objectives, day.Objective{Name: n, Value: v[i], Bound: v[i]})
	}
	return plan
}

func namePour(boil, shape, t int) string          { return fmt.Sprintf("x_%d_%d_%d", boil, shape, t) }
func nameNext(i, j int) string                    { return fmt.Sprintf("y_%d_%d", i, j) }
func nameAct(boil int, k day.Act) string          { return fmt.Sprintf("a_%d_%d", boil, int(k)) }
func nameActAt(boil int, k day.Act, t int) string { return fmt.Sprintf("u_%d_%d_%d", boil, int(k), t) }
func nameRolls(boil, variant int) string          { return fmt.Sprintf("c_%d_%d", boil, variant) }
func nameRollsAt(boil, variant, t int) string     { return fmt.Sprintf("v_%d_%d_%d", boil, variant, t) }
func nameBefore(boil, channel int) string         { return fmt.Sprintf("lb_%d_%d", boil, channel) }
func nameAfter(boil, channel int) string          { return fmt.Sprintf("la_%d_%d", boil, channel) }
func nameBreak(i, t int) string                   { return fmt.Sprintf("b_%d_%d", i, t) }
func nameWeigh(boil, t int) string                { return fmt.Sprintf("w_%d_%d", boil, t) }
func nameDone(boil, t int) string                 { return fmt.Sprintf("f_%d_%d", boil, t) }
func nameOpen(t int) string                       { return fmt.Sprintf("z_%d", t) }
func nameKept(a, boil int) string                 { return fmt.Sprintf("k_%d_%d", a, boil) }
func nameLine(i int) string                       { return fmt.Sprintf("m_%d", i) }

// sum is a linear expression.
type sum struct {
	coef  map[string]int
	order []string
	fixed int
}

func (s *sum) add(c int, name string) {
	if s.coef == nil {
		s.coef = map[string]int{}
	}
	if _, ok := s.coef[name]; !ok {
		s.order = append(s.order, name)
	}
	s.coef[name] += c
}

func (s *sum) addSum(c int, t sum) {
	for _, n := range t.order {
		s.add(c*t.coef[n], n)
	}
	s.fixed += c * t.fixed
}

func (s sum) text() string {
	var out strings.Builder
	for _, n := range s.order {
		if c := s.coef[n]; c != 0 {
			fmt.Fprintf(&out, "%+d %s ", c, n)
		}
	}
	return out.String()
}

func plus(a sum, c int, b sum) sum {
	var s sum
	s.addSum(1, a)
	s.addSum(c, b)
	return s
}

// row demands s rel rhs, where rel is <=, >= or =.
func (g *Programme) row(s sum, rel string, rhs int) {
	text := s.text()
	if text == "" {
		ok := rel == "<=" && s.fixed <= rhs || rel == ">=" && s.fixed >= rhs || rel == "=" && s.fixed == rhs
		if ok {
			return
		}
		text = "0 " + varEnd + " " // never true, and says so to the solver
	}
	g.rows = append(g.rows, fmt.Sprintf("%s%s %d", text, rel, rhs-s.fixed))
}

func (g *Programme) bin(name string) string { g.bins = append(g.bins, name); return name }

func (g *Programme) bounded(name string, upper int) string {
	g.upper[name] = upper
	g.names = append(g.names, name)
	return name
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

// end of the chain of neighbours; boils are their index, the start is −1.
func (g *Programme) final() int { return len(g.p.Boils) }

// next is the binary that j directly follows i; the start is written s.
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

// rollsMin is the minutes of a way to set up the rolls: 0 a change, else the
// cleaning that goes with an act.
func (g *Programme) rollsMin(boil, variant int) int {
	if variant == 0 {
		return g.p.Pairs[g.p.Boils[boil].Rolls].Mount
	}
	return g.p.RollsMin[variant]
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
		for v := range day.NumActs {
			c := g.bin(nameRolls(j, v))
			var is sum
			is.add(1, c)
			if v == 0 {
				g.row(plus(is, -1, change), "=", 0)
			} else {
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
		most = max(most, p.ActMin[k]+p.RollsMin[k])
	}
	g.bounded(varClean, n*most)
	var total sum
	total.add(1, varClean)
	g.row(plus(total, -1, clean), "=", 0)
}

// residue carries the levels from neighbour to neighbour; a level may be
// called higher than it is, which never helps.
func (g *Programme) residue() {
	p, n := g.p, len(g.p.Boils)
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
		for j := range n {
			for i := -1; i < n; i++ {
				if i == j {
					continue
				}
				// before_j ≥ after_i − what the act takes, if j follows i
				var s sum
				s.add(1, nameBefore(j, c))
				rhs := -big
				if i == -1 {
					rhs += opening
				} else {
					s.add(-1, nameAfter(i, c))
				}
				s.add(-big, g.next(i, j))
				s.add(big, nameAct(j, day.AllergenClean))
				if !ch.Allergen {
					s.add(big, nameAct(j, day.Wash))
					s.add(2, nameAct(j, day.Wipe))
				}
				g.row(s, ">=", rhs)
			}
		}
	}
}

func (g *Programme) breaks() {
	for i, b := range g.p.Breaks {
		var taken sum
		for m := b.From; m <= b.To; m++ {
			taken.add(1, g.bin(nameBreak(i, m)))
		}
		g.row(taken, "<=", 1)
		// the work ends at or before To if it is not taken
		var e sum
		e.add(1, varEnd)
		g.row(plus(e, -g.last, taken), "<=", b.To)
	}
}

// onBreak is 1 if a break runs in a minute; the windows must be apart.
func (g *Programme) onBreak(m int) (out sum) {
	for i, b := range g.p.Breaks {
		for s := b.From; s <= b.To; s++ {
			if s <= m && m < s+b.Minutes {
				out.add(1, nameBreak(i, s))
			}
		}
	}
	return out
}

func (g *Programme) hands() {
	p := g.p
	weighed, done := make([]sum, len(p.Boils)), make([]sum, len(p.Boils))
	var open sum
	for m := range g.last {
		var adults, hotThere, cleanThere, benchThere int
		for _, h := range p.Hands {
			if !slices.ContainsFunc(h.Present, func(s day.Span) bool { return s.From <= m && m < s.To }) {
				continue
			}
			benchThere++
			if h.Hot {
				hotThere++
			}
			if h.Hot || h.Clean {
				cleanThere++
			}
			if h.Adult {
				adults = 1
			}
		}
		var flame, hot, watch, setups, elastic sum
		for i := range p.Boils {
			b := &p.Boils[i]
			var notCharged, cool sum
			g.pours(i, func(s, t int, x string) {
				d := m - t
				if -b.Lit <= d && d < 0 {
					flame.add(1, x)
				}
				n := 0
				if -b.Lit-b.Charge <= d && d < -b.Lit {
					n++
				}
				if 0 <= d && d < b.Pour {
					n += b.PourHands
				}
				for _, st := range b.Shapes[s].Steps {
					if st.From <= d && d < st.To {
						n += st.Hands
					}
				}
				if n > 0 {
					hot.add(n, x)
				}
				if -b.Watch <= d && d < 0 {
					watch.add(1, x)
				}
				if d < -b.Lit-b.Charge {
					notCharged.add(1, x)
				}
				if d >= b.Shapes[s].RollTo+b.Cool {
					cool.add(1, x)
				}
			})
			for k := day.Wipe; int(k) < day.NumActs; k++ {
				for t := max(0, m-p.ActMin[k]+1); t <= m && t+p.ActMin[k] <= g.last; t++ {
					setups.add(1, nameActAt(i, k, t))
				}
			}
			for v := range day.NumActs {
				minutes := g.rollsMin(i, v)
				for t := max(0, m-minutes+1); t <= m && t+minutes <= g.last; t++ {
					setups.add(1, nameRollsAt(i, v, t))
				}
			}
			if n := min(b.Weigh, benchThere); n > 0 {
				w := g.bounded(nameWeigh(i, m), n)
				weighed[i].add(1, w)
				elastic.add(1, w)
				var s sum
				s.add(1, w)
				g.row(plus(s, -n, notCharged), "<=", 0)
			}
			if n := min(b.After, benchThere); n > 0 {
				f := g.bounded(nameDone(i, m), n)
				done[i].add(1, f)
				elastic.add(1, f)
				var s sum
				s.add(1, f)
				g.row(plus(s, -n, cool), "<=", 0)
			}
		}
		resting := g.onBreak(m)
		g.row(plus(flame, adults, resting), "<=", adults)
		g.row(plus(plus(hot, 1, watch), hotThere, resting), "<=", hotThere)
		g.row(plus(plus(plus(hot, 1, watch), 1, setups), cleanThere, resting), "<=", cleanThere)
		g.row(plus(plus(plus(hot, 1, setups), 1, elastic), benchThere, resting), "<=", benchThere)

		// the minutes up to the last elastic work are open
		z := g.bin(nameOpen(m))
		var s sum
		s.add(-max(1, benchThere), z)
		g.row(plus(s, 1, elastic), "<=", 0)
		if m > 0 {
			var order sum
			order.add(1, nameOpen(m-1))
			order.add(-1, z)
			g.row(order, ">=", 0)
		}
		open.add(1, z)
	}
	var e sum
	e.add(1, varEnd)
	g.row(plus(e, -1, open), ">=", 0)
	for i, b := range p.Boils {
		g.row(plus(weighed[i], -b.Weigh, g.made(i)), "=", 0)
		g.row(plus(done[i], -b.After, g.made(i)), "=", 0)
	}
}

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
		if rule.Kind == day.Next && firstB >= 0 {
			g.row(plus(need, -1, g.made(firstB)), "=", 0)
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
