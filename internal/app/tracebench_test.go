package app_test

import (
	"context"
	"fmt"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/packing"
	"slabside/internal/record"
	"slabside/internal/shoptest"
	"slabside/internal/store"
)

// BenchmarkFrozen is what a refused press at the packing station, the page of all holds
// and a trace cost in a shop that has
// written down a year, 1,200 batches each weighed out of a lot and packed, while a lot of
// its first day is condemned.
func BenchmarkFrozen(b *testing.B) {
	ctx := context.Background()
	a, k := keptIn(b)
	bk, head, err := a.Book(ctx)
	if err != nil {
		b.Fatal(err)
	}
	meta := store.Meta{Person: "Ada", At: shoptest.Now()}
	must := func(_ store.Head, err error) {
		if err != nil {
			b.Fatal(err)
		}
	}
	must(k.EnterLot(ctx, lot.Entry{Lot: "r2025-03-17-1", Received: &lot.Received{On: "2025-03-17", Ingredient: "sugar", Supplier: "Mill Lane Stores", MassMg: 90e9}}, 0, meta))
	last := ""
	for i := range 1200 {
		day := fmt.Sprintf("2025-%02d-%02d", 4+i/168, 1+i/6%28)
		id := fmt.Sprintf("%s-%d", day, 1+i%6)
		must(k.Enter(ctx, record.Entry{Batch: id, Begun: &record.Begun{On: day, Book: int64(head), Recipe: bk.Recipes[0].ID, ChargeMg: 9e6, Kettle: bk.Kettles[0].ID, Glass: bk.Glasses[0].ID}}, 0, meta))
		must(k.Enter(ctx, record.Entry{Batch: id, Weighed: &record.Weighed{Ingredient: "sugar", Lot: "r2025-03-17-1", MassMg: 5e6}}, 0, meta))
		must(k.Enter(ctx, record.Entry{Batch: id, Made: &record.Made{SoundMg: 7e6}}, 0, meta))
		last = fmt.Sprintf("b%s-%d", day, 1+i%6)
		e := packing.Entry{Ledger: last, Packed: &packing.Packed{On: day, Product: "pear-bag", Bags: 20, LabelMg: 227_000, FromMg: 227_000, ToMg: 233_000, Of: []packing.Share{{Batch: id, Recipe: bk.Recipes[0].ID, MassMg: 4_600_000}}, Opens: true}}
		must(store.Packing().Enter(ctx, k, e, 0, meta))
	}
	must(k.EnterLot(ctx, lot.Entry{Lot: "r2025-03-17-1", Placed: &lot.Placed{As: lot.Condemned, Why: "damp"}}, 0, meta))
	for name, fn := range map[string]func() error{
		"press": func() error { // of bags that the lot has frozen
			e := packing.Entry{Ledger: last, Moved: &packing.Moved{On: "2026-03-17", Bags: 1, To: packing.ToCounter}}
			if err := a.WritePacking(ctx, e, 0, "Ada", ""); fault.KindOf(err) != fault.KindConflict {
				return fmt.Errorf("taken: %v", err)
			}
			return nil
		},
		"hold page": func() error { _, err := a.OnHold(ctx); return err },
		"trace":     func() error { _, err := a.Trace(ctx, last); return err },
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
