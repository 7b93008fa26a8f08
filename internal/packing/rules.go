package packing

import (
	"strconv"
	"strings"

	"slabside/internal/fault"
	"slabside/internal/journal"
)

// Follow refuses an entry that cannot follow those that are kept of its ledger. Nothing
// goes out of a bag lot that was not packed, or of one on hold; a jar is washed when it
// is empty; a count is always taken, and so is a hold.
//
// Faults: NotFound for a lot that was not packed and an act that is no entry of it,
// Conflict for what its place forbids or somebody else has written meanwhile, Invalid
// else.
func Follow(kept []Kept, e Entry, corrects int64) error {
	if err := e.Check(); err != nil {
		return err
	}
	switch {
	case corrects != 0:
		return mayCorrect(kept, e, corrects)
	case e.Kind() == journal.Taking:
		return fault.Invalid("it is not said which entry is taken back").At("corrects")
	case IsBags(e.Ledger):
		return FoldBags(kept).mayFollow(e)
	case IsJar(e.Ledger):
		return FoldJar(kept).mayFollow(e)
	}
	return nil
}

func (b Bags) mayFollow(e Entry) error {
	if e.Packed != nil { // what stops a batch is looked for in the lots of its day and after
		on, _ := dayOf(e.Ledger)
		for _, s := range e.Packed.Of {
			if len(s.Batch) > len(on) && s.Batch[:len(on)] > on {
				return fault.Invalid("batch %s was made after lot %s was begun", s.Batch, e.Ledger).At("packed.of").WithHint("begin a lot of its own")
			}
		}
	}
	switch {
	case b.Packed == nil && e.Packed == nil:
		return fault.NotFound("no bags of lot %s are packed", e.Ledger).At("lot").WithHint("write down first what was packed")
	case e.Packed != nil && e.Packed.Opens && b.Packed != nil:
		return fault.Conflict("lot %s is begun already", e.Ledger).At("lot").WithHint("take the next number, or add to it")
	case e.Packed != nil && !e.Packed.Opens && b.Packed == nil:
		return fault.NotFound("lot %s is not begun", e.Ledger).At("lot").WithHint("begin it")
	case e.Packed != nil && b.Packed != nil:
		if err := b.Packed.alike(e.Packed); err != nil {
			return err
		}
		if b.Status != Usable {
			return b.stopped(e.Ledger)
		}
	case e.Placed != nil:
		return mayPlace(e.Ledger, b.Status, b.Why, *e.Placed)
	case e.Moved != nil && (b.Status == Hold || b.Status == Condemned && e.Moved.To != ToWaste):
		return b.stopped(e.Ledger)
	}
	return nil
}

// alike refuses bags that are not those of the lot.
func (p *Packed) alike(x *Packed) error {
	field := ""
	switch {
	case p.Product != x.Product:
		field = "packed.product"
	case p.LabelMg != x.LabelMg:
		field = "packed.label_mg"
	case p.BestBefore != x.BestBefore:
		field = "packed.best_before"
	default:
		return nil
	}
	return fault.Invalid("the lot is of another product, label or date").At(field).WithHint("begin a lot of its own")
}

// stopped says why nothing goes out.
func (b Bags) stopped(id string) error { return stopped(id, b.Status, b.Why) }

func stopped(id string, as Status, why string) error {
	says := "is on hold"
	if as == Condemned {
		says = "is condemned and goes out as waste only"
	}
	if why != "" {
		says += ": " + why
	}
	return fault.Conflict("%s %s", id, says).At("lot").WithHint("take another; who may change the book releases this one and says why")
}

// mayPlace refuses what changes nothing.
func mayPlace(id string, as Status, why string, p Placed) error {
	if p.As == as && p.Why == why || p.As == Usable && as == Usable {
		return fault.Conflict("%s is there already", id).At("placed.as")
	}
	return nil
}

func (j Jar) mayFollow(e Entry) error {
	switch {
	case len(j.Entries) == 0 && e.Filled == nil && e.Washed == nil:
		return fault.NotFound("nothing is written of %s", e.Ledger).At("jar").WithHint("fill it first")
	case e.Placed != nil:
		return mayPlace(e.Ledger, j.Status, j.Why, *e.Placed)
	case e.Washed != nil && !j.Emptied:
		return fault.Conflict("%s is not empty", e.Ledger).At("washed").WithHint("empty it first")
	case e.Emptied != nil && j.Emptied:
		return fault.Conflict("%s is empty already", e.Ledger).At("emptied")
	case e.Filled != nil && j.Status != Usable,
		(e.Taken != nil || e.Emptied != nil) && j.Status == Hold,
		e.Taken != nil && j.Status == Condemned && e.Taken.To != ToWaste:
		return stopped(e.Ledger, j.Status, j.Why)
	}
	return nil
}

// mayCorrect refuses a correction that would leave what came after it without its ground.
func mayCorrect(kept []Kept, e Entry, act int64) error {
	if err := journal.MayCorrect(kept, e, act); err != nil {
		return err
	}
	var was Entry
	for _, k := range kept {
		if k.Act == act {
			was = k.Entry
		}
	}
	switch {
	case was.Placed != nil:
		return fault.Invalid("where it was put is not corrected").At("corrects").WithHint("put it where it belongs, and say why")
	case was.Moved != nil && e.Moved != nil && (was.Moved.To == ToJar || e.Moved.To == ToJar):
		return fault.Invalid("bags that were opened into a jar are not corrected").At("corrects").WithHint("take it back here and in the jar, and write it down anew")
	case was.Packed != nil:
		return mayCorrectPacked(kept, e, act)
	case was.Filled != nil && e.Filled != nil && was.Filled.Lot != e.Filled.Lot:
		return fault.Invalid("bags that were opened are corrected in their lot").At("corrects")
	}
	return nil
}

// mayCorrectPacked refuses to leave a lot without bags that went out of it, and bags of
// another product in it.
func mayCorrectPacked(kept []Kept, e Entry, act int64) error {
	others, more := 0, 0
	for _, m := range standing(kept) {
		switch p := m.Entry.Packed; {
		case m.Act == act:
		case p == nil:
			more++
		default:
			others++
			if e.Packed != nil {
				if err := p.alike(e.Packed); err != nil {
					return err
				}
			}
		}
	}
	if e.Packed == nil && others == 0 && (more > 0 || len(kept) > 0 && wasPlaced(kept)) {
		return fault.Conflict("lot %s has more written of it", e.Ledger).At("corrects").WithHint("take that back first; a lot that was put aside stays in the book")
	}
	return nil
}

func wasPlaced(kept []Kept) bool {
	for _, k := range kept {
		if k.Entry.Placed != nil {
			return true
		}
	}
	return false
}

// RowOf returns what a ledger is found by: a bag lot by its day, number and product, a
// jar by the day of its last filling, loose sweets by the day of their batch.
func RowOf(kept []Kept) journal.Row {
	if len(kept) == 0 {
		return journal.Row{}
	}
	switch id := kept[0].Entry.Ledger; {
	case IsBags(id):
		on, n := dayOf(id)
		b := FoldBags(kept)
		r := journal.Row{On: on, N: n, Live: b.OnHand > 0, Stands: b.Packed != nil}
		if b.Packed != nil {
			r.Of = b.Packed.Product
		}
		return r
	case IsJar(id):
		j := FoldJar(kept)
		return journal.Row{On: j.Filled, Live: !j.Emptied || j.Fills > 0, Stands: len(j.Moves) > 0}
	case IsNotes(id):
		return journal.Row{On: id[1:], Live: len(Notes(kept)) > 0, Stands: len(standing(kept)) > 0}
	default:
		on, _ := dayOf(id)
		return journal.Row{On: on, Stands: len(standing(kept)) > 0}
	}
}

// dayOf reads day and number out of an id that has them.
func dayOf(id string) (string, int) {
	i := strings.LastIndexByte(id, '-')
	n, _ := strconv.Atoi(id[i+1:])
	return id[1:i], n
}
