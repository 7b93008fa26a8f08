package app

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/learn"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/slab"
)

// taughtSlab is what the kept records teach of a slab and the hands at it; nil if the room
// goes by its models alone.
func (a *App) taughtSlab(ctx context.Context, b *book.Book, s rig.Slab) (*slab.Learned, error) {
	if b.Room.Learning == rig.LearningOff {
		return nil, nil
	}
	l, err := a.slabLessons(ctx, b, s)
	if err != nil {
		return nil, err
	}
	return &l.lessons.Held, nil
}

// slabLessons draws what the kept records teach of a slab. It is drawn anew only when a
// batch that was followed to its end is written to: a tap of one under way waits for none
// of it.
func (a *App) slabLessons(ctx context.Context, b *book.Book, s rig.Slab) (slabLessons, error) {
	records, err := a.hotRecords(ctx, b)
	if err != nil {
		return slabLessons{}, err
	}
	var of strings.Builder
	for _, r := range records {
		fmt.Fprintf(&of, "%s %d;", r.ID, r.Through())
	}
	key := slabKey{s, float64(b.Room.Altitude), b.Room.LearnFrom}
	a.mu.Lock()
	l, ok := a.slabs[key]
	a.mu.Unlock()
	if ok && l.of == of.String() {
		return l, nil
	}
	l = slabLessons{of: of.String()}
	var batches []learn.HotBatch
	newest := time.Time{}
	for _, r := range records {
		if at, _ := r.When(record.Poured); at.After(newest) {
			newest = at
		}
	}
	for _, r := range records {
		x, lacks, err := a.hotBatch(ctx, b, s, r, newest)
		if err != nil {
			return slabLessons{}, err
		}
		if lacks != "" {
			l.aside = append(l.aside, Aside{[]string{r.ID}, lacks})
			continue
		}
		batches = append(batches, x)
	}
	if l.lessons, err = learn.LearnHot(batches); err != nil {
		return slabLessons{}, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.slabs == nil || len(a.slabs) > mostSlabs {
		a.slabs = map[slabKey]slabLessons{}
	}
	a.slabs[key] = l
	return l, nil
}

// mostSlabs is how many slabs' lessons are remembered.
const mostSlabs = 8

// hotBatch makes a batch ready to be learned from, by the book it was begun by; lacks says
// why it teaches nothing of this slab.
func (a *App) hotBatch(ctx context.Context, b *book.Book, s rig.Slab, r record.Record, newest time.Time) (x learn.HotBatch, lacks string, err error) {
	was, err := a.bookBegun(ctx, r.Begun().Book)
	if err != nil {
		return x, "", err
	}
	table, ok := daySlab(&was)
	switch {
	case !ok || table != s:
		return x, "made on another slab, or on this one when it was another", nil
	case math.Abs(float64(was.Room.Altitude-b.Room.Altitude)) > movedBy:
		return x, "made at another altitude: the room, its stove and its water were others", nil
	}
	bare := *b
	bare.Room.Learning = rig.LearningOff // what it teaches must not hang on what it taught
	u, err := a.underWayOf(ctx, &bare, r, nil)
	if err == nil {
		err = u.why
	}
	if err != nil {
		if fault.KindOf(err) == fault.KindInternal {
			return x, "", err
		}
		why, _ := fault.Said(err)
		return x, "what it was to be cannot be worked out: " + why, nil
	}
	read, err := a.readingsAt(ctx, u, r)
	if err != nil {
		return x, "", err
	}
	seen, poured, _ := u.seenAtSlab(r, read)
	x = learn.HotBatch{ID: r.ID, Days: newest.Sub(poured).Hours() / 24, Hot: u.hot, Seen: seen}
	lacks, _ = x.Enough()
	return x, lacks, nil
}
