package bag_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/bag"
	"slabside/internal/fault"
	"slabside/internal/validation"
)

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func counts(t *testing.T, s string) []int {
	t.Helper()
	var v []int
	for _, f := range strings.Fields(s) {
		v = append(v, int(number(t, f)))
	}
	return v
}

func floats(t *testing.T, s string) []float64 {
	t.Helper()
	var v []float64
	for _, f := range strings.Fields(s) {
		v = append(v, number(t, f))
	}
	return v
}

// Source r422: rows of the committed table of R 4.2.2 and rows made by
// testdata/reference.R in three ways that do not use the program's sum.
func TestAtLeast_reference(t *testing.T) {
	t.Parallel()
	for _, row := range validation.Records(t, "atleast.csv") {
		kind, pool, n, least := row.Text("kind"), row.Text("pool"), row.Whole("bag"), row.Text("least")
		want, way := row.Number("p"), row.Text("way")
		var got float64
		var err error
		switch kind {
		case "finite":
			got, err = bag.AtLeast(counts(t, pool), n, counts(t, least))
		case "endless":
			got, err = bag.AtLeastEndless(floats(t, pool), n, counts(t, least))
		default:
			t.Fatalf("unknown kind %q", kind)
		}
		if err != nil {
			t.Errorf("%s pool %s, bag %d, least %s: %v", kind, pool, n, least, err)
			continue
		}
		// 15 digits are printed; R's own densities are good to about 10⁻¹³ for
		// pools of a million, and inclusion and exclusion cancels to 10⁻¹².
		tol := 5e-12
		if way == "printed" {
			tol = 1e-13
		}
		if !(math.Abs(got-want) <= tol*want) {
			t.Errorf("%s pool %s, bag %d, least %s: %.15g, want %.15g (%s, %s)", kind, pool, n, least, got, want, way, row.Text("src"))
		}
	}
}

// The chance that at least one of k equal colours is missing, to the four
// decimals printed (inclusion and exclusion; source key arithmetic).
func TestAtLeastEndless_missingColour(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		colours, pieces int
		missing         float64
	}{{4, 20, 0.0127}, {4, 40, 0.0000}, {6, 40, 0.0041}, {8, 40, 0.0380}, {8, 60, 0.0027}} {
		shares, least := make([]float64, c.colours), make([]int, c.colours)
		for i := range shares {
			shares[i], least[i] = 1, 1
		}
		p, err := bag.AtLeastEndless(shares, c.pieces, least)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(1-p-c.missing) > 0.00005 {
			t.Errorf("%d colours, bag of %d: missing with chance %.6f, want %.4f", c.colours, c.pieces, 1-p, c.missing)
		}
	}
}

func TestHolds_reference(t *testing.T) {
	t.Parallel()
	for _, row := range validation.Records(t, "holds.csv") {
		kind, colour, rest, n := row.Text("kind"), row.Whole("colour"), row.Whole("rest"), row.Whole("bag")
		var held []bag.Held
		var err error
		if kind == "finite" {
			held, err = bag.Holds([]int{colour, rest}, n)
		} else {
			held, err = bag.HoldsEndless([]float64{float64(colour), float64(rest)}, n)
		}
		if err != nil {
			t.Errorf("%s, %d and %d, bag of %d: %v", kind, colour, rest, n, err)
			continue
		}
		want := bag.Held{P05: row.Whole("p05"), P95: row.Whole("p95")}
		mean := row.Number("mean")
		if got := held[0]; got.P05 != want.P05 || got.P95 != want.P95 || math.Abs(got.Mean-mean) > 1e-12*(1+mean) {
			t.Errorf("%s, %d and %d, bag of %d: %+v, want %+v with a mean of %g (%s)", kind, colour, rest, n, got, want, mean, row.Text("src"))
		}
	}
}

// Every bag of a small pool, told apart piece by piece: nothing is left to a formula.
func TestAtLeast_everyBag(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pool := rapid.SliceOfN(rapid.IntRange(0, 5), 1, 4).Draw(t, "pool")
		var pieces []int
		for i, k := range pool {
			for range k {
				pieces = append(pieces, i)
			}
		}
		if len(pieces) == 0 {
			return
		}
		if len(pieces) > 14 {
			pieces = pieces[:14]
			clear(pool)
			for _, c := range pieces {
				pool[c]++
			}
		}
		n := rapid.IntRange(1, len(pieces)).Draw(t, "bag")
		least := make([]int, len(pool))
		for i := range least {
			least[i] = rapid.IntRange(0, 3).Draw(t, "least")
		}
		good, all := 0, 0
		for mask := range 1 << len(pieces) {
			held := make([]int, len(pool))
			size := 0
			for i, c := range pieces {
				if mask>>i&1 == 1 {
					held[c]++
					size++
				}
			}
			if size != n {
				continue
			}
			all++
			ok := true
			for i := range held {
				ok = ok && held[i] >= least[i]
			}
			if ok {
				good++
			}
		}
		got, err := bag.AtLeast(pool, n, least)
		if want := float64(good) / float64(all); err != nil || math.Abs(got-want) > 1e-13 {
			t.Fatalf("pool %v, bag %d, least %v: %v, %v, want %v", pool, n, least, got, err, want)
		}
	})
}

// Laws: asking more never raises the chance, the order of the colours is
// nothing, a colour nobody asks for may be merged with another, and a pool that
// grows comes near the endless one.
func TestAtLeast_laws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(2, 6).Draw(t, "colours")
		pool, least := make([]int, k), make([]int, k)
		total := 0
		for i := range pool {
			pool[i] = rapid.IntRange(1, 3000).Draw(t, "pieces")
			least[i] = rapid.IntRange(0, 12).Draw(t, "least")
			total += pool[i]
		}
		n := rapid.IntRange(1, min(total, 120)).Draw(t, "bag")
		p, err := bag.AtLeast(pool, n, least)
		if err != nil || !(p >= 0 && p <= 1) {
			t.Fatalf("%v, %v", p, err)
		}
		more := append([]int(nil), least...)
		more[rapid.IntRange(0, k-1).Draw(t, "which")]++
		if p2, _ := bag.AtLeast(pool, n, more); p2 > p*(1+1e-12) {
			t.Fatalf("asking %v instead of %v raised the chance from %v to %v", more, least, p, p2)
		}
		turned, turnedLeast := append(pool[1:len(pool):len(pool)], pool[0]), append(least[1:len(least):len(least)], least[0])
		if p2, _ := bag.AtLeast(turned, n, turnedLeast); math.Abs(p2-p) > 1e-12*p {
			t.Fatalf("turned round: %v, not %v", p2, p)
		}
		free := append([]int(nil), least...)
		free[0], free[1] = 0, 0
		merged := append([]int{pool[0] + pool[1]}, pool[2:]...)
		pFree, _ := bag.AtLeast(pool, n, free)
		pMerged, _ := bag.AtLeast(merged, n, append([]int{0}, free[2:]...))
		if math.Abs(pFree-pMerged) > 1e-12 {
			t.Fatalf("merging two free colours: %v, not %v", pMerged, pFree)
		}
		big, shares := make([]int, k), make([]float64, k)
		for i := range pool {
			big[i], shares[i] = pool[i]*50_000, float64(pool[i])
		}
		pBig, err := bag.AtLeast(big, n, least)
		pEndless, err2 := bag.AtLeastEndless(shares, n, least)
		// The two laws differ by at most n²/(2 × pool) in any event.
		if err != nil || err2 != nil || math.Abs(pBig-pEndless) > float64(n*n)/(2*50_000*float64(total)) {
			t.Fatalf("a vast pool gives %v, an endless one %v (%v, %v)", pBig, pEndless, err, err2)
		}
	})
}

func TestAtLeast_edges(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		pool  []int
		bag   int
		least []int
		want  float64
	}{
		{[]int{5, 5}, 10, []int{5, 5}, 1},  // the whole pool
		{[]int{5, 5}, 10, []int{6, 0}, 0},  // more than there are
		{[]int{5, 5}, 4, []int{3, 2}, 0},   // more than the bag takes
		{[]int{5, 0}, 4, []int{4, 0}, 1},   // one colour only
		{[]int{5, 5}, 4, []int{0, 0}, 1},   // nothing asked
		{[]int{7}, 3, []int{3}, 1},         // one colour
		{[]int{1, 1}, 1, []int{1, 0}, 0.5}, // a coin
	} {
		if p, err := bag.AtLeast(c.pool, c.bag, c.least); err != nil || math.Abs(p-c.want) > 1e-15 {
			t.Errorf("%+v: %v, %v", c, p, err)
		}
	}
	if p, err := bag.AtLeastEndless([]float64{1, 0}, 4, []int{0, 1}); err != nil || p != 0 {
		t.Errorf("a colour that never comes: %v, %v", p, err)
	}
}

func TestAtLeast_faults(t *testing.T) {
	t.Parallel()
	for name, f := range map[string]func() (float64, error){
		"no colours":      func() (float64, error) { return bag.AtLeast(nil, 3, nil) },
		"negative pieces": func() (float64, error) { return bag.AtLeast([]int{-1, 5}, 3, []int{0, 0}) },
		"negative least":  func() (float64, error) { return bag.AtLeast([]int{5, 5}, 3, []int{0, -1}) },
		"short least":     func() (float64, error) { return bag.AtLeast([]int{5, 5}, 3, []int{0}) },
		"empty bag":       func() (float64, error) { return bag.AtLeast([]int{5, 5}, 0, []int{0, 0}) },
		"bag above pool":  func() (float64, error) { return bag.AtLeast([]int{5, 5}, 11, []int{0, 0}) },
		"huge bag": func() (float64, error) {
			return bag.AtLeast([]int{50_000}, bag.MostPieces+1, []int{0})
		},
		"huge pool": func() (float64, error) {
			return bag.AtLeast([]int{math.MaxInt, math.MaxInt}, 5, []int{0, 0})
		},
		"no shares":      func() (float64, error) { return bag.AtLeastEndless([]float64{0, 0}, 5, []int{0, 0}) },
		"negative share": func() (float64, error) { return bag.AtLeastEndless([]float64{1, -1}, 5, []int{0, 0}) },
		"share not a number": func() (float64, error) {
			return bag.AtLeastEndless([]float64{1, math.NaN()}, 5, []int{0, 0})
		},
	} {
		if _, err := f(); err == nil || fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestPoolOf(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		shares []float64
		pieces int
		want   []int
	}{
		{[]float64{1, 1, 1}, 5000, []int{1667, 1667, 1666}},
		{[]float64{2, 2, 1}, 1000, []int{400, 400, 200}},
		{[]float64{0.1, 0.2, 0.7}, 10, []int{1, 2, 7}},
		{[]float64{1, 0}, 7, []int{7, 0}},
	} {
		if got, err := bag.PoolOf(c.shares, c.pieces); err != nil || fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%v of %d: %v, %v, want %v", c.shares, c.pieces, got, err, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		shares := rapid.SliceOfN(rapid.Float64Range(0.001, 1000), 1, 12).Draw(t, "shares")
		pieces := rapid.IntRange(1, bag.MostPool).Draw(t, "pieces")
		pool, err := bag.PoolOf(shares, pieces)
		if err != nil {
			t.Fatal(err)
		}
		var sum int
		var all float64
		for i := range pool {
			sum += pool[i]
			all += shares[i]
		}
		for i := range pool {
			if math.Abs(float64(pool[i])-shares[i]/all*float64(pieces)) > 1.0001 {
				t.Fatalf("colour %d: %d pieces", i, pool[i])
			}
		}
		if sum != pieces {
			t.Fatalf("%d pieces shared out of %d", sum, pieces)
		}
	})
}

// Workload: 12 equal colours of 5,000 pieces, bag of 250, at least 12 of each; no state is kept between calls.
func BenchmarkAtLeast_12colours250pieces(b *testing.B) {
	pool, least := make([]int, 12), make([]int, 12)
	for i := range pool {
		pool[i], least[i] = 5000, 12
	}
	for b.Loop() {
		if _, err := bag.AtLeast(pool, 250, least); err != nil {
			b.Fatal(err)
		}
	}
}

// Workload: as above with a jar of 1,100 pieces from a pool of 1,200,000, at least 80 of each.
func BenchmarkAtLeast_12colours1100pieces(b *testing.B) {
	pool, least := make([]int, 12), make([]int, 12)
	for i := range pool {
		pool[i], least[i] = 100_000, 80
	}
	for b.Loop() {
		if _, err := bag.AtLeast(pool, 1100, least); err != nil {
			b.Fatal(err)
		}
	}
}
