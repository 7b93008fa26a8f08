package record

import (
	"slices"
	"time"
)

// Record is what stands written of one batch.
type Record struct {
	ID      string `json:"batch"`
	Entries []Kept `json:"entries"` // all, in the order in which they were taken in

	standing map[Kind]Kept
}

// Fold reads the entries of one batch, in the order in which they were taken in. An
// entry stands until another corrects it; of several of a kind that stand the last
// holds.
func Fold(entries []Kept) Record {
	r := Record{Entries: entries, standing: map[Kind]Kept{}}
	corrected := map[int64]bool{}
	for _, k := range entries {
		r.ID = k.Batch
		if k.Corrects != 0 {
			corrected[k.Corrects] = true
		}
	}
	for _, k := range entries {
		if kind := k.Kind(); kind != Taking && !corrected[k.Act] {
			r.standing[kind] = k
		}
	}
	return r
}

// Stands returns the entry of a kind that holds; false if there is none.
func (r Record) Stands(kind Kind) (Kept, bool) {
	k, ok := r.standing[kind]
	return k, ok
}

// Begun returns how the batch was begun, nil if that was taken back.
func (r Record) Begun() *Begun { return r.standing[Beginning].Begun }

// Lifted returns what is written of the lift, nil if nothing is.
func (r Record) Lifted() *Lifted { return r.standing[Lifting].Lifted }

// Moisture returns the measured moisture, nil if there is none.
func (r Record) Moisture() *Moisture { return r.standing[Moist].Moisture }

// Worked returns the temperatures of the slab and the rolls, nil if there are none.
func (r Record) Worked() *Worked { return r.standing[Working].Worked }

// Corrected reports whether a later entry corrects that of an act.
func (r Record) Corrected(act int64) bool {
	return slices.ContainsFunc(r.Entries, func(k Kept) bool { return k.Corrects == act })
}

// Last returns when the record was last written to.
func (r Record) Last() time.Time {
	if len(r.Entries) == 0 {
		return time.Time{}
	}
	return r.Entries[len(r.Entries)-1].At
}
