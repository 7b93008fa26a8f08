package app_test

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/record"
	"slabside/internal/shoptest"
	"slabside/internal/store/sqlite"
)

// shopAt is a shop whose clock can be set.
func shopAt(t *testing.T, b book.Book, clock string) (*app.App, func(clock string)) {
	t.Helper()
	k, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = k.Close() })
	now := shoptest.Now()
	set := func(clock string) {
		at, err := time.Parse("15:04", clock)
		if err != nil {
			t.Fatal(err)
		}
		now = time.Date(2026, time.March, 17, at.Hour(), at.Minute(), 0, 0, time.UTC)
	}
	set(clock)
	a := app.New(k, func() time.Time { return now })
	if _, err := a.Import(context.Background(), b, "test", "the sample shop"); err != nil {
		t.Fatal(err)
	}
	return a, set
}

func troubled(t *testing.T, a *app.App, id string, what record.Trouble) *app.TroubleResult {
	t.Helper()
	if err := a.Trouble(context.Background(), app.TroubleRequest{Batch: id, What: what}, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	return troubleOf(t, a, id)
}

func troubleOf(t *testing.T, a *app.App, id string) *app.TroubleResult {
	t.Helper()
	r, err := a.TroubleOf(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func beginNext(t *testing.T, a *app.App, recipe string) string {
	t.Helper()
	id, err := a.Begin(context.Background(), app.BeginRequest{Recipe: recipe}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func isAt(t *testing.T, err error, kind fault.Kind, field, says string) {
	t.Helper()
	if fault.KindOf(err) != kind || !strings.Contains(err.Error(), says) {
		t.Errorf("%v, want %v at %s with %q", err, kind, field, says)
		return
	}
	if f, ok := err.(*fault.Error); !ok || f.Field != field {
		t.Errorf("at %q, want %q", f.Field, field)
	}
}

// A trouble is one act and its hold another; a second press of the same minute writes
// nothing; the troubles that leave a batch to be sold do not hold it.
func TestTrouble_Holds(t *testing.T) {
	t.Parallel()
	a, set := shopAt(t, shoptest.Small(), "09:00")
	id := beginNext(t, a, "plain-leaves")
	r := troubled(t, a, id, record.TooSoft)
	if r.Place != record.Free || len(r.Troubles) != 1 || r.Troubles[0].When != "09:00" || r.Troubles[0].By != "Ada" {
		t.Errorf("too soft: %s, %+v", r.Place, r.Troubles)
	}
	troubled(t, a, id, record.TooSoft)
	set("09:01")
	r = troubled(t, a, id, record.Foreign)
	if r.Place != record.OnHold || r.PlaceWhy != "metal or glass" || len(r.Now) != 2 || r.Now[0].What != record.Foreign || len(r.OnHold) != 1 || r.OnHold[0].Batch != id {
		t.Errorf("metal or glass: %s, %q, %+v, %+v", r.Place, r.PlaceWhy, r.Now, r.OnHold)
	}
	var kinds []record.Kind
	for _, e := range recordOf(t, a, id).Entries {
		kinds = append(kinds, e.Kind())
	}
	if want := []record.Kind{record.Beginning, record.Troubling, record.Troubling, record.Placing}; !slices.Equal(kinds, want) {
		t.Errorf("written %v, want %v", kinds, want)
	}
	list, err := a.Records(context.Background(), app.RecordQuery{Limit: 10})
	if err != nil || list.Records[0].Place != record.OnHold {
		t.Errorf("the list: %+v, %v", list.Records, err)
	}
	// What was to be sold as something else and then fell is on hold again.
	other := beginNext(t, a, "plain-leaves")
	troubled(t, a, other, record.TooSoft)
	if err := a.Decide(context.Background(), app.DecideRequest{Batch: other, As: record.Diverted, Why: "sold today"}, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	if r := troubled(t, a, other, record.Dropped); r.Place != record.OnHold {
		t.Errorf("dropped after it was to be sold: %s", r.Place)
	}
	if err := a.Trouble(context.Background(), app.TroubleRequest{Batch: id, What: "bored"}, "Ada", ""); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("another trouble: %v", err)
	}
}

// A boil of the plan that nobody began is begun with its trouble, as the plan has it.
func TestTrouble_BeginsFromPlan(t *testing.T) {
	t.Parallel()
	a, _ := shopAt(t, shoptest.Small(), "09:00")
	plan, err := a.Plan(context.Background(), app.PlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	troubled(t, a, plan.Batches[0].ID, record.DidScorch)
	if begun := recordOf(t, a, plan.Batches[0].ID).Begun; begun == nil || begun.Recipe != "plain-leaves" || begun.ChargeMg != int64(float64(plan.Batches[0].ChargeKg)*1e6) {
		t.Errorf("begun as %+v", begun)
	}
	err = a.Trouble(context.Background(), app.TroubleRequest{Batch: shoptest.Date + "-9", What: record.DidScorch}, "Ada", "")
	isAt(t, err, fault.KindNotFound, "batch", "is not begun")
}

// What a trouble closes is refused wherever it is written; a hold is not taken back from
// under a closed batch; without the trouble all is open.
func TestDecide(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, _ := shopAt(t, shoptest.Small(), "09:00")
	id := beginNext(t, a, "plain-leaves")
	troubled(t, a, id, record.Foreign)
	decide := func(as record.Place, why string) error {
		return a.Decide(ctx, app.DecideRequest{Batch: id, As: as, Why: why}, "Ada", "")
	}
	for _, as := range []record.Place{record.Free, record.Reboiled, record.Relabel, record.Diverted} {
		isAt(t, decide(as, "sieved"), fault.KindInvalid, "placed.as", "is closed for batch")
		isAt(t, a.Enter(ctx, record.Entry{Batch: id, Placed: &record.Placed{As: as, Why: "sieved"}}, 0, "Ada", ""), fault.KindInvalid, "placed.as", "is closed")
	}
	entries := recordOf(t, a, id).Entries
	hold, wrong := entries[2].Act, entries[1].Act
	isAt(t, a.Enter(ctx, record.Entry{Batch: id}, hold, "Ada", ""), fault.KindInvalid, "corrects", "closed")
	isAt(t, decide(record.Binned, " "), fault.KindInvalid, "placed.why", "it is not said why")
	if err := decide(record.Binned, "metal or glass"); err != nil {
		t.Fatal(err)
	}
	if err := decide(record.Binned, "metal or glass"); err != nil || len(recordOf(t, a, id).Entries) != 4 {
		t.Errorf("pressed twice: %v, %d entries", err, len(recordOf(t, a, id).Entries))
	}
	if r := troubleOf(t, a, id); r.Place != record.Binned || len(r.OnHold) != 0 {
		t.Errorf("it is %s, on hold %+v", r.Place, r.OnHold)
	}
	enter(t, a, record.Entry{Batch: id}, wrong)
	if err := decide(record.Free, "it was sugar"); err != nil {
		t.Errorf("without the trouble: %v", err)
	}
}

// After a grained batch the plan washes before the next boil, hot and wet, and says why,
// until the wash is written of all it touched; nothing else asks for that wash.
func TestGrainIsWashedOff(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := shoptest.Small()
	b.ToMake[0].Bags = 90 // three boils
	a, _ := shopAt(t, b, "09:00")
	plan := func() *app.DayPlan {
		t.Helper()
		p, err := a.Plan(ctx, app.PlanRequest{})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	before := plan()
	if len(before.Batches) < 3 || len(before.Changeovers) > 1 {
		t.Fatalf("%d boils, %+v", len(before.Batches), before.Changeovers)
	}
	beginNext(t, a, "plain-leaves")
	second := beginNext(t, a, "plain-leaves")
	r := troubled(t, a, second, record.DidGrain)
	if r.Wash == nil || !slices.Equal(r.Wash.Left, []record.Surface{record.OnSlab, record.OnRolls, record.OnKettle, record.OnTools}) {
		t.Fatalf("to be washed: %+v", r.Wash) // there is no hook in this room
	}
	washes := func(p *app.DayPlan) (to []string, why string) {
		for _, c := range p.Changeovers {
			if slices.Contains(c.Acts, "wash") {
				to, why = append(to, c.To), c.Why
			}
		}
		return to, why
	}
	p := plan()
	to, why := washes(p)
	if !slices.Equal(to, []string{shoptest.Date + "-3"}) || !strings.Contains(why, "batch "+second+" grained") || !strings.Contains(why, "hot wet wash of slab, scraper, hook, rolls and kettle rim") {
		t.Errorf("washed before %v: %s", to, why)
	}
	if !slices.Contains(codes(p.Cautions), "grain-wash") {
		t.Error("no caution of the day says so")
	}
	late, err := a.Plan(ctx, app.PlanRequest{Start: "10:00"})
	if err != nil {
		t.Fatal(err)
	}
	if to, _ := washes(late); len(to) == 0 || to[0] != shoptest.Date+"-1" {
		t.Errorf("planned from ten on, washed before %v", to)
	}
	enter(t, a, record.Entry{Batch: second, Cleaned: &record.Cleaned{Surface: record.OnSlab, Kind: record.Washed, By: "Bela"}}, 0)
	if to, _ := washes(plan()); len(to) != 1 {
		t.Errorf("the slab alone is washed, and the plan washes before %v", to)
	}
	if err := a.Washed(ctx, second, "Bela", "Ada"); err != nil {
		t.Fatal(err)
	}
	if to, _ := washes(plan()); len(to) != 0 || troubleOf(t, a, second).Wash != nil {
		t.Errorf("all is washed, and the plan washes before %v", to)
	}
	if n := len(recordOf(t, a, second).Record().All(record.Cleaning)); n != 4 {
		t.Errorf("%d surfaces are written: each once", n)
	}
}

// Scraps of a batch in trouble go into no kettle, but of a grained one that was put down
// as dissolved, with a caution.
func TestCookBackOfTrouble(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, _ := shopAt(t, shoptest.Small(), "09:00")
	grained, metal, into := beginNext(t, a, "plain-leaves"), beginNext(t, a, "plain-leaves"), beginNext(t, a, "plain-leaves")
	troubled(t, a, grained, record.DidGrain)
	troubled(t, a, metal, record.Foreign)
	back := func(from string) error {
		return a.Enter(ctx, record.Entry{Batch: into, CookedBack: &record.CookedBack{MassMg: 300_000, From: from}}, 0, "Ada", "")
	}
	decide := func(id string, as record.Place) {
		t.Helper()
		if err := a.Decide(ctx, app.DecideRequest{Batch: id, As: as, Why: "looked at"}, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	isAt(t, back(metal), fault.KindInvalid, "cooked_back.from", "metal and glass do not dissolve")
	isAt(t, back(grained), fault.KindInvalid, "cooked_back.from", "grained")
	decide(grained, record.Diverted)
	isAt(t, back(grained), fault.KindInvalid, "cooked_back.from", "grain is catching")
	decide(grained, record.Reboiled)
	if err := back(grained); err != nil {
		t.Fatal(err)
	}
	if r := recordOf(t, a, into); !slices.Contains(codes(r.Cautions), "grained-back") {
		t.Errorf("no caution: %v", codes(r.Cautions))
	}
	// And if that one grains, its seed is the first cause.
	r := troubled(t, a, into, record.DidGrain)
	if c := r.Causes[0]; !strings.HasPrefix(c.What, "seed") || c.Score != 3 || !strings.Contains(c.Evidence[0].Says, "300 g of batch "+grained+" went in, and that batch grained") {
		t.Errorf("the first cause: %+v", c)
	}
	decide(grained, record.Binned)
	isAt(t, back(grained), fault.KindInvalid, "cooked_back.from", "it is thrown away")
	on := beginNext(t, a, "plain-leaves")
	decide(on, record.OnHold)
	isAt(t, back(on), fault.KindInvalid, "cooked_back.from", "looked at")
}

// The causes rest on what is written of the batch: read four degrees below the sheet.
func TestTrouble_Causes(t *testing.T) {
	t.Parallel()
	a, _ := shopAt(t, shoptest.Small(), "09:00")
	id := beginNext(t, a, "plain-leaves")
	r := troubled(t, a, id, record.TooSoft)
	for _, c := range r.Causes {
		if c.What == "lifted too early" && len(c.Evidence) != 0 {
			t.Errorf("nothing is read, and %+v", c)
		}
	}
	enter(t, a, record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 146}}, 0)
	r = troubleOf(t, a, id)
	if c := r.Causes[0]; c.What != "lifted too early" || c.Evidence[0].Says != "the glass was read at 146 °C, the sheet says 150 °C" {
		t.Errorf("the first cause: %+v", c)
	}
}

// One boil fills the only line; lost, all its bags are short. The last moment for another
// is the end of the day less what closing takes and the boil from flame to last bag, as
// the day's own plan has them.
func TestLoss(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := shoptest.Small()
	b.ToMake[0].Bags = 12
	a, set := shopAt(t, b, "09:00")
	p, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil || len(p.Batches) != 1 {
		t.Fatalf("%d boils, %v", len(p.Batches), err)
	}
	id := p.Batches[0].ID
	r := troubled(t, a, id, record.DidScorch)
	if r.Day == nil || len(r.Day.Short) != 1 {
		t.Fatalf("%+v, %+v", r.Day, r.Cautions)
	}
	if s := r.Day.Short[0]; s.Product != "plain-bag" || s.Short.Value != 12 || s.Short.Low != 12 || s.Left.High != 0 || !s.Must {
		t.Errorf("short: %+v", s)
	}
	run := p.WorkEnd.Sub(p.Batches[0].FlameUp) + p.Closed.Sub(p.WorkEnd)
	want := p.Ends.Add(-run)
	if m := r.Day.Remake; m.Until.IsZero() || !m.Until.Equal(want) || !m.Proved || m.Boils != 1 {
		t.Errorf("remake %+v, want until %s", m, want)
	}
	set(want.Add(-time.Duration(20) * time.Minute).Format("15:04")) // the charge and its weighing come first
	if m := troubleOf(t, a, id).Day.Remake; m.Until.IsZero() || m.Until.After(want) {
		t.Errorf("twenty minutes before: %+v", m)
	}
	set(want.Format("15:04"))
	if m := troubleOf(t, a, id).Day.Remake; !m.Until.IsZero() || m.Overrun < 1 || m.Overrun > 40 || !strings.Contains(m.Why, "16:00") {
		t.Errorf("at that minute the kettle is still to be charged: %+v", m)
	}
	set("16:10")
	if m := troubleOf(t, a, id).Day.Remake; !m.Until.IsZero() || !strings.Contains(m.Why, "over") {
		t.Errorf("after the day: %+v", m)
	}
	// A good boil in its place makes up for it; and freed, nothing was lost.
	set("10:00")
	beginNext(t, a, "plain-leaves")
	if l := troubleOf(t, a, id).Day; len(l.Short) != 0 || !l.Remake.Until.IsZero() || !strings.Contains(l.Why, "made up for") {
		t.Errorf("made up for: %+v", l)
	}
}

// With several sweets one lost boil leaves short the lines that hold it, and of several
// boils the plan's other ones fill what they can; what is begun is not made again.
func TestLoss_OfSeveral(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, _ := shopAt(t, shoptest.Book(), "09:30")
	p, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	id := p.Batches[0].ID
	r := troubled(t, a, id, record.DidScorch)
	if r.Day == nil {
		t.Fatalf("%+v", r.Cautions)
	}
	parts := map[string]bool{}
	for _, x := range shoptest.Book().Products {
		for _, part := range x.Parts {
			if part.Recipe == p.Batches[0].Recipe {
				parts[x.ID] = true
			}
		}
	}
	for _, s := range r.Day.Short {
		if !parts[s.Product] || s.Short.High < 1 || int(s.Short.High+s.Left.Low) > s.Asked {
			t.Errorf("short: %+v", s)
		}
	}
	if r.Day.Remake.Boils != len(p.Batches) {
		t.Errorf("%d boils to come, %d in the plan and the first is lost", r.Day.Remake.Boils, len(p.Batches))
	}
	if m := r.Day.Remake; !m.Until.IsZero() && (m.Until.Before(shoptest.Now()) || m.Until.After(p.Ends)) || m.Why == "" {
		t.Errorf("remake %+v", m)
	}
}
