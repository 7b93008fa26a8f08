package book

import (
	"slices"

	"slabside/internal/bag"
	"slabside/internal/boil"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/supply"
)

// find returns the first element with the id.
func find[T any](list []T, id string, of func(T) string) (T, bool) {
	i := slices.IndexFunc(list, func(t T) bool { return of(t) == id })
	if i < 0 {
		var zero T
		return zero, false
	}
	return list[i], true
}

// Kettle returns the kettle of an id.
func (b *Book) Kettle(id string) (rig.Kettle, bool) {
	return find(b.Kettles, id, func(k rig.Kettle) string { return k.ID })
}

// RollsOf returns the pair of rolls of an id.
func (b *Book) RollsOf(id string) (rig.Rolls, bool) {
	return find(b.Rolls, id, func(r rig.Rolls) string { return r.ID })
}

// Ingredient returns the ingredient of an id.
func (b *Book) Ingredient(id string) (ingredient.Ingredient, bool) {
	return find(b.Ingredients, id, func(i ingredient.Ingredient) string { return i.ID })
}

// Supply returns the supply of an id.
func (b *Book) Supply(id string) (supply.Supply, bool) {
	return find(b.Supplies, id, func(s supply.Supply) string { return s.ID })
}

// Recipe returns the recipe of an id.
func (b *Book) Recipe(id string) (recipe.Recipe, bool) {
	return find(b.Recipes, id, func(r recipe.Recipe) string { return r.ID })
}

// Product returns the product of an id.
func (b *Book) Product(id string) (bag.Product, bool) {
	return find(b.Products, id, func(p bag.Product) string { return p.ID })
}

// Pack returns the pack of an id.
func (b *Book) Pack(id string) (bag.Pack, bool) {
	return find(b.Packs, id, func(p bag.Pack) string { return p.ID })
}

// DayKettle returns the kettle the day's plan uses: the one the day names, else
// the first that is not for trials only.
func (b *Book) DayKettle() (rig.Kettle, bool) {
	if b.Day.Kettle != "" {
		return b.Kettle(b.Day.Kettle)
	}
	i := slices.IndexFunc(b.Kettles, func(k rig.Kettle) bool { return !k.TrialsOnly })
	if i < 0 {
		return rig.Kettle{}, false
	}
	return b.Kettles[i], true
}

// KettleFor returns the kettle a recipe is boiled in: its own, else the day's.
func (b *Book) KettleFor(r recipe.Recipe) (rig.Kettle, bool) {
	if r.Kettle != "" {
		return b.Kettle(r.Kettle)
	}
	return b.DayKettle()
}

// DaySlab returns the slab the day's plan uses: the first not for trials only.
func (b *Book) DaySlab() (rig.Slab, bool) {
	i := slices.IndexFunc(b.Slabs, func(s rig.Slab) bool { return !s.TrialsOnly })
	if i < 0 {
		return rig.Slab{}, false
	}
	return b.Slabs[i], true
}

// DayGlass returns the thermometer that is read, what its checks found laid over
// it: the one the day names, else the first.
func (b *Book) DayGlass() (rig.Glass, bool) {
	if len(b.Glasses) == 0 {
		return rig.Glass{}, false
	}
	g, ok := b.Glasses[0], true
	if b.Day.Glass != "" {
		g, ok = find(b.Glasses, b.Day.Glass, func(g rig.Glass) string { return g.ID })
	}
	return b.Checked(g), ok
}

// Checked returns a glass with what its checks found laid over offset and class.
func (b *Book) Checked(g rig.Glass) rig.Glass { return boil.Checked(g, b.Room) }

// AllergensOf returns what a recipe contains and may contain by its suppliers'
// statements, each word once and sorted, and the ids of ingredients whose
// supplier has not stated: with any of those the lists are not complete.
func (b *Book) AllergensOf(r recipe.Recipe) (contains, may, unstated []string) {
	return b.AllergensIn(r.Ingredients())
}

// AllergensIn is AllergensOf for some ingredients.
func (b *Book) AllergensIn(ids []string) (contains, may, unstated []string) {
	for _, id := range ids {
		ing, ok := b.Ingredient(id)
		if !ok || !ing.Stated() {
			unstated = append(unstated, id)
		}
		contains = append(contains, ing.Contains...)
		may = append(may, ing.MayContain...)
	}
	slices.Sort(contains)
	slices.Sort(may)
	contains = slices.Compact(contains)
	may = slices.DeleteFunc(slices.Compact(may), func(a string) bool { return slices.Contains(contains, a) })
	return contains, may, unstated
}
