package app

import (
	"context"
	"slices"
	"strings"

	"slabside/internal/fault"
	ledger "slabside/internal/lot"
	"slabside/internal/packing"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// stops tells what stops a thing by going up from it to all that is in it: a bag knows
// its batches, a batch its lots, so that the answer costs the same in the tenth year as
// in the first. A trace goes down, and looks at all that was ever made.
type stops struct {
	a       *App
	lots    map[string]Halt     // of ingredients, that are stopped
	in      map[string][]string // those of them that are in a lot made out of others, or that a batch used and nobody weighed
	packs   map[string]Halt     // lots of packaging, that are stopped
	none    bool                // no lot and no batch is stopped
	batches map[string]record.Record
	known   map[string][]Halt
}

// stopsNow reads what is stopped now.
func (a *App) stopsNow(ctx context.Context) (*stops, error) {
	s := &stops{a: a, lots: map[string]Halt{}, in: map[string][]string{}, packs: map[string]Halt{}, batches: map[string]record.Record{}, known: map[string][]Halt{}}
	for _, as := range []ledger.Status{ledger.Hold, ledger.Condemned} {
		list, err := a.keeper.Lots(ctx, store.FindLots{Status: as, Limit: mostLots})
		if err != nil {
			return nil, err
		}
		for _, l := range list {
			s.lots[l.ID] = Halt{l.ID, string(l.Status), l.Why}
			edges, err := a.usesOf(ctx, l.ID, map[string]bool{})
			if err != nil {
				return nil, err
			}
			for _, e := range edges {
				s.in[e.To] = append(s.in[e.To], l.ID)
			}
		}
	}
	if err := a.haltedSupplies(ctx, s.packs); err != nil {
		return nil, err
	}
	one, err := a.keeper.Records(ctx, store.Find{Stopped: true, Limit: 1})
	s.none = len(s.lots) == 0 && len(one) == 0
	return s, err
}

// haltedSupplies adds the lots of packaging that are stopped.
func (a *App) haltedSupplies(ctx context.Context, to map[string]Halt) error {
	found, err := store.Supplies().Find(ctx, a.keeper, store.FindJots{Live: true, Limit: mostLots})
	for _, kept := range found {
		if l := supply.Fold(kept, nil); l.Stops() {
			to[l.ID] = Halt{l.ID, string(l.Status), l.Why}
		}
	}
	return err
}

// bags returns what stops bags by what is in them, or about them.
func (s *stops) bags(ctx context.Context, x packing.Bags) ([]Halt, error) {
	out, err := s.of(ctx, batchesOf(x.Holds())...)
	return s.about(x, out), err
}

// about adds what stops bags by their packaging. What was in faulty packaging may hold
// something of it.
func (s *stops) about(x packing.Bags, list []Halt) []Halt {
	out := slices.Clone(list)
	for _, o := range x.Opened() {
		if h, ok := s.packs[o.Lot]; ok && !slices.Contains(out, h) {
			out = append(out, h)
		}
	}
	return out
}

// of returns what stops a batch, or the batches of bags or of a jar; not whether those
// are stopped themselves. A batch that has no record is stopped by nothing.
func (s *stops) of(ctx context.Context, batches ...string) ([]Halt, error) {
	var out []Halt
	for _, id := range batches {
		if s.none {
			break
		}
		list, err := s.batch(ctx, id)
		if err != nil {
			return nil, err
		}
		for _, h := range list {
			if !slices.Contains(out, h) {
				out = append(out, h)
			}
		}
	}
	return out, nil
}

func (s *stops) batch(ctx context.Context, id string) ([]Halt, error) {
	if list, ok := s.known[id]; ok {
		return list, nil
	}
	s.known[id] = nil // scraps that went round in a circle end here
	r, ok := s.batches[id]
	if !ok {
		list, err := s.a.keeper.Records(ctx, store.Find{Batch: id, Limit: 1})
		if err != nil || len(list) == 0 {
			return nil, err
		}
		r = list[0]
	}
	var out []Halt
	if p := r.Place(); p.As.Stops() {
		out = append(out, Halt{id, string(p.As), p.Why})
	}
	in := slices.Clone(s.in[id])
	for _, k := range r.All(record.Weighing) {
		in = append(append(in, k.Weighed.Lot), s.in[k.Weighed.Lot]...)
	}
	for _, lot := range in {
		if h, ok := s.lots[lot]; ok && !slices.Contains(out, h) {
			out = append(out, h)
		}
	}
	for _, k := range r.All(record.CookingBack) {
		more, err := s.of(ctx, k.CookedBack.From)
		if err != nil {
			return nil, err
		}
		for _, h := range more {
			if !slices.Contains(out, h) {
				out = append(out, h)
			}
		}
	}
	s.known[id] = out
	return out, nil
}

// ledger returns what stops a ledger of the packing by what is in it: batches, and of a
// jar the bags that were opened into it.
func (s *stops) ledger(ctx context.Context, id string) ([]Halt, error) {
	if packing.IsLoose(id) {
		return s.of(ctx, id[1:])
	}
	kept, err := s.a.ledgerKept(ctx, id)
	if err != nil || len(kept) == 0 {
		return nil, err
	}
	if packing.IsBags(id) {
		return s.bags(ctx, packing.FoldBags(kept))
	}
	jar := packing.FoldJar(kept)
	out, err := s.of(ctx, batchesOf(jar.Holds())...)
	for _, lot := range jar.Lots() {
		if err != nil {
			break
		}
		var kept []packing.Kept
		if kept, err = s.a.ledgerKept(ctx, lot); len(kept) > 0 {
			b := packing.FoldBags(kept)
			if b.Status != packing.Usable {
				out = append(out, Halt{lot, string(b.Status), b.Why})
			}
			out = s.about(b, out)
		}
	}
	return out, err
}

func batchesOf(shares []packing.Share) []string {
	out := make([]string, len(shares))
	for i, s := range shares {
		out[i] = s.Batch
	}
	return out
}

// halted says what stops a thing, empty for nothing.
func halted(list []Halt) string {
	out := make([]string, len(list))
	for i, h := range list {
		out[i] = h.ID + " is " + stoppedWord(h.As)
		if h.Why != "" {
			out[i] += " (" + h.Why + ")"
		}
	}
	return strings.Join(out, "; ")
}

// mayLeave refuses what would let go of a ledger of the packing that holds something of a
// stopped thing. What is condemned or for the bin goes into the bin, and scraps of a batch
// that is to be boiled again into a kettle.
func (a *App) mayLeave(ctx context.Context, id string, to packing.Out) error {
	s, err := a.stopsNow(ctx)
	if err != nil {
		return err
	}
	list, err := s.ledger(ctx, id)
	list = slices.DeleteFunc(slices.Clone(list), func(h Halt) bool {
		return to == packing.ToWaste && h.As != string(ledger.Hold) || to == packing.ToCookBack && h.As == string(record.Reboiled) && packing.LooseID(h.ID) == id
	})
	if err != nil || len(list) == 0 {
		return err
	}
	return fault.Conflict("nothing goes out of %s: %s", id, halted(list)).At("ledger").WithHint("put it where nobody reaches for it; who may change the shop book looks, and releases what is stopped")
}

// mayCookBack refuses scraps of a batch that holds something of a stopped thing. Whether
// the batch itself may be boiled again is for its own record to say.
func (a *App) mayCookBack(ctx context.Context, batch string) error {
	s, err := a.stopsNow(ctx)
	if err != nil || s.none {
		return err
	}
	list, err := s.of(ctx, batch)
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(slices.Clone(list), func(h Halt) bool { return h.ID == batch })
	if len(list) == 0 {
		return nil
	}
	return fault.Conflict("nothing of batch %s is cooked back: %s", batch, halted(list)).At("cooked_back.from").WithHint("take other scraps; who may change the shop book looks at what is stopped")
}

// freeze stops what holds something of a thing that is stopped.
func (a *App) freeze(ctx context.Context, h *packhouse) error {
	s, err := a.stopsNow(ctx)
	if err != nil || s.none && len(s.packs) == 0 {
		return err
	}
	for _, r := range h.records {
		s.batches[r.ID] = r
	}
	for i := range h.batches {
		x := &h.batches[i]
		list, err := s.of(ctx, x.id)
		if err != nil {
			return err
		}
		if len(list) > 0 && x.place.As.Packs() {
			x.place = record.Placed{As: record.OnHold, Why: halted(list)}
		}
	}
	for i := range h.bags {
		if err := s.freeze(ctx, &h.bags[i]); err != nil {
			return err
		}
	}
	return nil
}

// freeze puts a lot of bags on hold that holds something of a thing that is stopped.
func (s *stops) freeze(ctx context.Context, x *packing.Bags) error {
	list, err := s.bags(ctx, *x)
	if err == nil && len(list) > 0 && x.Status == packing.Usable {
		x.Status, x.Why = packing.Hold, halted(list)
	}
	return err
}
