package numeric

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"slabside/internal/fault"
)

// The three ways a fit can be refused once it has begun; each is the cause of a fault
// that says which unknown or what to do. A model that cannot be asked at the start is
// refused with its own error as the cause.
var (
	ErrUndetermined = errors.New("what was seen does not determine every unknown")
	ErrNotSettled   = errors.New("the fit did not settle")
	ErrNoModel      = errors.New("the model cannot be asked here")
)

// An Unknown is a number to be fitted, and what is held of it beforehand.
type Unknown struct {
	Name string // what a fault calls it

	// Mean and SD are of the normal prior. SD is above zero; +Inf: there is no prior.
	Mean, SD float64

	// Scale is a change of the unknown that matters, at best one that moves the
	// residuals by about one: the steps of difference quotients are shares of it.
	// 0: the prior's SD or, once slopes are known, what the observations leave of it;
	// without a prior the size of the unknown where it is.
	Scale float64
}

// LeastSquares asks for the unknowns x that make
//
//	Σ cost(rᵢ(x)) + Σ ((xₖ − meanₖ)/sdₖ)²
//
// least, where residual rᵢ is what was seen less what is predicted, divided by the
// standard deviation of the two. With plain squares that is the most probable x, given
// what was seen and the prior, and where the prediction is a straight line in x all of
// it is the answer of a [Belief].
//
// The method is that of Levenberg and Marquardt as Moré made it: a region of trust in
// the linear model, scaled by the largest slopes met so far, so that it does not matter
// in which units an unknown is counted. Residuals and prior are one matrix, made
// triangular by reflections with exchange of columns; no normal equations are formed,
// which would cost half of the digits. On one kind of machine the same problem gives the
// same answer, bit by bit.
//
// With another loss each step is one of squares that are weighted anew, so that one wild
// observation cannot drag the fit. It finds a minimum that can be reached downhill from
// the start, which need not be the least of several.
//
// Reference: source keys levenberg1944, marquardt1963 and more1978.
type LeastSquares struct {
	Unknowns []Unknown
	N        int // number of residuals

	// Residuals writes the N residuals at x into r. An error says that x is out of the
	// model's range, and so does a residual that is not a finite number: the fit then
	// takes a shorter step. At the start both are refused.
	Residuals func(x, r []float64) error

	// Jacobian writes the slopes of the residuals at x: j[k][i] is of residual i in
	// unknown k. nil: central difference quotients, two calls of Residuals an unknown,
	// one-sided at the edge of the model's range.
	Jacobian func(x []float64, j [][]float64) error

	// Loss is what a residual costs. nil: its square.
	Loss Loss

	// Noise is how exactly Residuals computes, in units of its residuals, where it is
	// less exact than floats are (a model that solves equations of its own to a
	// tolerance). Steps of difference quotients grow with it, and nothing is asked of
	// the fit that noise would drown. 0: rounding alone.
	Noise float64

	// Tol ends the fit: what a full step would still move, in standard deviations of
	// the unknowns. Where the residuals scatter by less than their standard deviation
	// it counts in that scatter, and where slopes or noise do not allow as much, what
	// they allow is enough. 0: 1e-8.
	Tol float64

	// Budget is how often Residuals may be called. 0: 200 times an unknown.
	Budget int
}

const (
	usualTol    = 1e-8
	usualBudget = 200  // calls an unknown
	leastGain   = 1e-4 // of what a step promised, for it to be taken (Moré)
	scatterEnd  = 1e-3 // a scatter below this is not looked at any closer
	leastLean   = 0.01 // of search.lean
	epsilon     = 0x1p-52
)

// Fit finds the unknowns from a start in the range of the model. A start nearer to the
// answer costs less, and where there are several minima decides which is found; the
// means of the prior are a good one.
//
// Refused with a fault are: a problem that is not whole (the field is named), residuals
// or slopes at the start that are not finite ([ErrNotFinite]) or cannot be had
// ([ErrNoModel]), unknowns that neither observations nor prior determine
// ([ErrUndetermined]), and a budget that is used up, or steps without end
// ([ErrNotSettled]).
func (p LeastSquares) Fit(start []float64) (Fit, error) {
	if err := p.check(start); err != nil {
		return Fit{}, err
	}
	s := newSearch(p)
	here, err := s.at(start)
	if err != nil {
		return Fit{}, noModel(err, "at the start")
	}
	for s.iterations = 0; ; s.iterations++ {
		l, err := s.linearise(here)
		if err != nil {
			return Fit{}, err
		}
		if s.settled(l) {
			return s.finish(l)
		}
		if here, err = s.step(l); err != nil {
			return Fit{}, err
		}
	}
}

// A search is a fit under way.
type search struct {
	LeastSquares
	iterations, calls int
	longest           []float64 // length of each column of slopes, the largest so far
	strides           []float64 // of the last difference quotients
	digits            float64   // what rounding can do to the residuals
	lean              float64   // share of its weight that a residual counts at least
	radius            float64   // of the region of trust, in scaled unknowns
}

func newSearch(p LeastSquares) *search {
	if p.Loss == nil {
		p.Loss = squares
	}
	if p.Tol == 0 {
		p.Tol = usualTol
	}
	if p.Budget == 0 {
		p.Budget = usualBudget * len(p.Unknowns)
	}
	return &search{lean: 1, LeastSquares: p, longest: make([]float64, len(p.Unknowns)), strides: make([]float64, len(p.Unknowns))}
}

// A place is where the search is: the unknowns, their residuals and what they cost.
type place struct {
	x, r []float64
	cost float64 // of residuals and prior
}

// at asks the model.
func (s *search) at(x []float64) (place, error) {
	here := place{x: append([]float64(nil), x...), r: make([]float64, s.N)}
	if err := s.ask(here.x, here.r); err != nil {
		return place{}, err
	}
	for _, r := range here.r {
		cost, _, _ := s.Loss(r)
		here.cost += cost
	}
	for k, u := range s.Unknowns {
		z := (x[k] - u.Mean) / u.SD
		here.cost += z * z
	}
	if !finite(here.cost) {
		return place{}, ErrNotFinite
	}
	return here, nil
}

// ask calls the model once, on a copy of x, and sees to it that the residuals are finite.
func (s *search) ask(x, r []float64) error {
	if s.calls == s.Budget {
		return errBudget
	}
	if s.Residuals == nil { // none to compute
		return nil
	}
	s.calls++
	if err := s.Residuals(append([]float64(nil), x...), r); err != nil {
		return err
	}
	for i, v := range r {
		if !finite(v) {
			return fmt.Errorf("residual %d: %w", i, ErrNotFinite)
		}
	}
	return nil
}

// errBudget is turned into a fault by what meets it.
var errBudget = errors.New("the budget is used up")

// A linear is the problem as it looks from one place: the slopes of the residuals, and
// weighted residuals and slopes with those of the prior below them.
type linear struct {
	place
	slopes  [][]float64 // of the residuals, by unknown
	weights []float64   // of the residuals
	scale   []float64   // length that each column is divided by
	tri     triangle
	rough   float64 // error of the slopes, as a share of their column
	tol     float64 // of the end
}

// linearise computes slopes and weights at a place.
func (s *search) linearise(here place) (linear, error) {
	l := linear{place: here, weights: make([]float64, s.N), slopes: make([][]float64, len(here.x))}
	for k := range l.slopes {
		l.slopes[k] = make([]float64, s.N)
	}
	if err := s.differentiate(here, l.slopes); err != nil {
		return linear{}, err
	}
	counts := make([]float64, s.N)
	for i, r := range here.r {
		_, weight, curve := s.Loss(r)
		l.weights[i], counts[i] = weight, max(curve, s.lean*weight)
	}
	columns, f := s.stack(l, counts)
	now := lengths(columns)
	for k := range now {
		s.longest[k] = max(s.longest[k], now[k])
	}
	l.scale = noZeros(s.longest)
	l.tri = triangular(columns, f, l.scale)
	s.digits = 4 * epsilon * (scaledNorm(here.x, now) + norm(f))
	l.rough = s.roughness(now)
	for k := range l.tri.order {
		if l.blind(l.tri, k) {
			l.tri.columns[k][k] = 0 // a step by error alone would be long
		}
	}
	scatter := norm(f) / math.Sqrt(float64(max(1, s.N+s.priors()-len(here.x))))
	l.tol = max(s.Tol*min(1, max(scatter, scatterEnd)), 2*(s.shake()+l.rough*norm(f)))
	if s.iterations == 0 { // the length of the start, at least one residual's standard deviation
		s.radius = max(1, scaledNorm(here.x, l.scale))
	}
	return l, nil
}

// stack returns slopes and residuals over those of the prior: slopes times the root of
// what each observation counts, and residuals so that the product of both is half the
// slope of the cost.
func (s *search) stack(l linear, counts []float64) (columns [][]float64, f []float64) {
	f = make([]float64, s.N+len(l.x))
	columns = make([][]float64, len(l.x))
	for k := range columns {
		columns[k] = make([]float64, len(f))
	}
	for i, r := range l.r {
		if counts[i] == 0 {
			continue
		}
		root := math.Sqrt(counts[i])
		f[i] = l.weights[i] * r / root
		for k := range columns {
			columns[k][i] = root * l.slopes[k][i]
		}
	}
	for k, u := range s.Unknowns {
		f[s.N+k] = (l.x[k] - u.Mean) / u.SD
		columns[k][s.N+k] = 1 / u.SD
	}
	return columns, f
}

// priors counts the unknowns that have one.
func (s *search) priors() int {
	n := 0
	for _, u := range s.Unknowns {
		if !math.IsInf(u.SD, 1) {
			n++
		}
	}
	return n
}

// shake is by how much noise and rounding can move all residuals together.
func (s *search) shake() float64 { return s.Noise*math.Sqrt(float64(s.N)) + s.digits }

// settled says whether a full step would move the unknowns by next to nothing of their
// standard deviations: the part of the residuals that the slopes can still explain
// (source key bates-watts1981).
//
// What the slopes cannot tell is not waited for: finish refuses it.
func (s *search) settled(l linear) bool {
	var open []float64
	for k, v := range l.tri.rhs {
		if !l.blind(l.tri, k) {
			open = append(open, v)
		}
	}
	return norm(open) <= l.tol
}

// step goes to a better place: by the longest step within the region of trust that
// keeps enough of what the linear model promises. The region shrinks until there is one.
func (s *search) step(l linear) (place, error) {
	// What rounding and noise of the residuals can do to the cost: no loss by less is
	// believed.
	blur := 16*epsilon*l.cost + 2*math.Sqrt(l.cost)*s.shake()
	slope := l.tri.slope()
	damping := 0.0
	var refused error // by the model, last
	for {
		var q []float64
		q, damping = l.tri.within(s.radius, damping)
		x := append([]float64(nil), l.x...)
		for k := range x {
			x[k] += q[k] / l.scale[k]
		}
		if slices.Equal(x, l.x) { // no shorter step is left
			return place{}, s.notSettled(refused)
		}
		there, err := s.at(x)
		if errors.Is(err, errBudget) {
			return place{}, s.notSettled(refused)
		}
		if err != nil {
			refused, s.radius = err, norm(q)/4
			continue
		}
		fall, bend := -dot(slope, q), norm(l.tri.times(q))
		loss := there.cost - l.cost
		gain := (blur - loss) / (blur + 2*fall - bend*bend)
		s.trust(gain, norm(q), damping, fall/(2*fall+max(0, loss)))
		if gain >= leastGain {
			return there, nil
		}
	}
}

// trust makes the region smaller after a step that kept little of what it promised, to
// the lowest point of the parabola through both ends of the step, and larger after one
// that kept it. With a loss other than squares it leans from weights, which are safe, to
// curves, with which the last steps are Newton's, and back.
func (s *search) trust(gain, long, damping, lowest float64) {
	switch {
	case gain < 0.25:
		s.lean = min(1, 4*s.lean)
		s.radius = long * max(0.1, lowest)
	case gain >= 0.75 || damping == 0:
		s.lean = max(leastLean, s.lean/2)
		s.radius = 2 * long
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func (p LeastSquares) name(k int) string {
	if n := p.Unknowns[k].Name; n != "" {
		return n
	}
	return fmt.Sprintf("unknown %d", k)
}

// check refuses a problem that is not whole.
func (p LeastSquares) check(start []float64) error {
	switch {
	case len(p.Unknowns) == 0:
		return fault.Invalid("a fit needs unknowns").At("unknowns")
	case len(start) != len(p.Unknowns):
		return fault.Invalid("%d unknowns need a start each, not %d", len(p.Unknowns), len(start)).At("start")
	case p.N < 0 || p.N > 0 && p.Residuals == nil:
		return fault.Invalid("%d residuals cannot be computed", p.N).At("residuals")
	case !(p.Noise >= 0 && p.Noise < 1):
		return fault.Invalid("%g is no share of a standard deviation", p.Noise).At("noise")
	case !(p.Tol >= 0 && p.Tol < 1):
		return fault.Invalid("%g is no share of a standard deviation", p.Tol).At("tol")
	case p.Budget < 0:
		return fault.Invalid("%d calls cannot be made", p.Budget).At("budget")
	}
	for k, u := range p.Unknowns {
		at := func(field string) string { return fmt.Sprintf("unknowns[%d].%s", k, field) }
		switch {
		case !(u.SD > 0):
			return fault.Invalid("the prior of %s needs a standard deviation above zero, not %g", p.name(k), u.SD).
				At(at("sd")).WithHint("infinite: there is no prior")
		case !finite(u.Mean):
			return fault.Invalid("the mean of %s is not a finite number", p.name(k)).At(at("mean"))
		case !(u.Scale >= 0) || math.IsInf(u.Scale, 1):
			return fault.Invalid("the scale of %s is %g, not a size", p.name(k), u.Scale).At(at("scale"))
		case !finite(start[k]):
			return fault.Invalid("the start of %s is not a finite number", p.name(k)).At(fmt.Sprintf("start[%d]", k)).WithCause(ErrNotFinite)
		}
	}
	return nil
}

// noModel is the fault of a model that cannot be asked at a place.
func noModel(err error, where string) error {
	return fault.Invalid("the model of a fit cannot be asked %s", where).WithHint("start within its range").
		WithCause(errors.Join(ErrNoModel, err))
}

// notSettled is the fault of a fit without an end; refused is what the model said last
// of a place it was asked at, nil if it answered.
func (s *search) notSettled(refused error) error {
	return fault.Invalid("the fit did not settle in %d steps and %d calls of its model", s.iterations, s.calls).
		WithHint("start nearer, or hold the unknowns by priors").WithCause(errors.Join(ErrNotSettled, refused))
}
