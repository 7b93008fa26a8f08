package demand

import (
	"strings"

	"slabside/internal/fault"
)

// never reports portions that are needed and that a first boil gives none of:
// no number of boils can cover them.
func (c *cover) never() error {
	var none []string
	for p, id := range c.portions {
		if c.firstBoil(p) == 0 && mean(c.all[p]) > 0 {
			none = append(none, id)
		}
	}
	if len(none) == 0 {
		return nil
	}
	return fault.Invalid("no number of boils of recipe %q gives any of portion %s, which bags ask for", c.id, strings.Join(none, ", ")).
		WithHint("give the portion a share of the boil, or take it out of the product")
}

// hopeless says that the most boils do not cover, and which portion is to blame
// if the others would be covered.
func (c *cover) hopeless() error {
	var short []string
	for p, id := range c.portions {
		if c.firstBoil(p)*MostBoils < mean(c.all[p]) {
			short = append(short, id)
		}
	}
	e := fault.Invalid("recipe %q would need more than %d boils", c.id, MostBoils)
	if len(short) > 0 && len(short) < len(c.portions) {
		return e.WithHint("portion %s is too small a share of the boil for the bags asked", strings.Join(short, ", "))
	}
	return e.WithHint("ask for fewer bags")
}

// firstBoil returns the largest mean mass of a portion a first boil was seen to give [kg].
func (c *cover) firstBoil(portion int) float64 {
	var most float64
	for key, y := range c.known {
		if key.index == 0 {
			most = max(most, mean(y[portion]))
		}
	}
	return most
}
