package app

import (
	"slabside/internal/bag"
	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/slab"
)

// byID finds a thing of a list by its id.
func byID[T any](list []T, id string, idOf func(T) string) (T, bool) {
	for _, t := range list {
		if idOf(t) == id {
			return t, true
		}
	}
	var zero T
	return zero, false
}

func productID(id string) func(bag.Product) bool {
	return func(p bag.Product) bool { return p.ID == id }
}

// dayKettle returns the kettle the plan uses.
func dayKettle(b *book.Book) (rig.Kettle, error) {
	k, ok := b.DayKettle()
	if !ok {
		return k, fault.Invalid("no kettle to plan with").At("kettle").WithHint("add a [[kettle]] that is not for trials only, and name it in day.kettle if there are several")
	}
	return k, nil
}

// kettleOf returns the kettle a recipe is boiled in.
func kettleOf(b *book.Book, r recipe.Recipe) (rig.Kettle, error) {
	if r.Kettle == "" {
		return dayKettle(b)
	}
	k, ok := b.Kettle(r.Kettle)
	if !ok {
		return k, fault.NotFound("recipe %q names kettle %q, which is not in the shop book", r.ID, r.Kettle)
	}
	return k, nil
}

// Taught says what records teach of a boil in a kettle that is read on a glass, nil for
// nothing. A nil Taught teaches nothing.
type Taught interface {
	For(kettle rig.Kettle, glass rig.Glass) *boil.Learned
	Slab() *slab.Learned // of the day's slab; nil: as of any room
}

// chain gathers what one boil of a recipe of the book needs, from the charge to the
// pieces. Whoever asks for one boil asks through it, so that the same recipe and
// charge come to the same figures and ranges everywhere, to the last digit.
func chain(b *book.Book, taught Taught, rec recipe.Recipe, charge q.Kilograms) (batch.Inputs, error) {
	kettle, err := kettleOf(b, rec)
	if err != nil {
		return batch.Inputs{}, err
	}
	glass, err := dayGlass(b)
	if err != nil {
		return batch.Inputs{}, err
	}
	in := batch.Inputs{Recipe: rec, Ingredients: b.Ingredients, Room: b.Room, Kettle: &kettle, Glass: &glass,
		Machine: dayMachine(b), Board: dayBoard(b), Scales: b.Scales, Units: b.Shop.Units,
		Charge: charge, Ensemble: numeric.NewEnsemble(planDraws, planSeed)}
	if taught != nil {
		in.Learned, in.Held = taught.For(kettle, glass), taught.Slab()
	}
	if table, ok := daySlab(b); ok {
		in.Slab, in.Hook = &table, dayHook(b)
	}
	if rolls, ok := b.RollsOf(rec.Rolls); ok {
		in.Rolls = &rolls
	}
	return in, nil
}

// dayGlass returns the thermometer that is read.
func dayGlass(b *book.Book) (rig.Glass, error) {
	g, ok := b.DayGlass()
	if !ok {
		return g, fault.Invalid("no thermometer to read").At("glass").WithHint("add a [[glass]] with its offset and class")
	}
	return g, nil
}

// dayMachine returns the drop machine the plan uses, nil without one.
func dayMachine(b *book.Book) *rig.Machine {
	if len(b.Machines) == 0 {
		return nil
	}
	return &b.Machines[0]
}

// dayBoard returns the feeding board the plan uses, nil without one.
func dayBoard(b *book.Book) *rig.Board {
	if len(b.Boards) == 0 {
		return nil
	}
	return &b.Boards[0]
}

// daySlab returns the slab the plan uses: the first that is not for trials only.
func daySlab(b *book.Book) (rig.Slab, bool) {
	for _, s := range b.Slabs {
		if !s.TrialsOnly {
			return s, true
		}
	}
	return rig.Slab{}, false
}

// dayHook returns the hook the plan uses, nil without one.
func dayHook(b *book.Book) *rig.Hook {
	if len(b.Hooks) == 0 {
		return nil
	}
	return &b.Hooks[0]
}
