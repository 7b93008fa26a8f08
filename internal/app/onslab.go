package app

import (
	"fmt"
	"time"

	"slabside/internal/batch"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// OnSlab says when a boil of the plan is turned, folded, pulled and rolled, each with its
// range; nothing where that is not computed.
type OnSlab struct {
	Slab  []string // until it goes to the rolls
	Rolls []string
}

// plannedMembers is how many outcomes a boil of the plan is followed in for its sheet: the
// ends of a range are printed to a minute.
const plannedMembers = 64

// OnSlab follows the boil from its pour.
func (b *Batch) OnSlab(u q.Reader) OnSlab {
	var out OnSlab
	if b.hot == nil {
		return out
	}
	r, err := b.hot.ForecastOf(plannedMembers)
	if err != nil {
		why, _ := fault.Said(err)
		return OnSlab{Slab: []string{"its times cannot be worked out: " + why}}
	}
	at := func(e q.Estimate) string {
		return b.PourEnd.Add(time.Duration(e.Value * float64(time.Second))).Format("15:04")
	}
	slab := func(what string, e q.Estimate) {
		out.Slab = append(out.Slab, fmt.Sprintf("%s %s, %s after the pour", what, at(e), u.SayTime(e)))
	}
	slab("first turn about", r.FirstTurnS)
	if b.acid {
		slab("powdered acid in from about", r.AcidFromS)
		slab("and not after about", r.AcidToS)
	}
	slab("folded, then knead from about", r.TurnedS)
	if r.PullFromS != nil {
		slab("pull from about", *r.PullFromS)
		slab("all is pulled about", *r.PullDoneS)
	}
	out.Rolls = append(out.Rolls,
		fmt.Sprintf("to the rolls about %s, %s after the pour, at %s", at(r.OpensS), u.SayTime(r.OpensS), u.SayTemperature(r.RollFromC, 0)),
		fmt.Sprintf("gone short about %s, at %s", at(r.ClosesS), u.SayTemperature(r.RollToC, 0)),
		fmt.Sprintf("%s of sugar, %s of time; the most on the slab is %s", u.SayTime(r.NeedsS), u.SayTime(r.HasS), u.SayMass(r.LargestKg)))
	return out
}

// follow remembers how a boil is followed on the slab.
func (b *Batch) follow(hot *batch.Hot, acid bool) { b.hot, b.acid = hot, acid }
