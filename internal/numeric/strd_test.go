package numeric_test

import (
	"bufio"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"slabside/internal/numeric"
	"slabside/internal/source"
	"slabside/internal/validation"
)

var update = flag.Bool("update", false, "rewrite testdata/validation.csv")

// A strd is one of NIST's reference data sets for nonlinear regression.
type strd struct {
	name         string
	starts       [2][]float64
	b, sd        []float64 // certified, of the unknowns
	squares, rsd float64   // certified: residual sum of squares and standard deviation
	n            int
	x, y         []float64
}

// readStrd reads a set as NIST publishes it.
func readStrd(t testing.TB, name string) strd {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", "nist-strd", name+".dat"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	s, data := strd{name: name}, false
	numbers := func(text string) []float64 {
		var out []float64
		for _, f := range strings.Fields(text) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			out = append(out, v)
		}
		return out
	}
	for lines := bufio.NewScanner(file); lines.Scan(); {
		line := strings.TrimSpace(lines.Text())
		_, after, _ := strings.Cut(line, ":")
		switch {
		case strings.HasPrefix(line, "b") && strings.Contains(line, " = ") && len(strings.Fields(line)) == 6:
			_, after, _ = strings.Cut(line, "=")
			v := numbers(after)
			s.starts[0], s.starts[1] = append(s.starts[0], v[0]), append(s.starts[1], v[1])
			s.b, s.sd = append(s.b, v[2]), append(s.sd, v[3])
		case strings.HasPrefix(line, "Residual Sum of Squares:"):
			s.squares = numbers(after)[0]
		case strings.HasPrefix(line, "Residual Standard Deviation:"):
			s.rsd = numbers(after)[0]
		case strings.HasPrefix(line, "Number of Observations:"):
			s.n = int(numbers(after)[0])
		case strings.HasPrefix(line, "Data:") && strings.HasSuffix(line, "x"):
			data = true
		case data && line != "":
			v := numbers(line)
			s.y, s.x = append(s.y, v[0]), append(s.x, v[1])
		}
	}
	if len(s.b) == 0 || len(s.y) != s.n || s.squares == 0 || s.rsd == 0 {
		t.Fatalf("%s was read as %+v", name, s)
	}
	return s
}

// strdModels are the twelve sets, each with its model and the model's slopes in b.
var strdModels = []struct {
	name  string
	at    func(b []float64, x float64) float64
	slope func(b []float64, x float64) []float64
}{
	{"Misra1a", func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
		func(b []float64, x float64) []float64 {
			e := math.Exp(-b[1] * x)
			return []float64{1 - e, b[0] * x * e}
		}},
	{"Misra1b", func(b []float64, x float64) float64 { return b[0] * (1 - math.Pow(1+b[1]*x/2, -2)) },
		func(b []float64, x float64) []float64 {
			u := 1 + b[1]*x/2
			return []float64{1 - 1/(u*u), b[0] * x / (u * u * u)}
		}},
	{"Misra1d", func(b []float64, x float64) float64 { return b[0] * b[1] * x / (1 + b[1]*x) },
		func(b []float64, x float64) []float64 {
			u := 1 + b[1]*x
			return []float64{b[1] * x / u, b[0] * x / (u * u)}
		}},
	{"Chwirut2", func(b []float64, x float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) },
		func(b []float64, x float64) []float64 {
			u := b[1] + b[2]*x
			y := math.Exp(-b[0]*x) / u
			return []float64{-x * y, -y / u, -x * y / u}
		}},
	{"DanWood", func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
		func(b []float64, x float64) []float64 {
			p := math.Pow(x, b[1])
			return []float64{p, b[0] * p * math.Log(x)}
		}},
	{"Kirby2", func(b []float64, x float64) float64 { return (b[0] + x*(b[1]+x*b[2])) / (1 + x*(b[3]+x*b[4])) },
		func(b []float64, x float64) []float64 {
			u := 1 + x*(b[3]+x*b[4])
			y := (b[0] + x*(b[1]+x*b[2])) / u
			return []float64{1 / u, x / u, x * x / u, -x * y / u, -x * x * y / u}
		}},
	{"Hahn1", func(b []float64, x float64) float64 {
		return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
	}, func(b []float64, x float64) []float64 {
		u := 1 + x*(b[4]+x*(b[5]+x*b[6]))
		y := (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / u
		return []float64{1 / u, x / u, x * x / u, x * x * x / u, -x * y / u, -x * x * y / u, -x * x * x * y / u}
	}},
	{"MGH09", func(b []float64, x float64) float64 { return b[0] * x * (x + b[1]) / (x*(x+b[2]) + b[3]) },
		func(b []float64, x float64) []float64 {
			u := x*(x+b[2]) + b[3]
			y := b[0] * x * (x + b[1]) / u
			return []float64{x * (x + b[1]) / u, b[0] * x / u, -x * y / u, -y / u}
		}},
	{"MGH10", func(b []float64, x float64) float64 { return b[0] * math.Exp(b[1]/(x+b[2])) },
		func(b []float64, x float64) []float64 {
			u := x + b[2]
			e := math.Exp(b[1] / u)
			return []float64{e, b[0] * e / u, -b[0] * e * b[1] / (u * u)}
		}},
	{"BoxBOD", func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
		func(b []float64, x float64) []float64 {
			e := math.Exp(-b[1] * x)
			return []float64{1 - e, b[0] * x * e}
		}},
	{"Rat43", func(b []float64, x float64) float64 { return b[0] / math.Pow(1+math.Exp(b[1]-b[2]*x), 1/b[3]) },
		func(b []float64, x float64) []float64 {
			e := math.Exp(b[1] - b[2]*x)
			p := math.Pow(1+e, -1/b[3])
			y := b[0] * p
			return []float64{p, -y * e / (1 + e) / b[3], y * e / (1 + e) / b[3] * x, y * math.Log1p(e) / (b[3] * b[3])}
		}},
	{"Bennett5", func(b []float64, x float64) float64 { return b[0] * math.Pow(b[1]+x, -1/b[2]) },
		func(b []float64, x float64) []float64 {
			p := math.Pow(b[1]+x, -1/b[2])
			return []float64{p, -b[0] * p / (b[1] + x) / b[2], b[0] * p * math.Log(b[1]+x) / (b[2] * b[2])}
		}},
}

// problem is a set as a problem without prior, its residuals in the unit of y.
func (s strd) problem(at func([]float64, float64) float64, slope func([]float64, float64) []float64) numeric.LeastSquares {
	p := numeric.LeastSquares{N: len(s.y), Residuals: func(b, r []float64) error {
		for i, x := range s.x {
			r[i] = s.y[i] - at(b, x)
		}
		return nil
	}}
	if slope != nil {
		p.Jacobian = func(b []float64, j [][]float64) error {
			for i, x := range s.x {
				for k, v := range slope(b, x) {
					j[k][i] = -v
				}
			}
			return nil
		}
	}
	for k := range s.b {
		p.Unknowns = append(p.Unknowns, numeric.Unknown{Name: fmt.Sprintf("b%d", k+1), SD: math.Inf(1)})
	}
	return p
}

// digits is NIST's log relative error: how many digits of a value are right, no more
// than the eleven that are certified.
func digits(got, certified float64) float64 {
	if got == certified {
		return 11
	}
	if math.IsNaN(got) {
		return 0
	}
	return max(0, min(11, -math.Log10(math.Abs(got/certified-1))))
}

// fitted is the outcome of one set from one start.
type fitted struct {
	strd
	numeric.Fit
}

// fitStrd fits every set from the start, none left out.
func fitStrd(t *testing.T, start int, slopesGiven bool) []fitted {
	t.Helper()
	var out []fitted
	for _, m := range strdModels {
		s, slope := readStrd(t, m.name), m.slope
		if !slopesGiven {
			slope = nil
		}
		p := s.problem(m.at, slope)
		p.Budget = 10000 // Bennett5 needs 6100 calls from the first start: a long bent valley
		f, err := p.Fit(s.starts[start])
		if err != nil {
			t.Errorf("%s, start %d, slopes given %t: %v", m.name, start+1, slopesGiven, err)
			continue
		}
		out = append(out, fitted{s, f})
	}
	return out
}

// least returns the fewest digits over the unknowns of a set.
func least(got func(k int) float64, want []float64) float64 {
	d := math.Inf(1)
	for k := range want {
		d = min(d, digits(got(k), want[k]))
	}
	return d
}

func (f fitted) unknowns() float64 { return least(func(k int) float64 { return f.X[k] }, f.b) }

// sds are those of residuals whose scatter is not known beforehand, as NIST has them.
func (f fitted) sds() float64 {
	return least(func(k int) float64 { return f.SD(k) * f.Birge() }, f.sd)
}

// What is asked for of the eleven digits that are certified, and why not all.
const (
	askedUnknowns, whyUnknowns = 7, "of eleven certified digits, 7 are asked for: quotients are good to ten, and the flattest valleys lose three"
	askedSquares, whySquares   = 10, "of eleven certified digits, 10 are asked for"
)

// asked is a row that counts digits up to those asked for: what is had beyond them is
// the rounding's.
func asked(name string, digits, of float64) validation.Row {
	return validation.Row{Name: name, Got: min(digits, of), Want: of, Key: source.NISTStRD}
}

// NIST's sets of lower, average and higher difficulty, each from both of NIST's starts,
// with slopes from difference quotients and with slopes given. The log has all digits.
func TestValidation(t *testing.T) {
	t.Parallel()
	table := func(quantity, of, why string) validation.Table {
		return validation.Table{Model: "least squares", Quantity: quantity, Unit: "digits", Range: "twelve sets, " + of, Kind: validation.Outside, Why: why}
	}
	var tables []validation.Table
	squares := table("residual sum of squares", "all of these", whySquares)
	scatter := table("residual standard deviation", "all of these", whySquares)
	for _, slopes := range []string{"difference quotients", "slopes given"} {
		for start, called := range []string{"first start", "second start"} {
			of := called + ", " + slopes
			b, sd := table("unknowns", of, whyUnknowns), table("standard deviations of the unknowns", of, whyUnknowns)
			for _, f := range fitStrd(t, start, slopes == "slopes given") {
				b.Rows = append(b.Rows, asked(f.name, f.unknowns(), askedUnknowns))
				sd.Rows = append(sd.Rows, asked(f.name, f.sds(), askedUnknowns))
				squares.Rows = append(squares.Rows, asked(f.name+", "+of, digits(f.SumSquares, f.squares), askedSquares))
				scatter.Rows = append(scatter.Rows, asked(f.name+", "+of, digits(f.Birge(), f.rsd), askedSquares))
				t.Logf("%-8s %s: unknowns %4.1f, sd %4.1f, squares %4.1f, their sd %4.1f digits; %d steps, %d calls", f.name, of,
					f.unknowns(), f.sds(), digits(f.SumSquares, f.squares), digits(f.Birge(), f.rsd), f.Iterations, f.Calls)
			}
			tables = append(tables, b, sd)
		}
	}
	tables = append(tables, squares, scatter, rivalOf(t, tables[4]))
	validation.Check(t, *update, tables...)
}

// rivalOf puts full Gauss-Newton steps by normal equations to the sets from the first
// start, with slopes given.
func rivalOf(t *testing.T, table validation.Table) validation.Table {
	t.Helper()
	got := map[string]float64{}
	for _, m := range strdModels {
		s := readStrd(t, m.name)
		b := gaussNewton(s.problem(m.at, m.slope), s.starts[0])
		got[m.name] = fitted{s, numeric.Fit{X: b}}.unknowns()
		t.Logf("%-8s by full steps: %4.1f digits", m.name, got[m.name])
	}
	return table.Against("full steps by normal equations", "no region of trust: has to fail", func(r validation.Row) float64 {
		return min(got[r.Name], askedUnknowns)
	})
}

func gaussNewton(p numeric.LeastSquares, start []float64) []float64 {
	n, x, r := len(start), append([]float64(nil), start...), make([]float64, p.N)
	j := make([][]float64, n)
	for k := range j {
		j[k] = make([]float64, p.N)
	}
	for range 1000 {
		if p.Residuals(x, r) != nil || p.Jacobian(x, j) != nil {
			break
		}
		a, g := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
		for k := range j {
			for l := range j {
				a.Set(k, l, mat.Dot(mat.NewVecDense(p.N, j[k]), mat.NewVecDense(p.N, j[l])))
			}
			g.SetVec(k, -mat.Dot(mat.NewVecDense(p.N, j[k]), mat.NewVecDense(p.N, r)))
		}
		var step mat.VecDense
		if step.SolveVec(a, g) != nil && step.Len() == 0 {
			break
		}
		for k := range x {
			x[k] += step.AtVec(k)
		}
	}
	return x
}

// The covariance of Misra1a by another program: R 4.2.2, vcov of nls, which stops at six
// digits; the correlation is better.
func TestCovariance(t *testing.T) {
	t.Parallel()
	s := readStrd(t, "Misra1a")
	f, err := s.problem(strdModels[0].at, nil).Fit(s.starts[1])
	if err != nil {
		t.Fatal(err)
	}
	square := f.Birge() * f.Birge()
	for _, c := range []struct{ got, want, tol float64 }{
		{f.Cov(0, 0) * square, 7.32789224, 1e-5}, {f.Cov(0, 1) * square, -1.96474015e-05, 2e-11}, {f.Cov(1, 0), f.Cov(0, 1), 0},
		{f.Cov(1, 1) * square, 5.28074020e-11, 5e-17}, {f.Correlation(0, 1), -0.998776192, 1e-9}, {f.Correlation(1, 1), 1, 0},
		{f.DF, 12, 1e-9},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%.10g, want %.10g", c.got, c.want)
		}
	}
}
