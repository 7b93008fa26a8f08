package boil

import (
	"math"

	q "slabside/internal/quantity"
)

// StandingError is an error that stays with a room from boil to boil, so that its
// records can teach it.
type StandingError int

// The standing errors.
const (
	ModelError  StandingError = iota // of the boiling equation: [sugar.BoilModelSD]
	GlassError                       // of the thermometer, beyond offset and checks: its class
	StandsError                      // of the glass transition: [sugar.GlassSD]
	FireError                        // of the kettle's efficiency: its low and high
	standing
)

// Learned is what the records of a room say of its standing errors: jointly normal,
// each in standard deviations of what is held of it without records.
type Learned struct {
	Mean    [standing]float64
	Root    [standing][standing]float64 // lower triangle: errors = Mean + Root · independent draws
	Batches [standing]int               // how many taught it; 0: none
}

// untaught is what is held without records.
func untaught() Learned {
	var l Learned
	for i := range l.Root {
		l.Root[i][i] = 1
	}
	return l
}

// draws turns independent standard-normal columns, one an error, into draws of the
// errors, in place.
func (l Learned) draws(columns [standing][]float64) {
	for i := range columns[0] {
		for e := standing - 1; e >= 0; e-- { // the root is a lower triangle: those below are done with
			sum := l.Mean[e]
			for k := StandingError(0); k <= e; k++ {
				sum += l.Root[e][k] * columns[k][i]
			}
			columns[e][i] = sum
		}
	}
}

// Standing is a standing error on its own, in standard deviations of what is held of
// it without records.
type Standing struct{ Mean, SD float64 }

// of returns one error on its own.
func (l Learned) of(e StandingError) Standing {
	sum := 0.0
	for _, r := range l.Root[e] {
		sum += r * r
	}
	return Standing{l.Mean[e], math.Sqrt(sum)}
}

// taught marks estimates that hang on standing errors as learned, if any of these is.
func (l Learned) taught(by []StandingError, figures ...*q.Estimate) {
	most := 0
	for _, e := range by {
		most = max(most, l.Batches[e])
	}
	for _, f := range figures {
		if f != nil && most > 0 && f.Basis == q.Estimated {
			f.Basis, f.Batches = q.Learned, most
		}
	}
}

// standingDraws returns the draws of the standing errors.
func (p *Plan) standingDraws() [standing][]float64 {
	e := p.in.Ensemble
	var c [standing][]float64
	kettle := ""
	if p.in.Kettle != nil {
		kettle = p.in.Kettle.ID
	}
	for i, name := range [standing]string{"shop:boil-model", "glass:" + p.glass.ID + ":class", "shop:glass-transition", "kettle:" + kettle + ":efficiency"} {
		c[i] = e.Normal(name)
	}
	p.held.draws(c)
	return c
}

// markLearned says of the figures that records have taught how many batches did.
func (p *Plan) markLearned(r *Result) {
	l := p.held
	boiled := []StandingError{ModelError, GlassError}
	l.taught(boiled, &r.WaterFrac, &r.MassKg, &r.WaterOffKg, &r.FinishedKg)
	if p.in.End.WaterLeft != 0 { // a temperature that is asked for hangs on no equation
		l.taught([]StandingError{ModelError}, &r.BoilC)
		l.taught(boiled, &r.DialC, r.LiftC)
	}
	l.taught([]StandingError{GlassError}, &r.DialC, r.LiftC)
	l.taught([]StandingError{ModelError, GlassError, StandsError}, r.GlassC)
	l.taught([]StandingError{FireError}, r.LitS, r.WatchS, r.EnergyKWh, r.AfterHeatK, r.LateK)
	for i := range r.Portions {
		l.taught(boiled, &r.Portions[i].MassKg, &r.Portions[i].WaterFrac)
		l.taught([]StandingError{ModelError, GlassError, StandsError}, r.Portions[i].GlassC)
	}
}
