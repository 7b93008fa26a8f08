package hottest

import "math"

// heap is a batch that is worked or waits: layers of candy on what it lies on, turned over
// and mixed every so often, on places that take turns. Its layers are of the depth it is
// worked at, whatever its mass.
type heap struct {
	s      *strip
	massKg func(seconds float64) float64 // that is left
	places [][]float64                   // °C of what it lies on, place by place
	place  int

	period float64 // s from turn to turn
	touch  float64 // share of it that it lies
	mixed  float64 // by a turn
	film   float64 // factor of what its free sides lose
	free   float64 // factor of free convection
	emits  float64
	airC   float64
	lamp   float64 // W it takes up where it covers the lamp's light
	joint  float64 // W/(m² K)
}

// litArea is what a lamp lights [m²].
const litArea = 0.12

// heapRows is how finely a heap is cut.
const heapRows = 56

// newHeap returns a heap of candy by its rows [J/kg] on places of a plate, so many times as
// finely cut as usual.
func newHeap(c *candy, base solid, baseDeep, depth, fine float64, candyH []float64, places [][]float64) *heap {
	rows, under := int(heapRows*fine), len(places[0])
	h := &heap{s: newStrip(c, base, baseDeep, depth, under, rows, []float64{1}, 1, 20, 100), places: places, film: 1, free: 1}
	copy(h.s.t, places[0])
	for k := range rows {
		i := under + k
		h.s.h[i] = rowAt(candyH, float64(k)/float64(rows), float64(k+1)/float64(rows))
		h.s.t[i], h.s.c[i] = c.heat.temp(h.s.h[i])
	}
	h.s.longest, h.s.coarse = 3, 1/fine
	return h
}

// even is candy of one temperature, by rows.
func even(c *candy, tempC float64) []float64 { return []float64{c.heat.enthalpy(tempC)} }

// rowAt averages rows over a share of their depth.
func rowAt(rows []float64, from, to float64) float64 {
	n, sum := float64(len(rows)), 0.0
	for i, v := range rows {
		if part := math.Min(to*n, float64(i+1)) - math.Max(from*n, float64(i)); part > 0 {
			sum += part * v
		}
	}
	return sum / ((to - from) * n)
}

// sides sets what the heap loses at the moment: its free sides are its top and the wall
// round it.
func (h *heap) sides(lies bool) {
	area := h.massKg(h.s.clock) / h.s.candy.density / h.s.candyDeep
	larger := 1 + 4*h.s.candyDeep/math.Sqrt(area)
	h.s.contact = h.joint
	if !lies { // in the hands and the air: the lower side is a free one too
		larger++
		h.s.contact = 1e-6
	}
	h.s.above = side{ambientC: h.airC, free: h.free, emits: h.emits, larger: larger * h.film, flux: h.lamp * math.Min(1, area/litArea) / area}
}

// run lets the heap be worked for so many seconds, at most, and calls each after every
// step; it stops where each says so.
func (h *heap) run(most float64, each func() (stop bool)) {
	end, stopped := h.s.clock+most, false
	part := func(seconds float64, lies bool) {
		if seconds <= 0 || stopped {
			return
		}
		h.sides(lies)
		h.s.run(math.Min(seconds, end-h.s.clock), func() bool {
			h.sides(lies)
			stopped = each != nil && each()
			return stopped
		})
	}
	for end-h.s.clock > 1e-6 && !stopped {
		part(h.touch*h.period, true)
		part((1-h.touch)*h.period, false)
		if stopped || end-h.s.clock < 1e-6 {
			return
		}
		h.s.turnOver(h.mixed)
		h.move(h.period)
	}
}

// move lays the heap on the next place, and lets the one it leaves cool, and the others.
func (h *heap) move(seconds float64) {
	if len(h.places) == 1 {
		return
	}
	h.leave()
	for i, p := range h.places {
		if i != h.place {
			h.rest(p, seconds)
		}
	}
	h.place = (h.place + 1) % len(h.places)
	copy(h.s.t, h.places[h.place])
}

// leave writes down the place that the heap lies on as it is.
func (h *heap) leave() { copy(h.places[h.place], h.s.t[:h.s.plateRows]) }

// rest cools a place that nothing lies on.
func (h *heap) rest(place []float64, seconds float64) {
	bare := newStrip(h.s.candy, h.s.plate, h.s.plateDeep, 0.01, len(place), 1, []float64{1}, 0, 20, 100)
	copy(bare.t, place)
	bare.below, bare.bare, bare.contact, bare.longest, bare.coarse = h.s.below, h.s.bare, 1, 3, h.s.coarse
	bare.run(seconds, nil)
	copy(place, bare.t[:len(place)])
}

// mean is the temperature of what is left, mixed.
func (h *heap) mean() float64 { return h.s.mean() }
