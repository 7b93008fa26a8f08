package heat

import "math"

// A Lump is matter that is of one temperature all through: kneaded, pulled, a loose
// piece.
type Lump struct {
	Heat  *Curve
	Takes func(seconds, tempC float64) float64 // what is taken from it [W/kg]
	Step  float64                              // s, at most; 0: [UsualStep]
}

// UsualStep is that of a lump, whose temperature moves over minutes [s].
const UsualStep = 5.0

// Cool returns the temperature of a lump that was at a temperature at a time, so many
// seconds later, by the classical Runge-Kutta method of fourth order on its enthalpy.
func (l Lump) Cool(fromS, fromC, seconds float64) (tempC float64) {
	h, _ := l.run(fromS, l.Heat.Enthalpy(fromC), seconds, math.Inf(-1))
	return l.Heat.Temp(h)
}

// CoolsTo returns how long a lump takes to cool to a temperature, at most so many
// seconds; false if it does not come to it.
func (l Lump) CoolsTo(fromS, fromC, toC, most float64) (seconds float64, ok bool) {
	if fromC <= toC {
		return 0, true
	}
	_, seconds = l.run(fromS, l.Heat.Enthalpy(fromC), most, l.Heat.Enthalpy(toC))
	return seconds, seconds < most
}

// run steps until the time is up or an enthalpy is reached.
func (l Lump) run(fromS, h, most, until float64) (after, seconds float64) {
	step := l.Step
	if step <= 0 {
		step = UsualStep
	}
	for seconds < most {
		d := math.Min(step, most-seconds)
		next := l.once(fromS+seconds, h, d)
		if next <= until {
			low, high := 0.0, d
			for range 30 {
				mid := (low + high) / 2
				if l.once(fromS+seconds, h, mid) <= until {
					high = mid
				} else {
					low = mid
				}
			}
			return until, seconds + high
		}
		h, seconds = next, seconds+d
	}
	return h, most
}

// once is one Runge-Kutta step.
func (l Lump) once(at, h, d float64) float64 {
	rate := func(t, h float64) float64 { return -l.Takes(t, l.Heat.Temp(h)) }
	k1 := rate(at, h)
	k2 := rate(at+d/2, h+d/2*k1)
	k3 := rate(at+d/2, h+d/2*k2)
	k4 := rate(at+d, h+d*k3)
	return h + d/6*(k1+2*k2+2*k3+k4)
}

// Nip returns the heat that a sheet gives to a pair of rolls in the nip, by square metre
// of the sheet, both of its sides together [J/m²]: two bodies in perfect contact for a
// short time,
//
//	Q = 4 e₁e₂/(e₁ + e₂) (T − T_r) √(t/π)        e effusivity
//
// so that each side is at (e₁T + e₂T_r)/(e₁ + e₂) meanwhile. It holds while the chill is
// not through the sheet, t well below (thickness)²/(4 diffusivity): seconds, where a nip
// takes tenths of one. Reference: source key carslaw-jaeger1959.
func Nip(sheet, roll Matter, sheetC, rollC, seconds float64) (heat, sideC float64) {
	e1, e2 := sheet.Effusivity(sheetC), roll.Effusivity(rollC)
	heat = 4 * e1 * e2 / (e1 + e2) * (sheetC - rollC) * math.Sqrt(seconds/math.Pi)
	return heat, (e1*sheetC + e2*rollC) / (e1 + e2)
}
