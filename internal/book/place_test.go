package book_test

import (
	"testing"

	"slabside/internal/book"
	"slabside/internal/recipe"
)

// A person finds a thing by its name, or counts from one.
func TestPlace(t *testing.T) {
	t.Parallel()
	b := book.Book{
		Recipes: []recipe.Recipe{
			{ID: "damson", Portions: []recipe.Portion{{ID: "red"}}, Additions: make([]recipe.Addition, 2)},
			{ID: "twice"}, {ID: "twice"}, {},
		},
		Day: book.Day{Breaks: []book.Break{{Name: "lunch"}}, Rules: make([]book.Rule, 1)},
	}
	for path, want := range map[string]string{
		"":                               "",
		"shop.units":                     "shop.units",
		"recipe":                         "recipe",
		"recipe[0].boil_to":              `recipe "damson", boil_to`,
		"recipe[0].addition[1].mass":     `recipe "damson", addition 2, mass`,
		"recipe[0].portion[0].share":     `recipe "damson", portion "red", share`,
		"recipe[0].flavour.family":       `recipe "damson", flavour.family`,
		"recipe[0].flavour.tolerates.oo": `recipe "damson", flavour.tolerates.oo`,
		"recipe[2].id":                   "recipe 3, id",
		"recipe[3].id":                   "recipe 4, id",
		"recipe[9].portion[0].id":        "recipe 10, portion 1, id",
		"day.break[0].from":              `day.break "lunch", from`,
		"day.rule[0].after":              "day.rule 1, after",
		"nonsense[x].of.it":              "nonsense[x].of.it",
	} {
		if got := book.Place(&b, path); got != want {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
}
