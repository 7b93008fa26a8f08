package hottest

import "math"

// fold lays the outer half of the candy over the inner, upside down, and presses it to a
// depth; the plate below stays as it is. The candy's heat is kept, and the plate's.
func (s *strip) fold(depth, fine float64) {
	half, whole := s.half(), 0.0
	for _, w := range s.wide {
		whole += w
	}
	pressed := 2 * s.candyDeep / depth // the width it gains by it
	after := half / 2 * pressed
	wide, covered := columns(after, math.Max(0, whole-after), fine)
	n := s.rows()
	t, h, c := make([]float64, len(wide)*n), make([]float64, len(wide)*n), make([]float64, len(wide)*n)
	left := 0.0
	for j, w := range wide {
		for k := range n {
			i := j*n + k
			if k < s.plateRows {
				t[i], c[i] = s.between(left, left+w, k, s.t), s.plate.capacity
				continue
			}
			if j >= covered {
				continue
			}
			from, to := left/pressed, (left+w)/pressed
			for _, row := range [2]int{2 * (k - s.plateRows), 2*(k-s.plateRows) + 1} {
				if row < s.candyRows {
					h[i] += s.between(from, to, s.plateRows+row, s.h) / 2
				} else {
					h[i] += s.between(half-to, half-from, s.plateRows+2*s.candyRows-1-row, s.h) / 2
				}
			}
			t[i], c[i] = s.candy.heat.temp(h[i])
		}
		left += w
	}
	s.t, s.h, s.c, s.wide, s.covered, s.candyDeep = t, h, c, wide, covered, depth
	s.since = 0
	s.layer()
	if m := max(len(wide), n); len(s.rhs) < m {
		s.lower, s.diag, s.upper, s.rhs = make([]float64, m), make([]float64, m), make([]float64, m), make([]float64, m)
	}
}

// between averages a row over some of the width; beyond the last column it is as there.
func (s *strip) between(from, to float64, row int, of []float64) float64 {
	n, left, sum, met := s.rows(), 0.0, 0.0, 0.0
	for j, w := range s.wide {
		if part := math.Min(to, left+w) - math.Max(from, left); part > 0 {
			sum += part * of[j*n+row]
			met += part
		}
		left += w
	}
	if met < to-from-1e-12 {
		sum += (to - from - met) * of[(len(s.wide)-1)*n+row]
		met = to - from
	}
	return sum / met
}

// gather returns the strip as one column: the candy by its rows, and the plate under it.
func (s *strip) gather() (candyH, plateC []float64) {
	half := s.half()
	for k := range s.rows() {
		if k < s.plateRows {
			plateC = append(plateC, s.between(0, half, k, s.t))
		} else {
			candyH = append(candyH, s.between(0, half, k, s.h))
		}
	}
	return candyH, plateC
}

// turnOver folds a column of candy over and presses it back, and mixes it.
func (s *strip) turnOver(mixed float64) {
	np, m := s.plateRows, s.candyRows
	folded := make([]float64, m)
	at := func(i int) float64 {
		if i < m {
			return s.h[np+i]
		}
		return s.h[np+2*m-1-i]
	}
	for k := range folded {
		folded[k] = (at(2*k) + at(2*k+1)) / 2
	}
	copy(s.h[np:], folded)
	s.mix(mixed)
}
