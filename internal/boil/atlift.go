package boil

import (
	"math"

	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// AtLift is what a boil as intended looks like at the lift, by the middle figures,
// for what is seen there to be held against.
type AtLift struct {
	Solids     sugar.Solids
	DryKg      float64 // in the kettle
	PhaseKg    float64 // of it, the sugar phase
	OwnSDKg    float64 // of the dry matter: how it was weighed
	Shared     []SharedDry
	Water      float64 // of the sugar phase
	ReadC      float64 // on the glass
	Brought    float64 // share of the finished sweet that additions bring in water, less what flashes
	Pressure   q.Pascals
	PressureSD q.Pascals
	Glass      rig.Glass // as checked
	LitS       float64   // time of flame; 0 without a fire

	p *Plan
}

// SharedDry is how much more dry matter a delivery may bring than is stated, the same
// in every boil of it.
type SharedDry struct {
	Ingredient string
	SDKg       float64
}

// AtLift returns the lift of the plan.
func (p *Plan) AtLift() AtLift {
	lift := p.nominal.Lift
	a := AtLift{p: p, Solids: lift.Solids(), DryKg: lift.Dry(), PhaseKg: lift.Phase(), Water: p.target.water, ReadC: p.dial(),
		Pressure: p.pressure, PressureSD: weatherSD, Glass: p.glass}
	if p.read {
		a.PressureSD = barometerSD
	}
	own := 0.0
	put := func(i int, mass float64, solids, half float64) {
		d := p.Weighings[i].spread() * solids
		own += d * d
		if half > 0 && mass > 0 {
			a.Shared = append(a.Shared, SharedDry{p.Weighings[i].Ingredient, mass * half / ninety})
		}
	}
	for i, l := range p.in.Charge.Lines {
		solids, _ := stated(l.Ingredient)
		put(i, float64(l.Mass), solids, solidsHalf(l.Ingredient, solids))
	}
	for i, d := range p.in.Additions {
		if d.Stage == recipe.AtBoil {
			solids, _ := stated(d.Ingredient)
			put(len(p.in.Charge.Lines)+i, p.doses[i], solids, solidsHalf(d.Ingredient, solids))
		}
	}
	a.OwnSDKg = math.Sqrt(own)
	if whole := p.nominal.whole(); whole.Mass() > 0 {
		kept := lift.WaterFrac() // of what is poured, the additions aside
		a.Brought = whole.WaterFrac() - kept
	}
	if p.fire != nil {
		a.LitS, _, _ = p.fire.lit(p.power(), p.holdHere()) // a fire that is too weak has no plan
	}
	return a
}

// BoilsAt returns the true temperature at which the sugar holds a share of water
// [°C], where the boiling equation is off by z standard deviations.
func (a AtLift) BoilsAt(water, z float64) (float64, error) {
	t, err := sugar.BoilingPointWith(sugar.Mix(a.Solids, q.Fraction(water)), a.Pressure, z)
	return float64(t), err
}

// WaterAt returns the share of water in the sugar at a true temperature [°C].
func (a AtLift) WaterAt(tempC, z float64) (float64, error) {
	return outcome(a.Solids, tempC, float64(a.Pressure), z)
}

// WaterByWeight returns the share of water in the sugar by what the kettle holds
// [kg], and what a kilogram more of dry matter takes off that share [1/kg].
func (a AtLift) WaterByWeight(netKg float64) (water, perDryKg float64) {
	wet := netKg - a.DryKg
	whole := wet + a.PhaseKg
	return wet / whole, 1 / whole
}

// LitWith returns the time of flame with the efficiency z standard deviations from
// its middle, in place of what the plan holds [s]; false without a fire.
func (a AtLift) LitWith(z float64) (float64, bool) {
	if a.p.fire == nil {
		return 0, false
	}
	k := *a.p.in.Kettle
	lit, _, err := a.p.fire.lit(float64(k.Burner)*efficiencyAt(k, z), a.p.holdHere())
	return lit, err == nil
}

// WholeWater turns a share of water in the sugar into one of the whole in the kettle.
func (a AtLift) WholeWater(water float64) float64 {
	wet := water / (1 - water) * a.PhaseKg
	return wet / (wet + a.DryKg)
}

// SugarWater turns a share of water of the whole in the kettle into one of the sugar.
func (a AtLift) SugarWater(whole float64) float64 {
	wet := whole / (1 - whole) * a.DryKg
	return wet / (wet + a.PhaseKg)
}

// StandsUp returns what the finished sweet of this boil stands up to had its sugar held
// another share of water at the lift: the least of its portions, by the middle
// figures [°C].
func (a AtLift) StandsUp(water float64) (float64, error) {
	w := a.p.middle()
	w.water = water
	b, err := run(w, a.p.in.Additions, a.p.portions)
	if err != nil {
		return 0, err
	}
	least := math.Inf(1)
	for _, m := range b.Portions {
		t, err := a.p.standsAt(m)
		if err != nil {
			return 0, err
		}
		least = math.Min(least, float64(t))
	}
	return least, nil
}

// GlassSpread is one standard deviation of what the glass reads, beyond its checks
// [K], and of one reading of it.
func (a AtLift) GlassSpread() (class, reading float64) {
	return float64(a.Glass.Class) / ninety, float64(a.Glass.Division) / math.Sqrt(12)
}

// PerPascal returns how much hotter the sugar boils under a pascal more [K/Pa].
func (a AtLift) PerPascal(water float64) float64 {
	const step = 500
	m := sugar.Mix(a.Solids, q.Fraction(water))
	high, err1 := sugar.BoilingPoint(m, a.Pressure+step)
	low, err2 := sugar.BoilingPoint(m, a.Pressure-step)
	if err1 != nil || err2 != nil {
		return 0
	}
	return float64(high-low) / (2 * step)
}

// Efficiency returns the share of the burner's heat that reaches the pan, z standard
// deviations from its middle.
func (a AtLift) Efficiency(z float64) float64 { return efficiencyAt(*a.p.in.Kettle, z) }
