package app_test

import (
	"context"
	"fmt"
	"testing"

	"slabside/internal/packing"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// BenchmarkSupplies is what the page of the stores, the station and the page of a lot cost
// in a shop that has packed 1,200 lots of bags in a year, a roll of bags opened every
// tenth, of which the first was never counted out.
func BenchmarkSupplies(b *testing.B) {
	ctx := context.Background()
	a, k := keptIn(b)
	meta := store.Meta{Person: "Ada", At: shoptest.Now()}
	must := func(_ store.Head, err error) {
		if err != nil {
			b.Fatal(err)
		}
	}
	first, roll := "", ""
	for i := range 1200 {
		day := fmt.Sprintf("2025-%02d-%02d", 4+i/168, 1+i/6%28)
		if i%10 == 0 {
			roll = fmt.Sprintf("s%s-%d", day, 1+i%6)
			if first == "" {
				first = roll
			}
			must(store.Supplies().Enter(ctx, k, supply.Entry{Lot: roll, Received: &supply.Received{On: day, Supply: "clear-bags", Unit: supply.Pieces, Amount: 210, Supplier: "Mill Lane Stores"}}, 0, meta))
		}
		e := packing.Entry{Ledger: fmt.Sprintf("b%s-%d", day, 1+i%6), Packed: &packing.Packed{On: day, Product: "pear-bag", Bags: 20, LabelMg: 227_000, FromMg: 227_000, ToMg: 233_000,
			Of: []packing.Share{{Batch: day + "-1", Recipe: "pear-barrels", MassMg: 4_600_000}}, Opened: []packing.Opened{{Supply: "clear-bags", Lot: roll, Pieces: 20}}, Opens: true}}
		must(store.Packing().Enter(ctx, k, e, 0, meta))
		if i%10 == 9 && roll != first {
			must(store.Supplies().Enter(ctx, k, supply.Entry{Lot: roll, Counted: &supply.Counted{}}, 0, meta))
		}
	}
	for name, fn := range map[string]func() error{
		"stores":  func() error { _, err := a.Supplies(ctx, ""); return err },
		"station": func() error { _, err := a.OpenFor(ctx, "pear-bag"); return err },
		"lot":     func() error { _, err := a.SupplyLot(ctx, first); return err },
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := fn(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
