package app

import (
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/learn"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/slab"
	"slabside/internal/store"
)

// underWay is a batch that was begun, as it was planned: what is the same at every tap.
type underWay struct {
	book  *book.Book // of the act it was begun by
	in    batch.Inputs
	plan  batch.Prediction
	table rig.Slab
	hot   *batch.Hot // nil: the shop has no slab, or it lies beyond the models
	why   error      // there is none

	mu    sync.Mutex // over what follows: the forecast that was made last, and for what
	run   *batch.HotRun
	runOf runKey
	own   bool
}

// underWayOf plans a batch as it was begun, by the book of that day and what records teach
// today, that of its lift in.
func (a *App) underWayOf(ctx context.Context, b *book.Book, r record.Record, taught Taught) (*underWay, error) {
	was, err := a.bookBegun(ctx, r.Begun().Book)
	if err != nil {
		return nil, err
	}
	u := &underWay{book: &was}
	if u.in, err = chainOf(u.book, *r.Begun()); err != nil {
		return nil, err
	}
	u.in.Ensemble = numeric.NewEnsemble(batch.HotMembers, planSeed)
	u.in.Learned = forBatch(taught, u.in)
	if u.plan, err = batch.Predict(u.in); err != nil {
		return nil, err
	}
	var ok bool
	if u.table, ok = daySlab(u.book); !ok {
		u.why = fault.NotFound("the shop book has no slab for the day")
		return u, nil
	}
	hot := batch.HotOf(u.in, u.plan, u.table, dayHook(u.book))
	hot.Seed = planSeed
	if hot.Learned, err = a.taughtSlab(ctx, b, u.table); err != nil {
		return nil, err
	}
	u.hot, u.why = batch.PrepareHot(hot)
	return u, nil
}

// keptUnder is a batch under way that is remembered, and what it was planned by.
type keptUnder struct {
	begun  record.Begun
	slab   *slab.Learned
	reader q.Reader
	under  *underWay
}

// mostUnder is how many batches under way are remembered.
const mostUnder = 8

// underWayNow is [App.underWayOf] of a batch that is looked at again and again: at every
// tap, and by every tablet.
func (a *App) underWayNow(ctx context.Context, b *book.Book, r record.Record) (*underWay, error) {
	taught, err := a.taught(ctx, b)
	if err != nil {
		return nil, err
	}
	was, err := a.bookBegun(ctx, r.Begun().Book)
	if err != nil {
		return nil, err
	}
	var held *slab.Learned
	if table, ok := daySlab(&was); ok {
		if held, err = a.taughtSlab(ctx, b, table); err != nil {
			return nil, err
		}
	}
	a.mu.Lock()
	k, ok := a.under[r.ID]
	a.mu.Unlock()
	if ok && k.begun == *r.Begun() && k.reader == was.Shop.Units && alike(k.slab, held) && alike(k.under.in.Learned, forBatch(taught, k.under.in)) {
		return k.under, nil
	}
	u, err := a.underWayOf(ctx, b, r, taught)
	if err != nil {
		return nil, err
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.under == nil || len(a.under) >= mostUnder {
		a.under = map[string]keptUnder{}
	}
	a.under[r.ID] = keptUnder{*r.Begun(), held, was.Shop.Units, u}
	return u, nil
}

// forBatch is what records teach of a batch; nil if they teach nothing.
func forBatch(taught Taught, in batch.Inputs) *boil.Learned {
	if taught == nil {
		return nil
	}
	return taught.For(*in.Kettle, *in.Glass)
}

// alike reports whether two things are the same, or both are not there.
func alike[T comparable](a, b *T) bool { return a == b || a != nil && b != nil && *a == *b }

// read is a thermometer of a book as it must have been: what it showed less what it reads
// too high, and how sure that is, one standard deviation.
func (u *underWay) read(glass string, readC float64) (trueC, sureK float64) {
	g, ok := byID(u.book.Glasses, glass, func(g rig.Glass) string { return g.ID })
	if !ok {
		g = boil.UnnamedGlass()
	}
	high, sd := boil.OffAt(g, u.book.Room, q.Celsius(readC))
	return readC - float64(high), float64(sd)
}

// seenAtSlab is what was seen of a batch between the pour and the last sheet, by its
// taps; false if it was not poured. Of a thing that was tapped twice the last holds.
func (u *underWay) seenAtSlab(r record.Record, more []SlabReading) (seen []learn.HotSeen, poured time.Time, ok bool) {
	if poured, ok = r.When(record.Poured); !ok {
		return u.typedAtSlab(r)
	}
	since := func(what record.Happening) (float64, bool) {
		at, ok := r.When(what)
		return at.Sub(poured).Seconds(), ok && at.After(poured)
	}
	for what, as := range map[record.Happening]learn.HotWhat{record.EdgeUp: learn.HotEdge, record.PullBegun: learn.HotPull, record.FirstSheet: learn.HotFirst, record.Cracked: learn.HotGone} {
		if s, ok := since(what); ok {
			seen = append(seen, learn.HotSeen{What: as, S: s})
		}
	}
	first, began := since(record.ToRolls) // the first good sheet comes some while after the first bar
	if !began {
		first, began = since(record.FirstSheet)
	}
	if last, ok := since(record.LastSheet); ok && began && last > first {
		seen = append(seen, learn.HotSeen{What: learn.HotRolled, S: last - first}, learn.HotSeen{What: learn.HotGone, S: last, Yet: true})
	}
	end := math.Inf(1) // what lies there afterwards is not the batch any more
	for _, what := range []record.Happening{record.LastSheet, record.Cracked} {
		if s, ok := since(what); ok {
			end = math.Min(end, s)
		}
	}
	for _, k := range more {
		if s := k.At.Sub(poured).Seconds(); k.Where == record.AtSlab && s > 0 && s < end {
			_, sure := u.read(k.Glass, float64(k.C))
			seen = append(seen, learn.HotSeen{What: learn.HotRead, S: s, C: float64(k.TrueC), Glass: k.Glass, SureK: sure})
		}
	}
	learn.SortSeen(seen)
	return seen, poured, true
}

// minuteSD is how well a time that was written on paper is known beyond a tap, one standard
// deviation: to the minute, when somebody had a hand free [s].
const minuteSD = 45.0

// typedAtSlab is what was seen of a batch by what was written on its sheet and typed in
// afterwards; false without the time of the pour.
func (u *underWay) typedAtSlab(r record.Record) (seen []learn.HotSeen, poured time.Time, ok bool) {
	m := r.Made()
	if m == nil || m.PouredAt == "" {
		return nil, poured, false
	}
	at := func(clock string) (time.Time, bool) {
		t, err := time.ParseInLocation("2006-01-02 15:04", r.Begun().On+" "+clock, zoneOf(u.book))
		return t, err == nil
	}
	if poured, ok = at(m.PouredAt); !ok {
		return nil, poured, false
	}
	since := func(clock string) (float64, bool) {
		t, ok := at(clock)
		return t.Sub(poured).Seconds(), ok && t.After(poured)
	}
	typed := func(what learn.HotWhat, s, of float64) {
		seen = append(seen, learn.HotSeen{What: what, S: s, LogSD: minuteSD / of})
	}
	looked := func(s, readC float64) {
		if readC > 0 {
			seen = append(seen, learn.HotSeen{What: learn.HotRead, S: s, C: readC, SureK: r.Worked().SureK / ninety})
		}
	}
	if s, ok := since(m.EdgeAt); ok {
		typed(learn.HotEdge, s, s)
	}
	first, began := since(m.RolledFrom)
	if began {
		typed(learn.HotFirst, first, first)
	}
	if last, ok := since(m.RolledTo); ok && began && last > first {
		typed(learn.HotRolled, last-first, last-first)
		if r.Worked() != nil {
			looked(last, r.Worked().LastC)
		}
	}
	if began && r.Worked() != nil {
		looked(first, r.Worked().RollC)
	}
	learn.SortSeen(seen)
	return seen, poured, true
}

// readingsAt are the thermometers that were read of a batch, by hand or by themselves.
func (a *App) readingsAt(ctx context.Context, u *underWay, r record.Record) ([]SlabReading, error) {
	out := []SlabReading{}
	begun, _ := r.Stands(record.Beginning)
	kept, err := a.readingsOf(ctx, r.ID, begun.At)
	if err != nil {
		return nil, err
	}
	last := map[string]time.Time{}
	for _, k := range kept {
		where, ok := map[reading.Place]record.Spot{reading.Kettle: record.AtKettle, reading.Slab: record.AtSlab, reading.Sheet: record.AtSheet}[k.In]
		from := k.Probe + " " + string(k.In)
		if !ok || k.N != 0 || k.At.Sub(last[from]) < apartReadings {
			continue
		}
		last[from] = k.At
		trueC, _ := u.read(k.Probe, k.C)
		out = append(out, SlabReading{At: k.At, Where: where, Glass: k.Probe, C: q.Number(k.C), TrueC: q.Number(trueC)})
	}
	for _, k := range r.Moments() {
		if m := k.Moment; m.What == record.Looked {
			trueC, _ := u.read(m.Glass, m.ReadC)
			out = append(out, SlabReading{At: k.At, Where: m.At, Glass: m.Glass, C: q.Number(m.ReadC), TrueC: q.Number(trueC)})
		}
	}
	slices.SortStableFunc(out, func(a, b SlabReading) int { return a.At.Compare(b.At) })
	return out, nil
}

// apartReadings is how far apart readings of one thermometer must lie to tell anything that
// the one before did not: where it stands in the sugar is the same error in both.
const apartReadings = 30 * time.Second

// hotLearnedFrom is how many batches a slab is learned from at most, the newest: what is
// older counts for little, see [learn.HalfLife].
const hotLearnedFrom = 24

// slabKey names what a slab's figures are learned of: another plate, or other water, is
// another slab.
type slabKey struct {
	slab     rig.Slab
	altitude float64
	from     string
	stated   slab.Learned
}

// slabLessons is what the batches of a slab teach, and by which state of their records.
type slabLessons struct {
	head    store.Head
	of      string
	lessons *learn.HotLessons
	aside   []Aside
}

// hotRecords returns the batches of a book's room that were followed at its slab to the end.
func (a *App) hotRecords(ctx context.Context, b *book.Book) ([]record.Record, error) {
	list, err := a.keeper.Records(ctx, store.Find{From: b.Room.LearnFrom, Limit: learnedFrom})
	if err != nil {
		return nil, err
	}
	var out []record.Record
	for _, r := range list {
		_, poured := r.When(record.Poured)
		_, last := r.When(record.LastSheet)
		_, cracked := r.When(record.Cracked)
		typed := r.Made() != nil && r.Made().PouredAt != "" && r.Made().RolledTo != ""
		if (poured && (last || cracked) || typed) && len(out) < hotLearnedFrom {
			out = append(out, r)
		}
	}
	return out, nil
}
