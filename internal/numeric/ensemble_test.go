package numeric_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/numeric"
)

func TestEnsemble_NameDecidesTheColumn(t *testing.T) {
	t.Parallel()
	a, b := numeric.NewEnsemble(256, 7), numeric.NewEnsemble(256, 7)
	b.Normal("batch:9:loss") // another column in between changes nothing
	if !slices.Equal(a.Normal("shop:boil-model"), b.Normal("shop:boil-model")) {
		t.Error("the same name gave two columns")
	}
	for _, other := range []string{"shop:boil-model ", "batch:3:loss", "batch:4:loss", ""} {
		if slices.Equal(a.Normal("shop:boil-model"), a.Normal(other)) {
			t.Errorf("the name %q gave another name's column", other)
		}
	}
	if slices.Equal(a.Normal("glass:x"), numeric.NewEnsemble(256, 8).Normal("glass:x")) {
		t.Error("two seeds gave one column")
	}
}

// Every column alone is an even spread: sorted, it is the strata's midpoints.
func TestEnsemble_EveryColumnIsEven(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 700).Draw(t, "n")
		e := numeric.NewEnsemble(n, rapid.Uint64().Draw(t, "seed"))
		column := e.Uniform(rapid.String().Draw(t, "name"))
		slices.Sort(column)
		for i, v := range column {
			if want := (float64(i) + 0.5) / float64(n); v != want {
				t.Fatalf("place %d of %d holds %g, want %g", i, n, v, want)
			}
		}
	})
}

// Standard-normal quantiles to the digits of Abramowitz & Stegun, table 26.5
// (from memory): 5 % −1.64485, 25 % −0.67449.
func TestEnsemble_NormalQuantiles(t *testing.T) {
	t.Parallel()
	for _, n := range []int{256, 512, 2048} {
		column := numeric.NewEnsemble(n, 1).Normal("x")
		slices.Sort(column)
		for p, want := range map[float64]float64{0.05: -1.64485, 0.25: -0.67449, 0.5: 0, 0.75: 0.67449, 0.95: 1.64485} {
			// Straight lines between neighbours: an error of second order in 1/n.
			if got := numeric.Quantile(column, p); math.Abs(got-want) > 300/float64(n*n) {
				t.Errorf("n %d: the %g quantile is %.6f, want %.5f", n, p, got, want)
			}
		}
	}
}

// Two names are as independent as chance makes them: over many pairs the
// correlation has mean 0 and standard deviation 1/√n.
func TestEnsemble_NamesAreIndependent(t *testing.T) {
	t.Parallel()
	const n, names = 512, 60
	e := numeric.NewEnsemble(n, 20251125)
	columns := make([][]float64, names)
	for i := range columns {
		columns[i] = e.Normal(fmt.Sprintf("batch:%d:loss", i))
	}
	var sum, squares, worst float64
	pairs := 0
	for i := range columns {
		for j := range i {
			r := correlation(columns[i], columns[j])
			sum += r
			squares += r * r
			worst = max(worst, math.Abs(r))
			pairs++
		}
	}
	one := 1 / math.Sqrt(n)
	if mean := sum / float64(pairs); math.Abs(mean) > 4*one/math.Sqrt(float64(pairs)) {
		t.Errorf("the mean correlation of %d pairs is %.5f", pairs, mean)
	}
	if sd := math.Sqrt(squares / float64(pairs)); math.Abs(sd/one-1) > 0.1 {
		t.Errorf("the correlations scatter by %.4f, want %.4f", sd, one)
	}
	if worst > 4.5*one {
		t.Errorf("two names correlate by %.3f", worst)
	}
}

// The range of a chain whose answer is known: a sum of independent normal errors
// is normal with the root of the summed squares. The miss of the printed points,
// root mean square over two hundred seeds as a share of the half-width, is held
// to a limit and to what a plain random sample of the same size misses by.
func TestEnsemble_RangeOfAKnownChain(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name  string
		sds   []float64
		limit float64
	}{
		{"one rules", []float64{1, 0.2, 0.2}, 0.025},
		{"three equal", []float64{1, 1, 1}, 0.036},
		{"ten mixed", []float64{1, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.3, 0.2, 0.1}, 0.042},
	}
	for _, c := range cases {
		var even, plain []float64
		for seed := range uint64(200) {
			e := numeric.NewEnsemble(numeric.Draws, seed)
			random := rand.New(rand.NewPCG(seed, 99))
			even = append(even, rangeMiss(t, c.sds, e.Normal)...)
			plain = append(plain, rangeMiss(t, c.sds, func(string) []float64 {
				column := make([]float64, e.Len())
				for i := range column {
					column[i] = random.NormFloat64()
				}
				return column
			})...)
		}
		rms, rival := rootMeanSquare(even), rootMeanSquare(plain)
		t.Logf("%s: %.4f of the half-width, plain sampling %.4f", c.name, rms, rival)
		if rms > c.limit || rms > rival {
			t.Errorf("%s: the range's ends miss by %.4f of the half-width, limit %.4f, plain sampling %.4f",
				c.name, rms, c.limit, rival)
		}
	}
}

// rangeMiss returns how far the two ends of a sum's range are from the truth, as
// shares of the half-width.
func rangeMiss(t *testing.T, sds []float64, column func(name string) []float64) []float64 {
	t.Helper()
	total := 0.0
	out := make([]float64, numeric.Draws)
	for k, s := range sds {
		total = math.Hypot(total, s)
		for i, z := range column(fmt.Sprintf("batch:1:part-%d", k)) {
			out[i] += s * z
		}
	}
	got, err := numeric.Summarise(out)
	if err != nil {
		t.Fatal(err)
	}
	want := 1.6448536269514722 * total
	return []float64{(got.High - want) / want, (got.Low + want) / want}
}

func TestSummarise(t *testing.T) {
	t.Parallel()
	in := []float64{5, 1, 4, 2, 3}
	got, err := numeric.Summarise(in)
	if err != nil || got != (numeric.Summary{Value: 3, Low: 1, High: 5}) {
		t.Errorf("got %v, %v", got, err)
	}
	if !slices.Equal(in, []float64{5, 1, 4, 2, 3}) {
		t.Error("the values were reordered")
	}
	for name, bad := range map[string][]float64{"none": {}, "nan": {1, math.NaN()}, "infinite": {math.Inf(1)}} {
		if _, err := numeric.Summarise(bad); err == nil {
			t.Errorf("%s was summarised", name)
		}
	}
}

// Worked by hand from the definition, value k at (k − ½)/n.
func TestQuantile(t *testing.T) {
	t.Parallel()
	sorted := []float64{10, 20, 30, 40}
	for p, want := range map[float64]float64{0: 10, 0.125: 10, 0.25: 15, 0.5: 25, 0.625: 30, 0.875: 40, 1: 40} {
		if got := numeric.Quantile(sorted, p); math.Abs(got-want) > 1e-12 {
			t.Errorf("the %g quantile is %g, want %g", p, got, want)
		}
	}
	for _, bad := range []func(){
		func() { numeric.Quantile(nil, 0.5) },
		func() { numeric.Quantile(sorted, 1.01) },
		func() { numeric.Quantile(sorted, math.NaN()) },
		func() { numeric.NewEnsemble(1, 0) },
	} {
		if !panics(bad) {
			t.Error("a call that cannot be meant went through")
		}
	}
}

// Quantiles rise with p, lie within the values, and follow any rising line.
func TestQuantile_Laws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 60).Draw(t, "values")
		slices.Sort(values)
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		q := rapid.Float64Range(p, 1).Draw(t, "q")
		low, high := numeric.Quantile(values, p), numeric.Quantile(values, q)
		const tol = 1e-6
		if low > high+tol || low < values[0]-tol || high > values[len(values)-1]+tol {
			t.Fatalf("quantiles %g and %g of %v", low, high, values)
		}
		scale := rapid.Float64Range(0, 10).Draw(t, "scale")
		scaled := make([]float64, len(values))
		for i, v := range values {
			scaled[i] = scale*v + 1
		}
		if got, want := numeric.Quantile(scaled, p), scale*low+1; math.Abs(got-want) > 1e-3 {
			t.Fatalf("scaled quantile %g, want %g", got, want)
		}
	})
}

func ExampleEnsemble() {
	e := numeric.NewEnsemble(numeric.Draws, 1)
	glass := e.Normal("glass:long")  // shared by every batch read on this glass
	loss := e.Normal("batch:3:loss") // this batch's own
	pieces := make([]float64, e.Len())
	for i := range pieces {
		pieces[i] = 4000 * (1 + 0.01*glass[i]) * (1 + 0.02*loss[i])
	}
	s, _ := numeric.Summarise(pieces)
	fmt.Printf("%.0f pieces, %.0f to %.0f\n", math.Round(s.Value/50)*50, math.Round(s.Low/50)*50, math.Round(s.High/50)*50)
	// Output: 4000 pieces, 3850 to 4150
}

func BenchmarkEnsemble_Normal(b *testing.B) {
	e := numeric.NewEnsemble(numeric.Draws, 1)
	for b.Loop() {
		e.Normal("batch:3:loss")
	}
}

func correlation(a, b []float64) float64 {
	var ab, aa, bb float64
	for i := range a {
		ab, aa, bb = ab+a[i]*b[i], aa+a[i]*a[i], bb+b[i]*b[i]
	}
	return ab / math.Sqrt(aa*bb)
}

func rootMeanSquare(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(values)))
}

func panics(f func()) (did bool) {
	defer func() { did = recover() != nil }()
	f()
	return false
}
