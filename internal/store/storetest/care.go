package storetest

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/care"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// care writes an entry that must be taken.
func (k kit) care(e care.Entry, corrects int64, minutes int) int64 {
	k.t.Helper()
	head, err := store.Care().Enter(k.ctx, k, e, corrects, meta(minutes))
	if err != nil {
		k.t.Fatalf("care %s: %v (cause %v)", e.Kind(), err, cause(err))
	}
	return int64(head)
}

// cared returns the names of the ledgers that are found.
func (k kit) cared(f store.FindJots) []string {
	k.t.Helper()
	if f.Limit == 0 {
		f.Limit = 100
	}
	list, err := store.Care().Find(k.ctx, k, f)
	if err != nil {
		k.t.Fatalf("Find %+v: %v (cause %v)", f, err, cause(err))
	}
	out := []string{}
	for _, l := range list {
		out = append(out, l[0].Entry.Subject())
	}
	return out
}

// testCare writes to the ledgers of some things, corrects and takes back, finds them, and
// carries the whole over into another book.
func testCare(t *testing.T, open Open) {
	k := start(t, open)
	k.put(basis(), 0)
	leaf, pan := care.Thing{Kind: care.Rolls, ID: "leaf"}, care.Thing{Kind: care.Kettle, ID: "pan"}
	found := func(of care.Thing, on, where string) care.Entry {
		return care.Entry{Thing: of, Found: &care.Found{On: on, Kind: care.Cracked, What: "Riß 飴", Where: where, Stops: true, Batch: "2026-03-14-1"}}
	}
	first := k.care(found(leaf, "2026-03-14", "third groove"), 0, 1)
	second := k.care(found(leaf, "2026-03-14", "fourth groove"), first, 2)
	k.care(care.Entry{Thing: pan, Due: &care.Due{What: "tin the lining", EveryDays: 365, EveryBatches: 200, From: "2026-03-01"}}, 0, 3)
	k.care(care.Entry{Thing: pan, Done: &care.Done{On: "2026-03-13", Work: care.Tested, By: "the inspector", Note: "no lead"}}, 0, 3)
	k.sound()
	for _, c := range []struct {
		f    store.FindJots
		want []string
	}{
		{store.FindJots{}, []string{"rolls leaf", "kettle pan"}},
		{store.FindJots{Live: true}, []string{"rolls leaf", "kettle pan"}},
		{store.FindJots{Subject: "kettle pan"}, []string{"kettle pan"}},
		{store.FindJots{From: "2026-03-14"}, []string{"rolls leaf"}},
		{store.FindJots{Before: "rolls leaf"}, []string{"kettle pan"}},
		{store.FindJots{Subject: "rolls none"}, []string{}},
	} {
		if d := cmp.Diff(c.want, k.cared(c.f)); d != "" {
			t.Errorf("%+v (-want +got):\n%s", c.f, d)
		}
	}

	before := k.export()
	for _, c := range []struct {
		name     string
		e        care.Entry
		corrects int64
		kind     fault.Kind
	}{
		{"what cannot be meant", care.Entry{Thing: leaf, Found: &care.Found{On: "2026-03-14", Kind: care.Cracked, What: "x"}}, 0, fault.KindInvalid},
		{"a fault of another thing settled", care.Entry{Thing: pan, Done: &care.Done{On: "2026-03-14", Work: care.Tested, By: "Ada", Settles: first}}, 0, fault.KindNotFound},
		{"corrected twice", found(leaf, "2026-03-14", "fifth groove"), first, fault.KindConflict},
		{"an act of another ledger", care.Entry{Thing: pan}, second, fault.KindNotFound},
	} {
		_, err := store.Care().Enter(k.ctx, k, c.e, c.corrects, meta(4))
		wantKind(t, c.name, err, c.kind)
	}
	if d := cmp.Diff(before, k.export()); d != "" {
		t.Errorf("a refusal changed the book (-before +after):\n%s", d)
	}

	mended := k.care(care.Entry{Thing: leaf, Done: &care.Done{On: "2026-03-15", Work: care.Repaired, By: "a fitter", Settles: second}}, 0, 5)
	if got := k.cared(store.FindJots{Live: true}); len(got) != 1 {
		t.Errorf("mended and still to do: %v", got)
	}
	k.care(care.Entry{Thing: leaf}, mended, 6)
	list, err := store.Care().Find(k.ctx, k, store.FindJots{Subject: "rolls leaf", Limit: 1})
	if err != nil || len(list) != 1 {
		t.Fatalf("Find = %d, %v", len(list), err)
	}
	if s := care.Fold(list[0]).Stopped(); len(s) != 1 || s[0].Where != "fourth groove" || s[0].What != "Riß 飴" {
		t.Errorf("stopped by %+v", s)
	}
	if e := list[0][1]; e.Corrects != first || e.Person != meta(2).Person || !e.At.Equal(Noon(2)) {
		t.Errorf("the correction is kept as %+v", e)
	}
	k.sound()

	to := start(t, open)
	if _, err := to.ImportAll(to.ctx, strings.NewReader(k.export())); err != nil {
		t.Fatalf("ImportAll: %v (cause %v)", err, cause(err))
	}
	if d := cmp.Diff(k.export(), to.export()); d != "" {
		t.Errorf("export of the import (-first +second):\n%s", d)
	}
	if d := cmp.Diff(k.cared(store.FindJots{}), to.cared(store.FindJots{})); d != "" {
		t.Errorf("ledgers of the import (-first +second):\n%s", d)
	}
	to.sound()
}
