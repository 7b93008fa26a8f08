package boil

import (
	"fmt"
	"slices"

	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// Dose is an addition with its ingredient: a share of the finished mass of its
// portion, or of the whole boil where Portion is empty.
type Dose struct {
	Ingredient ingredient.Ingredient
	Stage      recipe.Stage
	Share      q.Fraction
	Portion    string
}

// DosesOf returns a recipe's additions in the order of the stages.
func DosesOf(r recipe.Recipe, book Book) ([]Dose, error) {
	var out []Dose
	for i, a := range r.Additions {
		in, ok := book(a.Ingredient)
		if !ok {
			return nil, fault.NotFound("recipe %s adds %q, which is no ingredient of the book", r.ID, a.Ingredient).
				At(fmt.Sprintf("recipe %s, addition[%d].ingredient", r.ID, i))
		}
		out = append(out, Dose{in, a.Stage, a.Dose, a.Portion})
	}
	slices.SortStableFunc(out, func(a, b Dose) int { return stageOrder(a.Stage) - stageOrder(b.Stage) })
	return out, nil
}

func stageOrder(s recipe.Stage) int { return slices.Index(recipe.Stages(), s) }

// mostDose is the largest sum of doses of one portion: beyond it the sweet is no
// boiled sugar with additions any more.
const mostDose = 0.6

// checkDoses reports doses that cannot be made.
func checkDoses(doses []Dose, portions []recipe.Portion) error {
	sum := make(map[string]float64, len(portions))
	for i, d := range doses {
		at := fmt.Sprintf("addition[%d]", i)
		if stageOrder(d.Stage) < 0 {
			return fault.Invalid("the stage %q is not known", string(d.Stage)).At(at + ".stage").
				WithHint("write boil, end, pour or fold")
		}
		if !(d.Share >= 0 && d.Share < 1) {
			return fault.Invalid("a dose of %s is not between 0 %% and 100 %%", q.Plain.Percent(d.Share, 3)).At(at + ".dose")
		}
		if d.Portion != "" {
			if d.Stage == recipe.AtBoil || d.Stage == recipe.AtEnd {
				return fault.Invalid("an addition in the kettle cannot be for the portion %q alone", d.Portion).At(at + ".portion").
					WithHint("in the kettle the boil is one; add at the pour or fold it in")
			}
			if !slices.ContainsFunc(portions, func(p recipe.Portion) bool { return p.ID == d.Portion }) {
				return fault.NotFound("the recipe has no portion %q", d.Portion).At(at + ".portion")
			}
		}
		sum[d.Portion] += float64(d.Share)
	}
	for _, p := range portions {
		if s := sum[""] + sum[p.ID]; s > mostDose {
			return fault.Invalid("the additions to portion %q make %.0f %% of it", p.ID, s*100).
				WithHint("give doses as a share of the finished mass")
		}
	}
	return nil
}
