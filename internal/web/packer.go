package web

import (
	"context"

	"slabside/internal/app"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
)

// Packer is what the pages need of the use cases of the packing.
type Packer interface {
	// PackingDay returns what there is to pack and what is packed.
	PackingDay(ctx context.Context) (*app.PackingResult, error)
	// PackedFor returns what is asked for of one product.
	PackedFor(ctx context.Context, product string) (*app.PackLine, error)
	// PackWindow works out what the scale may show of a bag.
	PackWindow(ctx context.Context, product string, tare q.Kilograms, scale string) (*app.PackWindow, error)
	// Pack writes down bags that were filled and returns their lot.
	Pack(ctx context.Context, r app.PackRequest, who, why string) (string, error)
	// BagLots lists bag lots, the newest first.
	BagLots(ctx context.Context, r app.BagQuery) (app.BagList, error)
	// BagLot returns a bag lot.
	BagLot(ctx context.Context, id string) (*app.BagLot, error)
	// Jar returns a jar.
	Jar(ctx context.Context, id string) (*app.JarResult, error)
	// BatchLeft returns what became of the sound pieces of a batch.
	BatchLeft(ctx context.Context, id string) (*app.BatchLeft, error)
	// WritePacking writes to a ledger of the packing, corrects what is written or takes it back.
	WritePacking(ctx context.Context, e packing.Entry, corrects int64, who, why string) error
	// HoldPacked freezes a bag lot or a jar at once.
	HoldPacked(ctx context.Context, id, why, who string) error
	// OpenBags opens bags of a lot into a jar.
	OpenBags(ctx context.Context, lot string, bags int64, jar, who, why string) error
	// FillJar writes down what went into a jar.
	FillJar(ctx context.Context, r app.FillRequest, who, why string) error
	// When answers when somebody can have so many bags of a product.
	When(ctx context.Context, product string, bags int) (*app.WhenResult, error)
}
