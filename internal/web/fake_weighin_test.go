package web

import (
	"context"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// WeighInOf is a sheet with a line of every state, with a lot on hold and with nothing.
func (f *fakeShop) WeighInOf(_ context.Context, id string) (*app.WeighIn, error) {
	if err := record.CheckID(id); err != nil {
		return nil, err
	}
	line := func(id, name, stage string, target, done int64, state string) app.WeighInLine {
		l := app.WeighInLine{Ingredient: id, Name: name, Stage: stage, TargetMg: target, LowMg: target - 20_000, HighMg: target + 20_000, DoneMg: done, State: state, Scale: "floor", ScaleName: "Floor scale",
			StepMg: 1000, Goes: 1, Kept: true, Lots: []app.WeighLot{}, Stopped: []app.WeighLot{}, Weighed: []app.WeighedOut{}, Instead: []app.Substitute{}}
		if done > 0 {
			l.Weighed = append(l.Weighed, app.WeighedOut{Act: 9, Person: "Wilma", Weighed: record.Weighed{Ingredient: id, Lot: fixtureLot, MassMg: done, Scanned: true, Second: "Ada"}})
		}
		return l
	}
	sugar := line("sugar", "Granulated sugar", "", 8_000_000, 8_000_000, app.LineDone)
	syrup := line("syrup", "Glucose syrup 42 DE", "", 3_000_000, 1_000_000, app.LinePart)
	syrup.Goes = 2
	syrup.Lots = []app.WeighLot{{Lot: "r2026-08-18-1", Mark: "0871-A", Supplier: "Harrow & Pike", BestBefore: "2026-11-16", OnHandMg: 12_000_000, Past: true}, {Lot: "r2026-11-20-1", OnHandMg: 25_000_000}}
	syrup.Stopped = []app.WeighLot{{Lot: "r2026-11-20-2", Mark: "0931-B", Status: lot.Hold, Why: "glass in the next drum"}}
	syrup.Instead = []app.Substitute{{Ingredient: "syrup-60", Name: "Glucose syrup 60 DE", FreeMg: 4_000_000, Changes: []string{"of DE 60 instead of 42: the boil is another"}}}
	water := line("water", "Water", "", 2_500_000, 0, app.LineOpen)
	water.Tap, water.Kept = true, false
	acid := line("citric", "Citric acid", "fold", 90_000, 0, app.LineOpen)
	acid.Alike, acid.StepMg, acid.ScaleName = true, 10, "Fine scale"
	nuts := line("hazelnut", "Hazelnut, chopped", "fold", 400_000, 460_000, app.LineOver)
	nuts.Second, nuts.Portion = "contains tree nut", "brown"
	return &app.WeighIn{Batch: id, On: "2026-11-27", Recipe: "pear", Name: "Pear drops", Lines: []app.WeighInLine{sugar, syrup, water, acid, nuts}, Next: 1, KettleMg: 9_000_000, ChargeMg: 13_500_000,
		Units: q.Metric.With(q.Point), Seconds: []string{"Ada", "Wilma"}, Cautions: []app.Caution{{Code: "look-alikes", Text: "White powders look alike"}}}, nil
}

func (f *fakeShop) ScanFor(_ context.Context, wanted, code string) (*app.Scanned, error) {
	switch {
	case code == "?":
		return nil, fault.Invalid("that is no code").WithHint("scan it again")
	case code == "0871-A" && wanted == "syrup":
		return &app.Scanned{Right: true, Lot: "r2026-08-18-1", Ingredient: "syrup", Says: "Glucose syrup 42 DE, lot r2026-08-18-1"}, nil
	}
	return &app.Scanned{Lot: "r2026-11-20-9", Ingredient: "citric", Says: "WRONG POT: that is Citric acid, lot r2026-11-20-9. The sheet asks for Glucose syrup 42 DE."}, nil
}

// Tap keeps what was tapped, in its order.
func (f *fakeShop) Tap(_ context.Context, t app.Tap, _ string) (bool, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	last := f.counted()
	switch {
	case t.N <= last:
		return false, nil
	case t.N > last+1:
		return false, fault.Conflict("expected %d", last+1).At("tap")
	}
	if err := t.Entry.Check(); err != nil && t.Entry.Batch != "" {
		return false, err
	}
	f.taps = append(f.taps, t)
	return false, nil
}

func (f *fakeShop) Tapped(context.Context, string) (int64, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.counted(), nil
}

// counted is how many of the taps a tablet has counted.
func (f *fakeShop) counted() (n int64) {
	for _, t := range f.taps {
		if t.Device != "" {
			n++
		}
	}
	return n
}
