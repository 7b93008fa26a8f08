package roller

import (
	"fmt"

	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// DefaultRate is the overall rate of hand feeding where none is on file [kg/min]:
// cutting, feeding and carrying sheets included (source key practice, 0.6 to 1.5).
const DefaultRate = 1.0

// Rolling is how a pair of rolls eats a boil in this room.
type Rolling struct {
	Rate float64     // kg/min, overall
	Band q.Duration  // how long the batch stays in condition
	Most q.Kilograms // the most that is rolled in time, where that was worked out

	Followed bool // band and most were worked out; false: the band is the room's, and 0 says nothing
}

// RollingOf returns the rate and the band of a room, a machine (nil: the room's
// rate) and a feeding board (nil: none).
func RollingOf(room rig.Room, machine *rig.Machine, board *rig.Board) Rolling {
	r := Rolling{Rate: room.Times.RollRate, Band: room.Times.RollBand}
	if machine != nil && machine.RollRate > 0 {
		r.Rate = machine.RollRate
	}
	if r.Rate <= 0 {
		r.Rate = DefaultRate
	}
	if board != nil {
		r.Band = room.Times.RollBandBoard
	}
	return r
}

// Minutes returns how long the rolls take for a mass.
func (r Rolling) Minutes(mass q.Kilograms) float64 { return float64(mass) / r.Rate }

// Largest returns the largest mass that is rolled within the band; 0 where the
// room states no band.
func (r Rolling) Largest() q.Kilograms {
	if r.Followed {
		return r.Most
	}
	return q.Kilograms(r.Rate * r.Band.Minutes())
}

// Fits reports whether a mass is rolled within the band; where the room states no
// band, nothing is known against it.
func (r Rolling) Fits(mass q.Kilograms) bool {
	return !r.Followed && r.Band <= 0 || r.Minutes(mass) <= r.Band.Minutes()
}

// Cautions returns what is to be said where a mass does not fit.
func (r Rolling) Cautions(mass q.Kilograms, say q.Reader) []caution.Caution {
	if r.Fits(mass) {
		return nil
	}
	return []caution.Caution{{Code: CodeRollTime, Text: fmt.Sprintf(
		"%s take %s min at the rolls and the batch stays in condition for %s min: split it or make charges that leave at most %s on the slab; never feed faster",
		say.Mass(mass), say.Number(r.Minutes(mass), 0), say.Number(r.Band.Minutes(), 0), say.Mass(r.Largest()))}}
}
