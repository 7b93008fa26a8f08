package record

import (
	"slices"
)

// Record is what stands written of one batch.
type Record struct {
	ID      string `json:"batch"`
	Entries []Kept `json:"entries"` // all, in the order in which they were taken in

	standing map[Kind][]Kept
}

// Fold reads the entries of one batch, in the order in which they were taken in. An
// entry stands until another corrects it; of several that stand of a kind that is
// written once, see [Kind.Single], the last holds.
func Fold(entries []Kept) Record {
	r := Record{Entries: entries, standing: map[Kind][]Kept{}}
	corrected := map[int64]bool{}
	for _, k := range entries {
		r.ID = k.Batch
		if k.Corrects != 0 {
			corrected[k.Corrects] = true
		}
	}
	for _, k := range entries {
		if kind := k.Kind(); kind != Taking && !corrected[k.Act] {
			if kind.Single() {
				r.standing[kind] = nil
			}
			r.standing[kind] = append(r.standing[kind], k)
		}
	}
	return r
}

// Stands returns the last entry of a kind that holds; false if there is none.
func (r Record) Stands(kind Kind) (Kept, bool) {
	list := r.standing[kind]
	if len(list) == 0 {
		return Kept{}, false
	}
	return list[len(list)-1], true
}

// All returns the entries of a kind that hold, in the order in which they were taken in;
// of a kind that is written once there is one at most.
func (r Record) All(kind Kind) []Kept { return slices.Clone(r.standing[kind]) }

// last is the entry of a kind that holds, an empty one if there is none.
func (r Record) last(kind Kind) Kept {
	k, _ := r.Stands(kind)
	return k
}

// Begun returns how the batch was begun, nil if that was taken back.
func (r Record) Begun() *Begun { return r.last(Beginning).Begun }

// Checked returns what was looked at before the flame, nil if nothing is written of it.
func (r Record) Checked() *Checked { return r.last(Checking).Checked }

// Lifted returns what is written of the lift, nil if nothing is.
func (r Record) Lifted() *Lifted { return r.last(Lifting).Lifted }

// Moisture returns the measured moisture, nil if there is none.
func (r Record) Moisture() *Moisture { return r.last(Moist).Moisture }

// Worked returns the temperatures of the slab and the rolls, nil if there are none.
func (r Record) Worked() *Worked { return r.last(Working).Worked }

// Made returns what came of the batch, nil if that is not written.
func (r Record) Made() *Made { return r.last(Making).Made }

// After returns what was looked at after the last sheet, nil if nothing is written of it.
func (r Record) After() *After { return r.last(Ending).After }

// Signed returns the sign-off that holds, as it is kept; false if there is none.
func (r Record) Signed() (Kept, bool) { return r.Stands(Signing) }

// AfterSigning reports whether an act came after the sign-off that holds: nobody has
// signed it.
func (r Record) AfterSigning(act int64) bool {
	k, ok := r.Signed()
	return ok && act > k.Act
}

// Through returns the last act of the record, 0 for an empty one: what a sign-off must
// name, so that nobody signs what was not looked at.
func (r Record) Through() int64 {
	if len(r.Entries) == 0 {
		return 0
	}
	return r.Entries[len(r.Entries)-1].Act
}

// Corrected reports whether a later entry corrects that of an act.
func (r Record) Corrected(act int64) bool {
	return slices.ContainsFunc(r.Entries, func(k Kept) bool { return k.Corrects == act })
}
