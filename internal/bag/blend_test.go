package bag_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"slabside/internal/bag"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

var sweets = []bag.Sweet{
	{Recipe: "leaf", Portion: "red", Share: 1, Piece: 0.0024},
	{Recipe: "barrel", Portion: "amber", Share: 1, Piece: 0.0038},
	{Recipe: "fish", Portion: "green", Share: 0.7, Piece: 0.0045},
	{Recipe: "fish", Portion: "cream", Share: 0.3, Piece: 0.0040},
}

// compose is the make-up of a bag of a product.
func compose(p bag.Product, sweets []bag.Sweet) (bag.Makeup, error) {
	b, err := bag.NewBlend(p, sweets)
	if err != nil {
		return bag.Makeup{}, err
	}
	return b.Makeup(sweets), nil
}

func near(got, want float64) bool { return math.Abs(got-want) <= 1e-12*(1+math.Abs(want)) }

// Worked by hand (source key arithmetic): 2 leaves, 2 barrels and 1 fish. A kilogram of
// fish is 0.7/0.0045 green and 0.3/0.0040 cream pieces, 155.5556 and 75, so a fish is
// green with chance 0.674699 and weighs 1/230.5556 kg.
func TestMakeup_byPiece(t *testing.T) {
	t.Parallel()
	p := bag.Product{ID: "mix", Net: 0.227, Parts: []bag.Part{{Recipe: "leaf", Share: 2}, {Recipe: "barrel", Share: 2}, {Recipe: "fish", Share: 1}}}
	m, err := compose(p, sweets)
	if err != nil {
		t.Fatal(err)
	}
	fish := 1 / (0.7/0.0045 + 0.3/0.0040)
	mean := (2*0.0024 + 2*0.0038 + fish) / 5
	pieces := 0.227/mean + 0.5
	green := 0.7 / 0.0045 * fish
	want := []float64{pieces * 2 / 5, pieces * 2 / 5, pieces / 5 * green, pieces / 5 * (1 - green)}
	if !near(m.Pieces, pieces) || !near(float64(m.Mass), 0.227+mean/2) || !near(float64(m.Over), mean/2) || len(m.Holdings) != 4 {
		t.Fatalf("%+v, want %v pieces of %v kg", m, pieces, mean)
	}
	for i, h := range m.Holdings {
		if !near(h.Pieces, want[i]) || !near(float64(h.Mass), want[i]*float64(sweets[i].Piece)) || h.Part != min(i, 2) ||
			h.Recipe != sweets[i].Recipe || h.Portion != sweets[i].Portion {
			t.Errorf("holding %d: %+v, want %v pieces", i, h, want[i])
		}
	}
	// As made: the fish in the bag split by mass as the boil does.
	if g, c := m.Holdings[2].Mass, m.Holdings[3].Mass; !near(float64(g)*0.3, float64(c)*0.7) {
		t.Errorf("%v kg green and %v kg cream", g, c)
	}
}

func TestMakeup_byMass(t *testing.T) {
	t.Parallel()
	p := bag.Product{ID: "mix", Net: 0.3, By: bag.ByMass, Parts: []bag.Part{{Recipe: "leaf", Share: 1}, {Recipe: "fish", Portion: "cream", Share: 2}}}
	m, err := compose(p, sweets)
	if err != nil {
		t.Fatal(err)
	}
	mean := 3 / (1/0.0024 + 2/0.0040)
	if !near(float64(m.Mass), 0.3+mean/2) || !near(float64(m.Holdings[1].Mass), 2*float64(m.Holdings[0].Mass)) ||
		!near(m.Holdings[0].Pieces, float64(m.Holdings[0].Mass)/0.0024) || m.Holdings[1].Portion != "cream" {
		t.Errorf("%+v", m)
	}
}

// Laws: the mass of the holdings is the mass of the bag, only the proportions of
// the shares count, and with pieces of one mass shares by piece and by mass are one.
func TestMakeup_laws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		parts := []bag.Part{
			{Recipe: "leaf", Share: rapid.Float64Range(0.1, 9).Draw(t, "leaf")},
			{Recipe: "fish", Share: rapid.Float64Range(0.1, 9).Draw(t, "fish")},
		}
		p := bag.Product{ID: "p", Net: q.Kilograms(rapid.Float64Range(0.02, 2).Draw(t, "net")), Parts: parts,
			By: rapid.SampledFrom([]bag.Share{"", bag.ByPiece, bag.ByMass}).Draw(t, "by")}
		m, err := compose(p, sweets)
		if err != nil {
			t.Fatal(err)
		}
		var kg, pieces float64
		for _, h := range m.Holdings {
			kg += float64(h.Mass)
			pieces += h.Pieces
		}
		if !near(kg, float64(m.Mass)) || !near(pieces, m.Pieces) || !near(float64(m.Mass), m.Pieces*(kg/pieces)) || m.Over <= 0 {
			t.Fatalf("%+v", m)
		}
		k := rapid.Float64Range(0.01, 100).Draw(t, "scale")
		scaled := p
		scaled.Parts = []bag.Part{{Recipe: "leaf", Share: k * parts[0].Share}, {Recipe: "fish", Share: k * parts[1].Share}}
		m2, err := compose(scaled, sweets)
		if err != nil || !near(m2.Holdings[1].Pieces, m.Holdings[1].Pieces) {
			t.Fatalf("%+v, %v", m2, err)
		}
		even := make([]bag.Sweet, len(sweets))
		for i, s := range sweets {
			s.Piece = 0.003
			even[i] = s
		}
		byPiece, byMass := p, p
		byPiece.By, byMass.By = bag.ByPiece, bag.ByMass
		a, _ := compose(byPiece, even)
		b, _ := compose(byMass, even)
		if !near(a.Holdings[2].Pieces, b.Holdings[2].Pieces) || !near(float64(a.Over), 0.0015) {
			t.Fatalf("%+v and %+v", a, b)
		}
	})
}

func TestNewBlend_faults(t *testing.T) {
	t.Parallel()
	good := func() bag.Product {
		return bag.Product{ID: "p", Net: 0.1, Parts: []bag.Part{{Recipe: "leaf", Share: 1}, {Recipe: "fish", Share: 1}}}
	}
	for _, c := range []struct {
		name  string
		spoil func(*bag.Product, []bag.Sweet)
		kind  fault.Kind
	}{
		{"no net weight", func(p *bag.Product, _ []bag.Sweet) { p.Net = 0 }, fault.KindInvalid},
		{"net not a number", func(p *bag.Product, _ []bag.Sweet) { p.Net = q.Kilograms(math.NaN()) }, fault.KindInvalid},
		{"shares by length", func(p *bag.Product, _ []bag.Sweet) { p.By = "length" }, fault.KindInvalid},
		{"no parts", func(p *bag.Product, _ []bag.Sweet) { p.Parts = nil }, fault.KindInvalid},
		{"no share", func(p *bag.Product, _ []bag.Sweet) { p.Parts[1].Share = 0 }, fault.KindInvalid},
		{"share without end", func(p *bag.Product, _ []bag.Sweet) { p.Parts[1].Share = math.Inf(1) }, fault.KindInvalid},
		{"negative least", func(p *bag.Product, _ []bag.Sweet) { p.Parts[1].Least = -1 }, fault.KindInvalid},
		{"unknown recipe", func(p *bag.Product, _ []bag.Sweet) { p.Parts[1].Recipe = "x" }, fault.KindNotFound},
		{"unknown portion", func(p *bag.Product, _ []bag.Sweet) { p.Parts[1].Portion = "x" }, fault.KindNotFound},
		{"a sweet twice", func(p *bag.Product, _ []bag.Sweet) { p.Parts[0] = bag.Part{Recipe: "fish", Portion: "cream", Share: 1} }, fault.KindInvalid},
		{"piece of nothing", func(_ *bag.Product, s []bag.Sweet) { s[3].Piece = 0 }, fault.KindInvalid},
		{"negative portion", func(_ *bag.Product, s []bag.Sweet) { s[3].Share = -1 }, fault.KindInvalid},
		{"portions without shares", func(_ *bag.Product, s []bag.Sweet) { s[2].Share, s[3].Share = 0, 0 }, fault.KindInvalid},
		{"portion without a share", func(p *bag.Product, s []bag.Sweet) { p.Parts[1].Portion, s[3].Share = "cream", 0 }, fault.KindInvalid},
		{"portion twice in the recipe", func(p *bag.Product, s []bag.Sweet) { p.Parts[1].Portion, s[2].Portion = "cream", "cream" }, fault.KindInvalid},
	} {
		p, s := good(), append([]bag.Sweet(nil), sweets...)
		if _, err := bag.NewBlend(p, s); err != nil {
			t.Fatal(err)
		}
		c.spoil(&p, s)
		if _, err := bag.NewBlend(p, s); err == nil || fault.KindOf(err) != c.kind {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestBlend_LeastMet(t *testing.T) {
	t.Parallel()
	equal := []bag.Sweet{{Recipe: "a", Share: 1, Piece: 0.002}, {Recipe: "b", Share: 1, Piece: 0.002}, {Recipe: "c", Share: 1, Piece: 0.002}}
	blend := func(least int, net q.Kilograms) bag.Blend {
		b, err := bag.NewBlend(bag.Product{ID: "p", Net: net, Parts: []bag.Part{
			{Recipe: "a", Share: 1, Least: least}, {Recipe: "b", Share: 1, Least: least}, {Recipe: "c", Share: 1, Least: least}}}, equal)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	// Bags of 12 pieces of three equal colours: R 4.2.2 (r422), endless and from a pool of 120, which is 10 bags.
	c, err := blend(2, 0.024).LeastMet(equal, 0)
	if err != nil || c.Pieces != 12 || math.Abs(c.Bag-0.839031990380868) > 1e-13 || c.Short != 0 || c.Every != 0 {
		t.Errorf("endless: %+v, %v", c, err)
	}
	c, err = blend(2, 0.024).LeastMet(equal, 10)
	if err != nil || math.Abs(c.Bag-0.864038707379801) > 1e-13 || !near(c.Short, 10*(1-0.864038707379801)) || c.Every != 0 {
		t.Errorf("10 bags: %+v, %v", c, err)
	}
	// One bag takes the whole pool: nothing is left to chance.
	if c, err = blend(4, 0.024).LeastMet(equal, 1); err != nil || c.Bag != 1 || c.Every != 1 {
		t.Errorf("one bag: %+v, %v", c, err)
	}
	if c, err = blend(5, 0.024).LeastMet(equal, 1); err != nil || c.Bag != 0 {
		t.Errorf("one bag that cannot: %+v, %v", c, err)
	}
	// A net weight just above 12 pieces takes a thirteenth.
	if c, err = blend(2, 0.0241).LeastMet(equal, 10); err != nil || c.Pieces != 13 {
		t.Errorf("%+v, %v", c, err)
	}
	// Portions of one part count together: with all fish in one part nothing can be short.
	b, err := bag.NewBlend(bag.Product{ID: "f", Net: 0.045, Parts: []bag.Part{{Recipe: "fish", Share: 1, Least: 9}}}, sweets)
	if err != nil {
		t.Fatal(err)
	}
	if c, err = b.LeastMet(sweets, 20); err != nil || c.Bag != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	for name, f := range map[string]func() (bag.Chance, error){
		"negative bags": func() (bag.Chance, error) { return blend(1, 0.024).LeastMet(equal, -1) },
		"vast bag":      func() (bag.Chance, error) { return blend(1, 50).LeastMet(equal, 1) },
		"vast pool":     func() (bag.Chance, error) { return blend(1, 0.024).LeastMet(equal, bag.MostPool) },
	} {
		if _, err := f(); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestFill(t *testing.T) {
	t.Parallel()
	s := []bag.Sweet{{Recipe: "a", Share: 1, Piece: 0.002}, {Recipe: "b", Share: 1, Piece: 0.004}}
	blend := func(p bag.Product) bag.Blend {
		b, err := bag.NewBlend(p, s)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	// A bag of a holds 0.099 + 0.001 kg; a bag of the mixture 0.0985 + 0.0015 kg, a third of it a.
	a := blend(bag.Product{ID: "a", Net: 0.099, Parts: []bag.Part{{Recipe: "a", Share: 1}}})
	mix := blend(bag.Product{ID: "mix", Net: 0.0985, Parts: []bag.Part{{Recipe: "a", Share: 1}, {Recipe: "b", Share: 1}}})
	// 0.5 kg to 5 bags of a; 1.11 kg a and 2 kg b give 30 mixtures, b runs out; 0.11 kg a gives one bag.
	piece, left := []float64{0.002, 0.004}, []float64{1.61, 2}
	got := []int{a.Fill(5, piece, left), mix.Fill(40, piece, left), a.Fill(9, piece, left)}
	if d := cmp.Diff([]int{5, 30, 1}, got); d != "" {
		t.Error(d)
	}
	if !near(left[0], 0.01) || left[1] > 1e-9 {
		t.Errorf("%v kg left", left)
	}
}

// Nothing made is lost or invented: what went into bags and what is left is what
// was made; and the bags end only where a sweet does not give another.
func TestFill_balance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		piece, left := make([]float64, len(sweets)), make([]float64, len(sweets))
		var before, after float64
		for i := range left {
			piece[i] = float64(sweets[i].Piece)
			left[i] = rapid.Float64Range(0, 10).Draw(t, "made")
			before += left[i]
		}
		for range rapid.IntRange(0, 5).Draw(t, "lines") {
			b, err := bag.NewBlend(bag.Product{ID: "p", Net: q.Kilograms(rapid.Float64Range(0.05, 1).Draw(t, "net")), Parts: []bag.Part{
				{Recipe: rapid.SampledFrom([]string{"leaf", "barrel"}).Draw(t, "recipe"), Share: 1}, {Recipe: "fish", Share: 2}}}, sweets)
			if err != nil {
				t.Fatal(err)
			}
			bags := rapid.IntRange(0, 60).Draw(t, "bags")
			n := b.Fill(bags, piece, left)
			m := b.Makeup(sweets)
			after += float64(n) * float64(m.Mass)
			short := false
			for h, k := range b.Pieces {
				short = short || left[k] < float64(m.Holdings[h].Mass)
			}
			if n < 0 || n > bags || n < bags && !short {
				t.Fatalf("%d of %d bags, %v kg left", n, bags, left)
			}
		}
		for _, kg := range left {
			after += kg
			if kg < 0 {
				t.Fatalf("%v kg left", left)
			}
		}
		if math.Abs(after-before) > 1e-6 {
			t.Fatalf("%v kg made, %v kg bagged and left", before, after)
		}
	})
}
