package care

import (
	"slices"

	"slabside/internal/fault"
	"slabside/internal/journal"
)

// Follow refuses an entry that cannot follow those that are kept of its thing: what
// corrects must name an entry that stands and is of its kind, what settles must name a
// fault that is open, what ends must be due, and a fault that was settled is not taken
// back under what settled it.
//
// Faults: NotFound for an act that is no entry or no fault of the thing and for what is
// not due, Conflict for what somebody else has done meanwhile, Invalid else.
func Follow(kept []Kept, e Entry, corrects int64) error {
	if err := e.Check(); err != nil {
		return err
	}
	if corrects == 0 && e.Kind() == journal.Taking {
		return fault.Invalid("it is not said which entry is taken back").At("corrects")
	}
	if corrects != 0 {
		if err := journal.MayCorrect(kept, e, corrects); err != nil {
			return err
		}
	}
	// What it corrects counts no more: a settling that is put right may settle the same
	// fault again.
	l := Fold(without(kept, corrects))
	switch {
	case e.Kind() == journal.Taking:
		return mayTakeBack(Fold(kept), corrects)
	case e.Done != nil && e.Done.For != "" && corrects == 0 && !l.isDue(e.Done.For):
		return notDue(e, e.Done.For, "done.for")
	case e.Done != nil && e.Done.Settles != 0:
		return l.maySettle(e.Done.Settles)
	case e.Due != nil && e.Due.Ends && !l.isDue(e.Due.What):
		return notDue(e, e.Due.What, "due.what")
	}
	return nil
}

func (l Ledger) isDue(what string) bool {
	return slices.ContainsFunc(l.Duties, func(d Duty) bool { return sameWhat(d.What, what) })
}

func notDue(e Entry, what, field string) error {
	return fault.NotFound("%q is not due on %s", fault.Clip(what, fault.Echo), e.Subject()).At(field).WithHint("its ledger lists what is due")
}

// without returns the entries as if one of them had been taken back.
func without(kept []Kept, act int64) []Kept {
	if act == 0 {
		return kept
	}
	i := slices.IndexFunc(kept, func(k Kept) bool { return k.Act == act })
	back := Kept{Entry: Entry{Thing: kept[i].Entry.Thing}, Act: kept[len(kept)-1].Act + 1, Corrects: act}
	return append(slices.Clone(kept), back)
}

func (l Ledger) maySettle(act int64) error {
	for _, f := range l.Faults {
		switch {
		case f.Act != l.first[act]:
		case f.Done != nil:
			return fault.Conflict("that fault of %s is done with already", l.Thing).At("done.settles").WithHint("look at it again")
		default:
			return nil
		}
	}
	return fault.NotFound("act %d found no fault of %s", act, l.Thing).At("done.settles").WithHint("its ledger shows the act of each entry")
}

func mayTakeBack(l Ledger, act int64) error {
	for _, f := range l.Faults {
		if f.As == act && f.Done != nil {
			return fault.Conflict("that fault is done with").At("corrects").WithHint("take back first what settled it")
		}
	}
	return nil
}

// Releases reports whether an entry, if it follows, would let a thing be used again or do
// away with one of the faults that stop it: that is decided by whoever answers for it.
func Releases(kept []Kept, e Entry, corrects int64) bool {
	was := Fold(kept).Stopped()
	if len(was) == 0 {
		return false
	}
	next := Kept{Entry: e, Act: kept[len(kept)-1].Act + 1, Corrects: corrects}
	now := Fold(append(slices.Clone(kept), next)).Stopped()
	return slices.ContainsFunc(was, func(f Fault) bool {
		return !slices.ContainsFunc(now, func(o Fault) bool { return o.Act == f.Act })
	})
}

// RowOf returns what the ledger of a thing is found by. Something is to do where a fault
// is open or something is due.
func RowOf(kept []Kept) journal.Row {
	l := Fold(kept)
	r := journal.Row{Of: l.Thing.String(), Live: len(l.Open()) > 0 || len(l.Duties) > 0}
	for _, k := range journal.Standing(kept) {
		r.Stands = true
		switch e := k.Entry; {
		case e.Found != nil:
			r.On = max(r.On, e.Found.On)
		case e.Done != nil:
			r.On = max(r.On, e.Done.On)
		}
	}
	return r
}
