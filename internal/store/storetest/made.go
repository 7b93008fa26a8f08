package storetest

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/store"
)

// testMade makes a lot out of others: what was taken of each goes off its ledger in the
// same act, follows every correction, and is refused whole or written whole.
func testMade(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	k.put(b, 0)
	sugar := b.Ingredients[0].ID
	const one, two, stock, again = "r2026-03-13-1", "r2026-03-13-2", "r2026-03-14-1", "r2026-03-14-2"
	k.lot(came(one, sugar, "2027-01-01"), 0, 1)
	k.lot(came(two, sugar, ""), 0, 1)
	of := func(id string, parts ...lot.Part) lot.Entry {
		m := &lot.Made{Of: parts, Strength: 0.25, Carrier: "water", CarrierMg: 3e6, LostMg: 1000, Packets: 7}
		return lot.Entry{Lot: id, Received: &lot.Received{On: id[1:11], Ingredient: sugar, Supplier: "made here", BestBefore: "2026-03-21", MassMg: m.InMg() - 1000, MayContain: []string{"milk"}, Made: m}}
	}
	used := func(what string, want ...int64) {
		t.Helper()
		for i, id := range []string{one, two} {
			list, err := k.Lots(k.ctx, store.FindLots{Lot: id, Limit: 1})
			if err != nil || list[0].UsedMg != want[i] || list[0].OnHandMg != 25e6-want[i] {
				t.Errorf("%s: of %s %d mg are used and %d on hand, want %d used; %v", what, id, list[0].UsedMg, list[0].OnHandMg, want[i], err)
			}
		}
		k.sound()
	}
	first := int64(k.lot(of(stock, lot.Part{Lot: one, MassMg: 1e6}), 0, 2))
	used("made", 1e6, 0)
	second := int64(k.lot(of(stock, lot.Part{Lot: one, MassMg: 2e6}, lot.Part{Lot: two, MassMg: 3e6}), first, 3))
	used("of more, and of another too", 2e6, 3e6)
	third := int64(k.lot(of(stock, lot.Part{Lot: two, MassMg: 4e6}), second, 4))
	used("of the other alone", 0, 4e6)
	k.lot(lot.Entry{Lot: stock}, third, 5)
	used("taken back", 0, 0)
	anew := int64(k.lot(of(stock, lot.Part{Lot: one, MassMg: 5e6}), 0, 6))
	k.lot(of(again, lot.Part{Lot: stock, MassMg: 1e6}), 0, 6)
	used("made anew, and some of it made into another", 5e6, 0)
	list, err := k.Lots(k.ctx, store.FindLots{Lot: stock, Limit: 1})
	if err != nil || list[0].ReceivedMg != 8e6-1000 || list[0].UsedMg != 1e6 || list[0].Receipt.Strength() != 0.25 || list[0].Receipt.Made.Packets != 7 {
		t.Errorf("the solution is %+v, %v", list[0], err)
	}

	k.lot(lot.Entry{Lot: two, Placed: &lot.Placed{As: lot.Hold}}, 0, 7)
	before := k.export()
	longer := of("r2026-03-14-3", lot.Part{Lot: one, MassMg: 1e6})
	longer.Received.BestBefore = "2027-01-02"
	for _, c := range []struct {
		name     string
		e        lot.Entry
		corrects int64
		kind     fault.Kind
	}{
		{"of a lot on hold", of("r2026-03-14-3", lot.Part{Lot: one, MassMg: 1e6}, lot.Part{Lot: two, MassMg: 1e6}), 0, fault.KindConflict},
		{"of no such lot", of("r2026-03-14-3", lot.Part{Lot: "r2026-03-14-9", MassMg: 1e6}), 0, fault.KindNotFound},
		{"of what it is in", of(stock, lot.Part{Lot: again, MassMg: 1e6}), anew, fault.KindInvalid},
		{"longer than its lots", longer, 0, fault.KindInvalid},
		{"taken back where more is made of it", lot.Entry{Lot: stock}, anew, fault.KindConflict},
		{"corrected in the ledger of its lot", lot.Entry{Lot: one, Used: &lot.Used{MassMg: 1}}, anew, fault.KindConflict},
		{"taken back in the ledger of its lot", lot.Entry{Lot: one}, anew, fault.KindConflict},
		{"into a lot by hand", lot.Entry{Lot: one, Used: &lot.Used{MassMg: 1, Into: stock}}, 0, fault.KindInvalid},
	} {
		_, err := k.EnterLot(k.ctx, c.e, c.corrects, meta(8))
		wantKind(t, c.name, err, c.kind)
	}
	if d := cmp.Diff(before, k.export()); d != "" {
		t.Errorf("a refusal changed the book (-before +after):\n%s", d)
	}
	k.sound()
}
