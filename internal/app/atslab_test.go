package app_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/record"
	"slabside/internal/shoptest"
	"slabside/internal/store"
)

// tapper taps for one tablet, by a clock that the test moves.
type tapper struct {
	t  *testing.T
	a  *app.App
	id string
	n  int64
	at time.Time
}

func (p *tapper) tap(m record.Moment) {
	p.t.Helper()
	p.n++
	if _, err := p.a.Tap(context.Background(), app.Tap{Tap: store.Tap{Device: "tap-" + p.id[len(p.id)-1:] + "slab", N: p.n}, At: p.at, Entry: record.Entry{Batch: p.id, Moment: &m}}, "Ada"); err != nil {
		p.t.Fatal(err)
	}
}

func (p *tapper) after(d time.Duration, what record.Happening) {
	p.t.Helper()
	p.at = p.at.Add(d)
	p.tap(record.Moment{What: what})
}

func (p *tapper) look() app.AtSlab {
	p.t.Helper()
	x, err := p.a.AtSlab(context.Background(), p.id, p.at)
	if err != nil {
		p.t.Fatal(err)
	}
	return x
}

func step(t *testing.T, x app.AtSlab, tap record.Happening) app.SlabStep {
	t.Helper()
	for _, s := range x.Steps {
		if s.Tap == tap {
			return s
		}
	}
	t.Fatalf("no step %s", tap)
	return app.SlabStep{}
}

// A batch is followed from the flame to the last sheet: the next step is what comes after
// the last tap, its time is that of the taps before it, and each tap and reading moves
// what is still to come.
func TestAtSlab(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	if _, err := a.AtSlab(ctx, shoptest.Date+"-7", time.Now()); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("a batch that was not begun: %v", err)
	}
	id := begin(t, a, "")
	p := &tapper{t: t, a: a, id: id, at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	x := p.look()
	if x.Ready || len(x.Open) == 0 || x.Next != 0 || x.Steps[0].Tap != record.Lit || x.Steps[0].Due != nil {
		t.Fatalf("before the flame: ready %t, open %v, next %d, %+v", x.Ready, x.Open, x.Next, x.Steps[0])
	}
	if x.Live == nil || x.Live.Opens != nil || x.Live.NeedsMin <= 0 || x.Live.State != "not lit" {
		t.Fatalf("foreseen before the flame: %+v (%s)", x.Live, x.Why)
	}
	p.tap(record.Moment{What: record.Lit})
	x = p.look()
	lift := step(t, x, record.FlameOff)
	for i := 1; i < len(x.Steps); i++ {
		if x.Steps[i].Due == nil || x.Steps[i].Due.Before(*dueOr(x.Steps[i-1], p.at)) {
			t.Errorf("%s is due %v, before %s", x.Steps[i].Tap, x.Steps[i].Due, x.Steps[i-1].Tap)
		}
	}
	if !lift.Early.Before(*lift.Due) || !lift.Late.After(*lift.Due) || lift.Figure == "" || !lift.Loud {
		t.Errorf("the lift is %+v", lift)
	}

	// A flame that takes a quarter longer to the boil puts off the lift.
	boils := step(t, x, record.Boils)
	p.after(boils.Due.Sub(p.at)*5/4, record.Boils)
	later := step(t, p.look(), record.FlameOff)
	if !later.Due.After(*lift.Due) || later.Late.Sub(*later.Early) >= lift.Late.Sub(*lift.Early) {
		t.Errorf("the lift moves from %s to %s, %s to %s wide", lift.Due, later.Due, lift.Late.Sub(*lift.Early), later.Late.Sub(*later.Early))
	}
	p.at = *later.Due
	p.tap(record.Moment{What: record.FlameOff})
	p.after(90*time.Second, record.Poured)
	x = p.look()
	turn, roll := step(t, x, record.EdgeUp), step(t, x, record.FirstSheet)
	if x.Steps[x.Next].Tap != record.EdgeUp || x.Live.State != "on the slab" || x.Live.NowC == nil || len(x.Live.Curve) < 20 {
		t.Errorf("poured: next %s, %+v", x.Steps[x.Next].Tap, x.Live)
	}

	// An edge that lifts early says that the slab takes more heat than was held: all that
	// follows comes sooner, and is surer.
	p.after(time.Duration(0.6*float64(turn.Due.Sub(p.at))), record.EdgeUp)
	sooner := step(t, p.look(), record.FirstSheet)
	if !sooner.Due.Before(*roll.Due) || sooner.Late.Sub(*sooner.Early) >= roll.Late.Sub(*roll.Early) {
		t.Errorf("to the rolls at %s, then %s", roll.Due, sooner.Due)
	}

	// A thermometer that shows more than was foreseen puts it off again.
	p.at = p.at.Add(3 * time.Minute)
	before := p.look()
	p.tap(record.Moment{What: record.Looked, ReadC: float64(*before.Live.NowC) + 12, Glass: "glass", At: record.AtSlab})
	hotter := p.look()
	if step(t, hotter, record.FirstSheet).Due.Before(*step(t, before, record.FirstSheet).Due) || *hotter.Live.NowC <= *before.Live.NowC || len(hotter.Readings) != 1 {
		t.Errorf("a hot reading moves the rolls from %s to %s, the batch from %v to %v", step(t, before, record.FirstSheet).Due, step(t, hotter, record.FirstSheet).Due, *before.Live.NowC, *hotter.Live.NowC)
	}
	list, err := a.SlabBatches(ctx, p.at)
	if err != nil || len(list) != 1 || list[0].Batch != id || list[0].Step == nil {
		t.Errorf("under way: %+v, %v", list, err)
	}
	p.at = *step(t, hotter, record.FirstSheet).Due
	p.tap(record.Moment{What: record.FirstSheet})
	rolling := p.look()
	p.at = p.at.Add(4 * time.Minute)
	if x := p.look(); x.Live.State != "in condition" || x.Live.NeedsMin > rolling.Live.NeedsMin-3.9 || x.Live.NeedsMin < 0 {
		t.Errorf("four minutes on, %v min of %v are left, %s", x.Live.NeedsMin, rolling.Live.NeedsMin, x.Live.State)
	}
	p.after(3*time.Minute, record.LastSheet)
	if x := p.look(); x.Ended == nil || x.Next != len(x.Steps) || x.Live.State != "done" {
		t.Errorf("at the end: next %d of %d, %+v", x.Next, len(x.Steps), x.Live)
	}
	if list, err := a.SlabBatches(ctx, p.at); err != nil || len(list) != 0 {
		t.Errorf("under way at the end: %+v, %v", list, err)
	}
}

// What batches were tapped of moves what the next is foreseen to do, and says so.
func TestAtSlab_Learns(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	at := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	opens := func(id string) (minutes float64, basis string) {
		x, err := a.AtSlab(context.Background(), id, at)
		if err != nil {
			t.Fatal(err)
		}
		if x.Live == nil || x.Live.Opens == nil {
			t.Fatalf("nothing is foreseen: %s", x.Why)
		}
		return x.Live.Opens.Sub(*dueOr(step(t, x, record.Poured), at)).Minutes(), x.Live.Basis
	}
	var before float64
	for i := range 3 {
		id := begin(t, a, "")
		p := &tapper{t: t, a: a, id: id, at: at}
		p.tap(record.Moment{What: record.Lit})
		if i == 0 {
			var basis string
			if before, basis = opens(id); basis != "estimated" {
				t.Errorf("before any batch it is %s", basis)
			}
		}
		p.after(20*time.Minute, record.FlameOff)
		p.after(time.Minute, record.Poured)
		x := p.look()
		poured := p.at
		// This room's slab is twice as slow as is held.
		for _, what := range []record.Happening{record.EdgeUp, record.Kneaded, record.FirstSheet} {
			p.at = poured.Add(2 * step(t, x, what).Due.Sub(poured))
			p.tap(record.Moment{What: what})
			if what == record.EdgeUp {
				p.at = p.at.Add(2 * time.Minute)
				p.tap(record.Moment{What: record.Looked, ReadC: 125, Glass: "glass", At: record.AtSlab})
			}
		}
		p.after(9*time.Minute, record.LastSheet)
	}
	id := begin(t, a, "")
	(&tapper{t: t, a: a, id: id, at: at}).tap(record.Moment{What: record.Lit})
	after, basis := opens(id)
	if basis != fmt.Sprintf("learned from %d batches", 3) || after < 1.3*before {
		t.Errorf("from %.1f min to %.1f min, %s", before, after, basis)
	}
}

// dueOr is when a step is due, or was done.
func dueOr(s app.SlabStep, or time.Time) *time.Time {
	switch {
	case s.DoneAt != nil:
		return s.DoneAt
	case s.Due != nil:
		return s.Due
	}
	return &or
}

// What was written on a sheet and typed in afterwards teaches as taps do, less surely.
func TestLearned_FromPaper(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	const day = "2026-03-02"
	for range 3 {
		id := begin(t, a, day)
		enter(t, a, record.Entry{Batch: id, Worked: &record.Worked{RollC: 84, LastC: 77, SureK: 2}}, 0)
		enter(t, a, record.Entry{Batch: id, Made: &record.Made{PouredAt: "10:00", EdgeAt: "10:04", RolledFrom: "10:31", RolledTo: "10:40", SoundMg: 6_000_000}}, 0)
	}
	short := begin(t, a, day) // nothing of its edge, and no temperature
	enter(t, a, record.Entry{Batch: short, Made: &record.Made{PouredAt: "10:00", RolledFrom: "10:31", RolledTo: "10:40"}}, 0)
	l, err := a.Learned(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, f := range l.Figures {
		if f.Name == "rolling_rate" {
			found = true
			if f.Batches != 3 || float64(f.High-f.Low) >= f.Before.High-f.Before.Low {
				t.Errorf("the rate is %+v", f)
			}
		}
	}
	if !found || len(l.Aside) != 1 || l.Aside[0].Batches[0] != short {
		t.Errorf("figures %+v, aside %+v", l.Figures, l.Aside)
	}
}

// From a reading that is tapped to all that it changes, as a page asks for it.
func BenchmarkAtSlab_reading(b *testing.B) {
	ctx := context.Background()
	a, _ := keptIn(b)
	id, err := a.Begin(ctx, app.BeginRequest{Recipe: "pear-barrels"}, "Ada", "")
	if err != nil {
		b.Fatal(err)
	}
	at := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	n := int64(0)
	tap := func(m record.Moment) {
		n++
		if _, err := a.Tap(ctx, app.Tap{Tap: store.Tap{Device: "tap-bench", N: n}, At: at, Entry: record.Entry{Batch: id, Moment: &m}}, "Ada"); err != nil {
			b.Fatal(err)
		}
	}
	for _, what := range []record.Happening{record.Lit, record.FlameOff, record.Poured} {
		tap(record.Moment{What: what})
		at = at.Add(2 * time.Minute)
	}
	tap(record.Moment{What: record.EdgeUp})
	for b.Loop() {
		at = at.Add(time.Second)
		if n < 10 {
			tap(record.Moment{What: record.Looked, ReadC: 130 - float64(n), Glass: "glass", At: record.AtSlab})
		} else { // as many readings as a batch has; what follows looks again
			at = at.Add(time.Second)
		}
		if _, err := a.AtSlab(ctx, id, at); err != nil {
			b.Fatal(err)
		}
	}
}
