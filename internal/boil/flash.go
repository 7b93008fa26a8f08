package boil

import (
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/sugar"
)

// Flash is what boils off an addition as it meets hot sugar: shares of its water
// and of its spirit, lowest and highest, evenly likely between.
type Flash struct{ WaterLow, WaterHigh, SpiritLow, SpiritHigh float64 }

// FlashAt returns what may flash off at a stage where no heat has been reckoned. In the
// boil itself water and spirit become part of the boil and leave with it. Folded in, the
// mass has cooled far below where it boils: water stays. Spirit boils at 78 °C and mostly
// goes; its shares are judgement (source key practice).
func FlashAt(s recipe.Stage) Flash {
	switch s {
	case recipe.AtEnd, recipe.AtPour:
		return Flash{0, 1, 0.7, 1}
	case recipe.AtFold:
		return Flash{0, 0, 0.3, 1}
	}
	return Flash{1, 1, 1, 1}
}

// draws returns the shares of water and of spirit that flash, a draw each. How an
// addition is made is the habit of a recipe: one column a recipe and stage.
func (f Flash) draws(recipeID string, s recipe.Stage, e numeric.Ensemble) (water, spirit []float64) {
	name := "recipe:" + recipeID + ":flash:" + string(s)
	water, spirit = e.Uniform(name), e.Uniform(name+":spirit")
	for i := range water {
		water[i] = f.WaterLow + water[i]*(f.WaterHigh-f.WaterLow)
		spirit[i] = f.SpiritLow + spirit[i]*(f.SpiritHigh-f.SpiritLow)
	}
	return water, spirit
}

// middle returns the middle of the ranges.
func (f Flash) middle() (water, spirit float64) {
	return (f.WaterLow + f.WaterHigh) / 2, (f.SpiritLow + f.SpiritHigh) / 2
}

// afterFlash returns an addition without what flashed.
func (m Makeup) afterFlash(water, spirit float64) Makeup {
	m.Water *= 1 - water
	m.Spirit *= 1 - spirit
	return m
}

// flashes works out what flashes off every addition by the balance as it stands.
func (p *Plan) flashes() []Flash {
	w := p.middle()
	out := make([]Flash, len(p.in.Additions))
	for i, d := range p.in.Additions {
		out[i] = FlashAt(d.Stage)
		if d.Stage != recipe.AtEnd && d.Stage != recipe.AtPour || w.doses[i].Water <= 0 {
			continue
		}
		into := p.nominal.Lift
		if d.Stage == recipe.AtPour {
			into = into.Times(1 - p.nominal.Smear/into.Mass())
		}
		for j, portion := range p.portions {
			if d.Portion != "" && portion.ID == d.Portion {
				into = into.Times(p.shares[j])
			}
		}
		at, _ := StageTemperature(d.Stage, q.ExactOf(p.target.tempC))
		h := hotMass{into: into, cold: w.doses[i], coldC: p.coldC(), press: p.pressure}
		if low, high, err := h.flashes(q.Celsius(at.Low), q.Celsius(at.High)); err == nil {
			out[i].WaterLow, out[i].WaterHigh = low, high
		}
	}
	return out
}

// coldC is how warm an addition is when it goes in [°C]: as the room, within the range
// of the properties.
func (p *Plan) coldC() float64 { return max(float64(p.in.Room.Air), float64(sugar.PropertyMinC)) }

// hotMass is a mass of hot sugar that a cold, wet addition goes into.
type hotMass struct {
	into, cold Makeup
	coldC      float64
	press      q.Pascals
}

// flashes returns the least and the most of the addition's water that leaves, as shares
// of it; the mass is between two temperatures as it goes in.
//
// The least is what leaves when the whole mass shares the heat and cools back onto the
// boiling curve of what it then is:
//
//	C (T − T_b) = cold (T_b − T_room) + L f m,  T_b the boiling point with (1 − f) m more water
//
// the most what leaves where every drop flashes as it falls, before it is mixed: all of it,
// or what the heat above the boiling point of water gives. Spirit's own heat is left out.
// Range of the heat's models, to 160 °C.
func (h hotMass) flashes(coldest, warmest q.Celsius) (low, high float64, err error) {
	if low, err = h.shared(coldest); err != nil {
		return 0, 0, err
	}
	steam, err := sugar.SaturationTemperature(h.press)
	if err != nil {
		return 0, 0, err
	}
	hot, err := h.heatPerK(warmest)
	if err != nil {
		return 0, 0, err
	}
	latent, err := sugar.LatentHeat(sugar.Mix(sugar.Solids{}, 1), steam)
	if err != nil {
		return 0, 0, err
	}
	spare := hot*float64(warmest-steam) - h.warming(float64(steam))
	high = min(max(spare/(latent*h.cold.Water), 0), 1)
	return min(low, high), high, nil
}

// shared is the share of the water that leaves when the whole mass shares the heat.
func (h hotMass) shared(at q.Celsius) (float64, error) {
	hot, err := h.heatPerK(at)
	if err != nil {
		return 0, err
	}
	latent, err := sugar.LatentHeat(h.into.phaseMixture(), at)
	if err != nil {
		return 0, err
	}
	var failed error
	// What heat is left over once a share of the water has gone [kJ].
	over := func(share float64) float64 {
		m := h.into.Plus(h.cold)
		m.Spirit, m.Water = 0, m.Water-share*h.cold.Water
		boils, err := sugar.BoilingPoint(m.phaseMixture(), h.press)
		if err != nil && failed == nil {
			failed = err
		}
		return hot*float64(at-boils) - h.warming(float64(boils)) - latent*share*h.cold.Water
	}
	none, all := over(0), over(1)
	switch {
	case failed != nil:
		return 0, failed
	case none <= 0:
		return 0, nil // it does not come to the boil
	case all >= 0:
		return 1, nil
	}
	share, err := numeric.Brent(over, 0, 1, 1e-9)
	if failed != nil {
		err = failed
	}
	return share, err
}

// heatPerK is what the hot mass gives for every kelvin it cools [kJ/K].
func (h hotMass) heatPerK(at q.Celsius) (float64, error) {
	cp, err := sugar.HeatCapacity(h.into.phaseMixture(), at)
	return cp*(h.into.Phase()+h.into.Water+h.into.Spirit) + fatHeat*h.into.Fat + apartHeat*h.into.Apart, err
}

// warming is the heat that brings the addition from the room to a temperature [kJ].
func (h hotMass) warming(toC float64) float64 {
	const water = 4.19 // kJ/kgK, as in [sugar.HeatCapacity]
	c := h.cold
	return (water*c.Water + apartHeat*(c.Phase()+c.Apart) + fatHeat*c.Fat) * (toC - h.coldC)
}
