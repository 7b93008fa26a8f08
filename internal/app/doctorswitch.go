package app

import (
	"math"
	"slices"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// What a switched recipe begins with: one part of syrup to two of sugar by dry matter
// (source key practice); of a tartar boil 12 % invert, in the band of 10 to 16 (source
// key trade-texts, of low confidence); and where no dose makes that, the 0.11 % of
// barley sugar (source key guide1896).
const (
	usualSyrupShare = q.Kilograms(1. / 3) // of the dry sugars
	usualInvert     = q.Fraction(0.12)    // of the sweet
	usualTartar     = 0.0011              // of the sugar
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
// Faults: NotFound without the recipe; Invalid if it has not one doctor that the shop
// could change for another, or if its boil cannot be computed.
func SwitchDoctor(b book.Book, id string) (book.Book, Switched, error) {
	at := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool { return r.ID == id })
	if at < 0 {
		return b, Switched{}, fault.NotFound("no recipe %q in the shop book", fault.Clip(id, fault.Echo)).At("recipe")
	}
	from, to, err := doctors(&b, b.Recipes[at])
	if err != nil {
		return b, Switched{}, err
	}
	kept, err := BoilRequest{Recipe: id}.middle(&b, b.Recipes[at])
	if err != nil {
		return b, Switched{}, err
	}
	b.Recipes = slices.Clone(b.Recipes)
	rec := &b.Recipes[at]
	sw := Switched{From: from.Name, To: to.Name}
	rec.Boil = exchanged(&b, rec.Boil, from.Kind, to, &sw)
	if g := kept.Boil.GlassC; g != nil {
		err = endAsBefore(&b, rec, q.Celsius(g.Value), &sw)
	}
	sw.tell(b.Shop.Units, to.Kind)
	return b, sw, err
}

// Switches reports whether a recipe has one doctor that the shop could change for another.
func Switches(b *book.Book, rec recipe.Recipe) bool {
	_, _, err := doctors(b, rec)
	return err == nil
}

// HasDoctor reports whether a recipe has a doctor in the kettle that can be dosed.
func HasDoctor(b *book.Book, rec recipe.Recipe) bool {
	return partOf(b, rec.Boil, ingredient.Doctor) >= 0
}

// doctors finds the doctor of a recipe and the one it can be changed for.
func doctors(b *book.Book, rec recipe.Recipe) (from, to ingredient.Ingredient, err error) {
	refuse := func(text, hint string) (ingredient.Ingredient, ingredient.Ingredient, error) {
		return from, to, fault.Invalid("%s %s", rec.Name, text).At("recipe").WithHint("%s", hint)
	}
	syrup, tartar := partOf(b, rec.Boil, ingredient.Syrup), partOf(b, rec.Boil, ingredient.Doctor)
	has, other := syrup, ingredient.Doctor
	switch {
	case syrup >= 0 && tartar >= 0:
		return refuse("has glucose syrup and another doctor", "take one of them out first: the trade uses one or the other")
	case syrup < 0 && tartar < 0:
		return refuse("has neither glucose syrup nor cream of tartar", "put a doctor into its boil first")
	case partOf(b, rec.Boil, ingredient.Sugar) < 0:
		return refuse("has no sugar that could give or take", "put sugar into its boil first")
	case tartar >= 0:
		has, other = tartar, ingredient.Syrup
	}
	from, _ = b.Ingredient(rec.Boil[has].Ingredient)
	i := slices.IndexFunc(b.Ingredients, func(in ingredient.Ingredient) bool { return in.Kind == other && in.Solids > 0 })
	if i < 0 {
		return refuse("can be changed to no other doctor: the shop has none", "add cream of tartar as an ingredient of the kind doctor, or glucose syrup of the kind syrup")
	}
	return from, b.Ingredients[i], nil
}

// exchanged puts a doctor in the place of those of a kind. The sugars of the recipe, in
// their proportions, give or take the dry matter of the syrup, and the water its water.
func exchanged(b *book.Book, boil []recipe.Part, from ingredient.Kind, to ingredient.Ingredient, sw *Switched) []recipe.Part {
	sugar, dry, water := q.Kilograms(0), q.Kilograms(0), q.Kilograms(0) // dry is what the sugars gain, water the kettle
	for _, p := range boil {
		switch in, _ := b.Ingredient(p.Ingredient); in.Kind {
		case ingredient.Sugar:
			sugar += p.Mass * q.Kilograms(in.Solids)
		case ingredient.Syrup:
			dry += p.Mass * q.Kilograms(in.Solids)
			water += p.Mass * q.Kilograms(1-in.Solids)
		}
	}
	mass := usualTartar * massOf(b, boil, ingredient.Sugar) * (sugar + dry) / sugar
	if to.Kind == ingredient.Syrup {
		dry = -usualSyrupShare * sugar
		mass = -dry / q.Kilograms(to.Solids)
		water = mass * q.Kilograms(to.Solids-1)
	}
	var out []recipe.Part
	placed := false
	for _, p := range boil {
		switch in, _ := b.Ingredient(p.Ingredient); in.Kind {
		case from:
			if !placed {
				out = append(out, recipe.Part{Ingredient: to.ID, Mass: mass})
			}
			placed = true
			continue
		case ingredient.Sugar:
			p.Mass *= (sugar + dry) / sugar
		case ingredient.Water:
			if p.Mass+water > 0 {
				p.Mass, water = p.Mass+water, 0
			}
		}
		out = append(out, p)
	}
	if u := b.Shop.Units; math.Abs(float64(water)) > 0 {
		sw.Unequal = append(sw.Unequal, "the recipe has no water that could make up for "+u.Mass(q.Kilograms(math.Abs(float64(water))))+" of the syrup's: it boils shorter or longer")
	}
	return out
}

// endAsBefore ends the changed recipe where it stands up to the same as before. A
// boil that is ended drier is longer on the fire and inverts more: a tartar's dose and
// the end are found in turn until they agree.
func endAsBefore(b *book.Book, rec *recipe.Recipe, stood q.Celsius, sw *Switched) error {
	const rounds, settled = 6, 1e-5 // of water: a thousandth of a point
	u := b.Shop.Units
	boilTo, waterLeft := rec.BoilTo, rec.WaterLeft
	dosing := partOf(b, rec.Boil, ingredient.Doctor) >= 0
	for range rounds {
		before := rec.WaterLeft
		if dosing {
			dosed, _, err := DoctorFor(b, *rec, BoilRequest{Recipe: rec.ID}, usualInvert)
			switch {
			case err == nil:
				*rec = dosed
			case fault.KindOf(err) == fault.KindInternal:
				return err
			default:
				dosing = false
				why, _ := fault.Said(err)
				sw.Unequal = append(sw.Unequal, "no dose makes "+u.Percent(usualInvert, 0)+" invert here ("+why+")")
			}
		}
		now, err := BoilRequest{Recipe: rec.ID, StandsUp: stood}.middle(b, *rec)
		if err != nil {
			if fault.KindOf(err) == fault.KindInternal {
				return err
			}
			why, _ := fault.Said(err)
			rec.BoilTo, rec.WaterLeft = boilTo, waterLeft
			sw.Unequal = append(sw.Unequal, "it cannot be boiled to stand up to "+u.Temperature(stood, 0)+" as before ("+why+"): the end of the boil is left where it was")
			return nil
		}
		rec.BoilTo, rec.WaterLeft = 0, now.Boil.End.WaterLeft
		if !dosing || math.Abs(float64(rec.WaterLeft-before)) < settled {
			return nil
		}
	}
	return nil
}

// tell says what is done otherwise with a doctor, and what stays unequal (source keys
// practice and guide1896; what invert does to the glass transition, roos1993).
func (sw *Switched) tell(u q.Reader, to ingredient.Kind) {
	if to == ingredient.Syrup {
		sw.Rules = []string{
			"it may wait below its hold point, as any syrup boil",
			"cook-back as for other syrup boils: what it holds of invert stays what it was",
			"weigh the syrup warm, into the middle of the kettle, when the sugar is dissolved",
		}
		sw.Unequal = append(sw.Unequal,
			"the sugars of syrup are no invert: the sweet is tougher, less sweet and keeps longer",
			"a smaller trial tells more: nothing hangs on the minutes but colour")
		return
	}
	sw.Rules = []string{
		caution.Text(caution.TartarHold),
		caution.Text(caution.WrongAcid),
		caution.Text(caution.AcidOnCopper),
		"write the minutes on the flame down beside the dose: the pan and the burner decide the invert as much as the tartar",
		"a smaller trial on a small flame boils slower and inverts more: it cannot tell what a whole boil does",
		"cook-back holds invert already: " + u.Percent(boil.CookBackLeast, 0) + " to " + u.Percent(boil.CookBackMost, 0) + " of a charge and no more, dissolved in the water of the boil",
	}
	sw.Unequal = append(sw.Unequal,
		"invert softens a sweet more than the sugars of syrup do: at equal reducing sugars it stands up to some "+u.Difference(leastSofter, 0)+" to "+u.Difference(mostSofter, 0)+" less",
		"invert takes up water sooner: wrapped or jarred at once, and kept less long",
		"it eats shorter and sweeter, and is thinner on the slab at the same temperature")
}

// What is told of a tartar boil: by how much less a sweet of invert stands up to than one of 42 DE
// syrup with as much reducing sugar (computed with the glass transition of package
// sugar, source key roos1993).
const (
	leastSofter = q.Kelvins(13)
	mostSofter  = q.Kelvins(16)
)
