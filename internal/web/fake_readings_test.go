package web

import (
	"context"
	"io"
	"time"

	"slabside/internal/app"
	q "slabside/internal/quantity"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/store"
)

// Versions knows every thermometer.
func (k *gateKeeper) Versions(context.Context, string, string, int, int) ([]store.Version, error) {
	return make([]store.Version, 1), nil
}

func (f *fakeShop) AddReadings(_ context.Context, posts []app.ReadingPost, _ reading.Source, _ string) (*app.ReadingsAdded, error) {
	return &app.ReadingsAdded{Counts: reading.Counts{Kept: len(posts)}, Cautions: []app.Caution{}}, nil
}

// Readings is a boil in the kettle and the sheet after it, for the fixture's batch and for
// the days on which it was made; one value is set aside.
func (f *fakeShop) Readings(_ context.Context, r app.ReadingQuery) (*app.ReadingsResult, error) {
	out := &app.ReadingsResult{Batch: r.Batch, Readings: []app.ReadingLine{}, Cautions: []app.Caution{}, Units: q.Metric.With(q.Point), Zone: time.UTC}
	if r.Batch != "" {
		if err := record.CheckID(r.Batch); err != nil {
			return nil, err
		}
	}
	if len(f.book.Glasses) == 0 || r.Batch != "" && r.Batch != fixtureBatch {
		return out, nil
	}
	at := time.Date(2026, 11, 28, 9, 0, 0, 0, time.UTC)
	add := func(minutes int, c float64, in reading.Place, aside int) {
		x := at.Add(time.Duration(minutes) * time.Minute)
		out.Readings = append(out.Readings, app.ReadingLine{Probe: "glass", Name: "Confectioner's glass", At: x, C: c, In: in, Source: reading.Posted, By: "kettle wire (program)", Received: x, SetAside: aside})
	}
	for i := range 60 {
		add(i, min(20+float64(i)*8, 105+float64(i)*0.75), reading.Kettle, 0)
	}
	add(59, 60, reading.Kettle, 1)
	add(61, 139, reading.Slab, 0)
	add(62, 131.5, reading.Slab, 0)
	out.Cautions = append(out.Cautions, app.Caution{Code: "as-shown", Text: "these are what the thermometers showed"})
	return out, nil
}

func (f *fakeShop) ReadingsOf(ctx context.Context, batch string, _ time.Time) (*app.ReadingsResult, error) {
	return f.Readings(ctx, app.ReadingQuery{Batch: batch})
}

// ReadLogger reads a file as the use cases do, and keeps nothing.
func (f *fakeShop) ReadLogger(_ context.Context, r app.LoggerRequest, _ string) (*app.LoggerResult, error) {
	place, err := reading.ParsePlace(r.In)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(r.From)
	if err != nil {
		return nil, err
	}
	file, faults := reading.ReadFile(r.Name, data, reading.Layout{TimeColumn: r.TimeColumn, ValueColumn: r.ValueColumn, Dates: reading.DateOrder(r.Dates)})
	if len(faults) > 0 {
		return nil, app.Problems(faults)
	}
	out := &app.LoggerResult{File: *file, Probe: r.Probe, In: place, N: len(file.Rows), Looked: r.Look, Counts: reading.Counts{Kept: len(file.Rows)}, Units: q.Metric.With(q.Point)}
	for _, x := range file.Rows {
		out.First, out.Last = file.Rows[0].At, x.At
		out.Shown = append(out.Shown, app.LoggerRow{Line: x.Line, At: x.At, C: x.C})
	}
	return out, nil
}
