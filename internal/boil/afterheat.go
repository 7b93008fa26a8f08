package boil

import (
	"cmp"
	"math"

	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// How heat gets from the hot wall of the pan into boiling sugar [W/m²K]: the middle
// and one standard deviation of its logarithm. 300 to 3000 is published for boiling
// and is taken as the 5 % and 95 % points (source key model-heat, from memory); near
// the end, where the sugar is thick, nobody has measured it in an open pan.
const (
	filmMiddle = 950.0
	filmLogSD  = 0.70
)

// hotPan is the part of the pan that is hotter than the sugar while the flame
// burns: what the sugar wets.
type hotPan struct {
	areaM2 float64 // wetted
	heat   float64 // J/K of the metal behind it
}

// hotPanOf returns the wetted part of a pan that holds so many litres. The pan is
// taken to be as deep as its radius, see [lossArea].
func hotPanOf(k rig.Kettle, pot Makeup, litres float64) hotPan {
	r := panRadius(k, pot)
	depth := litres / 1000 / (math.Pi * r * r)
	base, side := math.Pi*r*r, 2*math.Pi*r*math.Min(depth, r)
	whole := 3 * math.Pi * r * r
	return hotPan{areaM2: base + side, heat: float64(k.Mass) * panHeat(k.Material) * 1e3 * (base + side) / whole}
}

// afterHeat is what the pan still gives once the flame is off.
type afterHeat struct {
	rise float64 // K the sugar goes on rising
	time float64 // s until it turns

	first, rest, tau float64 // K above the sugar at first and at rest, s
	conduct          float64 // W/K from the wall into the sugar
	lossW, sugarHeat float64 // W, J/K
}

// afterHeatOf works out the after-heat of a pan that passed powerW into the sugar
// when the flame went off. While it burns the wall stands q/hA above the sugar;
// then wall and sugar come together while the sugar loses Q to the room:
//
//	C_s dT/dt = hA x − Q,  C_p d(T+x)/dt = −hA x,  x = q/hA at first
//
// with C_s the sugar's heat and what evaporates as it rises [J/K], C_p the wall's.
// The coefficients stand still over the few kelvins in question, so the solution
// is closed: x falls exponentially, and the sugar turns where hA x = Q.
func afterHeatOf(p hotPan, film, powerW, sugarHeat, lossW float64) afterHeat {
	a := afterHeat{conduct: film * p.areaM2, lossW: lossW, sugarHeat: sugarHeat}
	if !(a.conduct > 0 && p.heat > 0 && sugarHeat > 0 && lossW > 0 && powerW > lossW) {
		return afterHeat{}
	}
	a.first = powerW / a.conduct
	a.tau = 1 / (a.conduct * (1/p.heat + 1/sugarHeat))
	a.rest = lossW * a.tau / sugarHeat // below the turn, lossW/conduct, always
	a.time = a.tau * math.Log((a.first-a.rest)/(lossW/a.conduct-a.rest))
	a.rise = a.after(a.time)
	return a
}

// after is how far the sugar has risen t seconds after the flame went off [K].
func (a afterHeat) after(t float64) float64 {
	gone := a.rest*t + (a.first-a.rest)*a.tau*(1-math.Exp(-t/a.tau))
	return (a.conduct*gone - a.lossW*t) / a.sugarHeat
}

// hot returns the hot wall of the pan at the end of the boil.
func (f firing) hot(k rig.Kettle) (hotPan, error) {
	end := f.pot
	end.Water, end.Spirit = f.waterK, 0
	litres, err := volumeOf(end, f.upTo[len(f.upTo)-1])
	return hotPanOf(k, f.pot, litres), err
}

// after works out the after-heat of the boil under a film coefficient and a power
// into the pan.
func (f firing) after(hot hotPan, film, powerW float64) afterHeat {
	// What rises with the sugar is all but the hot wall, which has its own balance.
	return afterHeatOf(hot, film, powerW, f.rise-hot.heat, f.lossW[len(f.lossW)-1])
}

// lift fills in where the flame goes off and what being late costs, over the dial
// readings at which the asked dryness is reached; nothing without a fire.
func (p *Plan) lift(r *Result, dialC []float64, s *Ranges) {
	if p.fire == nil {
		return
	}
	k, e := *p.in.Kettle, p.in.Ensemble
	hot, err := p.fire.hot(k)
	if err != nil {
		p.fireErr = err
		return
	}
	c, err := p.columns()
	if err != nil {
		s.Err = cmp.Or(s.Err, err)
		return
	}
	n := e.Len()
	rise, lift, late, drier := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	film := films(k, e)
	perK := p.fire.waterPerK()
	for i := range n {
		power := float64(k.Burner) * c.efficiency[i]
		rise[i] = p.fire.after(hot, film[i], power).rise
		lift[i] = dialC[i] - rise[i]
		late[i] = p.fire.endRate(power) * lateS
		drier[i] = late[i] * perK
	}
	power := p.power()
	middle, ten := p.fire.after(hot, filmMiddle, power).rise, p.fire.endRate(power)*lateS
	point := func(column []float64, v float64) *q.Estimate {
		est := s.Of(column, v)
		return &est
	}
	r.AfterHeatK, r.LiftC = point(rise, middle), point(lift, p.dial()-middle)
	mark := Mark(p.glass, q.Celsius(p.dial()-middle))
	r.LiftMarkC = &mark
	r.LateK, r.LateWaterFrac = point(late, ten), point(drier, ten*perK)
}

// lateS is the lateness whose cost is told [s].
const lateS = 10

// waterPerK is what a kelvin more takes off the water at the end, of the whole [1/K].
func (f firing) waterPerK() float64 {
	n := len(f.upTo)
	share := func(i int) float64 {
		m := f.pot
		m.Water, m.Spirit = f.water[i], 0
		return m.WaterFrac()
	}
	return (share(n-2) - share(n-1)) / (f.upTo[n-1] - f.upTo[n-2])
}

// films returns the wall's coefficient [W/m²K], a draw each: one column a kettle.
func films(k rig.Kettle, e numeric.Ensemble) []float64 {
	c := e.Normal("kettle:" + k.ID + ":film")
	for i, z := range c {
		c[i] = filmMiddle * math.Exp(filmLogSD*z)
	}
	return c
}
