//go:build oracle

package heat

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// The time that the same slab on the same cells takes SciPy's solve_ivp and this package,
// measured in one run: BDF told which cells are neighbours, and LSODA, its fastest, with a
// banded Jacobian, each at the tolerance of a step that is the usual bound here. It says
// the ratios and asserts none; the answers have to be those of LSODA at 10⁻⁸.
func TestRatioToScipy(t *testing.T) {
	curve := twoLevelCurve(t)
	run := func(t testing.TB, bound float64) *Stack {
		return stack(t, bound, Face{AmbientC: 18, Film: 800}, Face{AmbientC: 24, Film: 15},
			Layer{Matter: steel(), Thickness: 0.010, Cells: 8, TempC: 18},
			Layer{Matter: Matter{Heat: curve, Density: 1480, K: 0.30}, Thickness: 0.020, Cells: 40, TempC: 140, Contact: 500}).to(t, 900)
	}
	// best is the shortest of many runs, as is asked of the other.
	best := func(bound float64) (ms float64) {
		ms = math.Inf(1)
		for range 500 {
			began := time.Now()
			run(t, bound)
			ms = min(ms, float64(time.Since(began))/float64(time.Millisecond))
		}
		return ms
	}
	usual, mine := run(t, 0), best(0)
	t.Logf("here at %g K: %.4f ms, %d steps, mean %.4f °C, middle %.4f °C", UsualBound, mine, usual.Steps(), usual.Mean(1), core(usual))
	close, closeMs := run(t, 0.001), best(0.001)
	t.Logf("here at 0.001 K: %.4f ms, %d steps, mean %.4f °C, middle %.4f °C", closeMs, close.Steps(), close.Mean(1), core(close))
	python := "python3"
	if p := os.Getenv("PYTHON"); p != "" {
		python = p
	}
	out, err := exec.Command(python, "testdata/slab.py").Output()
	if err != nil {
		t.Fatal(err)
	}
	fine := run(t, 1e-6)
	for lines := bufio.NewScanner(strings.NewReader(string(out))); lines.Scan(); {
		var method string
		var atol, ms, mean, middle float64
		if _, err := fmt.Sscan(lines.Text(), &method, &atol, &ms, &mean, &middle); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s at %g K: %.2f ms, mean %.4f °C, middle %.4f °C; here %.0f and %.0f times as fast", method, atol, ms, mean, middle, ms/mine, ms/closeMs)
		if atol > 1e-3 {
			continue
		}
		t.Logf("off that by %.2g and %.2g K here, at a bound of 10⁻⁶ K by %.2g and %.2g K", usual.Mean(1)-mean, core(usual)-middle, fine.Mean(1)-mean, core(fine)-middle)
		if math.Abs(usual.Mean(1)-mean) > 0.05 || math.Abs(core(usual)-middle) > 0.05 || math.Abs(fine.Mean(1)-mean) > 0.002 || math.Abs(core(fine)-middle) > 0.002 {
			t.Errorf("mean %.4f °C, middle %.4f °C; by solve_ivp %.4f and %.4f", usual.Mean(1), core(usual), mean, middle)
		}
	}
}
