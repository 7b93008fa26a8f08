package sugar

import (
	"math"

	"slabside/internal/quantity"
	"slabside/internal/source"
)

// The Starzak-Peacock activity coefficient of water in sucrose solutions:
// ln γ = (Q/RT) x² (1 + a x + b x²).
const (
	activityQ   = -17638   // J/mol
	activityA   = -1.0038  // -
	activityB   = -0.24653 // -
	gasConstant = 8.314462618
)

// The syrup factor: 27.92 g/mol is water's molar mass times the density of dry
// sugar relative to water, 1.55 (the volume fraction of the solids).
const (
	sugarToWaterDensity = 1.55
	syrupFactor         = waterMolarMass * sugarToWaterDensity
)

// The range of the boiling equation [mass fraction of dry solids]. Between
// NumberMaxDry and ActivityMaxDry only a range is honest.
const (
	ActivityMinDry = 0 // water itself
	NumberMaxDry   = 0.982
	ActivityMaxDry = 0.996
)

// The temperatures at which water activity is asked [°C]. Far below boiling the
// equation is weak: see [PropertiesOf].
const (
	activityMinC = 20
	activityMaxC = 180
	// Below activityCoolC the driest mixture is activityCoolDry.
	activityCoolC   = 100
	activityCoolDry = 0.98
)

// WaterActivity returns the activity of water (0 to 1) over the mixture at t:
//
//	aw = (1 − x) exp[−(17638/RT) x² (1 − 1.0038x − 0.24653x²)] · s
//	s  = exp[φ · 27.92 (1/342.3 − 1/M̄)],  φ = (w/1.55)/(w/1.55 + 1 − w)
//
// where x is the mole fraction of solute as if all of it were sucrose, w the
// mass fraction of dry solids, M̄ their number-average molar mass [g/mol]. In water
// with little in it that is Raoult's law for M̄, whatever the solute. Acid and salt
// beside the sugars count with every particle they fall into: ±half of what they
// take off, below 0.3 K at the boil for 1 % of any.
//
// Range 0 to 99.6 % dry solids, 20 to 180 °C; below 100 °C no more than 98 %
// solids, since drier and cooler the equation no longer falls as sugar dries.
// Above 98.2 % dry solids it is outside its fit ([AtEdge]); below about 60 °C it
// is too low by up to 0.1 and is no guide to keeping.
//
// Reference: Starzak & Peacock 1997 (source key starzak1997); the syrup factor is
// this program's own, checked against syrup tables (docs/validation.md).
func WaterActivity(m Mixture, t quantity.Celsius) (float64, error) {
	if err := checkActivity(m, t); err != nil {
		return 0, err
	}
	return math.Exp(newBrew(m.Solids).lnActivity(float64(m.Water), t.Kelvin())), nil
}

// WaterActivityWith is [WaterActivity] with the error of the boiling equation
// applied: z standard deviations of [BoilModelSD].
func WaterActivityWith(m Mixture, t quantity.Celsius, z float64) (float64, error) {
	if err := checkActivity(m, t); err != nil {
		return 0, err
	}
	return math.Exp(newBrew(m.Solids).lnActivity(unshiftWater(m, z), t.Kelvin())), nil
}

func checkActivity(m Mixture, t quantity.Celsius) error {
	if err := checkTemp(t, activityMinC, activityMaxC, source.Starzak1997); err != nil {
		return err
	}
	driest := float64(ActivityMaxDry)
	if t < activityCoolC {
		driest = activityCoolDry
	}
	return m.check(ActivityMinDry, driest, source.Starzak1997)
}

// brew is what the activity kernel needs of the dry solids.
type brew struct {
	syrup float64 // 27.92 (1/342.3 − 1/M̄)
}

func newBrew(s Solids) brew {
	return brew{syrup: syrupFactor * (1/sucroseMolarMass - s.inverseMolarMass())}
}

// lnActivity is the logarithm of water activity at a mass fraction of water and
// a temperature [K].
func (b brew) lnActivity(water, tempK float64) float64 {
	ideal, slope := b.parts(water)
	return ideal - slope/tempK
}

// parts splits the logarithm of water activity: ideal − slope/T, slope in K.
func (b brew) parts(water float64) (ideal, slope float64) {
	dry := 1 - water
	sugar, wet := dry/sucroseMolarMass, water/waterMolarMass
	x := sugar / (sugar + wet)
	volume := dry / sugarToWaterDensity
	phi := volume / (volume + water)
	ideal = math.Log(wet/(sugar+wet)) + phi*b.syrup
	slope = -activityQ / gasConstant * x * x * (1 + activityA*x + activityB*x*x)
	return ideal, slope
}
