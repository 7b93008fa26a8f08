package record

import (
	"cmp"
	"slices"
	"time"

	"slabside/internal/fault"
)

// Happening is something that happens at a moment, between the flame and the last sheet.
type Happening string

// The happenings, in the order of the work.
const (
	Lit        Happening = "lit"         // the flame
	Boils      Happening = "boils"       // all is dissolved and it boils
	WashedDown Happening = "washed down" // the sides of the pan, or the lid was on
	GlassIn    Happening = "glass in"    // the thermometer hangs in the syrup
	FlameDown  Happening = "flame down"
	FlameOff   Happening = "flame off" // the lift
	Poured     Happening = "poured"    // the last of it is on the slab
	EdgeUp     Happening = "edge lifts"
	AcidIn     Happening = "acid in"
	Kneaded    Happening = "kneaded" // the folds are made
	PullBegun  Happening = "pull begun"
	PullDone   Happening = "pull done"
	ToRolls    Happening = "to the rolls"
	FirstSheet Happening = "first sheet" // the first good one
	LastSheet  Happening = "last sheet"  // the last good one: all is rolled
	Cracked    Happening = "cracked"     // it has gone short
	Sticks     Happening = "sticks"      // to the rolls: it is too soft still
	Looked     Happening = "read"        // a thermometer was read
)

// Happenings lists the happenings in the order of the work.
func Happenings() []Happening {
	return []Happening{Lit, Boils, WashedDown, GlassIn, FlameDown, FlameOff, Poured, EdgeUp, AcidIn, Kneaded, PullBegun, PullDone, ToRolls, FirstSheet, LastSheet, Cracked, Sticks, Looked}
}

// Spot is where a thermometer was read.
type Spot string

// The spots.
const (
	AtKettle Spot = "kettle"
	AtSlab   Spot = "slab"  // in the middle of the batch, on the slab or the board
	AtSheet  Spot = "sheet" // as it leaves the rolls
)

// Spots lists the spots.
func Spots() []Spot { return []Spot{AtKettle, AtSlab, AtSheet} }

// Moment is a happening; when it was is the time of its act.
type Moment struct {
	What  Happening `json:"what"`
	ReadC float64   `json:"read_c,omitempty"` // of [Looked]: on the thermometer
	Glass string    `json:"glass,omitempty"`  // id of the thermometer; empty: not said
	At    Spot      `json:"at,omitempty"`     // of [Looked]
}

func (m *Moment) check() error {
	switch {
	case !slices.Contains(Happenings(), m.What):
		return fault.Invalid("%q is nothing that happens to a batch", fault.Clip(string(m.What), fault.Echo)).At("moment.what").WithHint("one of %s", list(Happenings()))
	case m.What != Looked && (m.ReadC != 0 || m.Glass != "" || m.At != ""):
		return fault.Invalid("a reading goes with %q only", Looked).At("moment.read_c")
	case m.What == Looked && !within(m.ReadC, coldestWork, hottestRead):
		return fault.Invalid("no batch is at %.4g °C", m.ReadC).At("moment.read_c")
	case m.What == Looked && !slices.Contains(Spots(), m.At):
		return fault.Invalid("%q is no place where a batch is read", fault.Clip(string(m.At), fault.Echo)).At("moment.at").WithHint("one of %s", list(Spots()))
	}
	return fault.Texts("moment", m.Glass)
}

// Moments returns the moments that stand, by their time.
func (r Record) Moments() []Kept {
	out := r.All(Timing)
	slices.SortStableFunc(out, func(a, b Kept) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Act, b.Act)) })
	return out
}

// When returns when a thing happened, the last time it was said; false if it was not.
func (r Record) When(what Happening) (at time.Time, ok bool) {
	for _, k := range r.Moments() {
		if k.Moment.What == what {
			at, ok = k.At, true
		}
	}
	return at, ok
}
