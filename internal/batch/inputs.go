package batch

import (
	"fmt"
	"slices"

	"slabside/internal/boil"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/roller"
	"slabside/internal/slab"
)

// Inputs is one boil of a recipe in this room.
type Inputs struct {
	Recipe      recipe.Recipe
	Ingredients []ingredient.Ingredient

	Room    rig.Room
	Kettle  *rig.Kettle  // nil: no smear, no time, no fuel
	Glass   *rig.Glass   // nil: a glass as sold
	Rolls   *rig.Rolls   // nil: no pieces
	Machine *rig.Machine // nil: the room's rate
	Board   *rig.Board   // nil: no feeding board
	Slab    *rig.Slab    // nil: how long a batch lies there is not computed
	Hook    *rig.Hook
	Scales  []rig.Scale
	Units   q.Reader // to whom a refusal or a caution speaks

	Learned *boil.Learned // what records say of this room, glass and kettle; nil: nothing
	Held    *slab.Learned // what is held of slab, hands and rolls; nil: as of any room

	Charge   q.Kilograms // all that goes into the kettle; 0: the recipe as written
	End      *boil.End   // nil: as the recipe asks
	CookBack q.Fraction  // share of the charge's sugar that is sweets of the boil before
	Index    int         // which boil of this recipe: its own errors are drawn by it

	// Ensemble is the draws; the zero value stands for numeric.Draws of seed 0.
	// Everything that is to be added or compared must use one ensemble.
	Ensemble numeric.Ensemble
}

func (in Inputs) ensemble() numeric.Ensemble {
	if in.Ensemble.Len() == 0 {
		return numeric.NewEnsemble(numeric.Draws, 0)
	}
	return in.Ensemble
}

// name is what the errors of this boil alone are drawn by.
func (in Inputs) name() string { return fmt.Sprintf("%s:%d", in.Recipe.ID, in.Index) }

// Boil returns the inputs of the kettle's part.
func (in Inputs) Boil() (boil.Inputs, error) {
	book := boil.BookOf(in.Ingredients)
	charge, err := boil.Scaled(in.Recipe, book, in.Charge)
	if err != nil {
		return boil.Inputs{}, err
	}
	doses, err := boil.DosesOf(in.Recipe, book)
	if err != nil {
		return boil.Inputs{}, err
	}
	if len(in.Recipe.Portions) == 0 {
		return boil.Inputs{}, fault.Invalid("recipe %s has no portion", in.Recipe.ID).At("portion").
			WithHint("a boil that is not split is one portion of 100 %%")
	}
	end := boil.EndOf(in.Recipe)
	if in.End != nil {
		end = *in.End
	}
	return boil.Inputs{
		Recipe: in.Recipe.ID, Batch: in.name(), Charge: charge, End: end,
		CookBack: in.CookBack, Additions: doses, Portions: in.Recipe.Portions, Room: in.Room, Glass: in.Glass,
		Kettle: in.Kettle, Scales: in.Scales, Units: in.Units, Ensemble: in.ensemble(), Learned: in.Learned,
	}, nil
}

// simulate carries the kettle's part through its draws.
func (in Inputs) simulate() (*boil.Plan, boil.Draws, error) {
	bi, err := in.Boil()
	if err != nil {
		return nil, boil.Draws{}, err
	}
	plan, err := boil.Prepare(bi)
	if err != nil {
		return nil, boil.Draws{}, err
	}
	draws, err := plan.Simulate()
	return plan, draws, err
}

// pair returns the rolls' part; ok is false without rolls.
func (in Inputs) pair() (p roller.Pair, ok bool) {
	if in.Rolls == nil {
		return roller.Pair{}, false
	}
	gain := in.Recipe.FinishGain
	if in.Recipe.Finish == recipe.Plain || in.Recipe.Finish == "" {
		gain = 0
	}
	return roller.Pair{Rolls: *in.Rolls, Recipe: in.Recipe.ID, Batch: in.name(),
		FinishGain: gain, Ensemble: in.ensemble()}, true
}

// portions pairs the portions on the slab with how they are worked.
func (in Inputs) portions(d boil.Draws) []roller.Portion {
	out := make([]roller.Portion, len(d.Portions))
	for i, p := range d.Portions {
		out[i] = roller.Portion{ID: p.ID, Mass: p.Mass}
		at := slices.IndexFunc(in.Recipe.Portions, func(r recipe.Portion) bool { return r.ID == p.ID })
		if at >= 0 {
			out[i].Work, out[i].Air = in.Recipe.Portions[at].Work, in.Recipe.Portions[at].Air
		}
	}
	return out
}
