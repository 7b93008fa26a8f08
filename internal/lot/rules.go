package lot

import "slabside/internal/fault"

// Follow refuses an entry that cannot follow those that are kept of its lot. Nothing is
// written of a lot before it is received; nothing is taken of one that waits or is on
// hold; what corrects must name an entry that stands and is of its kind. A count is
// always taken, and so is a hold.
//
// Faults: NotFound for a lot that was not received and an act that is no entry of it,
// Conflict for what its status forbids or somebody else has written meanwhile, Invalid
// else.
func Follow(kept []Kept, e Entry, corrects int64) error {
	if err := e.Check(); err != nil {
		return err
	}
	l := Fold(kept)
	kind := e.Kind()
	switch {
	case corrects != 0:
		return l.mayCorrect(e, corrects)
	case kind == Taking:
		return fault.Invalid("it is not said which entry is taken back").At("corrects")
	case kind == Receiving && l.Receipt != nil:
		return fault.Conflict("lot %s is received already", e.Lot).At("lot").WithHint("give the delivery a number of its own, or correct what is written")
	case kind != Receiving && l.Receipt == nil:
		return fault.NotFound("lot %s was not received", e.Lot).At("lot").WithHint("write down its delivery first")
	case kind == Placing:
		return l.mayPlace(*e.Placed)
	case kind == Using && l.Status != Usable, kind == Wasting && (l.Status == Quarantine || l.Status == Hold):
		return l.stopped()
	}
	return nil
}

// stopped says why nothing is taken of the lot.
func (l Ledger) stopped() error {
	says := map[Status]string{Quarantine: "waits in quarantine", Hold: "is on hold", Condemned: "is condemned and not to be used"}
	why := ""
	if l.Why != "" {
		why = ": " + l.Why
	}
	return fault.Conflict("lot %s %s%s", l.ID, says[l.Status], why).At("lot").WithHint("take another lot; who may change the book releases this one and says why")
}

// mayPlace refuses what would make a hold weaker without releasing it.
func (l Ledger) mayPlace(p Placed) error {
	switch {
	case p.As == l.Status && p.Why == l.Why, p.As == Usable && l.Status == Usable:
		return fault.Conflict("lot %s is there already", l.ID).At("placed.as")
	case p.As == Quarantine && (l.Status == Hold || l.Status == Condemned):
		return l.stopped()
	}
	return nil
}

func (l Ledger) mayCorrect(e Entry, act int64) error {
	kind := e.Kind()
	for _, k := range l.Entries {
		switch {
		case k.Act != act:
		case k.Kind() == Taking:
			return fault.Invalid("what was taken back is not corrected").At("corrects").WithHint("write it down anew")
		case k.Kind() == Placing:
			return fault.Invalid("where a lot was put is not corrected").At("corrects").WithHint("put it where it belongs, and say why")
		case l.Corrected(act):
			return fault.Conflict("that entry of lot %s has been corrected by somebody else", l.ID).At("corrects").WithHint("look at it again")
		case kind != Taking && kind != k.Kind():
			return fault.Invalid("an entry is corrected by one of its kind").At(string(kind))
		case kind == Taking && k.Kind() == Receiving && len(l.Moves) > 1:
			return fault.Conflict("lot %s has more written of it", l.ID).At("corrects").WithHint("take that back first; a lot that was put aside stays in the book")
		case kind == Receiving && e.Received.Waits != k.Received.Waits:
			return fault.Invalid("a correction does not move a lot into quarantine or out of it").At("received.waits").WithHint("put it there, or release it, and say why")
		default:
			return nil
		}
	}
	return fault.NotFound("act %d is no entry of lot %s", act, l.ID).At("corrects")
}
