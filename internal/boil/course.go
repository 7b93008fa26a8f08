package boil

import (
	"math"

	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Course is a boil in time, by its middle figures: from the lighting of the flame
// to where the after-heat of the pan is spent.
type Course struct {
	Points  []Point // in order of time
	Moments []Moment
}

// Point is what stands in the pan at one time.
type Point struct {
	AtS       float64 // since the flame was lit
	TempC     float64 // true, of the sugar
	WaterFrac float64 // of the whole
	MassKg    float64
	DepthM    float64 // of liquid in a round pan as deep as its radius
}

// toward returns the point a share f of the way to b.
func (a Point) toward(b Point, f float64) Point {
	between := func(x, y float64) float64 { return x + f*(y-x) }
	return Point{between(a.AtS, b.AtS), between(a.TempC, b.TempC), between(a.WaterFrac, b.WaterFrac),
		between(a.MassKg, b.MassKg), between(a.DepthM, b.DepthM)}
}

// Step is one of the boil's own steps.
type Step string

// The steps of a boil, in order of time.
const (
	StepLight   Step = "light"   // the flame is lit
	StepBoils   Step = "boils"   // the syrup is at the boil; stirring ends here
	StepWash    Step = "wash"    // the sides are clean: lid off, or washed down
	StepGlass   Step = "glass"   // the thermometer goes in
	StepHold    Step = "hold"    // the last moment the syrup can wait
	StepLift    Step = "lift"    // the flame goes off
	StepSettled Step = "settled" // the after-heat of the pan is spent
)

// Moment is when a step is taken.
type Moment struct {
	Step Step
	Point
}

// Usual measures of the steps (common practice, no source).
const (
	// washTime is how long the steam or a wet brush needs to clean the sides of a
	// syrup at the boil [s].
	washTime = 180
	// bulbDepth is the liquid a thermometer wants: ten diameters of a 3 mm stem
	// (source key model-heat) [m].
	bulbDepth = 0.030
)

// Course works the boil out in time; nil without a fire.
//
// Faults: invalid for a fire that gives no more than the pan loses, out of range
// where the volume has no model (above 160 °C).
func (p *Plan) Course() (*Course, error) {
	if p.fire == nil {
		return nil, nil
	}
	c, err := p.clock()
	if err != nil {
		return nil, err
	}
	return &Course{Points: c.points, Moments: c.moments(p.holdHere())}, nil
}

// clock lays the fire's heat out in time, up to where the after-heat is spent.
func (p *Plan) clock() (*clockwork, error) {
	k := *p.in.Kettle
	c := &clockwork{firing: *p.fire, radiusM: panRadius(k, p.fire.pot)}
	power := p.power()
	if err := c.burn(power); err != nil {
		return nil, err
	}
	hot, err := p.fire.hot(k)
	if err != nil {
		return nil, err
	}
	c.ride(p.fire.after(hot, filmMiddle, power))
	return c, nil
}

// clockwork lays the heat of a boil out in time.
type clockwork struct {
	firing
	radiusM float64
	points  []Point
	lift    int     // index of the lift
	litS    float64 // time of flame to the end, were there no after-heat
}

// add takes down what stands in the pan at a time.
func (c *clockwork) add(at, tempC, waterKg float64) error {
	m := c.pot
	m.Water, m.Spirit = waterKg, 0
	litres, err := volumeOf(m, tempC)
	if err != nil {
		return err
	}
	c.points = append(c.points, Point{AtS: at, TempC: tempC, WaterFrac: m.WaterFrac(), MassKg: m.Mass(),
		DepthM: litres / 1000 / (math.Pi * c.radiusM * c.radiusM)})
	return nil
}

// burn goes up to the end under a power into the pan.
func (c *clockwork) burn(powerW float64) error {
	at := 0.0
	if err := c.add(at, math.Max(c.airC, float64(sugar.PropertyMinC)), c.water[0]); err != nil {
		return err
	}
	for i, h := range c.heat {
		net := powerW - c.lossW[i]
		if net <= 0 {
			return tooWeak(powerW)
		}
		at += h / net
		if err := c.add(at, c.upTo[i], c.water[i]); err != nil {
			return err
		}
	}
	c.litS = at
	return nil
}

// ride takes the flame off as early as the pan will still make up for, and lets
// the sugar ride up to the end on what is in the pan.
func (c *clockwork) ride(a afterHeat) {
	burnt := c.points
	end := burnt[len(burnt)-1]
	off := on(burnt, end.TempC-a.rise)
	n := 0
	for n < len(burnt) && burnt[n].AtS < off.AtS {
		n++
	}
	c.lift = n
	c.points = append(burnt[:n:n], off)
	const parts = 8
	for i := 1; i <= parts && a.rise > 0; i++ {
		t := a.time * float64(i) / parts
		p := on(burnt, off.TempC+a.after(t))
		p.AtS = off.AtS + t
		c.points = append(c.points, p)
	}
}

// on returns the point of a rising course at a temperature.
func on(points []Point, tempC float64) Point {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		if tempC > b.TempC && i < len(points)-1 {
			continue
		}
		f := 1.0
		if b.TempC > a.TempC {
			f = min(max((tempC-a.TempC)/(b.TempC-a.TempC), 0), 1)
		}
		return a.toward(b, f)
	}
	return points[0]
}

// moments names the steps.
func (c *clockwork) moments(holdC float64) []Moment {
	boils := c.points[warmSteps]
	later := func(s float64) Point { return at(c.points, boils.AtS+s) }
	out := []Moment{{StepLight, c.points[0]}, {StepBoils, boils}, {StepWash, boils}, {StepGlass, later(washTime)}}
	lift := c.points[c.lift]
	if holdC > boils.TempC && holdC < lift.TempC {
		out = append(out, Moment{StepHold, on(c.points[:c.lift+1], holdC)})
	}
	return append(out, Moment{StepLift, lift}, Moment{StepSettled, c.points[len(c.points)-1]})
}

// at returns the point of a course at a time.
func at(points []Point, s float64) Point {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		if s > b.AtS {
			continue
		}
		return a.toward(b, (s-a.AtS)/(b.AtS-a.AtS))
	}
	return points[len(points)-1]
}

// volumeOf returns the volume of a make-up, all dissolved that can be [L].
func volumeOf(m Makeup, tempC float64) (float64, error) {
	density, err := sugar.Density(m.phaseMixture(), q.Celsius(tempC))
	if err != nil {
		return 0, err
	}
	const fatDensity, nutDensity = 0.9, 1.0 // kg/L, from memory
	return (m.Phase()+m.Water+m.Spirit)/density + m.Fat/fatDensity + m.Apart/nutDensity, nil
}
