package app

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"slabside/internal/batch"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/slab"
)

// OnSlab is when a boil of the plan is turned, folded, pulled and rolled, each with its
// range, in the order of the clock.
type OnSlab struct {
	Times  []SlabTime
	Rolls  string // how much the rolls can take, and in what time
	Basis  string // what all of it rests on
	Cannot string // why it cannot be worked out; empty: it can
}

// SlabTime is one thing to be done on the slab.
type SlabTime struct {
	At      string // by the clock, 09:13
	What    string
	After   string // "2 min (1.1–5)" after the pour
	seconds float64
}

// plannedMembers is how many outcomes a boil of the plan is followed in for its sheet: the
// ends of a range are printed to a minute.
const plannedMembers = 64

// OnSlab follows the boil from its pour; nothing where that is not computed.
func (b *Batch) OnSlab(u q.Reader) OnSlab {
	var out OnSlab
	if b.hot == nil {
		return out
	}
	r, err := b.hot.ForecastOf(plannedMembers)
	if err != nil {
		out.Cannot, _ = fault.Said(err)
		return out
	}
	out.Basis = basisWords(r.OpensS)
	bare := func(e q.Estimate) q.Estimate { e.Basis = ""; return e }
	add := func(what string, e q.Estimate) {
		at := b.PourEnd.Add(time.Duration(e.Value * float64(time.Second)))
		out.Times = append(out.Times, SlabTime{At: at.Format("15:04"), What: what, After: u.SayTime(bare(e)), seconds: e.Value})
	}
	add("first turn, when the edge lifts clean", r.FirstTurnS)
	if b.acid {
		add("powdered acid in, from "+u.Temperature(slab.AcidFrom, 0)+" down", r.AcidFromS)
		add("no more acid: gritty below "+u.Temperature(slab.AcidTo, 0), r.AcidToS)
	}
	add("folded: knead", r.TurnedS)
	if r.PullFromS != nil {
		add("pull, at "+u.SayTemperature(bare(r.PullFromC), 0), *r.PullFromS)
		add("all is pulled", *r.PullDoneS)
	}
	add("to the rolls, at "+u.SayTemperature(bare(r.RollFromC), 0), r.OpensS)
	add("gone short, at "+u.SayTemperature(bare(r.RollToC), 0), r.ClosesS)
	slices.SortStableFunc(out.Times, func(a, b SlabTime) int { return cmp.Compare(a.seconds, b.seconds) })
	out.Rolls = fmt.Sprintf("%s of sugar, %s of time. The most on this slab that is rolled in time: %s", u.SayTime(bare(r.NeedsS)), u.SayTime(bare(r.HasS)), u.SayMass(bare(r.LargestKg)))
	return out
}

// basisWords says what a figure rests on.
func basisWords(e q.Estimate) string {
	if e.Basis == q.Learned {
		if e.Batches == 1 {
			return "learned from one batch"
		}
		return fmt.Sprintf("learned from %d batches", e.Batches)
	}
	return string(e.Basis)
}

// follow remembers how a boil is followed on the slab.
func (b *Batch) follow(hot *batch.Hot, acid bool) { b.hot, b.acid = hot, acid }
