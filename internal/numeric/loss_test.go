package numeric_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"slabside/internal/numeric"
)

// What a loss must be: weight and curve are the slopes of the cost, the weight falls
// with the residual, all are even and not below zero.
func TestLoss_Contract(t *testing.T) {
	t.Parallel()
	for name, loss := range map[string]numeric.Loss{"Huber": numeric.Huber(numeric.HuberBend), "wide Huber": numeric.Huber(3), "t": numeric.StudentT(4), "Cauchy": numeric.StudentT(1)} {
		rapid.Check(t, func(t *rapid.T) {
			r := rapid.Float64Range(0.01, 50).Draw(t, "r")
			cost, weight, curve := loss(r)
			if c, w, v := loss(-r); c != cost || w != weight || v != curve {
				t.Fatalf("%s is not even at %g", name, r)
			}
			h := 1e-5 * r
			up, wUp, _ := loss(r + h)
			down, wDown, _ := loss(r - h)
			if math.Abs(r-numeric.HuberBend) > 2*h && math.Abs(r-3) > 2*h { // not across a bend
				near(t, name+", weight", weight, (up-down)/(2*h)/(2*r), 1e-6*(1+1/r))
				near(t, name+", curve", curve, max(0, ((r+h)*wUp-(r-h)*wDown)/(2*h)), 1e-6)
			}
			if wUp > wDown || weight < 0 || curve > weight {
				t.Fatalf("%s at %g: weight %g from %g to %g, curve %g", name, r, weight, wDown, wUp, curve)
			}
		})
		if cost, _, curve := loss(0); cost != 0 || !(curve > 0) {
			t.Errorf("%s: nothing costs %g and tells %g", name, cost, curve)
		}
	}
	for _, bad := range []func(){func() { numeric.Huber(0) }, func() { numeric.StudentT(math.NaN()) }} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a loss was made of nothing")
				}
			}()
			bad()
		}()
	}
}

// The usual bend uses 95 % of clean observations: efficiency of the mean by Huber's
// loss, E[ψ']² / E[ψ²] over the normal density (P. J. Huber 1964; 1.345 for 95 % is in
// every textbook).
func TestHuber_Efficiency(t *testing.T) {
	t.Parallel()
	loss, steps := numeric.Huber(numeric.HuberBend), 200000
	curves, squares := 0.0, 0.0
	for i := range steps {
		r := distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(steps))
		_, weight, curve := loss(r)
		curves, squares = curves+curve/float64(steps), squares+weight*r*weight*r/float64(steps)
	}
	near(t, "efficiency", curves*curves/squares, 0.95, 5e-5)
}

// wildMisra is Misra1a with one reading that is 50 standard deviations too high.
func wildMisra(t *testing.T, loss numeric.Loss, high float64) numeric.Fit {
	t.Helper()
	s := readStrd(t, "Misra1a")
	s.y[7] += high
	p := s.problem(strdModels[0].at, strdModels[0].slope)
	plain, slopes := p.Residuals, p.Jacobian
	const sd = 0.1
	p.Residuals = func(x, r []float64) error {
		err := plain(x, r)
		for i := range r {
			r[i] /= sd
		}
		return err
	}
	p.Jacobian = func(x []float64, j [][]float64) error {
		err := slopes(x, j)
		for k := range j {
			for i := range j[k] {
				j[k][i] /= sd
			}
		}
		return err
	}
	p.Loss = loss
	return must(t, p, s.starts[1])
}

// The same answers by another program: SciPy 1.10.1, optimize.least_squares, losses
// "linear" and "huber" with f_scale 1.345, and the loss of t with 4 degrees given.
func TestLoss_AnotherProgram(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		loss   numeric.Loss
		b1, b2 float64
	}{
		{"squares", nil, 211.968655, 6.38898502e-4},
		{"Huber", numeric.Huber(numeric.HuberBend), 237.283322, 5.54922887e-4},
		{"t", numeric.StudentT(4), 237.664158, 5.53780657e-4},
	} {
		f := wildMisra(t, c.loss, 5)
		near(t, c.name+", b1", f.X[0], c.b1, 1e-6)
		near(t, c.name+", b2", f.X[1], c.b2, 1e-12)
	}
}

// One wild reading drags plain squares by many standard deviations, and the further the
// wilder it is; it drags Huber's loss by less than one, however wild; and the loss of t
// by less the wilder it is. Its weight says which it was.
func TestLoss_OneWildReading(t *testing.T) {
	t.Parallel()
	huber, student := numeric.Huber(numeric.HuberBend), numeric.StudentT(4)
	drag := func(loss numeric.Loss, high float64) float64 {
		clean := wildMisra(t, loss, 0)
		return math.Abs(wildMisra(t, loss, high).X[0]-clean.X[0]) / clean.SD(0)
	}
	t.Logf("dragged by 5 and 20 units: squares %.1f %.1f, Huber %.2f %.2f, t %.2f %.2f sd",
		drag(nil, 5), drag(nil, 20), drag(huber, 5), drag(huber, 20), drag(student, 5), drag(student, 20))
	if drag(nil, 5) < 5 || drag(nil, 20) < 2*drag(nil, 5) {
		t.Error("plain squares were not dragged: the test proves nothing")
	}
	near(t, "Huber, wild and wilder", drag(huber, 20), drag(huber, 5), 0.01)
	if drag(huber, 20) > 1 || drag(student, 20) > drag(student, 5) || drag(student, 5) > drag(huber, 5) {
		t.Error("one wild reading drags a robust fit")
	}
	f := wildMisra(t, huber, 5)
	for i, w := range f.Weights {
		if (w < 0.1) != (i == 7) {
			t.Errorf("reading %d has weight %g", i, w)
		}
	}
	near(t, "leverage of the wild reading", f.Leverage[7], 0, 0)
}

// Robust intervals: of clean rooms they hold at least what they claim, and little more;
// of rooms in which one observation in ten is wild they hold nearly as much, where plain
// squares hold far less.
func TestLoss_Coverage(t *testing.T) {
	t.Parallel()
	const rooms = 1000
	normal := distuv.UnitNormal.Quantile(0.95)
	held := func(loss numeric.Loss, wild float64) float64 {
		random := rand.New(rand.NewPCG(77, 5))
		n := 0
		for range rooms {
			truth := []float64{140 + 5*random.NormFloat64(), math.Log(0.1) + 0.4*random.NormFloat64(), 22 + 3*random.NormFloat64()}
			p := newCooling(truth, 0.7, func() float64 {
				if random.Float64() < wild {
					return 12 * random.NormFloat64()
				}
				return random.NormFloat64()
			}).problem()
			p.Loss = loss
			from := start(p.Unknowns)
			if loss != nil {
				first := p
				first.Loss = numeric.Huber(numeric.HuberBend)
				from = must(t, first, from).X
			}
			if f := must(t, p, from); math.Abs(f.X[1]-truth[1]) <= normal*f.SD(1) {
				n++
			}
		}
		return float64(n) / rooms
	}
	huber, student := numeric.Huber(numeric.HuberBend), numeric.StudentT(4)
	t.Logf("90 %% intervals hold: squares %.3f clean, %.3f wild; Huber %.3f, %.3f; t %.3f, %.3f",
		held(nil, 0), held(nil, 0.1), held(huber, 0), held(huber, 0.1), held(student, 0), held(student, 0.1))
	for name, loss := range map[string]numeric.Loss{"Huber": huber, "t": student} {
		if clean := held(loss, 0); clean < 0.87 || clean > 0.96 {
			t.Errorf("%s: of clean rooms %.3f are held", name, clean)
		}
		if wild := held(loss, 0.1); wild < 0.84 {
			t.Errorf("%s: of rooms with wild observations %.3f are held", name, wild)
		}
	}
	if held(nil, 0.1) > 0.6 {
		t.Error("plain squares hold rooms with wild observations: the test proves nothing")
	}
}
