package storetest

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/store"
)

// lot writes an entry that must be taken.
func (k kit) lot(e lot.Entry, corrects int64, minutes int) store.Head {
	k.t.Helper()
	head, err := k.EnterLot(k.ctx, e, corrects, meta(minutes))
	if err != nil {
		k.t.Fatalf("EnterLot %s: %v (cause %v)", e.Kind(), err, cause(err))
	}
	return head
}

// came is the delivery of 25 kg of an ingredient.
func came(id, ingredient, best string) lot.Entry {
	return lot.Entry{Lot: id, Received: &lot.Received{On: id[1:11], Ingredient: ingredient, Supplier: "Zoë's stores", SupplierLot: "7 飴", BestBefore: best,
		MassMg: 25e6, StatementOn: "2026-01-05", MayContain: []string{"milk"}}}
}

// someLots writes four entries: a lot that is received, used, corrected and held.
func (k kit) someLots(ingredient string) store.Head {
	const id = "r2026-03-14-1"
	k.lot(came(id, ingredient, ""), 0, 4)
	used := k.lot(lot.Entry{Lot: id, Used: &lot.Used{MassMg: 26e6, Batch: "2026-03-14-1"}}, 0, 4)
	k.lot(lot.Entry{Lot: id, Used: &lot.Used{MassMg: 6e6, Batch: "2026-03-14-1"}}, int64(used), 4)
	return k.lot(lot.Entry{Lot: id, Placed: &lot.Placed{As: lot.Hold}}, 0, 4)
}

// lots returns the numbers of the ledgers that are found.
func (k kit) lots(f store.FindLots) []string {
	k.t.Helper()
	if f.Limit == 0 {
		f.Limit = 100
	}
	list, err := k.Lots(k.ctx, f)
	if err != nil {
		k.t.Fatalf("Lots %+v: %v (cause %v)", f, err, cause(err))
	}
	out := []string{}
	for _, l := range list {
		out = append(out, l.ID)
	}
	return out
}

func testLots(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	b.Ingredients = append(b.Ingredients, ingredients("spare")...)
	k.put(b, 0)
	sugar := b.Ingredients[0].ID
	const first, second, third, last = "r2026-03-14-10", "r2026-03-13-2", "r2026-03-13-10", "r2026-03-02-1"
	if id, err := k.NextLot(k.ctx, "2026-03-13"); err != nil || id != "r2026-03-13-1" {
		t.Errorf("the first lot of a day is %s, %v", id, err)
	}
	k.lot(came(third, sugar, "2027-01-01"), 0, 1)
	k.lot(came(last, sugar, ""), 0, 1)
	k.lot(came(first, "spare", "2026-12-01"), 0, 1)
	k.lot(came(second, sugar, "2027-01-01"), 0, 1)
	if id, err := k.NextLot(k.ctx, "2026-03-13"); err != nil || id != "r2026-03-13-11" {
		t.Errorf("the next lot of a day is %s, %v", id, err)
	}
	k.lot(lot.Entry{Lot: second, Placed: &lot.Placed{As: lot.Hold}}, 0, 2)
	k.lot(lot.Entry{Lot: third, Counted: &lot.Counted{}}, 0, 2)
	for _, c := range []struct {
		f    store.FindLots
		want []string
	}{
		{store.FindLots{}, []string{first, second, third, last}},
		{store.FindLots{After: second}, []string{third, last}},
		{store.FindLots{Limit: 1}, []string{first}},
		{store.FindLots{Ingredient: sugar, OnHand: true}, []string{second, last}},
		{store.FindLots{Status: lot.Hold}, []string{second}},
		{store.FindLots{Lot: third}, []string{third}},
		{store.FindLots{Lot: "r2026-03-13-3"}, []string{}},
	} {
		if d := cmp.Diff(c.want, k.lots(c.f)); d != "" {
			t.Errorf("%+v (-want +got):\n%s", c.f, d)
		}
	}
	k.sound()

	// A correction stands where the entry stood, in the table and after an import too.
	used := k.lot(lot.Entry{Lot: last, Used: &lot.Used{MassMg: 26e6}}, 0, 3)
	k.lot(lot.Entry{Lot: last, Counted: &lot.Counted{FoundMg: 19e6, SureMg: 50_000}}, 0, 4)
	k.lot(lot.Entry{Lot: last, Used: &lot.Used{MassMg: 5e6}}, int64(used), 5)
	list, err := k.Lots(k.ctx, store.FindLots{Lot: last, Limit: 1})
	if err != nil || len(list) != 1 {
		t.Fatalf("Lots = %d, %v", len(list), err)
	}
	if want := (lot.Balance{ReceivedMg: 25e6, UsedMg: 5e6, UnaccountedMg: 1e6, OnHandMg: 19e6}); list[0].Balance != want {
		t.Errorf("the balance is %+v, want %+v", list[0].Balance, want)
	}
	if e := list[0].Entries[3]; e.Person != meta(5).Person || !e.At.Equal(Noon(5)) || e.Reason != meta(5).Reason || e.Corrects != int64(used) {
		t.Errorf("the correction is kept as %+v", e)
	}

	// A delivery that is taken back leaves the list, and its number can be used anew.
	kept, _ := k.Lots(k.ctx, store.FindLots{Lot: first, Limit: 1})
	k.lot(lot.Entry{Lot: first}, kept[0].Entries[0].Act, 6)
	if got := k.lots(store.FindLots{Limit: 1}); got[0] != second {
		t.Errorf("taken back and still listed: %v", got)
	}
	if got := k.lots(store.FindLots{Lot: first}); len(got) != 1 {
		t.Error("taken back and not found by its number")
	}
	k.sound()
	k.lot(came(first, sugar, "2026-12-02"), 0, 7)
	if got := k.lots(store.FindLots{Ingredient: sugar, Limit: 1}); got[0] != first {
		t.Errorf("received anew and not listed: %v", got)
	}
	k.sound()
}

func testLotsRefused(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	k.put(b, 0)
	const id = "r2026-03-14-1"
	k.lot(came(id, b.Ingredients[0].ID, ""), 0, 1)
	hold := k.lot(lot.Entry{Lot: id, Placed: &lot.Placed{As: lot.Hold, Why: "look"}}, 0, 2)
	before := k.export()
	for _, c := range []struct {
		name     string
		e        lot.Entry
		corrects int64
		kind     fault.Kind
	}{
		{"received twice", came(id, b.Ingredients[0].ID, ""), 0, fault.KindConflict},
		{"an ingredient that never was", came("r2026-03-14-2", "none", ""), 0, fault.KindNotFound},
		{"not received", lot.Entry{Lot: "r2026-03-14-3", Counted: &lot.Counted{}}, 0, fault.KindNotFound},
		{"used on hold", lot.Entry{Lot: id, Used: &lot.Used{MassMg: 1}}, 0, fault.KindConflict},
		{"a hold taken back", lot.Entry{Lot: id}, int64(hold), fault.KindInvalid},
		{"no such act", lot.Entry{Lot: id}, 99, fault.KindNotFound},
		{"what cannot be meant", lot.Entry{Lot: id, Counted: &lot.Counted{FoundMg: -1}}, 0, fault.KindInvalid},
	} {
		_, err := k.EnterLot(k.ctx, c.e, c.corrects, meta(3))
		wantKind(t, c.name, err, c.kind)
	}
	if d := cmp.Diff(before, k.export()); d != "" {
		t.Errorf("a refusal changed the book (-before +after):\n%s", d)
	}
	_, err := k.Lots(k.ctx, store.FindLots{})
	wantKind(t, "no limit", err, fault.KindInvalid)
	k.sound()
}
