package demand_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"slabside/internal/bag"
	"slabside/internal/demand"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

func TestCover_faults(t *testing.T) {
	t.Parallel()
	line := demand.Line{Product: "p", Bags: 5, Must: true}
	for _, c := range []struct {
		name  string
		spoil func(*demand.Problem)
		kind  fault.Kind
		field string
		text  string
	}{
		{"unknown product", func(p *demand.Problem) { p.Lines[0].Product = "x" }, fault.KindNotFound, "to_make[0].product", `"x"`},
		{"no bags", func(p *demand.Problem) { p.Lines[0].Bags = 0 }, fault.KindInvalid, "to_make[0].bags", "0 bags"},
		{"negative bags", func(p *demand.Problem) { p.Lines[0].Bags = -1 }, fault.KindInvalid, "to_make[0].bags", "-1 bags"},
		{"too many bags", func(p *demand.Problem) { p.Lines[0].Bags = demand.MostBags + 1 }, fault.KindInvalid, "to_make[0].bags", "100001"},
		{"too many boils", func(p *demand.Problem) { p.Lines[0].Bags = 961 }, fault.KindInvalid, "", "more than 100 boils"},
		{"bad due date", func(p *demand.Problem) { p.Lines[0].Due = "14.3.2026" }, fault.KindInvalid, "to_make[0].due", "14.3.2026"},
		{"bad today", func(p *demand.Problem) { p.Today = "2026-02-30" }, fault.KindInvalid, "today", "2026-02-30"},
		{"product without parts", func(p *demand.Problem) { p.Products[0].Parts = nil }, fault.KindInvalid, "product[0].part", "no parts"},
		{"product without its recipe", func(p *demand.Problem) { p.Products[0].Parts[0].Recipe = "x" }, fault.KindNotFound, "product[0].recipe", `"x"`},
		{"product of an unknown portion", func(p *demand.Problem) { p.Products[0].Parts[0].Portion = "x" }, fault.KindNotFound, "product[0].portion", `"x"`},
		{"product twice", func(p *demand.Problem) { p.Products = append(p.Products, p.Products[0]) }, fault.KindInvalid, "product[1].id", "twice"},
		{"recipe twice", func(p *demand.Problem) { p.Recipes = append(p.Recipes, p.Recipes[0]) }, fault.KindInvalid, "recipe[1].id", "twice"},
		{"recipe without portions", func(p *demand.Problem) { p.Recipes[0].Portions = nil }, fault.KindInvalid, "recipe[0].portion", "no portions"},
		{"pieces of nothing", func(p *demand.Problem) { p.Recipes[0].Portions[0].Piece = 0 }, fault.KindInvalid, "product[0].piece", "0 kg"},
		{"a draw of pieces of nothing", func(p *demand.Problem) { p.Recipes[0].Portions[0].Draws = make([]float64, p.Draws) }, fault.KindInvalid, "recipe[0].portion[0].piece", "0 kg"},
		{"piece draws missing", func(p *demand.Problem) { p.Recipes[0].Portions[0].Draws = []float64{1} }, fault.KindInternal, "", "1 draws"},
		{"few draws", func(p *demand.Problem) { p.Draws = demand.LeastDraws - 1 }, fault.KindInvalid, "draws", "511"},
		{"no yield", func(p *demand.Problem) { p.Yield = nil }, fault.KindInvalid, "yield", "yields"},
		{"yield of another shape", func(p *demand.Problem) { p.Yield = steady(0.8, 0.5, 0.5) }, fault.KindInternal, "", "2 portions"},
		{"yield below nothing", func(p *demand.Problem) { p.Yield = steady(-0.1, 1) }, fault.KindInvalid, "", "would yield"},
		{"yield not a number", func(p *demand.Problem) { p.Yield = steady(math.NaN(), 1) }, fault.KindInvalid, "", "would yield"},
		{"yield of nothing", func(p *demand.Problem) { p.Yield = steady(0, 1) }, fault.KindInvalid, "", "no number of boils"},
		{"no usual charge", func(p *demand.Problem) { p.Recipes[0].UsualCharge = 0 }, fault.KindInvalid, "usual_charge", "0 kg"},
		{"least above usual", func(p *demand.Problem) { p.Recipes[0].LeastCharge = 13 }, fault.KindInvalid, "least_charge", "13 kg"},
		{"cap below the least", func(p *demand.Problem) { p.Recipes[0].MostCharge = 3.9 }, fault.KindInvalid, "most_charge", "3.9 kg"},
		{"no charge between", func(p *demand.Problem) { p.Recipes[0].LeastCharge, p.Recipes[0].MostCharge = 4.05, 4.08 }, fault.KindInvalid, "most_charge", "no charge"},
		{"stock of two kinds", func(p *demand.Problem) { p.Stock = []demand.Stock{{Product: "p", Recipe: "r"}} }, fault.KindInvalid, "stock[0].product", "either"},
		{"stock of no kind", func(p *demand.Problem) { p.Stock = []demand.Stock{{Bags: 1}} }, fault.KindInvalid, "stock[0].product", "either"},
		{"stock of an unknown product", func(p *demand.Problem) { p.Stock = []demand.Stock{{Product: "x", Bags: 1}} }, fault.KindNotFound, "stock[0].product", `"x"`},
		{"stock of an unknown recipe", func(p *demand.Problem) { p.Stock = []demand.Stock{{Recipe: "x", Loose: 1}} }, fault.KindNotFound, "stock[0].recipe", `"x"`},
		{"stock of an unknown portion", func(p *demand.Problem) { p.Stock = []demand.Stock{{Recipe: "r", Portion: "x", Loose: 1}} }, fault.KindNotFound, "stock[0].portion", `"x"`},
		{"stock of negative bags", func(p *demand.Problem) { p.Stock = []demand.Stock{{Product: "p", Bags: -1}} }, fault.KindInvalid, "stock[0].bags", "-1 bags"},
		{"stock of negative mass", func(p *demand.Problem) { p.Stock = []demand.Stock{{Recipe: "r", Loose: -1}} }, fault.KindInvalid, "stock[0].loose", "-1 kg"},
		{"stock of no number", func(p *demand.Problem) { p.Stock = []demand.Stock{{Recipe: "r", Loose: q.Kilograms(math.NaN())}} }, fault.KindInvalid, "stock[0].loose", "NaN"},
		{"packed stock by mass", func(p *demand.Problem) { p.Stock = []demand.Stock{{Product: "p", Loose: 1}} }, fault.KindInvalid, "stock[0].loose", "counted"},
		{"loose stock by count", func(p *demand.Problem) { p.Stock = []demand.Stock{{Recipe: "r", Bags: 1}} }, fault.KindInvalid, "stock[0].bags", "weighed"},
		{"packed stock with a portion", func(p *demand.Problem) { p.Stock = []demand.Stock{{Product: "p", Portion: "a"}} }, fault.KindInvalid, "stock[0].portion", "portion"},
	} {
		p := single(line)
		if _, err := demand.Cover(p); err != nil {
			t.Fatal(err)
		}
		c.spoil(&p)
		_, err := demand.Cover(p)
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != c.kind || f.Field != c.field || !strings.Contains(f.Text, c.text) {
			t.Errorf("%s: %v, want %v at %q that says %q", c.name, err, c.kind, c.field, c.text)
		}
	}
}

// The limits themselves are taken.
func TestCover_limits(t *testing.T) {
	t.Parallel()
	p := single(demand.Line{Product: "p", Bags: 960, Must: true}) // 100 boils of 9.6 kg
	if res, err := demand.Cover(p); err != nil || res.Best.Boils != demand.MostBoils {
		t.Errorf("%d boils, %v", res.Best.Boils, err)
	}
	p = single(demand.Line{Product: "p", Bags: demand.MostBags, Must: true})
	p.Products[0].Net = 0.001
	if res, err := demand.Cover(p); err != nil || res.Best.Boils != 11 {
		t.Errorf("%d boils, %v", res.Best.Boils, err)
	}
	// A charge at the kettle's least or at the cap is allowed, to the gram.
	for _, c := range []struct {
		least, most q.Kilograms
		sizes       int
	}{{4, 0, 3}, {4.001, 0, 2}, {4, 12, 3}, {4, 11.999, 2}, {6, 6, 1}} {
		p = single(demand.Line{Product: "p", Bags: 1})
		p.Recipes[0].LeastCharge, p.Recipes[0].MostCharge = c.least, c.most
		if res, err := demand.Cover(p); err != nil || len(res.Recipes[0].Sizes) != c.sizes {
			t.Errorf("%+v: %+v, %v", c, res.Recipes, err)
		}
	}
}

// A portion that bags ask for and the boil does not give is named.
func TestCover_portionWithoutShare(t *testing.T) {
	t.Parallel()
	build := func(share q.Fraction) demand.Problem {
		p := single(demand.Line{Product: "p", Bags: 5, Must: true})
		p.Recipes[0].Portions = []demand.Portion{{ID: "a", Share: 1 - share, Piece: 1e-12}, {ID: "b", Share: share, Piece: 1e-12}}
		p.Products[0].Parts = []bag.Part{{Recipe: "r", Portion: "b", Share: 1}}
		p.Yield = steady(0.8, 1-float64(share), float64(share))
		return p
	}
	if res, err := demand.Cover(build(0.1)); err != nil || res.Best.Boils != 6 {
		t.Errorf("a tenth of the boil: %+v, %v", res.Best, err)
	}
	p := build(0)
	if _, err := demand.Cover(p); err == nil || !strings.Contains(err.Error(), `recipe "r"`) && !strings.Contains(err.Error(), "r, b") || !strings.Contains(err.Error(), "share") {
		t.Errorf("no share: %v", err)
	}
	p.Recipes[0].Portions[1].Share = 0.1 // stated, but the boil gives nothing of it
	if _, err := demand.Cover(p); err == nil || !strings.Contains(err.Error(), "portion b") {
		t.Errorf("no yield: %v", err)
	}
	p = build(0.005) // 0.048 kg a boil
	if _, err := demand.Cover(p); err == nil || !strings.Contains(err.Error(), "portion b is too small") {
		t.Errorf("hardly any: %v", err)
	}
}

// What the yield function says is passed on with its kind.
func TestCover_yieldFault(t *testing.T) {
	t.Parallel()
	p := single(demand.Line{Product: "p", Bags: 5})
	p.Yield = func(int, q.Kilograms, int) ([][]float64, error) {
		return nil, fault.OutOfRange("temperature", 190, 100, 170, "°C", "practice")
	}
	if _, err := demand.Cover(p); fault.KindOf(err) != fault.KindOutOfRange {
		t.Errorf("%v", err)
	}
}
