package sugar

import (
	"math"
	"slices"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// State is a mixture at a temperature under a pressure.
type State struct {
	Mixture  Mixture
	At       quantity.Celsius
	Pressure quantity.Pascals // the station pressure the boiling point is asked for
}

// Properties is everything this package knows of one state. A property outside
// its own range is nil, and a caution says why.
type Properties struct {
	BoilingC         *quantity.Estimate `json:"boiling_c"`
	WaterActivity    *quantity.Estimate `json:"water_activity"`
	DensityKgL       *quantity.Estimate `json:"density_kg_l"`
	ViscosityPaS     *quantity.Estimate `json:"viscosity_pa_s"`
	HeatCapacityKJKg *quantity.Estimate `json:"heat_capacity_kj_kgk"`
	ConductivityWMK  *quantity.Estimate `json:"conductivity_w_mk"`
	GlassC           *quantity.Estimate `json:"glass_c"`
	Cautions         []Caution          `json:"cautions"`
	Sources          []source.Key       `json:"sources"`
}

// PropertiesOf returns every property of a state, each as an estimate with the
// 5 % and 95 % points of its model's error.
//
// It answers with a fault only for a make-up that cannot be, or for water,
// temperature or pressure that is no physical quantity; a property outside its
// own range is nil with a caution.
func PropertiesOf(s State) (Properties, error) {
	m := s.Mixture
	if err := m.Solids.Check(); err != nil {
		return Properties{}, err
	}
	if !isShare(m.Water) {
		return Properties{}, fault.Invalid("the water content %s is not between 0 %% and 100 %%",
			quantity.Plain.Percent(m.Water, 2)).WithHint("give the solids as a share of the whole, such as 97 %%")
	}
	if !(s.At.Kelvin() > 0 && !math.IsInf(float64(s.At), 1)) {
		return Properties{}, fault.Invalid("the temperature %g °C is not a temperature", float64(s.At))
	}
	if !(s.Pressure > 0 && !math.IsInf(float64(s.Pressure), 1)) {
		return Properties{}, fault.Invalid("the pressure %g Pa is not a pressure", float64(s.Pressure))
	}
	p := Properties{Cautions: []Caution{}, Sources: []source.Key{}}
	p.boiling(s)
	p.activity(s)
	p.DensityKgL = p.relative("density", DensityRelSD(m), source.CRC)(Density(m, s.At))
	p.viscosity(s)
	p.HeatCapacityKJKg = p.relative("heat capacity", HeatCapacityRelSD(m), source.Bubnik1995)(HeatCapacity(m, s.At))
	p.ConductivityWMK = p.relative("conductivity", ConductivityRelSD(m), source.Riedel1949)(Conductivity(m, s.At))
	glass, err := GlassTransition(m)
	spread := float64(GlassSD(m)) * ninety
	p.GlassC = p.keep("glass transition", err,
		estimate(float64(glass), float64(glass)-spread, float64(glass)+spread), source.Roos1993)
	if c, ok := SpectrumCaution(m.Solids); ok {
		p.Cautions = append(p.Cautions, c)
	}
	return p, nil
}

// boiling fills in the boiling point with the caution that belongs to it.
func (p *Properties) boiling(s State) {
	mid, low, high, err := spreadOf(func(z float64) (float64, error) {
		t, err := BoilingPointWith(s.Mixture, s.Pressure, z)
		return float64(t), err
	})
	if AtEdge(s.Mixture.Water) {
		mid = (low + high) / 2
	}
	p.BoilingC = p.keep("boiling point", err, estimate(mid, low, high), source.Starzak1997, source.IAPWSIF97)
	if c, ok := BoilCaution(s.Mixture.Water); ok && err == nil {
		p.Cautions = append(p.Cautions, c)
	}
}

// coolC is the temperature below which the boiling equation is no guide to the
// air that sugar keeps in [°C]: at 25 °C it is 0.1 low.
const coolC = 60

// activity fills in the water activity.
func (p *Properties) activity(s State) {
	mid, low, high, err := spreadOf(func(z float64) (float64, error) {
		return WaterActivityWith(s.Mixture, s.At, -z)
	})
	if AtEdge(s.Mixture.Water) {
		mid = (low + high) / 2
	}
	if s.At < activityCoolC {
		// A draw can reach where the cool equation turns up again with drying.
		low, high = min(low, mid, high), max(low, mid, high)
	}
	if s.At < coolC {
		high = min(1, high+0.1) // the size of the misfit at 25 °C
	}
	p.WaterActivity = p.keep("water activity", err, estimate(mid, low, high), source.Starzak1997)
	if s.At < coolC && err == nil {
		p.Cautions = append(p.Cautions, Caution{CodeCoolActivity, "below 60 °C the boiling equation gives " +
			"a water activity up to 0.1 too low: not a guide to keeping"})
	}
}

// viscosity fills in the viscosity, whose error is a factor.
func (p *Properties) viscosity(s State) {
	eta, err := Viscosity(s.Mixture, s.At)
	wide := ViscosityLogSD(s.Mixture, s.At)
	factor := math.Exp(wide * ninety)
	key := source.CRC
	if thinSyrup(s.Mixture, s.At) {
		key = source.Genotelle1978
	}
	p.ViscosityPaS = p.keep("viscosity", err, estimate(eta, eta/factor, eta*factor), key)
	if err == nil && factor > 2 {
		p.Cautions = append(p.Cautions, Caution{CodeThickGuess, "no measurement checks the viscosity of sugar " +
			"this dry: take it as right to a factor of three"})
	}
}

// relative returns a function that turns a value with a relative standard
// deviation into an estimate.
func (p *Properties) relative(name string, sd float64, keys ...source.Key) func(float64, error) *quantity.Estimate {
	return func(v float64, err error) *quantity.Estimate {
		return p.keep(name, err, estimate(v, v*(1-sd*ninety), v*(1+sd*ninety)), keys...)
	}
}

// keep returns the estimate, or nil with a caution where there was a fault.
func (p *Properties) keep(name string, err error, e quantity.Estimate, keys ...source.Key) *quantity.Estimate {
	if err != nil {
		p.Cautions = append(p.Cautions, outsideCaution(name, err))
		return nil
	}
	for _, k := range keys {
		if !slices.Contains(p.Sources, k) {
			p.Sources = append(p.Sources, k)
		}
	}
	return &e
}

// spreadOf evaluates a model in the middle and at the 5 % and 95 % points of its error.
func spreadOf(f func(z float64) (float64, error)) (mid, low, high float64, err error) {
	if mid, err = f(0); err != nil {
		return 0, 0, 0, err
	}
	if low, err = f(-ninety); err != nil {
		return 0, 0, 0, err
	}
	high, err = f(ninety)
	return mid, low, high, err
}

func estimate(mid, low, high float64) quantity.Estimate {
	return quantity.Estimate{Value: mid, Low: low, High: high, Basis: quantity.Estimated}
}
