package record

import (
	"slices"
	"strings"

	"slabside/internal/fault"
)

// After is what was looked at after the last sheet; an empty answer: it was not.
type After struct {
	Rolls Says `json:"rolls,omitempty"` // whole
	Glass Says `json:"glass,omitempty"` // thermometers, lamps and brittle plastic whole
}

// Stuff is what a found thing is of.
type Stuff string

// The stuffs.
const (
	OfMetal   Stuff = "metal"
	OfGlass   Stuff = "glass"
	OfPlastic Stuff = "plastic"
	OfOther   Stuff = "other"
)

// Stuffs lists the stuffs.
func Stuffs() []Stuff { return []Stuff{OfMetal, OfGlass, OfPlastic, OfOther} }

// Found is a thing that does not belong into sweets.
type Found struct {
	Of    Stuff  `json:"of"`
	What  string `json:"what"`  // what it is, how long
	Where string `json:"where"` // in or on what
	Done  string `json:"done"`  // what was done about it
}

// Surface is what is cleaned.
type Surface string

// The surfaces.
const (
	OnKettle  Surface = "kettle"
	OnSlab    Surface = "slab"
	OnHook    Surface = "hook"
	OnMachine Surface = "machine"
	OnRolls   Surface = "rolls"
	OnBoard   Surface = "board"
	OnBench   Surface = "bench"
	OnSieve   Surface = "sieve"
	OnScale   Surface = "scale"
	OnTools   Surface = "tools"
)

// Surfaces lists the surfaces.
func Surfaces() []Surface {
	return []Surface{OnKettle, OnSlab, OnHook, OnMachine, OnRolls, OnBoard, OnBench, OnSieve, OnScale, OnTools}
}

// Clean is how a surface is cleaned.
type Clean string

// The ways, each more than the one before; only the last counts for allergens.
const (
	Wiped           Clean = "wipe"
	Washed          Clean = "wash"
	AllergenCleaned Clean = "allergen clean"
)

// Cleans lists the ways.
func Cleans() []Clean { return []Clean{Wiped, Washed, AllergenCleaned} }

// Cleaned is a surface that was cleaned.
type Cleaned struct {
	Surface  Surface `json:"surface"`
	Kind     Clean   `json:"kind"`
	By       string  `json:"by"`
	Verified string  `json:"verified_by,omitempty"` // by a second person; empty: by nobody
}

// Counts reports whether the clean counts: an allergen clean does when a second person
// has verified it.
func (c Cleaned) Counts() bool { return c.Kind != AllergenCleaned || c.Verified != "" }

func (a After) check() error {
	if a == (After{}) {
		return fault.Invalid("nothing is answered").At("after").WithHint("rolls and glass: yes, no or does not apply")
	}
	for _, x := range []struct {
		field string
		says  Says
	}{{"rolls", a.Rolls}, {"glass", a.Glass}} {
		if x.says != "" && !slices.Contains(Answers(), x.says) {
			return fault.Invalid("%q is no answer", fault.Clip(string(x.says), fault.Echo)).At("after."+x.field).WithHint("one of %s", list(Answers()))
		}
	}
	return nil
}

func (f Found) check() error {
	if !slices.Contains(Stuffs(), f.Of) {
		return fault.Invalid("it is not said what it is of").At("found.of").WithHint("one of %s", list(Stuffs()))
	}
	for _, x := range []struct{ field, text, ask string }{
		{"what", f.What, "what was found"}, {"where", f.Where, "where it was found"}, {"done", f.Done, "what was done about it"},
	} {
		if strings.TrimSpace(x.text) == "" {
			return fault.Invalid("it is not said %s", x.ask).At("found." + x.field)
		}
		if err := fault.Texts("found."+x.field, x.text); err != nil {
			return err
		}
	}
	return nil
}

func (c Cleaned) check() error {
	by, second := strings.TrimSpace(c.By), strings.TrimSpace(c.Verified)
	switch {
	case !slices.Contains(Surfaces(), c.Surface):
		return fault.Invalid("%q is no surface that is cleaned", fault.Clip(string(c.Surface), fault.Echo)).At("cleaned.surface").WithHint("one of %s", list(Surfaces()))
	case !slices.Contains(Cleans(), c.Kind):
		return fault.Invalid("%q is no way to clean", fault.Clip(string(c.Kind), fault.Echo)).At("cleaned.kind").WithHint("one of %s", list(Cleans()))
	case by == "":
		return fault.Invalid("it is not said who cleaned it").At("cleaned.by")
	case second != "" && strings.EqualFold(by, second):
		return fault.Invalid("%s verifies what %s cleaned", second, by).At("cleaned.verified_by").WithHint("a second person looks; leave it out if nobody did")
	}
	return fault.Texts("cleaned", c.By, c.Verified)
}
