package heat

import (
	"math"

	"slabside/internal/fault"
)

// A Layer is one of a stack's, from below upwards.
type Layer struct {
	Matter    Matter
	Thickness float64 // m
	Cells     int
	TempC     float64 // all through it, to begin with
	Contact   float64 // conductance of its contact with the layer below [W/(m² K)]; 0 or +Inf: perfect
}

// A Stack is layers that lie on one another, by square metre. It is not safe for use by
// several goroutines.
type Stack struct {
	Below, Above Face
	Bound        float64 // error of a step [K]; 0: [UsualBound]
	Each         func()  // is called after each step that stands; nil: nothing is

	layers []span
	cells  []cell
	apart  []float64 // resistance of the contact between cell i−1 and i [m² K/W]
	h      []float64 // J/kg

	time     float64 // s since the beginning
	step     float64 // s, that is tried next
	taken    int     // steps
	inBelow  float64 // J/m² that came in
	inAbove  float64
	rateSet  bool // k1 holds the rates of h
	scratch  scratch
	sides    sides
	sideLow  float64 // °C of the outer sides as last seen
	sideHigh float64
}

// sides are what comes in through the faces at the stages of a step [W/m²].
type sides struct{ below, above [3]float64 }

// cell is one of equal mass of its layer.
type cell struct {
	matter *Matter
	mass   float64 // kg/m²
	depth  float64 // m
}

// span is the cells of a layer.
type span struct{ from, to int }

// UsualBound is the error allowed of a step [K].
const UsualBound = 0.02

// firstStep is tried where nothing is known: at the beginning, after a fold [s].
const firstStep = 0.02

// NewStack returns a stack of layers. A layer that has no thickness, cells, matter or
// finite temperature is an invalid fault.
func NewStack(below, above Face, layers ...Layer) (*Stack, error) {
	s := &Stack{Below: below, Above: above, step: firstStep}
	for i, l := range layers {
		switch {
		case !(l.Thickness > 0) || l.Cells < 1 || l.Matter.Heat == nil || !(l.Matter.Density > 0) || !(l.Matter.K > 0):
			return nil, fault.Invalid("layer %d has no thickness, cells or matter", i+1)
		case math.IsNaN(l.TempC) || math.IsInf(l.TempC, 0):
			return nil, fault.Invalid("layer %d begins at %g °C", i+1, l.TempC)
		}
		matter := l.Matter
		begin := len(s.cells)
		depth := l.Thickness / float64(l.Cells)
		for range l.Cells {
			s.cells = append(s.cells, cell{&matter, matter.Density * depth, depth})
			s.h = append(s.h, matter.Heat.Enthalpy(l.TempC))
			s.apart = append(s.apart, 0)
		}
		if l.Contact > 0 {
			s.apart[begin] = 1 / l.Contact
		}
		s.layers = append(s.layers, span{begin, len(s.cells)})
	}
	if len(s.cells) == 0 {
		return nil, fault.Invalid("a stack has no layer")
	}
	s.sideLow, s.sideHigh = layers[0].TempC, layers[len(layers)-1].TempC
	s.scratch = newScratch(len(s.cells))
	return s, nil
}

// Time returns the seconds that have passed since the beginning.
func (s *Stack) Time() float64 { return s.time }

// Steps returns how many steps were taken.
func (s *Stack) Steps() int { return s.taken }

// HeatIn returns the heat that has come in through the lower and the upper side since
// the beginning [J/m² of the area of the time].
func (s *Stack) HeatIn() (below, above float64) { return s.inBelow, s.inAbove }

// Heat returns the enthalpy of a layer [J/m²].
func (s *Stack) Heat(layer int) float64 {
	sum := 0.0
	for i := s.layers[layer].from; i < s.layers[layer].to; i++ {
		sum += s.cells[i].mass * s.h[i]
	}
	return sum
}

// Thickness returns that of a layer [m].
func (s *Stack) Thickness(layer int) float64 {
	l := s.layers[layer]
	return s.cells[l.from].depth * float64(l.to-l.from)
}

// Mean returns the temperature that a layer would have if it were mixed [°C].
func (s *Stack) Mean(layer int) float64 { return s.Between(layer, 0, 1) }

// Between returns the temperature of a part of a layer, were it mixed [°C]: from one
// share of its thickness to another, counted from its lower side.
func (s *Stack) Between(layer int, from, to float64) float64 {
	l := s.layers[layer]
	n := float64(l.to - l.from)
	sum, whole := 0.0, 0.0
	for i := l.from; i < l.to; i++ {
		low := float64(i - l.from)
		if part := math.Min(to*n, low+1) - math.Max(from*n, low); part > 0 {
			sum += part * s.h[i]
			whole += part
		}
	}
	return s.cells[l.from].matter.Heat.Temp(sum / whole)
}

// At returns the temperature of a layer at a share of its thickness, counted from its
// lower side [°C], straight between the middles of its cells and, at its ends, as far
// as its own matter goes.
func (s *Stack) At(layer int, share float64) float64 {
	l := s.layers[layer]
	temp := func(i int) float64 { return s.cells[i].matter.Heat.Temp(s.h[i]) }
	if l.to-l.from == 1 {
		return temp(l.from)
	}
	place := share*float64(l.to-l.from) - 0.5
	i := min(max(int(math.Floor(place)), 0), l.to-l.from-2)
	a, b := temp(l.from+i), temp(l.from+i+1)
	return a + (place-float64(i))*(b-a)
}

// Swap gives the cells of a layer other enthalpies, as after it exchanged heat with a
// neighbour that is not of the stack; f gets and returns J/kg, by the cell's place from
// below.
func (s *Stack) Swap(layer int, f func(place int, enthalpy float64) float64) {
	l := s.layers[layer]
	for i := l.from; i < l.to; i++ {
		s.h[i] = f(i-l.from, s.h[i])
	}
	s.rateSet = false
}

// Fold turns the upper layer over onto itself: its lower side comes to lie on top, it is
// twice as thick and of half the area. Then mixed, between 0 (a pure fold) and 1 (kneaded
// through), moves every cell that share of the way to the middle. Last it is pressed, or
// let out, to a depth [m]; 0 leaves it as thick as it came.
//
//	[1 … N] → [1 … N, N … 1] → neighbours averaged → N cells
//
// The enthalpy of the whole is kept to rounding: half the area holds twice as much a
// square metre. The heat that came in is counted by the area of the time.
func (s *Stack) Fold(mixed, depth float64) {
	l := s.layers[len(s.layers)-1]
	n := l.to - l.from
	folded := make([]float64, n)
	at := func(i int) float64 { // of the doubled layer
		if i < n {
			return s.h[l.from+i]
		}
		return s.h[l.from+2*n-1-i]
	}
	for i := range n {
		folded[i] = (at(2*i) + at(2*i+1)) / 2
	}
	copy(s.h[l.from:l.to], folded)
	thick := 2.0
	if depth > 0 {
		thick = depth / s.Thickness(len(s.layers)-1)
	}
	for i := l.from; i < l.to; i++ {
		s.cells[i].mass *= thick
		s.cells[i].depth *= thick
	}
	s.Mix(mixed)
}

// Mix moves every cell of the upper layer a share of the way to the layer's middle.
func (s *Stack) Mix(share float64) {
	l := s.layers[len(s.layers)-1]
	mean := 0.0
	for i := l.from; i < l.to; i++ {
		mean += s.h[i] / float64(l.to-l.from)
	}
	for i := l.from; i < l.to; i++ {
		s.h[i] += share * (mean - s.h[i])
	}
	s.rateSet, s.step = false, firstStep
}

// SetContact changes the conductance of the contact of a layer with the one below it
// [W/(m² K)].
func (s *Stack) SetContact(layer int, conductance float64) {
	s.apart[s.layers[layer].from] = 1 / conductance
	s.rateSet = false
}
