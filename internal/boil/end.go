package boil

import (
	"math"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/sugar"
)

// End says where a boil ends. Exactly one field is set.
type End struct {
	BoilTo    q.Celsius  // true temperature at 1013.25 hPa: a dryness, wherever it is boiled
	Here      q.Celsius  // true temperature under this room's pressure
	WaterLeft q.Fraction // of the mass in the kettle
	StandsUp  q.Celsius  // what the finished sweet is to stand up to, additions in
}

// EndOf returns the end a recipe asks for.
func EndOf(r recipe.Recipe) End { return End{BoilTo: r.BoilTo, WaterLeft: r.WaterLeft} }

func (e End) check() error {
	set := 0
	for _, v := range []float64{float64(e.BoilTo), float64(e.Here), float64(e.WaterLeft), float64(e.StandsUp)} {
		if v != 0 {
			set++
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fault.Invalid("the end of the boil is not a number")
		}
	}
	if set != 1 {
		return fault.Invalid("the end of the boil must be given once").
			WithHint("give a temperature to boil to, the water left, or what it is to stand up to")
	}
	if e.WaterLeft < 0 || e.WaterLeft >= 1 {
		return fault.Invalid("water left of %s is not between 0 %% and 100 %%", q.Plain.Percent(e.WaterLeft, 2)).At("water_left")
	}
	return nil
}

// target is a boil's end as asked: the water of the sugar phase by the boiling
// equation, and the true temperature at which it is reached here.
type target struct {
	water float64 // of the sugar phase, mass fraction
	tempC float64
}

// targetOf returns where a boil of the make-up ends under p, in a world where the
// boiling equation is wrong by z standard deviations.
//
// A temperature to boil to is a dryness whoever wrote it reached under 1013.25
// hPa: the equation's error is in both rooms alike and drops out of the
// temperature here. Water left asks for a number, and the error shows.
func (e End) targetOf(m Makeup, p q.Pascals, z float64) (target, error) {
	s := m.Solids()
	switch {
	case e.BoilTo != 0:
		w, err := sugar.WaterAtBoil(s, e.BoilTo, q.StandardAtmospherePa)
		if err != nil {
			return target{}, err
		}
		t, err := sugar.BoilingPoint(sugar.Mix(s, w), p)
		return target{float64(w), float64(t)}, err
	case e.Here != 0:
		w, err := sugar.WaterAtBoil(s, e.Here, p)
		return target{float64(w), float64(e.Here)}, err
	}
	wet := float64(e.WaterLeft) / (1 - float64(e.WaterLeft)) * m.Dry()
	w := wet / (wet + m.Phase())
	t, err := sugar.BoilingPointWith(sugar.Mix(s, q.Fraction(w)), p, z)
	return target{w, float64(t)}, err
}

// outcome returns the water of the sugar phase that a boil lifted at a true
// temperature holds, in a world of pressure p and model error z. A draw that
// would leave the dry end of the equation's range stops there.
func outcome(s sugar.Solids, tempC, pressPa, z float64) (float64, error) {
	w, err := sugar.WaterAtBoilWith(s, q.Celsius(tempC), q.Pascals(pressPa), z)
	if err == nil {
		return float64(w), nil
	}
	if fault.KindOf(err) != fault.KindOutOfRange {
		return 0, err
	}
	const driest = q.Fraction(1 - sugar.ActivityMaxDry)
	end, endErr := sugar.BoilingPoint(sugar.Mix(s, driest), q.Pascals(pressPa))
	if endErr == nil && q.Celsius(tempC) > end {
		return float64(driest), nil
	}
	return 0, err
}
