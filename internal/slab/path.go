package slab

import (
	"math"
	"sort"
)

// Path is the temperatures of a batch from the end of the pour on, straight between its
// points.
type Path struct {
	S     []float64 // since the end of the pour
	MeanC []float64 // if it were mixed
	CoreC []float64 // where it is hottest
}

func (p *Path) add(s, meanC, coreC float64) {
	if n := len(p.S); n > 0 && s <= p.S[n-1] { // a turn mixes at a moment
		p.MeanC[n-1], p.CoreC[n-1] = meanC, coreC
		return
	}
	p.S, p.MeanC, p.CoreC = append(p.S, s), append(p.MeanC, meanC), append(p.CoreC, coreC)
}

// cut ends the path at a moment.
func (p *Path) cut(s float64) {
	n := sort.SearchFloat64s(p.S, s)
	p.S, p.MeanC, p.CoreC = p.S[:n], p.MeanC[:n], p.CoreC[:n]
}

// End returns the last moment of the path.
func (p Path) End() float64 {
	if len(p.S) == 0 {
		return 0
	}
	return p.S[len(p.S)-1]
}

// At returns the mean temperature at a moment [°C]; before the first point and after the
// last, that of the point.
func (p Path) At(s float64) float64 {
	i := sort.SearchFloat64s(p.S, s)
	switch {
	case i == 0:
		return p.MeanC[0]
	case i == len(p.S):
		return p.MeanC[i-1]
	}
	part := (s - p.S[i-1]) / (p.S[i] - p.S[i-1])
	return p.MeanC[i-1] + part*(p.MeanC[i]-p.MeanC[i-1])
}

// Between returns the mean temperature at a moment and that of the hottest part [°C].
func (p Path) Between(s float64) (meanC, coreC float64) {
	q := p
	q.MeanC = p.CoreC
	return p.At(s), q.At(s)
}

// Excess returns by how much the hottest part is above the mean from one moment to another,
// all in all [K].
func (p Path) Excess(from, to float64) float64 {
	sum, last := 0.0, from
	for i, s := range p.S {
		if s <= from {
			continue
		}
		sum += (p.CoreC[i] - p.MeanC[i]) * (math.Min(s, to) - last)
		if last = s; s >= to {
			break
		}
	}
	if to <= from {
		return 0
	}
	return sum / (to - from)
}

// Mean returns when the mean comes down to a temperature; false if it does not.
func (p Path) Mean(tempC float64) (s float64, ok bool) { return first(p.S, p.MeanC, tempC) }

// Core returns when the hottest part does.
func (p Path) Core(tempC float64) (s float64, ok bool) { return first(p.S, p.CoreC, tempC) }

func first(s, temps []float64, tempC float64) (float64, bool) {
	for i, t := range temps {
		switch {
		case t > tempC:
		case i == 0:
			return s[0], true
		default:
			part := (temps[i-1] - tempC) / (temps[i-1] - t)
			return s[i-1] + part*(s[i]-s[i-1]), true
		}
	}
	return 0, false
}
