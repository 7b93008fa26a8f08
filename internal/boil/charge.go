package boil

import (
	"fmt"

	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// Line is an ingredient weighed for a boil.
type Line struct {
	Ingredient ingredient.Ingredient
	Mass       q.Kilograms
}

// Charge is all that goes into the kettle at the start, water included.
type Charge struct {
	Lines    []Line
	Cautions []Caution // what was assumed
}

// Book finds an ingredient by its id.
type Book func(id string) (ingredient.Ingredient, bool)

// BookOf returns a Book over a list.
func BookOf(list []ingredient.Ingredient) Book {
	at := make(map[string]int, len(list))
	for i, in := range list {
		at[in.ID] = i
	}
	return func(id string) (ingredient.Ingredient, bool) {
		i, ok := at[id]
		if !ok {
			return ingredient.Ingredient{}, false
		}
		return list[i], true
	}
}

// Scaled returns a recipe's charge scaled to a mass: all that goes into the
// kettle, water included. A mass of zero keeps the recipe as written.
//
// The fault is not found for an ingredient the book does not have, and invalid
// for a charge without sugar.
func Scaled(r recipe.Recipe, book Book, mass q.Kilograms) (Charge, error) {
	var c Charge
	written := q.Kilograms(0)
	for i, part := range r.Boil {
		in, ok := book(part.Ingredient)
		if !ok {
			return Charge{}, fault.NotFound("recipe %s boils %q, which is no ingredient of the book", r.ID, part.Ingredient).
				At(fmt.Sprintf("recipe %s, boil[%d].ingredient", r.ID, i))
		}
		if !(part.Mass > 0) {
			return Charge{}, fault.Invalid("recipe %s: the amount of %s is not above zero", r.ID, in.Name).
				At(fmt.Sprintf("recipe %s, boil[%d].mass", r.ID, i))
		}
		c.Lines = append(c.Lines, Line{in, part.Mass})
		written += part.Mass
	}
	if mass < 0 {
		return Charge{}, fault.Invalid("a charge of %g kg is not above zero", float64(mass)).At("charge")
	}
	if mass > 0 && written > 0 {
		for i := range c.Lines {
			c.Lines[i].Mass *= mass / written
		}
	}
	return c, c.check()
}

// Raw is a charge told by its amounts.
type Raw struct {
	Sugar       q.Kilograms
	Syrup       q.Kilograms
	SyrupDE     float64      // 0: not known, 42 assumed
	SyrupSolids q.Fraction   // 0: not known, 80.3 % assumed
	Water       *q.Kilograms // nil: a third of the sugar
	Tartar      q.Kilograms
}

// Charge returns the charge of these amounts. What had to be assumed stands in
// its cautions and widens the ranges.
func (r Raw) Charge() (Charge, error) {
	for _, m := range []q.Kilograms{r.Sugar, r.Syrup, r.Tartar} {
		if m < 0 {
			return Charge{}, fault.Invalid("an amount of %g kg is below zero", float64(m))
		}
	}
	if r.SyrupSolids < 0 || r.SyrupSolids > 1 {
		return Charge{}, fault.Invalid("syrup solids of %s are not between 0 %% and 100 %%", q.Plain.Percent(r.SyrupSolids, 2)).At("syrup_solids")
	}
	var c Charge
	add := func(in ingredient.Ingredient, m q.Kilograms) {
		if m > 0 {
			c.Lines = append(c.Lines, Line{in, m})
		}
	}
	// Dry matter of sugar and tartar: source key usda-sr.
	add(ingredient.Ingredient{ID: "sugar", Name: "sugar", Kind: ingredient.Sugar, Solids: 0.9998}, r.Sugar)
	add(ingredient.Ingredient{ID: "syrup", Name: "glucose syrup", Kind: ingredient.Syrup,
		Solids: r.SyrupSolids, DE: r.SyrupDE}, r.Syrup)
	water := r.Sugar / 3
	switch {
	case r.Water != nil && *r.Water < 0:
		return Charge{}, fault.Invalid("an amount of %g kg is below zero", float64(*r.Water)).At("water")
	case r.Water != nil:
		water = *r.Water
	case r.Sugar > 0:
		c.Cautions = append(c.Cautions, Caution{Code: CodeWaterAssumed, Text: "water for the charge was not given: a third of the sugar is assumed; " +
			"it changes the time and the fuel, not the yield"})
	}
	add(ingredient.Ingredient{ID: "water", Name: "water", Kind: ingredient.Water}, water)
	add(ingredient.Ingredient{ID: "tartar", Name: "cream of tartar", Kind: ingredient.Doctor, Solids: 0.983}, r.Tartar)
	return c, c.check()
}

// check reports a charge that cannot be boiled.
func (c Charge) check() error {
	if len(c.Lines) == 0 {
		return fault.Invalid("nothing goes into the kettle").WithHint("give at least an amount of sugar")
	}
	m := c.Makeup()
	if m.Phase() <= 0 {
		return fault.Invalid("the charge holds no sugar").WithHint("give an amount of sugar or syrup")
	}
	if m.Water <= 0 {
		return fault.Invalid("the charge holds no water").WithHint("sugar needs about a third of its mass of water to dissolve")
	}
	return m.Solids().Check()
}

// Mass returns all that goes into the kettle.
func (c Charge) Mass() q.Kilograms {
	var m q.Kilograms
	for _, l := range c.Lines {
		m += l.Mass
	}
	return m
}

// Makeup returns the charge sorted by what it does, as stated on the ingredients.
func (c Charge) Makeup() Makeup {
	var m Makeup
	for _, l := range c.Lines {
		solids, de := stated(l.Ingredient)
		m = m.Plus(makeupOf(l.Ingredient, float64(l.Mass), solids, de))
	}
	return m
}
