package boil

import (
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// What the pressure may be off by [Pa], one standard deviation. Weather moves the
// station pressure by about 1 kPa around the altitude's mean (±1.5 kPa or so, 5 %
// to 95 %); a barometer read today is good to 1 or 2 hPa with what the day adds.
const (
	weatherSD   = 1000
	barometerSD = 100
)

// PressureSlack is the share by which weather moves a barometer at most, at one place
// (common practice, no source).
const PressureSlack = 0.05

// Pressure returns the pressure under which this room boils, and whether it was
// read on a barometer (otherwise it is the standard atmosphere of the altitude).
//
// Faults: invalid for a reading higher than the room's altitude ever has, which is one
// reduced to sea level; out of range for an altitude beyond the atmosphere's formula.
func Pressure(room rig.Room) (p q.Pascals, read bool, err error) {
	p, err = sugar.StandardAtmosphere(room.Altitude)
	if room.StationPressure == 0 {
		return p, false, err
	}
	if err == nil && room.StationPressure > p*(1+PressureSlack) {
		return 0, true, fault.Invalid("%.0f hPa is more than the air ever weighs at %.0f m: it looks reduced to sea level", float64(room.StationPressure)/100, float64(room.Altitude)).
			At("pressure").WithHint("give what a barometer in the room shows, some %.0f hPa", float64(p)/100)
	}
	return room.StationPressure, true, nil
}

// pressures returns the pressure's draws, one column for the whole shop. A draw
// stays inside the range of the boiling equation.
func pressures(p q.Pascals, read bool, e numeric.Ensemble) []float64 {
	sd := float64(weatherSD)
	if read {
		sd = barometerSD
	}
	c := e.Normal("shop:pressure")
	for i, z := range c {
		c[i] = min(max(float64(p)+z*sd, float64(sugar.MinPressure)), float64(sugar.MaxPressure))
	}
	return c
}
