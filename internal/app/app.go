package app

import (
	"context"
	"sync"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/slab"
	"slabside/internal/store"
)

// App is the shop's use cases over one kept book.
type App struct {
	keeper telling
	now    func() time.Time

	mu         sync.Mutex
	plans      map[planKey]*planCall // plans of the current head, so that a page and its prints agree and cost one search
	boils      boils
	made       made
	needs      needs
	slabs      map[slabKey]slabLessons
	learning   sync.Mutex // while a slab's lessons are drawn
	stated     map[statedKey]*slab.Learned
	under      map[string]keptUnder  // by number
	losses     map[lossKey]*lossCall // what lost batches leave short, lately asked for
	lastBackup LastBackup
	watchers   watchers // of readings
}

// New returns the use cases over a keeper. Now is the clock, injected so that
// plans and tests are repeatable.
func New(k store.Keeper, now func() time.Time) *App {
	return &App{keeper: telling{k, &news{}}, now: now, plans: map[planKey]*planCall{}}
}

// Book returns the kept book, as the reader of the context reads it, and its head.
func (a *App) Book(ctx context.Context) (book.Book, store.Head, error) {
	b, head, err := a.keeper.Book(ctx)
	b.Shop.Units = b.Shop.Units.With(decimalOf(ctx))
	return b, head, err
}

// Today returns the date in the book's time zone, as an ISO date.
func (a *App) Today(b book.Book) string {
	loc, err := time.LoadLocation(b.Shop.TimeZone)
	if err != nil {
		loc = time.UTC
	}
	return a.now().In(loc).Format(time.DateOnly)
}

// Import keeps a book's definitions: new and changed things get a revision,
// nothing is deleted.
func (a *App) Import(ctx context.Context, b book.Book, who, why string) (store.Changes, error) {
	head, err := a.keeper.Head(ctx)
	if err != nil {
		return store.Changes{}, err
	}
	_, ch, err := a.keeper.Import(ctx, b, head, store.Meta{Person: who, At: a.now(), Reason: why})
	return ch, err
}

// SetToMake replaces the lines to make. It refuses lines that cannot be meant,
// naming each field as line[i].bags and so on, and changes nothing then. Expect
// is the head the person saw; a Conflict says somebody else changed the book.
func (a *App) SetToMake(ctx context.Context, lines []demand.Line, expect store.Head, who, why string) error {
	b, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	if err := CheckLines(b, lines); err != nil {
		return err
	}
	_, err = a.keeper.SetToMake(ctx, lines, expect, store.Meta{Person: who, At: a.now(), Reason: why})
	return err
}
