package app_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/packing"
	"slabside/internal/record"
	"slabside/internal/shoptest"
	"slabside/internal/store"
)

// tablet taps one thing after the other.
type tablet struct {
	t *testing.T
	a *app.App
	n int64
}

func (x *tablet) tap(t app.Tap) (bool, error) {
	if last, err := x.a.Tapped(context.Background(), "tap-one"); x.n < 0 { // as the answer says
		if x.n = last; err != nil {
			return false, err
		}
	}
	x.n++
	t.Device, t.N = "tap-one", x.n
	noted, err := x.a.Tap(context.Background(), t, "Wilma")
	if err != nil {
		x.n--
	}
	return noted, err
}

// What was tapped at the packing station while nobody heard comes in its order and at its
// time: the first bags begin a lot and those after it go into that, what came twice counts
// once, and what cannot be packed by then is a note that somebody reads.
func TestTaps_Packing(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	batch := sound(t, a, "pear-barrels", 4)
	x := &tablet{t: t, a: a}
	at := shoptest.Now().Add(-40 * time.Minute)
	press := func(bags int64, late bool, change func(*app.PackRequest)) (bool, error) {
		r := app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: bags}
		if change != nil {
			change(&r)
		}
		at = at.Add(time.Minute)
		return x.tap(app.Tap{At: at, Late: late, Pack: &r})
	}
	for _, bags := range []int64{1, 1, 2} {
		if noted, err := press(bags, true, nil); noted || err != nil {
			t.Fatalf("%d bags: noted %t, %v", bags, noted, err)
		}
	}
	x.n-- // the answer was lost
	if noted, err := press(2, true, nil); noted || err != nil {
		t.Fatalf("once more: noted %t, %v", noted, err)
	}
	first := "b" + shoptest.Date + "-1"
	l := bagLot(t, a, first)
	if l.OnHand != 4 || len(l.Entries) != 3 {
		t.Fatalf("one lot of four bags by three presses: %d bags, %d entries", l.OnHand, len(l.Entries))
	}
	for i, e := range l.Entries {
		if want := shoptest.Now().Add(time.Duration(i-39) * time.Minute); !e.At.Equal(want) {
			t.Errorf("press %d is of %v, tapped at %v", i+1, e.At, want)
		}
	}
	if _, err := press(1, true, func(r *app.PackRequest) { r.New = true }); err != nil {
		t.Fatal(err)
	}
	if second := bagLot(t, a, "b"+shoptest.Date+"-2"); second.OnHand != 1 {
		t.Errorf("a lot of its own: %+v", second.Balance)
	}
	// More than there is: at once it is refused, and told; late it is a note.
	if _, err := press(1000, false, nil); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("more than there is, at once: %v", err)
	}
	if noted, err := press(1000, true, nil); !noted || err != nil {
		t.Errorf("more than there is, late: noted %t, %v", noted, err)
	}
	// A lot that is on hold by then.
	if err := a.HoldPacked(ctx, first, "glass", "Ada"); err != nil {
		t.Fatal(err)
	}
	out := packing.Entry{Ledger: first, Moved: &packing.Moved{On: shoptest.Date, Bags: 1, To: packing.ToCounter}}
	if noted, err := x.tap(app.Tap{At: at, Late: true, Packing: &out}); !noted || err != nil {
		t.Errorf("out of a lot on hold: noted %t, %v", noted, err)
	}
	hold := packing.Entry{Ledger: first, Placed: &packing.Placed{As: packing.Hold}}
	if noted, err := x.tap(app.Tap{At: at, Late: true, Packing: &hold}); noted || err != nil {
		t.Errorf("held once more: noted %t, %v", noted, err)
	}
	if noted, err := x.tap(app.Tap{At: at, Late: true, Missed: &app.Missed{Why: "\"x\" is no number", Tried: "act=pack&bags=x"}}); !noted || err != nil {
		t.Errorf("what cannot be read: noted %t, %v", noted, err)
	}
	if noted, err := x.tap(app.Tap{At: at, Late: true, Fill: &app.FillRequest{Jar: "j-counter-1", Batch: batch, Mass: 0.5}}); noted || err != nil {
		t.Errorf("a jar: noted %t, %v", noted, err)
	}
	day, err := a.PackingDay(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(day.Notes) != 3 || !strings.Contains(day.Notes[0].Tried, `"Bags":1000`) || !strings.Contains(day.Notes[1].Why, "glass") || day.Notes[2].Tried != "act=pack&bags=x" {
		t.Fatalf("to be read: %+v", day.Notes)
	}
	for _, n := range day.Notes {
		if err := a.WritePacking(ctx, packing.Entry{Ledger: n.Ledger}, n.Act, "Ada", "put right"); err != nil {
			t.Fatal(err)
		}
	}
	if notes, err := a.TapNotes(ctx); len(notes) != 0 || err != nil {
		t.Errorf("read, and still there: %+v, %v", notes, err)
	}
}

// A trouble that was tapped while nobody heard holds its batch at the time of the tap,
// whole even where the program stopped between its acts; what is closed by then is a note
// in the record, and a batch that nobody began has its note among those of the day.
func TestTaps_Trouble(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	id := beginOf(t, a, "pear-barrels")
	x := &tablet{t: t, a: a}
	at := shoptest.Now().Add(-25 * time.Minute)
	glass := app.Tap{At: at, Late: true, Trouble: &app.TroubleRequest{Batch: id, What: record.Foreign}}
	if noted, err := x.tap(glass); noted || err != nil {
		t.Fatalf("glass: noted %t, %v", noted, err)
	}
	r := troubleOf(t, a, id)
	b, _, err := a.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation(b.Shop.TimeZone)
	if err != nil {
		t.Fatal(err)
	}
	if r.Place != record.OnHold || len(r.Troubles) != 1 || r.Troubles[0].When != at.In(zone).Format("15:04") {
		t.Errorf("held for glass, at its time: %s, %+v", r.Place, r.Troubles)
	}
	if noted, err := x.tap(app.Tap{At: at, Late: true, Decide: &app.DecideRequest{Batch: id, As: record.Reboiled, Why: "dissolved"}}); !noted || err != nil {
		t.Errorf("glass is not boiled again: noted %t, %v", noted, err)
	}
	if noted, err := x.tap(app.Tap{At: at, Late: true, Washed: id}); noted || err != nil {
		t.Errorf("washed: noted %t, %v", noted, err)
	}
	x.n = -1 // nothing was to be washed: the number is free
	rec, err := a.Record(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if last := rec.Entries[len(rec.Entries)-1]; last.Noted == nil || !strings.Contains(last.Noted.Tried, string(record.Reboiled)) {
		t.Errorf("the record ends with %+v", last.Entry)
	}
	// Broken off between the trouble and its hold: the tap comes again, and holds.
	other := beginNext(t, a, "pear-barrels")
	when := at.In(zone).Format("15:04")
	enter(t, a, record.Entry{Batch: other, Troubled: &record.Troubled{What: record.Foreign, When: when}}, 0)
	if noted, err := x.tap(app.Tap{At: at, Late: true, Trouble: &app.TroubleRequest{Batch: other, What: record.Foreign}}); noted || err != nil {
		t.Fatalf("once more: noted %t, %v", noted, err)
	}
	if r := troubleOf(t, a, other); r.Place != record.OnHold || len(r.Troubles) != 1 {
		t.Errorf("after a tap that was broken off: %s, %+v", r.Place, r.Troubles)
	}
	const never = shoptest.Date + "-77"
	if noted, err := x.tap(app.Tap{Tap: store.Tap{}, At: at, Late: true, Trouble: &app.TroubleRequest{Batch: never, What: record.DidGrain}}); !noted || err != nil {
		t.Errorf("of a batch that nobody began: noted %t, %v", noted, err)
	}
	if notes, err := a.TapNotes(ctx); err != nil || len(notes) != 1 || !strings.Contains(notes[0].Tried, never) {
		t.Errorf("notes of the day: %+v, %v", notes, err)
	}
}
