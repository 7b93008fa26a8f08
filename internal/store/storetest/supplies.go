package storetest

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// supplied writes an entry of a lot of a supply that must be taken.
func (k kit) supplied(e supply.Entry, corrects int64, minutes int) store.Head {
	k.t.Helper()
	head, err := store.Supplies().Enter(k.ctx, k, e, corrects, meta(minutes))
	if err != nil {
		k.t.Fatalf("%s: %v (cause %v)", e.Kind(), err, cause(err))
	}
	return head
}

// testSupplies keeps lots of packaging: found by what they are of and whether something is
// left or stopped, with a paper, through an export and an import.
func testSupplies(t *testing.T, open Open) {
	k := start(t, open)
	k.put(basis(), 0)
	const first, second = "s2026-03-14-1", "s2026-03-14-12"
	came := func(id, of string) supply.Entry {
		return supply.Entry{Lot: id, Received: &supply.Received{On: id[1:11], Supply: of, Unit: supply.Pieces, Amount: 1000, Supplier: "袋 works", SupplierLot: "B-7", BestBefore: "2028-03-01", DeclaredOn: "2026-01-05"}}
	}
	k.supplied(came(first, "bags"), 0, 1)
	act := k.supplied(supply.Entry{Lot: first, Used: &supply.Used{Amount: 30, For: "samples"}}, 0, 2)
	k.supplied(came(second, "jars"), 0, 3)
	if n, err := k.NextJot(k.ctx, store.SupplyJournal, "2026-03-14"); err != nil || n != 13 {
		t.Errorf("the next number of the day is %d, %v", n, err)
	}
	k.supplied(supply.Entry{Lot: first, Used: &supply.Used{Amount: 20, For: "samples"}}, int64(act), 4)
	k.supplied(supply.Entry{Lot: first, Counted: &supply.Counted{}}, 0, 5)
	k.supplied(supply.Entry{Lot: second, Counted: &supply.Counted{}}, 0, 6)
	k.supplied(supply.Entry{Lot: first, Placed: &supply.Placed{As: lot.Hold}}, 0, 7)
	picture := []byte("\xff\xd8\xff a declaration")
	paper := store.AttachmentOf(picture)
	paper.Of = first
	if _, err := k.Attach(k.ctx, paper, picture, meta(8)); err != nil {
		t.Fatalf("Attach: %v (cause %v)", err, cause(err))
	}
	paper.Of = "s2026-03-14-99"
	if _, err := k.Attach(k.ctx, paper, picture, meta(9)); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("a paper of a lot that never came: %v", err)
	}
	check := func(k kit) {
		t.Helper()
		for _, c := range []struct {
			f    store.FindJots
			want []string
		}{
			{store.FindJots{Limit: 9}, []string{second, first}},
			{store.FindJots{Of: "bags", Limit: 9}, []string{first}},
			{store.FindJots{Live: true, Limit: 9}, []string{first}}, // nothing is left of it, and it is stopped
		} {
			found, err := store.Supplies().Find(k.ctx, k, c.f)
			if err != nil {
				t.Fatalf("Find: %v (cause %v)", err, cause(err))
			}
			ids := []string{}
			for _, kept := range found {
				ids = append(ids, kept[0].Entry.Lot)
			}
			if d := cmp.Diff(c.want, ids); d != "" {
				t.Errorf("%+v (-want +got):\n%s", c.f, d)
			}
		}
		found, err := store.Supplies().Find(k.ctx, k, store.FindJots{Subject: first, Limit: 1})
		if err != nil || len(found) != 1 {
			t.Fatalf("Find: %v, %v", found, err)
		}
		if l := supply.Fold(found[0], nil); l.Balance != (supply.Balance{Received: 1000, Used: 20, Unaccounted: 980}) || l.Status != lot.Hold {
			t.Errorf("the balance is %+v, %s", l.Balance, l.Status)
		}
		if list, err := k.Attachments(k.ctx, first); err != nil || len(list) != 1 {
			t.Errorf("its papers are %v, %v", list, err)
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
	before := k.export()
	for name, e := range map[string]supply.Entry{
		"out of a lot on hold": {Lot: first, Used: &supply.Used{Amount: 1}},
		"received once more":   came(first, "bags"),
	} {
		if _, err := store.Supplies().Enter(k.ctx, k, e, 0, meta(20)); fault.KindOf(err) != fault.KindConflict {
			t.Errorf("%s: %v", name, err)
		}
	}
	if k.export() != before {
		t.Error("what was refused changed the book")
	}
}
