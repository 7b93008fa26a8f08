package hottest

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"slabside/internal/record"
)

// What is off lies within its 5 % and 95 % points as often as it says, and beyond far more
// often than a normal variate: of Student's t of three degrees of freedom 0.6 % are beyond
// three times those points either way, of a normal variate less than one in a million.
func TestChance_Tails(t *testing.T) {
	t.Parallel()
	c := newChance(1, 2)
	const n = 200000
	in, far := 0, 0
	for range n {
		x := math.Abs(c.off(2)) / 2 / normalPoint
		if x <= 1 {
			in++
		}
		if x > 3 {
			far++
		}
	}
	if share := float64(in) / n; math.Abs(share-0.90) > 0.003 {
		t.Errorf("%.2f %% lie within the points, want 90", share*100)
	}
	if share := float64(far) / n; share < 0.004 || share > 0.008 {
		t.Errorf("%.2f %% lie three times as far out", share*100)
	}
}

// A room is the same each time, hangs on its number, and its batches differ.
func TestRoom_Deterministic(t *testing.T) {
	t.Parallel()
	s := Shops()[4]
	a, b := fmt.Sprintf("%+v", NewRoom(s, 7).Batch(1)), fmt.Sprintf("%+v", NewRoom(s, 7).Batch(1))
	if a != b {
		t.Errorf("one batch comes out in two ways:\n%s\n%s", a, b)
	}
	if a == fmt.Sprintf("%+v", NewRoom(s, 8).Batch(1)) || a == fmt.Sprintf("%+v", NewRoom(s, 7).Batch(2)) {
		t.Error("another room, or another batch, comes out the same")
	}
}

// Cells and steps half as long move what comes of a batch by less than one per cent, or by
// half a turn of the kneading: a batch that is just too soft as it is lifted hardly cools
// until it lies again.
func TestBatch_Halved(t *testing.T) {
	t.Parallel()
	for i, s := range Shops() {
		usual, fine := Middle(s).batch(0, 1), Middle(s).batch(0, 2)
		for _, x := range []struct {
			what        string
			a, b, least float64
		}{
			{"first turn", usual.FirstTurnS, fine.FirstTurnS, 0},
			{"opens", usual.OpensS, fine.OpensS, Middle(s).period / 2},
			{"closes", usual.ClosesS, fine.ClosesS, Middle(s).period / 2},
			{"has", usual.HasS, fine.HasS, Middle(s).period / 2},
		} {
			t.Logf("%d %-12s %7.1f s, halved %7.1f s (%+.2f %%)", i, x.what, x.a, x.b, 100*(x.a/x.b-1))
			if math.Abs(x.a-x.b) > math.Max(0.01*x.b, x.least) {
				t.Errorf("%s: %s after %.1f s, with cells of half the size %.1f", s.Name, x.what, x.a, x.b)
			}
		}
	}
}

// A room in which nothing is off keeps the clocks of the trade (source key practice): the
// edge lifts after one to two minutes on cooled steel and two to three on stone; ten
// kelvins last about 14 minutes on a board or under a lamp and about 3 on a cold slab.
func TestMiddle_Clocks(t *testing.T) {
	t.Parallel()
	for _, s := range Shops() {
		r := Middle(s)
		truth := r.Batch(0)
		low, high := 115.0, 185.0
		if s.Cooling != "" {
			low, high = 60, 120
		}
		if truth.FirstTurnS < low || truth.FirstTurnS > high {
			t.Errorf("%s: the edge lifts after %.0f s, want %.0f to %.0f", s.Name, truth.FirstTurnS, low, high)
		}
		c := r.begin(0, 1)
		c.lie()
		c.turn()
		c.knead()
		h := c.waits(c.worked(), func(float64) float64 { return 10 }, 85)
		h.run(3600, func() bool { return h.mean() <= 75 })
		low, high = 11*60, 18*60
		if !s.Board {
			low, high = 2*60, 5*60
		}
		t.Logf("%-40s edge %4.0f s, ten kelvins %4.1f min", s.Name, truth.FirstTurnS, h.s.clock/60)
		if h.s.clock < low || h.s.clock > high {
			t.Errorf("%s: ten kelvins last %.1f min, want %.0f to %.0f", s.Name, h.s.clock/60, low/60, high/60)
		}
	}
}

// What is written down of three batches is what a shop can know: taps in their order but
// for those who tap late, temperatures that were there, and nothing of the fourth.
func TestRoom_Three(t *testing.T) {
	t.Parallel()
	shops := Shops()
	late, early, taps := 0, 0, 0
	for i := range 12 {
		r := NewRoom(shops[i%len(shops)], uint64(1000+i))
		logs, next := r.Three()
		for k, l := range logs {
			truth := r.Batch(k)
			if l.Number != k || next.Log.Number != 3 {
				t.Fatalf("batch %d is written down as %d, the next as %d", k, l.Number, next.Log.Number)
			}
			at := slices.IndexFunc(l.Taps, func(x Tap) bool { return x.What == record.Poured })
			if at != 0 {
				t.Fatalf("room %d, batch %d: the first tap is %+v", i, k, l.Taps[0])
			}
			for _, x := range l.Taps {
				if x.What == record.ToRolls {
					taps++
					switch d := x.S - truth.OpensS; {
					case d < 0:
						early++
					case d > 60:
						late++
					}
				}
			}
			for _, x := range l.Reads {
				if x.C < 20 || x.C > 175 || x.S < 0 {
					t.Errorf("room %d, batch %d: %.1f °C at %.0f s", i, k, x.C, x.S)
				}
			}
		}
	}
	t.Logf("%d taps of the rolls, %d of them over a minute late", taps, late)
	if early > 0 || late == 0 || late > taps/5 || taps < 25 {
		t.Errorf("of %d taps %d are early and %d over a minute late", taps, early, late)
	}
}
