package boil

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// How exactly what a glass is checked in is known [K], one standard deviation:
// crushed melting ice to ±0.1 K (source key model-heat), water at the boil as
// much for its impurities and for boiling from the bottom (judgement).
const (
	iceSD     = 0.1 / ninety
	boilingSD = 0.1 / ninety
)

// CheckedAgainst returns what the glass should have read at a check, and one
// standard deviation of that. A boiling-water check is held against the pressure
// read at the time, else the altitude's with the weather around it.
//
// Faults: invalid for a reference without its reading, out of range for a
// pressure beyond the steam table.
func CheckedAgainst(c rig.GlassCheck, room rig.Room) (q.Celsius, q.Kelvins, error) {
	switch c.Against {
	case rig.AgainstIce:
		return 0, iceSD, nil
	case rig.AgainstReference:
		sure := c.Sure
		if sure == 0 {
			sure = rig.UsualReference
		}
		return c.True, sure / ninety, nil
	case rig.AgainstBoiling:
		room.StationPressure = c.Pressure // that of today says nothing of the day of the check
		p, read, err := Pressure(room)
		if err != nil {
			return 0, 0, err
		}
		sd := q.Pascals(weatherSD)
		if read {
			sd = barometerSD
		}
		at, err := sugar.SaturationTemperature(p)
		if err != nil {
			return 0, 0, err
		}
		more, err := sugar.SaturationTemperature(p + sd)
		return at, q.Kelvins(math.Hypot(float64(more-at), boilingSD)), err
	}
	if c.Against == rig.AgainstCrack {
		return crackHere(c, room)
	}
	return 0, 0, fault.Invalid("a glass is not checked in %q", string(c.Against))
}

// Where syrup first comes to the hard crack [°C], at 1013.25 hPa, and ± 5 % to 95 %: the
// low end of the stage, 146 °C in most tables and 149 in the books of the trade, and how
// exactly a thread in cold water shows it (source keys stage-table, guide1896; the ± is
// judgement).
const (
	crackC    = 147.5
	crackHalf = 3.5
)

// crackHere returns where plain syrup comes to the hard crack under the room's pressure:
// the stage is a dryness.
func crackHere(c rig.GlassCheck, room rig.Room) (q.Celsius, q.Kelvins, error) {
	room.StationPressure = c.Pressure
	p, _, err := Pressure(room)
	if err != nil {
		return 0, 0, err
	}
	dry, err := sugar.WaterAtBoil(sugar.Solids{}, crackC, q.StandardAtmospherePa)
	if err != nil {
		return 0, 0, err
	}
	at, err := sugar.BoilingPoint(sugar.Mix(sugar.Solids{}, dry), p)
	return at, crackHalf / ninety, err
}

// The error of a glass over its scale, before any check: a shift of the whole
// scale, a stretch from the ice point up, and bends of its own (an uneven bore, a
// stem out of the syrup) that reach over some fifty degrees; each a third of what
// the class allows at 150 °C (judgement: a check in boiling water is to vouch for
// 150 °C by a third or so and no more, source key practice).
const (
	classAt   = 150 // °C
	bendReach = 50  // K
)

// scaleCov returns the covariance of a glass's errors at two temperatures [K²] for
// a standard deviation of sd at 150 °C:
//
//	sd²/3 [1 + t u/150² + exp(−|t − u|/50)]
func scaleCov(sd, t, u float64) float64 {
	return sd * sd / 3 * (1 + t*u/(classAt*classAt) + math.Exp(-math.Abs(t-u)/bendReach))
}

// Checked folds the checks of a glass into its offset and class. The stated offset
// is that of the whole scale and the class its 90 % limits at 150 °C, before the
// checks; each check reads the error at its temperature, to what it is checked in
// and half a division. What is returned is what all that says of 150 °C. A check
// that cannot be computed is left out.
func Checked(g rig.Glass, room rig.Room) rig.Glass {
	if len(g.Checks) == 0 {
		return g
	}
	for _, c := range g.Checks {
		if known, _, err := CheckedAgainst(c, room); err == nil && c.Against != rig.AgainstCrack { // too coarse to vouch
			g.CheckedAt, g.CheckedOn = max(g.CheckedAt, known), max(g.CheckedOn, c.On)
		}
	}
	mean, sd := errorAt(g, g.Checks, room, classAt)
	g.Offset += q.Kelvins(mean)
	g.Class = q.Kelvins(ninety * sd)
	g.Checks = nil // they are in
	return g
}

// OffAt returns what a glass reads too high at a temperature by its offset and its checks,
// and one standard deviation of that: what holds at the end of a boil need not on the slab.
func OffAt(g rig.Glass, room rig.Room, at q.Celsius) (high, sd q.Kelvins) {
	if len(g.Checks) == 0 {
		return g.Offset, q.Kelvins(math.Sqrt(scaleCov(float64(g.Class)/ninety, float64(at), float64(at))))
	}
	mean, s := errorAt(g, g.Checks, room, float64(at))
	return g.Offset + q.Kelvins(mean), q.Kelvins(s)
}

// errorAt returns what checks say a glass reads too high at a temperature, beyond its
// offset, and one standard deviation of that [K].
func errorAt(g rig.Glass, checks []rig.GlassCheck, room rig.Room, tempC float64) (mean, sd float64) {
	at := []float64{tempC}
	var found, noise []float64
	for _, c := range checks {
		known, sd, err := CheckedAgainst(c, room)
		if err != nil {
			continue
		}
		at = append(at, float64(known))
		found = append(found, float64(c.Read-known)-float64(g.Offset))
		noise = append(noise, math.Hypot(float64(sd), float64(g.Division)/math.Sqrt(12)))
	}
	var errors numeric.Belief
	for i := range at {
		cov := make([]float64, i+1)
		for j := range cov {
			cov[j] = scaleCov(float64(g.Class)/ninety, at[i], at[j])
		}
		errors.Join(0, cov)
	}
	for i := range found {
		errors.Observe([]numeric.Term{{Unknown: i + 1, Weight: 1}}, found[i], noise[i])
	}
	return errors.Mean(0), errors.SD(0)
}

// Found is what one check of a glass found.
type Found struct {
	Off     q.Kelvins // read too high by, beyond what was held of it until then
	Allowed q.Kelvins // ± that its class and the checks before allow
}

// Good reports whether the glass reads as it was held to.
func (f Found) Good() bool { return math.Abs(float64(f.Off)) <= float64(f.Allowed) }

// FoundBy returns what the i-th check of a glass found, against the offset, the class
// and the checks before it: it is good within their 90 % limits. Faults are those of
// [CheckedAgainst].
func FoundBy(g rig.Glass, i int, room rig.Room) (Found, error) {
	c := g.Checks[i]
	known, own, err := CheckedAgainst(c, room)
	if err != nil {
		return Found{}, err
	}
	mean, sd := errorAt(g, g.Checks[:i], room, float64(known))
	noise := math.Hypot(float64(own), float64(g.Division)/math.Sqrt(12))
	return Found{Off: c.Read.Minus(known.Plus(g.Offset + q.Kelvins(mean))), Allowed: q.Kelvins(ninety * math.Hypot(sd, noise))}, nil
}
