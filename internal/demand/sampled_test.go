package demand_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"slabside/internal/bag"
	"slabside/internal/demand"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
)

// truth is how boils come out in the sampled room. Every error has a scope: the
// shop's is shared by all boils, a recipe's by its own, the rest are a boil's.
// Losses have heavy tails (Student's t with 3 degrees of freedom).
type truth struct {
	solids  float64 // kg finished a kg charged
	ends    float64 // kg lost a boil, whatever its size
	loss    float64 // mean loss of pieces
	lossSD  float64 // scale of the t
	shopSD  float64
	ownSD   float64
	splitSD float64 // relative error of the first portion's share, a boil's own
	pieceSD float64 // of a portion's mean piece mass, shared over the day
}

var room = truth{solids: 0.79, ends: 0.5, loss: 0.08, lossSD: 0.012, shopSD: 0.012, ownSD: 0.015, splitSD: 0.02, pieceSD: 0.03}

// boilKg is what a boil gives, portion by portion [kg].
func (w truth) boilKg(charge float64, shares []float64, shop, own, loss, split float64) []float64 {
	kg := charge*w.solids*math.Exp(w.shopSD*shop+w.ownSD*own) - w.ends
	kg *= 1 - min(max(w.loss+w.lossSD*loss, 0), 1)
	out := make([]float64, len(shares))
	first := shares[0]
	if len(shares) > 1 {
		first *= 1 + w.splitSD*split
	}
	for p := range shares {
		out[p] = kg * shares[p]
		if len(shares) > 1 {
			if out[p] = kg * first; p > 0 {
				out[p] = kg * shares[p] * (1 - first) / (1 - shares[0])
			}
		}
	}
	return out
}

// modelled gives the same room's errors as an ensemble, the way a plan gets them.
func (w truth) modelled(p *demand.Problem, seed uint64) {
	e := numeric.NewEnsemble(p.Draws, seed)
	heavy := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 3}
	shop := e.Normal("shop")
	// Quantiles of the t are slow: each boil's are taken once.
	losses := make(map[string][]float64)
	lossOf := func(name string) []float64 {
		if losses[name] == nil {
			for _, u := range e.Uniform(name) {
				losses[name] = append(losses[name], heavy.Quantile(u))
			}
		}
		return losses[name]
	}
	p.Yield = func(r int, charge q.Kilograms, index int) ([][]float64, error) {
		rec := p.Recipes[r]
		own := e.Normal("recipe:" + rec.ID)
		loss := lossOf(fmt.Sprint("batch:", rec.ID, index, ":loss"))
		split := e.Normal(fmt.Sprint("batch:", rec.ID, index, ":split"))
		out := make([][]float64, len(rec.Portions))
		for j := range out {
			out[j] = make([]float64, p.Draws)
		}
		for d := range p.Draws {
			for j, kg := range w.boilKg(float64(charge), shares(rec), shop[d], own[d], loss[d], split[d]) {
				out[j][d] = kg
			}
		}
		return out, nil
	}
	for r := range p.Recipes {
		for j := range p.Recipes[r].Portions {
			portion := &p.Recipes[r].Portions[j]
			z := e.Normal(fmt.Sprint("rolls:", r, j))
			portion.Draws = make([]float64, p.Draws)
			for d := range portion.Draws {
				portion.Draws[d] = float64(portion.Piece) * (1 + w.pieceSD*z[d])
			}
		}
	}
}

func shares(r demand.Recipe) []float64 {
	var s []float64
	for _, p := range r.Portions {
		s = append(s, float64(p.Share))
	}
	return s
}

// sampler draws days of its own: another generator, and every bag made up by
// counting its pieces.
type sampler struct {
	*rand.Rand
	w truth
	p demand.Problem
}

func (s sampler) heavy() float64 {
	var chi2 float64
	for range 3 {
		z := s.NormFloat64()
		chi2 += z * z
	}
	return s.NormFloat64() / math.Sqrt(chi2/3)
}

// days returns the share of days on which the charges of each recipe cover the
// must-lines and all lines.
func (s sampler) days(n int, charges [][]q.Kilograms) (must, all []float64) {
	must, all = make([]float64, len(s.p.Recipes)), make([]float64, len(s.p.Recipes))
	for range n {
		piece := make(map[string]float64)
		made := make(map[string]float64)
		shop := s.NormFloat64()
		for r, rec := range s.p.Recipes {
			own := s.NormFloat64()
			for _, portion := range rec.Portions {
				piece[rec.ID+"/"+portion.ID] = float64(portion.Piece) * (1 + s.w.pieceSD*s.NormFloat64())
			}
			for _, c := range charges[r] {
				for j, kg := range s.w.boilKg(float64(c), shares(rec), shop, own, s.heavy(), s.NormFloat64()) {
					made[rec.ID+"/"+rec.Portions[j].ID] += kg
				}
			}
		}
		for _, k := range s.p.Stock {
			if k.Recipe != "" {
				made[k.Recipe+"/"+k.Portion] += float64(k.Loose)
			}
		}
		needMust, needAll := make(map[string]float64), make(map[string]float64)
		packed := make(map[string]int)
		for _, k := range s.p.Stock {
			packed[k.Product] += k.Bags
		}
		for _, isMust := range []bool{true, false} {
			for _, l := range s.p.Lines {
				if l.Must != isMust {
					continue
				}
				bags := max(0, l.Bags-packed[l.Product])
				packed[l.Product] = max(0, packed[l.Product]-l.Bags)
				for sweet, kg := range s.bagKg(l.Product, piece) {
					needAll[sweet] += kg * float64(bags)
					if isMust {
						needMust[sweet] += kg * float64(bags)
					}
				}
			}
		}
		for r, rec := range s.p.Recipes {
			okMust, okAll := true, true
			for _, portion := range rec.Portions {
				sweet := rec.ID + "/" + portion.ID
				okMust = okMust && made[sweet] >= needMust[sweet]-1e-9
				okAll = okAll && made[sweet] >= needAll[sweet]-1e-9
			}
			if okMust {
				must[r] += 1 / float64(n)
			}
			if okAll {
				all[r] += 1 / float64(n)
			}
		}
	}
	return must, all
}

// bagKg makes up one bag: pieces of every sweet in proportion, then as many of
// them as reach the net weight and half a piece more.
func (s sampler) bagKg(product string, piece map[string]float64) map[string]float64 {
	var p bag.Product
	for _, x := range s.p.Products {
		if x.ID == product {
			p = x
		}
	}
	pieces := make(map[string]float64)
	for _, part := range p.Parts {
		split := make(map[string]float64) // pieces of a kilogram of the part
		var count float64
		for _, rec := range s.p.Recipes {
			for _, portion := range rec.Portions {
				if rec.ID == part.Recipe && (part.Portion == "" || part.Portion == portion.ID) {
					kg := float64(portion.Share)
					if part.Portion != "" {
						kg = 1
					}
					split[rec.ID+"/"+portion.ID] = kg / piece[rec.ID+"/"+portion.ID]
					count += kg / piece[rec.ID+"/"+portion.ID]
				}
			}
		}
		for sweet, n := range split {
			if p.By == bag.ByMass {
				pieces[sweet] = part.Share * n
			} else {
				pieces[sweet] = part.Share * n / count
			}
		}
	}
	var n, kg float64
	for sweet, k := range pieces {
		n += k
		kg += k * piece[sweet]
	}
	inBag := float64(p.Net)/(kg/n) + 0.5
	out := make(map[string]float64)
	for sweet, k := range pieces {
		out[sweet] = k / n * inBag * piece[sweet]
	}
	return out
}

// days of very different sizes; shares, net weights and piece masses are made up.
func sampledProblems() map[string]demand.Problem {
	kettle := func(id string, portions ...demand.Portion) demand.Recipe {
		return demand.Recipe{ID: id, LeastCharge: 4, UsualCharge: 12, Portions: portions}
	}
	recipes := []demand.Recipe{
		kettle("one", demand.Portion{ID: "clear", Share: 1, Piece: 0.0024}),
		kettle("two", demand.Portion{ID: "red", Share: 0.7, Piece: 0.0045}, demand.Portion{ID: "white", Share: 0.3, Piece: 0.0041}),
		kettle("three", demand.Portion{ID: "amber", Share: 1, Piece: 0.0038}),
	}
	products := []bag.Product{
		{ID: "mix", Net: 0.227, Parts: []bag.Part{{Recipe: "one", Share: 2}, {Recipe: "three", Share: 2}, {Recipe: "two", Share: 1}}},
		{ID: "mass", Net: 0.5, By: bag.ByMass, Parts: []bag.Part{{Recipe: "one", Share: 1}, {Recipe: "two", Portion: "white", Share: 1}}},
		{ID: "two", Net: 0.113, Parts: []bag.Part{{Recipe: "two", Share: 1}}},
		{ID: "jar", Net: 1, Parts: []bag.Part{{Recipe: "three", Share: 1}}},
	}
	base := demand.Problem{Recipes: recipes, Products: products, Draws: 2048}
	with := func(lines []demand.Line, stock ...demand.Stock) demand.Problem {
		p := base
		p.Recipes = nil
		for _, r := range recipes {
			r.Portions = append([]demand.Portion(nil), r.Portions...)
			p.Recipes = append(p.Recipes, r)
		}
		p.Lines, p.Stock = lines, stock
		return p
	}
	return map[string]demand.Problem{
		"orders": with([]demand.Line{{Product: "mix", Bags: 60, Must: true}, {Product: "two", Bags: 50, Must: true}, {Product: "jar", Bags: 9, Must: true}}),
		"orders and shelf": with([]demand.Line{{Product: "jar", Bags: 10}, {Product: "mix", Bags: 90, Must: true}, {Product: "two", Bags: 40}},
			demand.Stock{Product: "mix", Bags: 12}, demand.Stock{Recipe: "one", Portion: "clear", Loose: 1.5}),
		"shares by mass": with([]demand.Line{{Product: "mass", Bags: 22, Must: true}, {Product: "jar", Bags: 30, Must: true}}),
		"shelf alone":    with([]demand.Line{{Product: "mix", Bags: 130}, {Product: "two", Bags: 120}}),
		"a big order":    with([]demand.Line{{Product: "two", Bags: 700, Must: true}, {Product: "jar", Bags: 44, Must: true}}),
	}
}

// An independent sampler of 10,000 days confirms the stated cover; a boil taken
// out, or any boil made one size smaller, breaks it.
func TestCover_sampled(t *testing.T) {
	t.Parallel()
	const days = 10_000
	for name, p := range sampledProblems() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			room.modelled(&p, 11)
			res, err := demand.Cover(p)
			if err != nil {
				t.Fatal(err)
			}
			charges := make([][]q.Kilograms, len(p.Recipes))
			for r, l := range res.Best.Lots {
				charges[r] = l.Charges
			}
			s := sampler{rand.New(rand.NewPCG(2026, 3)), room, p}
			must, all := s.days(days, charges)
			for r, l := range res.Best.Lots {
				t.Logf("%s: %v kg, must %.3f (sampled %.3f), all %.3f (sampled %.3f), left over %.2f kg",
					p.Recipes[r].ID, l.Charges, l.Chance.Must, must[r], l.Chance.All, all[r], float64(l.LeftOver))
				// Three standard errors of 2,048 draws and 10,000 days together.
				within := func(c float64) float64 { return 3 * math.Sqrt(c*(1-c)*(1.0/2048+1.0/days)) }
				if must[r] < demand.MustCover-within(demand.MustCover) || all[r] < demand.ShouldCover-within(demand.ShouldCover) {
					t.Errorf("%s is not covered: must %.4f, all %.4f", p.Recipes[r].ID, must[r], all[r])
				}
				if math.Abs(l.Chance.Must-must[r]) > within(0.9) || math.Abs(l.Chance.All-all[r]) > within(0.5) {
					t.Errorf("%s: stated %+v, sampled %.4f and %.4f", p.Recipes[r].ID, l.Chance, must[r], all[r])
				}
				for _, worse := range lessThan(l.Charges, res.Recipes[r].Sizes) {
					changed := append([][]q.Kilograms(nil), charges...)
					changed[r] = worse
					must, all := s.days(days, changed)
					if must[r] >= demand.MustCover && all[r] >= demand.ShouldCover {
						t.Errorf("%s still covers with %v instead of %v: must %.4f, all %.4f",
							p.Recipes[r].ID, worse, l.Charges, must[r], all[r])
					}
				}
			}
		})
	}
}

// lessThan returns the charges with each boil in turn taken out or made a size smaller.
func lessThan(charges, sizes []q.Kilograms) [][]q.Kilograms {
	var out [][]q.Kilograms
	for i := range charges {
		if i+1 < len(charges) && charges[i+1] == charges[i] {
			continue
		}
		out = append(out, append(append([]q.Kilograms(nil), charges[:i]...), charges[i+1:]...))
		for k := range len(sizes) - 1 {
			if sizes[k] == charges[i] {
				smaller := append([]q.Kilograms(nil), charges...)
				smaller[i] = sizes[k+1]
				out = append(out, smaller)
			}
		}
	}
	return out
}

// Workload: 8 recipes (two of them in two portions), 12 lines of 8 products, a day of about 12 boils, 2,048 draws, yields
// already drawn, so that the time is that of this room alone.
func BenchmarkCover(b *testing.B) {
	p := benchmarkDay()
	e := p.Yield
	known := make(map[string][][]float64)
	p.Yield = func(r int, c q.Kilograms, i int) ([][]float64, error) {
		key := fmt.Sprint(r, c, i)
		if y, ok := known[key]; ok {
			return y, nil
		}
		y, err := e(r, c, i)
		known[key] = y
		return y, err
	}
	res, err := demand.Cover(p)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := demand.Cover(p); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(res.Best.Boils), "boils")
}

func benchmarkDay() demand.Problem {
	p := demand.Problem{Draws: 2048}
	for i := range 8 {
		r := demand.Recipe{ID: fmt.Sprint("r", i), LeastCharge: 4, UsualCharge: 12,
			Portions: []demand.Portion{{ID: "a", Share: 1, Piece: 0.0024}}}
		if i%4 == 1 {
			r.Portions = []demand.Portion{{ID: "a", Share: 0.7, Piece: 0.0045}, {ID: "b", Share: 0.3, Piece: 0.0041}}
		}
		p.Recipes = append(p.Recipes, r)
		p.Products = append(p.Products, bag.Product{ID: fmt.Sprint("p", i), Net: 0.227,
			Parts: []bag.Part{{Recipe: fmt.Sprint("r", i), Share: 2}, {Recipe: fmt.Sprint("r", (i+1)%8), Share: 1}}})
	}
	for i := range 12 {
		p.Lines = append(p.Lines, demand.Line{Product: fmt.Sprint("p", i%8), Bags: 20 + 3*i, Must: i%3 > 0})
	}
	room.modelled(&p, 5)
	return p
}
