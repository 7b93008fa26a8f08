package app

import (
	"context"

	"slabside/internal/store"
)

// plannedAt is the state of the book at which a plan of today's state is known to hold:
// one that was made before, if nothing came after it but acts of the packing and files that
// were attached. What is packed changes no line to make and no boil, and a bag is packed
// every half minute.
func (a *App) plannedAt(ctx context.Context, head store.Head) store.Head {
	a.mu.Lock()
	known := store.Head(0)
	for k := range a.plans {
		if k.head <= head {
			known = max(known, k.head)
		}
	}
	a.mu.Unlock()
	if known > 0 && known < head && a.packingAlone(ctx, known, head) {
		return known
	}
	return head
}

// packingAlone reports whether nothing but acts of the packing, and files that were
// attached, lies between two states.
func (a *App) packingAlone(ctx context.Context, from, to store.Head) bool {
	const most = 1000
	if to-from > most {
		return false
	}
	acts, err := a.keeper.Acts(ctx, int64(from), most)
	if err != nil {
		return false
	}
	for _, x := range acts {
		if !isPacking(x) {
			return false
		}
	}
	return true
}

// isPacking reports whether an act writes to the packing or to the supplies, or attaches a
// file: none changes what is to be made.
func isPacking(x store.Act) bool {
	if x.Kind == store.ActAttach {
		return true
	}
	if x.Kind != store.ActJot {
		return false
	}
	body, err := store.DecodeBody(x.Body)
	return err == nil && body.Jot != nil && (body.Jot.Journal == store.Packing().Name || body.Jot.Journal == store.SupplyJournal)
}
