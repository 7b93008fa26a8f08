package app

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/packing"
	"slabside/internal/record"
	"slabside/internal/store"
)

// Tap is what was tapped on a tablet: an entry of a batch's record, or one of the other
// things that are tapped, with its place among the tablet's taps and the time of the
// tablet's clock.
type Tap struct {
	store.Tap
	At       time.Time // by the tablet's clock
	Entry    record.Entry
	Corrects int64
	Why      string
	Late     bool // it waited: nobody can be asked any more

	// In place of the entry, one of these.
	Trouble *TroubleRequest
	Decide  *DecideRequest
	Washed  string // batch after which all is washed
	Pack    *PackRequest
	Fill    *FillRequest
	Packing *packing.Entry // with Corrects
	Missed  *Missed        // it cannot even be read: a note of it alone is kept
}

// Missed is a tap that waited and cannot be read as its page would.
type Missed struct {
	Batch string // in whose record the note stands; empty: among the notes of the packing
	Why   string
	Tried string // what was sent
}

// Tap takes in what was tapped. A tap that was taken in before is not written again. One
// that comes at once is refused as its page refuses it, and the tablet says so. One that
// waited is a fact: what cannot be written as it was meant, since somebody else has
// written it or a lot is on hold by now, is kept as a note with the reason, and noted is
// true: in the record of its batch, or, of the packing and of a batch that was never
// begun, among the notes of its day. The time of the act is that of the tablet, put right
// by how far its clock is off.
//
// Faults: Conflict, at "tap", for a tap before which others are missing; what cannot be
// read at all.
func (a *App) Tap(ctx context.Context, t Tap, who string) (noted bool, err error) {
	last, err := a.keeper.Tapped(ctx, t.Device)
	switch {
	case err != nil || t.N > 0 && t.N <= last:
		return false, err
	case t.N > last+1:
		return false, store.MissingTap(last + 1)
	}
	meta := store.Meta{Person: who, At: t.At.Add(t.Offset), Reason: t.Why, Tap: t.Tap}
	if t.Missed != nil {
		err = a.noteTap(ctx, t.Missed.Batch, t.Missed.Why, t.Missed.Tried, meta)
		return err == nil, err
	}
	err = a.writeTap(ctx, t, meta)
	own := []fault.Kind{fault.KindConflict, fault.KindInvalid, fault.KindOutOfRange, fault.KindNotFound}
	if err == nil || !t.Late || !slices.Contains(own, fault.KindOf(err)) {
		return false, err
	}
	batch, what := t.tried()
	tried, jerr := json.Marshal(what)
	if jerr != nil {
		return false, err
	}
	why, _ := fault.Said(err)
	err = a.noteTap(ctx, batch, why, string(tried), meta)
	return err == nil, err
}

// writeTap writes what was tapped as it was meant.
func (a *App) writeTap(ctx context.Context, t Tap, m store.Meta) error {
	switch {
	case t.Trouble != nil:
		return a.trouble(ctx, *t.Trouble, m)
	case t.Decide != nil:
		return a.decide(ctx, *t.Decide, m)
	case t.Washed != "":
		return a.washed(ctx, t.Washed, m.Person, m)
	case t.Pack != nil:
		return a.packOn(ctx, *t.Pack, m)
	case t.Fill != nil:
		return a.fillJar(ctx, *t.Fill, m)
	case t.Packing != nil && t.Packing.Placed != nil && t.Packing.Placed.As == packing.Hold:
		return a.holdPacked(ctx, t.Packing.Ledger, t.Packing.Placed.Why, m)
	case t.Packing != nil:
		return a.writePacking(ctx, *t.Packing, t.Corrects, m)
	}
	return a.enter(ctx, t.Entry, t.Corrects, m)
}

// tried is what was tapped, as a note keeps it, and the batch in whose record it stands.
func (t Tap) tried() (batch string, what any) {
	switch {
	case t.Trouble != nil:
		return t.Trouble.Batch, t.Trouble
	case t.Decide != nil:
		return t.Decide.Batch, t.Decide
	case t.Washed != "":
		return t.Washed, map[string]string{"washed": t.Washed}
	case t.Pack != nil:
		return "", t.Pack
	case t.Fill != nil:
		return "", t.Fill
	case t.Packing != nil:
		return "", t.Packing
	}
	return t.Entry.Batch, t.Entry
}

// noteTap keeps what could not be written where somebody reads it.
func (a *App) noteTap(ctx context.Context, batch, why, tried string, m store.Meta) error {
	const mostWhy = 180
	m.Reason = ""
	why = fault.Clip(why, mostWhy)
	if batch != "" {
		_, err := a.keeper.Enter(ctx, record.Entry{Batch: batch, Noted: &record.Noted{Why: why, Tried: tried}}, 0, m)
		if k := fault.KindOf(err); err == nil || k != fault.KindNotFound && k != fault.KindInvalid {
			return err
		}
	}
	b, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	e := packing.Entry{Ledger: packing.NotesID(m.At.In(zoneOf(&b)).Format(time.DateOnly)), Noted: &packing.Noted{Why: why, Tried: tried}}
	_, err = store.Packing().Enter(ctx, a.keeper, e, 0, m)
	return err
}

// packOn packs bags that were tapped. A page that waits does not know the lot that its
// first tap began: without a lot, and if none of its own was asked for, bags go on in the
// last of their day of the same product, batches and date, as on a page that is shown
// anew.
func (a *App) packOn(ctx context.Context, r PackRequest, m store.Meta) error {
	if r.Lot == "" && !r.New {
		b, _, err := a.Book(ctx)
		if err != nil {
			return err
		}
		if r.Lot, err = a.lotGoingOn(ctx, &b, r, m); err != nil {
			return err
		}
	}
	r.New = r.New && r.Lot != ""
	_, err := a.pack(ctx, r, m)
	return err
}

// lotGoingOn is the lot of the day to which bags are added; empty: there is none.
func (a *App) lotGoingOn(ctx context.Context, b *book.Book, r PackRequest, m store.Meta) (string, error) {
	p, ok := b.Product(r.Product)
	if !ok {
		return "", nil // said where it is packed
	}
	day := m.At.In(zoneOf(b)).Format(time.DateOnly)
	found, err := store.Packing().Find(ctx, a.keeper, store.FindJots{Of: r.Product, From: day, To: day, Limit: mostPackings})
	if err != nil {
		return "", err
	}
	lot, begun := "", int64(0)
	for _, kept := range found {
		x := packing.FoldBags(kept)
		if !packing.IsBags(x.ID) || x.Packed == nil || x.Status != packing.Usable || x.Packed.LabelMg != p.Net.Milligrams() || cmp.Or(r.BestBefore, x.Packed.BestBefore) != x.Packed.BestBefore {
			continue
		}
		same := !slices.ContainsFunc(x.Holds(), func(s packing.Share) bool { return !slices.Contains(r.Batches, s.Batch) })
		if act := kept[0].Act; same && act > begun {
			lot, begun = x.ID, act
		}
	}
	return lot, nil
}

// TapNote is what was tapped in vain and is to be read.
type TapNote struct {
	Ledger string    `json:"ledger"`
	Act    int64     `json:"act"`
	At     time.Time `json:"at"`
	Person string    `json:"person"`
	Why    string    `json:"why"`
	Tried  string    `json:"tried"`
}

// TapNotes returns the notes of the packing that nobody has taken back, the oldest first.
func (a *App) TapNotes(ctx context.Context) ([]TapNote, error) {
	found, err := store.Packing().Find(ctx, a.keeper, store.FindJots{Live: true, Limit: mostPackings})
	if err != nil {
		return nil, err
	}
	return tapNotes(found), nil
}

func tapNotes(found [][]packing.Kept) []TapNote {
	out := []TapNote{}
	for _, kept := range found {
		for _, k := range packing.Notes(kept) {
			out = append(out, TapNote{k.Entry.Ledger, k.Act, k.At, k.Person, k.Entry.Noted.Why, k.Entry.Noted.Tried})
		}
	}
	slices.SortFunc(out, func(x, y TapNote) int { return cmp.Compare(x.Act, y.Act) })
	return out
}

// Tapped returns the number of the last tap of a device that was taken in, 0 for none.
func (a *App) Tapped(ctx context.Context, device string) (int64, error) {
	return a.keeper.Tapped(ctx, device)
}
