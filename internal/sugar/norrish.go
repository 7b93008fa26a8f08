package sugar

import (
	"math"

	"slabside/internal/source"
)

// Norrish's constants, for mole fractions and natural logarithms (source keys norrish1966
// and chirife1980). No trusted value is known for the higher sugars of a syrup: they
// are given maltose's.
const (
	norrishSucrose = 6.47
	norrishHexose  = 2.25
	norrishMaltose = 4.54
)

// The range of [SyrupActivity] [mass fraction of dry solids].
const SyrupMaxDry = 0.75

// SyrupActivitySD is one standard deviation of [SyrupActivity]: ±0.02 (5 % to 95 %).
const SyrupActivitySD = 0.02 / ninety

// SyrupActivity returns the activity of water over a syrup in a room, by Norrish's
// equation for mixtures:
//
//	ln aw = ln x_w − (Σ √K_i x_i)²
//
// with K 6.47 for sucrose, 2.25 for glucose and fructose, 4.54 for maltose and all
// higher sugars, 0 (Raoult) for acids and salts. Of a syrup known by its DE alone every
// sugar counts as maltose.
//
// Range 0 to 75 % dry solids, 20 to 30 °C. Error [SyrupActivitySD]. It falls far too
// low in drier sugar: there [RoomActivity] holds.
//
// Reference: source keys norrish1966 and chirife1980.
func SyrupActivity(m Mixture) (float64, error) {
	if err := m.check(0, SyrupMaxDry, source.Norrish1966); err != nil {
		return 0, err
	}
	return math.Exp(lnNorrish(m)), nil
}

func lnNorrish(m Mixture) float64 {
	s, dry := m.Solids, float64(m.Dry())
	sucrose := float64(s.Sucrose()) / sucroseMolarMass
	hexose := float64(s.Invert) / hexoseMolarMass
	chains := float64(s.Syrup) * s.dextrose() / dextroseEquivalentMass
	dextrose := min(chains, float64(s.Syrup)*float64(s.Spectrum.Dextrose)/hexoseMolarMass)
	hexose += dextrose
	maltose := chains - dextrose
	beside := float64(s.Beside.Share) * s.Beside.Particles / 1000
	all := float64(m.Water)/waterMolarMass + dry*(sucrose+hexose+maltose+beside)
	pull := dry * (sucrose*math.Sqrt(norrishSucrose) + hexose*math.Sqrt(norrishHexose) + maltose*math.Sqrt(norrishMaltose)) / all
	return math.Log(float64(m.Water)/waterMolarMass/all) - pull*pull
}
