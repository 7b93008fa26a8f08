package app

import (
	"cmp"
	"context"
	"slices"
	"time"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// Save keeps a thing as it was typed, in one act, and returns its id. Expect is
// the head the person saw.
//
// Faults: Problems, each with the name of the form's field, if it cannot be
// meant, and nothing is kept then; Conflict if somebody else changed the book.
func (a *App) Save(ctx context.Context, f entry.Form, expect store.Head, who, why string) (id string, head store.Head, err error) {
	b, _, err := a.keeper.Book(ctx)
	if err != nil && fault.KindOf(err) != fault.KindNotFound {
		return "", 0, err
	}
	b, id, faults := entry.Put(b, f)
	if len(faults) > 0 {
		var p Problems
		for _, x := range faults {
			p = append(p, fault.Invalid("%s", x.Text).At(x.Name).WithHint("%s", x.Hint))
		}
		return id, 0, p
	}
	head, _, err = a.keeper.Import(ctx, b, expect, store.Meta{Person: who, At: a.now(), Reason: why})
	return id, head, err
}

// Retire takes a thing out of the book; what was made with it keeps it. Conflict
// if something in the book still uses it, or somebody else changed the book.
func (a *App) Retire(ctx context.Context, kind, id string, expect store.Head, who, why string) error {
	_, err := a.keeper.Retire(ctx, kind, id, expect, store.Meta{Person: who, At: a.now(), Reason: why})
	return err
}

// Use is one use of a thing by another.
type Use struct {
	Kind string `json:"kind"`
	ID   string `json:"id"`
	Name string `json:"name"`
	Role string `json:"role"` // what for: boil, addition, rolls, part, …
}

// UsesOf lists what in a book uses a thing, in the book's order.
func UsesOf(b *book.Book, kind, id string) ([]Use, error) {
	defs, err := store.Definitions(*b)
	if err != nil {
		return nil, err
	}
	out := []Use{}
	for _, d := range defs {
		for _, r := range d.Refs {
			if r.Kind == kind && r.Slug == id {
				out = append(out, Use{Kind: d.Kind, ID: d.Slug, Name: entry.NameOf(b, d.Kind, d.Slug), Role: r.Role})
			}
		}
	}
	for _, l := range b.ToMake {
		if kind == store.KindProduct && l.Product == id {
			out = append(out, Use{Kind: "to_make", ID: "to_make", Name: "lines to make", Role: "asked for"})
			break
		}
	}
	return out, nil
}

// Version is one state a thing has been in.
type Version struct {
	N       int                `json:"n"`
	Act     int64              `json:"act"`
	At      time.Time          `json:"at"`
	Person  string             `json:"person"`
	Reason  string             `json:"reason,omitempty"`
	Changes []entry.Difference `json:"changes"` // from the version before; of the first, all it says
}

// History lists the versions of a thing, the newest first, each with what it
// changed. NotFound if a thing was never kept, or the book keeps no history.
func (a *App) History(ctx context.Context, kind, id string) ([]Version, error) {
	b, _, err := a.keeper.Book(ctx)
	if err != nil {
		return nil, err
	}
	slug := id
	if entry.Single(kind) {
		slug = kind
	}
	revs, err := a.keeper.Revisions(ctx, kind, slug)
	if err != nil {
		return nil, err
	}
	var out []Version
	var before entry.Form
	for _, r := range revs {
		acts, err := a.keeper.Acts(ctx, r.Act-1, 1)
		if err != nil || len(acts) == 0 {
			return nil, fault.Internal(err, "the act of version %d could not be read", r.N)
		}
		// In the units of today: a version differs by what it says, not by how.
		only := book.Book{Shop: book.Shop{Units: b.Shop.Units}}
		if err := store.Place(&only, kind, r.Body, false); err != nil {
			return nil, fault.Internal(err, "version %d could not be read", r.N)
		}
		f, err := entry.Print(&only, kind, id)
		if err != nil {
			return nil, err
		}
		v := Version{N: r.N, Act: r.Act, At: acts[0].At, Person: acts[0].Person, Reason: acts[0].Reason, Changes: entry.Differences(before, f)}
		out, before = append(out, v), f
	}
	slices.Reverse(out)
	return out, nil
}

// LastChange says what the last act did, for somebody who may want to undo it.
type LastChange struct {
	Act    int64     `json:"act"`
	At     time.Time `json:"at"`
	Person string    `json:"person"`
	Reason string    `json:"reason,omitempty"`
	What   []string  `json:"what"` // "recipe damson-leaves", "lines to make"
	// Undoable is false for the lines to make, which are changed back on their own page.
	Undoable bool `json:"undoable"`
}

// Last returns the last act, nil if the book keeps none or has none that can be
// undone: the first of a book is its beginning.
func (a *App) Last(ctx context.Context) (*LastChange, error) {
	act, body, err := a.last(ctx)
	if err != nil || act == nil {
		return nil, err
	}
	out := &LastChange{Act: act.Seq, At: act.At, Person: act.Person, Reason: act.Reason, What: []string{}, Undoable: body.ToMake == nil}
	for _, m := range body.Revisions {
		out.What = append(out.What, m.Name.String())
	}
	for _, n := range slices.Concat(body.Retired, body.Back) {
		if !slices.Contains(out.What, n.String()) {
			out.What = append(out.What, n.String())
		}
	}
	if body.ToMake != nil {
		out.What = append(out.What, "lines to make")
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

// Undo makes the book what it was before its last act, by acts of its own: things
// that were changed get their version of before, things that were added are
// retired, retired ones come back. The undo of a change of one thing is one act,
// and can be undone; the undo of an import that added several is an act for each.
//
// Faults: Conflict if expect is not the head any more; Invalid if the last act
// changed the lines to make, which are changed back on their own page, or there
// is nothing to undo.
func (a *App) Undo(ctx context.Context, expect store.Head, who string) error {
	act, body, err := a.last(ctx)
	switch {
	case err != nil:
		return err
	case act == nil:
		return fault.Invalid("there is nothing to undo")
	case store.Head(act.Seq) != expect:
		return fault.Conflict("somebody else changed the book").WithHint("look at the last change again")
	case body.ToMake != nil:
		return fault.Invalid("the last change was of the lines to make").WithHint("change them back under To make")
	}
	head := expect
	meta := store.Meta{Person: who, At: a.now(), Reason: "undone: " + cmp.Or(act.Reason, "the last change")}
	var old book.Book
	var added []store.Name
	for _, m := range body.Revisions {
		revs, err := a.keeper.Revisions(ctx, m.Kind, m.Slug)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(revs, func(r store.Revision) bool { return r.Act == act.Seq })
		switch {
		case i > 0:
			err = store.Place(&old, m.Kind, revs[i-1].Body, true)
		case i == 0:
			added = append(added, m.Name)
		}
		if err != nil {
			return err
		}
	}
	for _, n := range body.Back {
		if !slices.Contains(added, n) {
			added = append(added, n)
		}
	}
	for _, n := range body.Retired {
		revs, err := a.keeper.Revisions(ctx, n.Kind, n.Slug)
		if err != nil {
			return err
		}
		if err := store.Place(&old, n.Kind, revs[len(revs)-1].Body, true); err != nil {
			return err
		}
	}
	if slices.Contains(added, store.Name{Kind: store.KindStock, Slug: store.KindStock}) {
		old.Stock = []demand.Stock{}
	}
	old.Format = book.Format
	if head, _, err = a.keeper.Import(ctx, old, head, meta); err != nil {
		return err
	}
	for _, n := range slices.Backward(added) { // what uses others came after them
		if store.Single(n.Kind) {
			continue
		}
		if head, err = a.keeper.Retire(ctx, n.Kind, n.Slug, head, meta); err != nil {
			return err
		}
	}
	return nil
}
