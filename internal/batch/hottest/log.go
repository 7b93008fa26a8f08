package hottest

import (
	"math"

	"slabside/internal/record"
)

// Log is what a shop writes down of a batch: all that anybody learns of it. Times are
// seconds on the shop's clock, by which the pour ended at 0, whenever somebody tapped it.
type Log struct {
	Shop   Shop
	Number int
	Taps   []Tap  // in the order they were made
	Reads  []Read // in the middle of the batch, on the slab or where it waits
	MassKg float64
	LiftC  float64 // on the glass
	Water  float64 // as the boil was worked out
}

// Tap is a happening that somebody tapped.
type Tap struct {
	What record.Happening
	S    float64
}

// Read is a thermometer that was read.
type Read struct{ S, C float64 }

// log writes the batch down as these people do.
func (c *course) log(number int) {
	t := &c.truth
	r := c.room
	tap := func(what record.Happening, s float64) {
		if math.IsNaN(s) || c.c.happens(0.08) { // forgotten
			return
		}
		t.Log.Taps = append(t.Log.Taps, Tap{what, s + r.slackPerson*c.c.late()})
	}
	t.Log = Log{Shop: r.Shop, Number: number, MassKg: c.mass * (1 + c.c.off(0.003)), LiftC: r.Shop.LiftC, Water: r.Shop.Water, Reads: c.reads}
	t.Log.Taps = append(t.Log.Taps, Tap{record.Poured, r.slackPerson * c.c.late()})
	tap(record.EdgeUp, t.FirstTurnS)
	tap(record.Kneaded, t.TurnedS)
	tap(record.PullBegun, t.PullFromS)
	tap(record.PullDone, t.PullDoneS)
	tap(record.ToRolls, t.OpensS)
	tap(record.FirstSheet, t.OpensS+c.c.between(15, 45))
	if t.HasS < t.NeedsS {
		tap(record.Cracked, t.ClosesS)
	} else {
		tap(record.LastSheet, t.OpensS+t.NeedsS)
	}
}

// Three returns three batches that a room logged, and the truth of the one after: what is
// learned of the three is to tell the fourth.
func (r *Room) Three() (logs [3]Log, next Truth) {
	for i := range logs {
		logs[i] = r.Batch(i).Log
	}
	return logs, r.Batch(len(logs))
}
