package numeric_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/numeric"
)

// A line is a problem whose predictions are straight lines in the unknowns: each
// observation a weighted sum, seen to a standard deviation of its own.
type line struct {
	unknowns []numeric.Unknown
	weights  [][]float64 // by observation
	seen, sd []float64
}

func (l line) problem() numeric.LeastSquares {
	return numeric.LeastSquares{Unknowns: l.unknowns, N: len(l.seen), Residuals: func(x, r []float64) error {
		for i, w := range l.weights {
			sum := 0.0
			for k := range x {
				sum += w[k] * x[k]
			}
			r[i] = (l.seen[i] - sum) / l.sd[i]
		}
		return nil
	}}
}

// belief is the exact answer.
func (l line) belief() numeric.Belief {
	var b numeric.Belief
	for _, u := range l.unknowns {
		b.Add(u.Mean, u.SD)
	}
	for i, w := range l.weights {
		terms := make([]numeric.Term, len(w))
		for k := range w {
			terms[k] = numeric.Term{Unknown: k, Weight: w[k]}
		}
		b.Observe(terms, l.seen[i], l.sd[i])
	}
	return b
}

func drawLine(t *rapid.T) line {
	number := rapid.Float64Range(-3, 3)
	size := rapid.Float64Range(0.2, 4)
	l := line{unknowns: make([]numeric.Unknown, rapid.IntRange(1, 5).Draw(t, "unknowns"))}
	for k := range l.unknowns {
		l.unknowns[k] = numeric.Unknown{Mean: number.Draw(t, "mean"), SD: size.Draw(t, "sd")}
	}
	n := len(l.unknowns)
	for range rapid.IntRange(0, 12).Draw(t, "observations") {
		l.weights = append(l.weights, rapid.SliceOfN(number, n, n).Draw(t, "weights"))
		l.seen, l.sd = append(l.seen, number.Draw(t, "seen")), append(l.sd, size.Draw(t, "noise"))
	}
	return l
}

func start(of []numeric.Unknown) []float64 {
	x := make([]float64, len(of))
	for k, u := range of {
		x[k] = u.Mean
	}
	return x
}

// must returns what a fit answers, or ends the test.
func must(t testing.TB, p numeric.LeastSquares, from []float64) numeric.Fit {
	t.Helper()
	f, err := p.Fit(from)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// near ends the test where two numbers differ by more than tol.
func near(t rapid.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Fatalf("%s: %.12g, want %.12g within %g", what, got, want, tol)
	}
}

// With straight lines and priors the fit is Bayes' rule: means and covariances are those
// of a belief that saw the observations one by one, whatever the start. What the
// observations determine is counted the same by unknown and by observation.
func TestFit_LinesAreABelief(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := drawLine(t)
		want := l.belief()
		from := start(l.unknowns)
		for k := range from {
			from[k] += rapid.Float64Range(-5, 5).Draw(t, "start")
		}
		f, err := l.problem().Fit(from)
		if err != nil {
			t.Fatal(err)
		}
		belief := f.Belief()
		shares, leverage := 0.0, 0.0
		for j := range f.X {
			near(t, "mean", f.X[j], want.Mean(j), 1e-6)
			near(t, "sd", f.SD(j), want.SD(j), 1e-7)
			near(t, "share", f.Shares[j], 1-math.Pow(want.SD(j)/l.unknowns[j].SD, 2), 1e-6)
			near(t, "mean of the belief", belief.Mean(j), f.X[j], 0)
			for k := range f.X {
				near(t, "covariance", f.Cov(j, k), want.Cov(j, k), 1e-7)
				near(t, "covariance of the belief", belief.Cov(j, k), f.Cov(j, k), 0)
			}
			shares += f.Shares[j]
		}
		for _, h := range f.Leverage {
			leverage += h
		}
		near(t, "sum of leverages", leverage, shares, 1e-6)
		near(t, "degrees of freedom", f.DF, float64(len(l.seen))-shares, 1e-9)
	})
}

// What does not matter does not: the order of the observations, the unit an unknown is
// counted in, and whether the slopes are given or taken from quotients.
func TestFit_WhatDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := drawCooling(t)
		want, err := c.problem().Fit(start(c.unknowns))
		if err != nil {
			t.Fatal(err)
		}
		same := func(what string, got numeric.Fit, units []float64) {
			for k := range want.X {
				near(t, what, got.X[k]*units[k], want.X[k], 1e-6*want.SD(k))
				near(t, what+", sd", got.SD(k)*units[k], want.SD(k), 1e-5*want.SD(k))
				near(t, what+", share", got.Shares[k], want.Shares[k], 1e-5)
			}
			near(t, what+", squares", got.SumSquares, want.SumSquares, 1e-6)
		}
		ones := []float64{1, 1, 1}

		turned := c
		turned.order = rapid.Permutation(c.order).Draw(t, "order")
		f, err := turned.problem().Fit(start(c.unknowns))
		if err != nil {
			t.Fatal(err)
		}
		same("another order", f, ones)

		units := make([]float64, 3)
		for k := range units {
			units[k] = math.Pow(10, rapid.Float64Range(-6, 6).Draw(t, "unit"))
		}
		p := c.problem()
		p.Unknowns = slices.Clone(p.Unknowns)
		for k := range p.Unknowns {
			p.Unknowns[k].Mean, p.Unknowns[k].SD = p.Unknowns[k].Mean/units[k], p.Unknowns[k].SD/units[k]
		}
		inner := p.Residuals
		p.Residuals = func(x, r []float64) error {
			return inner([]float64{x[0] * units[0], x[1] * units[1], x[2] * units[2]}, r)
		}
		if f, err = p.Fit(start(p.Unknowns)); err != nil {
			t.Fatal(err)
		}
		same("other units", f, units)

		p = c.problem()
		p.Jacobian = c.slopes
		if f, err = p.Fit(start(c.unknowns)); err != nil {
			t.Fatal(err)
		}
		same("slopes given", f, ones)
	})
}

// A cooling is a body that cools in a room, seen now and then: unknown are its first
// temperature, the logarithm of its rate and the room.
type cooling struct {
	unknowns     []numeric.Unknown
	order        []int // of the observations
	at, seen, sd []float64
}

func cooled(x []float64, at float64) float64 {
	return x[2] + (x[0]-x[2])*math.Exp(-math.Exp(x[1])*at)
}

func newCooling(truth []float64, sd float64, noise func() float64) cooling {
	c := cooling{unknowns: []numeric.Unknown{
		{Name: "first temperature", Mean: 140, SD: 5}, {Name: "rate", Mean: math.Log(0.1), SD: 0.4}, {Name: "room", Mean: 22, SD: 3}}}
	for i := range 12 {
		at := 1.5 * float64(i)
		c.order, c.at, c.sd = append(c.order, i), append(c.at, at), append(c.sd, sd)
		c.seen = append(c.seen, cooled(truth, at)+sd*noise())
	}
	return c
}

func drawCooling(t *rapid.T) cooling {
	random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	truth := []float64{140 + 5*random.NormFloat64(), math.Log(0.1) + 0.4*random.NormFloat64(), 22 + 3*random.NormFloat64()}
	return newCooling(truth, rapid.Float64Range(0.3, 3).Draw(t, "noise"), random.NormFloat64)
}

func (c cooling) problem() numeric.LeastSquares {
	return numeric.LeastSquares{Unknowns: c.unknowns, N: len(c.seen), Residuals: func(x, r []float64) error {
		for i, o := range c.order {
			r[i] = (c.seen[o] - cooled(x, c.at[o])) / c.sd[o]
		}
		return nil
	}}
}

func (c cooling) slopes(x []float64, j [][]float64) error {
	for i, o := range c.order {
		rate := math.Exp(x[1])
		e := math.Exp(-rate * c.at[o])
		j[0][i], j[1][i], j[2][i] = -e/c.sd[o], (x[0]-x[2])*rate*c.at[o]*e/c.sd[o], -(1-e)/c.sd[o]
	}
	return nil
}

// A prior of infinite standard deviation is no prior, whatever its mean; a wide one
// comes to the same in the end, a narrow one holds.
func TestFit_PriorsFromNoneToHard(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(5, 5))
	c := newCooling([]float64{146, math.Log(0.13), 19}, 0.5, random.NormFloat64)
	from := start(c.unknowns)
	with := func(mean, sd float64) numeric.Fit {
		p := c.problem()
		p.Unknowns = slices.Clone(c.unknowns)
		for k := range p.Unknowns {
			p.Unknowns[k].Mean, p.Unknowns[k].SD = from[k]+mean, sd
		}
		return must(t, p, from)
	}
	none := with(0, math.Inf(1))
	for k := range from {
		if other := with(1e6, math.Inf(1)); other.X[k] != none.X[k] || other.SD(k) != none.SD(k) {
			t.Errorf("unknown %d: the mean of no prior moved it", k)
		}
		near(t, "wide prior", with(0, 1e5).X[k], none.X[k], 1e-6)
		near(t, "narrow prior", with(0.25, 1e-5).X[k], from[k]+0.25, 1e-4)
		if none.Shares[k] != 1 {
			t.Errorf("unknown %d: without prior %g of it is from the observations", k, none.Shares[k])
		}
		if s := with(0.25, 1e-5).Shares[k]; s > 1e-5 {
			t.Errorf("unknown %d: %g of what is known for sure is from the observations", k, s)
		}
	}
	near(t, "degrees of freedom", none.DF, 9, 0)
	if none.PriorSquares != 0 {
		t.Errorf("no prior has %g squares", none.PriorSquares)
	}
}

// Intervals hold what they claim. In each of many rooms the truth is drawn from the
// prior and seen with noise: 90 % intervals hold it nine times in ten (within three
// standard deviations of that count, two points more for the bent model), the residuals
// are as large as the degrees of freedom and the priors as the shares, on average.
func TestFit_Coverage(t *testing.T) {
	t.Parallel()
	const rooms = 3000
	random := rand.New(rand.NewPCG(20261130, 7))
	normal := distuv.UnitNormal.Quantile(0.95)
	for _, c := range []struct {
		name  string
		slack float64
		room  func() (numeric.LeastSquares, []float64)
	}{
		{"lines", 0, func() (numeric.LeastSquares, []float64) {
			l, truth := line{}, make([]float64, 3)
			for k := range truth {
				l.unknowns = append(l.unknowns, numeric.Unknown{Mean: 1, SD: 0.8})
				truth[k] = 1 + 0.8*random.NormFloat64()
			}
			for i := range 6 {
				w := []float64{1, float64(i), math.Sin(float64(i))}
				l.weights, l.sd = append(l.weights, w), append(l.sd, 0.5)
				l.seen = append(l.seen, w[0]*truth[0]+w[1]*truth[1]+w[2]*truth[2]+0.5*random.NormFloat64())
			}
			return l.problem(), truth
		}},
		{"cooling", 0.02, func() (numeric.LeastSquares, []float64) {
			truth := []float64{140 + 5*random.NormFloat64(), math.Log(0.1) + 0.4*random.NormFloat64(), 22 + 3*random.NormFloat64()}
			return newCooling(truth, 4, random.NormFloat64).problem(), truth
		}},
	} {
		var held [3]int
		var squares, df, prior, shares float64
		for range rooms {
			p, truth := c.room()
			f := must(t, p, start(p.Unknowns))
			for k := range truth {
				if math.Abs(f.X[k]-truth[k]) <= normal*f.SD(k) {
					held[k]++
				}
				shares += f.Shares[k]
			}
			squares, df, prior = squares+f.SumSquares, df+f.DF, prior+f.PriorSquares
		}
		t.Logf("%s: held %v of %d; squares a degree %.3f, prior squares a share %.3f", c.name, held, rooms, squares/df, prior/shares)
		for k, n := range held {
			near(t, c.name+", held", float64(n)/rooms, 0.90, 3*math.Sqrt(0.9*0.1/rooms)+c.slack)
			if k == 0 {
				near(t, c.name+", squares", squares/df, 1, 3*math.Sqrt(2/df)+c.slack)
				near(t, c.name+", prior squares", prior/shares, 1, 3*math.Sqrt(2/shares)+c.slack)
			}
		}
	}
}

// Without priors and with a scatter that is not known beforehand, Birge's ratio and
// Student's t give the interval, exactly for lines.
func TestFit_CoverageOfUnknownScatter(t *testing.T) {
	t.Parallel()
	const rooms = 2000
	random := rand.New(rand.NewPCG(11, 3))
	held, naive := 0, 0
	for range rooms {
		l := line{unknowns: []numeric.Unknown{{SD: math.Inf(1)}, {SD: math.Inf(1)}}}
		for i := range 5 {
			l.weights = append(l.weights, []float64{1, float64(i)})
			l.seen, l.sd = append(l.seen, 2-0.3*float64(i)+3*random.NormFloat64()), append(l.sd, 1)
		}
		f := must(t, l.problem(), []float64{0, 0})
		student := distuv.StudentsT{Sigma: 1, Nu: f.DF}.Quantile(0.95)
		if math.Abs(f.X[1]+0.3) <= student*f.SD(1)*f.Birge() {
			held++
		}
		if math.Abs(f.X[1]+0.3) <= student*f.SD(1) {
			naive++
		}
	}
	near(t, "held", float64(held)/rooms, 0.90, 3*math.Sqrt(0.9*0.1/rooms))
	if naive > rooms*7/10 {
		t.Errorf("a third of the scatter, taken for known, held %d of %d: the test proves nothing", naive, rooms)
	}
	var f numeric.Fit
	if !math.IsNaN(f.Birge()) {
		t.Error("a ratio was made of nothing")
	}
}

// The same problem gives the same answer bit by bit, its calls are counted, and neither
// the start nor what the model is given is the fit's own memory.
func TestFit_Repeats(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(2, 9))
	c := newCooling([]float64{143, math.Log(0.08), 24}, 1, random.NormFloat64)
	calls := 0
	p := c.problem()
	inner := p.Residuals
	p.Residuals = func(x, r []float64) error {
		calls++
		err := inner(x, r)
		clear(x)
		return err
	}
	from := start(c.unknowns)
	a := must(t, p, from)
	if a.Calls != calls || a.Iterations == 0 {
		t.Errorf("%d calls were counted as %d in %d steps", calls, a.Calls, a.Iterations)
	}
	if !slices.Equal(from, start(c.unknowns)) {
		t.Error("the start was changed")
	}
	b := must(t, c.problem(), from)
	if !slices.Equal(a.X, b.X) || a.SD(1) != b.SD(1) || !slices.Equal(a.Residuals, b.Residuals) {
		t.Errorf("%v, then %v", a.X, b.X)
	}
}

// edge is a model that is asked only below its limit: the answer is a hair below it.
func edge(limit float64, outside func(r []float64) error) numeric.LeastSquares {
	return numeric.LeastSquares{Unknowns: []numeric.Unknown{{Name: "heat", Mean: 0, SD: 10, Scale: 1}}, N: 1, Residuals: func(x, r []float64) error {
		if x[0] > limit {
			return outside(r)
		}
		r[0] = (math.Sqrt(limit) - math.Sqrt(x[0])) / 1e-3
		return nil
	}}
}

// Out of the model's range the fit takes shorter steps, and slopes at the edge from one
// side; whether the model says so or answers with what is not a number.
func TestFit_EdgeOfTheModel(t *testing.T) {
	t.Parallel()
	for name, outside := range map[string]func(r []float64) error{
		"error":        func([]float64) error { return errors.New("too hot") },
		"not a number": func(r []float64) error { r[0] = math.NaN(); return nil },
		"infinite":     func(r []float64) error { r[0] = math.Inf(-1); return nil },
	} {
		f := must(t, edge(4, outside), []float64{0.5})
		near(t, name, f.X[0], 4, 1e-4)
		if !(f.X[0] <= 4) {
			t.Errorf("%s: %g is out of the model's range", name, f.X[0])
		}
		near(t, name+", sd", f.SD(0), 4e-3, 1e-5)
	}
}

// A model that solves equations of its own to a tolerance is rough at that size. Told of
// it, the fit takes slopes over longer steps and asks for no more than can be had; not
// told, it finds no end.
func TestFit_Noise(t *testing.T) {
	t.Parallel()
	const noise = 1e-4
	random := rand.New(rand.NewPCG(8, 8))
	refused, wrong := 0, 0
	for range 200 {
		c := newCooling([]float64{143, math.Log(0.12), 20}, 0.5, random.NormFloat64)
		smooth := must(t, c.problem(), start(c.unknowns))
		p := c.problem()
		inner := p.Residuals
		p.Residuals = func(x, r []float64) error {
			err := inner(x, r)
			for i := range r { // as good as chance, but the same every time
				r[i] += noise * math.Sin(1e9*(x[0]+x[1]+x[2])+float64(i))
			}
			return err
		}
		if f, err := p.Fit(start(c.unknowns)); err != nil {
			refused++
		} else if math.Abs(f.SD(1)/smooth.SD(1)-1) > 0.05 {
			wrong++
		}
		p.Noise = noise
		f := must(t, p, start(c.unknowns))
		for k := range f.X {
			near(t, "told of its noise", f.X[k], smooth.X[k], 0.02*smooth.SD(k))
			near(t, "told of its noise, sd", f.SD(k), smooth.SD(k), 0.02*smooth.SD(k))
		}
	}
	t.Logf("not told, %d of 200 were refused and %d wrong", refused, wrong)
	if refused+wrong < 20 {
		t.Error("not told of its noise it does as well: the test proves nothing")
	}
}

// Each refusal says what is wrong and where, and carries its cause.
func TestFit_Refusals(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(4, 4))
	good := newCooling([]float64{143, math.Log(0.12), 20}, 1, random.NormFloat64)
	inf, nan := math.Inf(1), math.NaN()
	free := func(p *numeric.LeastSquares) {
		p.Unknowns = slices.Clone(p.Unknowns)
		for k := range p.Unknowns {
			p.Unknowns[k].SD = inf
		}
	}
	model := func(of func(x, r []float64) error) func(*numeric.LeastSquares, []float64) {
		return func(p *numeric.LeastSquares, _ []float64) { free(p); p.Residuals = of }
	}
	for _, c := range []struct {
		name  string
		turn  func(p *numeric.LeastSquares, from []float64)
		cause error
		want  string
	}{
		{"no unknowns", func(p *numeric.LeastSquares, _ []float64) { p.Unknowns = nil }, nil, "unknowns: a fit needs unknowns"},
		{"start too short", func(p *numeric.LeastSquares, _ []float64) { p.Unknowns = append(p.Unknowns, numeric.Unknown{SD: 1}) }, nil, "start: 4 unknowns need a start each, not 3"},
		{"no model", func(p *numeric.LeastSquares, _ []float64) { p.Residuals = nil }, nil, "residuals: 12 residuals cannot be computed"},
		{"negative count", func(p *numeric.LeastSquares, _ []float64) { p.N = -1 }, nil, "residuals: -1 residuals"},
		{"noise", func(p *numeric.LeastSquares, _ []float64) { p.Noise = nan }, nil, "noise: NaN"},
		{"tolerance", func(p *numeric.LeastSquares, _ []float64) { p.Tol = -1 }, nil, "tol: -1"},
		{"negative budget", func(p *numeric.LeastSquares, _ []float64) { p.Budget = -1 }, nil, "budget: -1"},
		{"forgotten prior", func(p *numeric.LeastSquares, _ []float64) { p.Unknowns[1].SD = 0 }, nil, "unknowns[1].sd: the prior of rate needs a standard deviation above zero, not 0 (infinite: there is no prior)"},
		{"mean", func(p *numeric.LeastSquares, _ []float64) { p.Unknowns[2].Mean = inf }, nil, "unknowns[2].mean: the mean of room"},
		{"scale", func(p *numeric.LeastSquares, _ []float64) { p.Unknowns[0].Scale = -2 }, nil, "unknowns[0].scale: the scale of first temperature is -2"},
		{"start", func(_ *numeric.LeastSquares, from []float64) { from[1] = nan }, numeric.ErrNotFinite, "start[1]: the start of rate"},
		{"not finite at the start", model(func(_, r []float64) error { r[3] = nan; return nil }), numeric.ErrNotFinite, "cannot be asked at the start (start within its range)"},
		{"error at the start", model(func(_, _ []float64) error { return errTest }), errTest, "cannot be asked at the start"},
		{"cost overflows", model(func(_, r []float64) error { r[0] = 1e200; return nil }), numeric.ErrNotFinite, "cannot be asked at the start"},
		{"nowhere to go", func(p *numeric.LeastSquares, from []float64) {
			at := slices.Clone(from)
			p.Residuals = func(x, r []float64) error {
				if !slices.Equal(x, at) {
					return errTest
				}
				return nil
			}
		}, errTest, "cannot be asked on either side of first temperature"},
		{"slopes", func(p *numeric.LeastSquares, _ []float64) {
			p.Jacobian = func(_ []float64, j [][]float64) error { j[2][0] = inf; return nil }
		}, numeric.ErrNotFinite, "a slope of the residuals in room is not a finite number"},
		{"error of slopes", func(p *numeric.LeastSquares, _ []float64) {
			p.Jacobian = func([]float64, [][]float64) error { return errTest }
		}, errTest, "where its slopes are asked for"},
		{"one unknown is not seen", model(func(x, r []float64) error {
			for i := range r {
				r[i] = x[0] + x[2]*float64(i)
			}
			return nil
		}), numeric.ErrUndetermined, "what was seen says nothing of rate (give it a prior, or observe what depends on it)"},
		{"only a sum is seen", model(func(x, r []float64) error {
			for i := range r {
				r[i] = x[0] + x[1] + x[2]*float64(i)
			}
			return nil
		}), numeric.ErrUndetermined, "what was seen cannot tell"},
		{"fewer observations than unknowns", func(p *numeric.LeastSquares, _ []float64) { free(p); p.N = 2; p.Residuals = first(p.Residuals, 2) }, numeric.ErrUndetermined, "apart"},
		{"nothing seen, no prior", func(p *numeric.LeastSquares, _ []float64) { free(p); p.N, p.Residuals = 0, nil }, numeric.ErrUndetermined, "says nothing of"},
		{"budget of the first slopes", func(p *numeric.LeastSquares, _ []float64) { p.Budget = 3 }, numeric.ErrNotSettled, "did not settle in 0 steps and 3 calls"},
		{"budget of steps", func(p *numeric.LeastSquares, _ []float64) { p.Budget = 9 }, numeric.ErrNotSettled, "did not settle in 1 steps and 9 calls"},
		{"slopes that lie", func(p *numeric.LeastSquares, _ []float64) {
			p.Jacobian = func(x []float64, j [][]float64) error {
				err := good.slopes(x, j)
				for k := range j {
					for i := range j[k] {
						j[k][i] *= -1
					}
				}
				return err
			}
		}, numeric.ErrNotSettled, "did not settle"},
	} {
		p, from := good.problem(), start(good.unknowns)
		p.Unknowns = slices.Clone(p.Unknowns)
		c.turn(&p, from)
		f, err := p.Fit(from)
		var refused *fault.Error
		if !errors.As(err, &refused) || refused.Kind != fault.KindInvalid || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
		if c.cause != nil && !errors.Is(err, c.cause) {
			t.Errorf("%s: the cause of %v is not %v", c.name, err, c.cause)
		}
		if f.X != nil {
			t.Errorf("%s: refused and answered", c.name)
		}
	}
}

var errTest = errors.New("the kettle is cold")

// first asks a model for more residuals than are wanted and keeps the first n.
func first(of func(x, r []float64) error, n int) func(x, r []float64) error {
	return func(x, r []float64) error {
		all := make([]float64, 12)
		err := of(x, all)
		copy(r, all[:n])
		return err
	}
}

// Nothing seen, and a prior: the fit is the prior.
func TestFit_NothingSeen(t *testing.T) {
	t.Parallel()
	f := must(t, numeric.LeastSquares{Unknowns: []numeric.Unknown{{Mean: 2, SD: 3}, {Mean: -1, SD: 0.5}}}, []float64{0, 0})
	near(t, "first", f.X[0], 2, 1e-9)
	near(t, "second", f.X[1], -1, 1e-9)
	near(t, "sd", f.SD(0), 3, 1e-12)
	near(t, "correlation", f.Correlation(0, 1), 0, 0)
	if f.Shares[0] > 1e-12 || f.DF < 0 || f.DF > 1e-12 || !math.IsNaN(f.Birge()) {
		t.Errorf("nothing seen gave shares %v, %g degrees, ratio %g", f.Shares, f.DF, f.Birge())
	}
}

// Four unknowns and twenty residuals of a model of about 50 µs: cooling step by step,
// with a rate that rises with the temperature. Of the time the fit itself takes little.
func BenchmarkFit(b *testing.B) {
	at := func(x []float64, r []float64) error {
		temp, rate := x[0], math.Exp(x[1])
		for i := range r {
			for range 66 {
				temp -= 0.02 * rate * (temp - x[2]) * math.Exp(x[3]*(temp-100))
			}
			r[i] = temp
		}
		return nil
	}
	seen := make([]float64, 20)
	_ = at([]float64{143, math.Log(0.12), 20, 0.004}, seen)
	p := numeric.LeastSquares{N: 20, Noise: 1e-9, Unknowns: []numeric.Unknown{{Mean: 140, SD: 5}, {Mean: math.Log(0.1), SD: 0.4}, {Mean: 22, SD: 3}, {Mean: 0, SD: 0.01}},
		Residuals: func(x, r []float64) error {
			err := at(x, r)
			for i := range r {
				r[i] = (seen[i] + math.Sin(3*float64(i)) - r[i]) / 1
			}
			return err
		}}
	calls := 0
	for b.Loop() {
		calls = must(b, p, start(p.Unknowns)).Calls
	}
	b.ReportMetric(float64(calls), "calls/op")
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/float64(calls), "µs/call")
}
