package app

import (
	"errors"
	"slices"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// What a switched recipe begins with (source key practice): two parts of sugar to one
// of syrup by dry matter; of a tartar boil 12 % invert, in the middle of 10 to 16 %;
// and where no dose makes that, the 0.11 % of barley sugar (source key guide1896).
const (
	usualSyrupShare = q.Fraction(1. / 3)
	usualInvert     = q.Fraction(0.12)
	usualTartar     = 0.0011 // of the sugar
)

// Switched says what a change of the doctor does beside the figures.
type Switched struct {
	From    string   `json:"from"` // the name of the doctor it had
	To      string   `json:"to"`
	Rules   []string `json:"rules"`   // what is done otherwise
	Unequal []string `json:"unequal"` // what cannot be made equal
}

// SwitchDoctor returns the book with a recipe's doctor changed, in memory alone: from
// glucose syrup to cream of tartar, or back. The dry matter in the kettle stays what
// it was; the end of the boil is where the sweet stands up to the same as before.
//
// Faults: NotFound without the recipe; Invalid if it has no doctor, if the shop has
// none to change to, or if its boil cannot be computed.
func SwitchDoctor(b book.Book, id string) (book.Book, Switched, error) {
	at := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool { return r.ID == id })
	if at < 0 {
		return b, Switched{}, fault.NotFound("no recipe %q in the shop book", fault.Clip(id, fault.Echo)).At("recipe")
	}
	rec := b.Recipes[at]
	kept, err := middle(&b, rec, BoilRequest{Recipe: id})
	if err != nil {
		return b, Switched{}, err
	}
	b.Recipes = slices.Clone(b.Recipes)
	kinds := kindsIn(&b, rec.Boil)
	var sw Switched
	switch {
	case kinds[ingredient.Syrup] != nil && kinds[ingredient.Doctor] != nil:
		return b, sw, fault.Invalid("%s has glucose syrup and another doctor: take one of them out first", rec.Name).At("recipe").WithHint("the trade uses one or the other")
	case kinds[ingredient.Syrup] != nil:
		sw, err = toTartar(&b, &rec, kinds)
	case kinds[ingredient.Doctor] != nil:
		sw, err = toSyrup(&b, &rec, kinds)
	default:
		err = fault.Invalid("%s has neither glucose syrup nor cream of tartar", rec.Name).At("recipe").WithHint("put a doctor into its boil first")
	}
	if err != nil {
		return b, sw, err
	}
	b.Recipes[at] = rec
	if g := kept.Boil.GlassC; g != nil {
		if err := endAsBefore(&b, at, q.Celsius(g.Value), &sw); err != nil {
			return b, sw, err
		}
	}
	return b, sw, nil
}

// Switches reports whether a recipe has a doctor that the shop could change for another.
func Switches(b *book.Book, rec recipe.Recipe) bool {
	kinds := kindsIn(b, rec.Boil)
	_, tartar := stocked(b, ingredient.Doctor)
	_, syrup := stocked(b, ingredient.Syrup)
	has := kinds[ingredient.Syrup] != nil
	return kinds[ingredient.Sugar] != nil && has != (kinds[ingredient.Doctor] != nil) && (has && tartar || !has && syrup)
}

// kindsIn gathers what a boil is made of by what it does there.
func kindsIn(b *book.Book, boil []recipe.Part) map[ingredient.Kind][]int {
	out := map[ingredient.Kind][]int{}
	for i, p := range boil {
		if in, ok := b.Ingredient(p.Ingredient); ok {
			out[in.Kind] = append(out[in.Kind], i)
		}
	}
	return out
}

// stocked finds an ingredient of a kind in the shop.
func stocked(b *book.Book, kind ingredient.Kind) (ingredient.Ingredient, bool) {
	for _, in := range b.Ingredients {
		if in.Kind == kind {
			return in, true
		}
	}
	return ingredient.Ingredient{}, false
}

// move takes the parts of a kind out of a boil and returns their dry matter and water.
func move(b *book.Book, boil []recipe.Part, kind ingredient.Kind) (rest []recipe.Part, dry, water q.Kilograms) {
	for _, p := range boil {
		in, _ := b.Ingredient(p.Ingredient)
		if in.Kind != kind {
			rest = append(rest, p)
			continue
		}
		dry += p.Mass * q.Kilograms(in.Solids)
		water += p.Mass * q.Kilograms(1-in.Solids)
	}
	return rest, dry, water
}

// add adds to the first part of a kind.
func add(b *book.Book, boil []recipe.Part, kind ingredient.Kind, mass q.Kilograms) bool {
	for i, p := range boil {
		if in, ok := b.Ingredient(p.Ingredient); ok && in.Kind == kind && p.Mass+mass > 0 {
			boil[i].Mass += mass
			return true
		}
	}
	return false
}

func toTartar(b *book.Book, rec *recipe.Recipe, kinds map[ingredient.Kind][]int) (Switched, error) {
	tartar, ok := stocked(b, ingredient.Doctor)
	if !ok {
		return Switched{}, fault.Invalid("the shop has no cream of tartar to change to").At("ingredient").WithHint("add it as an ingredient of the kind doctor")
	}
	sw := Switched{From: ingredientOf(b, rec.Boil[kinds[ingredient.Syrup][0]].Ingredient), To: tartar.Name}
	boil, dry, water := move(b, rec.Boil, ingredient.Syrup)
	sugar := kinds[ingredient.Sugar]
	if sugar == nil {
		return sw, fault.Invalid("%s has no sugar that could stand in for the syrup", rec.Name).At("recipe")
	}
	in, _ := b.Ingredient(rec.Boil[sugar[0]].Ingredient)
	add(b, boil, ingredient.Sugar, dry/q.Kilograms(in.Solids))
	add(b, boil, ingredient.Water, water)
	mass := q.Kilograms(0)
	for _, p := range boil {
		if in, ok := b.Ingredient(p.Ingredient); ok && in.Kind == ingredient.Sugar {
			mass += p.Mass
		}
	}
	rec.Boil = append(boil, recipe.Part{Ingredient: tartar.ID, Mass: usualTartar * mass})
	dosed, _, err := DoctorFor(b, *rec, BoilRequest{Recipe: rec.ID}, usualInvert)
	var f *fault.Error
	switch {
	case err == nil:
		rec.Boil = dosed.Boil
	case errors.As(err, &f) && f.Kind != fault.KindInternal:
		sw.Unequal = append(sw.Unequal, "no dose makes "+b.Shop.Units.Percent(usualInvert, 0)+" invert here ("+f.Text+"): begun with the old dose of barley sugar")
	default:
		return sw, err
	}
	sw.Rules = []string{
		"no hold: a tartar boil goes on inverting while it waits; add the tartar after any wait",
		"write the minutes on the flame down beside the dose: the pan and the burner decide the invert as much as the tartar",
		"a smaller trial on a small flame boils slower and inverts more: it cannot tell what a whole boil does",
		"cook-back holds invert already: 5 to 10 % of a charge and no more, dissolved in the water of the boil",
		"cream of tartar and nothing else: tartaric acid in its place ruins the boil",
		"acid sugar on bare copper, brass or bronze: ask the inspector first",
	}
	sw.Unequal = append(sw.Unequal,
		"invert softens a sweet more than the sugars of syrup do: at equal reducing sugars it stands up to some 13 to 16 K less",
		"invert takes up water sooner: wrapped or jarred at once, and kept less long",
		"it eats shorter and sweeter, and is thinner on the slab at the same temperature")
	return sw, nil
}

func toSyrup(b *book.Book, rec *recipe.Recipe, kinds map[ingredient.Kind][]int) (Switched, error) {
	syrup, ok := stocked(b, ingredient.Syrup)
	if !ok {
		return Switched{}, fault.Invalid("the shop has no glucose syrup to change to").At("ingredient").WithHint("add it as an ingredient of the kind syrup, with its DE")
	}
	sw := Switched{From: ingredientOf(b, rec.Boil[kinds[ingredient.Doctor][0]].Ingredient), To: syrup.Name}
	boil, _, _ := move(b, rec.Boil, ingredient.Doctor)
	rest, dry, damp := move(b, boil, ingredient.Sugar)
	sugar := kinds[ingredient.Sugar]
	if sugar == nil || !(syrup.Solids > 0) {
		return sw, fault.Invalid("%s has no sugar of which a part could become syrup", rec.Name).At("recipe")
	}
	first := rec.Boil[sugar[0]].Ingredient
	in, _ := b.Ingredient(first)
	own := dry * q.Kilograms(usualSyrupShare) // of the syrup
	parts := []recipe.Part{{Ingredient: first, Mass: (dry - own) / q.Kilograms(in.Solids)}, {Ingredient: syrup.ID, Mass: own / q.Kilograms(syrup.Solids)}}
	water := own/q.Kilograms(syrup.Solids) - own - damp*q.Kilograms(usualSyrupShare)
	if !add(b, rest, ingredient.Water, -water) {
		sw.Unequal = append(sw.Unequal, "the syrup brings more water than the recipe had: it boils longer")
	}
	rec.Boil = append(parts, rest...)
	sw.Rules = []string{
		"it may wait below its hold point, as any syrup boil",
		"cook-back as for other syrup boils: what it holds of invert stays what it was",
		"weigh the syrup warm, into the middle of the kettle, when the sugar is dissolved",
	}
	sw.Unequal = append(sw.Unequal,
		"the sugars of syrup are no invert: the sweet is tougher, less sweet and keeps longer",
		"a smaller trial tells more: nothing hangs on the minutes but colour")
	return sw, nil
}

// endAsBefore boils the changed recipe to where it stands up to the same as before. A
// boil that is ended drier is longer on the fire and inverts more: dose and end
// are found in turn until they agree.
func endAsBefore(b *book.Book, at int, stood q.Celsius, sw *Switched) error {
	rec := &b.Recipes[at]
	before, rounds := *rec, 4
	for range rounds {
		now, err := middle(b, *rec, BoilRequest{Recipe: rec.ID, StandsUp: stood})
		if err == nil {
			rec.BoilTo, rec.WaterLeft = 0, now.Boil.End.WaterLeft
			dosed, _, err := DoctorFor(b, *rec, BoilRequest{Recipe: rec.ID}, usualInvert)
			if err != nil { // no doctor to dose, or no dose that makes it: said already
				return nil
			}
			rec.Boil = dosed.Boil
			continue
		}
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind == fault.KindInternal {
			return err
		}
		*rec = before
		sw.Unequal = append([]string{"it cannot be boiled to stand up to " + b.Shop.Units.Temperature(stood, 0) + " as before (" + f.Text + "): the end of the boil is left where it was"}, sw.Unequal...)
		return nil
	}
	return nil
}
