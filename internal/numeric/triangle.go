package numeric

import "math"

// A triangle is a matrix A made into an orthogonal Q times an upper triangle R with its
// columns exchanged, the longest remainder first, and a right-hand side f made into
// Qᵀf. Columns of A are divided by a scale each before.
//
// gonum's mat.QR does not exchange columns, without which R does not tell which of them
// depend on others.
//
// Reference: P. Businger and G. H. Golub, Linear least squares solutions by Householder
// transformations, Numer. Math. 7:269, 1965; from memory.
type triangle struct {
	columns [][]float64 // of R; below the diagonal there is no meaning
	order   []int       // which column of A each is
	lengths []float64   // of each column, scaled
	rhs     []float64   // Qᵀf, as many as there are columns
}

// triangular decomposes columns, each divided by its scale, none of which is zero. It
// changes neither columns nor f.
func triangular(columns [][]float64, f, scale []float64) triangle {
	t := triangle{columns: make([][]float64, len(columns)), order: make([]int, len(columns))}
	for k, column := range columns {
		t.order[k] = k
		t.columns[k] = make([]float64, len(column))
		for i, v := range column {
			t.columns[k][i] = v / scale[k]
		}
	}
	t.lengths = lengths(t.columns)
	rhs := append([]float64(nil), f...)
	for k := range t.columns {
		t.exchange(k)
		reflect(t.columns[k:], rhs, k)
	}
	t.rhs = rhs[:len(columns)]
	return t
}

// exchange brings the column with the longest remainder from row k on to place k.
func (t *triangle) exchange(k int) {
	longest, at := -1.0, k
	for j := k; j < len(t.columns); j++ {
		if l := norm(t.columns[j][k:]); l > longest {
			longest, at = l, j
		}
	}
	t.columns[k], t.columns[at] = t.columns[at], t.columns[k]
	t.order[k], t.order[at] = t.order[at], t.order[k]
	t.lengths[k], t.lengths[at] = t.lengths[at], t.lengths[k]
}

// reflect makes the first column zero below row k by a Householder reflection, and
// takes the other columns and the right-hand side with it.
func reflect(columns [][]float64, rhs []float64, k int) {
	v := columns[0][k:]
	length := norm(v)
	if length == 0 {
		return
	}
	diagonal := -math.Copysign(length, v[0])
	v[0] -= diagonal
	half := -diagonal * v[0] // v·v/2
	turn := func(a []float64) {
		share := dot(v, a) / half
		for i := range a {
			a[i] -= share * v[i]
		}
	}
	for _, a := range columns[1:] {
		turn(a[k:])
	}
	turn(rhs[k:])
	v[0] = diagonal
}

// sine returns the sine of the angle between the column at place k and all before it;
// 0 for a column of zeros.
func (t triangle) sine(k int) float64 {
	if t.lengths[k] == 0 {
		return 0
	}
	return math.Abs(t.columns[k][k]) / t.lengths[k]
}

// solve returns y of R y = b for the first n places.
func (t triangle) solve(b []float64, n int) []float64 {
	y := append([]float64(nil), b[:n]...)
	for k := n - 1; k >= 0; k-- {
		y[k] /= t.columns[k][k]
		for i := range k {
			y[i] -= t.columns[k][i] * y[k]
		}
	}
	return y
}

// solveTurned returns y of Rᵀ y = b.
func (t triangle) solveTurned(b []float64) []float64 {
	y := append([]float64(nil), b...)
	for k := range y {
		y[k] = (y[k] - dot(t.columns[k][:k], y[:k])) / t.columns[k][k]
	}
	return y
}

// times returns R q for a step q in the order of the columns of A; its length is that
// of A q.
func (t triangle) times(q []float64) []float64 {
	out := make([]float64, len(q))
	for k, j := range t.order {
		for i := range k + 1 {
			out[i] += t.columns[k][i] * q[j]
		}
	}
	return out
}

// within returns the step q that makes |A q + f|² + damping·|q|² least, with the
// damping, not below zero, that keeps it within the radius, give or take a tenth. guess
// is a damping to begin from, 0 if none is known.
//
// Reference: source key more1978, section 5.
func (t triangle) within(radius, guess float64) (q []float64, damping float64) {
	n := len(t.order)
	low := 0.0
	if t.whole() {
		y := t.solve(t.rhs, n)
		if l := norm(y); finite(l) {
			if l <= 1.1*radius {
				return t.back(y), 0
			}
			low = newton(t, y, l, radius)
		}
	}
	high := norm(t.slope()) / radius
	damping = min(max(guess, low), high)
	if damping == 0 {
		damping = max(0.001*high, math.Sqrt(low*high))
	}
	for range 10 {
		d := t.damped(damping)
		y := d.solve(d.rhs, n)
		l := norm(y)
		if q = t.back(y); math.Abs(l-radius) <= 0.1*radius {
			break
		}
		// Newton's method on 1/|q|, kept between what is known to be too little and too much.
		correction := newton(d, y, l, radius)
		if l > radius {
			low = max(low, damping)
		} else {
			high = min(high, damping)
		}
		next := max(low, damping+correction, 1e-3*damping)
		if !(next < high) {
			next = max(math.Sqrt(low*high), 0.001*high)
		}
		damping = next
	}
	if l := norm(q); l > 1.1*radius { // no damping was found: the direction is kept
		for k := range q {
			q[k] *= radius / l
		}
	}
	return q, damping
}

// newton is the change of damping that brings a step y of length l to the radius.
func newton(t triangle, y []float64, l, radius float64) float64 {
	unit := make([]float64, len(y))
	for i, v := range y {
		unit[i] = v / l
	}
	w := norm(t.solveTurned(unit))
	return (l - radius) / radius / (w * w)
}

// whole says whether R can be divided by.
func (t triangle) whole() bool {
	for k := range t.columns {
		if t.columns[k][k] == 0 {
			return false
		}
	}
	return true
}

// slope returns Aᵀf, half the slope of |A q + f|², in the order of the columns of A.
func (t triangle) slope() []float64 {
	out := make([]float64, len(t.rhs))
	for k, j := range t.order {
		out[j] = dot(t.columns[k][:k+1], t.rhs[:k+1])
	}
	return out
}

// damped is the triangle of R over √damping times unity, in the same order.
func (t triangle) damped(damping float64) triangle {
	n := len(t.order)
	d := triangle{columns: make([][]float64, n), order: t.order}
	for k := range n {
		d.columns[k] = make([]float64, 2*n)
		copy(d.columns[k], t.columns[k][:k+1])
		d.columns[k][n+k] = math.Sqrt(damping)
	}
	rhs := make([]float64, 2*n)
	copy(rhs, t.rhs)
	for k := range n {
		reflect(d.columns[k:], rhs, k)
	}
	d.rhs = rhs[:n]
	return d
}

// back returns −y in the order of the columns of A.
func (t triangle) back(y []float64) []float64 {
	q := make([]float64, len(y))
	for k, j := range t.order {
		q[j] = -y[k]
	}
	return q
}

// norm returns the length of a vector, without overflow.
func norm(v []float64) float64 {
	largest := 0.0
	for _, x := range v {
		if a := math.Abs(x); !(a <= largest) { // a NaN comes through
			largest = a
		}
	}
	if largest == 0 || !finite(largest) {
		return largest
	}
	sum := 0.0
	for _, x := range v {
		sum += (x / largest) * (x / largest)
	}
	return largest * math.Sqrt(sum)
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

func lengths(columns [][]float64) []float64 {
	out := make([]float64, len(columns))
	for k, column := range columns {
		out[k] = norm(column)
	}
	return out
}

// noZeros returns lengths to divide by: 1 for none.
func noZeros(lengths []float64) []float64 {
	out := append([]float64(nil), lengths...)
	for k := range out {
		if out[k] == 0 {
			out[k] = 1
		}
	}
	return out
}

// scaledNorm returns the length of x with each of its numbers times a scale.
func scaledNorm(x, scale []float64) float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = x[i] * scale[i]
	}
	return norm(out)
}
