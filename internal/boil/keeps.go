package boil

import (
	"slices"

	"slabside/internal/ingredient"
	"slabside/internal/recipe"
)

// doctor returns the share of glucose syrup, invert syrup and honey in the dry
// sugars: what keeps sucrose from graining without a change in the kettle.
func (m Makeup) doctor() float64 {
	if m.Phase() == 0 {
		return 0
	}
	return (m.Syrup + m.Invert) / m.Phase()
}

// inKettle reports whether anything inverts in the kettle, and names what browns
// there sooner than sugar: butter and cream, honey and invert syrup, malt and
// juices, milk.
func (in Inputs) inKettle() (doctored bool, browns []string) {
	look := func(i ingredient.Ingredient, boiled bool) {
		switch i.Kind {
		case ingredient.Doctor, ingredient.Acid:
			doctored = doctored || boiled
		case ingredient.Fat, ingredient.Invert, ingredient.Extract, ingredient.Other:
			if !slices.Contains(browns, i.Name) {
				browns = append(browns, i.Name)
			}
		}
	}
	for _, l := range in.Charge.Lines {
		look(l.Ingredient, true)
	}
	for _, d := range in.Additions {
		if d.Stage == recipe.AtBoil || d.Stage == recipe.AtEnd {
			look(d.Ingredient, d.Stage == recipe.AtBoil)
		}
	}
	return doctored, browns
}
