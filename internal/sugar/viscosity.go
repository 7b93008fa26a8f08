package sugar

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// The Vogel-Fulcher-Tammann line through the glass transition: two numbers
// fitted to sucrose solutions of 60 to 74 %, 1e12 Pa s imposed at Tg.
const (
	vftAt0   = -4.8   // log10 Pa s at infinite temperature
	vftD     = 7.5    // strength
	vftShare = 0.8376 // T0/Tg
)

// The range of the two viscosity models [mass fraction of dry solids, °C].
const (
	syrupMinDry   = 0.50
	syrupMaxDry   = 0.75
	syrupMinC     = 20
	syrupMaxC     = 100
	vftMinDry     = 0.60
	vftMaxDry     = 0.99
	viscosityMaxC = 160
)

// Viscosity returns the viscosity of the mixture [Pa s], free of grain and air.
//
// For sucrose alone, 50 to 75 % at 20 to 100 °C:
//
//	log10 η(mPa s) = 22.46N − 0.114 + (30−t)/(91+t) (1.1 + 43.1N^1.25),  N = B/(1900−18B)
//
// with B the per cent of solids. For everything else, 60 to 99 % at Tg to 160 °C:
//
//	log10 η(Pa s) = −4.8 + 7.5 T0/(T−T0)/2.3026,  T0 = 0.8376 Tg
//
// Error [ViscosityLogSD]: a factor of three in the candy range.
//
// Reference: source key genotelle1978; the second line is fitted to source key crc.
func Viscosity(m Mixture, t quantity.Celsius) (pascalSeconds float64, err error) {
	if thinSyrup(m, t) {
		if err := m.Solids.Check(); err != nil {
			return 0, err
		}
		return genotelle(m.Dry().Percent(), float64(t)), nil
	}
	glassK, err := vftGlass(m)
	if err != nil {
		return 0, err
	}
	if err := checkTemp(t, glassK-quantity.ZeroCelsius, viscosityMaxC, source.CRC); err != nil {
		return 0, err
	}
	return vft(glassK, t.Kelvin()), nil
}

// TemperatureAtViscosity returns the temperature at which the mixture is as thick
// as the given viscosity [Pa s], by the second line of [Viscosity] and in its
// range: 60 to 99 % solids, answers from Tg to 160 °C.
func TemperatureAtViscosity(m Mixture, pascalSeconds float64) (quantity.Celsius, error) {
	glassK, err := vftGlass(m)
	if err != nil {
		return 0, err
	}
	if !(pascalSeconds > 0) {
		return 0, fault.Invalid("the viscosity %g Pa s is not above zero", pascalSeconds)
	}
	t0 := vftShare * glassK
	t := quantity.FromKelvin(t0 + vftD*t0/math.Ln10/(math.Log10(pascalSeconds)-vftAt0))
	thick, thin := vft(glassK, glassK), vft(glassK, viscosityMaxC+quantity.ZeroCelsius)
	if err := within("viscosity", math.Log10(pascalSeconds), math.Log10(thin), math.Log10(thick),
		"(log10 Pa s)", source.CRC); err != nil {
		return 0, err
	}
	return t, nil
}

// ViscosityLogSD returns one standard deviation of the natural logarithm of
// [Viscosity]: 2 % for sucrose syrups to 75 %, 10 % to 75 % otherwise, 15 % to
// 85 %, and a factor of three either way (5 % to 95 %) from 90 %; with glucose
// syrup up to half as much again (5 % to 95 %), as it missed a syrup table.
func ViscosityLogSD(m Mixture, t quantity.Celsius) float64 {
	if thinSyrup(m, t) {
		return 0.02
	}
	dry := float64(m.Dry())
	own := ramp(dry, 0.75, 0.85, 0.10, 0.15)
	if dry > 0.85 {
		own = ramp(dry, 0.85, 0.90, 0.15, math.Log(3)/ninety)
	}
	return math.Hypot(own, math.Log(1.5)/ninety*float64(m.Solids.Syrup))
}

// thinSyrup reports whether a mixture is in the range of the table fit.
func thinSyrup(m Mixture, t quantity.Celsius) bool {
	return m.Solids.Sucrose() == 1 &&
		inside(float64(m.Dry()), syrupMinDry, syrupMaxDry) &&
		inside(float64(t), syrupMinC, syrupMaxC)
}

// genotelle is the viscosity of a sucrose solution [Pa s] of a percentage of solids.
func genotelle(percent, tempC float64) float64 {
	n := percent / (1900 - 18*percent)
	return math.Pow(10, 22.46*n-0.114+(30-tempC)/(91+tempC)*(1.1+43.1*math.Pow(n, 1.25))) / 1000
}

// vftGlass checks a mixture for the second line and returns its glass transition [K].
func vftGlass(m Mixture) (float64, error) {
	if err := m.check(vftMinDry, vftMaxDry, source.CRC); err != nil {
		return 0, err
	}
	glass, err := GlassTransition(m)
	return glass.Kelvin(), err
}

// vft is the viscosity [Pa s] at a temperature [K] above the glass transition [K].
func vft(glassK, tempK float64) float64 {
	t0 := vftShare * glassK
	return math.Pow(10, vftAt0+vftD*t0/(tempK-t0)/math.Ln10)
}
