package lot

import (
	"math"
	"slices"
	"strings"

	"slabside/internal/fault"
)

// Made says that a lot was made in the house out of others: a stock solution, or packets
// that were weighed beforehand. What went in is what came out and what was lost:
//
//	sum of the parts + carrier of no lot = mass of the lot + lost.
type Made struct {
	Of []Part `json:"of"` // what was taken of each lot, once each
	// Strength is the ingredient in the lot, by mass, above 0 to 1; 1: it is the
	// ingredient as it was.
	Strength  float64 `json:"strength_frac"`
	Carrier   string  `json:"carrier,omitempty"`    // what it is dissolved in; empty: nothing
	CarrierMg int64   `json:"carrier_mg,omitempty"` // of it that has no lot, as tap water
	LostMg    int64   `json:"lost_mg,omitempty"`    // on the way: spilt, left in the beaker
	Packets   int     `json:"packets,omitempty"`    // it is shared out in; 0: it is not
}

// Part is what was taken of a lot to make another.
type Part struct {
	Lot    string `json:"lot"`
	MassMg int64  `json:"mass_mg"`
}

// The most parts and packets that are meant.
const (
	MostParts   = 20
	MostPackets = 10_000
)

// check refuses what cannot be meant of the making of a lot.
func (m Made) check(id string, r Received) error {
	switch {
	case len(m.Of) == 0 || len(m.Of) > MostParts:
		return fault.Invalid("it is made out of %d lots", len(m.Of)).At("received.made.of").WithHint("name what was taken of each lot, of no more than %d", MostParts)
	case !(m.Strength > 0 && m.Strength <= 1):
		return fault.Invalid("a strength of %g is none", m.Strength).At("received.made.strength_frac").WithHint("the share of the ingredient in the whole, as 0.1 for 10 %%")
	case m.CarrierMg < 0 || m.CarrierMg > MostMg:
		return fault.Invalid("%g kg of a carrier cannot be meant", float64(m.CarrierMg)/1e6).At("received.made.carrier_mg")
	case m.CarrierMg > 0 && strings.TrimSpace(m.Carrier) == "":
		return fault.Invalid("it is not said what it is dissolved in").At("received.made.carrier")
	case m.Packets < 0 || m.Packets > MostPackets || int64(m.Packets) > r.MassMg:
		return fault.Invalid("%d packets cannot be meant", m.Packets).At("received.made.packets")
	}
	if err := m.parts(id, r.On); err != nil {
		return err
	}
	in := m.InMg()
	switch {
	case m.LostMg != in-r.MassMg || m.LostMg < 0:
		return fault.Invalid("%d mg went in, and %d mg that came out and %d mg lost are not that", in, r.MassMg, m.LostMg).At("received.mass_mg").
			WithHint("what came out and what was lost are together what went in")
	case m.Strength*float64(in) > float64(in-m.CarrierMg)+1:
		return fault.Invalid("more of it would be the ingredient than was taken of lots").At("received.made.strength_frac")
	}
	return fault.Texts("received", m.Carrier)
}

// parts refuses parts that cannot have been taken: of the lot itself, of a lot that came
// after it, of one lot twice.
func (m Made) parts(id, on string) error {
	for i, p := range m.Of {
		if err := CheckID(p.Lot); err != nil {
			return fault.Invalid("%q is no number of a lot", fault.Clip(p.Lot, fault.Echo)).At("received.made.of").WithHint("it is an r, a day and a number, as r2026-11-28-2")
		}
		switch {
		case p.MassMg <= 0 || p.MassMg > MostMg:
			return fault.Invalid("%g kg of lot %s cannot have been taken", float64(p.MassMg)/1e6, p.Lot).At("received.made.of").WithHint("write more than zero")
		case p.Lot == id:
			return fault.Invalid("a lot is not made out of itself").At("received.made.of")
		case dayOf(p.Lot) > on:
			return fault.Invalid("lot %s came after %s", p.Lot, on).At("received.made.of").WithHint("look at the day on which it was made")
		case slices.ContainsFunc(m.Of[:i], func(x Part) bool { return x.Lot == p.Lot }):
			return fault.Invalid("lot %s is named twice", p.Lot).At("received.made.of").WithHint("write what was taken of it together")
		}
	}
	return nil
}

// dayOf is the day in the number of a lot.
func dayOf(id string) string { return id[1 : 1+len("2006-01-02")] }

// InMg is what went into the making, all together [mg].
func (m Made) InMg() int64 {
	sum := m.CarrierMg
	for _, p := range m.Of {
		sum += p.MassMg
	}
	return sum
}

// Strength is the ingredient in the lot, by mass: 1 for a lot as it came.
func (r *Received) Strength() float64 {
	if r == nil || r.Made == nil {
		return 1
	}
	return r.Made.Strength
}

// DoseMg is how much of the ingredient is in a mass of a strength [mg], to the nearest.
// A strength of 0 is none that is said: all of it is the ingredient.
func DoseMg(massMg int64, strength float64) int64 {
	if strength == 0 || strength == 1 {
		return massMg
	}
	return int64(math.Round(strength * float64(massMg)))
}

// DoseMg is how much of the ingredient is on hand [mg].
func (l Ledger) DoseMg() int64 { return DoseMg(l.OnHandMg, l.Receipt.Strength()) }

// Moves returns what an entry of a lot does to the ledgers of others: what it is made out
// of is used, and what a correction takes no more of is taken back.
func Moves(kept []Kept, e Entry, corrects int64) []Entry {
	was, now := madeOf(kept, corrects), []Part{}
	if e.Received != nil && e.Received.Made != nil {
		now = e.Received.Made.Of
	}
	var out []Entry
	for _, p := range was {
		if !slices.ContainsFunc(now, func(x Part) bool { return x.Lot == p.Lot }) {
			out = append(out, Entry{Lot: p.Lot})
		}
	}
	for _, p := range now {
		out = append(out, Entry{Lot: p.Lot, Used: &Used{MassMg: p.MassMg, Into: e.Lot}})
	}
	return out
}

// madeOf is what the entry that an act wrote took of other lots.
func madeOf(kept []Kept, act int64) []Part {
	for _, k := range kept {
		if act != 0 && k.Act == act && k.Received != nil && k.Received.Made != nil {
			return k.Received.Made.Of
		}
	}
	return nil
}

// FollowMade refuses a lot that cannot be made out of others, by what is kept of it and
// of each of them: it keeps no longer than the first of them that expires, may contain
// all that any of them may, and is made out of none that came after it. What was received
// does not become what was made by a correction, nor the other way round.
//
// Faults: NotFound for a part that was not received, Invalid else.
func FollowMade(kept []Kept, e Entry, corrects int64, of func(id string) ([]Kept, error)) error {
	for _, k := range kept {
		if corrects != 0 && k.Act == corrects && k.Received != nil && e.Received != nil && (k.Received.Made == nil) != (e.Received.Made == nil) {
			return fault.Invalid("what came in was not made here, nor the other way round").At("received.made").WithHint("take it back and write it down anew")
		}
	}
	if e.Received == nil || e.Received.Made == nil {
		return nil
	}
	for _, p := range e.Received.Made.Of {
		theirs, err := of(p.Lot)
		if err != nil {
			return err
		}
		if err := e.Received.mayHold(Fold(theirs), p.Lot); err != nil {
			return err
		}
		if mine := born(kept); corrects != 0 && born(theirs) > mine {
			return fault.Invalid("lot %s came after it", p.Lot).At("received.made.of").WithHint("take it back and make it anew")
		}
	}
	return nil
}

// mayHold refuses a part by what it is.
func (r *Received) mayHold(part Ledger, id string) error {
	x := part.Receipt
	switch {
	case x == nil:
		return fault.NotFound("lot %s was not received", id).At("received.made.of").WithHint("the stores list the lots that are there")
	case x.BestBefore != "" && (r.BestBefore == "" || r.BestBefore > x.BestBefore):
		return fault.Invalid("lot %s is best before %s, and what is made of it keeps no longer", id, x.BestBefore).At("received.best_before")
	}
	for _, w := range x.MayContain {
		if !slices.Contains(r.MayContain, w) {
			return fault.Invalid("lot %s may contain %s, and so does what is made of it", id, w).At("received.may_contain")
		}
	}
	return nil
}

// born is the act by which a lot came that stands, 0 for none.
func born(kept []Kept) int64 {
	act := int64(0)
	for _, k := range kept {
		if k.Received != nil && k.Corrects == 0 {
			act = k.Act
		}
	}
	return act
}
