package heat

import (
	"errors"
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

	shape  shape
	layers []span
	cells
	h []float64 // J/kg

	time     float64 // s since the beginning
	step     float64 // s, that is tried next
	taken    int     // steps
	inBelow  float64 // J/m² that came in
	inAbove  float64
	rateSet  bool // k1 holds the rates of h
	scratch  scratch
	sides    sides
	fresh    bool    // no step was taken since the state was set
	seenLow  float64 // °C of the outer sides of the state
	seenHigh float64
	sideLow  float64 // the same in a step that is tried
	sideHigh float64
}

// sides are what comes in through the faces at the stages of a step [W/m²].
type sides struct{ below, above [3]float64 }

// shape is by which power of the distance from the middle the volume grows.
type shape int

const (
	plane    shape = 1
	cylinder shape = 2
	sphere   shape = 3
)

// cells are the masses of the cells and the faces between them, all by square metre of
// the outer side; face i is below cell i.
type cells struct {
	mass, unmass []float64 // kg/m², and one by it
	area         []float64 // m²/m²
	across       []float64 // of a face within a layer: area by the way from middle to middle [1/m]
}

// span is the cells of a layer.
type span struct {
	from, to int
	matter   *Matter
	begins   float64 // m from the middle of the stack, or its lower side
	depth    float64 // of a cell [m]
	apart    float64 // resistance of its contact with the layer below [m² K/W]
}

// UsualBound is the error allowed of a step [K].
const UsualBound = 0.02

// firstStep is tried where nothing is known: at the beginning, after a fold [s].
const firstStep = 0.02

// NewStack returns a stack of layers. A layer that has no thickness, cells, matter or
// finite temperature is an invalid fault, and so is a face of less than nothing.
func NewStack(below, above Face, layers ...Layer) (*Stack, error) {
	return newStack(plane, below, above, layers)
}

// NewCylinder returns a long cylinder of layers, from the axis outwards. What is said of
// a stack by square metre is by square metre of its outer side.
func NewCylinder(outside Face, layers ...Layer) (*Stack, error) {
	return newStack(cylinder, Face{}, outside, layers)
}

// NewSphere returns a sphere of layers, from its middle outwards: a sweet. What is said
// of a stack by square metre is by square metre of its outer side.
func NewSphere(outside Face, layers ...Layer) (*Stack, error) {
	return newStack(sphere, Face{}, outside, layers)
}

func newStack(form shape, below, above Face, layers []Layer) (*Stack, error) {
	s := &Stack{Below: below, Above: above, shape: form, step: firstStep}
	if err := errors.Join(below.check("lower"), above.check("upper")); err != nil {
		return nil, err
	}
	if len(layers) == 0 {
		return nil, fault.Invalid("a stack has no layer")
	}
	begins := 0.0
	for i, l := range layers {
		if err := l.check(i + 1); err != nil {
			return nil, err
		}
		matter := l.Matter
		at := span{from: len(s.h), to: len(s.h) + l.Cells, matter: &matter, begins: begins, depth: l.Thickness / float64(l.Cells)}
		at.apart = resistance(l.Contact)
		for range l.Cells {
			s.h = append(s.h, matter.Heat.Enthalpy(l.TempC))
		}
		s.layers = append(s.layers, at)
		begins += l.Thickness
	}
	n := len(s.h)
	s.cells = cells{make([]float64, n), make([]float64, n), make([]float64, n+1), make([]float64, n+1)}
	s.measure()
	s.seenLow, s.seenHigh = layers[0].TempC, layers[len(layers)-1].TempC
	s.scratch = newScratch(n)
	return s, nil
}

// check refuses a layer that is none.
func (l *Layer) check(place int) error {
	finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
	switch {
	case !(l.Thickness > 0) || math.IsInf(l.Thickness, 1) || l.Cells < 1 || l.Matter.Heat == nil ||
		!(l.Matter.Density > 0) || math.IsInf(l.Matter.Density, 1):
		return fault.Invalid("layer %d has no thickness, cells or matter", place)
	case !finite(l.TempC):
		return fault.Invalid("layer %d begins at %g °C", place, l.TempC)
	case !finite(l.Matter.K) || !finite(l.Matter.KPer) || !(l.Matter.conductivity(l.TempC) > 0):
		return fault.Invalid("layer %d conducts %g W/(m K) at %g °C", place, l.Matter.conductivity(l.TempC), l.TempC)
	case !(l.Contact >= 0):
		return fault.Invalid("layer %d has a contact of %g W/(m² K): give zero or more", place, l.Contact)
	}
	return nil
}

// resistance is that of a contact by its conductance; zero stands for a perfect one.
func resistance(conductance float64) float64 {
	if conductance > 0 {
		return 1 / conductance
	}
	return 0
}

// measure works out masses and faces from the depths of the layers.
func (s *Stack) measure() {
	last := s.layers[len(s.layers)-1]
	outer := last.begins + last.depth*float64(last.to-last.from)
	area := func(at float64) float64 {
		switch s.shape {
		case cylinder:
			return at / outer
		case sphere:
			return at * at / (outer * outer)
		}
		return 1
	}
	for _, l := range s.layers {
		for i := l.from; i < l.to; i++ {
			at := l.begins + float64(i-l.from)*l.depth
			s.area[i], s.across[i] = area(at), area(at)/l.depth
			s.mass[i] = l.matter.Density * s.volume(at, at+l.depth, outer)
			s.unmass[i] = 1 / s.mass[i]
		}
	}
	s.area[len(s.h)] = 1
}

// volume is that between two distances, by square metre of the outer side [m].
func (s *Stack) volume(from, to, outer float64) float64 {
	d, m := to-from, (to+from)/2
	switch s.shape {
	case cylinder:
		return d * m / outer
	case sphere:
		return d * (m*m + d*d/12) / (outer * outer)
	}
	return d
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
		sum += s.mass[i] * s.h[i]
	}
	return sum
}

// Thickness returns that of a layer [m].
func (s *Stack) Thickness(layer int) float64 {
	l := s.layers[layer]
	return l.depth * float64(l.to-l.from)
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
		place := float64(i - l.from)
		low, high := math.Max(from*n, place), math.Min(to*n, place+1)
		if high > low {
			part := s.volume(l.begins+low*l.depth, l.begins+high*l.depth, 1)
			sum += part * s.h[i]
			whole += part
		}
	}
	return l.matter.Heat.Temp(sum / whole)
}

// At returns the temperature of a layer at a share of its thickness, counted from its
// lower side [°C], straight between the middles of its cells and, at its ends, as far
// as its own matter goes.
func (s *Stack) At(layer int, share float64) float64 {
	l := s.layers[layer]
	temp := func(i int) float64 { return l.matter.Heat.Temp(s.h[i]) }
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
// square metre. The heat that came in is counted by the area of the time. Only what is
// flat folds; a sphere or a cylinder stays as it is.
func (s *Stack) Fold(mixed, depth float64) {
	if s.shape != plane {
		return
	}
	l := &s.layers[len(s.layers)-1]
	n := l.to - l.from
	folded := s.scratch.e[:n]
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
	if depth > 0 {
		l.depth = depth / float64(n)
	} else {
		l.depth *= 2
	}
	s.measure()
	s.Mix(mixed)
}

// Mix moves every cell of the upper layer a share of the way to the layer's middle.
func (s *Stack) Mix(share float64) {
	l := s.layers[len(s.layers)-1]
	sum, mass := 0.0, 0.0
	for i := l.from; i < l.to; i++ {
		sum += s.mass[i] * s.h[i]
		mass += s.mass[i]
	}
	for i := l.from; i < l.to; i++ {
		s.h[i] += share * (sum/mass - s.h[i])
	}
	s.rateSet, s.step = false, firstStep
}

// SetContact changes the conductance of the contact of a layer with the one below it
// [W/(m² K)]; 0 or +Inf: perfect.
func (s *Stack) SetContact(layer int, conductance float64) {
	s.layers[layer].apart = resistance(conductance)
	s.rateSet = false
}
