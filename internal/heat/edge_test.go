package heat_test

import (
	"math"
	"testing"

	"slabside/internal/heat"
)

// Case C1 of the reference cases: candy (k 0.30, ρ 1480, c 1950) with convection at its
// side, (T − T_i)/(T_∞ − T_i) by the series in double precision (source key model-heat; the
// formula is of source key carslaw-jaeger1959, section 2.7). Where h√(αt)/k is 5.9 those rows
// are 4·10⁻⁷ off: a continued fraction of erfc gives 0.9054812844.
func TestEdge_C1(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ film, at, seconds, want float64 }{
		{100, 0, 30, 0.4270795546}, {100, 0, 120, 0.6164081154}, {100, 0.005, 30, 0.0109177564}, {100, 0.005, 120, 0.1542807927},
		{500, 0, 30, 0.8178592111}, {500, 0, 120, 0.9054816717}, {500, 0.005, 120, 0.2655443724}, {500, 0.01, 120, 0.0349578638},
		{1000, 0, 30, 0.9054816717}, {1000, 0, 120, 0.9522481292}, {1000, 0.005, 30, 0.0349578638}, {1000, 0.01, 120, 0.0395269145},
	} {
		e := heat.Edge{Diffusivity: 0.30 / 1480 / 1950, K: 0.30, Film: c.film}
		if got := 1 - e.Left(c.at, c.seconds); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("h %g, %g m in, %g s: %.10f, want %.10f", c.film, c.at, c.seconds, got, c.want)
		}
	}
}

// What is lost within a distance is the integral of what is gone, also where the side is
// held cold, and it is all that passed the side: ∫ h S(0) dt = ρ c ∫ (1 − S) dy.
func TestEdge_Lost(t *testing.T) {
	t.Parallel()
	for _, film := range []float64{5, 100, 3000, 1e5} {
		e := heat.Edge{Diffusivity: 1.04e-7, K: 0.30, Film: film}
		for _, seconds := range []float64{10, 120, 900} {
			const n = 4000
			sum, passed := 0.0, 0.0
			for i := range n {
				sum += (1 - e.Left(0.010*(float64(i)+0.5)/n, seconds)) * 0.010 / n
				root := (float64(i) + 0.5) / n // of the time: the flux begins steeply
				at := seconds * root * root
				passed += film * e.Left(0, at) * 2 * seconds * root / n
			}
			if got := e.Lost(0.010, seconds); math.Abs(got-sum) > 1e-6*0.010 {
				t.Errorf("h %g, %g s: %.9f m, by sum %.9f", film, seconds, got, sum)
			}
			if got := e.Lost(math.Inf(1), seconds) * e.K / e.Diffusivity; math.Abs(got/passed-1) > 1e-3 {
				t.Errorf("h %g, %g s: %.1f J/(m² K) are gone, %.1f passed", film, seconds, got, passed)
			}
		}
	}
	if e := (heat.Edge{Diffusivity: 1e-7, K: 0.3}); e.Left(0, 60) != 1 || e.Lost(0.01, 60) != 0 {
		t.Error("a shut side loses")
	}
}
