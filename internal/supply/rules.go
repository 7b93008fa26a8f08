package supply

import (
	"slabside/internal/fault"
	"slabside/internal/journal"
	"slabside/internal/lot"
)

// Follow refuses an entry that cannot follow those that are kept of its lot. Nothing is
// written of a lot before it is received; nothing is taken of one that waits or is on
// hold. A count is always taken, and so is a hold.
//
// Faults: NotFound for a lot that was not received and an act that is no entry of it,
// Conflict for what its place forbids or somebody else has written meanwhile, Invalid
// else.
func Follow(kept []Kept, e Entry, corrects int64) error {
	if err := e.Check(); err != nil {
		return err
	}
	l := Fold(kept, nil)
	l.ID = e.Lot
	switch {
	case corrects != 0:
		return l.mayCorrect(e, corrects)
	case e.Kind() == journal.Taking:
		return fault.Invalid("it is not said which entry is taken back").At("corrects")
	case e.Received != nil && l.Receipt != nil:
		return fault.Conflict("lot %s is received already", e.Lot).At("lot").WithHint("give the delivery a number of its own, or correct what is written")
	case e.Received == nil && l.Receipt == nil:
		return fault.NotFound("lot %s was not received", e.Lot).At("lot").WithHint("write down its delivery first")
	case e.Placed != nil:
		return l.mayPlace(*e.Placed)
	case e.Used != nil && l.Status != lot.Usable, e.Wasted != nil && (l.Status == lot.Quarantine || l.Status == lot.Hold):
		return l.Stopped()
	}
	return nil
}

// Stopped says why nothing is taken of the lot.
func (l Ledger) Stopped() error {
	says := map[lot.Status]string{lot.Quarantine: "waits in quarantine", lot.Hold: "is on hold", lot.Condemned: "is condemned and not to be used"}
	why := ""
	if l.Why != "" {
		why = ": " + l.Why
	}
	return fault.Conflict("lot %s %s%s", l.ID, says[l.Status], why).At("lot").WithHint("take another lot; who may change the book releases this one and says why")
}

// mayPlace refuses what changes nothing, and what would make a hold weaker without
// releasing it.
func (l Ledger) mayPlace(p Placed) error {
	switch {
	case p.As == l.Status && p.Why == l.Why, p.As == lot.Usable && l.Status == lot.Usable:
		return fault.Conflict("lot %s is there already", l.ID).At("placed.as")
	case p.As == lot.Quarantine && (l.Status == lot.Hold || l.Status == lot.Condemned):
		return l.Stopped()
	}
	return nil
}

// mayCorrect refuses a correction that would leave what came after it without its ground.
func (l Ledger) mayCorrect(e Entry, act int64) error {
	if err := journal.MayCorrect(l.Entries, e, act); err != nil {
		return err
	}
	var was Entry
	for _, k := range l.Entries {
		if k.Act == act {
			was = k.Entry
		}
	}
	switch {
	case was.Placed != nil:
		return fault.Invalid("where a lot was put is not corrected").At("corrects").WithHint("put it where it belongs, and say why")
	case was.Received == nil:
		return nil
	case e.Received == nil && len(l.Moves) > 1:
		return fault.Conflict("lot %s has more written of it", l.ID).At("corrects").WithHint("take that back first; a lot that was put aside stays in the book")
	case e.Received != nil && e.Received.Waits != was.Received.Waits:
		return fault.Invalid("a correction does not move a lot into quarantine or out of it").At("received.waits").WithHint("put it there, or release it, and say why")
	case e.Received != nil && (e.Received.Unit != was.Received.Unit || e.Received.Supply != was.Received.Supply):
		return fault.Invalid("a correction does not make another thing of a lot").At("received.supply").WithHint("take it back and write it down anew")
	}
	return nil
}
