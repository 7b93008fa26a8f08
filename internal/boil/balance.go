package boil

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/recipe"
)

// world is one possible set of the things a boil does not know.
type world struct {
	kettle []Makeup // charge lines as weighed
	doses  []Makeup // doses as weighed, carriers of stock solutions included
	flash  []lost
	water  float64 // of the sugar phase at the lift
	smear  float64 // kg
	invert float64 // share of the sucrose that inverts in the kettle
	slab   float64 // share of what is poured that inverts on the hot slab
	split  []float64
}

// lost is what flashes off an addition, as shares of its water and its spirit.
type lost struct{ water, spirit float64 }

// balance is one boil's masses, from the kettle to the slab.
type balance struct {
	Lift     Makeup   // in the kettle at the lift, before end additions and smear
	In       float64  // all that went in before the lift
	WaterOff float64  // boiled off before the lift
	Flashed  float64  // left the additions as they met hot sugar
	Smear    float64  // left in the kettle
	Portions []Makeup // on the slab, additions in
}

// finished returns the mass on the slab.
func (b balance) finished() float64 {
	return b.whole().Mass()
}

// pot returns all that is in the kettle before the boil has ended, inverted as far
// as it is when it ends: what is left of water hangs on that.
func (w world) pot(doses []Dose) Makeup {
	var pot Makeup
	for _, l := range w.kettle {
		pot = pot.Plus(l)
	}
	for i, d := range doses {
		if d.Stage == recipe.AtBoil {
			pot = pot.Plus(w.doses[i])
		}
	}
	return pot.Inverted(w.invert)
}

// whole returns all portions together.
func (b balance) whole() Makeup {
	var m Makeup
	for _, p := range b.Portions {
		m = m.Plus(p)
	}
	return m
}

// run carries a world through the balance.
func run(w world, doses []Dose, portions []recipe.Portion) (balance, error) {
	var b balance
	pot := w.pot(doses)
	b.In = pot.Mass()
	b.Lift = pot
	b.Lift.Water, b.Lift.Spirit = w.water/(1-w.water)*pot.Phase(), 0
	b.WaterOff = b.In - b.Lift.Mass()
	if b.WaterOff < 0 {
		return balance{}, fault.Invalid("the charge holds %.2f %% water, less than the boil is to end with", 100*pot.WaterFrac()).
			WithHint("give more water, or boil to a lower temperature")
	}

	// With the flame off, in the kettle.
	pot = b.Lift
	add := func(to Makeup, i int) Makeup {
		kept := w.doses[i].afterFlash(w.flash[i].water, w.flash[i].spirit)
		b.Flashed += w.doses[i].Mass() - kept.Mass()
		return to.Plus(kept)
	}
	for i, d := range doses {
		if d.Stage == recipe.AtEnd {
			pot = add(pot, i)
		}
	}
	b.Smear = math.Min(w.smear, pot.Mass())
	pour := pot.Times(1 - b.Smear/pot.Mass())

	// On the slab, where it goes on inverting and takes the water for it out of what is
	// left. What is for the whole boil goes in before it is split.
	pour = pour.Inverted(w.slab)
	for i, d := range doses {
		if d.Portion == "" && (d.Stage == recipe.AtPour || d.Stage == recipe.AtFold) {
			pour = add(pour, i)
		}
	}
	b.Portions = make([]Makeup, len(portions))
	for j, p := range portions {
		part := pour.Times(w.split[j])
		for i, d := range doses {
			if d.Portion == p.ID && d.Portion != "" {
				part = add(part, i)
			}
		}
		b.Portions[j] = part
	}
	return b, nil
}
