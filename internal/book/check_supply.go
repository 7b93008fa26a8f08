package book

import (
	"fmt"

	"slabside/internal/supply"
)

func (c *check) supplies() {
	for i, s := range c.book.Supplies {
		at := fmt.Sprintf("supply[%d]", i)
		if s.In() == supply.ByMass && s.Pieces != 0 {
			c.fail(at+".least_pieces", Clash, "write least_mass, or count it in pieces", "counts pieces of what goes by mass")
		}
		if s.In() == supply.Pieces && s.Mass != 0 {
			c.fail(at+".least_mass", Clash, `write least_pieces, or unit = "mass"`, "is a mass of what is counted in pieces")
		}
		if s.DeclaredOn != "" && !s.Touches {
			c.fail(at+".declared_on", Clash, "write touches_food = true, or take the date out", "dates a declaration of what touches no food")
		}
		c.gas(at, s)
		c.goesWith(at, s)
	}
}

func (c *check) gas(at string, s supply.Supply) {
	switch {
	case s.Kind != supply.Gas && s.Holds != 0:
		c.fail(at+".holds", Clash, `take it out, or write kind = "gas"`, "is for a cylinder of gas")
	case s.Kind != supply.Gas && s.HeatMJKg != 0:
		c.fail(at+".heat_mj_per_kg", Clash, `take it out, or write kind = "gas"`, "is for a gas")
	case s.HeatMJKg != 0 && s.In() == supply.Pieces && s.Holds == 0:
		c.fail(at+".holds", Missing, "write what a full cylinder holds, or take the heat out", "is missing, and its heat is stated")
	}
}

// goesWith checks that each line names one thing, once, and that what goes with bags is
// counted in pieces.
func (c *check) goesWith(at string, s supply.Supply) {
	first := map[supply.Goes]int{}
	for j, g := range s.GoesWith {
		line := fmt.Sprintf("%s.goes_with[%d]", at, j)
		if s.Kind != supply.Packaging || s.In() != supply.Pieces {
			c.fail(line+".pieces", Clash, `write kind = "packaging" and count it in pieces, or take the line out`, "is for packaging that is counted")
		}
		switch {
		case g.Pack == "" && g.Product == "":
			c.fail(line+".pack", Missing, "name a pack or a product", "is missing, and no product is named")
		case g.Pack != "" && g.Product != "":
			c.fail(line+".product", Clash, "give each a line of its own", "stands beside a pack")
		}
		key := supply.Goes{Pack: g.Pack, Product: g.Product}
		if n, dup := first[key]; dup {
			c.fail(line+".pack", Duplicate, "add the pieces", fmt.Sprintf("is as in goes_with %d already", n+1))
			continue
		}
		first[key] = j
	}
}
