package inversion

import (
	"slabside/internal/fault"
	"slabside/internal/source"
)

// slack forgives the rounding of one minus a share.
const slack = 1e-9

// within returns an out-of-range fault unless low ≤ v ≤ high, but for rounding.
func within(name string, v, low, high float64, unit string) error {
	edge := slack * (high - low)
	if v >= low-edge && v <= high+edge {
		return nil
	}
	return fault.OutOfRange(name, v, low, high, unit, string(source.Vukov1965))
}
