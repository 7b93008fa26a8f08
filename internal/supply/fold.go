package supply

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"slabside/internal/journal"
	"slabside/internal/lot"
)

// Taking is what the packing took of a lot: it stands in the ledger of the bags, so that
// it is written once and cannot disagree with them.
type Taking struct {
	Act    int64     // by which it stands
	First  int64     // act that was first written of it: its place among the others
	At     time.Time // of that act
	Person string
	Amount int64
	Into   string // lot of bags
	Bags   int64  // that were packed
}

// Balance is what became of a lot, in its unit. At any time
//
//	received − packed − used − wasted − unaccounted = on hand.
//
// Unaccounted is what nobody wrote down: what counts found missing, less what they found
// too much. It may be below zero.
type Balance struct {
	Received    int64 `json:"received"`
	Packed      int64 `json:"packed"` // with bags
	Used        int64 `json:"used"`
	Wasted      int64 `json:"wasted"`
	Unaccounted int64 `json:"unaccounted"`
	OnHand      int64 `json:"on_hand"`
}

// Move is what stands written, of the lot's own ledger or of the packing, and what it did.
type Move struct {
	Kept                  // of the lot's own ledger
	Taking      *Taking   // of the packing; then there is no entry
	First       time.Time // when what it corrects was first written
	Unaccounted int64     // that it brought to light
	OnHand      int64     // after it

	order int64 // act that was first written of what it says
}

// Ledger is what stands written of one lot.
type Ledger struct {
	ID      string
	Entries []Kept // all of its own, in the order in which they were taken in
	Moves   []Move // what stands, each in the place of the first that it corrects

	Receipt *Received // nil: it was taken back
	Balance
	Status  lot.Status
	Why     string    // it is where it is
	Counted time.Time // last; zero: never
	Sure    int64     // ± of the last count; 0: none, or not said
}

// Fold reads the entries of one lot and what the packing took of it, each in the place of
// the first that it corrects. More taken than was there is no refusal, since it was taken:
// it shows that the ledger knew too little, and stands as unaccounted below zero.
func Fold(kept []Kept, takings []Taking) Ledger {
	l := Ledger{Entries: kept}
	first := map[int64]Kept{}
	for _, k := range kept {
		l.ID = k.Entry.Lot
		if first[k.Act] = k; k.Corrects != 0 {
			first[k.Act] = first[k.Corrects]
		}
	}
	l.Status, l.Why = placeOf(kept)
	for _, k := range journal.Standing(kept) {
		l.Moves = append(l.Moves, Move{Kept: k, First: first[k.Act].At, order: first[k.Act].Act})
	}
	for i, t := range takings {
		l.Moves = append(l.Moves, Move{Kept: Kept{Act: t.Act, At: t.At, Person: t.Person}, Taking: &takings[i], First: t.At, order: t.First})
	}
	slices.SortStableFunc(l.Moves, func(a, b Move) int { return cmp.Compare(a.order, b.order) })
	for i := range l.Moves {
		l.move(&l.Moves[i])
	}
	return l
}

// placeOf follows what may be done with the lot: that goes by the entries in the order in
// which they came, and no correction changes it.
func placeOf(kept []Kept) (lot.Status, string) {
	as, why := lot.Usable, ""
	for _, k := range kept {
		switch e := k.Entry; {
		case e.Received != nil && k.Corrects == 0 && e.Received.Waits != "":
			as, why = lot.Quarantine, e.Received.Waits
		case e.Received != nil && k.Corrects == 0:
			as, why = lot.Usable, ""
		case e.Placed != nil && (e.Placed.As != as || e.Placed.Why != ""):
			as, why = e.Placed.As, e.Placed.Why
		}
	}
	return as, why
}

func (l *Ledger) move(m *Move) {
	switch e := m.Entry; {
	case m.Taking != nil:
		l.Packed += m.Taking.Amount
		l.OnHand -= m.Taking.Amount
	case e.Received != nil:
		l.Receipt = e.Received
		l.Balance.Received += e.Received.Amount
		l.OnHand += e.Received.Amount
	case e.Used != nil:
		l.Used += e.Used.Amount
		l.OnHand -= e.Used.Amount
	case e.Wasted != nil:
		l.Wasted += e.Wasted.Amount
		l.OnHand -= e.Wasted.Amount
	case e.Counted != nil:
		m.Unaccounted = l.OnHand - e.Counted.Found
		l.Counted, l.Sure = m.First, e.Counted.Sure
	}
	if l.OnHand < 0 && m.Entry.Counted == nil {
		m.Unaccounted = l.OnHand // no shelf holds less than nothing
	}
	l.Unaccounted += m.Unaccounted
	l.OnHand -= m.Unaccounted
	m.OnHand = l.OnHand
}

// Free reports whether the lot may be used: it is there, and nothing stops it.
func (l Ledger) Free() bool { return l.Receipt != nil && l.Status == lot.Usable && l.OnHand > 0 }

// Stops reports whether what was packed in the lot must not leave the house.
func (l Ledger) Stops() bool { return l.Status == lot.Hold || l.Status == lot.Condemned }

// FirstOut orders lots as they go out: the one that expires first, lots without a date
// last, and of the same date the one that came first.
func FirstOut(a, b Ledger) int {
	key := func(l Ledger) (string, string) {
		if l.Receipt == nil {
			return "9999-99-99", ""
		}
		return cmp.Or(l.Receipt.BestBefore, "9999-99-99"), l.Receipt.On
	}
	bestA, onA := key(a)
	bestB, onB := key(b)
	return cmp.Or(cmp.Compare(bestA, bestB), cmp.Compare(onA, onB), cmp.Compare(len(a.ID), len(b.ID)), cmp.Compare(a.ID, b.ID))
}

// RowOf returns what a ledger is found by. One that is stopped stays to be found when
// nothing is left of it, for the bags that were packed in it; what the packing took does
// not count here, so that a lot is looked at until a count finds nothing.
func RowOf(kept []Kept) journal.Row {
	if len(kept) == 0 {
		return journal.Row{}
	}
	l := Fold(kept, nil)
	id := kept[0].Entry.Lot
	i := strings.LastIndexByte(id, '-')
	n, _ := strconv.Atoi(id[i+1:])
	r := journal.Row{On: id[1:i], N: n, Live: l.Receipt != nil && l.OnHand > 0 || l.Stops(), Stands: l.Receipt != nil}
	if l.Receipt != nil {
		r.Of = l.Receipt.Supply
	}
	return r
}
