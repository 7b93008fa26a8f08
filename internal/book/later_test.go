package book_test

import (
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/shoptest"
)

// Rules that put recipes later may not run in a circle, straight or through a
// third; beside a forbidden neighbour the same pair does not contradict.
func TestLaterRules(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	x, y, z := b.Recipes[0].ID, b.Recipes[1].ID, b.Recipes[2].ID
	later := func(r, after string) book.Rule { return book.Rule{Kind: "later", Recipe: r, After: after} }
	for name, c := range map[string]struct {
		rules []book.Rule
		bad   string // field of the problem; empty: none
	}{
		"chain":     {[]book.Rule{later(y, x), later(z, y)}, ""},
		"twice":     {[]book.Rule{later(y, x), later(y, x)}, ""},
		"circle":    {[]book.Rule{later(y, x), later(x, y)}, "day.rule[1].kind"},
		"round":     {[]book.Rule{later(y, x), later(z, y), later(x, z)}, "day.rule[2].kind"},
		"neighbour": {[]book.Rule{{Kind: "not_next", Recipe: y, After: x}, later(y, x)}, ""},
		"clash":     {[]book.Rule{{Kind: "not_next", Recipe: y, After: x}, {Kind: "next", Recipe: y, After: x}}, "day.rule[1].kind"},
	} {
		b := shoptest.Book()
		b.Day.Rules = c.rules
		got := ""
		for _, p := range book.Errors(book.Validate(&b)) {
			if strings.HasPrefix(p.Field, "day.rule") {
				got = p.Field
			}
		}
		if got != c.bad {
			t.Errorf("%s: problem at %q, want %q", name, got, c.bad)
		}
	}
}
