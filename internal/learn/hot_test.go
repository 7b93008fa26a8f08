package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"slabside/internal/batch"
	"slabside/internal/learn"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/slab"
	"slabside/internal/sugar"
)

func hot(t testing.TB, mass q.Kilograms, learned *slab.Learned) *batch.Hot {
	t.Helper()
	h, err := batch.PrepareHot(batch.HotInputs{Batch: fmt.Sprint(mass), Mass: mass, Lift: 152, Water: 0.028, Solids: sugar.Solids{Syrup: 0.4, DE: 42}, Room: rig.UsualRoom(35),
		Slab: rig.Slab{ID: "marble", Material: rig.Marble, Length: 1.5, Width: 0.75}, Board: &rig.Board{ID: "b", Lamp: true, Most: 12}, Units: q.Plain, Learned: learned})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// seenOf is what is seen of a batch that goes by figures, noise in.
func seenOf(t testing.TB, h *batch.Hot, f slab.Figures, rng *rand.Rand) []learn.HotSeen {
	t.Helper()
	r, err := h.At(f)
	if err != nil {
		t.Fatal(err)
	}
	late := func(s float64) float64 { return s*math.Exp(0.04*rng.NormFloat64()) + 4*rng.ExpFloat64() }
	first := late(r.Ready)
	out := []learn.HotSeen{{What: learn.HotEdge, S: late(r.FirstTurn)}, {What: learn.HotFirst, S: first}, {What: learn.HotRolled, S: late(r.Fed.LastS)}}
	for _, s := range []float64{60, 300, 600} {
		out = append(out, learn.HotSeen{What: learn.HotRead, S: s, C: r.TempAt(s) + 1.5*rng.NormFloat64(), SureK: 1})
	}
	return out
}

// Figures that are planted far from what is held are found again, to within what is said
// of them, and ranges shrink.
func TestLearnHot_Planted(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 5))
	var planted slab.Figures
	planted[slab.Lies], planted[slab.Loses], planted[slab.Rate], planted[slab.Habit] = 0.8, 4.5, -0.3, 0.4
	var batches []learn.HotBatch
	for i := range 4 {
		h := hot(t, q.Kilograms(6+float64(i)), nil)
		batches = append(batches, learn.HotBatch{ID: fmt.Sprint(i), Days: float64(i), Hot: h, Seen: seenOf(t, h, planted, rng)})
	}
	l, err := learn.LearnHot(slab.Untaught(), batches)
	if err != nil {
		t.Fatal(err)
	}
	for u := range slab.Unknowns {
		mean, sd := u.Prior()
		t.Logf("%-10s held %.2f ± %.2f, planted %.2f, found %.2f ± %.2f, %.0f %% of it from %d batches", u, mean, sd, planted[u], l.Held.Mean[u], l.Held.SD(u), 100*l.Shares[u], len(l.Taught[u]))
		if z := (l.Held.Mean[u] - planted[u]) / l.Held.SD(u); math.Abs(z) > 3 {
			t.Errorf("%s is found %.1f standard deviations from what was planted", u, z)
		}
		if l.Held.SD(u) > sd*1.0001 {
			t.Errorf("%s is known less than before", u)
		}
	}
	for _, u := range []slab.Unknown{slab.Lies, slab.Rate} {
		if _, sd := u.Prior(); l.Held.SD(u) > 0.55*sd {
			t.Errorf("%s is known to %.2f, from %.2f before", u, l.Held.SD(u), sd)
		}
	}
}

func TestLearnHot_Refuses(t *testing.T) {
	t.Parallel()
	h := hot(t, 8, nil)
	few := learn.HotBatch{ID: "a", Hot: h, Seen: []learn.HotSeen{{What: learn.HotEdge, S: 100}, {What: learn.HotFirst, S: 900}}}
	near := learn.HotBatch{ID: "b", Hot: h}
	for i := range 5 {
		near.Seen = append(near.Seen, learn.HotSeen{What: learn.HotRead, S: 900 + 20*float64(i), C: 85, SureK: 1})
	}
	for _, b := range []learn.HotBatch{few, near} {
		if lacks, ok := b.Enough(); ok || lacks == "" {
			t.Errorf("batch %s is enough", b.ID)
		}
	}
	l, err := learn.LearnHot(slab.Untaught(), []learn.HotBatch{few, near})
	if err != nil || len(l.Refused) != int(slab.Unknowns) {
		t.Errorf("%d figures are refused, %v", len(l.Refused), err)
	}
}

func BenchmarkLearnHot_three(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 5))
	var batches []learn.HotBatch
	for i := range 3 {
		h := hot(b, q.Kilograms(6+float64(i)), nil)
		batches = append(batches, learn.HotBatch{ID: fmt.Sprint(i), Hot: h, Seen: seenOf(b, h, slab.Untaught().Mean, rng)})
	}
	for b.Loop() {
		if _, err := learn.LearnHot(slab.Untaught(), batches); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBend(b *testing.B) {
	h := hot(b, 9, nil)
	seen := seenOf(b, h, slab.Untaught().Mean, rand.New(rand.NewPCG(3, 5)))
	for b.Loop() {
		if _, err := learn.Bend(h, seen); err != nil {
			b.Fatal(err)
		}
	}
}
