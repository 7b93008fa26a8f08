package care_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"slabside/internal/care"
	"slabside/internal/fault"
	"slabside/internal/journal"
)

var leaf = care.Thing{Kind: care.Rolls, ID: "leaf"}

func crack() care.Found {
	return care.Found{On: "2026-03-02", Kind: care.Cracked, What: "a hair crack", Where: "third groove", Stops: true}
}

// Every field is refused one step past what can be meant and taken one step inside.
func TestCheckEdges(t *testing.T) {
	t.Parallel()
	found := func(change func(f *care.Found)) care.Entry {
		f := crack()
		change(&f)
		return care.Entry{Thing: leaf, Found: &f}
	}
	done := func(change func(d *care.Done)) care.Entry {
		d := care.Done{On: "2026-03-03", Work: care.Repaired, By: "a fitter"}
		change(&d)
		return care.Entry{Thing: leaf, Done: &d}
	}
	due := func(d care.Due) care.Entry { return care.Entry{Thing: leaf, Due: &d} }
	for _, c := range []struct {
		name  string
		e     care.Entry
		field string // of the refusal; empty: it is taken
	}{
		{"a crack", found(func(*care.Found) {}), ""},
		{"a crack that does not stop", found(func(f *care.Found) { f.Stops = false }), "found.stops"},
		{"a chip that does not stop", found(func(f *care.Found) { f.Kind, f.Stops = care.Chipped, false }), "found.stops"},
		{"a guard that does not stop", found(func(f *care.Found) { f.Kind, f.Stops = care.Guard, false }), "found.stops"},
		{"a dead stop that does not stop", found(func(f *care.Found) { f.Kind, f.Stops = care.Stop, false }), "found.stops"},
		{"a worn groove", found(func(f *care.Found) { f.Kind, f.Stops = care.Worn, false }), ""},
		{"of no kind", found(func(f *care.Found) { f.Kind = "odd" }), "found.kind"},
		{"nothing seen", found(func(f *care.Found) { f.What = " " }), "found.what"},
		{"on no day", found(func(f *care.Found) { f.On = "2026-02-29" }), "found.on"},
		{"a line in what was seen", found(func(f *care.Found) { f.What = "a\nb" }), "found"},
		{"as long as can be kept", found(func(f *care.Found) { f.What = strings.Repeat("a", 200) }), ""},
		{"longer", found(func(f *care.Found) { f.What = strings.Repeat("a", 201) }), "found"},
		{"a repair", done(func(*care.Done) {}), ""},
		{"by nobody", done(func(d *care.Done) { d.By = "" }), "done.by"},
		{"of no kind", done(func(d *care.Done) { d.Work = "kissed" }), "done.work"},
		{"oiled with nothing", done(func(d *care.Done) { d.Work = care.Oiled }), "done.with"},
		{"greased with nothing", done(func(d *care.Done) { d.Work = care.Greased }), "done.with"},
		{"oiled", done(func(d *care.Done) { d.Work, d.With, d.FoodGrade = care.Oiled, "white oil", true }), ""},
		{"food-grade nothing", done(func(d *care.Done) { d.FoodGrade = true }), "done.with"},
		{"another work without words", done(func(d *care.Done) { d.Work = care.OtherWork }), "done.note"},
		{"every day", due(care.Due{What: "oil", EveryDays: 1, From: "2026-03-02"}), ""},
		{"less than daily", due(care.Due{What: "oil", EveryDays: -1, From: "2026-03-02"}), "due.every_days"},
		{"in ten years", due(care.Due{What: "oil", EveryDays: 3660, From: "2026-03-02"}), ""},
		{"in more", due(care.Due{What: "oil", EveryDays: 3661, From: "2026-03-02"}), "due.every_days"},
		{"every batch", due(care.Due{What: "oil", EveryBatches: 1, From: "2026-03-02"}), ""},
		{"too many batches", due(care.Due{What: "oil", EveryBatches: 10001, From: "2026-03-02"}), "due.every_batches"},
		{"from no day", due(care.Due{What: "oil", EveryDays: 7}), "due.from"},
		{"never", due(care.Due{What: "oil"}), "due.every_days"},
		{"again and once", due(care.Due{What: "oil", EveryDays: 7, By: "2026-04-01", From: "2026-03-02"}), "due.by"},
		{"once", due(care.Due{What: "oil", By: "2026-04-01"}), ""},
		{"by no day", due(care.Due{What: "oil", By: "April"}), "due.by"},
		{"nothing due", due(care.Due{EveryDays: 7, From: "2026-03-02"}), "due.what"},
		{"it ends", due(care.Due{What: "oil", Ends: true}), ""},
		{"it ends and goes on", due(care.Due{What: "oil", Ends: true, EveryDays: 1}), "due.ends"},
		{"of an ingredient", care.Entry{Thing: care.Thing{Kind: "ingredient", ID: "sugar"}}, "thing"},
		{"of no id", care.Entry{Thing: care.Thing{Kind: care.Rolls}}, "thing"},
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
	two := found(func(*care.Found) {})
	two.Due = &care.Due{What: "oil", By: "2026-04-01"}
	if two.Check() == nil {
		t.Error("an entry of two things is taken")
	}
}

// What is not there is left out.
func TestJSON(t *testing.T) {
	t.Parallel()
	text, err := json.Marshal(care.Entry{Thing: leaf, Due: &care.Due{What: "oil", EveryDays: 7, From: "2026-03-02"}})
	if want := `{"thing":{"kind":"rolls","id":"leaf"},"due":{"what":"oil","every_days":7,"from":"2026-03-02"}}`; err != nil || string(text) != want {
		t.Errorf("%s, %v, want %s", text, err, want)
	}
}

// ledger writes entries as a store does.
type ledger struct {
	kept []care.Kept
	act  int64
}

func (l *ledger) do(e care.Entry, corrects int64) (int64, error) {
	e.Thing = leaf
	if err := care.Follow(l.kept, e, corrects); err != nil {
		return 0, err
	}
	l.act++
	at := time.Date(2026, 3, 2, 8, 0, int(l.act), 0, time.UTC)
	l.kept = append(l.kept, care.Kept{Entry: e, Act: l.act, Corrects: corrects, Person: "Ada", At: at})
	return l.act, nil
}

func (l *ledger) must(t interface{ Fatalf(string, ...any) }, e care.Entry, corrects int64) int64 {
	act, err := l.do(e, corrects)
	if err != nil {
		t.Fatalf("%s: %v", e.Kind(), err)
	}
	return act
}

func found(f care.Found) care.Entry { return care.Entry{Found: &f} }
func done(d care.Done) care.Entry {
	if d.By == "" {
		d.By = "Ada"
	}
	return care.Entry{Done: &d}
}
func due(d care.Due) care.Entry { return care.Entry{Due: &d} }

func wantKind(t *testing.T, what string, err error, kind fault.Kind, field string) {
	t.Helper()
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != kind || f.Field != field {
		t.Errorf("%s: %v, want %s at %s", what, err, kind, field)
	}
}

// A crack stops the rolls until what was done settles it, through every correction of
// either; what was settled is not taken back under it.
func TestAFaultUntilItIsDone(t *testing.T) {
	t.Parallel()
	var l ledger
	first := l.must(t, found(crack()), 0)
	again := crack()
	again.Where = "fourth groove"
	second := l.must(t, found(again), first)
	again.Where = "fifth groove"
	third := l.must(t, found(again), second)
	if s := care.Fold(l.kept).Stopped(); len(s) != 1 || s[0].Act != first || s[0].As != third || s[0].Where != "fifth groove" {
		t.Fatalf("stopped by %+v", s)
	}
	mend := care.Done{On: "2026-03-04", Work: care.Repaired, By: "a fitter", Settles: second}
	if !care.Releases(l.kept, care.Entry{Thing: leaf, Done: &mend}, 0) || care.Releases(l.kept, care.Entry{Thing: leaf, Due: &care.Due{What: "oil", By: "2026-04-01"}}, 0) {
		t.Error("it is not told what releases the rolls")
	}
	mended := l.must(t, done(mend), 0)
	if care.Fold(l.kept).OutOfUse() {
		t.Error("out of use after it was done")
	}
	_, err := l.do(done(mend), 0)
	wantKind(t, "settled twice", err, fault.KindConflict, "done.settles")
	_, err = l.do(care.Entry{}, third)
	wantKind(t, "taken back under what settled it", err, fault.KindConflict, "corrects")
	mend.Work = care.Replaced
	replaced := l.must(t, done(mend), mended) // the same fault again
	if f := care.Fold(l.kept).Faults[0]; f.Done == nil || f.Done.Work != care.Replaced {
		t.Errorf("settled by %+v", f.Done)
	}
	mend.Settles = 0
	open := l.must(t, done(mend), replaced)
	if !care.Fold(l.kept).OutOfUse() {
		t.Error("in use though nothing settles the crack")
	}
	l.must(t, care.Entry{}, third)
	if l := care.Fold(l.kept); len(l.Faults) != 0 || len(l.Last) != 1 || l.Last[0].Act != open {
		t.Errorf("%+v", l)
	}
	_, err = l.do(done(care.Done{On: "2026-03-05", Work: care.Tested, Settles: 99}), 0)
	wantKind(t, "no such fault", err, fault.KindNotFound, "done.settles")
	_, err = l.do(done(care.Done{On: "2026-03-05", Work: care.Tested, Settles: third}), 0)
	wantKind(t, "a fault that was taken back", err, fault.KindNotFound, "done.settles")
	_, err = l.do(care.Entry{}, 0)
	wantKind(t, "nothing taken back", err, fault.KindInvalid, "corrects")
	_, err = l.do(found(crack()), open)
	wantKind(t, "an entry of another kind", err, fault.KindInvalid, "found")
}

// Due by days, by batches and once: counted from the day it was done last, whichever
// comes first.
func TestDue(t *testing.T) {
	t.Parallel()
	next := func(l *ledger, today string, made int) []care.Next {
		var out []care.Next
		for _, d := range care.Fold(l.kept).Duties {
			out = append(out, d.NextOf(today, func(string) int { return made }))
		}
		return out
	}
	var l ledger
	l.must(t, due(care.Due{What: "Oil the bearings", EveryDays: 30, EveryBatches: 40, From: "2026-02-01"}), 0)
	// 1 February and 30 days is 3 March of a common year.
	if n := next(&l, "2026-03-03", 39)[0]; n.On != "2026-03-03" || n.Days != 0 || n.Batches != 1 || n.Over() || !n.Now() {
		t.Errorf("on its day: %+v", n)
	}
	if n := next(&l, "2026-03-02", 39)[0]; n.Now() {
		t.Errorf("a day and a batch before: %+v", n)
	}
	if n := next(&l, "2026-03-04", 0)[0]; !n.Over() {
		t.Errorf("a day late: %+v", n)
	}
	if n := next(&l, "2026-02-02", 40)[0]; n.Over() || !n.Now() {
		t.Errorf("after 40 batches: %+v", n)
	}
	if n := next(&l, "2026-02-02", 41)[0]; !n.Over() {
		t.Errorf("after 41 batches: %+v", n)
	}
	l.must(t, done(care.Done{On: "2026-03-02", Work: care.Oiled, With: "white oil", FoodGrade: true, For: "oil  the bearings"}), 0)
	if n := next(&l, "2026-03-02", 0)[0]; n.On != "2026-04-01" || n.Since != "2026-03-02" || n.Batches != 40 {
		t.Errorf("after it was done: %+v", n)
	}
	l.must(t, due(care.Due{What: "oil the bearings", EveryDays: 7, From: "2026-03-02"}), 0)
	if all := next(&l, "2026-03-02", 0); len(all) != 1 || all[0].On != "2026-03-09" {
		t.Errorf("a later one does not take its place: %+v", all)
	}

	l.must(t, due(care.Due{What: "test for lead", By: "2026-06-01"}), 0)
	l.must(t, done(care.Done{On: "2026-05-20", Work: care.Tested, For: "test for lead"}), 0)
	if all := next(&l, "2026-06-02", 0); len(all) != 1 {
		t.Errorf("done once and still due: %+v", all)
	}
	l.must(t, due(care.Due{What: "test for lead", By: "2027-06-01"}), 0)
	if all := next(&l, "2026-06-02", 0); len(all) != 2 || all[1].On != "2027-06-01" {
		t.Errorf("what was done before counts for the year after: %+v", all)
	}
	l.must(t, due(care.Due{What: "test for lead", Ends: true}), 0)
	_, err := l.do(due(care.Due{What: "test for lead", Ends: true}), 0)
	wantKind(t, "ended twice", err, fault.KindNotFound, "due.what")
	_, err = l.do(done(care.Done{On: "2026-05-20", Work: care.Tested, For: "test for lead"}), 0)
	wantKind(t, "done and not due", err, fault.KindNotFound, "done.for")
	if r := care.RowOf(l.kept); r != (journal.Row{On: "2026-05-20", Of: "rolls leaf", Live: true, Stands: true}) {
		t.Errorf("the row is %+v", r)
	}
}

// model is what is truly the matter with a thing.
type model struct {
	faults map[int64]bool  // act of the finding → it stops
	done   map[int64]int64 // act of the settling → of the finding
	dues   map[string]int  // what → days
}

// Whatever is found, done, put right and taken back in whatever order: what is open is
// what was found and neither done nor taken back, and the same ledger folded twice, or
// with its taken-back entries never written, says the same.
func TestLedgerAgainstARoom(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var l ledger
		m := model{map[int64]bool{}, map[int64]int64{}, map[string]int{}}
		head := map[int64]int64{} // first → standing entry
		whats := []string{"oil", "test", "look"}
		keys := func(of map[int64]bool) []int64 {
			var out []int64
			for k := range of {
				out = append(out, k)
			}
			slices.Sort(out)
			return out
		}
		settled := func(fault int64) bool {
			for _, f := range m.done {
				if f == fault {
					return true
				}
			}
			return false
		}
		for range rapid.IntRange(0, 30).Draw(t, "acts") {
			all := keys(m.faults)
			switch rapid.IntRange(0, 5).Draw(t, "act") {
			case 0:
				f := crack()
				if !rapid.Bool().Draw(t, "stops") {
					f.Kind, f.Stops = care.Worn, false
				}
				act := l.must(t, found(f), 0)
				m.faults[act], head[act] = f.Stops, act
			case 1:
				if len(all) == 0 {
					continue
				}
				f := rapid.SampledFrom(all).Draw(t, "settled")
				act, err := l.do(done(care.Done{On: "2026-03-05", Work: care.Repaired, Settles: head[f]}), 0)
				if settled(f) != (err != nil) {
					t.Fatalf("settling act %d: %v", f, err)
				}
				if err == nil {
					m.done[act] = f
				}
			case 2: // put right
				if len(all) == 0 {
					continue
				}
				f := rapid.SampledFrom(all).Draw(t, "corrected")
				stops := rapid.Bool().Draw(t, "stops")
				e := care.Found{On: "2026-03-02", Kind: care.Loose, What: "a bolt", Stops: stops}
				before := care.Fold(l.kept).OutOfUse()
				releases := care.Releases(l.kept, care.Entry{Thing: leaf, Found: &e}, head[f])
				if want := before && m.faults[f] && !settled(f) && !stops; releases != want {
					t.Fatalf("releases: %t, want %t", releases, want)
				}
				head[f] = l.must(t, found(e), head[f])
				m.faults[f] = stops
			case 3: // taken back
				if len(all) == 0 {
					continue
				}
				f := rapid.SampledFrom(all).Draw(t, "taken back")
				_, err := l.do(care.Entry{}, head[f])
				if settled(f) != (err != nil) {
					t.Fatalf("taking back act %d: %v", f, err)
				}
				if err == nil {
					delete(m.faults, f)
				}
			case 4:
				what, days := rapid.SampledFrom(whats).Draw(t, "what"), rapid.IntRange(1, 90).Draw(t, "days")
				l.must(t, due(care.Due{What: strings.ToUpper(what), EveryDays: days, From: "2026-03-02"}), 0)
				m.dues[what] = days
			case 5:
				what := rapid.SampledFrom(whats).Draw(t, "ends")
				_, err := l.do(due(care.Due{What: what, Ends: true}), 0)
				if _, is := m.dues[what]; is != (err == nil) {
					t.Fatalf("ending %s: %v", what, err)
				}
				delete(m.dues, what)
			}
		}
		got := care.Fold(l.kept)
		var open, stopped []int64
		for _, f := range keys(m.faults) {
			if !settled(f) {
				open = append(open, f)
				if m.faults[f] {
					stopped = append(stopped, f)
				}
			}
		}
		if is := acts(got.Open()); !slices.Equal(is, open) {
			t.Fatalf("open: %v, want %v", is, open)
		}
		if is := acts(got.Stopped()); !slices.Equal(is, stopped) {
			t.Fatalf("stopped by %v, want %v", is, stopped)
		}
		dues := map[string]int{}
		for _, d := range got.Duties {
			dues[strings.ToLower(d.What)] = d.EveryDays
		}
		if fmt.Sprint(dues) != fmt.Sprint(m.dues) {
			t.Fatalf("due: %v, want %v", dues, m.dues)
		}
		if r := care.RowOf(l.kept); len(l.kept) > 0 && r.Live != (len(open)+len(dues) > 0) {
			t.Fatalf("the row is %+v", r)
		}
	})
}

func acts(list []care.Fault) []int64 {
	var out []int64
	for _, f := range list {
		out = append(out, f.Act)
	}
	slices.Sort(out)
	return out
}
