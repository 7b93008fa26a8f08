package book

import (
	"slabside/internal/caution"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// Severity says whether a problem stops the book from being used.
type Severity string

// The severities. A book with a caution can be used; one with an error cannot.
const (
	Error   Severity = "error"
	Caution Severity = "caution"
)

// Problem is one thing a book states that cannot be meant, or that asks for care.
type Problem struct {
	// Field is the path of the field in the shop-book file's own keys, counted
	// from 0: "recipe[2].portion[0].share".
	Field string `json:"field"`
	// Code sorts the problem: one of the codes below for an error, the
	// caution's own code for a caution.
	Code     string   `json:"code"`
	Text     string   `json:"text"`
	Hint     string   `json:"hint,omitempty"`
	Severity Severity `json:"severity"`
}

// The codes of errors.
const (
	Missing   = "missing"   // a key or value that must be there
	Range     = "range"     // a number outside what it can be
	Unknown   = "unknown"   // names a thing that is not in the book
	Duplicate = "duplicate" // two things with one id, or the same thing twice
	BadID     = "id"        // not lower-case words with hyphens
	BadWord   = "word"      // not one of the words this field knows
	BadText   = "text"      // not a clock, date, zone, currency, colour or plain text
	OneOf     = "one-of"    // exactly one of two fields
	Shares    = "shares"    // shares that do not sum to one
	Order     = "order"     // two values the wrong way round
	Clash     = "clash"     // two statements that cannot both hold
	NoFit     = "no-fit"    // too much for the vessel, the bag or the day
	Nobody    = "nobody"    // no hand who may do it
	NoMeans   = "no-means"  // no kettle, slab, hook, machine … to do it with
	Child     = "child"     // somebody who is not an adult at hot work
)

// Errors returns the problems that are errors.
func Errors(list []Problem) []Problem {
	var out []Problem
	for _, p := range list {
		if p.Severity == Error {
			out = append(out, p)
		}
	}
	return out
}

// check gathers the problems of one book. A book may be a hostile file of some
// megabytes, so what is looked up often is indexed.
type check struct {
	book  *Book
	out   []Problem
	index map[string]map[string]int // place of every id of the lists that others refer to
}

// ingredient returns the ingredient of an id.
func (c *check) ingredient(id string) (ingredient.Ingredient, bool) {
	if i, ok := c.index["ingredient"][id]; ok {
		return c.book.Ingredients[i], true
	}
	return ingredient.Ingredient{}, false
}

// recipe returns the recipe of an id.
func (c *check) recipe(id string) (recipe.Recipe, bool) {
	if i, ok := c.index["recipe"][id]; ok {
		return c.book.Recipes[i], true
	}
	return recipe.Recipe{}, false
}

// rolls returns the pair of rolls of an id.
func (c *check) rolls(id string) (rig.Rolls, bool) {
	if i, ok := c.index["rolls"][id]; ok {
		return c.book.Rolls[i], true
	}
	return rig.Rolls{}, false
}

// fail records an error.
func (c *check) fail(field, code, hint, text string) {
	c.out = append(c.out, Problem{Field: field, Code: code, Text: text, Hint: hint, Severity: Error})
}

// warn records a caution in its fixed wording, with what it concerns in front.
func (c *check) warn(field string, code caution.Code, subject string) {
	c.out = append(c.out, Problem{Field: field, Code: string(code), Text: caution.About(code, subject).Text, Severity: Caution})
}
