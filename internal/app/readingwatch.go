package app

import (
	"context"
	"sync"
	"time"

	"slabside/internal/reading"
)

// ReadingNews tells whoever watches that a reading came: the newest of its thermometer and
// place in what came at once. What came in full is what [App.ReadingsOf] says.
type ReadingNews struct {
	Batch string // that it is of, said or found; empty: of none
	Probe string
	In    reading.Place
	At    time.Time
	C     float64
}

// mostNews is how many news wait for one that watches; the oldest go.
const mostNews = 16

// watchers are those who are told of readings.
type watchers struct {
	mu  sync.Mutex
	all map[*watcher]struct{}
}

type watcher struct {
	batch string // empty: all
	news  chan ReadingNews
}

// WatchReadings returns a channel on which readings of a batch are told as they come in,
// of all batches and of none if it is empty. It is closed when the context ends. Who reads
// too slowly misses the oldest news and holds nobody up. Told are readings that come by
// this process: by its pages, its API and its broker.
func (a *App) WatchReadings(ctx context.Context, batch string) <-chan ReadingNews {
	w := &watcher{batch: batch, news: make(chan ReadingNews, mostNews)}
	a.watchers.mu.Lock()
	if a.watchers.all == nil {
		a.watchers.all = map[*watcher]struct{}{}
	}
	a.watchers.all[w] = struct{}{}
	a.watchers.mu.Unlock()
	context.AfterFunc(ctx, func() {
		a.watchers.mu.Lock()
		defer a.watchers.mu.Unlock()
		delete(a.watchers.all, w)
		close(w.news)
	})
	return w.news
}

// watched reports whether anybody is to be told.
func (w *watchers) watched() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return len(w.all) > 0
}

// tell tells everybody who watches the batch.
func (w *watchers) tell(n ReadingNews) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for x := range w.all {
		if x.batch != "" && x.batch != n.Batch {
			continue
		}
		select {
		case x.news <- n:
			continue
		default:
		}
		select { // make room; only this function writes, under the lock
		case <-x.news:
		default:
		}
		x.news <- n
	}
}

// tellReadings tells of readings that were kept. Whose they are is looked up only if
// anybody watches; a batch that cannot be found then is told as none.
func (a *App) tellReadings(ctx context.Context, list []reading.Reading) {
	if !a.watchers.watched() {
		return
	}
	type from struct {
		probe, batch string
		in           reading.Place
	}
	newest := map[from]reading.Reading{}
	var order []from
	for _, r := range list {
		f := from{r.Probe, r.Batch, r.In}
		last, ok := newest[f]
		if !ok {
			order = append(order, f)
		}
		if !ok || !r.At.Before(last.At) {
			newest[f] = r
		}
	}
	for _, f := range order {
		r := newest[f].Rounded()
		if r.Batch == "" {
			r.Batch, _ = a.BatchAt(ctx, r.In, r.At)
		}
		a.watchers.tell(ReadingNews{Batch: r.Batch, Probe: r.Probe, In: r.In, At: r.At, C: r.C})
	}
}
