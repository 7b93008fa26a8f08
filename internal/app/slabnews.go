package app

import (
	"context"
	"sync"

	"slabside/internal/fault"
	"slabside/internal/record"
	"slabside/internal/store"
)

// news are told to whoever watches a batch: that there is something new of it, and no
// more. What it is, is read from what is kept.
type news struct {
	mu  sync.Mutex
	all map[chan struct{}]string // by what is watched; empty: every batch
}

// watch returns a channel on which it is told, until the context ends, that there is
// something new of a batch. Who is slow is told once of many.
func (n *news) watch(ctx context.Context, batch string) chan struct{} {
	c := make(chan struct{}, 1)
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.all == nil {
		n.all = map[chan struct{}]string{}
	}
	n.all[c] = batch
	context.AfterFunc(ctx, func() {
		n.mu.Lock()
		defer n.mu.Unlock()
		delete(n.all, c)
	})
	return c
}

// tell tells those who watch a batch; with none named, everybody.
func (n *news) tell(batch string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	for c, of := range n.all {
		if batch != "" && of != "" && of != batch {
			continue
		}
		nudge(c)
	}
}

// nudge tells one that there is something new.
func nudge(c chan<- struct{}) {
	select {
	case c <- struct{}{}:
	default: // it is told already and has not looked yet
	}
}

// telling is a keeper that tells of each entry it has taken in, whichever use case it
// came by.
type telling struct {
	store.Keeper
	news *news
}

// Enter writes an entry and tells those who watch its batch.
func (k telling) Enter(ctx context.Context, e record.Entry, corrects int64, m store.Meta) (store.Head, error) {
	head, err := k.Keeper.Enter(ctx, e, corrects, m)
	if err == nil {
		k.news.tell(e.Batch)
	}
	return head, err
}

// Changed returns a channel on which it is told that something was written or read of a
// batch, of any if it is empty, until the context ends. Many changes may be told as one.
// Told is what comes by this process; what another writes into the same book is not.
// Invalid for what is no number of a batch.
func (a *App) Changed(ctx context.Context, batch string) (<-chan struct{}, error) {
	if batch != "" {
		if err := record.CheckID(batch); err != nil {
			return nil, err
		}
	}
	c := a.keeper.news.watch(ctx, batch)
	read := a.WatchReadings(ctx, batch) // is closed when the context ends
	go func() {
		for range read {
			nudge(c)
		}
	}()
	return c, nil
}

// Written returns what is written of a batch, and nothing that is computed of it.
// NotFound if it has no record.
func (a *App) Written(ctx context.Context, batch string) (record.Record, error) {
	if err := record.CheckID(batch); err != nil {
		return record.Record{}, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: batch, Limit: 1})
	if err != nil {
		return record.Record{}, err
	}
	if len(list) == 0 || list[0].Begun() == nil {
		return record.Record{}, fault.NotFound("batch %s is not begun", batch).At("batch").WithHint("begin its record first")
	}
	return list[0], nil
}
