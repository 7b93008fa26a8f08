package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// writer puts log entries and what follows from them into the tables. It is the
// store.Sink of an import of a whole book, and the same code writes new acts,
// so that a book read back is the book that was written.
type writer struct {
	ctx  context.Context
	tx   *sql.Tx
	k    *Keeper
	head store.Head
	hash string

	corrects int64         // the act that the one to be written corrects
	offset   time.Duration // of the book's clock from that of the device that acts
	readings *readings     // of an import
}

var _ store.Sink = (*writer)(nil)

func (w *writer) exec(query string, args ...any) error {
	_, err := w.tx.ExecContext(w.ctx, query, args...)
	return err
}

// Act writes an act and counts it for its device.
func (w *writer) Act(a store.Act) error {
	if err := w.exec(qSetDevice, a.Device, a.DeviceSeq, w.offset.Milliseconds()); err != nil {
		return err
	}
	w.head, w.hash, w.corrects = store.Head(a.Seq), a.Hash, a.Corrects
	return w.exec(qAddAct, a.Seq, a.ID, a.Device, a.DeviceSeq, a.Person, a.At.UnixMilli(), a.Received.UnixMilli(),
		a.Kind, a.Reason, a.Corrects, string(a.Body), a.PrevHash, a.Hash)
}

// Revision writes a revision, makes it the head of its thing and notes what it uses.
func (w *writer) Revision(r store.Revision, refs []store.Ref) error {
	t, err := w.thing(store.Name{Kind: r.Kind, Slug: r.Slug})
	if err != nil {
		return err
	}
	if t.id == 0 {
		if err := w.tx.QueryRowContext(w.ctx, qAddThing, r.Kind, r.Slug).Scan(&t.id); err != nil {
			return err
		}
	}
	if err := w.exec(qAddRevision, r.ID, t.id, r.N, string(r.Body), r.SHA256, r.Act); err != nil {
		return err
	}
	if err := w.exec(qSetHead, r.N, t.id); err != nil {
		return err
	}
	for _, ref := range refs {
		used, err := w.thing(ref.Name)
		if err != nil {
			return err
		}
		if used.id == 0 {
			return fmt.Errorf("revision %d uses %s, which has no row", r.ID, ref.Name)
		}
		if err := w.exec(qAddRef, r.ID, used.id, ref.Role); err != nil {
			return err
		}
	}
	if r.Kind == store.KindShop {
		row, err := store.RowOf(r.Body)
		if err != nil {
			return err
		}
		return w.exec(qSetBook, Schema, row.Name, row.TimeZone, row.Units, row.Currency, row.Market)
	}
	return nil
}

// Settle retires, brings back and orders things.
func (w *writer) Settle(body store.ActBody) error {
	for _, n := range body.Retired {
		if err := w.exec(qSetRetired, 1, n.Kind, n.Slug); err != nil {
			return err
		}
	}
	if body.Entry != nil {
		if err := w.entry(*body.Entry); err != nil {
			return err
		}
	}
	if body.Lot != nil {
		if err := w.lotEntry(*body.Lot); err != nil {
			return err
		}
	}
	for _, e := range body.Lots {
		if err := w.lotEntry(e); err != nil {
			return err
		}
	}
	if body.Jot != nil {
		if err := w.jot(*body.Jot); err != nil {
			return err
		}
	}
	if a := body.Attachment; a != nil {
		if err := w.exec(qAddAttached, int64(w.head), a.Of, a.SHA256); err != nil {
			return err
		}
	}
	for _, n := range body.Back {
		if err := w.exec(qSetRetired, 0, n.Kind, n.Slug); err != nil {
			return err
		}
	}
	for _, o := range body.Order {
		for i, slug := range o.Slugs {
			if err := w.exec(qSetPlace, i+1, o.Kind, slug); err != nil {
				return err
			}
		}
	}
	return nil
}

// Lines replaces the lines to make.
func (w *writer) Lines(lines []demand.Line) error {
	if err := w.exec(qClearToMake); err != nil {
		return err
	}
	for i, l := range lines {
		t, err := w.thing(store.Name{Kind: store.KindProduct, Slug: l.Product})
		if err != nil {
			return err
		}
		if t.id == 0 || t.Retired {
			return fault.Invalid("there is no product %q", l.Product).At(fmt.Sprintf("to_make[%d].product", i)).
				WithHint("add it, or correct the id")
		}
		if err := w.exec(qAddToMake, i+1, t.id, l.Bags, l.Must, l.Due, l.For); err != nil {
			return err
		}
	}
	return nil
}

// thing finds a thing; its id is 0 if there is none.
func (w *writer) thing(n store.Name) (thingRow, error) {
	t := thingRow{Thing: store.Thing{Name: n}}
	err := w.tx.QueryRowContext(w.ctx, qThing, n.Kind, n.Slug).Scan(&t.id, &t.N, &t.Retired)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return t, err
}

// again reports whether a tap is taken in already.
func (w *writer) again(t store.Tap) (bool, error) {
	if t.Device == "" {
		return false, nil
	}
	last, err := w.deviceSeq(t.Device)
	switch {
	case err != nil:
		return false, err
	case t.N > last+1:
		return false, store.MissingTap(last + 1)
	}
	return t.N <= last, nil
}

func (w *writer) deviceSeq(device string) (int64, error) {
	var n int64
	err := w.tx.QueryRowContext(w.ctx, qDevice, device).Scan(&n)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return n, err
}

func (w *writer) lastRevision() (int64, error) {
	var n int64
	err := w.tx.QueryRowContext(w.ctx, qLastRevision).Scan(&n)
	return n, err
}
