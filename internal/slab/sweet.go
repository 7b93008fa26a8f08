package slab

import (
	"math"

	"slabside/internal/heat"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Thickness is a viscosity at which something can be done, as log10 of Pa s.
type Thickness float64

// The thicknesses (source key model-sugar, its working windows; those of the edge, of the
// break and of acid are judgement, source key practice: an edge lifts clean after one to
// two minutes on cooled steel and two to three on marble).
const (
	EdgeLifts  Thickness = 4.8 // the lower quarter of the band along the edge comes off the plate in one piece
	PullsFrom  Thickness = 4.2
	PullsTo    Thickness = 5.3
	RollsFrom  Thickness = 5.0 // softer, it sticks to the rolls and the print runs
	RollsTo    Thickness = 6.3 // stiffer, it cracks and will not weld
	CarriesAll Thickness = 7.5 // a sheet keeps its print and can be carried
)

// The temperatures between which powdered acid is folded in: hotter, it inverts sugar,
// and below it stays gritty (source key practice).
const (
	AcidFrom q.Celsius = 110
	AcidTo   q.Celsius = 95
)

// Off is how far a sweet is off the models, each in standard deviations of its own error.
type Off struct {
	Thick    float64 // viscosity
	Stands   float64 // glass transition
	Capacity float64 // heat capacity
	Conducts float64 // conductivity
}

// Sweet is a mass of sugar as it is worked.
type Sweet struct {
	Matter heat.Matter

	mix sugar.Mixture
	off Off
	per float64 // K the windows move for one of the glass transition, over 273 K
}

// The enthalpies are tabulated over the range of the property models [°C].
const coldest, hottest = sugar.PropertyMinC, sugar.PropertyMaxC

// NewSweet returns a mixture as it is worked. Its faults are those of package sugar.
func NewSweet(mix sugar.Mixture, off Off) (Sweet, error) {
	s := Sweet{mix: mix, off: off}
	if _, err := sugar.Enthalpy(mix, hottest); err != nil {
		return Sweet{}, err
	}
	rel := math.Exp(off.Capacity * sugar.HeatCapacityRelSD(mix))
	curve, err := heat.NewCurve(coldest, hottest, func(tempC float64) float64 {
		kj, err := sugar.Enthalpy(mix, q.Celsius(tempC))
		if err != nil {
			return math.NaN()
		}
		return rel * kj * 1e3
	})
	if err != nil {
		return Sweet{}, err
	}
	const cool, warm = 60, 120
	atCool, err := sugar.Conductivity(mix, cool)
	if err != nil {
		return Sweet{}, err
	}
	atWarm, err := sugar.Conductivity(mix, warm)
	if err != nil {
		return Sweet{}, err
	}
	density, err := sugar.Density(mix, 100)
	if err != nil {
		return Sweet{}, err
	}
	k := math.Exp(off.Conducts * sugar.ConductivityRelSD(mix))
	slope := (atWarm - atCool) / (warm - cool)
	s.Matter = heat.Matter{Heat: curve, Density: density * 1e3, K: k * (atCool - cool*slope), KPer: k * slope}
	glass, err := sugar.GlassTransition(mix)
	if err != nil {
		return Sweet{}, err
	}
	s.per = float64(sugar.GlassSD(mix)) / (float64(glass) + q.ZeroCelsius)
	return s, nil
}

// At returns the temperature [°C] at which the sweet is so thick. The whole curve of
// thickness moves with the glass transition, in proportion to absolute temperature.
func (s Sweet) At(t Thickness) (tempC float64, err error) {
	middle, err := sugar.TemperatureAtViscosity(s.mix, math.Pow(10, float64(t)))
	if err != nil {
		return 0, err
	}
	if s.off.Thick != 0 {
		sd := sugar.ViscosityLogSD(s.mix, middle) / math.Ln10
		if middle, err = sugar.TemperatureAtViscosity(s.mix, math.Pow(10, float64(t)-s.off.Thick*sd)); err != nil {
			return 0, err
		}
	}
	return float64(middle) + s.off.Stands*s.per*(float64(middle)+q.ZeroCelsius), nil
}
