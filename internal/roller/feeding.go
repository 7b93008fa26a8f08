package roller

import (
	"math"

	"slabside/internal/heat"
)

// Feeding is one possible run of the rolls: a batch that waits beside them and is fed, a
// bar at a time, all in SI and seconds since it began.
type Feeding struct {
	MassKg float64
	FromC  float64 // as the first bar is cut
	Rate   float64 // kg/s, cutting, feeding and carrying included
	GoneC  float64 // colder, it cracks

	Sweet heat.Matter
	Takes func(massKg, tempC float64) float64                      // what waits loses [W/kg]
	For   func(massKg float64) func(massKg, tempC float64) float64 // the same of a batch that was of another mass; nil: no other

	PairKg float64 // of the rolls
	AirC   float64
	Nip    float64 // s that sugar is between the rolls; 0: [UsualNip]
	Thick  float64 // m of the sheet
}

// Fed is what became of it.
type Fed struct {
	LastS  float64 // the last sheet, if all is rolled
	LastC  float64 // of the sugar as the last bar is cut
	GoneS  float64 // what is left is too cold; [Never] at most
	PairC  float64 // the rolls at the last sheet
	SheetC float64 // a sheet as it leaves the rolls, the first

	tempC []float64 // of what waits, every [fedStep] from the first bar on
}

// TempAt returns the temperature of what is left, so many seconds after the first bar was
// cut [°C]; after the last that is known, that.
func (f Fed) TempAt(s float64) float64 {
	place := math.Max(s, 0) / fedStep
	i := min(int(place), len(f.tempC)-2)
	part := math.Min(place-float64(i), 1)
	return f.tempC[i] + part*(f.tempC[i+1]-f.tempC[i])
}

// What a pair is taken for (source key practice: 14 kg give about 55 kJ to a brass pair of
// 4.5 kg), and for how long sugar is in the nip (source key model-heat, 0.05 to 0.3 s).
const (
	UsualPairKg = 4.5
	UsualNip    = 0.10
	pairHeat    = 380.0 // J/(kg K) of brass
	pairLoses   = 0.9   // W/K into frame and air: a quarter of an hour to lose half (judgement)
)

// brass is what rolls are of (source key incropera, from memory).
func brass() heat.Matter {
	return heat.Matter{Heat: heat.ConstantHeat(pairHeat), Density: 8530, K: 110}
}

// lastShare of a batch is what lies there last: as much stays warm as so much does, since
// it lies in the corner of the board that the rest has warmed (judgement).
const lastShare = 0.15

// WarmPair is the temperature from which rolls no longer set the print and late sheets
// wrap (source key model-heat: warm rolls of 35 to 50 °C set it).
const WarmPair = 50.0

// Never is the time beyond which nobody waits for a batch to go short [s].
const Never = 2 * 3600.0

// fedStep is how finely a run is followed [s].
const fedStep = 20.0

// Run feeds the batch.
func (f Feeding) Run() Fed {
	last := f.MassKg / f.Rate
	fed := Fed{LastS: last, GoneS: Never, tempC: []float64{f.FromC}}
	lump := f.lump(fedStep)
	for s, t := 0.0, f.FromC; s < Never; s += fedStep {
		next := lump.Cool(s, t, fedStep)
		if t > f.GoneC && next <= f.GoneC {
			fed.GoneS = s + fedStep*(t-f.GoneC)/(t-next)
		}
		t = next
		fed.tempC = append(fed.tempC, t)
		if s > last && (s > fed.GoneS || t > f.FromC) { // a lamp that warms it warms it for good
			break
		}
	}
	if f.FromC <= f.GoneC {
		fed.GoneS = 0
	}
	fed.LastC = fed.TempAt(last)
	fed.SheetC, fed.PairC = f.pair(fed, last)
	return fed
}

// lump is what is left of the batch, as it waits.
func (f Feeding) lump(step float64) heat.Lump {
	return heat.Lump{Heat: f.Sweet.Heat, Step: step, Takes: func(s, t float64) float64 {
		return f.Takes(math.Max(f.MassKg-f.Rate*s, lastShare*f.MassKg), t)
	}}
}

// pair warms the rolls: each square metre of sheet gives them what package heat says.
//
//	m c dT/dt = ṁ (2/ρ d) Q/2 − k (T − T_air)
func (f Feeding) pair(fed Fed, last float64) (firstC, pairC float64) {
	nip := f.Nip
	if nip == 0 {
		nip = UsualNip
	}
	byKelvin, _ := heat.Nip(f.Sweet, brass(), f.FromC, f.FromC-1, nip)
	gives := byKelvin / (f.Sweet.Density * f.Thick)                                                   // J/(kg K)
	whole := f.PairKg * pairHeat                                                                      // J/K
	settles := (f.Rate*gives*((f.FromC+fed.LastC)/2) + pairLoses*f.AirC) / (f.Rate*gives + pairLoses) // °C in the end
	pairC = settles + (f.AirC-settles)*math.Exp(-last*(f.Rate*gives+pairLoses)/whole)
	h := f.Sweet.Heat
	return h.Temp(h.Enthalpy(f.FromC) - gives*(f.FromC-f.AirC)), pairC
}

// Largest returns the most that is fed before it is too cold [kg], not above a mass:
// what takes just as long to roll as it stays in condition.
func (f Feeding) Largest(most float64) float64 {
	fits := func(mass float64) bool {
		g := f
		if g.MassKg = mass; f.For != nil {
			g.Takes = f.For(mass)
		}
		return g.lump(fedStep).Cool(0, g.FromC, mass/g.Rate) >= g.GoneC
	}
	if fits(most) {
		return most
	}
	low, high := 0.0, most
	for range 14 {
		if mid := (low + high) / 2; fits(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
