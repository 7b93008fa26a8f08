package boil

import (
	"fmt"

	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// Result is a boil's figures with their ranges. The values are those of the boil
// as intended, so that they add up among themselves; the ranges are those of the
// ensemble. A nil figure has a caution that says why.
type Result struct {
	Pressure q.Pascals // under which it boils, the middle figure
	Read     bool      // read on a barometer

	End   End        // as it was asked; one that was solved for, as the water left that was found
	BoilC q.Estimate // true temperature to end at, here
	DialC q.Estimate // the same as this glass reads it
	MarkC q.Celsius  // the division of the glass nearest to it

	// At the lift, nil without a fire.
	AfterHeatK    *q.Estimate // the sugar rises by so much once the flame is off
	LiftC         *q.Estimate // reading at which the flame goes off
	LiftMarkC     *q.Celsius  // the division of the glass nearest to it
	LateK         *q.Estimate // ten seconds late, so much hotter
	LateWaterFrac *q.Estimate // and so much drier, of the whole

	WaterFrac  q.Estimate // in the kettle at the lift
	MassKg     q.Estimate // in the kettle at the lift, before the smear
	SolidsKg   q.Estimate
	WaterOffKg q.Estimate
	SmearKg    q.Estimate
	FlashedKg  q.Estimate  // leaves the additions as they meet hot sugar
	FinishedKg q.Estimate  // on the slab, additions in
	InvertFrac *q.Estimate // invert sugar on the slab as a share of it; nil: see CodeInvert
	GlassC     *q.Estimate // what the finished sweet stands up to
	CookedBack *CookedBack // nil without cook-back

	// What its keeping hangs on beside: see package verdict.
	Pot        Makeup     // what went into the kettle, inverted as far as the boil does
	DoctorFrac q.Estimate // of the dry sugars as weighed, glucose syrup, invert syrup and honey
	Stands     Standing   // how far what it stands up to is off the model
	Doctored   bool       // tartar or another acid inverts in it
	Browns     []string   // names of what browns in it sooner than sugar does

	LitS      *q.Estimate // time of flame
	WatchS    *q.Estimate // of it, from the hold point up
	EnergyKWh *q.Estimate // of gas
	PanKWh    *q.Estimate // of it, into pan and charge

	Additions []Addition // in the order of the stages
	Course    *Course    // by the middle figures; nil without a fire
	Portions  []PortionResult
	Weighings []Weighing
	Cautions  []Caution
	Band      []Caution // of a boil doctored by acid; package verdict says the same at more length
	Sources   []source.Key
}

// PortionResult is one portion on the slab.
type PortionResult struct {
	ID        string
	MassKg    q.Estimate
	WaterFrac q.Estimate
	GlassC    *q.Estimate

	Makeup     Makeup    // by the middle figures
	GlassDraws []float64 // °C; nil outside the model's range
	WaterDraws []float64 // water and spirit, share of the whole
}

// Predict works a boil out: [Prepare], [Plan.Simulate] and [Plan.Result] in one.
func Predict(in Inputs) (Result, error) {
	p, err := Prepare(in)
	if err != nil {
		return Result{}, err
	}
	d, err := p.Simulate()
	if err != nil {
		return Result{}, err
	}
	return p.Result(d)
}

// Result summarises a simulated boil.
func (p *Plan) Result(d Draws) (Result, error) {
	r := Result{Pressure: p.pressure, End: p.in.End, Read: p.read, Weighings: p.Weighings,
		Sources: []source.Key{source.Starzak1997, source.IAPWSIF97, source.Practice}}
	if !p.read {
		r.Sources = append(r.Sources, source.ISO2533)
	}
	var s Ranges
	p.ends(&r, &s)
	b := p.nominal
	r.WaterFrac = s.Of(d.WaterFrac, b.Lift.WaterFrac())
	r.MassKg = s.Of(d.Mass, b.Lift.Mass())
	r.SolidsKg = s.Of(d.Solids, b.Lift.Dry())
	r.WaterOffKg = s.Of(d.WaterOff, b.WaterOff)
	r.SmearKg = s.Of(d.Smear, b.Smear)
	r.FlashedKg = s.Of(d.Flashed, b.Flashed)
	r.FinishedKg = s.Of(d.Finished, b.finished())
	r.GlassC = p.standsUp(d.Glass, b.whole(), &s)
	if d.Invert != nil {
		whole := b.whole()
		e := s.Of(d.Invert, whole.Invert/whole.Mass())
		r.InvertFrac = &e
		r.Sources = append(r.Sources, source.Vukov1965)
		if len(p.inverting.boil.Bath.Doses) > 0 {
			r.Sources = append(r.Sources, source.BatesCanham1951, source.PKHandbook, source.Davies1962)
		}
	}
	p.time(&r, d, &s)
	for j, portion := range d.Portions {
		m := b.Portions[j]
		r.Portions = append(r.Portions, PortionResult{ID: portion.ID, MassKg: s.Of(portion.Mass, m.Mass()),
			WaterFrac: s.Of(portion.WaterFrac, m.WaterFrac()), GlassC: p.standsUp(portion.Glass, m, &s),
			Makeup: m, GlassDraws: portion.Glass, WaterDraws: portion.WaterFrac})
	}
	if d.Glass != nil {
		r.Sources = append(r.Sources, source.Roos1993)
	}
	r.Additions = p.additions(d, &s, r.BoilC)
	if r.CookedBack = p.cookedBack(&s); r.CookedBack != nil && r.CookedBack.AcidKg > 0 {
		r.Doctored = true
	}
	if s.Err != nil {
		return Result{}, fault.Internal(s.Err, "the boil's figures could not be summarised")
	}
	if c, err := p.Course(); err == nil {
		r.Course = c
	}
	p.edge(&r)
	p.markLearned(&r)
	r.Cautions = caution.Merge(p.cautions(d), p.shallow(r.Course), p.cookBackCautions(r.CookedBack))
	r.Band = p.invertBand(r.InvertFrac)
	return r, nil
}

// time fills in time and fuel, where there is a fire.
func (p *Plan) time(r *Result, d Draws, s *Ranges) {
	if p.fire == nil {
		return
	}
	burner := float64(p.in.Kettle.Burner)
	lit, watch, err := p.fire.lit(p.power(), p.holdHere())
	if err != nil && s.Err == nil {
		s.Err = err
	}
	const perKWh = 1 / 3.6e6
	point := func(column []float64, v, scale float64) *q.Estimate {
		e := s.Of(column, v).Scale(scale)
		return &e
	}
	r.LitS = point(d.Lit, lit, 1)
	r.WatchS = point(d.Watch, watch, 1)
	r.EnergyKWh = point(d.Gas, lit*burner, perKWh)
	// The heat taken up moves with the water boiled off, hardly with the fire.
	pan := make([]float64, len(d.WaterOff))
	for i := range pan {
		pan[i] = p.fire.intoPan() - (d.Mass[i]-d.Solids[i]-p.fire.waterK)*p.fire.perKg
	}
	r.PanKWh = point(pan, p.fire.intoPan(), perKWh)
	r.Sources = append(r.Sources, source.Bubnik1995, source.ModelHeat)
}

// ends fills in where the boil is to end: the true temperature and the dial, over
// the worlds in which the asked dryness is reached.
func (p *Plan) ends(r *Result, s *Ranges) {
	n := p.in.Ensemble.Len()
	c, err := p.columns()
	if err != nil && s.Err == nil {
		s.Err = err
		return
	}
	trueC, dialC, doctor := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		w := c.world(i)
		pot := w.pot(p.in.Additions)
		w.invert = 0
		t, err := p.in.End.targetOf(pot, q.Pascals(c.pressure[i]), c.model[i])
		if err != nil && s.Err == nil {
			s.Err = err
		}
		trueC[i], doctor[i] = t.tempC, w.pot(p.in.Additions).doctor()
		dialC[i] = t.tempC + float64(p.glass.Offset) + c.glass[i]
	}
	r.BoilC, r.DialC = s.Of(trueC, p.target.tempC), s.Of(dialC, p.dial())
	w := p.middle()
	r.Pot = w.pot(p.in.Additions)
	w.invert = 0
	r.DoctorFrac = s.Of(doctor, w.pot(p.in.Additions).doctor())
	r.Doctored, r.Browns = p.in.inKettle()
	r.Stands = p.held.of(StandsError)
	if p.in.End.Here != 0 {
		r.BoilC = q.ExactOf(float64(p.in.End.Here))
	}
	r.MarkC = Mark(p.glass, q.Celsius(p.dial()))
	p.lift(r, dialC, s)
}

// edge puts the value into the middle of its range where the boiling equation is
// at its edge and only the range is meant.
func (p *Plan) edge(r *Result) {
	if !sugar.AtEdge(q.Fraction(p.target.water)) {
		return
	}
	for _, e := range []*q.Estimate{&r.WaterFrac, &r.MassKg, &r.WaterOffKg} {
		e.Value = (e.Low + e.High) / 2
	}
}

func (p *Plan) cautions(d Draws) []Caution {
	out := p.in.chargeCautions()
	if c, ok := sugar.BoilCaution(q.Fraction(p.target.water)); ok {
		out = append(out, ofSugar(c))
	}
	out = append(out, glassCautions(p.glass, p.named, p.target.tempC, p.in.Units)...)
	out = append(out, airCaution(p.read, p.in.Units)...)
	out = append(out, p.invertCautions()...)
	out = append(out, p.additionCautions()...)
	switch {
	case p.fireErr != nil:
		why, _ := fault.Said(p.fireErr)
		out = append(out, Caution{Code: CodeOutside, Text: "no time and no fuel: " + why})
	case p.fire == nil:
		out = append(out, Caution{Code: CodeNoFire, Text: "no kettle with a burner is named: no time and no fuel"})
	}
	if d.Glass == nil {
		out = append(out, Caution{Code: CodeOutside, Text: "no glass transition: this make-up is outside its model's range"})
	}
	for _, w := range p.Weighings {
		if w.Coarse() && w.Stock == nil { // a stock solution says it itself
			out = append(out, w.coarseCaution(p.in.Units))
		}
	}
	if len(p.in.Scales) == 0 {
		out = append(out, Caution{Code: CodeScaleUnknown, Text: "no scales are named: weighing to ±" + p.in.Units.Percent(assumedWeighing, 1) + " is assumed"})
	}
	if wet := p.broughtWater(); wet > wetAddition {
		out = append(out, Caution{Code: CodeDryGlass, Text: fmt.Sprintf(
			"the additions bring %s points of water into the sweet: it stands up to less, and keeps less; a stronger colour or flavour brings less", p.in.Units.Number(wet*100, 2))})
	}
	return caution.Merge(out)
}

// shallow is the caution of a pan too large for its charge: the bulb of the
// thermometer stands bare at the end, and the edge scorches.
func (p *Plan) shallow(c *Course) []Caution {
	say := p.in.Units
	if c == nil {
		return nil
	}
	if end := c.Points[len(c.Points)-1]; end.DepthM < bulbDepth {
		return []Caution{{Code: CodeShallow, Text: fmt.Sprintf(
			"at the lift the sugar stands some %s deep in this pan, if it is as deep as half its width: under %s a thermometer stands bare and the edge scorches; take more, or a smaller pan",
			say.Length(q.Metres(end.DepthM)), say.Length(bulbDepth))}}
	}
	return nil
}

// broughtWater returns the water and spirit that additions leave in the sweet, as
// a share of it.
func (p *Plan) broughtWater() float64 {
	w := p.middle()
	wet, b := 0.0, p.nominal
	for i := range w.doses {
		if kept := w.doses[i].afterFlash(w.flash[i].water, w.flash[i].spirit); p.in.Additions[i].Stage != "boil" {
			wet += kept.Water + kept.Spirit
		}
	}
	return wet / b.finished()
}

// Ranges turns columns of draws into estimates and keeps the first error.
type Ranges struct{ Err error }

func (s *Ranges) fail(err error) {
	if s.Err == nil {
		s.Err = err
	}
}

// Of returns the range of a column around its value in the boil as intended. A
// column that is bent by a limit (no dose is below nothing) may have its value
// outside; the range then reaches to it.
func (s *Ranges) Of(column []float64, value float64) q.Estimate {
	m, err := numeric.Summarise(column)
	if err != nil && s.Err == nil {
		s.Err = err
	}
	return q.Estimate{Value: value, Low: min(m.Low, value), High: max(m.High, value), Basis: q.Estimated}
}

// standsUp is the range of a glass transition, nil outside its model's range.
func (p *Plan) standsUp(column []float64, m Makeup, s *Ranges) *q.Estimate {
	if column == nil {
		return nil
	}
	t, err := p.standsAt(m)
	if err != nil {
		return nil
	}
	e := s.Of(column, float64(t))
	return &e
}

// standsAt returns what a make-up stands up to, by the middle figures.
func (p *Plan) standsAt(m Makeup) (q.Celsius, error) {
	mix := m.phaseMixture()
	t, err := sugar.GlassTransition(mix)
	return t + q.Celsius(p.held.Mean[StandsError])*q.Celsius(sugar.GlassSD(mix)), err
}
