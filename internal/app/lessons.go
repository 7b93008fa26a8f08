package app

import (
	"context"
	"math"
	"sync"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/learn"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/slab"
	"slabside/internal/store"
)

// learnedFrom is how many batches a room is learned from at most, the newest: a year or
// so of making days. What an older one taught, these teach again.
const learnedFrom = 200

// movedBy is a difference of altitude that makes a room another one [m]: within a house
// nobody moves farther.
const movedBy = 20

// made is what is remembered of batches that were made: a record's plan never changes.
type made struct {
	mu      sync.Mutex
	head    store.Head
	lessons map[lessonKey]lessonsOf // of that head
	batches map[string]madeBatch    // by number
	books   []pastBook
}

// pastBook is the book as it was from the act that changed it to the last state at which
// it was looked at.
type pastBook struct {
	from, to store.Head
	book     *book.Book
}

type madeBatch struct {
	act   int64 // its last entry
	batch learn.Batch
	room  rig.Room
	err   error
}

// lessonKey is what of a room decides which batches teach it.
type lessonKey struct {
	altitude q.Metres
	from     string
}

// lessonsOf is what the batches of a room teach, and which of them do not.
type lessonsOf struct {
	*learn.Lessons
	aside []Aside
}

// Aside is batches that were seen and teach nothing.
type Aside struct {
	Batches []string `json:"batches"`
	Why     string   `json:"why"`
}

// roomTaught is what the kept records teach of a book's room.
type roomTaught struct {
	*learn.Lessons // nil: the room goes by its models alone
	slab           *slab.Learned
}

// Slab returns what is held of the day's slab.
func (t roomTaught) Slab() *slab.Learned { return t.slab }

// taught is what the kept records teach of a book's room, and what the room states.
func (a *App) taught(ctx context.Context, b *book.Book) (Taught, error) {
	var out roomTaught
	if s, ok := daySlab(b); ok {
		var err error
		if out.slab, err = a.taughtSlab(ctx, b, s); err != nil {
			return nil, err
		}
	}
	if b.Room.Learning == rig.LearningOff {
		return out, nil
	}
	l, err := a.lessons(ctx, b)
	out.Lessons = l.Lessons
	return out, err
}

// lessons draws what the kept records teach of a book's room.
func (a *App) lessons(ctx context.Context, b *book.Book) (lessonsOf, error) {
	head, err := a.keeper.Head(ctx)
	if err != nil {
		return lessonsOf{}, err
	}
	m := &a.made
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.head != head || m.lessons == nil {
		m.head, m.lessons = head, map[lessonKey]lessonsOf{}
	}
	key := lessonKey{b.Room.Altitude, b.Room.LearnFrom}
	if l, ok := m.lessons[key]; ok {
		return l, nil
	}
	list, err := a.keeper.Records(ctx, store.Find{From: b.Room.LearnFrom, Limit: learnedFrom})
	if err != nil {
		return lessonsOf{}, err
	}
	var l lessonsOf
	var batches []learn.Batch
	set := map[string][]string{}
	for _, r := range list {
		if r.Lifted() == nil && r.Moisture() == nil && r.Worked() == nil {
			continue
		}
		switch x := a.madeOf(ctx, r); {
		case x.err != nil:
			why, _ := fault.Said(x.err)
			set[why] = append(set[why], r.ID)
		case math.Abs(float64(x.room.Altitude-b.Room.Altitude)) > movedBy:
			const why = "made at another altitude: the room, its stove and its water were others"
			set[why] = append(set[why], r.ID)
		default:
			batches = append(batches, x.batch)
		}
	}
	for _, r := range list { // in their order
		for why, ids := range set {
			if ids[0] == r.ID {
				l.aside = append(l.aside, Aside{ids, why})
			}
		}
	}
	l.Lessons = learn.Learn(batches)
	m.lessons[key] = l
	return l, nil
}

// madeOf returns a batch as it was made, from its record; the lock is held.
func (a *App) madeOf(ctx context.Context, r record.Record) madeBatch {
	m := &a.made
	last := r.Entries[len(r.Entries)-1].Act
	if x, ok := m.batches[r.ID]; ok && x.act == last {
		return x
	}
	x := madeBatch{act: last}
	x.batch, x.room, x.err = a.remake(ctx, r, nil)
	if m.batches == nil {
		m.batches = map[string]madeBatch{}
	}
	m.batches[r.ID] = x
	return x
}

// remake plans a batch again as it was begun, by the book of that day, on another glass
// if one is given.
func (a *App) remake(ctx context.Context, r record.Record, glass *rig.Glass) (learn.Batch, rig.Room, error) {
	begun := r.Begun()
	b, err := a.bookOf(ctx, store.Head(begun.Book))
	if err != nil {
		return learn.Batch{}, rig.Room{}, err
	}
	in, err := chainOf(b, *begun)
	if err != nil {
		return learn.Batch{}, b.Room, err
	}
	out := learn.Batch{ID: r.ID, Kettle: *in.Kettle, Lifted: r.Lifted(), Moisture: r.Moisture(), Worked: r.Worked()}
	if glass != nil {
		in.Glass = glass
	}
	out.Glass = boil.Checked(*in.Glass, b.Room)
	if l := r.Lifted(); l != nil {
		if l.StationPa > 0 {
			in.Room.StationPressure = q.Pascals(l.StationPa)
		}
		if s, ok := byID(b.Scales, l.Scale, func(s rig.Scale) string { return s.ID }); ok {
			out.ScaleKg = float64(s.Resolution)
		}
	}
	bi, err := in.Boil()
	if err != nil {
		return out, b.Room, err
	}
	plan, err := boil.Prepare(bi)
	if err != nil {
		return out, b.Room, err
	}
	out.Lift = plan.AtLift()
	return out, b.Room, nil
}

// chainOf gathers what a batch that was begun needs, by the book of that day.
func chainOf(b *book.Book, begun record.Begun) (batch.Inputs, error) {
	rec, ok := b.Recipe(begun.Recipe)
	if !ok {
		return batch.Inputs{}, fault.NotFound("its recipe %q was not in the book", begun.Recipe)
	}
	in, err := chain(b, nil, rec, q.Kilograms(float64(begun.ChargeMg)/1e6))
	if err != nil {
		return in, err
	}
	k, ok := b.Kettle(begun.Kettle)
	g, ok2 := byID(b.Glasses, begun.Glass, func(g rig.Glass) string { return g.ID })
	if !ok || !ok2 {
		return in, fault.NotFound("its kettle or its glass was not in the book")
	}
	in.Kettle, in.Glass = &k, &g
	in.Ensemble = numeric.NewEnsemble(2, planSeed) // the middle figures alone are wanted
	return in, nil
}

// bookOf returns the book as it was; the lock is held.
func (a *App) bookOf(ctx context.Context, at store.Head) (*book.Book, error) {
	m := &a.made
	for _, p := range m.books {
		if p.from <= at && at <= p.to {
			return p.book, nil
		}
	}
	b, from, err := a.keeper.BookAt(ctx, at)
	if err != nil {
		return nil, err
	}
	for i, p := range m.books {
		if p.from == from {
			m.books[i].to = at
			return p.book, nil
		}
	}
	m.books = append(m.books, pastBook{from, at, &b})
	return &b, nil
}
