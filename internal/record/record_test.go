package record_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/record"
)

const id = "2026-03-14-1"

// Every figure is refused one step past what can be meant and taken one step inside.
func TestCheckEdges(t *testing.T) {
	t.Parallel()
	begun := record.Begun{On: "2026-03-14", Book: 1, Recipe: "pear", ChargeMg: 7e6, Kettle: "big", Glass: "brass"}
	lift := func(change func(l *record.Lifted)) record.Entry {
		l := record.Lifted{ReadC: 150, GrossMg: 11e6, EmptyMg: 4e6, FlameS: 1500}
		change(&l)
		return record.Entry{Batch: id, Lifted: &l}
	}
	start := func(change func(b *record.Begun)) record.Entry {
		b := begun
		change(&b)
		return record.Entry{Batch: id, Begun: &b}
	}
	wet := func(w, sure float64, of record.Sample) record.Entry {
		return record.Entry{Batch: id, Moisture: &record.Moisture{Of: of, WaterFrac: w, SureFrac: sure}}
	}
	work := func(pull, roll, last, sure float64) record.Entry {
		return record.Entry{Batch: id, Worked: &record.Worked{PullC: pull, RollC: roll, LastC: last, SureK: sure}}
	}
	for _, c := range []struct {
		name  string
		e     record.Entry
		field string // of the refusal; empty: it is taken
	}{
		{"coldest", lift(func(l *record.Lifted) { l.ReadC = 60 }), ""},
		{"colder", lift(func(l *record.Lifted) { l.ReadC = 59 }), "lifted.read_c"},
		{"hottest", lift(func(l *record.Lifted) { l.ReadC = 200 }), ""},
		{"hotter", lift(func(l *record.Lifted) { l.ReadC = 201 }), "lifted.read_c"},
		{"no sugar", lift(func(l *record.Lifted) { l.EmptyMg = l.GrossMg }), "lifted.gross_mg"},
		{"one milligram of sugar", lift(func(l *record.Lifted) { l.EmptyMg = l.GrossMg - 1 }), ""},
		{"no full kettle", lift(func(l *record.Lifted) { l.GrossMg = 0 }), "lifted.gross_mg"},
		{"six hours", lift(func(l *record.Lifted) { l.FlameS = 6 * 3600 }), ""},
		{"longer", lift(func(l *record.Lifted) { l.FlameS = 6*3600 + 1 }), "lifted.flame_s"},
		{"a barometer", lift(func(l *record.Lifted) { l.StationPa = 98_000 }), ""},
		{"no barometer", lift(func(l *record.Lifted) { l.StationPa = 980 }), "lifted.station_pa"},
		{"nothing", lift(func(l *record.Lifted) { *l = record.Lifted{} }), "lifted"},
		{"begun", start(func(*record.Begun) {}), ""},
		{"no date", start(func(b *record.Begun) { b.On = "14 March" }), "begun.on"},
		{"another day", start(func(b *record.Begun) { b.On = "2026-03-15" }), "begun.on"},
		{"no book", start(func(b *record.Begun) { b.Book = 0 }), "begun.book"},
		{"no glass", start(func(b *record.Begun) { b.Glass = "" }), "begun.recipe"},
		{"no charge", start(func(b *record.Begun) { b.ChargeMg = 0 }), "begun.charge_mg"},
		{"a line in a name", start(func(b *record.Begun) { b.Kettle = "a\nb" }), "begun"},
		{"moisture", wet(0.024, 0.003, record.OfSweet), ""},
		{"of nothing", wet(0.024, 0.003, ""), "moisture.of"},
		{"too wet", wet(0.2, 0.003, record.OfSugar), "moisture.water_frac"},
		{"not sure", wet(0.024, 0, record.OfSugar), "moisture.sure_frac"},
		{"worked", work(85, 80, 70, 2), ""},
		{"rolled alone", work(0, 80, 0, 2), ""},
		{"hotter at the end", work(0, 80, 81, 2), "worked.last_c"},
		{"no temperature", work(0, 0, 0, 2), "worked.pull_c"},
		{"too cold", work(29, 0, 0, 2), "worked.pull_c"},
		{"no probe", work(85, 0, 0, 0), "worked.sure_k"},
		{"no number", record.Entry{Batch: "2026-03-14", Lifted: &record.Lifted{ReadC: 150}}, "batch"},
	} {
		err := c.e.Check()
		var f *fault.Error
		switch is := errors.As(err, &f); {
		case c.field == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.field != "" && (!is || f.Kind != fault.KindInvalid || f.Field != c.field):
			t.Errorf("%s: %v, want a refusal of %s", c.name, err, c.field)
		}
	}
	two := lift(func(*record.Lifted) {})
	two.Begun = &begun
	if two.Check() == nil {
		t.Error("an entry of two things is taken")
	}
}

// Keys carry their units, and what was not looked at is left out.
func TestJSON(t *testing.T) {
	t.Parallel()
	text, err := json.Marshal(record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 150.5, GrossMg: 11e6}})
	if want := `{"batch":"2026-03-14-1","lifted":{"read_c":150.5,"gross_mg":11000000}}`; err != nil || string(text) != want {
		t.Errorf("%s, %v, want %s", text, err, want)
	}
}

// Whatever is written, corrected and taken back in whatever order, the record holds the
// last entry of a kind that nothing corrects: played against a plain list.
func TestFoldAgainstAList(t *testing.T) {
	t.Parallel()
	type model struct {
		read float64
		act  int64
	}
	var kept []record.Kept
	var stands *model
	act := int64(0)
	do := func(e record.Entry, corrects int64) bool {
		if record.Follow(kept, e, corrects) != nil {
			return false
		}
		act++
		kept = append(kept, record.Kept{Entry: e, Act: act, Corrects: corrects, Person: "Ada"})
		return true
	}
	if !do(record.Entry{Batch: id, Begun: &record.Begun{On: "2026-03-14", Book: 1, Recipe: "pear", ChargeMg: 7e6, Kettle: "big", Glass: "brass"}}, 0) {
		t.Fatal("not begun")
	}
	state := uint64(7)
	next := func(n uint64) uint64 {
		state = state*6364136223846793005 + 1442695040888963407
		return state >> 33 % n
	}
	taken := 0
	for i := range 3000 {
		e := record.Entry{Batch: id}
		back := next(3) == 0
		if !back {
			e.Lifted = &record.Lifted{ReadC: 100 + float64(i%90)}
		}
		corrects := int64(next(uint64(act) + 2)) // 0, and one past the last, among them
		if stands != nil && next(2) == 0 {
			corrects = stands.act
		}
		if corrects == 1 {
			continue // the beginning stays
		}
		ok := do(e, corrects)
		// The plain list: a first entry where nothing stands, or a change of the one that does.
		var want bool
		switch {
		case corrects == 0:
			want = !back && stands == nil
		default:
			want = stands != nil && stands.act == corrects
		}
		if ok != want {
			t.Fatalf("step %d: taken %t, want %t (corrects %d, taking back %t, stands %+v)", i, ok, want, corrects, back, stands)
		}
		if !ok {
			continue
		}
		taken++
		if stands = nil; !back {
			stands = &model{e.Lifted.ReadC, act}
		}
		l := record.Fold(kept).Lifted()
		if (l == nil) != (stands == nil) || l != nil && l.ReadC != stands.read {
			t.Fatalf("step %d: stands %+v, want %+v", i, l, stands)
		}
	}
	if taken < 100 {
		t.Errorf("%d steps were taken", taken)
	}
	if r := record.Fold(kept); r.ID != id || len(r.Entries) != taken+1 {
		t.Error("the record has lost entries")
	}
}

// A refusal says who was there before.
func TestFollowSaysWho(t *testing.T) {
	t.Parallel()
	kept := []record.Kept{{Entry: record.Entry{Batch: id, Begun: &record.Begun{On: "2026-03-14", Book: 1, Recipe: "a", ChargeMg: 1, Kettle: "k", Glass: "g"}}, Act: 1, Person: "Ada"}}
	err := record.Follow(kept, record.Entry{Batch: id, Begun: kept[0].Begun}, 0)
	if err == nil || !strings.Contains(err.Error(), "Ada") || fault.KindOf(err) != fault.KindConflict {
		t.Errorf("%v", err)
	}
}
