package slab

import (
	"math"

	"slabside/internal/heat"
	"slabside/internal/rig"
)

// Waiting is where sugar waits for the rolls, as what it loses there.
type Waiting struct {
	massKg     float64 // of the batch
	depth      float64 // m of the heap
	density    float64 // kg/m³
	film, perK float64 // what its free surface takes is film + perK · T [W/(m² K), T in °C]
	under      float64 // W/(m² K) into what it lies on
	underC     float64
	airC       float64
	lamp       float64 // W that the sugar takes up
	factor     float64 // of all that it loses
}

// What a board is (judgement, so chosen that ten kelvins last about 14 minutes for a
// boil of 10 kg, source key practice): thick wood under a cloth, and what sugar takes up
// of a lamp of 250 W.
const (
	woodFilm = 5.0
	lampHeat = 35.0
)

// heapSides is how much larger the free surface of a heap is than the ground it covers.
const heapSides = 1.3

// Takes returns what sugar of so much on the board loses at a temperature [W/kg]; less
// than nothing where the lamp gives more.
func (w Waiting) Takes(massKg, tempC float64) float64 {
	area := massKg / (w.density * w.depth)
	loss := heapSides*(w.film+w.perK*tempC)*(tempC-w.airC) + w.under*(tempC-w.underC)
	return (w.factor*loss*area - w.lamp*math.Min(1, area/lampArea)) / massKg
}

// For returns what a batch of another mass would lose there, that lies deeper the more it is.
func (w Waiting) For(massKg float64) func(massKg, tempC float64) float64 {
	w.depth *= workedDepth(massKg) / workedDepth(w.massKg)
	return w.Takes
}

// lampArea is what a lamp lights [m²].
const lampArea = 0.12

// candyEmissivity is that of sugar (source key model-heat).
const candyEmissivity = 0.92

// topFilm is what a face takes at a temperature of the side [W/(m² K)].
func topFilm(f heat.Face, sideC float64) float64 {
	return heat.FreeConvection(sideC, f.AmbientC, f.Length) + heat.Radiation(sideC, f.AmbientC, f.Emissivity)
}

// waiting returns where a batch waits: on the board, or turned over on the cold table.
func (b Batch) waiting(board *rig.Board, plateC float64) Waiting {
	depth := b.Hands.Deep * workedDepth(b.MassKg)
	top := heat.Face{AmbientC: b.AirC, Length: math.Sqrt(b.MassKg/b.Sweet.Matter.Density/depth) / 4, Emissivity: candyEmissivity}
	const cool, warm = 65, 105 // between them both parts rise evenly
	atCool, atWarm := topFilm(top, cool), topFilm(top, warm)
	perK := (atWarm - atCool) / (warm - cool)
	w := Waiting{massKg: b.MassKg, depth: depth, film: atCool - cool*perK, perK: perK, density: b.Sweet.Matter.Density, airC: b.AirC, underC: b.AirC, under: woodFilm, factor: math.Exp(b.Figures[Keeps])}
	switch {
	case board == nil:
		w.under, w.underC, w.factor = b.kneadFilm(), plateC, 1
	case board.Lamp:
		w.lamp = lampHeat
	}
	return w
}

// workedDepth is how deep a batch lies while it is worked [m]: 30, 35 and 45 mm for 5, 10
// and 20 kg (source key model-heat, judgement).
func workedDepth(massKg float64) float64 { return 0.035 * math.Pow(massKg/10, 0.29) }
