package web

import (
	"context"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/trouble"
)

func (f *fakeShop) Trouble(_ context.Context, r app.TroubleRequest, _, _ string) error {
	e := record.Entry{Batch: r.Batch, Troubled: &record.Troubled{What: r.What, When: r.When, Note: r.Note}}
	return e.Check()
}

func (f *fakeShop) Decide(_ context.Context, r app.DecideRequest, _, _ string) error {
	e := record.Entry{Batch: r.Batch, Placed: &record.Placed{As: r.As, Why: r.Why}}
	return e.Check()
}

func (f *fakeShop) Washed(context.Context, string, string, string) error { return nil }

// TroubleOf is a batch that grained, with everything that a page can show.
func (f *fakeShop) TroubleOf(ctx context.Context, id string) (*app.TroubleResult, error) {
	if _, err := f.Record(ctx, id); err != nil {
		return nil, err
	}
	u := q.Metric.With(q.Point)
	est := func(v, lo, hi float64) q.Estimate { return q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated} }
	what := []record.Trouble{record.DidGrain}
	until := time.Date(2026, 11, 27, 13, 40, 0, 0, time.UTC)
	out := &app.TroubleResult{Batch: id, On: "2026-11-27", Recipe: "pear", Name: "Pear drops", Place: record.OnHold, PlaceWhy: "grained", Units: u,
		Troubles: []app.TroubleLine{{Act: 17, What: record.DidGrain, When: "10:17", By: "Ada"}}, Now: []app.NowLines{{What: record.DidGrain, Lines: trouble.Of(record.DidGrain).Now}},
		Options: []app.PlaceOption{}, Causes: []app.CauseLine{}, Wash: &app.WashDue{Why: trouble.Of(record.DidGrain).Lies, Left: trouble.WashedSurfaces()},
		Day: &app.Loss{Short: []app.ShortLine{{Product: "pear-bag", Name: "Pear drops 113 g", For: "shelf", Must: true, Asked: 60, Short: est(31, 28, 34), Left: est(29, 26, 32)}},
			Remake: app.Remake{Until: until, Proved: true, Boils: 3, Why: "lit by then, all that is left of the day (3 boils) is made and cleaned down by 17:30"}},
		OnHold: []app.HeldLine{{Batch: id, Name: "Pear drops", Why: "grained"}}, Cautions: []app.Caution{{Code: "burns", Text: "Burn: cool running water at once"}}, Sources: []string{"practice"}}
	for _, o := range trouble.Options(what, trouble.Facts{Units: u}) {
		out.Options = append(out.Options, app.PlaceOption{As: o.As, Says: app.SayPlace(o.As), Open: o.Open, Why: o.Why, Reasons: o.Reasons, Source: string(o.Key)})
	}
	for _, c := range trouble.Causes(record.DidGrain, trouble.Evidence{Units: u, Back: []trouble.Back{{Mass: 0.4, From: "2026-11-27-1", Grained: true}}, Grain: trouble.RiskNone, Says: "syrup in the dry sugars 27 %"}) {
		line := app.CauseLine{Trouble: c.Trouble, What: c.What, Look: c.Look, Score: c.Score, Source: string(c.Key), Evidence: []app.EvidenceLine{}}
		for _, x := range c.Findings {
			line.Evidence = append(line.Evidence, app.EvidenceLine{Says: x.Says, Weight: x.Weight})
		}
		out.Causes = append(out.Causes, line)
	}
	return out, nil
}
