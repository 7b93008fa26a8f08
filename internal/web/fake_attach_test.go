package web

import (
	"context"
	"time"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/store"
	"slabside/internal/store/storetest"
)

func (f *fakeShop) Attach(context.Context, app.AttachRequest, string) error { return nil }

// Attached is a picture and a paper with the batch and the lot of the fixture.
func (f *fakeShop) Attached(_ context.Context, of string) (*app.AttachedList, error) {
	out := &app.AttachedList{Of: of, Attached: []app.Attached{}, Units: q.Metric.With(q.Point)}
	if of != fixtureBatch && of != fixtureLot {
		return out, nil
	}
	at := time.Date(2026, 11, 28, 9, 0, 0, 0, time.UTC)
	picture := storetest.Pixel(200)
	out.Attached = append(out.Attached,
		app.Attached{SHA256: store.Sum(picture), Bytes: int64(len(picture)), Type: store.TypePNG, Name: "slab.png", Note: "the slab after the first pour", Act: 5, At: at, Person: "Ada"},
		app.Attached{SHA256: store.Sum([]byte("%PDF-")), Bytes: 84_000, Type: store.TypePDF, Name: "coa-2304.pdf", Act: 6, At: at, Person: "Ada"})
	return out, nil
}

func (f *fakeShop) AttachedFile(_ context.Context, sum string) (*app.AttachedFile, error) {
	if data := storetest.Pixel(200); sum == store.Sum(data) {
		return &app.AttachedFile{Type: store.TypePNG, Name: "slab.png", Data: data}, nil
	}
	return nil, fault.NotFound("there is no such picture or paper")
}
