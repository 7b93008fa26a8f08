package book

import (
	"fmt"
	"slices"

	"slabside/internal/boil"
	"slabside/internal/caution"
	"slabside/internal/ingredient"
	"slabside/internal/limit"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

func (c *check) ingredients() {
	used := map[string]bool{}
	for _, r := range c.book.Recipes {
		for _, id := range r.Ingredients() {
			used[id] = true
		}
	}
	lookAlike := false
	for i, ing := range c.book.Ingredients {
		at := fmt.Sprintf("ingredient[%d]", i)
		named := fmt.Sprintf("ingredient %q", ing.ID)
		if ing.Kind == ingredient.Syrup && ing.DE == 0 {
			c.fail(at+".de", Missing, "the supplier's sheet says it; a confectioner's syrup often has 42", "is missing: a syrup states its dextrose equivalent")
		}
		if ing.Acid != "" && !ing.Kind.Sours() {
			c.fail(at+".acid", Clash, "take it out, or call it an acid", fmt.Sprintf("is for an acid, a doctor or a salt, not for kind %q", ing.Kind))
		}
		if ing.Neutralised != 0 && ing.Acid == "" {
			c.fail(at+".neutralised", Clash, "name the acid as well, or take it out", "is of an acid that is not named")
		}
		if ing.Volatile != "" && !ing.Kind.Flavours() {
			c.fail(at+".volatile", Clash, "take it out, or call it an oil or an essence", fmt.Sprintf("is for an oil or an essence, not for kind %q", ing.Kind))
		}
		if ing.Solids+ing.Spirit > 1+1e-9 {
			c.fail(at+".spirit", Clash, "solids, spirit and water make up the whole", "solids and spirit come to more than 100 %")
		}
		if !ing.Stated() && used[ing.ID] && ing.Kind != ingredient.Water {
			c.warn(at+".statement", caution.AllergenUnknown, named)
		}
		if ing.StatementOn != "" && !ing.Stated() {
			c.fail(at+".statement_on", Clash, `write statement = "stated", or take the date out`, "dates a statement that is not on file")
		}
		for j, w := range ing.MayContain {
			if slices.Contains(ing.Contains, w) {
				c.fail(fmt.Sprintf("%s.may_contain[%d]", at, j), Clash, "leave it in contains only", fmt.Sprintf("%q stands in contains as well", w))
			}
		}
		c.holds(at, ing)
		c.lots(at, ing)
		if ing.WhitePowder() && used[ing.ID] && !lookAlike {
			lookAlike = true
			c.warn(at+".kind", caution.LookAlikes, named)
		}
	}
}

// holds checks what an ingredient is said to hold: each substance once by whatever
// name, and no more of all compounds than there is of it. What is said of an oil as a
// whole counts apart.
func (c *check) holds(at string, ing ingredient.Ingredient) {
	first := map[string]int{}
	var compounds q.Fraction
	for j, h := range ing.Holds {
		field := fmt.Sprintf("%s.hold[%d]", at, j)
		word, group := h.Substance, limit.Group("")
		if s, known := limit.Named(h.Substance); known {
			word, group = s.Word, s.Group
		}
		if n, dup := first[word]; dup && word != "" {
			c.fail(field+".substance", Duplicate, "give it one line", fmt.Sprintf("%s stands at hold %d already", quoted(word), n+1))
			continue
		}
		first[word] = j
		switch {
		case h.Share == 0 && h.Most == 0:
			c.fail(field+".share", Missing, "the supplier's sheet says how much it holds; leave the line out if it is none", "is missing or zero, and there is no most")
		case h.Most != 0 && h.Most <= h.Share:
			c.fail(field+".most", Order, "share is the least, most the most; leave most out if it does not vary", "is not above share")
		}
		if group != limit.Oil {
			compounds += h.Share
		}
	}
	const slack = 1e-9
	if compounds > 1+slack {
		c.fail(at+".hold", Clash, "give each as a share of the ingredient as bought", fmt.Sprintf("its compounds come to %.6g %% of it", float64(compounds)*100))
	}
}

func (c *check) lots(at string, ing ingredient.Ingredient) {
	first := map[[2]string]int{}
	for j, l := range ing.Lots {
		key := [2]string{l.Lot, l.Supplier}
		if n, dup := first[key]; dup && l.Lot != "" {
			c.fail(fmt.Sprintf("%s.lot[%d].lot", at, j), Duplicate, "add the quantities, or write the mark as it stands on the sack",
				fmt.Sprintf("lot %s of this supplier stands at lot %d already", quoted(l.Lot), n+1))
			continue
		}
		first[key] = j
		if l.Received != "" && l.BestBefore != "" && l.BestBefore < l.Received { // ISO dates sort as text
			c.fail(fmt.Sprintf("%s.lot[%d].best_before", at, j), Order, "look at the sack again", "is before the day it was received")
		}
	}
}

func (c *check) recipes() {
	families := c.families()
	for i, r := range c.book.Recipes {
		at := fmt.Sprintf("recipe[%d]", i)
		c.either(at, "boil_to", r.BoilTo != 0, "water_left", r.WaterLeft != 0)
		c.boil(at, r)
		c.portions(at, r)
		for j, a := range r.Additions {
			c.portion(fmt.Sprintf("%s.addition[%d].portion", at, j), r, a.Portion)
		}
		c.flavour(at, r, families)
		c.finish(at, r)
		c.metal(at, r)
		c.process(at, r)
	}
}

// families returns the flavour families of the recipes.
func (c *check) families() []string {
	var out []string
	seen := map[string]bool{"": true}
	for _, r := range c.book.Recipes {
		if f := r.Flavour.Family; !seen[f] {
			seen[f] = true
			out = append(out, f)
		}
	}
	return out
}

func (c *check) boil(at string, r recipe.Recipe) {
	first := map[string]int{}
	doctored := false
	for j, p := range r.Boil {
		if n, dup := first[p.Ingredient]; dup && p.Ingredient != "" {
			c.fail(fmt.Sprintf("%s.boil[%d].ingredient", at, j), Duplicate, "add the two masses", fmt.Sprintf("%s stands at boil %d already", quoted(p.Ingredient), n+1))
		} else {
			first[p.Ingredient] = j
		}
		ing, _ := c.ingredient(p.Ingredient)
		doctored = doctored || ing.Kind == ingredient.Doctor || ing.Kind == ingredient.Invert
		c.inKettle(fmt.Sprintf("%s.boil[%d].ingredient", at, j), r, ing, true)
	}
	mass, dry, syrup := c.charge(r)
	if len(r.Boil) == 0 || mass == 0 {
		return
	}
	water := 1 - dry/mass
	switch {
	case dry <= 0:
		c.fail(at+".boil", Missing, "put sugar in", "holds no dry matter")
	case r.WaterLeft != 0 && water <= float64(r.WaterLeft):
		c.fail(at+".water_left", Clash, "add water to the charge, or ask for a drier boil", fmt.Sprintf("the charge holds only %.3g %% water before it is boiled", water*100))
	case water < 0.05:
		c.fail(at+".boil", Clash, "water of about a third of the sugar dissolves it", fmt.Sprintf("holds only %.3g %% water: the sugar would not dissolve", water*100))
	case !doctored && syrup < boil.SyrupGrains*dry:
		c.warn(at+".boil", caution.GrainRisk, fmt.Sprintf("recipe %q, syrup %.0f %% of the dry matter", r.ID, 100*syrup/dry))
	}
}

// inKettle warns of what should not go into the charge or the boiling syrup.
func (c *check) inKettle(at string, r recipe.Recipe, ing ingredient.Ingredient, charge bool) {
	named := fmt.Sprintf("recipe %q, %s", r.ID, ing.Name)
	switch ing.Kind {
	case ingredient.Acid:
		if charge {
			c.warn(at, caution.WrongAcid, named)
		}
		c.warn(at, caution.AcidBoil, named)
	case ingredient.Oil:
		c.warn(at, caution.OilInBoil, named)
	case ingredient.Essence:
		c.warn(at, caution.SpiritOnFire, named)
	case ingredient.Doctor:
		c.warn(at, caution.TartarHold, named)
	}
}

func (c *check) portions(at string, r recipe.Recipe) {
	if sum, whole := r.SharesSum(); len(r.Portions) > 0 && !whole {
		c.fail(at+".portion", Shares, "make the shares of the portions sum to 100 %", fmt.Sprintf("shares sum to %.6g %%, not 100 %%", float64(sum)*100))
	}
	for j, p := range r.Portions {
		if p.Air != 0 && p.Work == recipe.Clear {
			c.fail(fmt.Sprintf("%s.portion[%d].air", at, j), Clash, "take air out, or pull the portion", "a portion folded clear keeps no air")
		}
	}
}

// portion checks that a portion of the recipe has the id; empty means all of them.
func (c *check) portion(field string, r recipe.Recipe, id string) {
	if _, ok := r.Portion(id); ok || id == "" {
		return
	}
	var known []string
	for _, p := range r.Portions {
		known = append(known, p.ID)
	}
	c.fail(field, Unknown, didYouMean(id, known), fmt.Sprintf("recipe %s has no portion %s", quoted(r.ID), quoted(id)))
}

// stainFamily is the channel of colour, which no flavour family may be called.
const stainFamily = "stain"

func (c *check) flavour(at string, r recipe.Recipe, families []string) {
	f := r.Flavour
	if f.Family == stainFamily || slices.Contains(ingredient.Allergens(), f.Family) {
		c.fail(at+".flavour.family", Clash, "name the flavour, such as nut-toffee for nuts", quoted(f.Family)+" is the name of another channel")
	}
	for _, other := range sortedKeys(f.Tolerates) {
		field := join(at+".flavour.tolerates", other)
		switch {
		case !slices.Contains(families, other):
			c.fail(field, Unknown, didYouMean(other, families), fmt.Sprintf("no recipe is of the family %s", quoted(other)))
		case f.Tolerates[other] < f.TaintLimit:
			c.fail(field, Order, "tolerates can only raise the limit", "is below taint_limit")
		}
	}
}

func (c *check) finish(at string, r recipe.Recipe) {
	switch {
	case r.Finish == recipe.Plain && r.FinishGain != 0:
		c.fail(at+".finish_gain", Clash, `write finish = "dusted" or "sanded", or take it out`, "a plain finish keeps nothing")
	case r.Finish == recipe.Plain && r.FinishWith != "":
		c.fail(at+".finish_with", Clash, `write finish = "dusted" or "sanded", or take it out`, "a plain finish uses nothing")
	case (r.Finish == recipe.Dusted || r.Finish == recipe.Sanded) && r.FinishWith == "":
		c.fail(at+".finish_with", Missing, "the id of the icing sugar, starch or sugar", fmt.Sprintf("is missing: what is it %s with", r.Finish))
	}
}

// metal warns of acid sugar on bare copper and its alloys, every time.
func (c *check) metal(at string, r recipe.Recipe) {
	kettle, ok := c.book.KettleFor(r)
	rolls, _ := c.rolls(r.Rolls)
	var inPan, onRolls string // name of the acid
	for _, p := range r.Boil {
		if ing, _ := c.ingredient(p.Ingredient); ing.Acidic() {
			inPan, onRolls = ing.Name, ing.Name
		}
	}
	for _, a := range r.Additions {
		if ing, _ := c.ingredient(a.Ingredient); ing.Acidic() {
			onRolls = ing.Name
			if a.Stage == recipe.AtBoil || a.Stage == recipe.AtEnd {
				inPan = ing.Name
			}
		}
	}
	if inPan != "" && ok && kettle.Touches().Bare() {
		c.warn(at+".kettle", caution.AcidOnCopper, fmt.Sprintf("recipe %q, %s in kettle %q of %s", r.ID, inPan, kettle.ID, kettle.Touches()))
	}
	if onRolls != "" && rolls.Material.Bare() {
		c.warn(at+".rolls", caution.AcidOnCopper, fmt.Sprintf("recipe %q, %s on rolls %q of %s", r.ID, onRolls, rolls.ID, rolls.Material))
	}
}

// process warns of additions at a stage that harms people or sweets.
func (c *check) process(at string, r recipe.Recipe) {
	var erupts, flashes bool
	for j, a := range r.Additions {
		ing, ok := c.ingredient(a.Ingredient)
		if !ok {
			continue
		}
		field := fmt.Sprintf("%s.addition[%d].stage", at, j)
		named := fmt.Sprintf("recipe %q, %s", r.ID, ing.Name)
		if a.Stage == recipe.AtBoil {
			c.inKettle(field, r, ing, false)
		} else if ing.Kind == ingredient.Acid && a.Stage != recipe.AtFold {
			c.warn(field, caution.AcidBoil, named)
		}
		if ing.Watery() && a.Stage != recipe.AtFold && !erupts {
			erupts = true
			c.warn(field, caution.LiquidsErupt, named)
		}
		if (ing.Spirit > 0 || ing.Kind == ingredient.Oil) && !flashes {
			flashes = true
			c.warn(field, caution.SpiritFlash, named)
		}
	}
}

// charge sums a recipe's boil as it is written: mass, dry matter, and the dry
// matter of syrups, all in kilograms.
func (c *check) charge(r recipe.Recipe) (massKg, dryKg, syrupKg float64) {
	for _, p := range r.Boil {
		ing, ok := c.ingredient(p.Ingredient)
		if !ok {
			continue
		}
		dry := float64(p.Mass) * float64(ing.Solids)
		massKg += float64(p.Mass)
		dryKg += dry
		if ing.Kind == ingredient.Syrup {
			syrupKg += dry
		}
	}
	return massKg, dryKg, syrupKg
}
