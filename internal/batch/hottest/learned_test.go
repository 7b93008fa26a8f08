package hottest

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"slabside/internal/batch"
	"slabside/internal/learn"
	"slabside/internal/record"
	"slabside/internal/slab"
)

// seenOf is what a log shows, as it is learned from.
func seenOf(l Log) (seen []learn.HotSeen) {
	at := map[record.Happening]float64{}
	for _, tap := range l.Taps {
		at[tap.What] = tap.S
	}
	poured := at[record.Poured]
	for _, x := range []struct {
		what record.Happening
		as   learn.HotWhat
	}{{record.EdgeUp, learn.HotEdge}, {record.PullBegun, learn.HotPull}, {record.FirstSheet, learn.HotFirst}, {record.Cracked, learn.HotGone}} {
		if s, ok := at[x.what]; ok && s > poured {
			seen = append(seen, learn.HotSeen{What: x.as, S: s - poured})
		}
	}
	first, ok := at[record.ToRolls]
	if !ok {
		first, ok = at[record.FirstSheet]
	}
	if last, rolled := at[record.LastSheet]; ok && rolled && last > first {
		seen = append(seen, learn.HotSeen{What: learn.HotRolled, S: last - first}, learn.HotSeen{What: learn.HotGone, S: last - poured, Yet: true})
	}
	for _, r := range l.Reads {
		seen = append(seen, learn.HotSeen{What: learn.HotRead, S: math.Max(r.S-poured, 1), C: r.C, SureK: 1.2})
	}
	return seen
}

// ready makes a batch of a shop ready.
func ready(t *testing.T, s Shop, index, members int, of func(in *batch.HotInputs)) *batch.Hot {
	t.Helper()
	in := s.Inputs(index, members, 1)
	of(&in)
	h, err := batch.PrepareHot(in)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestLearned lets rooms log three batches, with their late and forgotten taps and their
// thermometers, and holds the forecast of the fourth against what comes of it: the error
// of the opening is near half of what it was, its range is narrower, and ranges hold.
func TestLearned(t *testing.T) {
	t.Parallel()
	const members = 100
	shops, all := Shops(), figures()
	rooms := 30
	if testing.Short() {
		rooms = 12
	}
	untaught := make([]batch.HotRun, len(shops))
	for i, s := range shops {
		var err error
		if untaught[i], err = ready(t, s, 3, members, func(*batch.HotInputs) {}).ForecastOf(members); err != nil {
			t.Fatal(err)
		}
	}
	inside := make([]int, len(all))
	before, after, wide := make([][]float64, len(all)), make([][]float64, len(all)), make([][]float64, len(all))
	for i := range rooms {
		s := shops[i%len(shops)]
		logs, next := NewRoom(s, uint64(2000+i)).Three()
		var batches []learn.HotBatch
		for k, l := range logs {
			batches = append(batches, learn.HotBatch{ID: fmt.Sprint(k), Days: float64(3 - k), Hot: ready(t, s, k, members, func(*batch.HotInputs) {}), Seen: seenOf(l)})
		}
		lessons, err := learn.LearnHot(slab.Untaught(), batches)
		if err != nil {
			t.Fatalf("room %d: %v", i, err)
		}
		taught, err := ready(t, s, 3, members, func(in *batch.HotInputs) { in.Learned = &lessons.Held }).ForecastOf(members)
		if err != nil {
			t.Fatalf("room %d: %v", i, err)
		}
		for j, x := range all {
			a, b, was := x.of(untaught[i%len(shops)]), x.of(taught), x.was(next)
			before[j], after[j] = append(before[j], math.Abs(a.Value/was-1)), append(after[j], math.Abs(b.Value/was-1))
			wide[j] = append(wide[j], (b.High-b.Low)/(a.High-a.Low))
			if was >= b.Low && was <= b.High {
				inside[j]++
			}
		}
	}
	middle := func(x []float64) float64 { return slices.Sorted(slices.Values(x))[len(x)/2] }
	for j, x := range all {
		share := float64(inside[j]) / float64(rooms)
		t.Logf("%-14s %4.1f %% off untaught, %4.1f %% after three batches; the range %.2f times as wide, %3.0f %% inside",
			x.name, 100*middle(before[j]), 100*middle(after[j]), middle(wide[j]), 100*share)
		if share < 0.8 {
			t.Errorf("%s: %.0f %% inside after three batches, want about 90", x.name, 100*share)
		}
		if x.name == "opens, s" && (middle(after[j]) > 0.6*middle(before[j]) || middle(wide[j]) > 0.75) {
			t.Errorf("three batches leave %.1f %% of %.1f %%, and a range %.2f times as wide", 100*middle(after[j]), 100*middle(before[j]), middle(wide[j]))
		}
	}
}
