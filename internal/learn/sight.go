package learn

import (
	"math"

	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/sugar"
)

// ninety is the standard-normal 95 % point: a stated ± is read as a 5 % to 95 %
// half-width.
const ninety = 1.6448536269514722

// What is seen is seen to (judgement, source key practice): the moment at which sugar can
// be pulled or rolled, and where in it the probe stands; what one boil's flame burns
// longer than another's, and to what a time is written down.
const (
	momentSD    = 2.0  // K
	flameSD     = 0.04 // of the time
	flameNoteSD = 30.0 // s
)

// A window is a thickness at which sugar is worked, and how far one maker's habit lies
// from another's (source key model-sugar, its working windows; the habit is judgement).
type window struct {
	name  string
	logPa float64 // log10 of Pa s
}

const habitSD = 0.4 // decades

func windows() (pull, roll, last window) {
	return window{"pull", 4.2}, window{"roll", 5.0}, window{"last", 6.3}
}

// sight is one thing seen of a batch: seen = water · (w − w0) + Σ weight · unknown + noise.
type sight struct {
	what  What
	at    float64 // what the plan has; 0 for water, which is told around w0
	seen  float64 // beyond that
	sd    float64
	water float64
	of    []part
}

// part is an unknown of a sight.
type part struct {
	name    string
	weight  float64
	teaches bool // whoever sees it learns of the unknown, as against having to allow for it
}

func ofGlass(key string) string   { return "glass:" + key }
func ofFire(key string) string    { return "fire:" + key }
func ofDelivery(id string) string { return "delivery:" + id }
func ofHabit(w window) string     { return "habit:" + w.name }
func (b Batch) netKg() (float64, bool) {
	if b.Lifted == nil {
		return 0, false
	}
	return b.Lifted.NetKg()
}

// sights returns what was seen of the batch, straightened around a share of water that
// is near what it must have been.
func (b Batch) sights() (list []sight, w0 float64) {
	w0 = b.near()
	byWater := false // something but the glass tells the water
	if s, ok := b.weighed(w0); ok {
		list, byWater = append(list, s), true
	}
	if s, ok := b.measured(w0); ok {
		list, byWater = append(list, s), true
	}
	if s, ok := b.read(w0, byWater || b.Worked != nil); ok {
		list = append(list, s)
	}
	list = append(list, b.worked(w0)...)
	if s, ok := b.burned(); ok {
		list = append(list, s)
	}
	return list, w0
}

// near is the share of water that what was seen says first: on the scale, measured, by
// the glass, as planned.
func (b Batch) near() float64 {
	inside := func(w float64) bool { return w > driest && w < wettest }
	if net, ok := b.netKg(); ok {
		if w, _ := b.Lift.WaterByWeight(net); inside(w) {
			return w
		}
	}
	if m := b.Moisture; m != nil {
		if w := b.Lift.SugarWater(b.inKettle(*m)); inside(w) {
			return w
		}
	}
	if l := b.Lifted; l != nil && l.ReadC != 0 {
		if w, err := b.Lift.WaterAt(l.ReadC-float64(b.Lift.Glass.Offset), 0); err == nil && inside(w) {
			return w
		}
	}
	return b.Lift.Water
}

// The water between which a boil is believed to end [of the sugar].
const driest, wettest = 0.006, 0.15

// inKettle is a measured moisture as it must have been in the kettle.
func (b Batch) inKettle(m record.Moisture) float64 {
	if m.Of == record.OfSugar {
		return m.WaterFrac
	}
	return m.WaterFrac - b.Lift.Brought
}

// weighed is the kettle on the scale.
func (b Batch) weighed(w0 float64) (sight, bool) {
	net, ok := b.netKg()
	if !ok {
		return sight{}, false
	}
	w, perDry := b.Lift.WaterByWeight(net)
	scale := b.ScaleKg / math.Sqrt(12) * math.Sqrt2 // full and empty
	s := sight{what: Weighed, seen: w - w0, water: 1, sd: perDry * math.Hypot(b.Lift.OwnSDKg, scale)}
	for _, d := range b.Lift.Shared {
		s.of = append(s.of, part{name: ofDelivery(d.Ingredient), weight: perDry * d.SDKg})
	}
	return s, true
}

// measured is a measured moisture.
func (b Batch) measured(w0 float64) (sight, bool) {
	m := b.Moisture
	if m == nil {
		return sight{}, false
	}
	w := b.Lift.SugarWater(b.inKettle(*m))
	per := (b.Lift.SugarWater(b.inKettle(*m)+1e-4) - w) / 1e-4
	return sight{what: Measured, seen: w - w0, water: 1, sd: per * m.SureFrac / ninety}, true
}

// read is the glass at the lift. It teaches glass and equation where something else
// tells the water.
func (b Batch) read(w0 float64, teaches bool) (sight, bool) {
	if b.Lifted == nil || b.Lifted.ReadC == 0 {
		return sight{}, false
	}
	at := func(w, z float64) float64 {
		t, err := b.Lift.BoilsAt(w, z)
		if err != nil {
			return math.NaN()
		}
		return t
	}
	const step = 1e-4
	t0 := at(w0, 0)
	perWater := (at(w0+step, 0) - at(w0-step, 0)) / (2 * step)
	perModel := (at(w0, 0.5) - at(w0, -0.5))
	class, reading := b.Lift.GlassSpread()
	air := math.Abs(b.Lift.PerPascal(w0)) * float64(b.Lift.PressureSD)
	s := sight{what: Read, at: float64(b.Lift.Glass.Offset) + t0, seen: b.Lifted.ReadC - float64(b.Lift.Glass.Offset) - t0, water: perWater, sd: math.Hypot(reading, air),
		of: []part{{ofModel, perModel, teaches}, {ofGlass(GlassName(b.Glass)), class, teaches}}}
	return s, !math.IsNaN(s.seen + perWater + perModel)
}

// worked is the temperatures of the slab and the rolls.
func (b Batch) worked(w0 float64) []sight {
	if b.Worked == nil {
		return nil
	}
	pull, roll, last := windows()
	var out []sight
	for _, x := range []struct {
		window
		c    float64
		what What
	}{{pull, b.Worked.PullC, Pulled}, {roll, b.Worked.RollC, Rolled}, {last, b.Worked.LastC, Last}} {
		if x.c == 0 {
			continue
		}
		if s, ok := b.thick(x.window, x.what, x.c, w0); ok {
			out = append(out, s)
		}
	}
	return out
}

// thick is one temperature at which sugar was as thick as a window has it.
func (b Batch) thick(win window, what What, seenC, w0 float64) (sight, bool) {
	on := w0 + b.Lift.Brought // of the slab, where the colours are in
	at := func(w, logPa float64) float64 {
		t, err := sugar.TemperatureAtViscosity(sugar.Mix(b.Lift.Solids, q.Fraction(w)), math.Pow(10, logPa))
		if err != nil {
			return math.NaN()
		}
		return float64(t)
	}
	const step, decade = 1e-4, 0.1
	m := sugar.Mix(b.Lift.Solids, q.Fraction(on))
	glass, err := sugar.GlassTransition(m)
	t0 := at(on, win.logPa)
	perWater := (at(on+step, win.logPa) - at(on-step, win.logPa)) / (2 * step)
	perDecade := (at(on, win.logPa-decade/2) - at(on, win.logPa+decade/2)) / decade
	perGlass := (t0 + q.ZeroCelsius) / (float64(glass) + q.ZeroCelsius) // a window moves with the glass transition
	s := sight{what: what, at: t0, seen: seenC - t0, water: perWater, sd: math.Hypot(momentSD, b.Worked.SureK/ninety), of: []part{
		{ofStands, perGlass * float64(sugar.GlassSD(m)), true},
		{ofThick, perDecade * sugar.ViscosityLogSD(m, q.Celsius(t0)) / math.Ln10, false},
		{ofHabit(win), perDecade * habitSD, false},
	}}
	return s, err == nil && !math.IsNaN(s.seen+perWater+perDecade)
}

// burned is the time of flame: it hangs on the fire alone, and is straightened around
// the efficiency that it tells.
func (b Batch) burned() (sight, bool) {
	if b.Lifted == nil || b.Lifted.FlameS == 0 || b.Lift.LitS == 0 {
		return sight{}, false
	}
	seen := float64(b.Lifted.FlameS)
	lit := func(z float64) float64 {
		v, ok := b.Lift.LitWith(z)
		if !ok {
			return math.Inf(1) // too weak a fire never gets there
		}
		return v
	}
	const far, step = 4, 0.05
	z := -float64(far)
	switch slow, quick := lit(-far), lit(far); {
	case seen <= quick:
		z = far
	case seen < slow:
		var err error
		if z, err = numeric.Brent(func(z float64) float64 { return math.Min(lit(z), 2*seen) - seen }, -far, far, 1e-6); err != nil {
			return sight{}, false
		}
	}
	slope := (lit(z+step) - lit(z-step)) / (2 * step)
	s := sight{what: Burned, at: lit(z) - slope*z, seen: seen - lit(z) + slope*z, sd: math.Hypot(flameSD*seen, flameNoteSD), of: []part{{ofFire(KettleName(b.Kettle)), slope, true}}}
	return s, !math.IsInf(slope, 0) && !math.IsNaN(slope)
}
