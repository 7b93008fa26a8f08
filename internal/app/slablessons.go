package app

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/learn"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/slab"
	"slabside/internal/sugar"
)

// taughtSlab is what is held of a slab and the hands at it: by what the room states and,
// unless it goes by its models alone, by what the kept records teach.
func (a *App) taughtSlab(ctx context.Context, b *book.Book, s rig.Slab) (*slab.Learned, error) {
	if b.Room.Learning == rig.LearningOff {
		return a.statedSlab(b, s), nil
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
	head, err := a.keeper.Head(ctx)
	if err != nil {
		return slabLessons{}, err
	}
	stated := a.statedSlab(b, s)
	key := slabKey{s, float64(b.Room.Altitude), b.Room.LearnFrom, *stated}
	a.mu.Lock()
	l, ok := a.slabs[key]
	a.mu.Unlock()
	if ok && l.head == head {
		return l, nil
	}
	a.learning.Lock() // once for all who ask at the same time
	defer a.learning.Unlock()
	a.mu.Lock()
	l, ok = a.slabs[key]
	a.mu.Unlock()
	if ok && l.head == head {
		return l, nil
	}
	records, err := a.hotRecords(ctx, b)
	if err != nil {
		return slabLessons{}, err
	}
	var of strings.Builder
	for _, r := range records {
		fmt.Fprintf(&of, "%s %d;", r.ID, r.Through())
	}
	if ok && l.of == of.String() {
		l.head = head
		a.keepSlab(key, l)
		return l, nil
	}
	l = slabLessons{head: head, of: of.String()}
	var batches []learn.HotBatch
	for _, r := range records {
		x, lacks, err := a.hotBatch(ctx, b, s, r, a.now())
		if err != nil {
			return slabLessons{}, err
		}
		if lacks != "" {
			l.aside = append(l.aside, Aside{[]string{r.ID}, lacks})
			continue
		}
		batches = append(batches, x)
	}
	if l.lessons, err = learn.LearnHot(*stated, batches); err != nil {
		if fault.KindOf(err) == fault.KindInternal {
			return slabLessons{}, err
		}
		// What old batches say cannot be brought together: nobody at the slab is to wait
		// for that, and who looks at what is learned is told.
		why, _ := fault.Said(err)
		l.lessons, err = learn.LearnHot(*stated, nil)
		var all []string
		for _, x := range batches {
			all = append(all, x.ID)
		}
		l.aside = append(l.aside, Aside{all, "they cannot be learned from together: " + why})
	}
	if err != nil {
		return slabLessons{}, err
	}
	a.keepSlab(key, l)
	return l, nil
}

func (a *App) keepSlab(key slabKey, l slabLessons) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.slabs == nil || len(a.slabs) > mostSlabs {
		a.slabs = map[slabKey]slabLessons{}
	}
	a.slabs[key] = l
}

// A whole boil of no certain recipe, as a room's stated times are of: what of the charge
// is left on the slab, its water, its syrup, the temperature at the lift.
const (
	wholeLeft  q.Fraction = 0.79
	wholeWater q.Fraction = 0.03
	wholeSyrup q.Fraction = 0.30
	wholeLift  q.Celsius  = 151
)

// statedKey names what the stated times of a room are held against.
type statedKey struct {
	slab  rig.Slab
	room  rig.Room
	board rig.Board // its zero value: none
	rate  float64   // kg/min of the day's machine; 0: the room's
	whole q.Kilograms
}

// statedSlab is what a room's stated times say of a slab. A room whose whole boil is beyond
// the models says nothing.
func (a *App) statedSlab(b *book.Book, s rig.Slab) *slab.Learned {
	key := statedKey{slab: s, room: b.Room}
	if board := dayBoard(b); board != nil {
		key.board = *board
	}
	if m := dayMachine(b); m != nil {
		key.rate = m.RollRate
	}
	for _, k := range b.Kettles {
		if !k.TrialsOnly {
			key.whole = max(key.whole, k.UsualCharge)
		}
	}
	a.mu.Lock()
	held, ok := a.stated[key]
	a.mu.Unlock()
	if ok {
		return held
	}
	held = statedOf(b, s, key.whole)
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.stated == nil || len(a.stated) > mostSlabs {
		a.stated = map[statedKey]*slab.Learned{}
	}
	a.stated[key] = held
	return held
}

func statedOf(b *book.Book, s rig.Slab, whole q.Kilograms) *slab.Learned {
	held := slab.Untaught()
	hot, err := batch.PrepareHot(batch.HotInputs{Batch: "stated", Solids: sugar.Solids{Syrup: wholeSyrup}, Water: wholeWater, Mass: whole * q.Kilograms(wholeLeft), Lift: wholeLift,
		Room: b.Room, Slab: s, Board: dayBoard(b), Hook: dayHook(b), Machine: dayMachine(b), Units: b.Shop.Units})
	if err != nil {
		return &held
	}
	t, usual := b.Room.Times, rig.UsualTimes()
	// What nobody changed is the trade's, and the priors have that already.
	said := func(v, usual q.Duration) float64 {
		if v == usual {
			return 0
		}
		return v.Std().Seconds()
	}
	band := said(t.RollBand, usual.RollBand)
	if dayBoard(b) != nil {
		band = said(t.RollBandBoard, usual.RollBandBoard)
	}
	if l, err := learn.Stated(hot, said(t.FirstTurn, usual.FirstTurn), said(t.FirstTurn+t.Turn, usual.FirstTurn+usual.Turn), band); err == nil {
		held = l
	}
	return &held
}

// mostSlabs is how many slabs' lessons are remembered.
const mostSlabs = 8

// sameSlab reports whether two slabs cool alike, whatever they are called.
func sameSlab(a, b rig.Slab) bool {
	a.ID, a.Name, a.TrialsOnly = b.ID, b.Name, b.TrialsOnly
	return a == b
}

// hotBatch makes a batch ready to be learned from, by the book it was begun by; lacks says
// why it teaches nothing of this slab.
func (a *App) hotBatch(ctx context.Context, b *book.Book, s rig.Slab, r record.Record, now time.Time) (x learn.HotBatch, lacks string, err error) {
	was, err := a.bookBegun(ctx, r.Begun().Book)
	if err != nil {
		return x, "", err
	}
	table, ok := daySlab(&was)
	switch {
	case !ok || !sameSlab(table, s):
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
	x = learn.HotBatch{ID: r.ID, Days: math.Max(0, now.Sub(poured).Hours()/24), Hot: u.hot, Seen: seen}
	lacks, _ = x.Enough()
	return x, lacks, nil
}
