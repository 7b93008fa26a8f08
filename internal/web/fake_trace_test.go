package web

import (
	"context"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Trace is of bags that a lot on hold has frozen, with every part of the answer.
func (f *fakeShop) Trace(_ context.Context, id string) (*app.TraceResult, error) {
	if id == "x" {
		return nil, fault.Invalid("%q is no number", id).At("id").WithHint("as b2026-11-28-2")
	}
	n := int64(12)
	step := func(id, kind, name, says string, deep int) app.TraceStep {
		return app.TraceStep{ID: id, Kind: kind, Name: name, On: "2026-11-27", Deep: deep, MassMg: 3_000_000, Says: says, Frozen: true}
	}
	bags := step("b2026-11-27-2", app.TraceBags, "Harbour mix", "12 of 40 bags here", 2)
	bags.Bags = &n
	return &app.TraceResult{ID: id, Kind: app.TraceBags, Name: "Harbour mix", On: "2026-11-27", Units: q.Metric.With(q.Point),
		Stopped: []app.Halt{{ID: fixtureLot, As: "hold", Why: "glass in the next sack"}},
		Up:      []app.TraceStep{step(fixtureBatch, app.TraceBatch, "Pear drops", "5.9 kg sound", 1), step(fixtureLot, app.TraceLot, "Granulated sugar", "Fenwold Sugar, GS-2304", 2)},
		Down:    []app.TraceStep{bags},
		Bags:    &app.TraceBalance{Packed: 40, OnHand: 12, ByName: 9, Kept: 2, Counter: 16, Unaccounted: 1, Accounted: 0.975, Reachable: 0.575},
		Allergy: &app.AllergyCard{Contains: []string{"milk"}, May: []string{"soy"}, Unstated: []string{"Citric acid"}, Lots: []string{fixtureLot}, NotWeighed: []string{fixtureBatch},
			Statements: []app.StatementLine{{Ingredient: "Granulated sugar", Lot: fixtureLot, On: "2026-08-03", May: []string{"soy"}}, {Ingredient: "Citric acid", Lot: "r2026-01-07-1"}},
			Here: []app.HandledHere{{Allergen: "tree nut", In: []string{"Almond beads"}, Shared: []string{"slab", "drop machine"}, Last: "2026-11-26-3", LastOn: "2026-11-26", Cleans: []string{"slab by Ada, verified by Bram"}},
				{Allergen: "egg", In: []string{"Meringue drops"}, Shared: []string{"slab"}}},
			Wording: "Made with the allergens named, others are handled here; ask us.", Cautions: []app.Caution{{Code: "allergen-carriers", Text: "Slab oil carries allergens too."}}},
		Cautions: []app.Caution{}}, nil
}

func (f *fakeShop) OnHold(ctx context.Context) (*app.Halts, error) {
	if f.bookErr != nil {
		return nil, f.bookErr
	}
	t, _ := f.Trace(ctx, "b2026-11-27-2")
	return &app.Halts{Units: q.Metric.With(q.Point), Stopped: []app.HaltLine{
		{Halt: app.Halt{ID: fixtureLot, As: "hold", Why: "glass in the next sack"}, Kind: app.TraceLot, Name: "Granulated sugar", Frozen: t.Down},
		{Halt: app.Halt{ID: fixtureBatch, As: "bin"}, Kind: app.TraceBatch, Name: "Pear drops", Frozen: []app.TraceStep{}}}}, nil
}

func (f *fakeShop) HoldAny(context.Context, string, string, string) error { return nil }
