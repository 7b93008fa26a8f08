package boil

import (
	"fmt"

	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Draws is a boil carried through an ensemble: index i of every slice belongs to
// one possible outcome.
type Draws struct {
	WaterFrac []float64 // in the kettle at the lift
	Mass      []float64 // kg in the kettle at the lift, before the smear
	Solids    []float64 // kg of dry matter in it
	WaterOff  []float64 // kg
	Smear     []float64 // kg left in the kettle
	Flashed   []float64 // kg that left the additions
	Finished  []float64 // kg on the slab, additions in
	Invert    []float64 // of it, invert sugar as a share; nil where it is not computed
	Glass     []float64 // °C the finished sweet stands up to; nil outside the model's range
	LiftC     []float64 // true temperature at the lift
	Stands    []float64 // what the glass transition is off the model, in its standard deviations
	Portions  []PortionDraws

	Lit, Watch []float64 // s of flame, s of it from the hold point; nil without a fire
	Gas        []float64 // J of gas
}

// PortionDraws is one portion on the slab.
type PortionDraws struct {
	ID        string
	Mass      []float64 // kg
	WaterFrac []float64
	Glass     []float64 // °C; nil outside the model's range
}

// The scatter from boil to boil (judgement, source key practice): how exactly the
// moment of the lift is hit, how much stays in the pan, how evenly a boil is cut.
const (
	liftSD  = 3.0  // s, one standard deviation
	smearSD = 0.30 // of the smear: 50 to 150 g around 100
	splitSD = 0.02 // of a portion
)

// Simulate carries the ensemble through the boil: what this dial reading gives,
// in every world the stated errors allow.
func (p *Plan) Simulate() (Draws, error) {
	in, n := p.in, p.in.Ensemble.Len()
	c, err := p.columns()
	if err != nil {
		return Draws{}, err
	}
	d := newDraws(n, p)
	reading := p.dial()
	for i := range n {
		w := c.world(i)
		pot := w.pot(in.Additions)
		tempC := reading + c.reading[i] - float64(p.glass.Offset) - c.glass[i] + c.lift[i]
		water, err := outcome(pot.Solids(), tempC, c.pressure[i], c.model[i])
		if err != nil {
			return Draws{}, err
		}
		w.water = water
		b, err := run(w, in.Additions, p.portions)
		if err != nil {
			return Draws{}, err
		}
		d.keep(i, b, c.stands[i])
		d.LiftC[i] = tempC
		if p.fire != nil {
			power := float64(in.Kettle.Burner) * c.efficiency[i]
			lit, watch := p.fire.drier(c.lit[i], c.watch[i], power, b.Lift.Water-p.fire.waterK)
			d.Lit[i], d.Watch[i], d.Gas[i] = lit, watch, lit*float64(in.Kettle.Burner)
		}
	}
	return d, nil
}

// columns is every error of a boil, a column each.
type columns struct {
	p                               *Plan
	model, pressure, glass, reading []float64
	lift, smear, stands, efficiency []float64
	lit, watch                      []float64 // to the end of the plan
	invert, slab                    []float64 // nil: nothing does
	holdC                           float64
	lines, doses                    []weighed
	split                           [][]float64
	room                            world // where an outcome is put together
}

// weighed is an ingredient's columns.
type weighed struct {
	solids, de, mass []float64
	water, spirit    []float64 // flashed shares, additions only
}

// columns draws every error of the plan, once.
func (p *Plan) columns() (*columns, error) {
	if p.drawn == nil {
		c, err := p.draw()
		if err != nil {
			return nil, err
		}
		p.drawn = c
	}
	return p.drawn, nil
}

func (p *Plan) draw() (*columns, error) {
	e := p.in.Ensemble
	batch := "batch:" + p.in.Batch
	errors := p.standingDraws()
	c := &columns{
		p: p,
		room: world{kettle: make([]Makeup, len(p.in.Charge.Lines)), doses: make([]Makeup, len(p.in.Additions)),
			flash: make([]lost, len(p.in.Additions)), split: make([]float64, len(p.shares))},
		model:    errors[ModelError],
		pressure: pressures(p.pressure, p.read, e),
		glass:    errors[GlassError],
		reading:  readingErrors(p.glass, p.in.Recipe, e),
		stands:   errors[StandsError],
		lift:     e.Normal(batch + ":lift"),
		smear:    e.Normal(batch + ":smear"),
	}
	// What the glass reads too high beyond its offset: the ± of its class are its 5 %
	// and 95 % points.
	for i, z := range c.glass {
		c.glass[i] = (z - p.held.Mean[GlassError]) * float64(p.glass.Class) / ninety
	}
	rate := 0.0
	if p.fire != nil {
		c.efficiency = errors[FireError]
		for i, z := range c.efficiency {
			c.efficiency[i] = efficiencyAt(*p.in.Kettle, z)
		}
		c.holdC = p.holdHere()
		rate = p.fire.endRate(p.power())
		c.lit, c.watch = make([]float64, e.Len()), make([]float64, e.Len())
		for i, x := range c.efficiency {
			var err error
			if c.lit[i], c.watch[i], err = p.fire.lit(float64(p.in.Kettle.Burner)*x, c.holdC); err != nil {
				return nil, err
			}
		}
	}
	smear := p.middle().smear
	for i := range c.lift {
		c.lift[i] *= rate * liftSD
		c.smear[i] = max(0, smear*(1+smearSD*c.smear[i]))
	}
	sup := suppliers{e}
	lines := len(p.in.Charge.Lines)
	for i, l := range p.in.Charge.Lines {
		var w weighed
		w.solids, w.de = sup.draw(l.Ingredient)
		w.mass = p.massColumn(fmt.Sprintf("%s:weigh:charge:%d", batch, i), p.Weighings[i])
		c.lines = append(c.lines, w)
	}
	for i, d := range p.in.Additions {
		var w weighed
		w.solids, w.de = sup.draw(d.Ingredient)
		w.mass = p.massColumn(fmt.Sprintf("%s:weigh:addition:%d", batch, i), p.Weighings[lines+i])
		w.water, w.spirit = p.flashOf(i).draws(p.in.Recipe, d.Stage, e)
		c.doses = append(c.doses, w)
	}
	for _, portion := range p.portions {
		c.split = append(c.split, e.Normal(batch+":split:"+portion.ID))
	}
	if p.inverting == nil {
		return c, nil
	}
	// The power decides the time, and the time what is exposed.
	longer := make([]float64, e.Len())
	for i, lit := range c.lit {
		longer[i] = lit / p.inverting.litS
	}
	var err error
	c.invert, c.slab, err = p.inverting.draws(e, longer)
	if err == nil && p.in.CookBack > 0 {
		p.again(c.invert, c.slab)
	}
	return c, err
}

// massColumn returns what is really in the pan of a weighing [kg], a draw each.
func (p *Plan) massColumn(name string, w Weighing) []float64 {
	c := p.in.Ensemble.Normal(name)
	sd := w.spread()
	for i, z := range c {
		c[i] = max(0, float64(w.Target)+z*sd)
	}
	return c
}

// world returns outcome i, all but the water left. It stands until the next is asked
// for: every outcome is put into the same room.
func (c *columns) world(i int) world {
	in := c.p.in
	w := c.room
	w.smear = c.smear[i]
	if c.invert != nil {
		w.invert, w.slab = c.invert[i], c.slab[i]
	}
	for k, l := range c.lines {
		w.kettle[k] = makeupOf(in.Charge.Lines[k].Ingredient, l.mass[i], l.solids[i], l.de[i])
	}
	for k, d := range c.doses {
		w.doses[k] = c.dose(k, i)
		w.flash[k] = lost{d.water[i], d.spirit[i]}
	}
	if copy(w.split, c.p.shares); len(c.p.shares) > 1 {
		sum := 0.0
		for j, share := range c.p.shares {
			w.split[j] = max(0, share*(1+splitSD*c.split[j][i]))
			sum += w.split[j]
		}
		for j := range w.split {
			w.split[j] /= sum
		}
	}
	return w
}

// dose returns addition k of outcome i as it is weighed, with the carrier of its stock
// solution.
func (c *columns) dose(k, i int) Makeup {
	d := c.doses[k]
	m := makeupOf(c.p.in.Additions[k].Ingredient, d.mass[i], d.solids[i], d.de[i])
	if s := c.p.stock(k); s != nil {
		m = m.Plus(s.brings(d.mass[i] / c.p.doses[k]))
	}
	return m
}

// holdHere returns the true temperature here at which the syrup is as dry as at
// the hold point under 1013.25 hPa. Where the boiling equation has no answer (a
// hold point below its range) the whole boil is watched.
func (p *Plan) holdHere() float64 {
	s := p.nominal.Lift.Solids()
	w, err := sugar.WaterAtBoil(s, p.in.holdPoint(), q.StandardAtmospherePa)
	if err != nil {
		return 0
	}
	t, err := sugar.BoilingPoint(sugar.Mix(s, w), p.pressure)
	if err != nil {
		return 0
	}
	return float64(t)
}

// endRate returns how fast the end of the boil heats up [K/s] under a power into
// the pan.
func (f firing) endRate(powerW float64) float64 {
	if f.rise <= 0 {
		return 0
	}
	return max(0, (powerW-f.lossW[len(f.lossW)-1])/f.rise)
}

func newDraws(n int, p *Plan) Draws {
	col := func() []float64 { return make([]float64, n) }
	d := Draws{WaterFrac: col(), Mass: col(), Solids: col(), WaterOff: col(), Smear: col(), Flashed: col(), Finished: col(), Glass: col(), LiftC: col(), Stands: p.drawn.stands}
	for _, portion := range p.portions {
		d.Portions = append(d.Portions, PortionDraws{ID: portion.ID, Mass: col(), WaterFrac: col(), Glass: col()})
	}
	if p.inverting != nil {
		d.Invert = col()
	}
	if p.fire != nil {
		d.Lit, d.Watch, d.Gas = col(), col(), col()
	}
	return d
}

// keep stores outcome i.
func (d *Draws) keep(i int, b balance, z float64) {
	d.WaterFrac[i] = b.Lift.WaterFrac()
	d.Mass[i] = b.Lift.Mass()
	d.Solids[i] = b.Lift.Dry()
	d.WaterOff[i] = b.WaterOff
	d.Smear[i] = b.Smear
	d.Flashed[i] = b.Flashed
	var whole Makeup
	for j, m := range b.Portions {
		whole = whole.Plus(m)
		d.Portions[j].Mass[i] = m.Mass()
		d.Portions[j].WaterFrac[i] = m.WaterFrac()
		stands(&d.Portions[j].Glass, i, m, z)
	}
	d.Finished[i] = whole.Mass()
	if d.Invert != nil {
		d.Invert[i] = whole.Invert / whole.Mass()
	}
	stands(&d.Glass, i, whole, z)
}

// stands stores the glass transition of a make-up with z standard deviations of
// its error; one outcome outside the model's range and the column is dropped.
func stands(column *[]float64, i int, m Makeup, z float64) {
	if *column == nil {
		return
	}
	mix := m.phaseMixture()
	t, err := sugar.GlassTransition(mix)
	if err != nil {
		*column = nil
		return
	}
	(*column)[i] = float64(t) + z*float64(sugar.GlassSD(mix))
}
