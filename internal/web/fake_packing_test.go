package web

import (
	"context"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// fixtureBags is a bag lot with a ledger in the fake shop.
const fixtureBags = "b2026-11-28-2"

func fakeBags() app.BagLine {
	return app.BagLine{Lot: fixtureBags, On: fixtureDay, Product: "pear-113", Name: "Pear drops 113 g", LabelMg: 113_000, BestBefore: "2027-11-28", TareMg: 4_200, FromMg: 117_500, ToMg: 120_500, Scale: "counter",
		Balance: packing.Balance{Packed: 42, Out: packing.Outs{Counter: 12, Order: 10}, Unaccounted: 1, OnHand: 19}, Status: packing.Hold, Why: "glass beside the sieve",
		Of: []packing.Share{{Batch: fixtureBatch, Recipe: "pear", MassMg: 4_820_000}}, Aside: []string{fixtureBatch}}
}

func fakeJar() app.JarLine {
	return app.JarLine{Jar: "j-counter-3", JarBalance: packing.JarBalance{FilledMg: 3_200_000, OutMg: packing.Outs{Tasting: 40_000, Counter: 1_500_000}, OnHandMg: 1_660_000}, Status: packing.Usable, Filled: fixtureDay, Blend: true,
		Of: []packing.Share{{Batch: fixtureBatch, Recipe: "pear", MassMg: 1_700_000}, {Batch: "2026-11-27-1", Recipe: "pear", MassMg: 1_500_000}}}
}

func fakeLoose() app.LooseLine {
	return app.LooseLine{Loose: packing.Loose{Batch: fixtureBatch, MadeMg: 9_310_000, PackedMg: 4_820_000, JarsMg: 1_700_000, OutMg: packing.Outs{Tasting: 60_000, Waste: 30_000}, UnaccountedMg: 40_000, LeftMg: 2_660_000},
		On: "2026-11-27", Recipe: "pear", Name: "Pear drops", Place: record.Free, Weighed: true, Packs: true}
}

func (f *fakeShop) PackingDay(context.Context) (*app.PackingResult, error) {
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	open := fakeBags()
	open.Lot, open.Status, open.Why, open.Aside, open.Unaccounted = "b2026-11-28-1", packing.Usable, "", nil, 0
	unweighed := app.LooseLine{Loose: packing.Loose{Batch: "2026-11-28-1"}, On: fixtureDay, Recipe: "pear", Name: "Pear drops", Place: record.Free, Packs: true}
	held := fakeLoose()
	held.Batch, held.Place, held.Why, held.Packs = "2026-11-27-1", record.OnHold, "a chip", false
	return &app.PackingResult{On: fixtureDay, Units: q.Metric.With(q.Point),
		Lines: []app.PackLine{{Product: "pear-113", Name: "Pear drops 113 g", NetMg: 113_000, Asked: 60, Must: 40, Stock: 6, Today: 10, Left: 44, Fills: 23, Short: []string{}, Batches: []string{fixtureBatch}},
			{Product: "mint-113", Name: "Mint leaves 113 g", NetMg: 113_000, Asked: 20, Left: 20, Short: []string{"Mint leaves"}, Batches: []string{}}},
		Batches: []app.LooseLine{held, fakeLoose(), unweighed}, Lots: []app.BagLine{fakeBags(), open}, Jars: []app.JarLine{fakeJar()},
		Cautions: []app.Caution{{Code: "more-packings", Text: "there are more lots and jars than the 3000 that are looked at"}}}, nil
}

func (f *fakeShop) PackedFor(_ context.Context, product string) (*app.PackLine, error) {
	p, ok := f.book.Product(product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", product).At("product")
	}
	return &app.PackLine{Product: product, Name: p.Name, NetMg: p.Net.Milligrams(), Asked: 60, Must: 40, Stock: 6, Today: 10, Left: 44, Fills: 23, Short: []string{}, Batches: []string{fixtureBatch}}, nil
}

func (f *fakeShop) PackWindow(_ context.Context, product string, tare q.Kilograms, _ string) (*app.PackWindow, error) {
	p, ok := f.book.Product(product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", product).At("product")
	}
	w, err := packing.WindowOf("uk", p.Net.Milligrams(), tare.Milligrams(), 500, 2640)
	return &app.PackWindow{Product: product, Name: p.Name, Window: w, Rule: "UK SI 2006/659", Basis: "label and bag, up to the step of the scale; to that one piece", Units: q.Metric.With(q.Point),
		Cautions: []app.Caution{{Code: "not-legal-advice", Text: "Not legal advice; the authority decides."}}, Sources: []string{"dir76-211", "practice"}}, err
}

func (f *fakeShop) Pack(context.Context, app.PackRequest, string, string) (string, error) {
	return fixtureBags, nil
}

func (f *fakeShop) BagLots(context.Context, app.BagQuery) (app.BagList, error) {
	return app.BagList{Lots: []app.BagLine{fakeBags()}}, nil
}

func fakePacked(act int64, e packing.Entry, corrects, onHand, open int64) app.BagEntry {
	at := time.Date(2026, 11, 28, 14, 0, 0, 0, time.UTC)
	return app.BagEntry{Kept: packing.Kept{Entry: e, Act: act, At: at.Add(time.Duration(act) * time.Minute), Person: "Wilma", Corrects: corrects}, Stands: true, OnHand: onHand, Unaccounted: open}
}

func (f *fakeShop) BagLot(_ context.Context, id string) (*app.BagLot, error) {
	if err := packing.CheckLot(id); err != nil {
		return nil, err
	}
	l := fakeBags()
	l.Lot = id
	moved := func(n int64, to packing.Out, order string) packing.Entry {
		return packing.Entry{Ledger: id, Moved: &packing.Moved{On: fixtureDay, Bags: n, To: to, For: order}}
	}
	slip := fakePacked(2, moved(2, packing.ToCounter, ""), 0, 0, 0)
	slip.Stands, slip.Corrected = false, true
	return &app.BagLot{BagLine: l, Units: q.Metric.With(q.Point), Rule: "UK SI 2006/659", Sources: []string{"dir76-211", "si2006-659"},
		Check: &packing.Check{Bags: 5, MeanMg: 114_200, LeastMg: 112_900, MostMg: 115_800, Short: 1},
		Entries: []app.BagEntry{
			fakePacked(1, packing.Entry{Ledger: id, Packed: &packing.Packed{On: fixtureDay, Product: "pear-113", Bags: 42, LabelMg: 113_000, TareMg: 4_200, FromMg: 117_500, ToMg: 120_500, Of: l.Of, Opens: true}}, 0, 42, 0),
			slip, fakePacked(3, moved(12, packing.ToCounter, ""), 2, 30, 0), fakePacked(4, moved(10, packing.ToOrder, "1207"), 0, 20, 0),
			fakePacked(5, packing.Entry{Ledger: id, Counted: &packing.Counted{Bags: 19}}, 0, 19, 1),
			fakePacked(6, packing.Entry{Ledger: id, Placed: &packing.Placed{As: packing.Hold, Why: "glass beside the sieve"}}, 0, 19, 0),
		},
		Frozen: "batch " + fixtureBatch + " is on hold (dull)", Cautions: []app.Caution{}}, nil
}

func (f *fakeShop) Jar(_ context.Context, id string) (*app.JarResult, error) {
	if err := packing.CheckJar(id); err != nil {
		return nil, err
	}
	j := fakeJar()
	j.Jar = id
	return &app.JarResult{JarLine: j, Units: q.Metric.With(q.Point), Cautions: []app.Caution{{Code: "jar-is-a-blend", Text: "it was filled anew without having been emptied and washed: it is of batches 2026-11-27-1 and 2026-11-27-2"}},
		Entries: []app.BagEntry{
			fakePacked(1, packing.Entry{Ledger: id, Filled: &packing.Filled{On: fixtureDay, Of: j.Of[1:]}}, 0, 1_500_000, 0), fakePacked(2, packing.Entry{Ledger: id, Emptied: &packing.Emptied{On: fixtureDay}}, 0, 0, 0),
			fakePacked(3, packing.Entry{Ledger: id, Filled: &packing.Filled{On: fixtureDay, Of: j.Of[:1]}}, 0, 1_700_000, 0),
			fakePacked(4, packing.Entry{Ledger: id, Taken: &packing.Taken{On: fixtureDay, MassMg: 40_000, To: packing.ToTasting}}, 0, 1_660_000, 0),
		}}, nil
}

func (f *fakeShop) BatchLeft(_ context.Context, id string) (*app.BatchLeft, error) {
	if err := record.CheckID(id); err != nil {
		return nil, err
	}
	l := fakeLoose()
	l.Batch = id
	return &app.BatchLeft{LooseLine: l, In: []string{fixtureBags, "j-counter-3"}, Units: q.Metric.With(q.Point), Cautions: []app.Caution{},
		Entries: []app.BagEntry{fakePacked(1, packing.Entry{Ledger: "l" + id, Taken: &packing.Taken{On: fixtureDay, MassMg: 60_000, To: packing.ToTasting, For: "a school"}}, 0, 0, 0),
			fakePacked(2, packing.Entry{Ledger: "l" + id, Left: &packing.Left{FoundMg: 2_660_000}}, 0, 0, 0)}}, nil
}

func (f *fakeShop) WritePacking(_ context.Context, e packing.Entry, _ int64, _, _ string) error {
	return e.Check()
}

func (f *fakeShop) HoldPacked(_ context.Context, id, _, _ string) error {
	return packing.Entry{Ledger: id, Placed: &packing.Placed{As: packing.Hold}}.Check()
}

func (f *fakeShop) OpenBags(context.Context, string, int64, string, string, string) error { return nil }

func (f *fakeShop) FillJar(context.Context, app.FillRequest, string, string) error { return nil }

func (f *fakeShop) When(_ context.Context, product string, bags int) (*app.WhenResult, error) {
	p, ok := f.book.Product(product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", product).At("product")
	}
	at := time.Date(2026, 11, 28, 15, 10, 0, 0, time.UTC)
	return &app.WhenResult{Product: product, Name: p.Name, Bags: bags, Asked: at, At: &at, Today: true, Rests: app.RestsPlan, Says: "today at 15:10: by the day's plan as it stands", Promised: 40, Units: q.Metric.With(q.Point),
		Steps: []app.WhenStep{{Rests: app.RestsStock, At: at, Bags: q.ExactOf(6), Text: "6 bags are packed and promised to nobody"},
			{Rests: app.RestsPlan, At: at, Bags: q.Estimate{Value: 44, Low: 41, High: 47, Basis: q.Estimated}, Text: "Pear drops, boil 2 of the plan, can be packed from 14:40"}},
		Cautions: []app.Caution{{Code: "bags-uncertain", Text: "the boils of the plan most likely give 44 bags, and may give fewer"}}}, nil
}
