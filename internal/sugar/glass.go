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
	glassAcidK     = 11 + quantity.ZeroCelsius // citric acid (source key lu-zografi1997)
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
// 2.56 K lower for every DE more, which is a line in 1/M̄ of its sugars. The sugars of
// a syrup are not mixed one by one: that gives 117 °C for 42 DE. Acid and salt
// beside the sugars count as citric acid, 11 °C.
//
// Range 60 to 100 % dry solids; with syrup, 20 to 60 DE. Error [GlassSD].
//
// Reference: source keys roos1993, roos-karel1991, johari1987.
func GlassTransition(m Mixture) (quantity.Celsius, error) {
	if err := m.check(GlassMinDry, 1, source.Roos1993); err != nil {
		return 0, err
	}
	if m.Solids.Syrup > 0 {
		if err := m.Solids.checkGlass(); err != nil {
			return 0, err
		}
	}
	return quantity.FromKelvin(glassK(m)), nil
}

// checkGlass checks a syrup's DE against the line its glass transition lies on.
func (s Solids) checkGlass() error {
	return within("dextrose equivalent", s.dextrose(), MinDE, GlassMaxDE, "DE", source.RoosKarel1991)
}

// WaterAtGlass returns the mass fraction of water at which the solids are a glass up
// to t and no warmer: the inverse of [GlassTransition], and the moisture at which
// they begin to stick at t,
//
//	1−w = k (Tg−Tw) / (Td − Tg + k (Tg−Tw))
//
// Range 0 to 40 % water; with syrup, 20 to 60 DE. Error: that of the glass
// transition, [GlassSD], is about 0.6 point of water.
func WaterAtGlass(s Solids, t quantity.Celsius) (quantity.Fraction, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	if s.Syrup > 0 {
		if err := s.checkGlass(); err != nil {
			return 0, err
		}
	}
	low, high := glassK(Mix(s, 1-GlassMinDry)), dryGlassK(s)
	if err := checkTemp(t, low-quantity.ZeroCelsius, high-quantity.ZeroCelsius, source.Roos1993); err != nil {
		return 0, err
	}
	gap := high - t.Kelvin()
	water := gap / (gap + gordonTaylor*(t.Kelvin()-glassWaterK))
	return quantity.Fraction(min(1-GlassMinDry, max(0, water))), nil
}

// GlassSD returns one standard deviation of [GlassTransition]: ±5 K on the
// mixing rule, ±8 K on the syrup's own dry glass transition and ±50 K on that of
// acid and salt (all that they lower it by), as 5 % to 95 % half-widths.
func GlassSD(m Mixture) quantity.Kelvins {
	sugars := math.Hypot(5, 8*float64(m.Solids.Syrup))
	return quantity.Kelvins(math.Hypot(sugars, 50*float64(m.Solids.Beside.Share)) / ninety)
}

// glassK is the glass transition [K].
func glassK(m Mixture) float64 {
	wet := gordonTaylor * float64(m.Water)
	dry := float64(m.Dry())
	return (dry*dryGlassK(m.Solids) + wet*glassWaterK) / (dry + wet)
}

// dryGlassK is the glass transition of the solids free of water [K].
func dryGlassK(s Solids) float64 {
	syrupK := glassSyrup42K + glassPerDE*(s.dextrose()-DefaultDE)
	invert := 0.5/glassGlucoseK + 0.5/glassFructoseK
	return 1 / (float64(s.Sucrose())/glassSucroseK + float64(s.Syrup)/syrupK + float64(s.Invert)*invert +
		float64(s.Beside.Share)/glassAcidK)
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
