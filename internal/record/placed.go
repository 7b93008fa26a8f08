package record

import (
	"slices"
	"strings"

	"slabside/internal/fault"
)

// Trouble is how a batch goes wrong.
type Trouble string

// The troubles, in the order in which they are looked for.
const (
	DidGrain   Trouble = "grained"
	DidScorch  Trouble = "scorched"
	TooSoft    Trouble = "too soft"
	WrongStuff Trouble = "wrong ingredient"
	Foreign    Trouble = "metal or glass"
	Dropped    Trouble = "dropped"
	Stopped    Trouble = "stopped"
)

// Troubles lists the troubles.
func Troubles() []Trouble {
	return []Trouble{DidGrain, DidScorch, TooSoft, WrongStuff, Foreign, Dropped, Stopped}
}

// Troubled says that a batch went wrong.
type Troubled struct {
	What Trouble `json:"what"`
	When string  `json:"when,omitempty"` // time of day, "10:17"
	Note string  `json:"note,omitempty"`
}

func (t *Troubled) check() error {
	if !slices.Contains(Troubles(), t.What) {
		return fault.Invalid("%q is no trouble that is known here", fault.Clip(string(t.What), fault.Echo)).At("trouble.what").WithHint("one of %s", list(Troubles()))
	}
	if err := clocks("trouble", clock{"when", t.When}); err != nil {
		return err
	}
	return fault.Texts("trouble", t.Note)
}

// Place is what may be done with a batch.
type Place string

// The places.
const (
	Free     Place = "usable"
	OnHold   Place = "hold"    // nothing of it is packed, sold or cooked back before somebody has looked
	Reboiled Place = "reboil"  // it goes back into a kettle
	Relabel  Place = "relabel" // it is sold under a label that says what it is
	Diverted Place = "divert"  // it is sold as something else
	Binned   Place = "bin"
)

// Places lists the places.
func Places() []Place { return []Place{Free, OnHold, Reboiled, Relabel, Diverted, Binned} }

// Stops reports whether nothing of what is there is to leave the house.
func (p Place) Stops() bool { return !p.Packs() }

// Packs reports whether what is there may be packed.
func (p Place) Packs() bool { return p == Free || p == Relabel || p == Diverted }

// Placed says from now on what may be done with a batch.
type Placed struct {
	As  Place  `json:"as"`
	Why string `json:"why,omitempty"` // a hold may come first and its reason after
}

func (p *Placed) check() error {
	switch {
	case !slices.Contains(Places(), p.As):
		return fault.Invalid("%q is no place for a batch", fault.Clip(string(p.As), fault.Echo)).At("placed.as").WithHint("one of %s", list(Places()))
	case p.As != OnHold && strings.TrimSpace(p.Why) == "":
		return fault.Invalid("it is not said why").At("placed.why").WithHint("what was looked at, and what was found")
	}
	return fault.Texts("placed", p.Why)
}

// Place returns what may be done with the batch, and why.
func (r Record) Place() Placed {
	if p := r.last(Placing).Placed; p != nil {
		return *p
	}
	return Placed{As: Free}
}
