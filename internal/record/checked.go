package record

import (
	"slices"
	"strings"

	"slabside/internal/fault"
)

// Says is the answer to a check.
type Says string

// The answers.
const (
	Yes     Says = "yes"
	No      Says = "no"
	NotHere Says = "does not apply"
)

// Answers lists the answers.
func Answers() []Says { return []Says{Yes, No, NotHere} }

// Item is something that is looked at before the flame.
type Item string

// The items, in the order in which a room is walked through.
const (
	MachineSeated Item = "machine"        // seated and locked
	GuardsOn      Item = "guards"         // on the rolls
	StopWorks     Item = "stop"           // in reach, and tried
	RollsWhole    Item = "rolls"          // no chip, no missing edge
	GlassWhole    Item = "glass"          // thermometers, lamps, brittle plastic
	HoodOn        Item = "hood"           // with make-up air
	AlarmWorks    Item = "co alarm"       // tried
	WaterOn       Item = "water"          // through the slab
	AllergenClean Item = "allergen clean" // done, and verified by a named person
)

// Items lists the items.
func Items() []Item {
	return []Item{MachineSeated, GuardsOn, StopWorks, RollsWhole, GlassWhole, HoodOn, AlarmWorks, WaterOn, AllergenClean}
}

// Checked is what was looked at before the flame.
type Checked struct {
	Checks []Check `json:"checks"`
}

// Check is the answer to one item.
type Check struct {
	Item Item   `json:"item"`
	Says Says   `json:"says"`
	By   string `json:"by,omitempty"` // who verified it, where that is another person than the one who writes
}

// Of returns the answer to an item, an empty one if it was not looked at.
func (c *Checked) Of(item Item) Check {
	if c != nil {
		for _, x := range c.Checks {
			if x.Item == item {
				return x
			}
		}
	}
	return Check{Item: item}
}

func (c Checked) check() error {
	if len(c.Checks) == 0 {
		return fault.Invalid("no check is answered").At("checked.checks")
	}
	seen := map[Item]bool{}
	for _, x := range c.Checks {
		at := "checked." + string(x.Item)
		switch {
		case !slices.Contains(Items(), x.Item):
			return fault.Invalid("%q is no check before the flame", fault.Clip(string(x.Item), fault.Echo)).At("checked.checks").WithHint("one of %s", list(Items()))
		case seen[x.Item]:
			return fault.Invalid("%s is answered twice", x.Item).At(at)
		case !slices.Contains(Answers(), x.Says):
			return fault.Invalid("%q is no answer", fault.Clip(string(x.Says), fault.Echo)).At(at).WithHint("one of %s", list(Answers()))
		case x.Item == AllergenClean && x.Says == Yes && strings.TrimSpace(x.By) == "":
			return fault.Invalid("it is not said who verified the allergen clean").At(at).WithHint("it counts when a named person has verified it")
		}
		seen[x.Item] = true
		if err := fault.Texts(at, x.By); err != nil {
			return err
		}
	}
	return nil
}

// list writes words one after the other.
func list[T ~string](all []T) string {
	texts := make([]string, len(all))
	for i, w := range all {
		texts[i] = string(w)
	}
	return strings.Join(texts, ", ")
}
