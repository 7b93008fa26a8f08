package hottest

import (
	"fmt"

	"slabside/internal/batch"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// Shop is a shop and the batch it makes, as its book says: what forecast and truth have in
// common.
type Shop struct {
	Name     string
	MassKg   float64 // on the slab
	LiftC    float64
	Water    float64 // of the sugar
	Syrup    float64 // share of the solids
	Pulled   float64 // share that is pulled
	Material rig.Material
	Cooling  string  // under the slab, see package rig
	WaterC   float64 // of it
	Board    bool
	Lamp     bool
}

// Shops are kinds of shops: stone and cooled steel, with and without a board, small boils
// and large ones.
func Shops() []Shop {
	return []Shop{
		{Name: "marble, board and lamp", MassKg: 9.5, LiftC: 152, Water: 0.028, Syrup: 0.4, Material: rig.Marble, Board: true, Lamp: true},
		{Name: "channels, no board", MassKg: 7, LiftC: 150, Water: 0.031, Syrup: 0.4, Material: rig.Steel, Cooling: rig.Channels, WaterC: 18},
		{Name: "tank, board", MassKg: 8, LiftC: 151, Water: 0.030, Syrup: 0.5, Material: rig.Stainless, Cooling: rig.Tank, WaterC: 16, Board: true},
		{Name: "granite, no board", MassKg: 4, LiftC: 149, Water: 0.032, Syrup: 0.3, Material: rig.Granite},
		{Name: "marble, board and lamp, a part pulled", MassKg: 6, LiftC: 150, Water: 0.030, Syrup: 0.4, Pulled: 0.3, Material: rig.Marble, Board: true, Lamp: true},
		{Name: "channels, board and lamp", MassKg: 12, LiftC: 152, Water: 0.027, Syrup: 0.5, Material: rig.Steel, Cooling: rig.Channels, WaterC: 20, Board: true, Lamp: true},
	}
}

// How far the boil may be off, one standard deviation: what is weighed, what the glass
// says of the lift, and the water it leaves (source key model-sugar, ±0.5 % of water).
const (
	massSD  = 0.01
	liftSD  = 0.9
	waterSD = 0.0030
)

// room is the room as its book says.
func (s Shop) room() rig.Room { return rig.UsualRoom(35) }

// slab is the slab.
func (s Shop) slab() rig.Slab {
	return rig.Slab{ID: "slab", Material: s.Material, Length: 1.5, Width: 0.75, Cooling: s.Cooling, Water: q.Celsius(s.WaterC)}
}

// Inputs returns the hot run of a batch in the words of package batch, its boil drawn in
// so many outcomes.
func (s Shop) Inputs(index, members int, seed uint64) batch.HotInputs {
	e := numeric.NewEnsemble(members, seed)
	draw := func(name string, middle, sd float64) []float64 {
		column := e.Normal("boil:" + name)
		for i := range column {
			column[i] = middle + sd*column[i]
		}
		return column
	}
	in := batch.HotInputs{Batch: fmt.Sprintf("%s:%d", s.Name, index), Mass: q.Kilograms(s.MassKg), Lift: q.Celsius(s.LiftC), Water: q.Fraction(s.Water),
		Solids: sugar.Solids{Syrup: q.Fraction(s.Syrup), DE: 42}, Pulled: q.Fraction(s.Pulled), Room: s.room(), Slab: s.slab(), Units: q.Plain, Seed: seed,
		Draws: batch.HotDraws{Mass: draw("mass", s.MassKg, s.MassKg*massSD), Lift: draw("lift", s.LiftC, liftSD),
			Water: draw("water", s.Water, waterSD), Stands: draw("stands", 0, 1)}}
	if s.Board {
		in.Board = &rig.Board{ID: "board", Lamp: s.Lamp, Most: 20}
	}
	return in
}
