package app

import (
	"cmp"
	"fmt"
	"slices"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/limit"
	ledger "slabside/internal/lot"
	"slabside/internal/recipe"
)

// insteadOf are the ingredients of which something may be used that can stand, gram for
// gram, in the place of one that a day is short of, and what changes with each in any of
// the recipes that want it. One with which any of them would pass a limit of the law of
// the shop's market for sure is left out.
func insteadOf(b *book.Book, recipes []recipe.Recipe, id string, list []ledger.Ledger, date string) []Substitute {
	out := []Substitute{}
	for _, rec := range recipes {
		for _, s := range substitutes(b, rec, id, list) {
			i := slices.IndexFunc(out, func(x Substitute) bool { return x.Ingredient == s.Ingredient })
			if i < 0 {
				out, i = append(out, Substitute{Ingredient: s.Ingredient, Name: s.Name, FreeMg: s.FreeMg, Changes: []string{}}), len(out)
			}
			out[i].Changes = Once(append(out[i].Changes, s.Changes...))
		}
	}
	lawful := []Substitute{}
	for _, s := range out {
		if !slices.ContainsFunc(recipes, func(rec recipe.Recipe) bool { return unlawful(b, rec, id, &s, date) }) {
			lawful = append(lawful, s)
		}
	}
	return lawful
}

// unlawful reports whether a recipe passes a limit of the law for sure with another
// ingredient in the place of one. What cannot be worked out is said and not passed over.
func unlawful(b *book.Book, rec recipe.Recipe, id string, s *Substitute, date string) bool {
	with := *b
	with.Recipes = slices.Clone(b.Recipes)
	i := slices.IndexFunc(with.Recipes, func(x recipe.Recipe) bool { return x.ID == rec.ID })
	if i < 0 {
		return false
	}
	with.Recipes[i] = swapped(rec, id, s.Ingredient)
	r, err := LimitsOf(&with, LimitsRequest{Boil: BoilRequest{Recipe: rec.ID}, Date: date})
	if err != nil {
		why, _ := fault.Said(err)
		s.Changes = Once(append(s.Changes, fmt.Sprintf("whether %s is within the law with it cannot be worked out: %s", cmp.Or(rec.Name, rec.ID), why)))
		return false
	}
	if slices.ContainsFunc(r.Markets, func(m limit.Report) bool { return m.Answer == limit.Borderline }) {
		s.Changes = Once(append(s.Changes, cmp.Or(rec.Name, rec.ID)+" may pass a limit of the law with it"))
	}
	return r.Exceeded()
}

// swapped is a recipe with one ingredient in the place of another.
func swapped(rec recipe.Recipe, was, is string) recipe.Recipe {
	rec.Boil, rec.Additions = slices.Clone(rec.Boil), slices.Clone(rec.Additions)
	for i := range rec.Boil {
		if rec.Boil[i].Ingredient == was {
			rec.Boil[i].Ingredient = is
		}
	}
	for i := range rec.Additions {
		if rec.Additions[i].Ingredient == was {
			rec.Additions[i].Ingredient = is
		}
	}
	if rec.FinishWith == was {
		rec.FinishWith = is
	}
	return rec
}
