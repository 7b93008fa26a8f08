package sugar

import (
	"math"

	"slabside/internal/quantity"
	"slabside/internal/source"
)

// Glass transitions of the dry sugars and of water [K], and the Gordon-Taylor
// constant of sugar with water.
const (
	glassWaterK    = 136
	glassSucroseK  = 62 + quantity.ZeroCelsius // onset
	glassGlucoseK  = 31 + quantity.ZeroCelsius
	glassFructoseK = 5 + quantity.ZeroCelsius
	glassSyrup42K  = 85 + quantity.ZeroCelsius // effective, of 42 DE syrup solids
	glassPerDE     = -2.56                     // K per DE, a line through DE 20 and DE 36
	gordonTaylor   = 4.7
)

// The range of the glass transition: dry solids [mass fraction] and, where there
// is syrup, its DE.
const (
	GlassMinDry = 0.60
	GlassMaxDE  = 60
)

// GlassTransition returns the temperature below which the mixture is a glass
// (onset):
//
//	Tg = (w Td + k (1−w) Tw) / (w + k (1−w)) K,  k = 4.7, Tw = 136 K
//	1/Td = Σ f_i/Tg_i over the dry sugars
//
// with sucrose 62 °C, glucose 31, fructose 5, and glucose syrup 85 °C at 42 DE,
// 2.56 K lower for every DE more.
//
// Range 60 to 100 % dry solids; with syrup, 20 to 60 DE. Error [GlassSD].
//
// Reference: source keys roos1993, roos-karel1991, johari1987.
func GlassTransition(m Mixture) (quantity.Celsius, error) {
	if err := m.check(GlassMinDry, 1, source.Roos1993); err != nil {
		return 0, err
	}
	if m.Solids.Syrup > 0 {
		if err := within("dextrose equivalent", m.Solids.dextrose(), MinDE, GlassMaxDE, "DE", source.RoosKarel1991); err != nil {
			return 0, err
		}
	}
	return quantity.FromKelvin(glassK(m)), nil
}

// GlassSD returns one standard deviation of [GlassTransition]: ±5 K on the
// mixing rule and ±8 K on the syrup's own dry glass transition, as 5 % to 95 %
// half-widths.
func GlassSD(m Mixture) quantity.Kelvins {
	return quantity.Kelvins(math.Hypot(5, 8*float64(m.Solids.Syrup)) / ninety)
}

// glassK is the glass transition [K].
func glassK(m Mixture) float64 {
	s := m.Solids
	syrupK := glassSyrup42K + glassPerDE*(s.dextrose()-DefaultDE)
	invert := 0.5/glassGlucoseK + 0.5/glassFructoseK
	dryK := 1 / (float64(s.Sucrose())/glassSucroseK + float64(s.Syrup)/syrupK + float64(s.Invert)*invert)
	wet := gordonTaylor * float64(m.Water)
	dry := float64(m.Dry())
	return (dry*dryK + wet*glassWaterK) / (dry + wet)
}

// isGlass reports whether the mixture is a glass at t. A syrup above 60 DE has
// no stated glass transition, but none of its sugars stands above that of
// sucrose: warmer than 62 °C every such mixture is a liquid, cooler the fault is
// out of range.
func isGlass(m Mixture, t quantity.Celsius) (bool, error) {
	if m.Dry() < GlassMinDry {
		return false, nil // no mixture that wet is a glass above −60 °C
	}
	if m.Solids.Syrup > 0 && m.Solids.dextrose() > GlassMaxDE && t.Kelvin() > glassSucroseK {
		return false, nil
	}
	glass, err := GlassTransition(m)
	return t < glass, err
}
