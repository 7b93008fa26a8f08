package app_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	ledger "slabside/internal/lot"
	"slabside/internal/packing"
	"slabside/internal/shoptest"
	"slabside/internal/supply"
)

// suppliedShop is the sample shop with things that no sweet is made of.
func suppliedShop() book.Book {
	b := shoptest.Book()
	b.Supplies = []supply.Supply{
		{ID: "bags", Name: "Clear bags", Kind: supply.Packaging, Supplier: "Bag works", LeadDays: 10, Pieces: 50, Touches: true, DeclaredOn: "2026-01-12", GoesWith: []supply.Goes{{Pack: "clear-bag"}}},
		{ID: "labels", Name: "Pear labels", Kind: supply.Packaging, LeadDays: 14, GoesWith: []supply.Goes{{Product: "pear-bag", Pieces: 2}}},
		{ID: "liners", Name: "Jar liners", Kind: supply.Packaging, Touches: true},
		{ID: "propane", Name: "Propane", Kind: supply.Gas, Pieces: 1, Holds: 19, HeatMJKg: 46.3},
		{ID: "gloves", Name: "Gloves", Kind: supply.Consumable, LeadDays: 5},
	}
	return b
}

func deliver(t *testing.T, a *app.App, r app.SupplyReceipt) string {
	t.Helper()
	if r.Supplier == "" {
		r.Supplier = "Bag works"
	}
	id, err := a.ReceiveSupply(context.Background(), r, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func supplyLot(t *testing.T, a *app.App, id string) *app.SupplyResult {
	t.Helper()
	l, err := a.SupplyLot(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func shelfOf(t *testing.T, a *app.App, id string) (app.SupplyShelf, string) {
	t.Helper()
	r, err := a.Supplies(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	why := ""
	for _, x := range r.Reorder {
		if x.Supply == id {
			why = x.Why
		}
	}
	i := slices.IndexFunc(r.Shelves, func(x app.SupplyShelf) bool { return x.Supply == id })
	if i < 0 {
		t.Fatalf("no shelf of %s", id)
	}
	return r.Shelves[i], why
}

// Bags and labels go off their lots by the press that packs; what is put right there is
// put right here; a faulty lot freezes the bags that were packed in it and no others, and
// whoever packs is told to take another.
func TestSupplies_PackedAndHeld(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, _ := shopAt(t, suppliedShop(), "09:00")
	later := deliver(t, a, app.SupplyReceipt{Supply: "bags", Amount: 400, SupplierLot: "B-9", BestBefore: "2028-01-01"})
	first := deliver(t, a, app.SupplyReceipt{Supply: "bags", Amount: 100, SupplierLot: "B-7", BestBefore: "2027-01-01"})
	labels := deliver(t, a, app.SupplyReceipt{Supply: "labels", Amount: 60})
	liners := deliver(t, a, app.SupplyReceipt{Supply: "liners", Amount: 60})
	if l := supplyLot(t, a, liners); l.Status != ledger.Quarantine || !strings.Contains(l.Why, "declaration") {
		t.Errorf("what touches food and has no paper is %s: %s", l.Status, l.Why)
	}
	declared := deliver(t, a, app.SupplyReceipt{Supply: "liners", Amount: 60, DeclaredOn: "2026-02-02"})
	if l := supplyLot(t, a, declared); l.Status != ledger.Usable || l.DeclaredOn != "2026-02-02" {
		t.Errorf("with its paper it is %s, declared %s", l.Status, l.DeclaredOn)
	}
	open, err := a.OpenFor(ctx, "pear-bag")
	if err != nil || len(open) != 2 || open[0].Lots[0].Lot != first || open[1].Each != 2 {
		t.Fatalf("to be opened: %+v, %v", open, err)
	}
	batch := sound(t, a, "pear-barrels", 20)
	bags := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 10, Packaging: []string{later, labels}})
	pack(t, a, app.PackRequest{Lot: bags, Batches: []string{batch}, Bags: 5, Packaging: []string{later}})
	other := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 3, Packaging: []string{first}})
	if l := supplyLot(t, a, later); l.Packed != 15 || l.OnHand != 385 || len(l.Bags) != 1 || l.Bags[0].Lot != bags || l.Bags[0].Bags != 15 {
		t.Errorf("of the bags: %+v, %+v", l.Balance, l.Bags)
	}
	if l := supplyLot(t, a, labels); l.Packed != 20 || l.OnHand != 40 {
		t.Errorf("two labels a bag: %+v", l.Balance)
	}
	// The first of them that was opened stays the one to take.
	if open, err := a.OpenFor(ctx, "pear-bag"); err != nil || open[0].Lots[0].Lot != first {
		t.Errorf("opened last: %+v, %v", open[0].Lots, err)
	}
	// Ten were nine.
	act := bagLot(t, a, bags).Entries[0].Act
	pack(t, a, app.PackRequest{Lot: bags, Bags: 9, Corrects: act})
	if l, s := supplyLot(t, a, later), supplyLot(t, a, labels); l.Packed != 14 || s.Packed != 18 {
		t.Errorf("put right: %d bags, %d labels", l.Packed, s.Packed)
	}
	for name, c := range map[string]struct {
		lots []string
		kind fault.Kind
	}{
		"what does not go with it": {[]string{declared}, fault.KindInvalid},
		"what waits":               {[]string{liners}, fault.KindConflict},
		"what is not there":        {[]string{"s2026-03-17-99"}, fault.KindNotFound},
		"no number":                {[]string{"bags"}, fault.KindInvalid},
	} {
		_, err := a.Pack(ctx, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1, Packaging: c.lots}, "Wilma", "")
		isAt(t, err, c.kind, "packed.opened", "")
		if t.Failed() {
			t.Fatalf("in %s: %v", name, err)
		}
	}
	if err := a.WriteSupply(ctx, supply.Entry{Lot: later}, supplyLot(t, a, later).Entries[0].Act, "Ada", ""); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("a delivery that was packed is taken back: %v", err)
	}

	// The seams of the second lot open.
	if err := a.HoldAny(ctx, later, "seams open", "Ada"); err != nil {
		t.Fatal(err)
	}
	if err := a.HoldSupply(ctx, later, "", "Bela"); err != nil {
		t.Errorf("held twice: %v", err)
	}
	out := func(lot string) error {
		return a.WritePacking(ctx, packing.Entry{Ledger: lot, Moved: &packing.Moved{On: shoptest.Date, Bags: 1, To: packing.ToCounter}}, 0, "Wilma", "")
	}
	if err := out(bags); fault.KindOf(err) != fault.KindConflict || !strings.Contains(err.Error(), later) || !strings.Contains(err.Error(), "seams open") {
		t.Errorf("out of bags whose seams open: %v", err)
	}
	if err := out(other); err != nil {
		t.Errorf("out of other bags of the same batch: %v", err)
	}
	if l := bagLot(t, a, bags); !strings.Contains(l.Frozen, later) || len(l.Opened) != 2 {
		t.Errorf("the bags say %q, in %+v", l.Frozen, l.Opened)
	}
	if _, err := a.Pack(ctx, app.PackRequest{Lot: bags, Batches: []string{batch}, Bags: 1, Packaging: []string{first}}, "Wilma", ""); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("more bags into a frozen lot: %v", err)
	}
	day, err := a.PackingDay(ctx)
	if err != nil {
		t.Fatal(err)
	}
	held, err := a.OnHold(ctx)
	if err != nil || len(held.Stopped) != 1 || held.Stopped[0].Name != "Clear bags" || len(held.Stopped[0].Frozen) != 1 || held.Stopped[0].Frozen[0].ID != bags {
		t.Errorf("on hold: %+v, %v", held, err)
	}
	if len(day.Lots) != 2 {
		t.Errorf("%d lots of bags", len(day.Lots))
	}
	tr, err := a.Trace(ctx, later)
	if err != nil || tr.Kind != app.TracePacks || len(tr.Down) != 1 || tr.Down[0].ID != bags || tr.Bags == nil || tr.Bags.Packed != 14 || tr.Allergy != nil {
		t.Errorf("traced: %+v, %v", tr, err)
	}
	up, err := a.Trace(ctx, bags)
	if err != nil || !slices.ContainsFunc(up.Up, func(s app.TraceStep) bool { return s.ID == labels && s.Name == "Pear labels" }) || len(up.Stopped) != 1 {
		t.Errorf("the bags go back to %+v, %v", up.Up, err)
	}
	// A jar that those bags were opened into is stopped too, and all is free again.
	if err := a.WriteSupply(ctx, supply.Entry{Lot: later, Placed: &supply.Placed{As: ledger.Usable, Why: "another roll"}}, 0, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	if err := a.OpenBags(ctx, bags, 2, "j-counter-1", "Wilma", ""); err != nil {
		t.Fatal(err)
	}
	if err := a.HoldSupply(ctx, later, "ink comes off", "Ada"); err != nil {
		t.Fatal(err)
	}
	if j, err := a.Jar(ctx, "j-counter-1"); err != nil || !strings.Contains(j.Frozen, "ink comes off") {
		t.Errorf("the jar: %q, %v", j.Frozen, err)
	}
}

// How long it lasts: bags by the presses, gloves by the counts, gas by the boils.
func TestSupplies_Cover(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, _ := shopAt(t, suppliedShop(), "09:00")
	write := func(e supply.Entry) {
		t.Helper()
		if err := a.WriteSupply(ctx, e, 0, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	if x, why := shelfOf(t, a, "gloves"); why != "" || x.CoverDays != nil || x.Least != 0 {
		t.Errorf("of what never came nothing is known: %+v, %q", x, why)
	}
	if x, _ := shelfOf(t, a, "propane"); x.UsedBy != "plan" || x.Used <= 0 || x.CoverDays == nil || x.CoverDays.Value != 0 {
		t.Errorf("before any boil the plan tells: %+v", x)
	}
	gloves := deliver(t, a, app.SupplyReceipt{Supply: "gloves", Amount: 100, On: "2026-02-06"})
	write(supply.Entry{Lot: gloves, Counted: &supply.Counted{Found: 60}})
	x, why := shelfOf(t, a, "gloves")
	if x.UsedBy != "counts" || x.Used != 40 || x.UsedDays != 40 || x.Free != 60 || x.Unaccounted != 40 {
		t.Errorf("by the count: %+v", x)
	}
	if why != "" || math.Abs(x.CoverDays.Value-60) > 1e-9 { // one a day since it came
		t.Errorf("gloves last %+v, %q", x.CoverDays, why)
	}
	// One press of ten bags on the first day: the exact 90 % limits of a Poisson's count of
	// one are 0.0513 and 4.744 (Garwood 1936, usual printed tables, from memory).
	bags := deliver(t, a, app.SupplyReceipt{Supply: "bags", Amount: 100})
	batch := sound(t, a, "pear-barrels", 10)
	pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 10, Packaging: []string{bags}})
	x, _ = shelfOf(t, a, "bags")
	if c := x.CoverDays; x.UsedBy != "lots" || c == nil || math.Abs(c.Value-9) > 1e-9 || math.Abs(c.Low/(9/4.744)-1) > 0.02 || math.Abs(c.High/(9/0.0513)-1) > 0.02 {
		t.Errorf("bags last %+v", c)
	}
	write(supply.Entry{Lot: bags, Counted: &supply.Counted{Found: 50}})
	if _, why := shelfOf(t, a, "bags"); !strings.Contains(why, "more is ordered at 50 pieces") {
		t.Errorf("at the least: %q", why)
	}
	write(supply.Entry{Lot: bags, Placed: &supply.Placed{As: ledger.Hold}})
	if x, why := shelfOf(t, a, "bags"); x.Free != 0 || x.OnHand != 50 || why != "nothing is left that may be used" {
		t.Errorf("on hold: %+v, %q", x, why)
	}
	// The boil begun tells what it burnt: its heat by the page of the boil, to the gas.
	deliver(t, a, app.SupplyReceipt{Supply: "propane", Amount: 2, Supplier: "Gas works"})
	r, err := a.Boil(ctx, app.BoilRequest{Recipe: "pear-barrels"})
	if err != nil {
		t.Fatal(err)
	}
	x, _ = shelfOf(t, a, "propane")
	want := r.EnergyKWh.Value * 3.6 / 46.3 / 19
	if x.UsedBy != "boils" || x.Used < 0.8*want || x.Used > 1.2*want {
		t.Errorf("%.4f cylinders by the boil, want some %.4f: %+v", x.Used, want, x)
	}
}

func TestReceiveSupply_Refusals(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, _ := shopAt(t, suppliedShop(), "09:00")
	for _, c := range []struct {
		name, field string
		r           app.SupplyReceipt
	}{
		{"of what the book does not have", "received.supply", app.SupplyReceipt{Supply: "string", Amount: 1, Supplier: "a"}},
		{"tomorrow", "received.on", app.SupplyReceipt{Supply: "gloves", Amount: 1, Supplier: "a", On: "2026-03-18"}},
		{"past its date", "received.best_before", app.SupplyReceipt{Supply: "gloves", Amount: 1, Supplier: "a", BestBefore: "2026-03-01"}},
		{"declared tomorrow", "received.declared_on", app.SupplyReceipt{Supply: "gloves", Amount: 1, Supplier: "a", DeclaredOn: "2026-03-18"}},
		{"none", "received.amount", app.SupplyReceipt{Supply: "gloves", Supplier: "a"}},
		{"from nobody", "received.supplier", app.SupplyReceipt{Supply: "gloves", Amount: 1}},
	} {
		_, err := a.ReceiveSupply(ctx, c.r, "Ada", "")
		if f, ok := err.(*fault.Error); !ok || f.Field != c.field {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	id := deliver(t, a, app.SupplyReceipt{Supply: "bags", Amount: 100, SupplierLot: "B-7"})
	if _, err := a.ReceiveSupply(ctx, app.SupplyReceipt{Lot: id, Amount: 90, Corrects: supplyLot(t, a, id).Entries[0].Act}, "Ada", "counted"); err != nil {
		t.Fatal(err)
	}
	if l := supplyLot(t, a, id); l.Received != 90 || l.SupplierLot != "B-7" {
		t.Errorf("put right: %+v", l.SupplyLine)
	}
}
