package app

import (
	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/rig"
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

func findProduct(b *book.Book, id string) (bag.Product, bool) {
	return byID(b.Products, id, func(p bag.Product) string { return p.ID })
}

func findRecipe(b *book.Book, id string) (recipe.Recipe, bool) {
	return byID(b.Recipes, id, func(r recipe.Recipe) string { return r.ID })
}

func findIngredient(b *book.Book, id string) (ingredient.Ingredient, bool) {
	return byID(b.Ingredients, id, func(i ingredient.Ingredient) string { return i.ID })
}

func findRolls(b *book.Book, id string) (rig.Rolls, bool) {
	return byID(b.Rolls, id, func(r rig.Rolls) string { return r.ID })
}

// dayKettle returns the kettle of the plan: the one the day names, else the
// largest that is not kept for trials.
func dayKettle(b *book.Book) (rig.Kettle, error) {
	if b.Day.Kettle != "" {
		k, ok := byID(b.Kettles, b.Day.Kettle, func(k rig.Kettle) string { return k.ID })
		if !ok {
			return rig.Kettle{}, fault.NotFound("no kettle %q in the shop book", b.Day.Kettle).At("day.kettle")
		}
		return k, nil
	}
	var best rig.Kettle
	for _, k := range b.Kettles {
		if !k.TrialsOnly && k.UsualCharge > best.UsualCharge {
			best = k
		}
	}
	if best.ID == "" {
		return best, fault.Invalid("no kettle to plan with").At("kettle").WithHint("add a [[kettle]] that is not for trials only")
	}
	return best, nil
}

// dayGlass returns the thermometer that is read: the one the day names, else the first.
func dayGlass(b *book.Book) (rig.Glass, error) {
	if b.Day.Glass != "" {
		g, ok := byID(b.Glasses, b.Day.Glass, func(g rig.Glass) string { return g.ID })
		if !ok {
			return rig.Glass{}, fault.NotFound("no glass %q in the shop book", b.Day.Glass).At("day.glass")
		}
		return g, nil
	}
	if len(b.Glasses) == 0 {
		return rig.Glass{}, fault.Invalid("no thermometer to read").At("glass").WithHint("add a [[glass]] with its offset and class")
	}
	return b.Glasses[0], nil
}
