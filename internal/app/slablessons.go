package app

import (
	"context"

	"slabside/internal/book"
	"slabside/internal/rig"
	"slabside/internal/slab"
)

// taughtSlab is what the kept records teach of a slab and the hands at it; nil if the room
// goes by its models alone.
func (a *App) taughtSlab(ctx context.Context, b *book.Book, s rig.Slab) (*slab.Learned, error) {
	return nil, nil
}
