package app

import (
	"slices"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// mostDoctor is the most cream of tartar that is looked at, as a share of the sugar:
// three times the strongest old practice (0.33 %, source key guide1896).
const mostDoctor = 0.01

// DoctorFor returns a recipe with so much of its doctor in the kettle that the boil
// a request asks for makes a share of invert of the finished sweet, by the middle
// figures, and which part of the boil that is.
//
// Cream of tartar is its own buffer: twice the dose makes few points more, and time
// on the fire as many. So there is often no dose for a wish, and the fault says
// what there is.
//
// Faults: Invalid for a recipe without a doctor or a kettle without a fire,
// OutOfRange for a share that no dose makes.
func DoctorFor(b *book.Book, rec recipe.Recipe, r BoilRequest, invert q.Fraction) (recipe.Recipe, int, error) {
	at := partOf(b, rec.Boil, ingredient.Doctor)
	if at < 0 {
		return rec, 0, fault.Invalid("%s has no cream of tartar in the kettle whose dose could be found", rec.Name).At("invert").WithHint("put a little of it into the boil first")
	}
	sugar := massOf(b, rec.Boil, ingredient.Sugar)
	with := func(dose float64) recipe.Recipe {
		out := rec
		out.Boil = slices.Clone(rec.Boil)
		out.Boil[at].Mass = q.Kilograms(dose) * sugar
		return out
	}
	r.Invert = 0
	var failed error
	makes := func(dose float64) float64 {
		x, err := madeInvert(b, with(dose), r)
		if err != nil && failed == nil {
			failed = err
		}
		return x
	}
	const least = 1e-6 // of the sugar: none
	low, high := makes(least), makes(mostDoctor)
	if failed != nil {
		return rec, 0, failed
	}
	u := b.Shop.Units
	switch {
	case float64(invert) < low:
		return rec, 0, outOfReach(u, invert, "less than", low, "even without "+lower(ingredientOf(b, rec.Boil[at].Ingredient)), "boil faster, or take softer sugar and water")
	case float64(invert) > high:
		return rec, 0, outOfReach(u, invert, "more than", high, "with "+u.Percent(mostDoctor, 1)+" of the sugar, three times the strongest old dose", "boil slower: time on the fire inverts more than a larger dose")
	}
	dose, err := numeric.Brent(func(d float64) float64 { return makes(d) - float64(invert) }, least, mostDoctor, 1e-7)
	if failed != nil {
		err = failed
	}
	return with(dose), at, err
}

func outOfReach(u q.Reader, asked q.Fraction, than string, got float64, how, hint string) error {
	return (&fault.Error{Kind: fault.KindOutOfRange, Text: "invert of " + u.Percent(asked, 1) + " is " + than + " the boil makes: " + u.Percent(q.Fraction(got), 1) + " " + how}).
		At("invert").WithHint("%s", hint)
}

// partOf is the first part of a boil of a kind, −1 if there is none.
func partOf(b *book.Book, boil []recipe.Part, kind ingredient.Kind) int {
	return slices.IndexFunc(boil, func(p recipe.Part) bool {
		in, ok := b.Ingredient(p.Ingredient)
		return ok && in.Kind == kind
	})
}

// massOf is what a boil holds of a kind.
func massOf(b *book.Book, boil []recipe.Part, kind ingredient.Kind) q.Kilograms {
	all := q.Kilograms(0)
	for _, p := range boil {
		if in, ok := b.Ingredient(p.Ingredient); ok && in.Kind == kind {
			all += p.Mass
		}
	}
	return all
}

func ingredientOf(b *book.Book, id string) string {
	if in, ok := b.Ingredient(id); ok {
		return in.Name
	}
	return id
}

// madeInvert is the share of invert that a boil makes by its middle figures.
func madeInvert(b *book.Book, rec recipe.Recipe, r BoilRequest) (float64, error) {
	p, err := r.middle(b, rec)
	switch {
	case err != nil:
		return 0, err
	case p.Boil.InvertFrac == nil:
		return 0, fault.Invalid("what %s inverts cannot be computed", rec.Name).At("invert").WithHint("its kettle needs a burner and an efficiency")
	}
	return p.Boil.InvertFrac.Value, nil
}
