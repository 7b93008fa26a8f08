package packing

import (
	"strings"

	"slabside/internal/fault"
)

// Opened is packaging that was opened for bags: so many pieces of a lot went with them.
type Opened struct {
	Supply string `json:"supply"` // id
	Lot    string `json:"lot"`    // s2026-11-28-2
	Pieces int64  `json:"pieces"`
}

// Opening is packaging that was opened for some bags of a lot, as it stands.
type Opening struct {
	Opened
	Kept
	First int64 // act that was first written of it
	Bags  int64
}

// Opened returns what packaging was opened for the bags of the lot, entry by entry.
func (b Bags) Opened() []Opening {
	var out []Opening
	for _, m := range b.Moves {
		if p := m.Entry.Packed; p != nil {
			for _, o := range p.Opened {
				k := m.Kept
				k.At = m.First
				out = append(out, Opening{Opened: o, Kept: k, First: m.order, Bags: p.Bags})
			}
		}
	}
	return out
}

// checkOpened refuses packaging that cannot be meant. It came by the day on which the lot
// of bags was begun: what holds something of a lot is looked for from its day on.
func checkOpened(on string, list []Opened) error {
	const mostOpened = 32
	if len(list) > mostOpened {
		return fault.Invalid("more than %d lots of packaging are not opened at once", mostOpened).At("packed.opened")
	}
	for i, o := range list {
		day := strings.TrimPrefix(o.Lot, "s")
		switch {
		case len(day) <= len(on) || len(day) == len(o.Lot) || !isDate(day[:len(on)]) || o.Supply == "":
			return fault.Invalid("%q is no number of a lot of packaging", fault.Clip(o.Lot, fault.Echo)).At("packed.opened").WithHint("it is an s, a day and a number, as s2026-11-28-2")
		case day[:len(on)] > on:
			return fault.Invalid("packaging %s came after the lot of bags was begun", o.Lot).At("packed.opened").WithHint("begin a lot of its own")
		case o.Pieces < 1 || o.Pieces > 100*MostBags:
			return fault.Invalid("%d pieces cannot have gone with them", o.Pieces).At("packed.opened")
		}
		for _, x := range list[:i] {
			if x.Lot == o.Lot {
				return fault.Invalid("packaging %s stands in it twice", o.Lot).At("packed.opened").WithHint("add the pieces up")
			}
		}
		if err := fault.Texts("packed", o.Supply, o.Lot); err != nil {
			return err
		}
	}
	return nil
}
