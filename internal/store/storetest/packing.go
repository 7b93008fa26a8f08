package storetest

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/packing"
	"slabside/internal/store"
)

// pack writes an entry of the packing that must be taken.
func (k kit) pack(e packing.Entry, corrects int64, minutes int) store.Head {
	k.t.Helper()
	head, err := store.Packing().Enter(k.ctx, k, e, corrects, meta(minutes))
	if err != nil {
		k.t.Fatalf("%s: %v (cause %v)", e.Kind(), err, cause(err))
	}
	return head
}

// bags are twelve bags of a product, of what was made by the day their lot was begun.
func bags(lot, product string) packing.Entry {
	return packing.Entry{Ledger: lot, Packed: &packing.Packed{On: lot[1:11], Product: product, Bags: 12, LabelMg: 113_000, TareMg: 4_000, FromMg: 117_000, ToMg: 120_500, Scale: "飴 scale",
		BestBefore: "2027-03-01", Of: []packing.Share{{Batch: "2026-03-11-1", Recipe: "zoë", MassMg: 1_380_000}, {Batch: lot[1:11] + "-1", Recipe: "zoë", MassMg: 1_000}}, Weighed: []int64{118_000, 119_000}, Opens: true}}
}

// packed returns the ledgers of the packing that are found.
func (k kit) packed(f store.FindJots) (ids []string, ledgers [][]packing.Kept) {
	k.t.Helper()
	if f.Limit == 0 {
		f.Limit = 100
	}
	found, err := store.Packing().Find(k.ctx, k, f)
	if err != nil {
		k.t.Fatalf("Find %+v: %v (cause %v)", f, err, cause(err))
	}
	ids = []string{}
	for _, kept := range found {
		ids = append(ids, kept[0].Entry.Ledger)
	}
	return ids, found
}

func testPacking(t *testing.T, open Open) {
	k := start(t, open)
	k.put(basis(), 0)
	const first, second, old, jar, loose = "b2026-03-14-2", "b2026-03-14-10", "b2026-03-12-1", "j-counter-3", "l2026-03-13-1"
	if n, err := k.NextJot(k.ctx, store.Packing().Name, "2026-03-14"); err != nil || n != 1 {
		t.Errorf("the first number of a day is %d, %v", n, err)
	}
	k.pack(bags(old, "mix"), 0, 1)
	k.pack(bags(first, "mix"), 0, 2)
	k.pack(bags(second, "beads"), 0, 3)
	if n, err := k.NextJot(k.ctx, store.Packing().Name, "2026-03-14"); err != nil || n != 11 {
		t.Errorf("the next number of a day is %d, %v", n, err)
	}
	out := k.pack(packing.Entry{Ledger: old, Moved: &packing.Moved{On: "2026-03-14", Bags: 20, To: packing.ToParcel, For: "Zoë"}}, 0, 4)
	k.pack(packing.Entry{Ledger: jar, Filled: &packing.Filled{On: "2026-03-13", Of: []packing.Share{{Batch: "2026-03-13-1", Recipe: "zoë", MassMg: 500_000}}}}, 0, 5)
	k.pack(packing.Entry{Ledger: loose, Taken: &packing.Taken{On: "2026-03-13", MassMg: 40_000, To: packing.ToTasting}}, 0, 6)
	k.sound()
	for _, c := range []struct {
		f    store.FindJots
		want []string
	}{
		{store.FindJots{}, []string{second, first, loose, jar, old}},
		{store.FindJots{Of: "mix"}, []string{first, old}},
		{store.FindJots{Live: true}, []string{second, first, jar}},
		{store.FindJots{Of: "mix", Live: true}, []string{first}},
		{store.FindJots{From: "2026-03-13", To: "2026-03-13"}, []string{loose, jar}},
		{store.FindJots{Before: first}, []string{loose, jar, old}},
		{store.FindJots{Subject: old}, []string{old}},
		{store.FindJots{Limit: 1}, []string{second}},
	} {
		ids, _ := k.packed(c.f)
		if d := cmp.Diff(c.want, ids); d != "" {
			t.Errorf("%+v (-want +got):\n%s", c.f, d)
		}
	}

	// A correction stands where the entry stood, in the table and after an import too.
	k.pack(packing.Entry{Ledger: old, Moved: &packing.Moved{On: "2026-03-14", Bags: 2, To: packing.ToParcel, For: "Zoë"}}, int64(out), 7)
	k.pack(packing.Entry{Ledger: old, Counted: &packing.Counted{Bags: 9}}, 0, 8)
	k.pack(packing.Entry{Ledger: old, Placed: &packing.Placed{As: packing.Hold}}, 0, 9)
	check := func(k kit) {
		t.Helper()
		_, found := k.packed(store.FindJots{Subject: old})
		b := packing.FoldBags(found[0])
		if want := (packing.Balance{Packed: 12, Out: packing.Outs{Parcel: 2}, Unaccounted: 1, OnHand: 9}); b.Balance != want || b.Status != packing.Hold {
			t.Errorf("the balance is %+v, %s, want %+v", b.Balance, b.Status, want)
		}
		if e := b.Entries[2]; e.Person != meta(7).Person || !e.At.Equal(Noon(7)) || e.Reason != meta(7).Reason || e.Corrects != int64(out) {
			t.Errorf("the correction is kept as %+v", e)
		}
		if ids, _ := k.packed(store.FindJots{Of: "mix", Live: true}); len(ids) != 2 {
			t.Errorf("live again: %v", ids)
		}
		k.sound()
	}
	check(k)
	other := start(t, open)
	text := k.export()
	if _, err := other.ImportAll(other.ctx, strings.NewReader(text)); err != nil {
		t.Fatalf("ImportAll: %v (cause %v)", err, cause(err))
	}
	check(other)
	if d := cmp.Diff(text, other.export()); d != "" {
		t.Errorf("export of the import (-first +second):\n%s", d)
	}

	// What is refused changes nothing; what is taken back leaves the list, and its
	// number is free again.
	before := k.export()
	for name, c := range map[string]struct {
		e        packing.Entry
		corrects int64
		kind     fault.Kind
	}{
		"out of a lot on hold": {packing.Entry{Ledger: old, Moved: &packing.Moved{On: "2026-03-14", Bags: 1, To: packing.ToCounter}}, 0, fault.KindConflict},
		"out of no lot":        {packing.Entry{Ledger: "b2026-03-14-3", Moved: &packing.Moved{On: "2026-03-14", Bags: 1, To: packing.ToCounter}}, 0, fault.KindNotFound},
		"what cannot be meant": {packing.Entry{Ledger: first, Counted: &packing.Counted{Bags: -1}}, 0, fault.KindInvalid},
		"corrected twice":      {packing.Entry{Ledger: old}, int64(out), fault.KindConflict},
	} {
		_, err := store.Packing().Enter(k.ctx, k, c.e, c.corrects, meta(10))
		wantKind(t, name, err, c.kind)
	}
	if d := cmp.Diff(before, k.export()); d != "" {
		t.Errorf("a refusal changed the book (-before +after):\n%s", d)
	}
	_, found := k.packed(store.FindJots{Subject: second})
	k.pack(packing.Entry{Ledger: second}, found[0][0].Act, 11)
	if ids, _ := k.packed(store.FindJots{Of: "beads"}); len(ids) != 0 {
		t.Errorf("taken back and still listed: %v", ids)
	}
	k.pack(bags(second, "mix"), 0, 12)
	if ids, _ := k.packed(store.FindJots{Limit: 1}); ids[0] != second {
		t.Errorf("packed anew and not listed: %v", ids)
	}
	k.sound()
}
