package hottest

import (
	"math"
	"runtime"
	"slices"
	"sync"
	"testing"

	"slabside/internal/batch"
	q "slabside/internal/quantity"
)

// made makes the first batch of so many rooms, shop by shop in turn, on every core there
// is. Rooms are those of the numbers from 0 on: the seeds are fixed.
func made(shops []Shop, rooms int) []Truth {
	truths := make([]Truth, rooms)
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				truths[i] = NewRoom(shops[i%len(shops)], uint64(i)).Batch(0)
			}
		})
	}
	for i := range rooms {
		next <- i
	}
	close(next)
	wg.Wait()
	return truths
}

// figure is one that is forecast and comes about.
type figure struct {
	name string
	of   func(f batch.HotRun) q.Estimate
	was  func(t Truth) float64
}

func figures() []figure {
	return []figure{
		{"first turn, s", func(f batch.HotRun) q.Estimate { return f.FirstTurnS }, func(t Truth) float64 { return t.FirstTurnS }},
		{"folded, s", func(f batch.HotRun) q.Estimate { return f.TurnedS }, func(t Truth) float64 { return t.TurnedS }},
		{"opens, s", func(f batch.HotRun) q.Estimate { return f.OpensS }, func(t Truth) float64 { return t.OpensS }},
		{"closes, s", func(f batch.HotRun) q.Estimate { return f.ClosesS }, func(t Truth) float64 { return t.ClosesS }},
		{"has, s", func(f batch.HotRun) q.Estimate { return f.HasS }, func(t Truth) float64 { return t.HasS }},
		{"needs, s", func(f batch.HotRun) q.Estimate { return f.NeedsS }, func(t Truth) float64 { return t.NeedsS }},
		{"last bar, °C", func(f batch.HotRun) q.Estimate { return f.LastC }, func(t Truth) float64 { return t.LastC }},
		{"largest, kg", func(f batch.HotRun) q.Estimate { return f.LargestKg }, func(t Truth) float64 { return t.LargestKg }},
		{"rolls from, °C", func(f batch.HotRun) q.Estimate { return f.RollFromC }, func(t Truth) float64 { return t.RollFromC }},
		{"rolls to, °C", func(f batch.HotRun) q.Estimate { return f.RollToC }, func(t Truth) float64 { return t.RollToC }},
	}
}

// TestCoverage counts how often the 90 % ranges of a hot run, of a shop that has logged
// nothing, hold what comes about in rooms of that shop. The figure is printed; 300 rooms
// tell it to two in a hundred.
func TestCoverage(t *testing.T) {
	t.Parallel()
	shops := Shops()
	rooms, least, most := 300, 0.85, 0.95
	if testing.Short() {
		rooms, least, most = 60, 0.76, 1
	}
	forecasts := make([]batch.HotRun, len(shops))
	for i, s := range shops {
		h, err := batch.PrepareHot(s.Inputs(0, batch.HotMembers, 1))
		if err != nil {
			t.Fatal(err)
		}
		if forecasts[i], err = h.Forecast(); err != nil {
			t.Fatal(err)
		}
	}
	truths := made(shops, rooms)
	for _, f := range figures() {
		in, below, above := 0, 0, 0
		each, shift := make([]int, len(shops)), make([][]float64, len(shops))
		for i, truth := range truths {
			k := i % len(shops)
			e, was := f.of(forecasts[k]), f.was(truth)
			shift[k] = append(shift[k], was/e.Value-1)
			switch {
			case was < e.Low:
				below++
			case was > e.High:
				above++
			default:
				in++
				each[k]++
			}
		}
		share := float64(in) / float64(rooms)
		t.Logf("%-14s %5.1f %% inside the 90 %% range, %d below, %d above", f.name, 100*share, below, above)
		for k, s := range shops {
			slices.Sort(shift[k])
			t.Logf("    %-38s %3.0f %% inside, the middle room %+.0f %% off", s.Name, 100*float64(each[k])/float64(len(shift[k])), 100*shift[k][len(shift[k])/2])
		}
		if share < least || share > most {
			t.Errorf("%s: %.1f %% inside, want about 90", f.name, 100*share)
		}
	}
}

// A range that is half as wide does not pass: the count can fail.
func TestCoverage_CanFail(t *testing.T) {
	t.Parallel()
	shops := Shops()[:1]
	h, err := batch.PrepareHot(shops[0].Inputs(0, batch.HotMembers, 1))
	if err != nil {
		t.Fatal(err)
	}
	f, err := h.Forecast()
	if err != nil {
		t.Fatal(err)
	}
	truths := made(shops, 30)
	for _, x := range figures() {
		e, in := x.of(f), 0
		for _, truth := range truths {
			if math.Abs(x.was(truth)-e.Value) < 0.5*math.Min(e.High-e.Value, e.Value-e.Low) {
				in++
			}
		}
		if in > 25 {
			t.Errorf("%s: %d of 30 lie inside half of the range", x.name, in)
		}
	}
}

// BenchmarkBatch is one batch in one room, the shops in turn.
func BenchmarkBatch(b *testing.B) {
	shops := Shops()
	i := 0
	for b.Loop() {
		NewRoom(shops[i%len(shops)], uint64(i)).Batch(0)
		i++
	}
}
