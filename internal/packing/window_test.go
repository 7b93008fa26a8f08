package packing_test

import (
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/packing"
)

// The steps of Directive 76/211/EEC, Annex I 2.4 (published; the same figures stand in
// UK SI 2006/659), with a share rounded up to a tenth of a gram (Annex I 2.5, from
// memory): 4.5 % of 170 g is 7.65 g, 3 % of 340 g is 10.2 g and no hair more.
func TestTolerableError(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		market    string
		label, mg int64 // mg
		known     bool
	}{
		{"eu", 4_999, 0, false}, {"eu", 5_000, 500, true}, {"eu", 50_000, 4_500, true}, {"eu", 50_001, 4_500, true}, {"eu", 100_000, 4_500, true},
		{"eu", 113_000, 5_100, true}, {"eu", 170_000, 7_700, true}, {"eu", 200_000, 9_000, true}, {"eu", 227_000, 9_000, true}, {"eu", 300_000, 9_000, true},
		{"eu", 340_000, 10_200, true}, {"eu", 500_000, 15_000, true}, {"eu", 1_000_000, 15_000, true}, {"eu", 2_000_000, 30_000, true},
		{"eu", 10_000_000, 150_000, true}, {"eu", 10_000_001, 0, false}, {"uk", 10_000_001, 150_000, true}, {"uk", 20_000_000, 200_000, true}, {"uk", 25_000_001, 0, false},
	} {
		r, ok := packing.RuleOf(c.market, c.label)
		if ok != c.known || ok && (r.FewMg != c.mg || r.MostMg != 2*c.mg) {
			t.Errorf("%s, %d mg: %+v, %v, want %d", c.market, c.label, r, ok, c.mg)
		}
	}
}

// NIST Handbook 133, Table 2-5 (from memory; an older printing gives 7 g for 113 g,
// published), in grams as the table's pounds come to.
func TestLargestShortage(t *testing.T) {
	t.Parallel()
	const lb = 453.59237
	for _, c := range []struct{ labelLb, mavLb float64 }{
		{0.1, 0.008}, {0.25, 0.016}, {0.5, 0.028}, {1, 0.044}, {2, 0.07}, {4.5, 0.12},
	} {
		r, ok := packing.RuleOf("us", int64(c.labelLb*lb*1000))
		if want := int64(c.mavLb*lb*10) * 100; !ok || r.MostMg != want || r.FewMg != 0 {
			t.Errorf("%g lb: %+v, %v, want %d mg", c.labelLb, r, ok, want)
		}
	}
	if r, ok := packing.RuleOf("us", 30_000); !ok || r.MostMg != 3_000 {
		t.Errorf("a tenth of 30 g: %+v", r)
	}
	for _, market := range []string{"ca", ""} {
		if _, ok := packing.RuleOf(market, 113_000); ok {
			t.Errorf("a rule of %q is known", market)
		}
	}
}

// A bag of 227 g in a bag of 5 g, drops of up to 4.5 g, on a scale of whole grams:
// worked by hand.
func TestWindowByHand(t *testing.T) {
	t.Parallel()
	w, err := packing.WindowOf("uk", 227_000, 5_000, 1_000, 4_500)
	want := packing.Window{LabelMg: 227_000, TareMg: 5_000, FromMg: 232_000, ToMg: 237_000, TargetMg: 234_250, StepMg: 1_000, PieceMg: 4_500, FewMg: 223_000, LeastMg: 214_000}
	if err != nil || w != want {
		t.Errorf("%+v, %v, want %+v", w, err, want)
	}
	if w.Coarse() {
		t.Error("a step of 1 g is too coarse for an error of 9 g")
	}
	if w, _ := packing.WindowOf("uk", 113_000, 0, 5_000, 4_500); !w.Coarse() {
		t.Error("a step of 5 g is fine enough for an error of 5.1 g")
	}
	for _, c := range [][4]int64{{0, 0, 1, 1}, {1, -1, 1, 1}, {1, 0, 0, 1}, {1, 0, 1, 0}} {
		if _, err := packing.WindowOf("eu", c[0], c[1], c[2], c[3]); err == nil {
			t.Errorf("%v is taken", c)
		}
	}
}

// Whoever drops pieces in one by one until the scale shows enough stops inside the
// window, whatever the pieces weigh up to the heaviest, and the bag is not short.
func TestFillingPieceByPiece(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		label, tare := rapid.Int64Range(5_000, 1_000_000).Draw(t, "label"), rapid.Int64Range(0, 40_000).Draw(t, "tare")
		step, piece := rapid.SampledFrom([]int64{10, 100, 500, 1000, 2000}).Draw(t, "step"), rapid.Int64Range(900, 6_000).Draw(t, "piece")
		w, err := packing.WindowOf("us", label, tare, step, piece)
		if err != nil {
			t.Fatal(err)
		}
		held := tare
		for held < w.FromMg {
			held += rapid.Int64Range(piece/2+1, piece).Draw(t, "dropped")
		}
		if held > w.ToMg || held-tare < label || w.FromMg%step != 0 || w.ToMg%step != 0 {
			t.Fatalf("%d mg in the bag of %+v", held, w)
		}
	})
}

func TestCheckOf(t *testing.T) {
	t.Parallel()
	c, ok := packing.CheckOf("eu", 113_000, []int64{113_000, 112_000, 107_800, 102_000, 118_200})
	want := packing.Check{Bags: 5, MeanMg: 110_600, LeastMg: 102_000, MostMg: 118_200, Short: 3, Few: 2, Never: 1}
	if !ok || c != want {
		t.Errorf("%+v, want %+v", c, want)
	}
	if _, ok := packing.CheckOf("eu", 113_000, nil); ok {
		t.Error("nothing was weighed")
	}
	if c, _ := packing.CheckOf("ca", 113_000, []int64{1}); c.Short != 1 || c.Few+c.Never != 0 {
		t.Errorf("without a rule: %+v", c)
	}
}
