package web

import (
	"context"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/supply"
)

// fixtureSupply is a lot of packaging with a ledger in the fake shop.
const fixtureSupply = "s2026-10-20-1"

func fakeSupply(id string) app.SupplyLine {
	days := 380
	l := app.SupplyLine{Lot: id, Supply: "bags-small", Name: "Clear bags, small", Kind: supply.Packaging, Unit: supply.Pieces, Supplier: "Saltmarsh Packaging", SupplierLot: "B-7", On: "2026-10-20", BestBefore: "2027-12-13", DaysLeft: &days,
		DeclaredOn: "2026-02-16", Certificate: "DoC 16", Status: lot.Usable, Balance: supply.Balance{Received: 1000, Packed: 380, Used: 20, Wasted: 10, Unaccounted: 15, OnHand: 575}, CountedOn: "2026-11-24", Sure: 5}
	switch id {
	case "s2026-11-02-1":
		l.SupplierLot, l.Status, l.Why = "B-9", lot.Hold, "seams open"
	case "s2026-11-20-1":
		l.Supply, l.Name, l.Kind, l.Unit, l.BestBefore, l.DaysLeft, l.Supplier, l.SupplierLot = "propane", "Propane", supply.Gas, supply.ByMass, "", nil, "Harbour Gas", ""
		l.Balance = supply.Balance{Received: 38e6, Used: 4e6, OnHand: 34e6}
	}
	return l
}

func (f *fakeShop) Supplies(context.Context, string) (*app.SuppliesResult, error) {
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	return &app.SuppliesResult{On: fixtureDay, Units: q.Metric.With(q.Point),
		Shelves: []app.SupplyShelf{
			{Supply: "bags-small", Name: "Clear bags, small", Kind: supply.Packaging, Unit: supply.Pieces, Touches: true, OnHand: 1150, Free: 575, Unaccounted: 30, Least: 600, Used: 380, UsedDays: 40, UsedBy: "lots", LeadDays: 10,
				CoverDays: &q.Estimate{Value: 60, Low: 51, High: 71, Basis: q.Estimated}, Lots: []app.SupplyLine{fakeSupply("s2026-11-02-1"), fakeSupply(fixtureSupply)}},
			{Supply: "labels", Name: "Round labels", Kind: supply.Packaging, Unit: supply.Pieces, Lots: []app.SupplyLine{}},
			{Supply: "propane", Name: "Propane", Kind: supply.Gas, Unit: supply.ByMass, OnHand: 34e6, Free: 34e6, Used: 2.1e6, UsedDays: 1, UsedBy: "plan", CoverDays: &q.Estimate{Value: 16, Low: 13, High: 19, Basis: q.Estimated}, Lots: []app.SupplyLine{fakeSupply("s2026-11-20-1")}},
			{Supply: "gloves", Name: "Gloves", Kind: supply.Consumable, Unit: supply.Pieces, Lots: []app.SupplyLine{}},
		},
		Reorder:  []app.SupplyReorder{{Supply: "bags-small", Name: "Clear bags, small", Supplier: "Saltmarsh Packaging", Why: "575 pieces may be used, and more is ordered at 600 pieces"}},
		Cautions: []app.Caution{{Code: "no-declaration", Text: "Gloves, lot s2026-11-20-9, touches food, and no declaration is on file that it may"}}}, nil
}

func (f *fakeShop) SupplyLot(_ context.Context, id string) (*app.SupplyResult, error) {
	if err := supply.CheckID(id); err != nil {
		return nil, err
	}
	if id != fixtureSupply {
		return nil, fault.NotFound("there is no lot %s", id).At("lot")
	}
	kept := func(act int64, e supply.Entry) supply.Kept {
		e.Lot = id
		return supply.Kept{Entry: e, Act: act, At: fixtureNow(), TakenIn: fixtureNow(), Person: "Odile"}
	}
	return &app.SupplyResult{SupplyLine: fakeSupply(id), Units: q.Metric.With(q.Point), Entries: []app.SupplyEntry{
		{Kept: kept(12, supply.Entry{Received: &supply.Received{On: "2026-10-20", Supply: "bags-small", Unit: supply.Pieces, Amount: 1000, Supplier: "Saltmarsh Packaging", SupplierLot: "B-7"}}), Stands: true, OnHand: 1000},
		{Kept: kept(14, supply.Entry{}), Into: fixtureBags, Taken: 380, Stands: true, OnHand: 620},
		{Kept: kept(15, supply.Entry{Used: &supply.Used{Amount: 20, For: "samples"}}), Stands: true, OnHand: 600},
		{Kept: kept(16, supply.Entry{Wasted: &supply.Wasted{Amount: 10, Why: "torn"}}), Stands: true, OnHand: 590},
		{Kept: kept(17, supply.Entry{Counted: &supply.Counted{Found: 575, Sure: 5}}), Stands: true, Unaccounted: 15, OnHand: 575},
	}, Bags: []app.SupplyBags{{Lot: fixtureBags, Name: "Pear drops 113 g", Pieces: 380, Bags: 380, OnHand: 19}}}, nil
}

func (f *fakeShop) ReceiveSupply(context.Context, app.SupplyReceipt, string, string) (string, error) {
	return fixtureSupply, nil
}

func (f *fakeShop) WriteSupply(_ context.Context, e supply.Entry, _ int64, _, _ string) error {
	return e.Check()
}

func (f *fakeShop) HoldSupply(context.Context, string, string, string) error { return nil }

func (f *fakeShop) OpenFor(_ context.Context, product string) ([]app.OpenChoice, error) {
	if _, ok := f.book.Product(product); !ok {
		return nil, fault.NotFound("no product %q in the shop book", product).At("product")
	}
	return []app.OpenChoice{{Supply: "bags-small", Name: "Clear bags, small", Each: 1, Lots: []app.SupplyLine{fakeSupply(fixtureSupply), fakeSupply("s2026-11-02-1")}}, {Supply: "labels", Name: "Round labels", Each: 1, Lots: []app.SupplyLine{}}}, nil
}
