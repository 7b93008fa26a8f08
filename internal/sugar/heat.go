package sugar

import (
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// Heat capacity of water and of dry sugar in the melt [kJ/kgK], the melt's rise
// with temperature, and the step down where it becomes a glass.
const (
	waterHeat     = 4.19
	sugarHeat     = 1.83
	sugarHeatRise = 0.0055
	glassHeatStep = 0.60
)

// HeatCapacity returns the specific heat of the mixture [kJ/kgK]:
//
//	cp = 4.19 (1−w) + w [1.83 + 0.0055 (t−20)],  less 0.60w below the glass transition
//
// Range 0 to 100 % dry solids, 20 to 160 °C, all sugar dissolved. Error
// [HeatCapacityRelSD].
//
// Reference: fitted to source key bubnik1995; the step by source key roos1993.
func HeatCapacity(m Mixture, t quantity.Celsius) (kjPerKgK float64, err error) {
	if err := m.check(0, 1, source.Bubnik1995); err != nil {
		return 0, err
	}
	if err := checkTemp(t, PropertyMinC, PropertyMaxC, source.Bubnik1995); err != nil {
		return 0, err
	}
	glass, err := isGlass(m, t)
	if err != nil {
		return 0, err
	}
	cp := liquidHeat(float64(m.Dry()), float64(t))
	if glass {
		cp -= glassHeatStep * float64(m.Dry())
	}
	return cp, nil
}

// HeatCapacityRelSD returns one standard deviation of [HeatCapacity] as a share
// of it: 2.3 % where it was checked, ±5 % half-width in the candy range.
func HeatCapacityRelSD(m Mixture) float64 {
	const checked, candy = 0.023, 0.05 / ninety
	return ramp(float64(m.Dry()), 0.80, 0.90, checked, candy)
}

// liquidHeat is the heat capacity above the glass transition [kJ/kgK].
func liquidHeat(dry, tempC float64) float64 {
	return waterHeat*(1-dry) + dry*(sugarHeat+sugarHeatRise*(tempC-20))
}

// The range of the heat of evaporation [°C].
const (
	latentMinC = 20
	latentMaxC = 180
)

// LatentHeat returns the heat it takes to boil a little water off the mixture
// [kJ per kg of water], the heat of vaporisation of pure water and the heat
// that holds it in the solution:
//
//	2501.07 − 2.39043t + 8.8214e−4t² − 1.44494e−5t³  +  979.1 x² (1 − 1.0038x − 0.24653x²)
//
// with x as in [WaterActivity].
//
// Range 0 to 99.6 % dry solids, 20 to 180 °C. Error, one standard deviation: 0.05 % of
// the first term; of the second, which no table checks, a third is allowed.
//
// Reference: a fit to steam tables (source key iapws-if97); second term by
// differentiation of source key starzak1997.
func LatentHeat(m Mixture, t quantity.Celsius) (kjPerKg float64, err error) {
	if err := m.check(0, ActivityMaxDry, source.Starzak1997); err != nil {
		return 0, err
	}
	if err := checkTemp(t, latentMinC, latentMaxC, source.IAPWSIF97); err != nil {
		return 0, err
	}
	return latentHeat(float64(m.Water), float64(t)), nil
}

// EvaporatedByCooling returns the most water [kg per kg of mixture] that the mixture
// boils off while it cools by k from t, were all its heat to go into it:
//
//	cp k / L
//
// with [HeatCapacity] and [LatentHeat] at t, whose ranges hold. Error that of the heat
// capacity; k below zero is taken as none.
func EvaporatedByCooling(m Mixture, t quantity.Celsius, k quantity.Kelvins) (quantity.Fraction, error) {
	cp, err := HeatCapacity(m, t)
	if err != nil {
		return 0, err
	}
	latent, err := LatentHeat(m, t)
	return quantity.Fraction(cp * max(float64(k), 0) / latent), err
}

// latentHeat is the heat of evaporation [kJ per kg of water].
func latentHeat(water, tempC float64) float64 {
	pure := 2501.07 + tempC*(-2.39043+tempC*(8.8214e-4-tempC*1.44494e-5))
	return pure + solutionHeat(soluteFraction(water))
}

// solutionHeat is the heat that holds water in the solution [kJ/kg].
func solutionHeat(x float64) float64 {
	return -activityQ / waterMolarMass * x * x * (1 + activityA*x + activityB*x*x)
}

// soluteFraction is the mole fraction of solute as if all of it were sucrose.
func soluteFraction(water float64) float64 {
	sugar, wet := (1-water)/sucroseMolarMass, water/waterMolarMass
	return sugar / (sugar + wet)
}

// Conductivity returns the thermal conductivity of the mixture [W/mK]:
//
//	λ = (0.565 + 0.0018t − 5.8e−6t²) (1 − 0.54w),  0.30 below the glass transition
//
// Range 0 to 100 % dry solids, 20 to 160 °C. Error [ConductivityRelSD].
//
// Reference: source key riedel1949 (solutions); the candy range is an extension,
// within ±15 % of source keys parks1941 and mohos2010.
func Conductivity(m Mixture, t quantity.Celsius) (wattPerMetreKelvin float64, err error) {
	if err := m.check(0, 1, source.Riedel1949); err != nil {
		return 0, err
	}
	if err := checkTemp(t, PropertyMinC, PropertyMaxC, source.Riedel1949); err != nil {
		return 0, err
	}
	glass, err := isGlass(m, t)
	if err != nil {
		return 0, err
	}
	if glass {
		return 0.30, nil
	}
	c := float64(t)
	return (0.565 + c*(0.0018-5.8e-6*c)) * (1 - 0.54*float64(m.Dry())), nil
}

// ConductivityRelSD returns one standard deviation of [Conductivity] as a share
// of it: ±5 % for solutions, ±15 % from 80 % solids, as half-widths.
func ConductivityRelSD(m Mixture) float64 {
	return ramp(float64(m.Dry()), 0.60, 0.80, 0.05/ninety, 0.15/ninety)
}
