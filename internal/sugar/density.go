package sugar

import (
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// GlassDensity is the density of clear hard candy, a glass free of air [kg/L]:
// amorphous sucrose is 1.507, drops 1.4 to 1.5 (source keys mathlouthi1995,
// practice).
const GlassDensity = 1.50

// The temperatures of the property equations [°C]: from a cool slab to the end
// of the boil.
const (
	PropertyMinC = 20
	PropertyMaxC = 160
)

// Density returns the density of the mixture [kg/L], free of air:
//
//	1/ρ = (1−w)/ρ_w(t) + w v(w) [1 + 5.0e−4 (t−20)]
//	v(w) = 0.61626 + 0.00661w + 0.02094w² L/kg
//
// with ρ_w the density of water; below the glass transition [GlassDensity].
//
// Range 0 to 100 % dry solids, 20 to 160 °C. Checked to 84 % at 20 °C; the candy
// range is an extension of the same curve, ±1 %. Pulled sugar is lighter by its air.
//
// Reference: fitted to the tables of source key crc; water by source key kell1975.
func Density(m Mixture, t quantity.Celsius) (kgPerLitre float64, err error) {
	if err := m.check(0, 1, source.CRC); err != nil {
		return 0, err
	}
	if err := checkTemp(t, PropertyMinC, PropertyMaxC, source.CRC); err != nil {
		return 0, err
	}
	glass, err := isGlass(m, t)
	if err != nil {
		return 0, err
	}
	if glass {
		return GlassDensity, nil
	}
	dry := float64(m.Dry())
	volume := (1-dry)/waterDensity(float64(t)) +
		dry*(0.61626+0.00661*dry+0.02094*dry*dry)*(1+5.0e-4*(float64(t)-20))
	return 1 / volume, nil
}

// DensityRelSD returns one standard deviation of [Density] as a share of it:
// 0.1 % where the equation was checked, 1 % half-width from 90 % solids.
func DensityRelSD(m Mixture) float64 {
	const checked, candy = 0.001, 0.01 / ninety
	return ramp(float64(m.Dry()), 0.84, 0.90, checked, candy)
}

// waterDensity is the density of liquid water [kg/L] at a temperature [°C],
// Kell's equation for 0 to 150 °C; ten degrees further it is within 0.05 % of
// steam tables.
func waterDensity(tempC float64) float64 {
	poly := 999.83952 + tempC*(16.945176+tempC*(-7.9870401e-3+tempC*(-46.170461e-6+
		tempC*(105.56302e-9-tempC*280.54253e-12))))
	return poly / (1 + 16.879850e-3*tempC) / 1000
}

// ramp goes from a to b as x goes from low to high, and is level outside.
func ramp(x, low, high, a, b float64) float64 {
	return a + (b-a)*min(1, max(0, (x-low)/(high-low)))
}
