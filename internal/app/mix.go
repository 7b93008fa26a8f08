package app

import (
	"slabside/internal/bag"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Mix returns what a bag from a blended pool holds, exactly. It reads no book.
func Mix(r MixRequest) (*MixResult, error) {
	least := make([]int, len(r.Shares))
	switch len(r.Least) {
	case 0, 1:
		for i := range least {
			least[i] = 1
			if len(r.Least) == 1 {
				least[i] = r.Least[0]
			}
		}
	case len(r.Shares):
		copy(least, r.Least)
	default:
		return nil, fault.Invalid("%d least numbers for %d shares", len(r.Least), len(r.Shares)).At("least").
			WithHint("give one number for all, or one a share")
	}
	out := &MixResult{Cautions: []Caution{}, Sources: []string{}}
	var p float64
	var held []bag.Held
	var err error
	if r.Pool == 0 {
		out.Cautions = append(out.Cautions, Caution{Code: "endless-pool", Text: "No pool was given: it is taken to be endless, so that one bag does not change what is left for the next."})
		if p, err = bag.AtLeastEndless(r.Shares, r.Bag, least); err == nil {
			held, err = bag.HoldsEndless(r.Shares, r.Bag)
		}
	} else {
		var pool []int
		if pool, err = bag.PoolOf(r.Shares, r.Pool); err == nil {
			if p, err = bag.AtLeast(pool, r.Bag, least); err == nil {
				held, err = bag.Holds(pool, r.Bag)
			}
		}
	}
	if err != nil {
		return nil, err
	}
	out.PAllAtLeast = q.ExactOf(p)
	for _, h := range held {
		out.PerColour = append(out.PerColour, MixColour{Mean: q.Number(h.Mean), P05: h.P05, P95: h.P95})
	}
	out.Cautions = append(out.Cautions, Caution{Code: "well-blended", Text: "This holds for a pool that is well blended and a hand that takes blindly; large pieces and small ones part in the bin."})
	return out, nil
}
