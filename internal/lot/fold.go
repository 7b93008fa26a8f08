package lot

import (
	"cmp"
	"slices"
	"time"
)

// Balance is what became of a lot [mg]. At any time
//
//	received − used − wasted − unaccounted = on hand.
//
// Unaccounted is what nobody wrote down: what counts found missing, less what they
// found too much. It may be below zero.
type Balance struct {
	ReceivedMg    int64 `json:"received_mg"`
	UsedMg        int64 `json:"used_mg"`
	WastedMg      int64 `json:"wasted_mg"`
	UnaccountedMg int64 `json:"unaccounted_mg"`
	OnHandMg      int64 `json:"on_hand_mg"`
}

// Move is an entry that stands, with what it did to the lot.
type Move struct {
	Kept
	First         time.Time // when what it corrects was first written
	UnaccountedMg int64     // that it brought to light: a count that differs, or more taken than was there
	OnHandMg      int64     // after it
}

// Ledger is what stands written of one lot.
type Ledger struct {
	ID      string `json:"lot"`
	Entries []Kept `json:"entries"` // all, in the order in which they were taken in
	Moves   []Move `json:"-"`       // what stands, each in the place of the first that it corrects

	Receipt *Received `json:"-"` // nil: it was taken back
	Balance
	Status  Status    `json:"status"`
	Why     string    // why the lot is where it is
	Counted time.Time `json:"-"` // last; zero: never
	SureMg  int64     `json:"-"` // ± of the last count; 0: none, or not said
}

// Fold reads the entries of one lot, in the order in which they were taken in. A
// correction stands where the entry stood that it corrects, so that what was counted
// after is held against what was true before. More taken than was there is no refusal,
// since it was taken: it shows that the ledger knew too little, and stands as
// unaccounted below zero.
func Fold(entries []Kept) Ledger {
	l := Ledger{Entries: entries, Status: Usable}
	corrected, first := map[int64]bool{}, map[int64]Kept{}
	for _, k := range entries {
		l.ID = k.Lot
		first[k.Act] = k
		if k.Corrects != 0 {
			corrected[k.Corrects] = true
			first[k.Act] = first[k.Corrects]
		}
		l.place(k)
	}
	for _, k := range entries {
		if k.Kind() != Taking && !corrected[k.Act] {
			l.Moves = append(l.Moves, Move{Kept: k, First: first[k.Act].At})
		}
	}
	slices.SortStableFunc(l.Moves, func(a, b Move) int { return cmp.Compare(first[a.Act].Act, first[b.Act].Act) })
	for i := range l.Moves {
		l.move(&l.Moves[i])
	}
	return l
}

// place follows what may be done with the lot: that goes by the entries in the order in
// which they came, and no correction changes it.
func (l *Ledger) place(k Kept) {
	switch {
	case k.Received != nil && k.Corrects == 0 && k.Received.Waits != "":
		l.Status, l.Why = Quarantine, k.Received.Waits
	case k.Received != nil && k.Corrects == 0:
		l.Status, l.Why = Usable, ""
	case k.Placed != nil && (k.Placed.As != l.Status || k.Placed.Why != ""):
		l.Status, l.Why = k.Placed.As, k.Placed.Why
	}
}

func (l *Ledger) move(m *Move) {
	switch e := m.Entry; {
	case e.Received != nil:
		l.Receipt = e.Received
		l.ReceivedMg += e.Received.MassMg
		l.OnHandMg += e.Received.MassMg
	case e.Used != nil:
		l.UsedMg += e.Used.MassMg
		l.OnHandMg -= e.Used.MassMg
	case e.Wasted != nil:
		l.WastedMg += e.Wasted.MassMg
		l.OnHandMg -= e.Wasted.MassMg
	case e.Counted != nil:
		m.UnaccountedMg = l.OnHandMg - e.Counted.FoundMg
		l.Counted, l.SureMg = m.First, e.Counted.SureMg
	}
	if l.OnHandMg < 0 && m.Counted == nil {
		m.UnaccountedMg = l.OnHandMg // no shelf holds less than nothing
	}
	l.UnaccountedMg += m.UnaccountedMg
	l.OnHandMg -= m.UnaccountedMg
	m.OnHandMg = l.OnHandMg
}

// Corrected reports whether a later entry corrects that of an act.
func (l Ledger) Corrected(act int64) bool {
	return slices.ContainsFunc(l.Entries, func(k Kept) bool { return k.Corrects == act })
}

// Free reports whether the lot may be used: it is there, and nothing stops it.
func (l Ledger) Free() bool { return l.Receipt != nil && l.Status == Usable && l.OnHandMg > 0 }

// FirstOut orders lots as they go out: the one that expires first, lots without a date
// last, and of the same date the one that came first.
func FirstOut(a, b Ledger) int {
	return cmp.Or(cmp.Compare(a.expires(), b.expires()), cmp.Compare(a.came(), b.came()), cmp.Compare(len(a.ID), len(b.ID)), cmp.Compare(a.ID, b.ID))
}

func (l Ledger) expires() string {
	if l.Receipt == nil || l.Receipt.BestBefore == "" {
		return "9999-99-99"
	}
	return l.Receipt.BestBefore
}

func (l Ledger) came() string {
	if l.Receipt == nil {
		return ""
	}
	return l.Receipt.On
}
