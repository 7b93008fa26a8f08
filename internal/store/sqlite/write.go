package sqlite

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// write runs fn in the writing transaction. It commits if fn returns no error
// and changes nothing otherwise.
func (k *Keeper) write(ctx context.Context, doing string, fn func(w *writer) error) error {
	switch {
	case k.looks:
		return fault.Forbidden("the shop book %s is open to be looked at only", k.path)
	case k.writer == nil:
		return k.tooNew()
	}
	tx, err := k.writer.BeginTx(ctx, nil)
	if err != nil {
		return translate(err, k.path, doing)
	}
	defer tx.Rollback()
	w := &writer{ctx: ctx, tx: tx, k: k}
	if w.head, w.hash, err = headOf(ctx, tx); err == nil {
		err = fn(w)
	}
	if err == nil {
		err = tx.Commit()
	}
	return translate(err, k.path, doing)
}

// enter writes one entry of a record, a ledger or a journal, in an act of its own: that of
// fn, which says what it does to the book as it stands or refuses. A tap that is taken in
// already is not written again.
func (k *Keeper) enter(ctx context.Context, doing, kind string, corrects int64, m store.Meta, fn func(w *writer) (store.ActBody, error)) (head store.Head, err error) {
	if err := store.CheckMeta(m); err != nil {
		return 0, err
	}
	err = k.write(ctx, doing, func(w *writer) error {
		if done, err := w.again(m.Tap); done || err != nil {
			head = w.head
			return err
		}
		body, err := fn(w)
		if err != nil {
			return err
		}
		w.corrects = corrects
		head, err = w.do(kind, m, body, nil, nil)
		return err
	})
	if err != nil {
		return 0, err
	}
	return head, nil
}

// Import implements store.Keeper.
func (k *Keeper) Import(ctx context.Context, b book.Book, expect store.Head, m store.Meta) (store.Head, store.Changes, error) {
	return k.change(ctx, "import into the shop book", store.Change{Put: b}, expect, m)
}

// Change implements store.Keeper.
func (k *Keeper) Change(ctx context.Context, c store.Change, expect store.Head, m store.Meta) (store.Head, error) {
	head, _, err := k.change(ctx, "change the shop book", c, expect, m)
	return head, err
}

func (k *Keeper) change(ctx context.Context, doing string, c store.Change, expect store.Head, m store.Meta) (store.Head, store.Changes, error) {
	defs, err := store.Definitions(c.Put)
	if err == nil {
		err = store.CheckLines(c.Put.ToMake)
	}
	if err == nil {
		err = store.CheckMeta(m)
	}
	if err != nil {
		return 0, store.Changes{}, err
	}
	head := expect
	var changes store.Changes
	err = k.write(ctx, doing, func(w *writer) error {
		if err := w.expect(expect); err != nil {
			return err
		}
		p, err := w.plan(c, defs)
		if err != nil {
			return err
		}
		changes = p.Changes
		if p.Empty() {
			return nil
		}
		kind := store.ActImport
		switch {
		case len(defs) == 0 && p.Body.ToMake == nil:
			kind = store.ActRetire
		case len(defs) == 0 && len(c.Out) == 0:
			kind = store.ActToMake
		}
		head, err = w.do(kind, m, p.Body, p.New, c.Put.ToMake)
		return err
	})
	if err != nil {
		return 0, store.Changes{}, err
	}
	return head, changes, nil
}

// plan finds what a change has to do to the book as it is.
func (w *writer) plan(c store.Change, defs []store.Definition) (store.Plan, error) {
	rows, err := thingRows(w.ctx, w.tx)
	if err != nil {
		return store.Plan{}, err
	}
	if len(rows) == 0 && len(c.Out) > 0 {
		return store.Plan{}, w.k.empty()
	}
	things := make([]store.Thing, len(rows))
	ids := map[store.Name]int64{}
	for i, r := range rows {
		things[i], ids[r.Name] = r.Thing, r.id
	}
	kept, err := toMake(w.ctx, w.tx)
	if err != nil {
		return store.Plan{}, err
	}
	p, err := store.MakePlan(defs, c.Put.ToMake, things, kept)
	if err != nil {
		return p, err
	}
	return p, p.TakeOut(c.Out, defs, things, store.Makes(kept), func(n store.Name) ([]store.Name, error) { return w.users(ids[n]) })
}

// SetToMake implements store.Keeper.
func (k *Keeper) SetToMake(ctx context.Context, lines []demand.Line, expect store.Head, m store.Meta) (store.Head, error) {
	err := store.CheckLines(lines)
	if err == nil {
		err = store.CheckMeta(m)
	}
	if err != nil {
		return 0, err
	}
	head := expect
	err = k.write(ctx, "save the lines to make", func(w *writer) error {
		if err := w.expect(expect); err != nil {
			return err
		}
		kept, err := toMake(ctx, w.tx)
		if err != nil || slices.Equal(kept, lines) {
			return err
		}
		makes := store.Makes(lines)
		head, err = w.do(store.ActToMake, m, store.ActBody{ToMake: &makes}, nil, lines)
		return err
	})
	if err != nil {
		return 0, err
	}
	return head, nil
}

// keepBefore keeps the lines to make as they are beside the act that changes them.
func (w *writer) keepBefore() error {
	lines, err := toMake(w.ctx, w.tx)
	if err != nil {
		return err
	}
	body, err := json.Marshal(lines)
	if err != nil {
		return err
	}
	return w.exec(qAddToMakeBefore, int64(w.head), string(body))
}

// expect refuses to write over what the caller has not seen.
func (w *writer) expect(head store.Head) error {
	switch {
	case w.head != head && w.head == 0:
		return w.k.empty()
	case w.head != head:
		return fault.Conflict("the book has changed since it was read: act %d was the last then, act %d is now", head, w.head).
			WithHint("read it again and repeat the change")
	}
	return nil
}

// users lists what uses a thing now.
func (w *writer) users(id int64) ([]store.Name, error) {
	var users []store.Name
	err := each(w.ctx, w.tx, qUsers, []any{id}, func(scan func(...any) error) error {
		var n store.Name
		if err := scan(&n.Kind, &n.Slug); err != nil {
			return err
		}
		users = append(users, n)
		return nil
	})
	return users, err
}

// do writes one act with all that belongs to it.
func (w *writer) do(kind string, m store.Meta, body store.ActBody, defs []store.Definition, lines []demand.Line) (store.Head, error) {
	text, err := body.Encode()
	if err != nil {
		return 0, err
	}
	device := cmp.Or(m.Device, w.k.device)
	last, err := w.deviceSeq(device)
	if err != nil {
		return 0, err
	}
	w.offset = m.Offset
	received := m.At
	if w.k.now != nil {
		received = w.k.now()
	}
	a := store.Act{Seq: int64(w.head) + 1, ID: store.ActID(device, last+1), Device: device, DeviceSeq: last + 1,
		Person: m.Person, At: m.At, Received: received, Kind: kind, Reason: m.Reason, Corrects: w.corrects, Body: text, PrevHash: w.hash}
	a.Hash = store.HashAct(a)
	if err := w.Act(a); err != nil {
		return 0, err
	}
	next, err := w.lastRevision()
	if err != nil {
		return 0, err
	}
	for i, d := range defs {
		mark := body.Revisions[i]
		next++
		r := store.Revision{ID: next, Kind: d.Kind, Slug: d.Slug, N: mark.N, SHA256: mark.SHA256, Act: a.Seq, Body: d.Body}
		if err := w.Revision(r, d.Refs); err != nil {
			return 0, err
		}
	}
	if err := w.Settle(body); err != nil {
		return 0, err
	}
	if err := w.exec(qClearToMakeBefore); err != nil {
		return 0, err
	}
	if body.ToMake != nil {
		if err := w.keepBefore(); err != nil {
			return 0, err
		}
		if err := w.Lines(lines); err != nil {
			return 0, err
		}
	}
	return w.head, nil
}
