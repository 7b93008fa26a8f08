package store

import (
	"maps"
	"slices"

	"slabside/internal/lot"
)

// FindLots says which ledgers are looked for; what is empty does not matter.
type FindLots struct {
	Lot        string // its number
	Ingredient string // id
	Status     lot.Status
	OnHand     bool   // those of which something is left
	After      string // number of a lot: those that come after it in the list
	Limit      int
}

// enterLot takes the entry of an act into the ledger of its lot.
func (s *State) enterLot(a Act, body ActBody) []string {
	e := body.Lot
	if a.Kind != ActLot || e == nil || body.Entry != nil {
		return []string{"it writes down something of a lot, or does not, against its kind"}
	}
	var p []string
	if err := lot.Follow(s.lots[e.Lot], *e, a.Corrects); err != nil {
		p = append(p, err.Error())
	}
	s.lots[e.Lot] = append(s.lots[e.Lot], KeptLot(a, *e))
	return p
}

// KeptLot returns an entry as the act that wrote it keeps it.
func KeptLot(a Act, e lot.Entry) lot.Kept {
	return lot.Kept{Entry: e, Act: a.Seq, At: a.At, TakenIn: a.Received, Person: a.Person, Reason: a.Reason, Corrects: a.Corrects}
}

// Lots returns the numbers of the lots that have a ledger, sorted.
func (s *State) Lots() []string { return slices.Sorted(maps.Keys(s.lots)) }

// Ledger returns what is kept of a lot.
func (s *State) Ledger(id string) []lot.Kept { return s.lots[id] }
