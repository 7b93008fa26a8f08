package boil

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/inversion"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// Plan is a boil as intended: every figure in the middle of its range, and what
// is to be weighed. [Plan.Simulate] gives the ranges.
type Plan struct {
	in       Inputs
	glass    rig.Glass
	held     Learned // of the standing errors
	named    bool    // a glass was named
	portions []recipe.Portion
	shares   []float64
	pressure q.Pascals
	read     bool // the pressure was read on a barometer
	doses    []float64
	flash    []Flash // what flashes off each addition; nil: no heat reckoned yet
	nominal  balance
	target   target
	fire     *firing
	fireErr  error

	inverting *inverting // nil without a fire
	invertErr error
	drawn     *columns // by the first who asks

	Weighings []Weighing // charge first, then the additions by stage
}

// Prepare works out a boil as intended.
//
// Faults: invalid for what cannot be boiled or a dose that cannot be made, out of
// range where the boiling equation does not hold and for a charge the kettle does
// not take (see [Fit]).
func Prepare(in Inputs) (*Plan, error) {
	if in.Ensemble.Len() == 0 {
		in.Ensemble = numeric.NewEnsemble(numeric.Draws, 0)
	}
	if err := in.Charge.check(); err != nil {
		return nil, err
	}
	if err := in.End.check(); err != nil {
		return nil, err
	}
	if in.Kettle != nil {
		fit, err := FitOf(in.Charge, *in.Kettle)
		if err != nil {
			return nil, err
		}
		if err := fit.Check(in.Units); err != nil {
			return nil, err
		}
	}
	if _, err := inversion.CookBackLimit(in.CookBack, 0); err != nil {
		return nil, err
	}
	p := &Plan{in: in}
	var err error
	if p.portions, p.shares, err = in.parts(); err != nil {
		return nil, err
	}
	if err := checkDoses(in.Additions, p.portions); err != nil {
		return nil, err
	}
	if p.pressure, p.read, err = Pressure(in.Room); err != nil {
		return nil, err
	}
	p.glass, p.named = in.glass()
	if p.held = untaught(); in.Learned != nil {
		p.held = *in.Learned
	}
	p.glass.Offset += q.Kelvins(p.held.Mean[GlassError]) * p.glass.Class / ninety
	if p.in.End.StandsUp != 0 {
		if p.in.End, err = p.endFor(p.in.End.StandsUp); err != nil {
			return nil, err
		}
	}
	return p, p.develop()
}

// develop works the plan out to the end: what inverts hangs on how long the boil
// takes, and that on what has inverted. A round brings the two some fifty times
// nearer; where they never meet, or the fire has no answer for what inverts, the
// plan stands without inversion and says why.
func (p *Plan) develop() error {
	const rounds, settled = 20, 1e-5 // half a thousandth of a kelvin in what it stands up to
	for range rounds {
		if err := p.work(); err != nil {
			return err
		}
		before := p.inverted()
		var err error
		if p.inverting, err = p.invert(); err == nil && p.inverting == nil && before > 0 {
			err = p.fireErr
		}
		switch {
		case err != nil:
			return p.plain(err)
		case math.Abs(p.inverted()-before) < settled:
			return nil
		}
	}
	return p.plain(fault.Invalid("its time and what it inverts do not settle"))
}

// plain works the plan out without inversion, for a reason.
func (p *Plan) plain(why error) error {
	p.inverting, p.invertErr = nil, why
	return p.work()
}

// work carries the plan through doses, weighings, balance and fire.
func (p *Plan) work() error {
	if err := p.settle(); err != nil {
		return err
	}
	if err := p.lay(); err != nil {
		return err
	}
	// What flashes off hangs on the mass, and the mass hardly on what flashes.
	p.flash = p.flashes()
	if err := p.settle(); err != nil {
		return err
	}
	if err := p.lay(); err != nil {
		return err
	}
	p.fire, p.fireErr = nil, nil
	p.light()
	return nil
}

// lay lays out the weighings and the balance of the doses as they stand.
func (p *Plan) lay() (err error) {
	p.Weighings = nil
	p.weighLines()
	p.nominal, p.target, err = p.balanceOf(p.middle())
	return err
}

// flashOf is what flashes off addition i.
func (p *Plan) flashOf(i int) Flash {
	if p.flash == nil {
		return FlashAt(p.in.Additions[i].Stage)
	}
	return p.flash[i]
}

// settle finds the doses: shares of a finished mass they are themselves part of.
func (p *Plan) settle() error {
	if p.doses == nil {
		p.doses = make([]float64, len(p.in.Additions))
	}
	const rounds, settled = 200, 1e-14
	for range rounds {
		b, _, err := p.balanceOf(p.middle())
		if err != nil {
			return err
		}
		change, whole := 0.0, b.finished()
		for i, d := range p.in.Additions {
			of := whole
			for j, portion := range p.portions {
				if d.Portion != "" && portion.ID == d.Portion {
					of = b.Portions[j].Mass()
				}
			}
			next := float64(d.Share) * of
			change = math.Max(change, math.Abs(next-p.doses[i])/whole)
			p.doses[i] = next
		}
		if change < settled {
			return nil
		}
	}
	return fault.Invalid("the additions do not settle to a finished mass").WithHint("give doses as a share of the finished mass")
}

// weighLines chooses a scale for every line.
func (p *Plan) weighLines() {
	for _, l := range p.in.Charge.Lines {
		p.Weighings = append(p.Weighings, weigh(l.Ingredient, "", "", l.Mass, p.in.Scales))
	}
	for i, d := range p.in.Additions {
		p.Weighings = append(p.Weighings, weigh(d.Ingredient, d.Stage, d.Portion, q.Kilograms(p.doses[i]), p.in.Scales))
	}
}

// stock returns the stock solution proposed for a dose, nil where there is none.
func (p *Plan) stock(i int) *Stock {
	at := len(p.in.Charge.Lines) + i
	if at >= len(p.Weighings) {
		return nil // not weighed out yet
	}
	return p.Weighings[at].Stock
}

// middle returns the world in which nothing is off.
func (p *Plan) middle() world {
	w := world{split: p.shares, invert: p.inverted(), slab: p.slabInverted()}
	for _, l := range p.in.Charge.Lines {
		solids, de := stated(l.Ingredient)
		w.kettle = append(w.kettle, makeupOf(l.Ingredient, float64(l.Mass), solids, de))
	}
	for i, d := range p.in.Additions {
		solids, de := stated(d.Ingredient)
		w.doses = append(w.doses, makeupOf(d.Ingredient, p.doses[i], solids, de).Plus(p.stock(i).brings(1)))
		water, spirit := p.flashOf(i).middle()
		w.flash = append(w.flash, lost{water, spirit})
	}
	if p.in.Kettle != nil {
		w.smear = float64(p.in.Kettle.Smear)
	}
	return w
}

// balanceOf carries a world that is boiled to exactly what was asked through the
// balance.
func (p *Plan) balanceOf(w world) (balance, target, error) {
	pot, off := w.pot(p.in.Additions), p.held.Mean[ModelError]
	end, err := p.in.End.targetOf(pot, p.pressure, off)
	if err == nil && off != 0 && p.in.End.WaterLeft == 0 {
		// What is asked for as a temperature leaves the water that it leaves here.
		end.water, err = outcome(pot.Solids(), end.tempC, float64(p.pressure), off)
	}
	if err != nil {
		return balance{}, target{}, err
	}
	w.water = end.water
	b, err := run(w, p.in.Additions, p.portions)
	return b, end, err
}

// light works out the fire, where there is one. A boil outside the range of the
// heat's models keeps its masses and has no time.
func (p *Plan) light() {
	k := p.in.Kettle
	if k == nil || k.Burner <= 0 || k.Efficiency <= 0 {
		return
	}
	f, err := fire(p.middle().pot(p.in.Additions), p.nominal.Lift.Water, *k, p.pressure, float64(p.in.Room.Air))
	if err != nil {
		p.fireErr = err
		return
	}
	p.fire = &f
}

// Charge returns all that goes into the kettle at the start.
func (p *Plan) Charge() q.Kilograms { return p.in.Charge.Mass() }

// power returns the heat that reaches the pan [W], by the middle figures.
func (p *Plan) power() float64 {
	k := *p.in.Kettle
	return float64(k.Burner) * efficiencyAt(k, p.held.Mean[FireError])
}

// dial returns the reading to lift at, by the middle figures.
func (p *Plan) dial() float64 { return p.target.tempC + float64(p.glass.Offset) }
