package app_test

import (
	"context"
	"errors"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
)

// wants holds a fault to its kind and field.
func wants(t *testing.T, what string, err error, kind fault.Kind, field string) {
	t.Helper()
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != kind || f.Field != field {
		t.Errorf("%s: %v, want %s at %q", what, err, kind, field)
	}
}

// What cannot have been in that room is refused where it is written, one step past what
// can be.
func TestEnterRefused(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	id := begin(t, a, "")
	fits := weighed(t, a, id, 0).Lifted
	r, err := a.Record(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	lift := func(change func(l *record.Lifted)) record.Entry {
		l := *fits
		change(&l)
		return record.Entry{Batch: id, Lifted: &l}
	}
	for name, c := range map[string]struct {
		e     record.Entry
		kind  fault.Kind // 0: it can be
		field string
	}{
		"as it is":        {lift(func(*record.Lifted) {}), 0, ""},
		"no such scale":   {lift(func(l *record.Lifted) { l.Scale = "none" }), fault.KindNotFound, "lifted.scale"},
		"a barometer":     {lift(func(l *record.Lifted) { l.StationPa = 1013_00 }), 0, ""}, // 964.9 hPa at 410 m (ISO 2533), and 5 %
		"at sea level":    {lift(func(l *record.Lifted) { l.StationPa = 1013_25 }), fault.KindInvalid, "lifted.station_pa"},
		"more than went":  {lift(func(l *record.Lifted) { l.GrossMg = l.EmptyMg + r.Begun.ChargeMg + 1 }), fault.KindInvalid, "lifted.gross_mg"},
		"all that went":   {lift(func(l *record.Lifted) { l.GrossMg = l.EmptyMg + r.Begun.ChargeMg }), fault.KindInvalid, "lifted.gross_mg"}, // syrup, not sugar
		"drier than dry":  {lift(func(l *record.Lifted) { l.GrossMg -= 500_000 }), fault.KindInvalid, "lifted.gross_mg"},
		"a little wetter": {lift(func(l *record.Lifted) { l.GrossMg += 500_000 }), 0, ""},
		"not begun":       {record.Entry{Batch: "2026-03-17-9", Lifted: fits}, fault.KindNotFound, "batch"},
	} {
		err := a.MayEnter(ctx, c.e, 0)
		switch {
		case c.kind == 0 && err != nil:
			t.Errorf("%s: %v", name, err)
		case c.kind != 0:
			wants(t, name, err, c.kind, c.field)
			wants(t, name+", entered", a.Enter(ctx, c.e, 0, "Ada", ""), c.kind, c.field)
		}
	}
	if r, err := a.Record(ctx, id); err != nil || len(r.Entries) != 1 {
		t.Errorf("refused, and written: %+v, %v", r, err)
	}
}

// A beginning is corrected by the book by which the batch was begun: what is left out
// stays, and a recipe that has changed meanwhile is that of then.
func TestBeginCorrected(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	id := begin(t, a, "")
	was, err := a.Record(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	b, _ := kept(t, a)
	b.Kettles[0].UsualCharge--
	b.Glasses = append(b.Glasses, rig.Glass{ID: "new", Name: "New glass", Class: 2, Division: 1})
	if _, err := a.Import(ctx, b, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	act := was.Entries[0].Act
	if _, err := a.Begin(ctx, app.BeginRequest{Batch: id, Corrects: act, Glass: "new"}, "Ada", ""); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("a glass that was bought since: %v", err)
	}
	if _, err := a.Begin(ctx, app.BeginRequest{Batch: id, Corrects: act, Charge: 8}, "Bela", "misread"); err != nil {
		t.Fatal(err)
	}
	is, err := a.Record(ctx, id)
	want := *was.Begun
	want.ChargeMg = 8e6
	if err != nil || *is.Begun != want || !is.Entries[0].Corrected {
		t.Errorf("corrected: %+v, want %+v, %v", is.Begun, want, err)
	}
	_, err = a.Begin(ctx, app.BeginRequest{Batch: id, Corrects: act, Charge: 9}, "Ada", "")
	wants(t, "corrected twice", err, fault.KindConflict, "corrects")
	_, err = a.Begin(ctx, app.BeginRequest{Batch: id, Corrects: 99, Charge: 9}, "Ada", "")
	wants(t, "no such act", err, fault.KindNotFound, "corrects")
	_, err = a.Begin(ctx, app.BeginRequest{Batch: id, Corrects: is.Entries[1].Act, Charge: 100}, "Ada", "")
	if fault.KindOf(err) != fault.KindOutOfRange {
		t.Errorf("more than the kettle takes: %v", err)
	}
}

// Of several things that are written at once none is if one cannot be.
func TestWriteAllOrNothing(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	id := begin(t, a, "")
	read, water, sure, pull, probe := q.Celsius(151), q.Fraction(0.024), q.Fraction(0.003), q.Celsius(85), q.Kelvins(2)
	note := app.NoteAsked{Read: &read, Moisture: &water, Sure: &sure, Of: "sweet", Pull: &pull, Probe: &probe}
	enter(t, a, record.Entry{Batch: id, Worked: &record.Worked{PullC: 84, SureK: 2}}, 0)
	w, err := app.ReadNote(id, note, 0, 0, "--")
	if err != nil {
		t.Fatal(err)
	}
	wants(t, "the last is there", a.Write(ctx, w, "Ada", ""), fault.KindConflict, "worked")
	if r, _ := a.Record(ctx, id); len(r.Entries) != 2 {
		t.Errorf("half is written: %+v", r.Entries)
	}
	if w, err = app.ReadNote(id, app.NoteAsked{Read: &read, Moisture: &water, Sure: &sure, Of: "sweet"}, 0, 0, "--"); err != nil {
		t.Fatal(err)
	}
	if err := a.Write(ctx, w, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	r, _ := a.Record(ctx, id)
	if got := r.Record(); got.Lifted() == nil || *got.Lifted() != (record.Lifted{ReadC: 151}) || *got.Moisture() != (record.Moisture{Of: record.OfSweet, WaterFrac: 0.024, SureFrac: 0.003}) {
		t.Errorf("written: %+v", r.Entries)
	}
	_, err = app.ReadNote(id, note, r.Entries[2].Act, 0, "--")
	wants(t, "three in place of one", err, fault.KindInvalid, "--corrects")
	_, err = app.ReadNote(id, note, 0, r.Entries[2].Act, "--")
	if fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("written and taken back at once: %v", err)
	}
}

func TestRecordsAskedWrongly(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	begin(t, a, "")
	for name, c := range map[string]struct {
		ask  app.RecordQuery
		kind fault.Kind
	}{
		"limit":  {app.RecordQuery{}, fault.KindInvalid},
		"before": {app.RecordQuery{Limit: 1, Before: "2026-03-17-9"}, fault.KindInvalid},
		"recipe": {app.RecordQuery{Limit: 1, Recipe: "none"}, fault.KindNotFound},
		"to":     {app.RecordQuery{Limit: 1, To: "soon"}, fault.KindInvalid},
	} {
		_, err := a.Records(context.Background(), c.ask)
		wants(t, name, err, c.kind, name)
	}
	if l, err := a.Records(context.Background(), app.RecordQuery{Limit: 500}); err != nil || len(l.Records) != 1 {
		t.Errorf("%+v, %v", l, err)
	}
	if _, err := a.Records(context.Background(), app.RecordQuery{Limit: 501}); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("501: %v", err)
	}
}

// Each name that is asked by says what is wrong with it.
func TestReadNote(t *testing.T) {
	t.Parallel()
	c := func(v float64) *q.Celsius { x := q.Celsius(v); return &x }
	kg := func(v float64) *q.Kilograms { x := q.Kilograms(v); return &x }
	share := func(v float64) *q.Fraction { x := q.Fraction(v); return &x }
	k := func(v float64) *q.Kelvins { x := q.Kelvins(v); return &x }
	n := func(v int64) *int64 { return &v }
	work := func(w app.WorkAsked) app.NoteAsked { return app.NoteAsked{Work: w} }
	for name, x := range map[string]struct {
		note  app.NoteAsked
		field string
	}{
		"nothing":          {app.NoteAsked{}, ""},
		"hot":              {app.NoteAsked{Read: c(201)}, "--read"},
		"zero":             {app.NoteAsked{Read: c(0)}, ""},
		"no sugar":         {app.NoteAsked{Gross: kg(5), Empty: kg(5)}, "--gross"},
		"empty alone":      {app.NoteAsked{Empty: kg(5)}, ""},
		"scale alone":      {app.NoteAsked{Read: c(150), Scale: "floor"}, ""},
		"long scale":       {app.NoteAsked{Gross: kg(5), Scale: string(make([]byte, 300))}, "--scale"},
		"wet":              {app.NoteAsked{Moisture: share(0.3), Of: "sweet", Sure: share(0.01)}, "--moisture"},
		"not sure":         {app.NoteAsked{Moisture: share(0.03), Of: "sweet"}, "--sure"},
		"of what":          {app.NoteAsked{Moisture: share(0.03), Sure: share(0.01)}, "--of"},
		"no method":        {app.NoteAsked{Moisture: share(0.03), Of: "sweet", Sure: share(0.01), Method: "a\nb"}, "--method"},
		"cold":             {app.NoteAsked{Pull: c(20), Probe: k(2)}, "--pull"},
		"no probe":         {app.NoteAsked{FirstSheet: c(80)}, "--probe"},
		"probe alone":      {app.NoteAsked{Read: c(150), Probe: k(2)}, ""},
		"hotter at last":   {app.NoteAsked{FirstSheet: c(80), LastSheet: c(81), Probe: k(2)}, "--last-sheet"},
		"too cold a sheet": {app.NoteAsked{FirstSheet: c(20), Probe: k(2)}, "--first-sheet"},

		"no such check":     {work(app.WorkAsked{Check: []string{"oven=yes"}}), "--check"},
		"no answer":         {work(app.WorkAsked{Check: []string{"guards"}}), "--check"},
		"another answer":    {work(app.WorkAsked{Check: []string{"guards=perhaps"}}), "--check"},
		"nobody verified":   {work(app.WorkAsked{Check: []string{"allergen-clean=yes"}}), "--check"},
		"verified what":     {work(app.WorkAsked{Check: []string{"guards=yes"}, Verified: "Bela"}), ""},
		"from alone":        {work(app.WorkAsked{From: "2026-03-16-1"}), ""},
		"of no batch":       {work(app.WorkAsked{CookedBack: kg(1), From: "yesterday"}), "--from"},
		"no cook-back":      {work(app.WorkAsked{CookedBack: kg(0)}), ""},
		"lit when":          {work(app.WorkAsked{LitAt: "soon"}), "--lit-at"},
		"poured when":       {work(app.WorkAsked{PouredAt: "soon"}), "--poured-at"},
		"too many turns":    {work(app.WorkAsked{Turns: n(501)}), "--turns"},
		"a sample":          {work(app.WorkAsked{Sound: kg(5), Sample: n(50)}), "--sample"},
		"a sample's mass":   {work(app.WorkAsked{Sound: kg(5), SampleMass: kg(0.1)}), ""},
		"heavy pieces":      {work(app.WorkAsked{Sound: kg(5), Pieces: n(3)}), "--sound"},
		"scraps of nothing": {work(app.WorkAsked{Sound: kg(5), CookBack: kg(1)}), "--cook-back"},
		"what alone":        {work(app.WorkAsked{What: "a chip"}), ""},
		"found nowhere":     {work(app.WorkAsked{Found: "metal", What: "a chip", Done: "held"}), "--where"},
		"found of what":     {work(app.WorkAsked{Found: "chip", What: "a chip", Where: "sieve", Done: "held"}), "--found"},
		"rolls":             {work(app.WorkAsked{RollsAfter: "perhaps"}), "--rolls-after"},
		"cleaned how":       {work(app.WorkAsked{Cleaned: "slab", CleanedBy: "Ada"}), "--how"},
		"cleaned by":        {work(app.WorkAsked{Cleaned: "slab", How: "wash"}), "--cleaned-by"},
		"by the same":       {work(app.WorkAsked{Cleaned: "slab", How: "allergen-clean", CleanedBy: "Ada", Verified: "Ada"}), "--verified"},
		"another word":      {work(app.WorkAsked{Tasted: []string{"nice"}}), "--tasted"},
		"a sign and more":   {work(app.WorkAsked{Sign: n(3), Tasted: []string{"good"}}), ""},
		"a sign alone":      {work(app.WorkAsked{SignNote: "seen"}), ""},
		"signed nothing":    {work(app.WorkAsked{Sign: n(0)}), ""},
	} {
		_, err := app.ReadNote("2026-03-17-1", x.note, 0, 0, "--")
		wants(t, name, err, fault.KindInvalid, x.field)
	}
	whole, err := work(app.WorkAsked{Check: []string{"guards=yes", "allergen-clean=yes", "co-alarm=does-not-apply"}, Verified: "Bela", CookedBack: kg(0.4), LitAt: "09:42", Turns: n(20),
		Sound: kg(5), Found: "glass", What: "a splinter", Where: "sieve", Done: "held", RollsAfter: "does-not-apply", Cleaned: "slab", How: "allergen-clean", CleanedBy: "Ada",
		Tasted: []string{"sharp edges", " dull"}, TasteNote: "of soap"}).Entries("2026-03-17-1", "--")
	if err != nil || len(whole) != 8 {
		t.Errorf("%d entries, %v", len(whole), err)
	}
	seen := map[record.Kind]bool{}
	for _, e := range whole {
		seen[e.Kind()] = true
		if e.Kind() != record.Lifting && len(app.SayWork(q.Metric.With(q.Point), e)) == 0 {
			t.Errorf("nothing is said of %s", e.Kind())
		}
	}
	if len(seen) != 8 {
		t.Errorf("of kinds %v", seen)
	}
	_, err = app.ReadNote("one", app.NoteAsked{Read: c(150)}, 0, 0, "--")
	wants(t, "no batch", err, fault.KindInvalid, "batch")
}
