package sqlite

import (
	"context"
	"slices"
	"strings"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// write runs fn in the writing transaction. It commits if fn returns no error
// and changes nothing otherwise.
func (k *Keeper) write(ctx context.Context, doing string, fn func(w *writer) error) error {
	if k.writer == nil {
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

// Import implements store.Keeper.
func (k *Keeper) Import(ctx context.Context, b book.Book, expect store.Head, m store.Meta) (store.Head, store.Changes, error) {
	defs, err := store.Definitions(b)
	if err == nil {
		err = store.CheckLines(b.ToMake)
	}
	if err == nil {
		err = store.CheckMeta(m)
	}
	if err != nil {
		return 0, store.Changes{}, err
	}
	head := expect
	var changes store.Changes
	err = k.write(ctx, "import into the shop book", func(w *writer) error {
		if err := w.expect(expect); err != nil {
			return err
		}
		rows, err := thingRows(ctx, w.tx)
		if err != nil {
			return err
		}
		things := make([]store.Thing, len(rows))
		for i, r := range rows {
			things[i] = r.Thing
		}
		kept, err := toMake(ctx, w.tx)
		if err != nil {
			return err
		}
		p, err := store.MakePlan(defs, b.ToMake, things, kept)
		if err != nil {
			return err
		}
		changes = p.Changes
		if p.Empty() {
			return nil
		}
		head, err = w.do(store.ActImport, m, p.Body, p.New, b.ToMake)
		return err
	})
	if err != nil {
		return 0, store.Changes{}, err
	}
	return head, changes, nil
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

// Retire implements store.Keeper.
func (k *Keeper) Retire(ctx context.Context, kind, slug string, expect store.Head, m store.Meta) (store.Head, error) {
	name := store.Name{Kind: kind, Slug: slug}
	if store.Single(kind) {
		return 0, fault.Invalid("the %s of a book is never retired", kind)
	}
	if err := store.CheckMeta(m); err != nil {
		return 0, err
	}
	var head store.Head
	err := k.write(ctx, "retire "+name.String(), func(w *writer) error {
		if err := w.expect(expect); err != nil {
			return err
		}
		t, err := w.thing(name)
		if err != nil {
			return err
		}
		if t.id == 0 || t.Retired {
			return fault.NotFound("there is no %s %q", kind, slug)
		}
		users, err := w.users(t)
		if err != nil {
			return err
		}
		if len(users) > 0 {
			return fault.Conflict("%s is still used by %s", name, strings.Join(users, ", ")).WithHint("take it out there first")
		}
		order, err := w.live(kind)
		if err != nil {
			return err
		}
		order = slices.DeleteFunc(order, func(s string) bool { return s == slug })
		body := store.ActBody{Retired: []store.Name{name}, Order: []store.Order{{Kind: kind, Slugs: order}}}
		head, err = w.do(store.ActRetire, m, body, nil, nil)
		return err
	})
	return head, err
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
func (w *writer) users(t thingRow) ([]string, error) {
	var users []string
	err := each(w.ctx, w.tx, qUsers, []any{t.id}, func(scan func(...any) error) error {
		var n store.Name
		if err := scan(&n.Kind, &n.Slug); err != nil {
			return err
		}
		users = append(users, n.String())
		return nil
	})
	if err != nil || t.Kind != store.KindProduct {
		return users, err
	}
	lines, err := toMake(w.ctx, w.tx)
	if slices.ContainsFunc(lines, func(l demand.Line) bool { return l.Product == t.Slug }) {
		users = append(users, "the lines to make")
	}
	return users, err
}

// live lists the slugs of a kind in the shop's order.
func (w *writer) live(kind string) ([]string, error) {
	rows, err := thingRows(w.ctx, w.tx)
	slugs := []string{}
	for _, r := range rows {
		if r.Kind == kind && !r.Retired {
			slugs = append(slugs, r.Slug)
		}
	}
	return slugs, err
}

// do writes one act with all that belongs to it.
func (w *writer) do(kind string, m store.Meta, body store.ActBody, defs []store.Definition, lines []demand.Line) (store.Head, error) {
	text, err := body.Encode()
	if err != nil {
		return 0, err
	}
	last, err := w.deviceSeq()
	if err != nil {
		return 0, err
	}
	received := m.At
	if w.k.now != nil {
		received = w.k.now()
	}
	a := store.Act{Seq: int64(w.head) + 1, ID: store.ActID(w.k.device, last+1), Device: w.k.device, DeviceSeq: last + 1,
		Person: m.Person, At: m.At, Received: received, Kind: kind, Reason: m.Reason, Body: text, PrevHash: w.hash}
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
	if body.ToMake != nil {
		if err := w.Lines(lines); err != nil {
			return 0, err
		}
	}
	return w.head, nil
}
