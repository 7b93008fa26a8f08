package app

import (
	"context"
	"slices"
	"time"

	"slabside/internal/book"
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
	b, _, err := a.Book(ctx)
	if err != nil && fault.KindOf(err) != fault.KindNotFound {
		return "", 0, err
	}
	b, id, faults := entry.Put(b, f)
	if len(faults) > 0 {
		return id, 0, problemsOf(faults)
	}
	head, _, err = a.keeper.Import(ctx, b, expect, store.Meta{Person: who, At: a.now(), Reason: why})
	return id, head, err
}

// problemsOf names what is wrong with a form, each at its field.
func problemsOf(faults []entry.Fault) Problems {
	var p Problems
	for _, x := range faults {
		p = append(p, fault.Invalid("%s", x.Text).At(x.Name).WithHint("%s", x.Hint))
	}
	return p
}

// Retire takes a thing out of the book; what was made with it keeps it. Conflict
// if something in the book still uses it, or somebody else changed the book.
func (a *App) Retire(ctx context.Context, kind, id string, expect store.Head, who, why string) error {
	_, err := a.keeper.Change(ctx, store.Change{Out: []store.Name{{Kind: kind, Slug: id}}}, expect, store.Meta{Person: who, At: a.now(), Reason: why})
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
			out = append(out, Use{Kind: "to_make", ID: "to_make", Name: store.LinesToMake, Role: "asked for"})
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

// History lists up to limit versions of a thing, the newest first, each with what
// it changed: those below the version before, the newest if before is 0. NotFound
// if a thing was never kept, or the book keeps no history.
func (a *App) History(ctx context.Context, kind, id string, before, limit int) ([]Version, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	slug := id
	if entry.Single(kind) {
		slug = kind
	}
	kept, err := a.keeper.Versions(ctx, kind, slug, before, limit+1) // one more: what the last changed from
	if err != nil {
		return nil, err
	}
	var out []Version
	var was entry.Form
	for i, r := range slices.Backward(kept) {
		// In the units of today: a version differs by what it says, not by how.
		only := book.Book{Shop: book.Shop{Units: b.Shop.Units}}
		if err := store.Place(&only, kind, r.Body, false); err != nil {
			return nil, fault.Internal(err, "version %d could not be read", r.N)
		}
		f, err := entry.Print(&only, kind, id)
		if err != nil {
			return nil, err
		}
		if i < limit {
			out = append(out, Version{N: r.N, Act: r.Act, At: r.At, Person: r.Person, Reason: r.Reason, Changes: entry.Differences(was, f)})
		}
		was = f
	}
	slices.Reverse(out)
	return out, nil
}
