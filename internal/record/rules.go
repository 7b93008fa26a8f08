package record

import "slabside/internal/fault"

// Follow refuses an entry that cannot follow those that are kept of its batch:
// before a batch is begun nothing can be written of it, what corrects must name an
// entry of the batch that stands and is of its kind, what is written already is
// corrected, not written twice, unless it may happen more than once, and what is signed
// is the record as it is.
//
// Faults: NotFound for a batch that is not begun and an act that is no entry of it,
// Conflict for what somebody else has written or corrected meanwhile, Invalid else.
func Follow(kept []Kept, e Entry, corrects int64) error {
	if err := e.Check(); err != nil {
		return err
	}
	r := Fold(kept)
	kind := e.Kind()
	if err := r.maySign(e); err != nil {
		return err
	}
	switch {
	case corrects != 0:
		return r.mayCorrect(kind, corrects)
	case kind == Taking:
		return fault.Invalid("it is not said which entry is taken back").At("corrects")
	case kind != Beginning && r.Begun() == nil:
		return fault.NotFound("batch %s is not begun", e.Batch).At("batch").WithHint("begin its record first")
	}
	if k, ok := r.Stands(kind); ok && kind.Single() {
		return fault.Conflict("%s wrote that down of batch %s already", k.Person, e.Batch).At(string(kind)).WithHint("look at it again, and correct it if it is wrong")
	}
	return nil
}

// maySign refuses to sign what has been written to since it was looked at.
func (r Record) maySign(e Entry) error {
	if e.Signed == nil || r.Begun() == nil || e.Signed.Through == r.Through() {
		return nil
	}
	return fault.Conflict("batch %s was written to up to act %d, and act %d is signed", e.Batch, r.Through(), e.Signed.Through).At("signed.through_act").
		WithHint("look at it again, then sign it")
}

func (r Record) mayCorrect(kind Kind, act int64) error {
	for _, k := range r.Entries {
		switch {
		case k.Act != act:
		case k.Kind() == Taking:
			return fault.Invalid("what was taken back is not corrected").At("corrects").WithHint("write it down anew")
		case r.Corrected(act):
			return fault.Conflict("that entry of batch %s has been corrected by somebody else", r.ID).At("corrects").WithHint("look at it again")
		case kind != Taking && kind != k.Kind():
			return fault.Invalid("an entry is corrected by one of its kind").At(string(kind))
		case kind == Taking && k.Kind() == Beginning && len(r.standing) > 1:
			return fault.Conflict("batch %s has more written of it", r.ID).At("corrects").WithHint("take that back first")
		default:
			return nil
		}
	}
	return fault.NotFound("act %d is no entry of batch %s", act, r.ID).At("corrects")
}
