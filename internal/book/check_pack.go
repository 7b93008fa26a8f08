package book

import (
	"fmt"

	"slabside/internal/bag"
)

func (c *check) packs() {
	for i, p := range c.book.Packs {
		at := fmt.Sprintf("pack[%d]", i)
		if (p.Width == 0) != (p.Height == 0) {
			field, other := "width", "height"
			if p.Height == 0 {
				field, other = other, field
			}
			c.fail(at+"."+field, Missing, "measure it lying flat and empty, or leave both out", fmt.Sprintf("is missing, and %s is stated", other))
		}
		switch {
		case p.Closure == bag.Lid || p.Leak == 0:
		default:
			c.fail(at+".leak_mg_day", Clash, `write closure = "lid", or take it out`, "is past a lid, and the pack is "+shut(p.Closure))
		}
		if p.Held != 0 && len(p.Weighed) == 0 {
			c.fail(at+".weighed_net", Clash, "add the weighings, or take it out", "is of a pack that was not weighed")
		}
		for j, w := range p.Weighed {
			if j > 0 && w.Days <= p.Weighed[j-1].Days {
				c.fail(fmt.Sprintf("%s.weighing[%d].days", at, j), Order, "put them in the order of their days", "is not after the weighing before it")
			}
		}
	}
}

// shut says how a pack is closed, in a sentence.
func shut(c bag.Closure) string {
	if c == bag.Lid {
		return "shut with a lid"
	}
	return string(c)
}
