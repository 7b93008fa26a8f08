// Package journal is what the ledgers of a shop have in common: entries, one after the
// other, none of which is ever changed. What was written wrongly is corrected by a later
// entry that names it, and an entry without content takes back the one it names.
package journal

import (
	"cmp"
	"slices"
	"time"

	"slabside/internal/fault"
)

// Entry is what is written down of one subject: a bag lot, a machine.
type Entry interface {
	Subject() string // whose ledger it stands in
	Kind() string    // of what is written down; [Taking] with none
	Check() error    // refuses what cannot be meant, naming the field
}

// Taking is the kind of an entry that takes back the one it corrects.
const Taking = "taken back"

// Kept is an entry as it is kept: the act that wrote it, who, when and why.
type Kept[E Entry] struct {
	Entry    E         `json:"entry"`
	Act      int64     `json:"act"`
	At       time.Time `json:"at"`
	TakenIn  time.Time `json:"taken_in"` // by the program
	Person   string    `json:"person"`
	Reason   string    `json:"reason,omitempty"`
	Corrects int64     `json:"corrects_act,omitempty"`
}

// Row is what a ledger is found by.
type Row struct {
	On     string // day it belongs to, as 2026-11-28
	N      int    // number within the day; 0: it has none
	Of     string // id of what it is of in the shop book
	Live   bool   // there is something left, or to do
	Stands bool   // false: it was taken back
}

// Standing returns the entries that stand, each in the place of the first that it
// corrects, in the order in which they were taken in.
func Standing[E Entry](kept []Kept[E]) []Kept[E] {
	corrected, first := map[int64]bool{}, map[int64]int64{}
	for _, k := range kept {
		first[k.Act] = k.Act
		if k.Corrects != 0 {
			corrected[k.Corrects] = true
			first[k.Act] = first[k.Corrects]
		}
	}
	out := slices.DeleteFunc(slices.Clone(kept), func(k Kept[E]) bool { return corrected[k.Act] || k.Entry.Kind() == Taking })
	slices.SortStableFunc(out, func(a, b Kept[E]) int { return cmp.Compare(first[a.Act], first[b.Act]) })
	return out
}

// MayCorrect refuses a correction that does not name an entry of the ledger that stands
// and is of its kind.
//
// Faults: NotFound for an act that is no entry of it, Conflict for one that somebody else
// has corrected, Invalid else.
func MayCorrect[E Entry](kept []Kept[E], e E, act int64) error {
	at := slices.IndexFunc(kept, func(k Kept[E]) bool { return k.Act == act })
	switch {
	case at < 0:
		return fault.NotFound("act %d is no entry of %s", act, e.Subject()).At("corrects")
	case kept[at].Entry.Kind() == Taking:
		return fault.Invalid("what was taken back is not corrected").At("corrects").WithHint("write it down anew")
	case slices.ContainsFunc(kept, func(k Kept[E]) bool { return k.Corrects == act }):
		return fault.Conflict("that entry of %s has been corrected by somebody else", e.Subject()).At("corrects").WithHint("look at it again")
	case e.Kind() != Taking && e.Kind() != kept[at].Entry.Kind():
		return fault.Invalid("an entry is corrected by one of its kind").At(e.Kind())
	}
	return nil
}
