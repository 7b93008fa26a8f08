package app

import (
	"errors"
	"fmt"
	"slices"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// Soured is an acid changed for another that makes the sweet as sour.
type Soured struct {
	From      string     `json:"from"` // name of the acid it had
	To        string     `json:"to"`
	WasFrac   q.Number   `json:"was_frac"`       // dose it had
	DoseFrac  q.Estimate `json:"dose_frac"`      // as sour, of the acid it has now
	Titration q.Number   `json:"titration_frac"` // dose that titrates alike, which is not used
	Why       string     `json:"why"`            // in a sentence

	at int // which addition
}

// SourAs returns a recipe with every acid that is added after its boil changed for
// another, in doses as sour by the middle of the range, and what was changed.
//
// Faults: Invalid for a recipe without such an acid or with this one alone, and where
// there is no figure for how sour an acid is; NotFound if the shop has no such acid.
func SourAs(b *book.Book, rec recipe.Recipe, acid ingredient.Sour) (recipe.Recipe, []Soured, error) {
	at := slices.IndexFunc(b.Ingredients, func(in ingredient.Ingredient) bool {
		return in.Kind == ingredient.Acid && in.Neutralised == 0 && in.Solids > 0 && boil.SourOf(in) == acid
	})
	if !slices.Contains(ingredient.Acids(), acid) {
		return rec, nil, fault.Invalid("%q is no acid that is known", fault.Clip(string(acid), fault.Echo)).At("sour-as").WithHint("write citric, tartaric or malic")
	}
	to := ingredient.Ingredient{Name: string(acid) + " acid", Kind: ingredient.Acid, Acid: acid, Solids: 1}
	if at >= 0 {
		to = b.Ingredients[at]
	}
	out, u := rec, b.Shop.Units
	out.Additions = slices.Clone(rec.Additions)
	var done []Soured
	acids := 0
	for i, a := range rec.Additions {
		from, ok := b.Ingredient(a.Ingredient)
		if !ok || from.Kind != ingredient.Acid || a.Stage == recipe.AtBoil {
			continue
		}
		if acids++; from.ID == to.ID {
			continue
		}
		same, err := boil.EqualSour(from, to)
		if err != nil {
			var f *fault.Error
			if errors.As(err, &f) {
				err = f.At("sour-as")
			}
			return rec, nil, err
		}
		s := Soured{From: from.Name, To: to.Name, WasFrac: q.Number(a.Dose), DoseFrac: same.Times.Scale(float64(a.Dose)),
			Titration: q.Number(same.Titration * float64(a.Dose)), at: i}
		not := "weighs acids by their hydrogens and not by their taste"
		if float64(s.Titration) > s.DoseFrac.High {
			not = "comes out too sour"
		}
		s.Why = fmt.Sprintf("%s at %s, is as sour to the tongue as %s at %s (common practice, no source); titration would have %s, which %s",
			to.Name, u.SayPercent(s.DoseFrac, 2), from.Name, u.Percent(a.Dose, 2), u.Percent(q.Fraction(s.Titration), 2), not)
		out.Additions[i].Ingredient, out.Additions[i].Dose = to.ID, q.Fraction(s.DoseFrac.Value)
		done = append(done, s)
	}
	switch {
	case acids == 0:
		return rec, nil, fault.Invalid("%s has no acid that is added after its boil", rec.Name).At("sour-as").WithHint("fold an acid into it first")
	case len(done) == 0:
		return rec, nil, fault.Invalid("%s is sour by %s already", rec.Name, to.Name).At("sour-as").WithHint("choose another acid")
	case at < 0:
		return rec, done, fault.NotFound("the shop has no plain %s acid; %s", string(acid), done[0].Why).At("sour-as").WithHint("add it as an ingredient of the kind acid")
	}
	return out, done, nil
}

// Sours reports whether a recipe has an acid that is added after its boil.
func Sours(b *book.Book, rec recipe.Recipe) bool { return foldedOf(b, rec, ingredient.Acid) >= 0 }

// foldedOf is the first addition after the boil of a kind, −1 if there is none.
func foldedOf(b *book.Book, rec recipe.Recipe, kind ingredient.Kind) int {
	return slices.IndexFunc(rec.Additions, func(a recipe.Addition) bool {
		in, ok := b.Ingredient(a.Ingredient)
		return ok && in.Kind == kind && a.Stage != recipe.AtBoil
	})
}

// OilFor returns a recipe with so much of its oil that a share of the sweet stays oil,
// by the middle of what stays, and which addition that is.
//
// Faults: Invalid for a recipe without an oil or with several, and for one that goes in
// hotter than folded in.
func OilFor(b *book.Book, rec recipe.Recipe, wanted q.Fraction) (recipe.Recipe, int, error) {
	at := foldedOf(b, rec, ingredient.Oil)
	if at < 0 {
		return rec, 0, fault.Invalid("%s has no oil that is added after its boil", rec.Name).At("oil-left").WithHint("fold an oil into it first")
	}
	for i, a := range rec.Additions[at+1:] {
		if in, _ := b.Ingredient(a.Ingredient); in.Kind == ingredient.Oil && a.Stage != recipe.AtBoil {
			return rec, 0, fault.Invalid("%s has several oils, %s and %s", rec.Name, ingredientOf(b, rec.Additions[at].Ingredient), ingredientOf(b, rec.Additions[at+1+i].Ingredient)).
				At("oil-left").WithHint("type the dose of each")
		}
	}
	in, _ := b.Ingredient(rec.Additions[at].Ingredient)
	if rec.Additions[at].Stage != recipe.AtFold {
		return rec, 0, fault.Invalid("%s goes in too hot: nobody knows how much of it stays", in.Name).At("oil-left").WithHint("fold it in on the slab")
	}
	dose, ok := boil.OilDose(in, wanted)
	if !ok || dose.Value >= mostOil {
		return rec, 0, fault.Invalid("%s of oil in a sweet cannot be meant", b.Shop.Units.Percent(wanted, 1)).At("oil-left").WithHint("write an amount such as 900 ppm")
	}
	out := rec
	out.Additions = slices.Clone(rec.Additions)
	out.Additions[at].Dose = q.Fraction(dose.Value)
	return out, at, nil
}

// mostOil is more oil than any sweet is given: ten times the strongest flavour level
// (0.2 to 0.3 %, source key hartel2012).
const mostOil = 0.03

// HasOil reports whether a recipe has an oil whose dose can be found.
func HasOil(b *book.Book, rec recipe.Recipe) bool {
	_, _, err := OilFor(b, rec, 1e-6)
	return err == nil
}
