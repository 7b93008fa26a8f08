package demand_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/demand"
	q "slabside/internal/quantity"
)

// The best lot equals the best of all lists of sizes, judged by plain sums, for
// yields of any kind, rising with the charge or not.
func TestCover_everyLot(t *testing.T) {
	t.Parallel()
	fallen := 0
	rapid.Check(t, func(t *rapid.T) {
		portions := rapid.IntRange(1, 2).Draw(t, "portions")
		p := single(
			demand.Line{Product: "p", Bags: rapid.IntRange(1, 18).Draw(t, "must"), Must: true},
			demand.Line{Product: "p", Bags: rapid.IntRange(1, 10).Draw(t, "should")},
		)
		perfect := rapid.Bool().Draw(t, "rising")
		seed := rapid.Float64Range(0, 1).Draw(t, "seed")
		spread := rapid.Float64Range(0, 0.6).Draw(t, "spread")
		p.Recipes[0].LeastCharge = rapid.SampledFrom([]q.Kilograms{4, 5, 12}).Draw(t, "least")
		p.Recipes[0].Portions = nil
		for j := range portions {
			p.Recipes[0].Portions = append(p.Recipes[0].Portions, demand.Portion{ID: fmt.Sprint(j), Share: 1 / q.Fraction(portions), Piece: 1e-12})
		}
		// Any numbers will do, as long as they are the same each time.
		noise := func(a, b, c, d float64) float64 {
			_, f := math.Modf(math.Abs(math.Sin(seed*913+a*127.1+b*311.7+c*74.7+d*19.19)) * 43758.5453)
			return 1 - spread*f
		}
		known := make(map[string][][]float64)
		p.Yield = func(_ int, c q.Kilograms, i int) ([][]float64, error) {
			key := fmt.Sprint(c, i)
			if y, ok := known[key]; ok {
				return y, nil
			}
			out := make([][]float64, portions)
			known[key] = out
			for j := range out {
				for d := range demand.LeastDraws {
					size := 0.0
					if !perfect {
						size = float64(c)
					}
					out[j] = append(out[j], 0.8*float64(c)/float64(portions)*noise(float64(i), float64(j), float64(d), size))
				}
			}
			return out, nil
		}
		res, err := demand.Cover(p)
		if err != nil {
			t.Fatal(err)
		}
		sizes := res.Recipes[0].Sizes
		must, all := float64(p.Lines[0].Bags), float64(p.Lines[0].Bags+p.Lines[1].Bags)
		best, boils := math.Inf(1), 0
		for boils = 1; math.IsInf(best, 1); boils++ {
			for _, charges := range lists(sizes, boils) {
				var okMust, okAll int
				var left float64
				yields := yieldsOf(p, charges)
				for d := range demand.LeastDraws {
					m, a := true, true
					for j := range portions {
						var kg float64
						for _, y := range yields {
							kg += y[j][d]
						}
						m = m && kg >= must/float64(portions)-1e-9
						a = a && kg >= all/float64(portions)-1e-9
						left += max(0, kg-all/float64(portions))
					}
					if m {
						okMust++
					}
					if a {
						okAll++
					}
				}
				if float64(okMust) >= 0.95*demand.LeastDraws && float64(okAll) >= 0.5*demand.LeastDraws {
					best = min(best, left/demand.LeastDraws)
				}
			}
		}
		boils--
		if res.Best.Boils != boils || math.Abs(float64(res.Best.LeftOver)-best) > 1e-6 {
			t.Fatalf("%d boils leave %v kg; by hand %d leave %v", res.Best.Boils, res.Best.LeftOver, boils, best)
		}
		if !perfect {
			fallen++
		}
		checkNeeds(t, p, res.Best)
		for i, o := range res.Others {
			checkNeeds(t, p, o)
			if before := append([]demand.LotPlan{res.Best}, res.Others...)[i]; before.Boils > o.Boils ||
				(before.Boils == o.Boils && before.LeftOver > o.LeftOver) {
				t.Fatalf("plan %d is out of order", i)
			}
		}
	})
	if fallen == 0 {
		t.Error("no yield that falls was tried")
	}
}

func yieldsOf(p demand.Problem, charges []q.Kilograms) (yields [][][]float64) {
	for i, c := range charges {
		y, _ := p.Yield(0, c, i)
		yields = append(yields, y)
	}
	return yields
}

// lists returns every list of n sizes, largest first.
func lists(sizes []q.Kilograms, n int) [][]q.Kilograms {
	if n == 0 {
		return [][]q.Kilograms{nil}
	}
	var out [][]q.Kilograms
	for i, s := range sizes {
		for _, rest := range lists(sizes[i:], n-1) {
			out = append(out, append([]q.Kilograms{s}, rest...))
		}
	}
	return out
}

// checkNeeds recounts what each line waits for, boil by boil.
func checkNeeds(t *rapid.T, p demand.Problem, plan demand.LotPlan) {
	portions := len(p.Recipes[0].Portions)
	var need float64
	last := 0
	for l, line := range p.Lines { // must first already
		need += float64(line.Bags)
		confidence := 0.5
		if line.Must {
			confidence = 0.95
		}
		n := 0
		for ; n <= len(plan.Lots[0].Charges); n++ {
			met := 0
			yields := yieldsOf(p, plan.Lots[0].Charges[:n])
			for d := range demand.LeastDraws {
				ok := true
				for j := range portions {
					var kg float64
					for _, y := range yields {
						kg += y[j][d]
					}
					ok = ok && kg >= need/float64(portions)-1e-9
				}
				if ok {
					met++
				}
			}
			if float64(met) >= confidence*demand.LeastDraws {
				break
			}
		}
		last = max(last, n)
		if got := plan.Lines[l]; got.Needs[0] != last || got.Own[0] != last || last > len(plan.Lots[0].Charges) {
			t.Fatalf("line %d waits for %v of %v, by hand %d", l, got, plan.Lots[0].Charges, last)
		}
	}
}
