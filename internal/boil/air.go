package boil

import (
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

// Pressure returns the pressure under which this room boils, and whether it was
// read on a barometer (otherwise it is the standard atmosphere of the altitude).
func Pressure(room rig.Room) (p q.Pascals, read bool, err error) {
	if room.StationPressure > 0 {
		return room.StationPressure, true, nil
	}
	p, err = sugar.StandardAtmosphere(room.Altitude)
	return p, false, err
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
