package app

import (
	"context"
	"fmt"

	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// What is taken of sugar of which nobody has said more.
const (
	UsualWaterLeft  q.Fraction = 0.03
	UsualSyrupShare q.Fraction = 0.40
)

// SlabRaw follows a batch on a table of 10 mm steel over channels of water at 18 °C, in a
// usual room. It reads no book and is printed for u.
func SlabRaw(r SlabRequest, u q.Reader) (*SlabResult, error) {
	in := r.hot(u)
	in.Room = rig.UsualRoom(0)
	in.Slab = rig.Slab{ID: "usual", Material: rig.Steel, Cooling: rig.Channels, Length: usualTableLength, Width: usualTableWidth}
	out, err := slabResult(in)
	if err != nil {
		return nil, err
	}
	out.Cautions = append(out.Cautions, Caution{Code: "assumed-slab", Text: fmt.Sprintf(
		"Assumed: 10 mm of steel over channels of water at %s, air at %s, rolls fed at %s, no feeding board, drops of %s.",
		u.Temperature(18, 0), u.Temperature(in.Room.Air, 0), u.Rate(in.Room.Times.RollRate), u.Mass(0.0024))})
	return out, nil
}

// A table that holds any boil.
const (
	usualTableLength q.Metres = 2.0
	usualTableWidth  q.Metres = 1.0
)

// Slab follows a batch on a slab and to the rolls of the shop book.
func (a *App) Slab(ctx context.Context, r SlabRequest) (*SlabResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	in := r.hot(b.Shop.Units)
	in.Room, in.Board, in.Machine = b.Room, dayBoard(&b), dayMachine(&b)
	if in.Slab, err = namedSlab(&b, r.Slab); err != nil {
		return nil, err
	}
	if r.Rolls != "" {
		pair, ok := byID(b.Rolls, r.Rolls, func(x rig.Rolls) string { return x.ID })
		if !ok {
			return nil, fault.NotFound("no rolls %q in the shop book", fault.Clip(r.Rolls, fault.Echo)).At("rolls")
		}
		in.Rolls = &pair
	}
	if in.Learned, err = a.taughtSlab(ctx, &b, in.Slab); err != nil {
		return nil, err
	}
	return slabResult(in)
}

// namedSlab returns a slab by its id, or the day's.
func namedSlab(b *book.Book, id string) (rig.Slab, error) {
	if id == "" {
		s, ok := daySlab(b)
		if !ok {
			return rig.Slab{}, fault.NotFound("the shop book has no slab for the day").At("slab")
		}
		return s, nil
	}
	s, ok := byID(b.Slabs, id, func(x rig.Slab) string { return x.ID })
	if !ok {
		return rig.Slab{}, fault.NotFound("no slab %q in the shop book", fault.Clip(id, fault.Echo)).At("slab")
	}
	return s, nil
}

// hot is the batch that is asked for.
func (r SlabRequest) hot(u q.Reader) batch.HotInputs {
	return batch.HotInputs{Batch: "asked", Solids: sugar.Solids{Syrup: r.SyrupShare, DE: r.SyrupDE}, Water: r.WaterLeft, Mass: r.Mass, Pour: r.Pour, Depth: r.Depth, Pulled: r.Pulled, Units: u, Seed: planSeed}
}

func slabResult(in batch.HotInputs) (*SlabResult, error) {
	if err := meant("mass", in.Mass); err != nil {
		return nil, err
	}
	h, err := batch.PrepareHot(in)
	if err != nil {
		return nil, err
	}
	r, err := h.Forecast()
	if err != nil {
		return nil, err
	}
	out := &SlabResult{PourC: r.PourC, FirstTurnS: r.FirstTurnS, KneadS: r.TurnedS, AcidFromS: r.AcidFromS, AcidToS: r.AcidToS, PullFromS: r.PullFromS, PullDoneS: r.PullDoneS, PullC: r.PullFromC,
		Rolling: SlabRolling{OpensS: r.OpensS, ClosesS: r.ClosesS, HasS: r.HasS, NeedsS: r.NeedsS, Fits: q.Number(r.Fits), FromC: r.RollFromC, ToC: r.RollToC, LastC: r.LastC, PairC: r.PairC},
		Reach:   []SlabReach{}, LargestBoilKg: r.LargestKg, BreakS: r.BreakS, BagS: r.BagS, Matters: []string{}, Units: in.Units, Cautions: plainCautions(r.Cautions), Sources: source.Strings(r.Sources...)}
	for _, x := range r.Reach {
		out.Reach = append(out.Reach, SlabReach{C: q.Number(x.C), MeanS: x.MeanS, CoreS: x.CoreS})
	}
	for _, m := range r.Matters {
		out.Matters = append(out.Matters, sayMatter(in.Units, m))
	}
	return out, nil
}

// sayMatter says how much of the spread one thing brings.
func sayMatter(u q.Reader, m batch.Matter) string {
	return fmt.Sprintf("%s (%s of the spread)", m.Says, u.Percent(m.Share, 0))
}
