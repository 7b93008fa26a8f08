package app

import (
	"cmp"
	"context"
	"slices"
	"time"

	"slabside/internal/fault"
	"slabside/internal/reading"
	"slabside/internal/record"
	"slabside/internal/store"
)

// How long a batch may be in the kettle without a lift, and on the slab, hook and rolls
// after it, before its readings are no longer taken for its own. Common practice, no source.
const (
	mostInKettle = 6 * time.Hour
	mostOnSlab   = 3 * time.Hour
)

// mostADay is how many batches of a day are looked through for whose a reading is.
const mostADay = 200

// span is when a batch is where: in the kettle from, then on the slab until its end.
type span struct {
	batch        string
	from, lifted time.Time // lifted is the end of its time in the kettle
	end          time.Time
}

func (s span) known() bool { return !s.from.IsZero() }

// holds reports whether what is measured at a place and time is of the batch. Water and air
// are of it from the flame to the rolls.
func (s span) holds(in reading.Place, at time.Time) bool {
	from, to := s.from, s.end
	switch in {
	case reading.Kettle:
		to = s.lifted
	case reading.Slab, reading.Plate, reading.Hook, reading.Rolls, reading.Sheet:
		from = s.lifted
	}
	return !at.Before(from) && at.Before(to)
}

// BatchAt returns the number of the batch that a reading at a place and time is of, empty
// if it is of none: in the kettle that which was lit and not yet lifted, on the slab, the
// hook and the rolls that which was lifted last. Water and air, which may be of two batches
// at once, are of the one that was lit first.
func (a *App) BatchAt(ctx context.Context, in reading.Place, at time.Time) (string, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return "", err
	}
	zone := zoneOf(&b)
	day := at.In(zone)
	for range 2 { // past midnight it may be of the day before
		spans, err := a.spans(ctx, day.Format(time.DateOnly), zone)
		if err != nil {
			return "", err
		}
		for _, s := range spans {
			if s.holds(in, at) {
				return s.batch, nil
			}
		}
		day = day.AddDate(0, 0, -1)
	}
	return "", nil
}

// spanOf is when one batch is where; the zero value if its beginning was taken back.
func (a *App) spanOf(ctx context.Context, batch string) (span, error) {
	if err := record.CheckID(batch); err != nil {
		return span{}, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: batch, Limit: 1})
	if err != nil {
		return span{}, err
	}
	if len(list) == 0 {
		return span{}, fault.NotFound("batch %s has no record", batch).At("batch").WithHint("begin one on its page, or with slabside begin")
	}
	begun := list[0].Begun()
	if begun == nil {
		return span{}, nil
	}
	b, _, err := a.Book(ctx)
	if err != nil {
		return span{}, err
	}
	spans, err := a.spans(ctx, begun.On, zoneOf(&b))
	if err != nil {
		return span{}, err
	}
	i := slices.IndexFunc(spans, func(s span) bool { return s.batch == batch })
	if i < 0 {
		return span{}, nil
	}
	return spans[i], nil
}

// spans says when each batch of a day is where, by what is written of it. One is in the
// kettle at a time: a batch is there from its flame, or from the lift before it, until its
// own lift. One that was never lifted makes room for the next that was.
func (a *App) spans(ctx context.Context, on string, zone *time.Location) ([]span, error) {
	list, err := a.keeper.Records(ctx, store.Find{From: on, To: on, Limit: mostADay})
	if err != nil {
		return nil, err
	}
	var all []span
	for _, r := range list {
		all = append(all, spanIn(r, zone))
	}
	slices.SortStableFunc(all, func(a, b span) int { return cmp.Or(a.from.Compare(b.from), cmp.Compare(a.batch, b.batch)) })
	var free time.Time // when the kettle is
	for i := range all {
		s := &all[i]
		if s.from.Before(free) {
			s.from = free
		}
		if s.lifted.IsZero() {
			s.lifted = s.from.Add(mostInKettle)
			if j := slices.IndexFunc(all[i+1:], func(x span) bool { return !x.lifted.IsZero() }); j >= 0 && all[i+1+j].from.Before(s.lifted) {
				s.lifted = all[i+1+j].from
			}
			s.end = s.lifted
		} else {
			s.end = s.lifted.Add(mostOnSlab)
		}
		if s.lifted.Before(s.from) {
			s.lifted = s.from
		}
		free = s.lifted
	}
	for i := range all { // the slab is the next batch's from its lift on
		for _, x := range all[i+1:] {
			if x.end.After(x.lifted) && x.lifted.Before(all[i].end) && !x.lifted.Before(all[i].lifted) {
				all[i].end = x.lifted
			}
		}
	}
	return all, nil
}

// spanIn is when a batch was lit, else begun, and lifted, by its own record. What is
// corrected later happened when it was written first, but for times that are told.
func spanIn(r record.Record, zone *time.Location) span {
	s := span{batch: r.ID}
	for _, k := range r.Entries {
		if k.Begun != nil && s.from.IsZero() {
			s.from = k.At
		}
		if k.Lifted != nil && s.lifted.IsZero() {
			s.lifted = k.At
		}
	}
	begun, lifted := r.Begun(), r.Lifted()
	if lifted == nil {
		s.lifted = time.Time{} // taken back
		return s
	}
	if begun == nil {
		return s
	}
	if at, ok := clockOn(begun.On, lifted.LiftedAt, zone); ok {
		s.lifted = at
	}
	if at, ok := clockOn(begun.On, lifted.LitAt, zone); ok && at.Before(s.lifted) {
		s.from = at
	}
	if s.lifted.Before(s.from) { // written down after the work
		s.from = s.lifted.Add(-time.Duration(lifted.FlameS) * time.Second)
	}
	return s
}

// clockOn is a time of day on a date.
func clockOn(date, clock string, zone *time.Location) (time.Time, bool) {
	shown, err := time.Parse("2006-01-02 15:04", date+" "+clock)
	if err != nil {
		return time.Time{}, false
	}
	can := reading.Moments(shown, zone)
	if len(can) == 0 {
		return time.Time{}, false
	}
	return can[0], true
}
