package boil

import (
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// AirPressure returns the pressure under which this room boils [Pa] with its 5 %
// and 95 % points: what the weather does around the altitude's mean, or what a
// barometer read today may be off by.
func AirPressure(room rig.Room) (q.Estimate, error) {
	p, read, err := Pressure(room)
	if err != nil {
		return q.Estimate{}, err
	}
	half := ninety * weatherSD
	if read {
		half = ninety * barometerSD
	}
	return q.Estimate{Value: float64(p), Low: float64(p) - half, High: float64(p) + half, Basis: q.Estimated}, nil
}
