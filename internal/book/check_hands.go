package book

import (
	"fmt"

	"slabside/internal/caution"
	"slabside/internal/rig"
)

// hot are the tasks that only an adult does.
var hot = []rig.Task{rig.MayBoil, rig.MaySlab, rig.MayRoll}

func (c *check) hands() {
	for i, h := range c.book.Hands {
		at := fmt.Sprintf("hand[%d]", i)
		if !h.Adult {
			var atHot bool
			for _, t := range hot {
				atHot = atHot || h.MayDo(t)
			}
			if atHot {
				c.fail(at+".may", Child, "only an adult may boil, slab or roll; "+caution.Text(caution.Children), fmt.Sprintf("%s is not an adult but may do hot work", quoted(h.Name)))
			} else {
				c.warn(at+".adult", caution.Children, quoted(h.Name)+" is not an adult")
			}
		}
		from, ok1 := clockMin(h.From)
		to, ok2 := clockMin(h.To)
		if ok1 && ok2 && to <= from {
			c.fail(at+".to", Order, "comes before leaves", "is not after from")
		}
	}
}

// means checks that what the recipes need is there: vessels, machines, hands.
// A book without recipes is a room being set up; it needs nothing yet.
func (c *check) means() {
	b := c.book
	if len(b.Recipes) == 0 {
		return
	}
	need := func(ok bool, field, what string) {
		if !ok {
			c.fail(field, NoMeans, "add "+what, "there are recipes but no "+what)
		}
	}
	kettle, hasKettle := b.DayKettle()
	_, hasSlab := b.DaySlab()
	need(hasKettle || b.Day.Kettle != "", "kettle", "kettle for the day's plan")
	need(hasSlab, "slab", "slab for the day's plan")
	need(len(b.Machines) > 0, "machine", "drop machine")
	need(len(b.Rolls) > 0, "rolls", "pair of rolls")
	need(len(b.Benches) > 0, "bench", "bench for the sheets")
	need(len(b.Scales) > 0, "scale", "scale")
	need(len(b.Glasses) > 0, "glass", "thermometer")
	for i, r := range b.Recipes {
		if r.Pulled() && len(b.Hooks) == 0 {
			c.fail(fmt.Sprintf("recipe[%d].portion", i), NoMeans, "add a hook, or fold the portion clear", "a portion is pulled but there is no hook")
		}
	}
	if hasKettle && kettle.TrialsOnly {
		c.fail("day.kettle", Clash, "name another kettle, or plan with this one", fmt.Sprintf("kettle %s is for trials only", quoted(kettle.ID)))
	}
	c.ownKettles()
	c.team()
	if len(b.Products) > 0 && len(b.Scales) > 0 {
		approved := false
		for _, s := range b.Scales {
			approved = approved || s.Approved
		}
		if !approved {
			c.warn("scale", caution.TradeScale, "no scale here is marked trade_approved")
		}
	}
}

// ownKettles refuses a recipe that products are made of, and that a plan may
// therefore boil, in a kettle kept out of the plan. A trial boil may name its pan.
func (c *check) ownKettles() {
	sold := map[string]bool{}
	for _, p := range c.book.Products {
		for _, part := range p.Parts {
			sold[part.Recipe] = true
		}
	}
	for i, r := range c.book.Recipes {
		if k, ok := c.book.Kettle(r.Kettle); ok && k.TrialsOnly && sold[r.ID] {
			c.fail(fmt.Sprintf("recipe[%d].kettle", i), Clash, "name another kettle, or plan with this one",
				fmt.Sprintf("kettle %s is for trials only, and products are made of this recipe", quoted(k.ID)))
		}
	}
}

// team checks that somebody may do each task and that a pour has its people.
func (c *check) team() {
	able := map[rig.Task]int{}
	for _, h := range c.book.Hands {
		for _, t := range rig.Tasks() {
			if h.MayDo(t) && h.Adult {
				able[t]++
			}
		}
	}
	words := map[rig.Task]string{rig.MayBoil: "boil and pour", rig.MaySlab: "work the slab", rig.MayRoll: "feed the rolls",
		rig.MayClean: "clean", rig.MayWeigh: "weigh", rig.MayPack: "pack"}
	for _, t := range rig.Tasks() {
		if able[t] == 0 {
			c.fail("hand", Nobody, fmt.Sprintf("add an adult with may = [%q]", string(t)), "no adult may "+words[t])
		}
	}
	if able[rig.MayBoil] != 1 {
		return
	}
	// What the pan holds at the lift: the charge's dry matter and a few per cent of water.
	var most float64
	for _, r := range c.book.Recipes {
		kettle, ok := c.book.KettleFor(r)
		if mass, dry, _ := c.charge(r); ok && !kettle.TiltStand && mass > 0 {
			most = max(most, float64(kettle.UsualCharge)*dry/mass/0.97)
		}
	}
	if most > float64(c.book.Room.PourAlone) && c.book.Room.PourAlone > 0 {
		c.fail("hand", Nobody, "a second adult who may boil, a tilt stand, or a smaller usual charge",
			fmt.Sprintf("a whole boil pours %.1f kg, above the %.3g kg one person pours, and only one adult may boil", most, float64(c.book.Room.PourAlone)))
	}
}
