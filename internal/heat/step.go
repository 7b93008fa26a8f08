package heat

import (
	"math"

	"slabside/internal/fault"
)

// The pair of Hosea and Shampine (source key hosea-shampine1996): stages at 0, γ and 1,
//
//	y₂ = y + τ d (k₁ + k₂)
//	y₃ = y + τ (w k₁ + w k₂ + d k₃)
//
// with γ = 2 − √2, d = γ/2, w = √2/4, and of third order with the weights (1 − w)/3,
// (3 w + 1)/3, d/3.
const (
	stageD = 1 - math.Sqrt2/2
	stageW = math.Sqrt2 / 4
	gapOne = stageW - (1-stageW)/3
	gapTwo = stageW - (3*stageW+1)/3
	gapEnd = stageD - stageD/3
)

// Newton's method ends when a cell moves by less than this share of the bound, or fails
// after so many turns; conservation does not hang on it.
const (
	newtonShare = 1e-3
	newtonMost  = 12
)

// scratch is the room a step works in.
type scratch struct {
	temp, perJ, g          []float64 // °C, K kg/J, W/(m² K) between i−1 and i and at the faces
	lower, diag, upper     []float64
	base, y, k1, k2, k3, e []float64
	keep                   []float64
}

func newScratch(n int) scratch {
	all := make([]float64, 14*n+1)
	cut := func(n int) []float64 {
		part := all[:n:n]
		all = all[n:]
		return part
	}
	return scratch{cut(n), cut(n), cut(n + 1), cut(n), cut(n), cut(n), cut(n), cut(n), cut(n), cut(n), cut(n), cut(n), cut(n)}
}

// Advance lets so many seconds pass.
//
// Fault: Internal, if a step has to be so short that rounding eats it; nothing that is
// finite and passive brings that about.
func (s *Stack) Advance(seconds float64) error {
	end := s.time + seconds
	for end-s.time > 1e-9*math.Max(1, end) {
		if err := s.take(end - s.time); err != nil {
			return err
		}
		s.stands()
	}
	return nil
}

// stands says that a step stands.
func (s *Stack) stands() {
	if s.Each != nil {
		s.Each()
	}
}

// AdvanceUntil lets time pass until left, which is above zero at first, is zero, at most
// so many seconds, and reports whether it came to that. The moment is met to within a
// hundredth of a second.
func (s *Stack) AdvanceUntil(most float64, left func() float64) (met bool, err error) {
	end, before := s.time+most, left()
	if before <= 0 {
		return true, nil
	}
	const close = 0.01
	for end-s.time > 1e-9*math.Max(1, end) {
		from := s.mark()
		if err := s.take(end - s.time); err != nil {
			return false, err
		}
		after := left()
		if after > 0 {
			before = after
			s.stands()
			continue
		}
		// It lies within the step: halve in on it, by the straight line where that helps.
		low, high, next := 0.0, s.time-from.time, s.step
		lowLeft, highLeft := before, after
		for range 40 {
			if high-low < close {
				break
			}
			try := low + (high-low)*math.Min(math.Max(lowLeft/(lowLeft-highLeft), 0.05), 0.95)
			s.back(from)
			if err := s.jump(try); err != nil {
				return false, err
			}
			if now := left(); now > 0 {
				low, lowLeft = try, now
			} else {
				high, highLeft = try, now
			}
		}
		s.back(from)
		if err := s.jump(high); err != nil {
			return false, err
		}
		s.step = next
		s.stands()
		return true, nil
	}
	return false, nil
}

// jump takes one step of a length that is shorter than one that was good enough.
func (s *Stack) jump(length float64) error {
	s.begin()
	if _, ok := s.try(length); !ok {
		return fault.Internal(nil, "a step of %g s that was to be good enough is not", length)
	}
	s.accept(length)
	return nil
}

// moment is a state that can be gone back to.
type moment struct {
	time, inBelow, inAbove float64
	taken                  int
}

func (s *Stack) mark() moment {
	copy(s.scratch.keep, s.h)
	return moment{s.time, s.inBelow, s.inAbove, s.taken}
}

func (s *Stack) back(m moment) {
	copy(s.h, s.scratch.keep)
	s.time, s.inBelow, s.inAbove, s.taken, s.rateSet = m.time, m.inBelow, m.inAbove, m.taken, false
}

// take takes one step that is good enough, no longer than most.
func (s *Stack) take(most float64) error {
	bound := s.Bound
	if bound == 0 {
		bound = UsualBound
	}
	s.begin()
	for {
		length := math.Min(s.step, most)
		if length < 1e-9 {
			return fault.Internal(nil, "at %g s a step of %g s is not good enough", s.time, length)
		}
		miss, ok := s.try(length)
		switch {
		case !ok:
			s.step = length / 4
			continue
		case miss > bound:
			s.step = length * math.Max(0.2, 0.9*math.Cbrt(bound/miss))
			continue
		}
		s.accept(length)
		longer := math.Min(4, 0.9*math.Cbrt(bound/math.Max(miss, 1e-12)))
		if length < s.step { // cut off by the end: what was to be tried still is
			longer = math.Max(longer, s.step/length)
		}
		s.step = length * math.Max(longer, 0.5)
		return nil
	}
}

// begin sees to it that k1 holds the rates of the state.
func (s *Stack) begin() {
	if s.rateSet {
		return
	}
	s.look(s.h)
	s.sides.below[0], s.sides.above[0] = s.rates(s.scratch.k1)
	s.rateSet = true
}

// try works out a step and returns its error [K]; false if Newton's method fails, or a
// cell would be warmer or colder than all that is around it.
func (s *Stack) try(length float64) (miss float64, ok bool) {
	x := &s.scratch
	a := length * stageD
	for i := range s.h {
		x.base[i] = s.h[i] + a*x.k1[i]
		x.y[i] = s.h[i] + 2*a*x.k1[i]
	}
	if !s.newton(a) {
		return 0, false
	}
	s.sides.below[1], s.sides.above[1] = s.rates(x.k2)
	for i := range s.h {
		x.base[i] = s.h[i] + length*stageW*(x.k1[i]+x.k2[i])
		x.y[i] = x.base[i] + a*x.k2[i]
	}
	if !s.newton(a) {
		return 0, false
	}
	s.sides.below[2], s.sides.above[2] = s.rates(x.k3)
	for i := range s.h {
		x.e[i] = length * (gapOne*x.k1[i] + gapTwo*x.k2[i] + gapEnd*x.k3[i])
	}
	s.solve(x.e) // what is stiff in the error is damped as the step damps it
	for i := range x.e {
		miss = math.Max(miss, math.Abs(x.e[i]*x.perJ[i]))
	}
	return miss, !math.IsNaN(miss) && s.between(length)
}

// accept makes the step that was tried the state.
func (s *Stack) accept(length float64) {
	x := &s.scratch
	for i := range s.h {
		s.h[i] += length * (stageW*(x.k1[i]+x.k2[i]) + stageD*x.k3[i])
	}
	whole := func(q [3]float64) float64 { return length * (stageW*(q[0]+q[1]) + stageD*q[2]) }
	s.inBelow += whole(s.sides.below)
	s.inAbove += whole(s.sides.above)
	x.k1, x.k3 = x.k3, x.k1
	s.sides.below[0], s.sides.above[0] = s.sides.below[2], s.sides.above[2]
	s.time += length
	s.taken++
}

// hair is what rounding and Newton's method may leave beyond the bounds of nature [K].
const hair = 1e-6

// between reports whether every cell is, after the step that was tried, no warmer and no
// colder than all that there was: its neighbours before it and what lies around. Where
// heat is driven in, there is no such bound.
func (s *Stack) between(length float64) bool {
	if s.Below.Flux != 0 || s.Above.Flux != 0 {
		return true
	}
	x := &s.scratch
	low, high := math.Inf(1), math.Inf(-1)
	for _, f := range []Face{s.Below, s.Above} {
		if f.Film > 0 || f.Length > 0 || f.Emissivity > 0 {
			low, high = math.Min(low, f.AmbientC), math.Max(high, f.AmbientC)
		}
	}
	for i, h := range s.h {
		t, _ := s.cells[i].matter.Heat.at(h)
		low, high = math.Min(low, t), math.Max(high, t)
	}
	for i, h := range s.h {
		after := h + length*(stageW*(x.k1[i]+x.k2[i])+stageD*x.k3[i])
		if t, _ := s.cells[i].matter.Heat.at(after); t < low-hair || t > high+hair {
			return false
		}
	}
	return true
}

// newton solves y = base + a·rates(y), beginning with the y that is there.
func (s *Stack) newton(a float64) bool {
	x := &s.scratch
	bound := s.Bound
	if bound == 0 {
		bound = UsualBound
	}
	for range newtonMost {
		s.look(x.y)
		s.rates(x.e)
		s.factor(a)
		for i := range x.e {
			x.e[i] = x.base[i] + a*x.e[i] - x.y[i]
		}
		s.solve(x.e)
		far := 0.0
		for i, d := range x.e {
			x.y[i] += d
			far = math.Max(far, math.Abs(d*x.perJ[i]))
		}
		if math.IsNaN(far) {
			return false
		}
		if far < newtonShare*bound {
			s.look(x.y)
			return true
		}
	}
	return false
}

// look works out the temperatures of enthalpies, and the conductances between cells and
// through the faces at them.
func (s *Stack) look(h []float64) {
	x := &s.scratch
	n := len(h)
	for i := range h {
		x.temp[i], x.perJ[i] = s.cells[i].matter.Heat.at(h[i])
	}
	before := 0.0 // resistance of the upper half of the cell below
	for i := range h {
		c := &s.cells[i]
		half := c.depth / 2 / c.matter.conductivity(x.temp[i])
		if i > 0 {
			x.g[i] = 1 / (before + s.apart[i] + half)
		} else {
			x.g[0] = through(s.Below, x.temp[0], half, &s.sideLow)
		}
		before = half
	}
	x.g[n] = through(s.Above, x.temp[n-1], before, &s.sideHigh)
}

// through is the conductance from the middle of an outer cell through its half and the
// face [W/(m² K)]. The side's temperature is met in a few turns: the coefficient hangs on
// it weakly.
func through(f Face, tempC, half float64, side *float64) float64 {
	if f.Length == 0 && f.Emissivity == 0 {
		if f.Film == 0 {
			return 0
		}
		return 1 / (half + 1/f.Film)
	}
	g := 0.0
	for range 3 {
		g = 1 / (half + 1/f.coefficient(*side))
		next := tempC - g*(tempC-f.AmbientC)*half
		far := math.Abs(next - *side)
		*side = next
		if far < 1e-3 {
			break
		}
	}
	return g
}

// rates writes the rates of the enthalpies that were looked at [W/kg], and returns what
// comes in through the sides [W/m²].
func (s *Stack) rates(k []float64) (below, above float64) {
	x := &s.scratch
	n := len(k)
	below = x.g[0]*(s.Below.AmbientC-x.temp[0]) + s.Below.Flux
	above = x.g[n]*(s.Above.AmbientC-x.temp[n-1]) + s.Above.Flux
	in := below
	for i := range k {
		out := -above
		if i < n-1 {
			out = x.g[i+1] * (x.temp[i] - x.temp[i+1])
		}
		k[i] = (in - out) / s.cells[i].mass
		in = out
	}
	return below, above
}

// factor prepares 1 − a · (rates by enthalpies), without the slopes of the conductances,
// by Thomas's elimination.
func (s *Stack) factor(a float64) {
	x := &s.scratch
	n := len(s.h)
	for i := range n {
		scale := a / s.cells[i].mass
		x.diag[i] = 1 + scale*(x.g[i]+x.g[i+1])*x.perJ[i]
		x.lower[i], x.upper[i] = 0, 0
		if i > 0 {
			x.lower[i] = -scale * x.g[i] * x.perJ[i-1]
			x.lower[i] /= x.diag[i-1]
			x.diag[i] -= x.lower[i] * x.upper[i-1]
		}
		if i < n-1 {
			x.upper[i] = -scale * x.g[i+1] * x.perJ[i+1]
		}
	}
}

// solve solves for a right-hand side, in place, by what was factored last.
func (s *Stack) solve(b []float64) {
	x := &s.scratch
	n := len(b)
	for i := 1; i < n; i++ {
		b[i] -= x.lower[i] * b[i-1]
	}
	b[n-1] /= x.diag[n-1]
	for i := n - 2; i >= 0; i-- {
		b[i] = (b[i] - x.upper[i]*b[i+1]) / x.diag[i]
	}
}
