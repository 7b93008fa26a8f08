package app

import (
	"cmp"

	"slabside/internal/boil"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/verdict"
)

// verdictsOf says what a boil of a recipe means for its sweets in this room.
func verdictsOf(r boil.Result, room rig.Room, rec recipe.Recipe, u q.Reader) verdict.Verdicts {
	portions := map[string]string{}
	for _, p := range rec.Portions {
		portions[p.ID] = cmp.Or(p.Colour, p.ID)
	}
	return verdict.Of(verdict.Inputs{Boil: r, Room: room, Units: u, Portions: portions})
}
