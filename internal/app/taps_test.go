package app_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/record"
	"slabside/internal/store"
)

// What two tablets tapped while nobody heard comes once, in order, with its own times;
// what cannot be written any more is kept as a note and not thrown away.
func TestTaps(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	sack := receive(t, a, func(*app.ReceiveRequest) {})
	id := beginOf(t, a, "pear-barrels")
	sugar := lineAt(t, weighIn(t, a, id), "sugar")
	at := time.Date(2026, 3, 17, 8, 30, 0, 0, time.UTC)
	weigh := func(device string, n, mg int64, late bool) (bool, error) {
		return a.Tap(ctx, app.Tap{Tap: store.Tap{Device: device, N: n, Offset: -90 * time.Second}, At: at, Late: late,
			Entry: record.Entry{Batch: id, Weighed: &record.Weighed{Ingredient: "sugar", Lot: sack, MassMg: mg}}}, "Ada")
	}
	const one, two = "tap-one", "tap-two"
	half := sugar.TargetMg / 2
	for i, c := range []struct {
		device string
		n, mg  int64
		late   bool
		noted  bool
		kind   fault.Kind
	}{
		{one, 2, half, true, false, fault.KindConflict}, // before the first has come
		{one, 1, half, false, false, 0},
		{one, 1, half, true, false, 0},                            // the answer was lost, and it comes again
		{two, 1, sugar.TargetMg, false, false, fault.KindInvalid}, // too much, and somebody stands there to be told
		{two, 1, sugar.TargetMg, true, true, 0},                   // too much, and nobody does
		{one, 2, sugar.TargetMg - half, true, false, 0},
	} {
		noted, err := weigh(c.device, c.n, c.mg, c.late)
		if noted != c.noted || c.kind == 0 && err != nil || c.kind != 0 && fault.KindOf(err) != c.kind {
			t.Errorf("%d: noted %t, %v", i, noted, err)
		}
	}
	w := weighIn(t, a, id)
	if l := lineAt(t, w, "sugar"); l.DoneMg != sugar.TargetMg || len(l.Weighed) != 2 {
		t.Errorf("weighed in the end: %+v", l)
	}
	r, err := a.Record(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	notes := 0
	for _, e := range r.Entries {
		switch {
		case e.Noted != nil:
			notes++
			if !strings.Contains(e.Noted.Tried, sack) || !strings.Contains(e.Noted.Why, "sheet") {
				t.Errorf("the note is %+v", e.Noted)
			}
		case e.Weighed != nil && !e.At.Equal(at.Add(-90*time.Second)):
			t.Errorf("weighed at %v", e.At)
		}
	}
	if n, err := a.Tapped(ctx, one); notes != 1 || n != 2 || err != nil {
		t.Errorf("%d notes, %d taps of the first, %v", notes, n, err)
	}
	if l, _ := a.Lot(ctx, sack); l.UsedMg != sugar.TargetMg {
		t.Errorf("%d mg are off the lot", l.UsedMg)
	}
	// A lot that is on hold by the time it comes stops nothing that has happened.
	write(t, a, lot.Entry{Lot: sack, Placed: &lot.Placed{As: lot.Hold}}, 0)
	if noted, err := weigh(two, 2, 1, true); !noted || err != nil {
		t.Errorf("out of a lot on hold: noted %t, %v", noted, err)
	}
	sack = "r2020-01-01-1"
	if noted, err := weigh(two, 3, 1, true); !noted || err != nil {
		t.Errorf("out of a lot that is not there: noted %t, %v", noted, err)
	}
}
