package boil

import (
	"math"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// Specific heats [kJ/kgK] of what stands beside the sugar phase: handbook values,
// from memory.
const (
	fatHeat   = 2.1
	apartHeat = 1.6
)

// panHeat returns the specific heat of a pan [kJ/kgK] (handbook values, from memory).
func panHeat(m rig.Material) float64 {
	switch m {
	case rig.Copper, rig.TinnedCopper, rig.Brass, rig.Bronze:
		return 0.385
	case rig.Aluminium:
		return 0.90
	}
	return 0.49 // steels
}

// surfaceLoss is what an open pan gives to the room [W/m²K], by convection and
// radiation together: 14 to 16 between 80 and 120 °C (source key model-heat).
const surfaceLoss = 15

// boilSteps divides the boil; each step takes the same share of the water that is
// left.
const boilSteps = 64

// warmSteps divides the warming to the boil, in which the loss to the room grows
// from nothing.
const warmSteps = 8

// firing is the heat a boil takes, step by step along the boiling curve.
type firing struct {
	pot    Makeup    // before the boil
	airC   float64   // °C
	heat   []float64 // J into pan and charge, a step; the first warmSteps warm it to the boil
	lossW  []float64 // W to the room, by step
	upTo   []float64 // °C at the end of the step
	water  []float64 // kg in the pot at the end of the step
	perKg  float64   // J per kg of water at the very end, warming included
	rise   float64   // J/K of pan and charge at the end, evaporation included
	waterK float64   // kg of water at the lift
}

// fire works out the heat of a boil of the pot down to a mass of water under p.
//
//	Q = ∫ L(w, T) dm + ∫ [(1 + m) cp(w, T) S + Σ c_i M_i] dT
//
// with S the dry matter of the sugar phase, m its water per kg, and c_i M_i the
// pan, the fat and what lies apart. Fault: out of range beyond the properties'
// ranges (160 °C).
func fire(pot Makeup, waterKg float64, k rig.Kettle, p q.Pascals, airC float64) (firing, error) {
	s, phase := pot.Solids(), pot.Phase()
	own := (float64(k.Mass)*panHeat(k.Material) + pot.Fat*fatHeat + pot.Apart*apartHeat) * 1e3 // J/K
	f := firing{pot: pot, airC: airC, waterK: waterKg}
	area := lossArea(k, pot)
	from, to := (pot.Water+pot.Spirit)/phase, waterKg/phase
	if from < to {
		return firing{}, fault.Invalid("the charge holds less water than the boil is to end with")
	}
	mix := func(m float64) sugar.Mixture { return sugar.Mix(s, q.Fraction(m/(1+m))) }
	boil := func(m float64) (float64, error) {
		t, err := sugar.BoilingPoint(mix(m), p)
		return float64(t), err
	}
	last, err := boil(from)
	if err != nil {
		return firing{}, err
	}
	step := func(heat, meanC, endC, endM float64) {
		f.heat = append(f.heat, heat)
		f.lossW = append(f.lossW, surfaceLoss*area*math.Max(meanC-airC, 0))
		f.upTo = append(f.upTo, endC)
		f.water = append(f.water, endM*phase)
	}
	for i := range warmSteps {
		lowC, highC := airC+(last-airC)*float64(i)/warmSteps, airC+(last-airC)*float64(i+1)/warmSteps
		cp, err := sugar.HeatCapacity(mix(from), q.Celsius(math.Max((lowC+highC)/2, float64(sugar.PropertyMinC))))
		if err != nil {
			return firing{}, err
		}
		step((cp*1e3*(1+from)*phase+own)*(highC-lowC), (lowC+highC)/2, highC, from)
	}
	m := from
	for i := 1; i <= boilSteps; i++ {
		next := from * math.Pow(to/from, float64(i)/boilSteps)
		t, err := boil(next)
		if err != nil {
			return firing{}, err
		}
		mid, midC := (m+next)/2, (last+t)/2
		latent, err := sugar.LatentHeat(mix(mid), q.Celsius(midC))
		if err != nil {
			return firing{}, err
		}
		cp, err := sugar.HeatCapacity(mix(mid), q.Celsius(midC))
		if err != nil {
			return firing{}, err
		}
		warm := (cp*1e3*(1+mid)*phase + own) * (t - last)
		off := (m - next) * phase
		step(latent*1e3*off+warm, midC, t, next)
		if off > 0 {
			f.perKg, f.rise = (latent*1e3*off+warm)/off, (latent*1e3*off+warm)/(t-last)
		}
		m, last = next, t
	}
	return f, nil
}

// lossArea is the surface of an open pan that loses heat to the room [m²]: its
// mouth and the upper half of its side.
func lossArea(k rig.Kettle, pot Makeup) float64 {
	r := panRadius(k, pot)
	return 2 * math.Pi * r * r
}

// panRadius is the radius of a round pan as deep as its radius [m]. Without a
// volume, twice the charge's is taken.
func panRadius(k rig.Kettle, pot Makeup) float64 {
	litres := float64(k.Volume)
	if litres <= 0 {
		litres = 2 * pot.Mass() / 1.35
	}
	return math.Cbrt(litres / 1000 / math.Pi)
}

// intoPan returns the heat that charge and pan take up [J].
func (f firing) intoPan() float64 {
	sum := 0.0
	for _, h := range f.heat {
		sum += h
	}
	return sum
}

// lit returns how long the flame burns [s] with a power into the pan, and how
// long from a true temperature to the end.
func (f firing) lit(powerW, holdC float64) (total, watch float64, err error) {
	before := math.Inf(-1)
	for i, h := range f.heat {
		net := powerW - f.lossW[i]
		if net <= 0 {
			return 0, 0, tooWeak(powerW)
		}
		dt := h / net
		total += dt
		switch {
		case before >= holdC:
			watch += dt
		case f.upTo[i] > holdC && i >= warmSteps:
			watch += dt * (f.upTo[i] - holdC) / (f.upTo[i] - before)
		}
		before = f.upTo[i]
	}
	return total, watch, nil
}

// drier returns what [firing.lit] does for a boil that ends with more water than the
// nominal one by extraKg, or less.
func (f firing) drier(total, watch, powerW, extraKg float64) (float64, float64) {
	last := -extraKg * f.perKg / (powerW - f.lossW[len(f.lossW)-1])
	// A much wetter end cannot save more than there is.
	return math.Max(total+last, total/2), math.Max(watch+last, 0)
}

func tooWeak(powerW float64) error {
	return fault.Invalid("the fire gives %.2f kW into the pan, no more than it loses to the room", powerW/1e3).
		WithHint("check the kettle's burner and efficiency")
}

// efficiencyAt returns the share of the burner's heat that reaches the pan, z
// standard deviations from its middle. The stated low and high are its 5 % and 95 %
// points; without them ±10 points (source key practice: 35 to 55 % sunk in a
// ring, 25 to 40 % on a range top).
func efficiencyAt(k rig.Kettle, z float64) float64 {
	mid := float64(k.Efficiency)
	low, high := float64(k.EfficiencyLow), float64(k.EfficiencyHigh)
	if low == 0 && high == 0 {
		low, high = mid-0.10, mid+0.10
	}
	half := high - mid
	if z < 0 {
		half = mid - low
	}
	return min(max(mid+z*half/ninety, mid/3), 0.95)
}
