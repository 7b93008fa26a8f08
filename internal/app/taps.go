package app

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"slabside/internal/fault"
	"slabside/internal/record"
	"slabside/internal/store"
)

// Tap is what was tapped on a tablet: an entry of a batch's record with its place among
// the tablet's taps and the time of the tablet's clock.
type Tap struct {
	store.Tap
	At       time.Time // by the tablet's clock
	Entry    record.Entry
	Corrects int64
	Why      string
	Late     bool // it waited: nobody can be asked any more
}

// Tap takes in what was tapped. A tap that was taken in before is not written again. One
// that comes at once is refused as [App.Enter] refuses it, and the tablet says so. One that
// waited is a fact: what cannot be written as it was meant, since somebody else has
// written it or a lot is on hold by now, is kept as a note with the reason, and noted is
// true. The time of the act is that of the tablet, put right by how far its clock is off.
//
// Faults: Conflict, at "tap", for a tap before which others are missing; NotFound for a
// batch that was never begun; what cannot be read at all.
func (a *App) Tap(ctx context.Context, t Tap, who string) (noted bool, err error) {
	last, err := a.keeper.Tapped(ctx, t.Device)
	switch {
	case err != nil || t.N > 0 && t.N <= last:
		return false, err
	case t.N > last+1:
		return false, store.MissingTap(last + 1)
	}
	meta := store.Meta{Person: who, At: t.At.Add(t.Offset), Reason: t.Why, Tap: t.Tap}
	e, err := a.withStrength(ctx, t.Entry)
	if err == nil {
		err = a.mayEnter(ctx, e, t.Corrects, who)
	}
	if err == nil {
		_, err = a.keeper.Enter(ctx, e, t.Corrects, meta)
	}
	own := []fault.Kind{fault.KindConflict, fault.KindInvalid, fault.KindOutOfRange, fault.KindNotFound}
	if err == nil || !t.Late || !slices.Contains(own, fault.KindOf(err)) {
		return false, err
	}
	tried, jerr := json.Marshal(t.Entry)
	if jerr != nil {
		return false, err
	}
	why, _ := fault.Said(err)
	note := record.Entry{Batch: t.Entry.Batch, Noted: &record.Noted{Why: fault.Clip(why, 180), Tried: string(tried)}}
	_, err = a.keeper.Enter(ctx, note, 0, meta)
	return err == nil, err
}

// Tapped returns the number of the last tap of a device that was taken in, 0 for none.
func (a *App) Tapped(ctx context.Context, device string) (int64, error) {
	return a.keeper.Tapped(ctx, device)
}
