package store

import (
	"maps"
	"slices"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/record"
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
	kept := s.lots[e.Lot]
	err := FollowLot(kept, *e, a.Corrects)
	if err == nil {
		err = lot.FollowMade(kept, *e, a.Corrects, func(id string) ([]lot.Kept, error) { return s.lots[id], nil })
	}
	if err != nil {
		p = append(p, err.Error())
	}
	if !slices.EqualFunc(body.Lots, lot.Moves(kept, *e, a.Corrects), sameMove) {
		p = append(p, "what it takes of lots is not what it is made of")
	}
	s.lots[e.Lot] = append(kept, KeptLot(kept, a, body, *e))
	return append(p, s.move(a, body)...)
}

// move takes into the ledgers of lots what an act did to them besides.
func (s *State) move(a Act, body ActBody) []string {
	var p []string
	for _, e := range body.Lots {
		kept := s.lots[e.Lot]
		k := KeptLot(kept, a, body, e)
		if err := lot.Follow(kept, e, k.Corrects); err != nil {
			p = append(p, err.Error())
		}
		s.lots[e.Lot] = append(kept, k)
	}
	return p
}

// FollowLot refuses an entry that cannot follow those that are kept of its lot, see
// [lot.Follow], and one that corrects what was weighed into a batch or went into another
// lot: the record of the batch, or that lot, would say something else.
func FollowLot(kept []lot.Kept, e lot.Entry, corrects int64) error {
	if e.Used != nil && e.Used.Into != "" {
		return fault.Invalid("what goes into another lot is written when that is made").At("used.into").WithHint("make the lot, and say what it is made of")
	}
	for _, k := range kept {
		if corrects != 0 && k.Act == corrects && k.Used != nil && k.Used.Into != "" {
			return fault.Conflict("that went into lot %s", k.Used.Into).At("corrects").WithHint("correct the making of that lot")
		}
		if corrects != 0 && k.Act == corrects && k.Weighed && k.Used != nil {
			return fault.Conflict("that was weighed into batch %s", k.Used.Batch).At("corrects").WithHint("correct the weighing in the record of the batch")
		}
	}
	return lot.Follow(kept, e, corrects)
}

// enterLots takes what a weighing did to lots into their ledgers.
func (s *State) enterLots(a Act, body ActBody) []string {
	var p []string
	if !slices.EqualFunc(body.Lots, LotMoves(s.records[body.Entry.Batch], *body.Entry, a.Corrects), sameMove) {
		p = append(p, "what it takes of lots is not what it weighs")
	}
	return append(p, s.move(a, body)...)
}

func sameMove(a, b lot.Entry) bool {
	return a.Lot == b.Lot && a.Kind() == b.Kind() && (a.Used == nil || *a.Used == *b.Used)
}

// LotMoves returns what an entry of a batch's record does to the ledgers of lots: what is
// weighed out of a lot is used, and where a correction takes it out of another lot, or
// nothing was weighed, that of the first is taken back.
func LotMoves(kept []record.Kept, e record.Entry, corrects int64) []lot.Entry {
	was, now := "", ""
	for _, k := range kept {
		if corrects != 0 && k.Act == corrects && k.Weighed != nil {
			was = k.Weighed.Lot
		}
	}
	var out []lot.Entry
	if e.Weighed != nil {
		now = e.Weighed.Lot
	}
	if was != "" && was != now {
		out = append(out, lot.Entry{Lot: was})
	}
	if now != "" {
		out = append(out, lot.Entry{Lot: now, Used: &lot.Used{MassMg: e.Weighed.MassMg, Batch: e.Batch}})
	}
	return out
}

// KeptLot returns an entry as the act that wrote it keeps it, after those that are kept
// of its lot: what an act does to a lot besides its own entry, by a weighing or by making
// another lot, corrects an entry of that lot only if the corrected act had one there.
func KeptLot(kept []lot.Kept, a Act, body ActBody, e lot.Entry) lot.Kept {
	out := lot.Kept{Entry: e, Act: a.Seq, At: a.At, TakenIn: a.Received, Person: a.Person, Reason: a.Reason, Corrects: a.Corrects, Weighed: body.Entry != nil}
	if body.Lot == nil || body.Lot.Lot != e.Lot {
		out.Corrects = CorrectedOf(kept, a.Corrects)
	}
	return out
}

// CorrectedOf returns the act that a correction of a weighing or a making corrects in the
// ledger of a lot, 0 if that act took nothing of it.
func CorrectedOf(kept []lot.Kept, corrects int64) int64 {
	if slices.ContainsFunc(kept, func(k lot.Kept) bool { return k.Act == corrects && k.Kind() != lot.Taking }) {
		return corrects
	}
	return 0
}

// Lots returns the numbers of the lots that have a ledger, sorted.
func (s *State) Lots() []string { return slices.Sorted(maps.Keys(s.lots)) }

// Ledger returns what is kept of a lot.
func (s *State) Ledger(id string) []lot.Kept { return s.lots[id] }
