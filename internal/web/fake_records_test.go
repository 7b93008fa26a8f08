package web

import (
	"context"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// fixtureBatch is a batch with a record in the fake shop.
const fixtureBatch = "2026-11-27-2"

func (f *fakeShop) BoilIn(ctx context.Context, b *book.Book, req app.BoilRequest) (*app.BoilResult, error) {
	return app.BoilOf(b, req)
}

func (f *fakeShop) Begin(_ context.Context, req app.BeginRequest, _, _ string) (string, error) {
	if _, ok := f.book.Recipe(req.Recipe); !ok {
		return "", fault.NotFound("no recipe %q in the shop book", req.Recipe).At("recipe")
	}
	return fixtureBatch, nil
}

func (f *fakeShop) Enter(_ context.Context, e record.Entry, corrects int64, _, _ string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if e.Moment != nil { // stands with the taps
		f.taps = append(f.taps, app.Tap{At: fixtureNow(), Entry: e, Corrects: corrects})
	}
	return e.Check()
}

func (f *fakeShop) Records(context.Context, app.RecordQuery) (app.RecordList, error) {
	return app.RecordList{Records: []app.RecordLine{
		{Batch: fixtureBatch, On: "2026-11-27", Recipe: "pear", Name: "Pear drops", ChargeKg: 12, Seen: []string{"lifted", "worked"}, Marked: true},
		{Batch: "2026-11-27-1", On: "2026-11-27", Recipe: "pear", Name: "Pear drops", ChargeKg: 12, Seen: []string{}},
	}, Next: "2026-11-27-1"}, nil
}

func fakeSeen() []app.SeenLine {
	est := func(v, lo, hi float64, n int) q.Estimate {
		e := q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated, Batches: n}
		if n > 0 {
			e.Basis = q.Learned
		}
		return e
	}
	return []app.SeenLine{
		{What: "weighed", Unit: "frac", Seen: 0.0301, Before: est(0.0241, 0.0191, 0.0302, 0), Now: est(0.0284, 0.0262, 0.0309, 6)},
		{What: "pulled", Unit: "C", Seen: 84, Before: est(86, 77, 95, 0), Now: est(85, 79, 91, 6)},
		{What: "burned", Unit: "s", Seen: 2400, Before: est(1500, 1200, 1900, 0), Now: est(1560, 1440, 1700, 6)},
	}
}

func (f *fakeShop) Record(_ context.Context, id string) (*app.RecordResult, error) {
	if err := record.CheckID(id); err != nil {
		return nil, err
	}
	est := func(v, lo, hi float64) *q.Estimate {
		return &q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated}
	}
	begun := record.Begun{On: "2026-11-27", Book: 3, Recipe: "pear", ChargeMg: 12e6, Kettle: "pan", Glass: "glass"}
	at := time.Date(2026, 11, 27, 9, 0, 0, 0, time.UTC)
	entries := []record.Kept{
		{Entry: record.Entry{Batch: id, Begun: &begun}, Act: 4, At: at, Person: "Ada"},
		{Entry: record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 152, GrossMg: 15_105_000, EmptyMg: 6_000_000, FlameS: 2400}}, Act: 5, At: at.Add(40 * time.Minute), Person: "Ada"},
		{Entry: record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 153, GrossMg: 15_105_000, EmptyMg: 6_000_000, FlameS: 2400, StationPa: 99_800}}, Act: 6, At: at.Add(50 * time.Minute), Person: "Bram", Reason: "read off again", Corrects: 5},
		{Entry: record.Entry{Batch: id, Worked: &record.Worked{PullC: 84, RollC: 79, LastC: 70, SureK: 2}}, Act: 7, At: at.Add(70 * time.Minute), Person: "Ada"},
		{Entry: record.Entry{Batch: id, Moisture: &record.Moisture{Of: record.OfSweet, WaterFrac: 0.029, SureFrac: 0.003, Method: "halogen balance"}}, Act: 8, At: at.Add(30 * time.Hour), Person: "Ada"},
		{Entry: record.Entry{Batch: id, CookedBack: &record.CookedBack{MassMg: 400_000, From: "2026-11-27-1"}}, Act: 9, At: at, Person: "Ada"},
		{Entry: record.Entry{Batch: id, Checked: &record.Checked{Checks: []record.Check{{Item: record.GuardsOn, Says: record.No}, {Item: record.HoodOn, Says: record.Yes}, {Item: record.AllergenClean, Says: record.Yes, By: "Bram"}}}}, Act: 10, At: at, Person: "Ada"},
		{Entry: record.Entry{Batch: id, Made: &record.Made{PouredAt: "09:41", Turns: 22, SoundMg: 7_900_000, EndsMg: 420_000, WebMg: 310_000, SiftingsMg: 95_000, CookBackMg: 600_000, SampleN: 50, SampleMg: 121_000}}, Act: 11, At: at, Person: "Bram"},
		{Entry: record.Entry{Batch: id, Found: &record.Found{Of: record.OfMetal, What: "a chip of bronze, 4 mm", Where: "in the siftings", Done: "batch held"}}, Act: 12, At: at, Person: "Bram"},
		{Entry: record.Entry{Batch: id, Cleaned: &record.Cleaned{Surface: record.OnSlab, Kind: record.AllergenCleaned, By: "Ada", Verified: "Bram"}}, Act: 13, At: at, Person: "Ada"},
		{Entry: record.Entry{Batch: id, Cleaned: &record.Cleaned{Surface: record.OnRolls, Kind: record.Washed, By: "Ada"}}, Act: 14, At: at, Person: "Ada"},
		{Entry: record.Entry{Batch: id, Signed: &record.Signed{Through: 14, Note: "held until the rolls are looked at"}}, Act: 15, At: at, Person: "Ada"},
		{Entry: record.Entry{Batch: id, Tasted: &record.Tasted{Words: []record.Word{record.Dull}, Note: "of soap"}}, Act: 16, At: at.Add(20 * time.Hour), Person: "Bram"},
	}
	if f.inTrouble {
		entries = append(entries, record.Kept{Entry: record.Entry{Batch: id, Troubled: &record.Troubled{What: record.Foreign, When: "10:17"}}, Act: 17, At: at, Person: "Ada"},
			record.Kept{Entry: record.Entry{Batch: id, Placed: &record.Placed{As: record.OnHold, Why: "metal or glass"}}, Act: 18, At: at, Person: "Ada"})
	}
	res := app.RecordResultOf(entries)
	res.On, res.Recipe, res.Name, res.Kettle, res.Glass, res.Units = begun.On, "pear", "Pear drops", "Pan", "Glass", q.Metric.With(q.Point)
	res.Planned = &app.MadeFigures{ReadC: est(153, 152, 154), WaterFrac: est(0.0241, 0.0191, 0.0302), StandsC: est(43, 38, 48), FlameS: est(1500, 1200, 1900)}
	res.Became = &app.MadeFigures{WaterFrac: est(0.0298, 0.0281, 0.0316), StandsC: est(39, 35, 43)}
	res.Seen = fakeSeen()
	kg := func(v float64) *q.Number { n := q.Number(v); return &n }
	res.Before = &app.BeforeFlame{Asked: []app.CheckLine{{Item: record.GuardsOn, Why: "Drop machine", Says: record.No}, {Item: record.GlassWhole}, {Item: record.HoodOn, Why: "Pan", Says: record.Yes},
		{Item: record.AllergenClean, Why: "batch 2026-11-27-1: tree nut", Says: record.Yes, By: "Bram"}}}
	res.Made = []app.MadeLine{{What: "pieces", Unit: "pieces", Planned: *est(3400, 3150, 3650), Made: kg(3264)}, {What: "sound", Unit: "kg", Planned: *est(8.4, 8.1, 8.7), Made: kg(7.9), Off: true}, {What: "scraps", Unit: "kg", Planned: *est(1.2, 0.8, 1.7)}}
	res.Balance = &app.Balance{LiftKg: q.ExactOf(9.105), Weighed: true, AddedKg: *est(0.16, 0.15, 0.17), Written: []app.BalanceLine{{What: "sound", Kg: 7.9}, {What: "ends", Kg: 0.42}}, UnaccountedKg: *est(0.54, 0.52, 0.56), KettleKeepsKg: *est(0.09, 0.05, 0.13)}
	res.Cautions = append(res.Cautions, app.Caution{Code: "set-aside", Text: "this batch teaches the room nothing: made at another altitude"})
	return res, nil
}

func (f *fakeShop) Learned(context.Context) (*app.LearnResult, error) {
	out := &app.LearnResult{Units: q.Metric.With(q.Point), Widened: 1.7, Sources: []string{"practice"},
		Figures: []app.LearnedFigure{
			{Name: "boils_hotter", Says: "boils hotter than the equation", Unit: "K", Before: q.Estimate{Value: 0, Low: -3.1, High: 3.2, Basis: q.Estimated}, Value: 1.2, Low: -0.2, High: 2.5, Batches: 2, By: []string{fixtureBatch, "2026-11-27-1"}},
			{Name: "kettle_gets", Says: "heat that reaches the kettle", Of: "pan", OfName: "Pan", Unit: "frac", Before: q.Estimate{Value: 0.42, Low: 0.32, High: 0.52, Basis: q.Estimated}, Value: 0.37, Low: 0.35, High: 0.39, Batches: 1, By: []string{fixtureBatch}},
		},
		Refused:  []app.LearnedRefused{{Name: "stands_up_higher", Says: "sweets stand up to more", Why: "no batch has the temperatures at which it could be pulled or rolled"}},
		Cautions: []app.Caution{{Code: "records-clash", Text: "the records contradict each other"}}}
	for _, x := range fakeSeen() {
		out.Seen = append(out.Seen, app.LearnedSeen{Batch: fixtureBatch, SeenLine: x}, app.LearnedSeen{Batch: "2026-11-27-1", SeenLine: x})
	}
	return out, nil
}

func (f *fakeShop) LookBack(_ context.Context, glass string) (*app.LookBack, error) {
	est := func(v, lo, hi float64) *q.Estimate {
		return &q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated}
	}
	return &app.LookBack{Glass: glass, Name: "Glass", LastGood: "2026-11-02", Store: 25, Units: q.Metric.With(q.Point),
		Check: &app.CheckSaid{On: "2026-11-27", Against: "reference", OffK: 4.2, AllowedK: 1.6},
		Batches: []app.LookedBack{
			{Batch: fixtureBatch, On: "2026-11-27", Name: "Pear drops", Was: app.MadeFigures{WaterFrac: est(0.024, 0.019, 0.03), StandsC: est(43, 38, 48)},
				Is: app.MadeFigures{WaterFrac: est(0.041, 0.035, 0.048), StandsC: est(30, 25, 35)}, Advice: app.AdviceSell, Why: "it may stick in the store, which gets 25 °C warm: sell it first, and do not post it", Assumed: true},
			{Batch: "2026-11-27-1", On: "2026-11-27", Name: "Pear drops", Advice: app.AdviceNone, Why: "its recipe was not in the book"},
		}}, nil
}
