package roller

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/validation"
)

// TestPatterns recomputes the mass of a piece from the printed pieces to the pound
// of the old roll patterns (source key guide1896).
func TestPatterns(t *testing.T) {
	t.Parallel()
	rows := validation.Records(t, "patterns.csv")
	if len(rows) != 26 {
		t.Fatalf("%d patterns, want 26", len(rows))
	}
	for _, row := range rows {
		perPound, grams := row.Number("pieces_per_lb"), row.Number("grams")
		// Half of the last digit shown, which is one of four figures.
		tol := 0.0006
		if grams > 10 {
			tol = 0.006
		}
		if got := (rig.Rolls{PerPound: perPound}).PieceMass().Grams(); math.Abs(got-grams) > tol {
			t.Errorf("pattern %s %s: %.4f g, want %.3f (%s)", row.Text("pattern"), row.Text("name"), got, grams, row.Key())
		}
	}
}

// TestPieces_OldBoils: 6.616 kg of acid drops, 500 to the pound, make 7,293 and
// 7.637 kg of raspberry drops, 200 to the pound, 3,367, before scrap (quantities of
// source key guide1896 at 2 % of water; counts by source key arithmetic).
func TestPieces_OldBoils(t *testing.T) {
	t.Parallel()
	none := q.Fraction(0)
	for _, row := range []struct {
		mass     q.Kilograms
		perPound float64
		want     float64
	}{{6.616, 500, 7293}, {7.637, 200, 3367}} {
		c, err := Pieces(row.mass, rig.Rolls{PerPound: row.perPound}.PieceMass(), &none)
		if err != nil {
			t.Fatal(err)
		}
		// The mass is printed to 1 g: half a piece of 0.9 g.
		if math.Abs(c.Pieces.Value-row.want) > 1 || c.Pieces.Basis != q.Exact {
			t.Errorf("%g kg at %g to the pound: %g pieces, want %g", float64(row.mass), row.perPound, c.Pieces.Value, row.want)
		}
	}
}

func TestPieces(t *testing.T) {
	t.Parallel()
	loss := q.Fraction(0.05)
	c, err := Pieces(14*q.KilogramsPerPound, q.KilogramsPerPound/500, &loss)
	if err != nil || c.Pieces != q.ExactOf(6650) {
		t.Errorf("14 lb at 500 to the pound less 5 %%: %+v, %v", c.Pieces, err)
	}
	c, err = Pieces(2.4, 0.0024, nil)
	if err != nil || c.Pieces.Value != 920 || !(c.Pieces.Low < 890 && c.Pieces.High > 940) || len(c.Cautions) != 0 {
		t.Errorf("without a loss: %+v, %v", c, err)
	}
	if c, err = Pieces(1, 0.012, nil); err != nil || len(c.Cautions) != 1 || c.Cautions[0].Code != CodeLossEdge {
		t.Errorf("a piece of 12 g: %+v, %v", c, err)
	}
	over := q.Fraction(1.2)
	for name, f := range map[string]func() (Count, error){
		"no piece":       func() (Count, error) { return Pieces(1, 0, nil) },
		"below zero":     func() (Count, error) { return Pieces(-1, 0.002, nil) },
		"not a number":   func() (Count, error) { return Pieces(q.Kilograms(math.NaN()), 0.002, nil) },
		"loss above one": func() (Count, error) { return Pieces(1, 0.002, &over) },
	} {
		if _, err := f(); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestLoss meets the three figures of practice, falls between them, and says
// outside them that nothing is known.
func TestLoss(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		piece q.Kilograms
		want  float64
	}{{0.0009, 0.12}, {0.0024, 0.08}, {0.0045, 0.06}} {
		if got, _ := Loss(row.piece); math.Abs(float64(got)-row.want) > 1e-12 {
			t.Errorf("%g kg: %g, want %g", float64(row.piece), float64(got), row.want)
		}
	}
	for _, row := range []struct {
		piece q.Kilograms
		edge  bool
	}{{0.0009 * 0.99, true}, {0.0009 * 1.01, false}, {0.0045 * 0.99, false}, {0.0045 * 1.01, true}} {
		if _, edge := Loss(row.piece); edge != row.edge {
			t.Errorf("%g kg: edge %v", float64(row.piece), edge)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0.0003, 0.01).Draw(t, "a")
		b := rapid.Float64Range(a, 0.011).Draw(t, "b")
		la, _ := Loss(q.Kilograms(a))
		lb, _ := Loss(q.Kilograms(b))
		if lb > la+1e-15 {
			t.Errorf("pieces of %g kg lose %g, of %g kg %g", a, float64(la), b, float64(lb))
		}
	})
}

func pair() Pair {
	return Pair{Rolls: rig.Rolls{ID: "leaf", Name: "leaf", Piece: 0.0024}, Recipe: "r", Batch: "r:1",
		Ensemble: numeric.NewEnsemble(numeric.Draws, 4)}
}

func constant(n int, v float64) []float64 {
	c := make([]float64, n)
	for i := range c {
		c[i] = v
	}
	return c
}

func summarise(t *testing.T, c []float64) numeric.Summary {
	t.Helper()
	s, err := numeric.Summarise(c)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestRoll_Law: what goes to the rolls is ends, web and sound pieces; ends stay in
// 0.3 to 1 kg for a whole boil (source key practice) and shrink with a part one.
func TestRoll_Law(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		p := pair()
		p.FinishGain = q.Fraction(rapid.Float64Range(0, 0.05).Draw(rt, "gain"))
		n := p.Ensemble.Len()
		a, b := rapid.Float64Range(0.5, 8).Draw(rt, "a"), rapid.Float64Range(0.5, 8).Draw(rt, "b")
		out, err := p.Roll([]Portion{{ID: "a", Mass: constant(n, a)}, {ID: "b", Mass: constant(n, b), Work: recipe.Pulled}})
		if err != nil {
			rt.Fatal(err)
		}
		for i := range n {
			ends := 0.0
			for j, mass := range []float64{a, b} {
				y := out[j]
				ends += y.Ends[i]
				sound := y.Pieces[i] * y.PieceKg[i]
				if math.Abs(sound+y.Ends[i]+y.Web[i]-mass) > 1e-12*mass {
					rt.Fatalf("portion %d, draw %d: %g of %g kg", j, i, sound+y.Ends[i]+y.Web[i], mass)
				}
				if y.Kg[i] < sound*(1-1e-12) {
					rt.Fatalf("the finish takes from the pieces")
				}
			}
			scale := math.Min(1, (a+b)/wholeBoil)
			if ends < endsLow*scale-1e-9 || ends > endsHigh*scale+1e-9 {
				rt.Fatalf("ends %g kg of %g kg", ends, a+b)
			}
		}
	})
}

// TestRoll_PulledIsLighter: air makes the same form lighter by its share, and so
// more pieces from the same mass.
func TestRoll_PulledIsLighter(t *testing.T) {
	t.Parallel()
	p := pair()
	n := p.Ensemble.Len()
	out, err := p.Roll([]Portion{{ID: "a", Mass: constant(n, 4), Work: recipe.Clear}, {ID: "b", Mass: constant(n, 4), Work: recipe.Pulled}})
	if err != nil {
		t.Fatal(err)
	}
	ratio := make([]float64, n)
	for i := range ratio {
		ratio[i] = 1 - out[1].PieceKg[i]/out[0].PieceKg[i]
	}
	s := summarise(t, ratio)
	t.Logf("air %.3f (%.3f to %.3f)", s.Value, s.Low, s.High)
	// 5 to 12 % kept, source key practice.
	if math.Abs(s.Value-0.085) > 0.003 || math.Abs(s.Low-0.05) > 0.005 || math.Abs(s.High-0.12) > 0.005 {
		t.Errorf("air %.3f (%.3f to %.3f), want 0.085 (0.05 to 0.12)", s.Value, s.Low, s.High)
	}
	mid, err := p.Middle([]Portion{{ID: "b", Mass: []float64{8}, Work: recipe.Pulled, Air: 0.06}})
	if err != nil || math.Abs(mid[0].PieceKg[0]-0.0024*0.94) > 1e-15 {
		t.Errorf("stated air of 6 %%: %+v, %v", mid, err)
	}
}

// TestRoll_PieceErrorIsThePairs: the mean piece's spread is 3 % where none is on
// file and what is stated otherwise.
func TestRoll_PieceErrorIsThePairs(t *testing.T) {
	t.Parallel()
	for _, row := range []struct{ stated, want float64 }{{0, 0.03}, {0.05, 0.05}} {
		p := pair()
		p.Rolls.PieceSD = q.Fraction(row.stated)
		out, err := p.Roll([]Portion{{ID: "a", Mass: constant(p.Ensemble.Len(), 6)}})
		if err != nil {
			t.Fatal(err)
		}
		s := summarise(t, out[0].PieceKg)
		if got := (s.High - s.Low) / 2 / ninety / 0.0024; math.Abs(got-row.want) > 0.001 {
			t.Errorf("stated %g: one standard deviation is %.4f, want %.2f", row.stated, got, row.want)
		}
	}
	p := pair()
	p.Rolls.Piece = 0
	if _, err := p.Roll(nil); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("rolls without a piece: %v", err)
	}
}

// TestRoll_LossSpread: the loss of a 2.4 g piece is 8 % (source key practice) with a
// range of about 5 to 12 %, most of it the pair's own: two boils of one pair lose
// alike, two pairs do not.
func TestRoll_LossSpread(t *testing.T) {
	t.Parallel()
	loss := func(p Pair) []float64 {
		p.Rolls.PieceSD = 1e-9
		out, err := p.Roll([]Portion{{ID: "a", Mass: constant(p.Ensemble.Len(), 7)}})
		if err != nil {
			t.Fatal(err)
		}
		c := make([]float64, p.Ensemble.Len())
		for i := range c {
			c[i] = math.Log(out[0].Web[i] / (7 - out[0].Ends[i]))
		}
		return c
	}
	one := pair()
	again, other := pair(), pair()
	again.Batch = "r:2"
	other.Batch, other.Rolls.ID = "r:2", "fish"
	s := summarise(t, loss(one))
	low, high := math.Exp(s.Low), math.Exp(s.High)
	t.Logf("loss %.4f (%.4f to %.4f)", math.Exp(s.Value), low, high)
	if math.Abs(math.Exp(s.Value)-0.08) > 0.001 || math.Abs(low-0.05) > 0.003 || math.Abs(high-0.125) > 0.006 {
		t.Errorf("loss %.4f (%.4f to %.4f), want 0.08 (0.05 to 0.125)", math.Exp(s.Value), low, high)
	}
	if r := correlation(loss(one), loss(again)); r < 0.8 || r > 0.95 {
		t.Errorf("two boils of a pair: correlation %.2f, want 0.86", r)
	}
	if r := correlation(loss(one), loss(other)); math.Abs(r) > 0.15 {
		t.Errorf("two pairs: correlation %.2f, want none", r)
	}
}

func correlation(a, b []float64) float64 {
	n := float64(len(a))
	var sa, sb, saa, sbb, sab float64
	for i := range a {
		sa, sb = sa+a[i], sb+b[i]
		saa, sbb, sab = saa+a[i]*a[i], sbb+b[i]*b[i], sab+a[i]*b[i]
	}
	return (sab - sa*sb/n) / math.Sqrt((saa-sa*sa/n)*(sbb-sb*sb/n))
}

// TestRolling flips at the mass the band can eat. 1 kg a minute, 3 minutes on a
// cold slab and 14 beside a board are source key practice.
func TestRolling(t *testing.T) {
	t.Parallel()
	room := rig.Room{Times: rig.Times{RollRate: 1, RollBand: q.Duration(3 * time.Minute), RollBandBoard: q.Duration(14 * time.Minute)}}
	bare := RollingOf(room, nil, nil)
	board := RollingOf(room, nil, &rig.Board{ID: "board"})
	if bare.Largest() != 3 || board.Largest() != 14 || board.Minutes(7) != 7 {
		t.Errorf("largest %g and %g kg, 7 kg in %g min", float64(bare.Largest()), float64(board.Largest()), board.Minutes(7))
	}
	if !board.Fits(14*0.99) || board.Fits(14*1.01) || len(board.Cautions(13.8, q.Plain)) != 0 {
		t.Error("the band does not flip at its mass")
	}
	c := board.Cautions(14.2, q.Plain)
	if len(c) != 1 || c[0].Code != CodeRollTime {
		t.Errorf("cautions %v", c)
	}
	slow := RollingOf(room, &rig.Machine{RollRate: 0.5}, &rig.Board{})
	if slow.Largest() != 7 {
		t.Errorf("a slow machine: %g kg", float64(slow.Largest()))
	}
	none := RollingOf(rig.Room{}, nil, nil)
	if none.Rate != DefaultRate || !none.Fits(99) {
		t.Errorf("a room without figures: %+v", none)
	}
}
