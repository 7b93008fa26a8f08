package app

import (
	"context"
	"slices"
	"strings"

	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/recipe"
	"slabside/internal/store"
)

// BoilOf works out one boil of a recipe of a book, in its kettle and on its glass.
// It depends on nothing but its arguments.
func BoilOf(b *book.Book, r BoilRequest) (*BoilResult, error) {
	set, err := r.settle(b)
	if err != nil {
		return nil, err
	}
	p, err := batch.Predict(set.in)
	if err != nil {
		return nil, err
	}
	out := boilResult(p.Boil, p.Charge, set.in.Glass, set.in.Scales, b.Shop.Units)
	if set.in.Rolls != nil {
		out.Pieces = &p.Pieces
	}
	out.Verdicts = verdictsOf(p.Boil, set.in.Room, set.in.Recipe, b.Shop.Units)
	out.Switched, out.Soured = set.switched, set.soured
	if out.Small, err = r.smallBoil(set.book, set.in.Recipe, p); err != nil {
		return nil, err
	}
	keeps, cautions, err := keepsLeast(set.book, set.in.Recipe, p.Boil)
	if err != nil {
		return nil, err
	}
	out.Keeps, out.Cautions = keeps, append(out.Cautions, cautions...)
	out.settled, out.predicted = set, p
	return out, nil
}

// settled is a request with its recipe as it is boiled: the doctor changed and dosed,
// the charge found.
type settled struct {
	book     *book.Book // with what a changed doctor brings
	in       batch.Inputs
	switched *Switched // nil: the doctor is its own
	soured   []Soured  // what the acids were changed for
}

// settle finds what a request asks to boil. NotFound without the recipe.
func (r BoilRequest) settle(b *book.Book) (settled, error) {
	if r.Switch {
		r.Switch = false
		other, sw, err := SwitchDoctor(*b, r.Recipe)
		if err != nil {
			return settled{}, err
		}
		out, err := r.settle(&other)
		out.switched = &sw
		return out, err
	}
	rec, ok := b.Recipe(r.Recipe)
	if !ok {
		return settled{}, fault.NotFound("no recipe %q in the shop book", fault.Clip(r.Recipe, fault.Echo)).At("recipe").WithHint("slabside export recipes lists them")
	}
	if r.Kettle != "" {
		if _, ok := b.Kettle(r.Kettle); !ok {
			return settled{}, fault.NotFound("no kettle %q in the shop book", fault.Clip(r.Kettle, fault.Echo)).At("kettle").WithHint("slabside export definitions lists them")
		}
		rec.Kettle = r.Kettle
	}
	if r.Invert > 0 {
		var err error
		if rec, _, err = DoctorFor(b, rec, r, r.Invert); err != nil {
			return settled{}, err
		}
	}
	var soured []Soured
	if r.SourAs != "" {
		var err error
		if rec, soured, err = SourAs(b, rec, r.SourAs); err != nil {
			return settled{}, err
		}
	}
	if r.OilLeft > 0 {
		var err error
		if rec, _, err = OilFor(b, rec, r.OilLeft); err != nil {
			return settled{}, err
		}
	}
	charge, err := r.charge(b, rec)
	if err != nil {
		return settled{}, err
	}
	in, err := r.inputs(b, rec, charge)
	return settled{book: b, in: in, soured: soured}, err
}

// The names of the two ways to say where a boil ends, in the form of a recipe.
const (
	fieldBoilTo    = "boil_to"
	fieldWaterLeft = "water_left"
)

// TryRecipe returns the book as it would be with some fields of a recipe typed
// otherwise, in memory alone, and the fields that differ. Typed is by the names of
// the recipe's form; what it has no such field for is passed over. A new end of the
// boil takes the place of the other way to say it.
//
// Faults: Problems, each at the name of its field, for what cannot be meant;
// NotFound if there is no such recipe.
func TryRecipe(b book.Book, id string, typed map[string]string) (book.Book, []entry.Difference, error) {
	kept, err := entry.Print(&b, store.KindRecipe, id)
	if err != nil {
		return b, nil, err
	}
	f := kept.Clone()
	other := func(name string) bool {
		s, ok := typed[name]
		known := kept.Text[name] != "" || name == fieldBoilTo || name == fieldWaterLeft
		return ok && known && strings.TrimSpace(s) != kept.Text[name]
	}
	for name := range typed {
		if other(name) {
			f.Text[name] = strings.TrimSpace(typed[name])
		}
	}
	for _, way := range [][2]string{{fieldBoilTo, fieldWaterLeft}, {fieldWaterLeft, fieldBoilTo}} {
		if other(way[0]) && f.Text[way[0]] != "" && !other(way[1]) {
			f.Text[way[1]] = ""
		}
	}
	diff := entry.Differences(kept, f)
	if len(diff) == 0 {
		return b, nil, nil
	}
	out, _, faults := entry.Put(b, f)
	if len(faults) > 0 {
		return b, diff, problemsOf(faults)
	}
	return out, diff, nil
}

// AsOf returns the book with a recipe as it was in one of its versions and all
// else as it is now. NotFound if there is no such version.
func (a *App) AsOf(ctx context.Context, id string, version int) (book.Book, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return b, err
	}
	at := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool { return r.ID == id })
	kept, err := a.keeper.Versions(ctx, store.KindRecipe, id, version+1, 1)
	if err != nil {
		return b, err
	}
	if at < 0 || len(kept) == 0 || kept[0].N != version {
		return b, fault.NotFound("there is no version %d of recipe %q", version, fault.Clip(id, fault.Echo))
	}
	var was book.Book
	if err := store.Place(&was, store.KindRecipe, kept[0].Body, false); err != nil || len(was.Recipes) != 1 {
		return b, fault.Internal(err, "version %d could not be read", version)
	}
	b.Recipes = slices.Clone(b.Recipes)
	b.Recipes[at] = was.Recipes[0]
	return b, nil
}
