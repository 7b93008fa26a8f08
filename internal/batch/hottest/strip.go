package hottest

import "math"

// solid is matter whose figures are the same at all temperatures.
type solid struct{ conducts, density, capacity float64 } // W/(m K), kg/m³, J/(kg K)

// side is what a face gives its heat to.
type side struct {
	ambientC float64
	film     float64 // W/(m² K)
	free     float64 // factor of free convection over a face that looks up; 0: none
	emits    float64 // emissivity; 0: it does not radiate
	flux     float64 // W/m² into it besides
	larger   float64 // by how much the face is larger than its ground
}

// takes returns what the face takes by kelvin of a surface [W/(m² K)]. Free convection
// over a wide face is turbulent, and its film is then h = 1.62 ΔT^⅓ (source key
// model-heat: 7.8 at 116 K, 6.5 at 56, 4.5 at 16 within a tenth).
func (s *side) takes(surfaceC float64) float64 {
	h := s.film
	if s.free > 0 {
		h += s.free * 1.62 * math.Cbrt(math.Abs(surfaceC-s.ambientC))
	}
	if s.emits > 0 {
		a, b := surfaceC+kelvin, s.ambientC+kelvin
		h += s.emits * 5.670374e-8 * (a + b) * (a*a + b*b)
	}
	return h * s.larger
}

// strip is half of a strip of candy on a plate, by metre of its length: columns from the
// middle outwards, of which the first have candy on them, each of rows from below upwards.
// A column is all there is where nothing is followed across.
type strip struct {
	candy *candy
	plate solid

	plateRows, candyRows int
	plateDeep, candyDeep float64   // m, all rows together
	deep                 []float64 // m, of each row: the plate's thinner towards the candy
	wide                 []float64 // m, of each column
	covered              int       // so many columns carry candy

	contact float64 // W/(m² K) between plate and candy
	slack   bool    // the contact is wet at first and slackens as a skin forms
	below   side
	above   side // of candy
	bare    side // of plate without candy
	beside  side // of the candy's outer edge

	t, h, c []float64 // °C; J/kg of candy; J/(kg K): column by column

	clock   float64 // s
	since   float64 // s since it was last disturbed
	coarse  float64 // how coarse the steps are; 1: as usual
	longest float64 // s, of a step
	in      float64 // J/m that came in through all sides
	odd     bool

	lower, diag, upper, rhs []float64
}

// newStrip returns a strip whose plate and candy are each of one temperature.
func newStrip(c *candy, plate solid, plateDeep, candyDeep float64, plateRows, candyRows int, wide []float64, covered int, plateC, candyC float64) *strip {
	s := &strip{candy: c, plate: plate, plateRows: plateRows, candyRows: candyRows, plateDeep: plateDeep, candyDeep: candyDeep,
		wide: wide, covered: covered, coarse: 1, longest: 1}
	s.deep = make([]float64, s.rows())
	s.layer()
	n := len(wide) * s.rows()
	s.t, s.h, s.c = make([]float64, n), make([]float64, n), make([]float64, n)
	for j := range wide {
		for k := range s.rows() {
			i := j*s.rows() + k
			s.t[i], s.c[i] = plateC, plate.capacity
			if k >= plateRows && j < covered {
				s.h[i] = c.heat.enthalpy(candyC)
				s.t[i], s.c[i] = c.heat.temp(s.h[i])
			}
		}
	}
	m := max(len(wide), s.rows())
	s.lower, s.diag, s.upper, s.rhs = make([]float64, m), make([]float64, m), make([]float64, m), make([]float64, m)
	return s
}

func (s *strip) rows() int { return s.plateRows + s.candyRows }

// grade is by how much the rows of a plate of eight grow from one to the next.
const grade = 1.5

// layer works out how deep each row is.
func (s *strip) layer() {
	growth, whole := math.Pow(grade, 8/float64(s.plateRows)), 0.0
	for k := range s.plateRows {
		s.deep[k] = math.Pow(growth, float64(s.plateRows-1-k))
		whole += s.deep[k]
	}
	for k := range s.plateRows {
		s.deep[k] *= s.plateDeep / whole
	}
	for k := s.plateRows; k < s.rows(); k++ {
		s.deep[k] = s.candyDeep / float64(s.candyRows)
	}
}

// run lets so many seconds pass, by steps that are short after the strip was disturbed,
// and calls each after every one; it stops early where each says so.
func (s *strip) run(seconds float64, each func() (stop bool)) {
	for end := s.clock + seconds; end-s.clock > 1e-9; {
		d := math.Min(math.Min(s.longest, 0.05+0.08*s.since)*s.coarse, end-s.clock)
		if rest := end - s.clock - d; rest > 0 && rest < d/4 {
			d = (end - s.clock) / 2
		}
		s.step(d)
		if each != nil && each() {
			return
		}
	}
}

// step takes one step, first through the depth and then across or the other way about,
// each line implicit by weights of 0.55 and 0.45.
func (s *strip) step(d float64) {
	if s.odd = !s.odd; s.odd {
		s.through(d)
		s.across(d)
	} else {
		s.across(d)
		s.through(d)
	}
	s.clock += d
	s.since += d
}

const weight = 0.55

// wet is the factor of the contact, so long after the candy was laid down: near one on
// the average of the minute or two between turns (source key model-heat: a film at first,
// then a gap).
func (s *strip) wet() float64 {
	if !s.slack {
		return 1
	}
	return 0.85 + 0.4*math.Exp(-s.since/30)
}

// through conducts heat through the depth of every column.
func (s *strip) through(d float64) {
	np, n := s.plateRows, s.rows()
	inPlate, inCandy := s.plate.conducts, s.candy.conducts/s.deep[np] // W/(m K), and W/(m² K) from row to row
	joint := 1 / (s.deep[np-1]/2/inPlate + 1/(s.contact*s.wet()) + 0.5/inCandy)
	for j := range s.wide {
		t, c := s.t[j*n:(j+1)*n], s.c[j*n:(j+1)*n]
		rows, half, top := n, 0.5/inCandy, &s.above
		if j >= s.covered {
			rows, half, top = np, s.deep[np-1]/2/inPlate, &s.bare
		}
		gBelow, gAbove := 0.0, 0.0
		if h := s.below.takes(t[0]); h > 0 {
			gBelow = 1 / (1/h + s.deep[0]/2/inPlate)
		}
		if h := top.takes(t[rows-1]); h > 0 {
			gAbove = 1 / (1/h + half)
		}
		before, inFlow := gBelow, gBelow*(s.below.ambientC-t[0])
		fluxIn := inFlow
		for k := range rows {
			g, out := gAbove, gAbove*(t[k]-top.ambientC)-top.flux
			if k < rows-1 {
				switch {
				case k < np-1:
					g = 2 * inPlate / (s.deep[k] + s.deep[k+1])
				case k == np-1:
					g = joint
				default:
					g = inCandy
				}
				out = g * (t[k] - t[k+1])
			} else {
				fluxIn -= out
			}
			density := s.plate.density
			if k >= np {
				density = s.candy.density
			}
			s.rhs[k] = inFlow - out
			s.diag[k] = density*s.deep[k]*c[k]/d + weight*(before+g)
			s.lower[k], s.upper[k] = -weight*before, -weight*g
			before, inFlow = g, out
		}
		s.solve(rows)
		s.in += d * s.wide[j] * (fluxIn - weight*(gBelow*s.rhs[0]+gAbove*s.rhs[rows-1]))
		for k := range rows {
			s.move(j*n+k, k, s.rhs[k])
		}
	}
}

// across conducts heat from column to column in every row.
func (s *strip) across(d float64) {
	if len(s.wide) == 1 {
		return
	}
	np, n := s.plateRows, s.rows()
	for k := range n {
		columns, mass, conducts, edge := len(s.wide), s.plate.density, s.plate.conducts, 0.0
		if k >= np {
			columns, mass, conducts = s.covered, s.candy.density, s.candy.conducts
			if h := s.beside.takes(s.t[(columns-1)*n+k]); h > 0 {
				edge = 1 / (1/h + s.wide[columns-1]/2/conducts)
			}
		}
		before, inFlow := 0.0, 0.0
		for j := range columns {
			i := j*n + k
			g, out := edge, edge*(s.t[i]-s.beside.ambientC)
			if j < columns-1 {
				g = 2 * conducts / (s.wide[j] + s.wide[j+1])
				out = g * (s.t[i] - s.t[i+n])
			}
			s.rhs[j] = inFlow - out
			s.diag[j] = mass*s.wide[j]*s.c[i]/d + weight*(before+g)
			s.lower[j], s.upper[j] = -weight*before, -weight*g
			before, inFlow = g, out
		}
		out := inFlow
		s.solve(columns)
		s.in -= d * s.deep[k] * (out + weight*edge*s.rhs[columns-1])
		for j := range columns {
			s.move(j*n+k, k, s.rhs[j])
		}
	}
}

// solve is Thomas's elimination, in place.
func (s *strip) solve(n int) {
	l, b, u, r := s.lower[:n], s.diag[:n], s.upper[:n], s.rhs[:n]
	for i := 1; i < n; i++ {
		f := l[i] / b[i-1]
		b[i] -= f * u[i-1]
		r[i] -= f * r[i-1]
	}
	r[n-1] /= b[n-1]
	for i := n - 2; i >= 0; i-- {
		r[i] = (r[i] - u[i]*r[i+1]) / b[i]
	}
}

// move warms a cell by what the heat that flows in would have warmed it at its own heat
// capacity, so that heat is kept; its temperature is then that of its enthalpy.
func (s *strip) move(i, row int, kelvins float64) {
	if row < s.plateRows {
		s.t[i] += kelvins
		return
	}
	s.h[i] += s.c[i] * kelvins
	s.t[i], s.c[i] = s.candy.heat.temp(s.h[i])
}

// heat returns the heat that plate and candy hold, by metre [J/m].
func (s *strip) heat() (plate, candy float64) {
	np, n := s.plateRows, s.rows()
	for j, w := range s.wide {
		for k := range n {
			i := j*n + k
			switch {
			case k < np:
				plate += w * s.deep[k] * s.plate.density * s.plate.capacity * s.t[i]
			case j < s.covered:
				candy += w * s.deep[k] * s.candy.density * s.h[i]
			}
		}
	}
	return plate, candy
}

// half is half of the candy's width [m].
func (s *strip) half() float64 {
	sum := 0.0
	for _, w := range s.wide[:s.covered] {
		sum += w
	}
	return sum
}

// over averages something of the candy over its outer band of a width and the lower share
// of its depth.
func (s *strip) over(band, share float64, of func(i int) float64) float64 {
	n, sum, whole := s.rows(), 0.0, 0.0
	for j, out := s.covered-1, 0.0; j >= 0 && out < band-1e-9; j-- {
		w := math.Min(s.wide[j], band-out)
		out += s.wide[j]
		for k := range s.candyRows {
			part := math.Min(1, share*float64(s.candyRows)-float64(k))
			if part <= 0 {
				break
			}
			sum += w * part * of(j*n+s.plateRows+k)
			whole += w * part
		}
	}
	return sum / whole
}

// mean is the temperature that the candy would have if it were mixed [°C].
func (s *strip) mean() float64 {
	t, _ := s.candy.heat.temp(s.meanHeat())
	return t
}

// meanHeat is the mean enthalpy of the candy [J/kg].
func (s *strip) meanHeat() float64 {
	n, sum, whole := s.rows(), 0.0, 0.0
	for j, w := range s.wide[:s.covered] {
		column := 0.0
		for _, h := range s.h[j*n+s.plateRows : (j+1)*n] {
			column += h
		}
		sum += w * column
		whole += w
	}
	return sum / whole / float64(s.candyRows)
}

// core is the temperature in the middle of the candy [°C].
func (s *strip) core() float64 { return s.t[s.plateRows+s.candyRows/2] }

// mix moves every cell of candy a share of the way to the middle of all.
func (s *strip) mix(share float64) {
	mean := s.meanHeat()
	n := s.rows()
	for j := range s.covered {
		for i := j*n + s.plateRows; i < (j+1)*n; i++ {
			s.h[i] += share * (mean - s.h[i])
			s.t[i], s.c[i] = s.candy.heat.temp(s.h[i])
		}
	}
	s.since = 0
}

// columns returns widths from the middle outwards, fine at the edge and growing away from
// it on both sides: half is covered, and the plate goes on for beyond.
func columns(half, beyond, fine float64) (wide []float64, covered int) {
	grow := func(length float64) []float64 { // from the edge away
		var out []float64
		sum, w := 0.0, fine
		for sum < length-1e-12 {
			if sum >= 0.010 {
				w *= 1.35
			}
			w = math.Min(w, length-sum)
			if rest := length - sum - w; rest < w/2 {
				w = length - sum
			}
			out = append(out, w)
			sum += w
		}
		return out
	}
	in, out := grow(half), grow(beyond)
	for i := len(in) - 1; i >= 0; i-- {
		wide = append(wide, in[i])
	}
	return append(wide, out...), len(in)
}
