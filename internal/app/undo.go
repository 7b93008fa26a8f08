package app

import (
	"cmp"
	"context"
	"slices"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/record"
	"slabside/internal/store"
)

// LastChange says what the last act did, for somebody who may want to undo it.
type LastChange struct {
	Act    int64     `json:"act"`
	At     time.Time `json:"at"`
	Person string    `json:"person"`
	Reason string    `json:"reason,omitempty"`
	What   []string  `json:"what"` // "recipe damson-leaves", "lines to make"
	// Undoable is false where the lines to make of before are not known, as in a
	// book that came out of an export: they are changed back on their own page.
	Undoable bool `json:"undoable"`
}

// Last returns the last act, nil if the book keeps none or has none that can be
// undone: the first of a book is its beginning.
func (a *App) Last(ctx context.Context) (*LastChange, error) {
	act, body, err := a.last(ctx)
	if err != nil || act == nil {
		return nil, err
	}
	out := &LastChange{Act: act.Seq, At: act.At, Person: act.Person, Reason: act.Reason, What: []string{}, Undoable: true}
	for _, m := range body.Revisions {
		out.What = append(out.What, m.Name.String())
	}
	for _, n := range slices.Concat(body.Retired, body.Back) {
		if !slices.Contains(out.What, n.String()) {
			out.What = append(out.What, n.String())
		}
	}
	if e := body.Entry; e != nil {
		out.What = append(out.What, "batch "+e.Batch+", "+string(e.Kind()))
		out.Undoable = e.Kind() != record.Taking
	}
	if x := body.Lot; x != nil { // taken back on its own page, where what hangs on it is seen
		out.What, out.Undoable = append(out.What, "lot "+x.Lot+", "+string(x.Kind())), false
	}
	if j := body.Jot; j != nil {
		out.What, out.Undoable = append(out.What, j.Subject+", "+j.Kind), false
	}
	if x := body.Attachment; x != nil {
		out.What, out.Undoable = append(out.What, "a file attached to "+x.Of), false
	}
	if body.ToMake != nil {
		out.What = append(out.What, store.LinesToMake)
		_, err := a.keeper.ToMakeBefore(ctx)
		if out.Undoable = err == nil; err != nil && fault.KindOf(err) != fault.KindNotFound {
			return nil, err
		}
	}
	return out, nil
}

func (a *App) last(ctx context.Context) (*store.Act, store.ActBody, error) {
	head, err := a.keeper.Head(ctx)
	if err != nil || head <= 1 {
		return nil, store.ActBody{}, err
	}
	acts, err := a.keeper.Acts(ctx, int64(head)-1, 1)
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		return nil, store.ActBody{}, nil // kept in a file, which has no history
	}
	if err != nil || len(acts) == 0 {
		return nil, store.ActBody{}, err
	}
	body, err := store.DecodeBody(acts[0].Body)
	if err != nil {
		return nil, body, fault.Internal(err, "the last act could not be read")
	}
	return &acts[0], body, nil
}

// Undo makes the book what it was before its last act, by an act of its own, which
// can be undone too: things that were changed get their version of before, things
// that were added are taken out, those that were taken out come back, and so do
// the lines to make.
//
// Faults: Conflict if expect is not the head any more; Invalid if there is nothing
// to undo, or the last act changed the lines to make and those of before are not
// known.
func (a *App) Undo(ctx context.Context, expect store.Head, who string) error {
	act, body, err := a.last(ctx)
	switch {
	case err != nil:
		return err
	case act == nil:
		return fault.Invalid("there is nothing to undo")
	case store.Head(act.Seq) != expect:
		return fault.Conflict("somebody else changed the book").WithHint("look at the last change again")
	}
	if body.Attachment != nil {
		return fault.Invalid("what is attached to %s stays with it", body.Attachment.Of)
	}
	meta := store.Meta{Person: who, At: a.now(), Reason: "undone: " + cmp.Or(act.Reason, "the last change")}
	if body.Entry != nil {
		if body.Entry.Kind() == record.Taking {
			return fault.Invalid("what was taken back of a batch's record is written down anew").WithHint("write it down on the batch's page")
		}
		_, err = a.keeper.Enter(ctx, record.Entry{Batch: body.Entry.Batch}, act.Seq, meta)
		return err
	}
	c, err := a.before(ctx, act, body)
	if err != nil {
		return err
	}
	_, err = a.keeper.Change(ctx, c, expect, meta)
	return err
}

// before is the change that takes the last act back.
func (a *App) before(ctx context.Context, act *store.Act, body store.ActBody) (store.Change, error) {
	c := store.Change{Put: book.Book{Format: book.Format}, Out: slices.Clone(body.Back)}
	if body.ToMake != nil {
		lines, err := a.keeper.ToMakeBefore(ctx)
		if err != nil && fault.KindOf(err) == fault.KindNotFound {
			return c, fault.Invalid("the lines to make of before the last change are not known").WithHint("change them back under To make")
		}
		if err != nil {
			return c, err
		}
		c.Put.ToMake = lines
	}
	was := map[store.Name][]byte{} // what goes back in
	var names []store.Name         // in order
	put := func(n store.Name, below int) error {
		v, err := a.keeper.Versions(ctx, n.Kind, n.Slug, below, 1)
		if err == nil {
			was[n], names = v[0].Body, append(names, n)
		}
		return err
	}
	for _, m := range body.Revisions {
		var err error
		switch {
		case slices.Contains(body.Back, m.Name): // goes out again
		case m.N > 1:
			err = put(m.Name, m.N)
		case m.Name == store.Name{Kind: store.KindStock, Slug: store.KindStock}:
			c.Put.Stock = []demand.Stock{}
		case store.Single(m.Kind): // a book has one always
		default:
			c.Out = append(c.Out, m.Name)
		}
		if err != nil {
			return c, err
		}
	}
	for _, n := range body.Retired {
		if err := put(n, 0); err != nil {
			return c, err
		}
	}
	if len(body.Order) > 0 {
		var err error
		if names, err = a.inOrder(ctx, act, body, was, names); err != nil {
			return c, err
		}
	}
	for _, n := range names {
		if err := store.Place(&c.Put, n.Kind, was[n], true); err != nil {
			return c, err
		}
	}
	return c, nil
}

// inOrder puts the names of every kind whose order the act changed into the order
// of before, with the things of the kind that the act left alone; was gets those
// as they are.
func (a *App) inOrder(ctx context.Context, act *store.Act, body store.ActBody, was map[store.Name][]byte, names []store.Name) ([]store.Name, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	defs, err := store.Definitions(b)
	if err != nil {
		return nil, err
	}
	for _, d := range defs {
		if was[d.Name] == nil {
			was[d.Name] = d.Body
		}
	}
	for _, o := range body.Order {
		old, err := a.orderBefore(ctx, act.Seq, o.Kind)
		if err != nil {
			return nil, err
		}
		names = slices.DeleteFunc(names, func(n store.Name) bool { return n.Kind == o.Kind })
		for _, slug := range old {
			names = append(names, store.Name{Kind: o.Kind, Slug: slug})
		}
	}
	return names, nil
}

// orderBefore returns the order of a kind before an act.
func (a *App) orderBefore(ctx context.Context, seq int64, kind string) ([]string, error) {
	const page = 500
	var order []string
	for after := int64(0); after < seq-1; after += page {
		acts, err := a.keeper.Acts(ctx, after, int(min(page, seq-1-after)))
		if err != nil {
			return nil, err
		}
		for _, x := range acts {
			body, err := store.DecodeBody(x.Body)
			if err != nil {
				return nil, fault.Internal(err, "act %d could not be read", x.Seq)
			}
			for _, o := range body.Order {
				if o.Kind == kind {
					order = o.Slugs
				}
			}
		}
	}
	return order, nil
}
