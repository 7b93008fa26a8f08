package book

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/bag"
	"slabside/internal/caution"
	"slabside/internal/ingredient"
)

func (c *check) products() {
	for i, p := range c.book.Products {
		at := fmt.Sprintf("product[%d]", i)
		first := map[[2]string]int{}
		var leastKg float64
		for j, part := range p.Parts {
			field := fmt.Sprintf("%s.part[%d]", at, j)
			r, ok := c.recipe(part.Recipe)
			if !ok {
				continue
			}
			key := [2]string{part.Recipe, part.Portion}
			if n, dup := first[key]; dup {
				c.fail(field+".recipe", Duplicate, "add the two shares", fmt.Sprintf("%s stands at part %d already", quoted(part.Recipe), n+1))
			} else {
				first[key] = j
			}
			c.portion(field+".portion", r, part.Portion)
			if rolls, ok := c.rolls(r.Rolls); ok {
				leastKg += float64(part.Least) * float64(rolls.PieceMass())
			}
		}
		if pack, ok := c.book.Pack(p.In); ok && (p.Pack == "jar") != (pack.Closure == bag.Lid) && p.Pack != "" {
			c.fail(at+".pack", Clash, "take it out, or name the right pack in packed_in", fmt.Sprintf("is %s, and its pack %s is %s", p.Pack, quoted(p.In), shut(pack.Closure)))
		}
		if p.Price != "" && p.Price.Currency() != c.book.Shop.Currency {
			c.warn(at+".price", caution.OtherCurrency, c.book.Shop.Units.Money(p.Price))
		}
		if net := float64(p.Net); net > 0 && leastKg > net {
			c.fail(at+".net", NoFit, "lower the least numbers or make a larger bag", fmt.Sprintf("the least numbers alone weigh %.0f g, more than the bag", leastKg*1000))
		}
	}
}

// clockMin returns a clock time in minutes; ok is false for a malformed one,
// which the field's own check reports.
func clockMin(s string) (min int, ok bool) {
	if !clockForm.MatchString(s) {
		return 0, false
	}
	return (int(s[0]-'0')*10+int(s[1]-'0'))*60 + int(s[3]-'0')*10 + int(s[4]-'0'), true
}

func (c *check) day() {
	d := c.book.Day
	opens, ok1 := clockMin(d.Opens)
	ends, ok2 := clockMin(d.Ends)
	span := ok1 && ok2
	switch closing := int(c.book.Room.Times.Closing.Minutes()); {
	case span && ends <= opens:
		c.fail("day.ends", Order, "a day ends on the date it opens", "is not after opens")
		span = false
	case span && opens+closing >= ends:
		c.fail("day.ends", NoFit, "room.times.closing belongs inside the day", "leaves no time before the clean-down")
	}
	for i, b := range d.Breaks {
		c.breakTime(fmt.Sprintf("day.break[%d]", i), b, opens, ends, span)
	}
	for i, p := range d.Pours {
		at, ok := clockMin(p.At)
		if ok && span && (at < opens || at > ends) {
			c.fail(fmt.Sprintf("day.announced_pour[%d].at", i), NoFit, "between day.opens and day.ends", p.At+" is outside the day")
		}
	}
	c.residue()
	c.rules()
}

func (c *check) breakTime(at string, b Break, opens, ends int, span bool) {
	from, ok1 := clockMin(b.From)
	to, ok2 := clockMin(b.To)
	if !ok1 || !ok2 {
		return
	}
	switch {
	case to < from:
		c.fail(at+".to", Order, "from is the earliest start, to the latest", "is before from")
	case span && (from < opens || to+int(b.Duration.Minutes()) > ends):
		c.fail(at+".from", NoFit, "the whole break lies between day.opens and day.ends", "is outside the day")
	}
}

func (c *check) residue() {
	known := slices.Concat(c.families(), []string{stainFamily}, ingredient.Allergens())
	seen := map[string]bool{}
	for i, r := range c.book.Day.Residue {
		field := fmt.Sprintf("day.residue[%d].family", i)
		switch {
		case r.Family == "":
		case !slices.Contains(known, r.Family):
			c.fail(field, Unknown, didYouMean(r.Family, known), fmt.Sprintf("%s is no flavour family of a recipe, not \"stain\" and no allergen", quoted(r.Family)))
		case seen[r.Family]:
			c.fail(field, Duplicate, "keep the higher level", quoted(r.Family)+" stands here twice")
		}
		seen[r.Family] = true
	}
}

func (c *check) rules() {
	one := map[string]string{} // the recipe that is first, last
	next := map[[2]string]int{}
	later := order{}
	for i, r := range c.book.Day.Rules {
		at := fmt.Sprintf("day.rule[%d]", i)
		switch r.Kind {
		case "first", "last":
			if r.After != "" {
				c.fail(at+".after", Clash, "take it out", "a "+r.Kind+" rule has no recipe before it")
			}
			if was, dup := one[r.Kind]; dup && was != r.Recipe {
				c.fail(at+".recipe", Clash, "keep one of them", fmt.Sprintf("%s is pinned %s already", quoted(was), r.Kind))
			}
			one[r.Kind] = r.Recipe
		case "next", "not_next", "later":
			if r.After == "" {
				c.fail(at+".after", Missing, "the id of the recipe before it", "is missing: a "+r.Kind+" rule is about two recipes")
			} else if r.After == r.Recipe {
				c.fail(at+".after", Clash, "two different recipes", "is the recipe itself")
			}
			key := [2]string{r.After, r.Recipe}
			switch n, ok := next[key]; {
			case r.Kind == "later" && later.reaches(r.Recipe, r.After):
				c.fail(at+".kind", Clash, "take one of the rules out", fmt.Sprintf("runs in a circle: %s is already later than %s", quoted(r.After), quoted(r.Recipe)))
			case r.Kind == "later":
				later[r.After] = append(later[r.After], r.Recipe)
			case ok && c.book.Day.Rules[n].Kind != r.Kind:
				c.fail(at+".kind", Clash, "keep one of them", fmt.Sprintf("contradicts rule %d", n+1))
			default:
				next[key] = i
			}
		}
		if r.Kind == "at_least" && r.Act == "" {
			c.fail(at+".act", Missing, "one of "+strings.Join(ruleActs, ", "), "is missing: at least which act")
		}
		if r.Kind != "at_least" && r.Act != "" {
			c.fail(at+".act", Clash, "take it out, or make the kind at_least", "belongs to an at_least rule")
		}
	}
}

// order holds, by recipe, those that rules put later.
type order map[string][]string

// reaches reports whether rules put b later than a, straight or through others.
// There are no circles yet.
func (o order) reaches(a, b string) bool {
	return slices.ContainsFunc(o[a], func(x string) bool { return x == b || o.reaches(x, b) })
}

func (c *check) demand() {
	for i, s := range c.book.Stock {
		at := fmt.Sprintf("stock[%d]", i)
		packed, loose := s.Product != "" || s.Bags != 0, s.Recipe != "" || s.Portion != "" || s.Loose != 0
		switch {
		case packed && loose:
			c.fail(at, OneOf, "product and bags, or recipe and loose; split it in two", "speaks of packed bags and of loose sweets")
		case packed && s.Product == "":
			c.fail(at+".product", Missing, "the id of a product", "is missing: bags of what")
		case packed && s.Bags == 0:
			c.fail(at+".bags", Missing, "how many bags there are", "is missing or zero")
		case loose && s.Recipe == "":
			c.fail(at+".recipe", Missing, "the id of a recipe", "is missing: loose what")
		case loose && s.Loose == 0:
			c.fail(at+".loose", Missing, "how much there is, such as 1.2 kg", "is missing or zero")
		case !packed && !loose:
			c.fail(at, OneOf, "product and bags, or recipe and loose", "says nothing of what there is")
		}
		if r, ok := c.recipe(s.Recipe); ok {
			c.portion(at+".portion", r, s.Portion)
		}
	}
	seen := map[[3]string]int{}
	for i, l := range c.book.ToMake {
		key := [3]string{l.Product, l.Due, l.For}
		if n, dup := seen[key]; dup && l.Product != "" {
			c.fail(fmt.Sprintf("to_make[%d].product", i), Duplicate, "add the bags, or say whom each is for", fmt.Sprintf("%s for the same day and the same taker stands at to_make %d already", quoted(l.Product), n+1))
			continue
		}
		seen[key] = i
	}
}
