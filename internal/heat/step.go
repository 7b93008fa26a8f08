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
	onward = (1 - 2*stageD) / (2 * stageD) // from 0 by way of γ to 1
)

// Newton's method ends when what is left over moves no cell by more than this share of
// the bound, or fails after so many turns; conservation does not hang on it.
const (
	newtonShare = 0.01
	newtonMost  = 12
)

// longest is by how much a step may be longer than the one before.
const longest = 10

// scratch is the room a step works in.
type scratch struct {
	temp, perJ, k          []float64 // °C, K kg/J, W/(m K)
	g, gLow, gHigh         []float64 // through face i [W/(m² K)]; growth of what passes with the temperature below, above
	lower, upper, undiag   []float64
	base, y, k1, k2, k3, e []float64
	now, next              []float64 // °C before and after the step
	keepH, keepK           []float64
	outLow, outHigh        float64 // through the sides [W/m²]
}

func newScratch(n int) scratch {
	all := make([]float64, 19*n+3)
	cut := func(n int) []float64 {
		part := all[:n:n]
		all = all[n:]
		return part
	}
	return scratch{temp: cut(n), perJ: cut(n), k: cut(n), g: cut(n + 1), gLow: cut(n + 1), gHigh: cut(n + 1),
		lower: cut(n), upper: cut(n), undiag: cut(n), base: cut(n), y: cut(n), k1: cut(n), k2: cut(n), k3: cut(n),
		e: cut(n), now: cut(n), next: cut(n), keepH: cut(n), keepK: cut(n)}
}

// Advance lets so many seconds pass.
//
// Fault: Invalid, if that is no length of time; Internal, if a step has to be so short
// that rounding eats it; nothing that is finite and passive brings that about.
func (s *Stack) Advance(seconds float64) error {
	if err := length(seconds); err != nil {
		return err
	}
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
// hundredth of a second, from after it. Faults are those of Advance.
func (s *Stack) AdvanceUntil(most float64, left func() float64) (met bool, err error) {
	if err := length(most); err != nil {
		return false, err
	}
	end, before := s.time+most, left()
	if before <= 0 {
		return true, nil
	}
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
		next := s.step
		err = s.meet(from, s.time-from.time, before, after, left)
		s.step = next
		if err != nil {
			return false, err
		}
		s.stands()
		return true, nil
	}
	return false, nil
}

// close is how near AdvanceUntil comes to its moment [s].
const close = 0.01

// meet finds where within a step left is zero: by the straight line, and by halving where
// that has not helped. It leaves the stack there.
func (s *Stack) meet(from moment, high, lowLeft, highLeft float64, left func() float64) error {
	low, helped := 0.0, true
	for high-low > close {
		share := 0.5
		if helped { // a little beyond, so that both ends close in
			share = math.Min(math.Max(lowLeft/(lowLeft-highLeft), 0.02), 0.98)
		}
		was, try := high-low, low+share*(high-low)
		if err := s.jump(from, try); err != nil {
			return err
		}
		if now := left(); now > 0 {
			low, lowLeft = try, now
		} else {
			high, highLeft = try, now
		}
		helped = high-low < was/2
	}
	return s.jump(from, high)
}

// length refuses what is no length of time.
func length(seconds float64) error {
	if !(seconds >= 0) || math.IsInf(seconds, 1) {
		return fault.Invalid("%g s is no length of time: give zero or more", seconds)
	}
	return nil
}

// jump goes back to a moment and takes one step from it, of a length that is shorter than
// one that was good enough.
func (s *Stack) jump(from moment, length float64) error {
	s.back(from)
	if _, ok := s.try(length); !ok {
		return fault.Internal(nil, "a step of %g s that was to be good enough is not", length)
	}
	s.accept(length)
	return nil
}

// moment is a state that can be gone back to.
type moment struct {
	time, inBelow, inAbove, step float64
	below, above                 float64 // W/m² that came in
	seenLow, seenHigh            float64
	taken                        int
	fresh                        bool
}

// mark keeps the state, with its rates.
func (s *Stack) mark() moment {
	s.begin()
	copy(s.scratch.keepH, s.h)
	copy(s.scratch.keepK, s.scratch.k1)
	return moment{s.time, s.inBelow, s.inAbove, s.step, s.sides.below[0], s.sides.above[0], s.seenLow, s.seenHigh, s.taken, s.fresh}
}

// back goes back to the moment marked last.
func (s *Stack) back(m moment) {
	copy(s.h, s.scratch.keepH)
	copy(s.scratch.k1, s.scratch.keepK)
	s.time, s.inBelow, s.inAbove, s.step, s.taken = m.time, m.inBelow, m.inAbove, m.step, m.taken
	s.sides.below[0], s.sides.above[0], s.seenLow, s.seenHigh, s.fresh = m.below, m.above, m.seenLow, m.seenHigh, m.fresh
	s.temps(s.h, s.scratch.now)
}

// bound is the error allowed of a step [K].
func (s *Stack) bound() float64 {
	if s.Bound > 0 {
		return s.Bound
	}
	return UsualBound
}

// take takes one step that is good enough, no longer than most.
func (s *Stack) take(most float64) error {
	bound := s.bound()
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
		longer := math.Min(longest, 0.9*math.Cbrt(bound/math.Max(miss, 1e-12)))
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
	s.sideLow, s.sideHigh = s.seenLow, s.seenHigh
	s.look(s.h)
	s.look(s.h) // with the temperatures of the sides as the first look found them
	s.sides.below[0], s.sides.above[0] = s.rates(s.scratch.k1)
	copy(s.scratch.now, s.scratch.temp)
	s.seenLow, s.seenHigh = s.sideLow, s.sideHigh
	s.rateSet, s.fresh = true, true
}

// try works out a step and returns its error [K]; false if Newton's method fails, or a
// cell would be warmer or colder than all that is around it.
func (s *Stack) try(length float64) (miss float64, ok bool) {
	x := &s.scratch
	a := length * stageD
	s.sideLow, s.sideHigh = s.seenLow, s.seenHigh // whatever a step before that failed made of them
	guess := 2 * a
	if s.fresh { // what is stiff is not yet gone: the rates lead nowhere
		guess = 0
	}
	for i, h := range s.h {
		x.base[i] = h + a*x.k1[i]
		x.y[i] = h + guess*x.k1[i]
	}
	if s.sides.below[1], s.sides.above[1], ok = s.newton(a, x.k2, true); !ok {
		return 0, false
	}
	for i, h := range s.h {
		x.base[i] = h + length*stageW*(x.k1[i]+x.k2[i])
		x.y[i] = x.base[i] + a*(x.k2[i]+onward*(x.k2[i]-x.k1[i]))
	}
	if s.sides.below[2], s.sides.above[2], ok = s.newton(a, x.k3, false); !ok {
		return 0, false
	}
	for i := range x.e {
		x.e[i] = length * (gapOne*x.k1[i] + gapTwo*x.k2[i] + gapEnd*x.k3[i])
		x.y[i] = x.base[i] + a*x.k3[i] // the state, if it is accepted
	}
	s.solve(x.e) // what is stiff in the error is damped as the step damps it
	for i, e := range x.e {
		if off := math.Abs(e * x.perJ[i]); !(off <= miss) {
			if math.IsNaN(off) {
				return 0, false
			}
			miss = off
		}
	}
	return miss, s.between()
}

// accept makes the step that was tried the state.
func (s *Stack) accept(length float64) {
	x := &s.scratch
	s.h, x.y = x.y, s.h
	x.k1, x.k3 = x.k3, x.k1
	x.now, x.next = x.next, x.now
	whole := func(q [3]float64) float64 { return length * (stageW*(q[0]+q[1]) + stageD*q[2]) }
	s.inBelow += whole(s.sides.below)
	s.inAbove += whole(s.sides.above)
	s.sides.below[0], s.sides.above[0] = s.sides.below[2], s.sides.above[2]
	s.seenLow, s.seenHigh = s.sideLow, s.sideHigh
	s.time += length
	s.taken++
	s.fresh = false
}

// hair is what rounding and Newton's method may leave beyond the bounds of nature [K].
const hair = 1e-6

// between reports whether every cell is, after the step that was tried, no warmer and no
// colder than all that there was: its neighbours before it and what lies around. Where
// heat is driven in, there is no such bound.
func (s *Stack) between() bool {
	x := &s.scratch
	s.temps(x.y, x.next)
	if s.Below.Flux != 0 || s.Above.Flux != 0 {
		return true
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, f := range [2]*Face{&s.Below, &s.Above} {
		if f.Film > 0 || f.Length > 0 || f.Emissivity > 0 {
			low, high = min(low, f.AmbientC), max(high, f.AmbientC)
		}
	}
	for _, t := range x.now {
		if t < low {
			low = t
		}
		if t > high {
			high = t
		}
	}
	for _, t := range x.next {
		if t < low-hair || t > high+hair {
			return false
		}
	}
	return true
}

// temps writes the temperatures of enthalpies.
func (s *Stack) temps(h, temp []float64) {
	for _, l := range s.layers {
		for i := l.from; i < l.to; i++ {
			temp[i], _ = l.matter.Heat.at(h[i])
		}
	}
}

// newton solves y = base + a·rates(y), beginning with the y that is there, and returns
// the rates in k and what comes in through the sides at it. The matrix of one turn does
// for the next ones, and that of the first stage of a step for the second, which is of
// the same a.
func (s *Stack) newton(a float64, k []float64, first bool) (below, above float64, ok bool) {
	x := &s.scratch
	enough := newtonShare * s.bound()
	for turn := range newtonMost {
		s.look(x.y)
		below, above = s.rates(k)
		far, base, e, perJ := 0.0, x.base[:len(k)], x.e[:len(k)], x.perJ[:len(k)]
		for i, y := range x.y[:len(k)] {
			e[i] = base[i] + a*k[i] - y
			if off := math.Abs(e[i] * perJ[i]); !(off <= far) {
				if math.IsNaN(off) {
					return 0, 0, false
				}
				far = off
			}
		}
		if turn > 0 && far < enough { // once at least: the error is told by the matrix of this length
			return below, above, true
		}
		if turn == 0 && first || turn > 0 && turn%2 == 0 {
			s.factor(a)
		}
		s.solve(e)
		for i, d := range e {
			x.y[i] += d
		}
	}
	return 0, 0, false
}

// look works out the temperatures of enthalpies, and what passes between cells and
// through the faces by kelvin.
//
// Between two cells of a matter whose conductivity is straight in the temperature, that
// of the temperature half way is exact (Kirchhoff's transform), and what passes grows
// with the temperature of either by the conductivity there.
func (s *Stack) look(h []float64) {
	x := &s.scratch
	for j := range s.layers {
		l := &s.layers[j]
		matter, n := l.matter, l.to-l.from
		heats, across := h[l.from:l.to], s.across[l.from:][:n]
		temp, perJ, k := x.temp[l.from:][:n], x.perJ[l.from:][:n], x.k[l.from:][:n]
		g, gLow, gHigh := x.g[l.from:][:n], x.gLow[l.from:][:n], x.gHigh[l.from:][:n]
		before := 0.0 // conductivity of the cell below
		for i, heat := range heats {
			temp[i], perJ[i] = matter.Heat.at(heat)
			here := matter.conductivity(temp[i])
			gLow[i], gHigh[i] = across[i]*before, across[i]*here
			g[i] = (gLow[i] + gHigh[i]) / 2
			k[i], before = here, here
		}
		if i := l.from; j > 0 {
			x.g[i] = s.area[i] / (s.layers[j-1].depth/2/x.k[i-1] + l.apart + l.depth/2/x.k[i])
			x.gLow[i], x.gHigh[i] = x.g[i], x.g[i]
		}
	}
	n, first, last := len(h), s.layers[0], s.layers[len(s.layers)-1]
	x.outLow, x.gHigh[0] = through(&s.Below, x.temp[0], first.depth/2/x.k[0], &s.sideLow)
	x.outHigh, x.gLow[n] = through(&s.Above, x.temp[n-1], last.depth/2/x.k[n-1], &s.sideHigh)
	x.outLow, x.gHigh[0] = x.outLow*s.area[0], x.gHigh[0]*s.area[0]
}

// through is what leaves the middle of an outer cell through its half and the face
// [W/m²], and the growth of that [W/(m² K)]. A coefficient that hangs on the side's
// temperature is drawn on straight from where it was seen last, which is Newton's method
// for the side: every turn sees it anew.
func through(f *Face, tempC, half float64, side *float64) (out, slope float64) {
	if f.Length == 0 && f.Emissivity == 0 || math.IsInf(f.Film, 1) {
		if f.Film == 0 {
			return 0, 0
		}
		slope = 1 / (half + 1/f.Film)
		return slope * (tempC - f.AmbientC), slope
	}
	h, grows := f.coefficient(*side)
	less := 1 / (1 + grows*half)
	out = less * (h*(*side-f.AmbientC) + grows*(tempC-*side))
	*side = tempC - out*half
	return out, less * grows
}

// rates writes the rates of the enthalpies that were looked at [W/kg], and returns what
// comes in through the sides [W/m²].
func (s *Stack) rates(k []float64) (below, above float64) {
	x := &s.scratch
	n := len(k)
	temp, g, unmass := x.temp[:n], x.g[:n], s.unmass[:n]
	below, above = s.Below.Flux*s.area[0]-x.outLow, s.Above.Flux-x.outHigh
	in := below
	for i := 0; i < n-1; i++ {
		out := g[i+1] * (temp[i] - temp[i+1])
		k[i] = (in - out) * unmass[i]
		in = out
	}
	k[n-1] = (in + above) * unmass[n-1]
	return below, above
}

// factor prepares 1 − a · (rates by enthalpies) by Thomas's elimination, from both ends at
// once: the two do not wait for each other.
func (s *Stack) factor(a float64) {
	x := &s.scratch
	n := len(s.unmass)
	perJ, gLow, gHigh := x.perJ[:n], x.gLow[:n+1], x.gHigh[:n+1]
	lower, upper, undiag := x.lower[:n], x.upper[:n], x.undiag[:n]
	below := 0.0
	for i, unmass := range s.unmass {
		scale, here := a*unmass, perJ[i]
		undiag[i] = 1 + scale*(gHigh[i]+gLow[i+1])*here
		lower[i] = -scale * gLow[i] * below
		if i > 0 {
			upper[i-1] = -a * s.unmass[i-1] * gHigh[i] * here
		}
		below = here
	}
	upper[n-1] = 0
	i, j := 0, n-1
	low, high := 0.0, 0.0 // what the rows before leave of the next column
	for ; j-i > 1; i, j = i+1, j-1 {
		u, v := 1/(undiag[i]-lower[i]*low), 1/(undiag[j]-upper[j]*high)
		low, high = upper[i]*u, lower[j]*v
		lower[i], upper[i], undiag[i] = lower[i]*u, low, u
		lower[j], upper[j], undiag[j] = high, upper[j]*v, v
	}
	if i < j {
		u := 1 / (undiag[i] - lower[i]*low)
		low = upper[i] * u
		lower[i], upper[i], undiag[i] = lower[i]*u, low, u
	}
	u := 1 / (undiag[j] - lower[j]*low - upper[j]*high)
	lower[j], upper[j], undiag[j] = lower[j]*u, upper[j]*u, u
}

// solve solves for a right-hand side, in place, by what was factored last.
func (s *Stack) solve(b []float64) {
	x := &s.scratch
	n := len(b)
	lower, upper, undiag := x.lower[:n], x.upper[:n], x.undiag[:n]
	i, j := 0, n-1
	low, high := 0.0, 0.0
	for ; j-i > 1; i, j = i+1, j-1 {
		low, high = b[i]*undiag[i]-lower[i]*low, b[j]*undiag[j]-upper[j]*high
		b[i], b[j] = low, high
	}
	if i < j {
		low = b[i]*undiag[i] - lower[i]*low
		b[i] = low
	}
	middle := b[j]*undiag[j] - lower[j]*low - upper[j]*high
	b[j] = middle
	low, high = middle, middle
	for i, j = j-1, j+1; j < n; i, j = i-1, j+1 { // the half below is as long, or by one longer
		low, high = b[i]-upper[i]*low, b[j]-lower[j]*high
		b[i], b[j] = low, high
	}
	if i == 0 {
		b[0] -= upper[0] * low
	}
}
