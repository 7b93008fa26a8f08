package app_test

import (
	"context"
	"math"
	"testing"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
	"slabside/internal/slab"
	"slabside/internal/store"
)

// begin begins a batch of the first recipe.
func begin(t *testing.T, a *app.App, on string) string {
	t.Helper()
	b, _ := kept(t, a)
	id, err := a.Begin(context.Background(), app.BeginRequest{On: on, Recipe: b.Recipes[0].ID}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func enter(t *testing.T, a *app.App, e record.Entry, corrects int64) {
	t.Helper()
	if err := a.Enter(context.Background(), e, corrects, "Ada", "read off again"); err != nil {
		t.Fatal(err)
	}
}

// weighed is a lift whose kettle held what the plan has, and a tenth of a kilogram more.
func weighed(t *testing.T, a *app.App, id string, moreKg float64) record.Entry {
	t.Helper()
	r, err := a.Record(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	b, _ := kept(t, a)
	boiled, err := a.Boil(context.Background(), app.BoilRequest{Recipe: r.Recipe, Charge: q.Kilograms(float64(r.Begun.ChargeMg) / 1e6)})
	if err != nil {
		t.Fatal(err)
	}
	const pan = 6.0
	return record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: math.Round(r.Planned.ReadC.Value), GrossMg: int64((pan + boiled.MassKg.Value + moreKg) * 1e6), EmptyMg: int64(pan * 1e6),
		Scale: b.Scales[0].ID, FlameS: int64(r.Planned.FlameS.Value * 1.2)}}
}

// A batch is begun with the day's next number, its record says what was planned, and
// what is written, corrected and taken back shows with who did it.
func TestRecord(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	first := begin(t, a, "")
	if want := shoptest.Date + "-1"; first != want {
		t.Fatalf("begun as %s, want %s", first, want)
	}
	if id := begin(t, a, shoptest.Date); id != shoptest.Date+"-2" {
		t.Errorf("the second is begun as %s", id)
	}
	r, err := a.Record(ctx, first)
	if err != nil || r.Planned == nil || r.Became != nil || len(r.Entries) != 1 {
		t.Fatalf("%+v, %v", r, err)
	}
	b, _ := kept(t, a)
	boiled, err := a.Boil(ctx, app.BoilRequest{Recipe: b.Recipes[0].ID})
	if err != nil || *r.Planned.WaterFrac != *boiled.WaterFrac || *r.Planned.ReadC != *boiled.DialC {
		t.Errorf("planned %+v, the boil says water %+v, %v", r.Planned, boiled.WaterFrac, err)
	}
	enter(t, a, weighed(t, a, first, 0.1), 0)
	r, _ = a.Record(ctx, first)
	if r.Became == nil || r.Became.WaterFrac.Value <= r.Planned.WaterFrac.Value || len(r.Seen) != 2 {
		t.Errorf("a kettle that is 100 g heavier holds %+v, planned %+v, seen %+v", r.Became, r.Planned.WaterFrac, r.Seen)
	}
	if r.Became.StandsC.Value >= r.Planned.StandsC.Value {
		t.Error("wetter, and it stands up to as much")
	}
	act := r.Entries[1].Act
	e := weighed(t, a, first, 0)
	enter(t, a, e, act)
	r, _ = a.Record(ctx, first)
	if !r.Entries[1].Corrected || r.Entries[2].Corrects != act || r.Entries[2].Person != "Ada" || r.Entries[2].Reason != "read off again" {
		t.Errorf("corrected: %+v", r.Entries)
	}
	// The last change is undone as any other, once.
	_, head := kept(t, a)
	if err := a.Undo(ctx, head, "Bela"); err != nil {
		t.Fatal(err)
	}
	if r, _ = a.Record(ctx, first); r.Record().Lifted() != nil {
		t.Error("undone and still there")
	}
	_, head = kept(t, a)
	if err := a.Undo(ctx, head, "Bela"); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a taking back was undone: %v", err)
	}
	// What is planned is that of the day it was begun, whatever the recipe becomes.
	f, err := entry.Print(&b, store.KindRecipe, b.Recipes[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	f.Text["boil_to"] = "285 °F"
	if _, _, err := a.Save(ctx, f, head, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	later, err := a.Record(ctx, first)
	if err != nil || *later.Planned.WaterFrac != *r.Planned.WaterFrac {
		t.Errorf("another recipe, another past: %+v, %v", later.Planned, err)
	}
}

func TestRecordRefused(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	b, _ := kept(t, a)
	id := begin(t, a, "")
	for name, c := range map[string]struct {
		r     app.BeginRequest
		kind  fault.Kind
		field string
	}{
		"no recipe":       {app.BeginRequest{Recipe: "none"}, fault.KindNotFound, "recipe"},
		"no kettle":       {app.BeginRequest{Recipe: b.Recipes[0].ID, Kettle: "none"}, fault.KindNotFound, "kettle"},
		"no glass":        {app.BeginRequest{Recipe: b.Recipes[0].ID, Glass: "none"}, fault.KindNotFound, "glass"},
		"begun":           {app.BeginRequest{Batch: id, Recipe: b.Recipes[0].ID}, fault.KindConflict, "begun"},
		"too much":        {app.BeginRequest{Recipe: b.Recipes[0].ID, Charge: 100}, fault.KindOutOfRange, ""},
		"no date":         {app.BeginRequest{On: "tomorrow", Recipe: b.Recipes[0].ID}, fault.KindInvalid, "batch"},
		"no batch number": {app.BeginRequest{Batch: "seven", Recipe: b.Recipes[0].ID}, fault.KindInvalid, "batch"},
	} {
		_, err := a.Begin(ctx, c.r, "Ada", "")
		if fault.KindOf(err) != c.kind || err == nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := a.Record(ctx, "2026-01-01-9"); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("no record: %v", err)
	}
	list, err := a.Records(ctx, app.RecordQuery{Limit: 10})
	if err != nil || len(list.Records) != 1 || list.Records[0].Batch != id {
		t.Errorf("the list: %+v, %v", list, err)
	}
	if _, err := a.Records(ctx, app.RecordQuery{From: "May", Limit: 10}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("from May: %v", err)
	}
}

// Boils go by what records teach, unless the room has it switched off, begins anew, or
// has moved; the records themselves stay.
func TestLearned(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	b, head := kept(t, a)
	b.Glasses[0].Checks = []rig.GlassCheck{{On: "2026-02-20", Against: rig.AgainstIce, Read: -0.5}} // checks laid over it
	if _, _, err := a.Save(ctx, mustPrint(t, b, store.KindGlass, "glass"), head, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	ask := app.BoilRequest{Recipe: b.Recipes[0].ID}
	boil := func() *app.BoilResult {
		t.Helper()
		r, err := a.Boil(ctx, ask)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	before := boil()
	var ids []string
	for range 5 {
		id := begin(t, a, "2026-03-01")
		ids = append(ids, id)
		enter(t, a, weighed(t, a, id, 0.08), 0)
	}
	after := boil()
	if after.WaterFrac.Basis != q.Learned || after.WaterFrac.Batches != 5 || after.WaterFrac.Value <= before.WaterFrac.Value {
		t.Errorf("the water: %+v, before %+v", after.WaterFrac, before.WaterFrac)
	}
	if after.DialC.Basis != q.Learned {
		t.Errorf("what to read on a glass that taught: %+v", after.DialC)
	}
	if after.BoilTimeS.Basis != q.Learned || after.BoilTimeS.Value <= before.BoilTimeS.Value {
		t.Errorf("the time: %+v, before %+v", after.BoilTimeS, before.BoilTimeS)
	}
	l, err := a.Learned(ctx)
	if err != nil || len(l.Figures) != 3 || len(l.Refused) != 1+int(slab.Unknowns) || len(l.Seen) != 10 {
		t.Fatalf("learned %+v, %v", l, err)
	}
	for _, f := range l.Figures {
		if f.Batches != 5 || len(f.By) != 5 || f.High-f.Low >= q.Number(f.Before.High-f.Before.Low) {
			t.Errorf("%s: %+v", f.Name, f)
		}
	}
	// The plan of a day goes by it too, and says so.
	day, err := a.Plan(ctx, app.PlanRequest{Date: shoptest.Date})
	if err != nil {
		t.Fatal(err)
	}
	learned := false
	for _, x := range day.Batches {
		learned = learned || x.Sheet.WaterFrac.Basis == q.Learned
	}
	if !learned {
		t.Error("the day's plan goes by nothing that was learned")
	}

	room := func(name, text string) {
		t.Helper()
		b, head := kept(t, a)
		f, err := entry.Print(&b, store.KindRoom, store.KindRoom)
		if err != nil {
			t.Fatal(err)
		}
		f.Text[name] = text
		if _, _, err := a.Save(ctx, f, head, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	same := func(what string, got *app.BoilResult) {
		t.Helper()
		if *got.WaterFrac != *before.WaterFrac || *got.BoilTimeS != *before.BoilTimeS {
			t.Errorf("%s: water %+v, without records %+v", what, got.WaterFrac, before.WaterFrac)
		}
	}
	room("learning", rig.LearningOff)
	same("switched off", boil())
	if l, _ := a.Learned(ctx); !l.Off || len(l.Figures) != 3 {
		t.Error("switched off and nothing to look at")
	}
	room("learning", "on")
	room("learn_from", "2026-03-02")
	same("begun anew", boil())
	room("learn_from", "")
	if got := boil(); *got.WaterFrac != *after.WaterFrac {
		t.Error("on again, and another figure")
	}
	// A new address: what was learned there is set aside, and said.
	room("altitude", "3000 ft")
	l, err = a.Learned(ctx)
	if err != nil || len(l.Figures) != 0 || len(l.Aside) != 1 || len(l.Aside[0].Batches) != 5 {
		t.Errorf("moved: %+v, %v", l, err)
	}
	if boil().WaterFrac.Basis != q.Estimated {
		t.Error("moved, and learned")
	}
	r, err := a.Record(ctx, ids[0])
	if err != nil || len(r.Cautions) != 1 {
		t.Errorf("a batch of before says %+v, %v", r.Cautions, err)
	}
}

// A station pressure that is more than the air ever weighs at the altitude is refused.
func TestSeaLevelPressureIsRefused(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	b, _ := kept(t, a)
	b.Room.Altitude = 1000
	for hpa, want := range map[q.Pascals]bool{1013_25: false, 944_00: false, 943_00: true, 898_00: true} { // 898.7 hPa at 1000 m, ISO 2533
		_, err := a.BoilIn(context.Background(), &b, app.BoilRequest{Recipe: b.Recipes[0].ID, Pressure: hpa})
		if (err == nil) != want {
			t.Errorf("%.0f hPa at 1000 m: %v", float64(hpa)/100, err)
		}
	}
}

// A check that finds the glass off looks back at every batch since the last good one:
// those that it read too cool hold more water than they were held to.
func TestLookBack(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	old := begin(t, a, "2026-03-01")
	check := func(texts map[string]string) {
		t.Helper()
		b, head := kept(t, a)
		f, err := entry.Print(&b, store.KindGlass, b.Glasses[0].ID)
		if err != nil {
			t.Fatal(err)
		}
		n := f.Rows["check"]
		f.AddRow("check")
		for name, text := range texts {
			f.Text["check."+string(rune('0'+n))+"."+name] = text
		}
		if _, _, err := a.Save(ctx, f, head, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	look := func() *app.LookBack {
		t.Helper()
		l, err := a.LookBack(ctx, "glass")
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	if l := look(); l.Check != nil || len(l.Batches) != 0 {
		t.Errorf("without checks: %+v", l)
	}
	check(map[string]string{"on": "2026-03-02", "against": "reference", "read": "301 °F", "true": "302 °F"})
	if l := look(); l.Check != nil {
		t.Errorf("a good check: %+v", l.Check)
	}
	between := begin(t, a, "2026-03-10")
	enter(t, a, weighed(t, a, between, 0), 0)
	bare := begin(t, a, "2026-03-11")
	check(map[string]string{"on": "2026-03-20", "against": "reference", "read": "315 °F", "true": "302 °F"})
	after := begin(t, a, "2026-03-21")
	l := look()
	if l.Check == nil || l.Check.On != "2026-03-20" || l.LastGood != "2026-03-02" || l.Check.OffK < 6 || l.Check.OffK > 8 {
		t.Fatalf("a check that reads 7 K high: %+v", l)
	}
	if len(l.Batches) != 2 || l.Batches[0].Batch != bare || l.Batches[1].Batch != between {
		t.Fatalf("looked back at %+v, not at %s and %s, nor at %s and %s", l.Batches, between, bare, old, after)
	}
	for _, x := range l.Batches {
		if x.Is.WaterFrac.Value <= x.Was.WaterFrac.Value || x.Is.StandsC.Value >= x.Was.StandsC.Value {
			t.Errorf("%s: a glass that reads high and water %.4f, held to be %.4f", x.Batch, x.Is.WaterFrac.Value, x.Was.WaterFrac.Value)
		}
		if x.Advice == app.AdviceNone || x.Why == "" {
			t.Errorf("%s: nothing is advised", x.Batch)
		}
	}
	if !l.Batches[0].Assumed || l.Batches[1].Assumed {
		t.Error("which was read is not said")
	}
	if _, err := a.LookBack(ctx, "none"); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("no glass: %v", err)
	}
}

// The advice flips where the range crosses the store's temperature.
func TestAdviceByTheStore(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	begin(t, a, "2026-03-10")
	b, head := kept(t, a)
	b.Glasses[0].Checks = []rig.GlassCheck{{On: "2026-03-20", Against: rig.AgainstReference, Read: 157, True: 150}}
	if _, _, err := a.Save(ctx, mustPrint(t, b, store.KindGlass, "glass"), head, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	l, err := a.LookBack(ctx, "glass")
	if err != nil || len(l.Batches) != 1 {
		t.Fatalf("%+v, %v", l, err)
	}
	stands := l.Batches[0].Is.StandsC
	for _, c := range []struct {
		store  float64
		advice string
	}{{stands.Low - 0.5, app.AdviceKeeps}, {stands.Low + 0.5, app.AdviceSell}, {stands.High - 0.5, app.AdviceSell}, {stands.High + 0.5, app.AdviceHold}} {
		b, head := kept(t, a)
		b.Room.StoreMost = q.Celsius(c.store)
		if _, _, err := a.Save(ctx, mustPrint(t, b, store.KindRoom, store.KindRoom), head, "Ada", ""); err != nil {
			t.Fatal(err)
		}
		l, err := a.LookBack(ctx, "glass")
		if err != nil || l.Batches[0].Advice != c.advice {
			t.Errorf("a store of %.1f °C, a sweet that stands up to %.1f to %.1f: %+v, want %s", c.store, stands.Low, stands.High, l.Batches[0], c.advice)
		}
	}
}

// mustPrint is a thing of a book as it would be typed.
func mustPrint(t *testing.T, b book.Book, kind, id string) entry.Form {
	t.Helper()
	f, err := entry.Print(&b, kind, id)
	if err != nil {
		t.Fatal(err)
	}
	return f
}
