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
			pl.KettleClean = on(nameKettle(i))
			for v := range g.rollsWays() {
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
func nameKettle(boil int) string                  { return fmt.Sprintf("q_%d", boil) }
func nameKettleAt(boil, t int) string             { return fmt.Sprintf("r_%d_%d", boil, t) }
func nameKettleBefore(boil, channel int) string   { return fmt.Sprintf("kb_%d_%d", boil, channel) }
func nameKettleAfter(boil, channel int) string    { return fmt.Sprintf("ka_%d_%d", boil, channel) }
func nameDirty(boil int) string                   { return fmt.Sprintf("d_%d", boil) }
func nameSoiled(boil, pair int) string            { return fmt.Sprintf("s_%d_%d", boil, pair) }
func nameBreak(i, t int) string                   { return fmt.Sprintf("b_%d_%d", i, t) }
func nameWeigh(boil, t int) string                { return fmt.Sprintf("w_%d_%d", boil, t) }
func nameDone(boil, t int) string                 { return fmt.Sprintf("f_%d_%d", boil, t) }
func nameOpen(t int) string                       { return fmt.Sprintf("z_%d", t) }
func nameKept(a, boil int) string                 { return fmt.Sprintf("k_%d_%d", a, boil) }
func nameLine(i int) string                       { return fmt.Sprintf("m_%d", i) }
