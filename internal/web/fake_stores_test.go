package web

import (
	"context"
	"time"

	"slabside/internal/app"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
)

// fixtureLot is a lot with a ledger in the fake shop.
const fixtureLot = "r2026-10-20-1"

// fakeLot is a lot of the fake shop: every place and every badge is among them.
func fakeLot(id string) app.LotLine {
	days := func(n int) *int { return &n }
	l := app.LotLine{Lot: id, Ingredient: "sugar", Name: "Granulated sugar", Supplier: "Fenwold Sugar", SupplierLot: "GS-2304", On: "2026-10-20", BestBefore: "2028-10-01", DaysLeft: days(673),
		StatementOn: "2026-08-03", MayContain: []string{"milk", "tree nut"}, Certificate: "CoA 2304", Note: "two sacks torn", Status: lot.Usable, Left: true, CountedOn: "2026-11-24", SureMg: 100_000,
		Balance: lot.Balance{ReceivedMg: 50e6, UsedMg: 18_500_000, WastedMg: 250_000, UnaccountedMg: 1_250_000, OnHandMg: 30e6}}
	switch id {
	case "r2026-09-02-1":
		l.Status, l.Why, l.BestBefore, l.DaysLeft = lot.Hold, "glass in the next sack", "2028-09-01", days(643)
	case "r2026-08-18-1":
		l.Ingredient, l.Name, l.Supplier, l.SupplierLot, l.BestBefore, l.DaysLeft, l.Soon = "syrup", "Glucose syrup 42 DE", "Harrow & Pike", "0871-A", "2026-12-16", days(18), true
	case "r2026-11-20-1":
		l.Ingredient, l.Name, l.Supplier, l.SupplierLot, l.Status, l.Why, l.BestBefore, l.DaysLeft = "syrup", "Glucose syrup 42 DE", "Harrow & Pike", "0931-B", lot.Quarantine, "its statement says soy, the shop book does not", "", nil
	case "r2026-01-07-1":
		l.Ingredient, l.Name, l.Supplier, l.SupplierLot, l.BestBefore, l.DaysLeft, l.Soon = "butter", "Butter", "Dunmere Dairy", "B 26-1", "2026-11-20", days(-8), true
	}
	return l
}

func (f *fakeShop) Stores(context.Context, string) (*app.StoresResult, error) {
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	lots := func(ids ...string) (out []app.LotLine) {
		for _, id := range ids {
			out = append(out, fakeLot(id))
		}
		return out
	}
	return &app.StoresResult{On: fixtureDay, Units: q.Metric.With(q.Point), ShortMg: 3_200_000, Listed: 2,
		Shelves: []app.Shelf{
			{Ingredient: "sugar", Name: "Granulated sugar", OnHandMg: 60e6, FreeMg: 30e6, UnaccountedMg: 2_500_000, NeededMg: 33_200_000, UsedMg: 120e6, UsedDays: 28, UsedBy: "stores", LeadDays: 4,
				CoverDays: &q.Estimate{Value: 7, Low: 5.6, High: 9.1, Basis: q.Estimated}, Lots: lots("r2026-09-02-1", fixtureLot)},
			{Ingredient: "syrup", Name: "Glucose syrup 42 DE", OnHandMg: 60e6, FreeMg: 30e6, NeededMg: 12e6, UsedMg: 40e6, UsedDays: 28, UsedBy: "batches",
				CoverDays: &q.Estimate{Value: 21, Low: 16.4, High: 27.2, Basis: q.Estimated}, Lots: lots("r2026-08-18-1", "r2026-11-20-1")},
			{Ingredient: "butter", Name: "Butter", OnHandMg: 30e6, FreeMg: 30e6, Lots: lots("r2026-01-07-1")},
			{Ingredient: "citric", Name: "Citric acid", Lots: []app.LotLine{}},
		},
		Short:    []app.Short{{Ingredient: "sugar", Name: "Granulated sugar", NeededMg: 33_200_000, FreeMg: 30e6, StoppedMg: 30e6, ShortMg: 3_200_000, Instead: []app.Substitute{{Ingredient: "beet", Name: "Raw cane sugar", FreeMg: 5e6, Changes: []string{"nobody has stated what it may contain"}}}}},
		Reorder:  []app.Reorder{{Ingredient: "sugar", Name: "Granulated sugar", Why: "the day needs 33.2 kg, and 30 kg may be used"}},
		Cautions: []app.Caution{{Code: "past-date", Text: "Butter, lot r2026-01-07-1, is past its best-before date: look at it before it is used"}}}, nil
}

func (f *fakeShop) Lot(_ context.Context, id string) (*app.LotResult, error) {
	if err := lot.CheckID(id); err != nil {
		return nil, err
	}
	at := time.Date(2026, 10, 20, 9, 0, 0, 0, time.UTC)
	line := fakeLot(id)
	kept := func(act int64, e lot.Entry, corrects int64) lot.Kept {
		e.Lot = id
		return lot.Kept{Entry: e, Act: act, At: at.Add(time.Duration(act) * 30 * time.Hour), Person: "Ada", Corrects: corrects}
	}
	return &app.LotResult{LotLine: line, Units: q.Metric.With(q.Point), Entries: []app.LotEntry{
		{Kept: kept(4, lot.Entry{Received: &lot.Received{On: line.On, Ingredient: line.Ingredient, Supplier: line.Supplier, SupplierLot: line.SupplierLot, BestBefore: line.BestBefore, MassMg: 50e6,
			StatementOn: line.StatementOn, MayContain: line.MayContain}}, 0), Moved: true, OnHandMg: 50e6},
		{Kept: kept(5, lot.Entry{Used: &lot.Used{MassMg: 15_800_000, Batch: "2026-11-27-1"}}, 0), Corrected: true},
		{Kept: kept(6, lot.Entry{Used: &lot.Used{MassMg: 18_500_000, Batch: "2026-11-27-1"}}, 5), Moved: true, OnHandMg: 31_500_000},
		{Kept: kept(7, lot.Entry{Wasted: &lot.Wasted{MassMg: 250_000, Why: "spilt"}}, 0), Moved: true, OnHandMg: 31_250_000},
		{Kept: kept(8, lot.Entry{Counted: &lot.Counted{FoundMg: 30e6, SureMg: 100_000}}, 0), Moved: true, UnaccountedMg: 1_250_000, OnHandMg: 30e6},
		{Kept: kept(9, lot.Entry{Placed: &lot.Placed{As: lot.Hold}}, 0), Moved: true, OnHandMg: 30e6},
		{Kept: kept(10, lot.Entry{Placed: &lot.Placed{As: lot.Usable, Why: "looked through: another mill"}}, 0), Moved: true, OnHandMg: 30e6},
	}}, nil
}

func (f *fakeShop) Receive(context.Context, app.ReceiveRequest, string, string) (string, error) {
	return fixtureLot, nil
}

func (f *fakeShop) Make(context.Context, app.MakeRequest, string, string) (string, error) {
	return fixtureLot, nil
}

func (f *fakeShop) ReceiveListed(context.Context, string) ([]string, error) {
	return []string{fixtureLot}, nil
}

func (f *fakeShop) WriteLot(_ context.Context, e lot.Entry, _ int64, _, _ string) error {
	return e.Check()
}

func (f *fakeShop) HoldLot(_ context.Context, id, _, _ string) error { return lot.CheckID(id) }
