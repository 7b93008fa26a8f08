package slab

import (
	"slabside/internal/fault"
	"slabside/internal/heat"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// What is taken of a table of which nobody has said more.
const (
	UsualSteel  q.Metres  = 0.010
	UsualStone  q.Metres  = 0.050
	UsualWater  q.Celsius = 18
	UsualLength q.Metres  = 1.2
	UsualWidth  q.Metres  = 0.6
)

// Table is a cooling table as the models see it.
type Table struct {
	matter    heat.Matter
	thickness float64 // m
	below     float64 // W/(m² K) on its lower side: the middle
	belowSD   float64 // of its logarithm
	coolC     float64 // of what is below it
	areaM2    float64
}

// The lower side of a table, by what is under it [W/(m² K)], the middle and one standard
// deviation of its logarithm (source key model-heat: water in channels of 12 to 20 mm
// 800 to 4000, in a shallow open tank 50 to 250; air and radiation under a stone 8, from
// the same formulas).
const (
	channelFilm, channelSD = 1400.0, 0.45
	tankFilm, tankSD       = 100.0, 0.45
	airFilm, airSD         = 8.0, 0.20
)

// plate returns the matter of a plate: conductivity, density, heat capacity (source key
// incropera, tables A.1 to A.3, from memory).
func plate(m rig.Material) (heat.Matter, bool) {
	of := func(k, density, capacity float64) (heat.Matter, bool) {
		return heat.Matter{Heat: heat.ConstantHeat(capacity), Density: density, K: k}, true
	}
	switch m {
	case rig.Steel, rig.TinnedSteel:
		return of(50, 7850, 470)
	case rig.Stainless:
		return of(15, 7900, 490)
	case rig.Copper, rig.TinnedCopper:
		return of(395, 8930, 390)
	case rig.Brass, rig.Bronze:
		return of(110, 8530, 380)
	case rig.Aluminium:
		return of(170, 2770, 875)
	case rig.Marble:
		return of(2.8, 2680, 830)
	case rig.Granite:
		return of(2.8, 2630, 775)
	}
	return heat.Matter{}, false
}

// TableOf returns a slab as the models see it. A slab of wood or silicone, on which no
// batch is cooled, is an invalid fault.
func TableOf(s rig.Slab, room rig.Room) (Table, error) {
	matter, ok := plate(s.Material)
	if !ok {
		return Table{}, fault.Invalid("a slab of %s does not cool a batch", s.Material).At("slab.material").
			WithHint("batches are cooled on steel, marble and the like; state what the slab is of")
	}
	t := Table{matter: matter, thickness: float64(s.Thickness), areaM2: float64(s.Length) * float64(s.Width), coolC: float64(room.Air)}
	if t.thickness == 0 {
		t.thickness = float64(UsualSteel)
		if s.Material == rig.Marble || s.Material == rig.Granite {
			t.thickness = float64(UsualStone)
		}
	}
	if t.areaM2 == 0 {
		t.areaM2 = float64(UsualLength) * float64(UsualWidth)
	}
	t.below, t.belowSD = airFilm, airSD
	switch s.Cooling {
	case rig.Channels:
		t.below, t.belowSD = channelFilm, channelSD
	case rig.Tank:
		t.below, t.belowSD = tankFilm, tankSD
	}
	if s.Cooling != "" {
		t.coolC = float64(WaterOf(s))
	}
	return t, nil
}

// WaterOf returns the temperature of a slab's water.
func WaterOf(s rig.Slab) q.Celsius {
	if s.Water == 0 {
		return UsualWater
	}
	return s.Water
}

// BelowSD returns one standard deviation of the logarithm of what the table's lower side
// takes.
func (t Table) BelowSD() float64 { return t.belowSD }

// SetBelow states what the table's lower side takes [W/(m² K)], where somebody knows.
func (t *Table) SetBelow(film float64) { t.below = film }
