//go:build oracle

package boil

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"slabside/internal/rig"
)

// The time that the same boil takes SciPy's solve_ivp and this package, measured in one
// run, at the tolerances of solve_ivp's default and of a millionth; at the closer one both
// must come to the same time of flame. It says the ratio and asserts none.
func TestRatioToScipy(t *testing.T) {
	dry := 10 * (1 - 0.0325)
	pot := Makeup{Sucrose: 0.6 * dry * 0.9998, Syrup: 0.4 * dry, SyrupDE: 0.4 * dry * 42, Water: 0.6*dry/3 + 0.6*dry*0.0002 + 0.4*dry*(1/0.803-1)}
	k := rig.Kettle{ID: "copper", Volume: 25, Burner: 15e3, Efficiency: 0.45, Mass: 9, Material: rig.Copper}
	end := 0.0325 / (1 - 0.0325) * pot.Phase()
	var lit float64
	own := testing.Benchmark(func(b *testing.B) {
		for b.Loop() {
			f, err := fire(pot, end, k, 101325, 20)
			if err == nil {
				lit, _, err = f.lit(15e3*0.45, 115)
			}
			if err != nil {
				b.Fatal(err)
			}
		}
	})
	python := "python3"
	if p := os.Getenv("PYTHON"); p != "" {
		python = p
	}
	out, err := exec.Command(python, "testdata/course.py", "--time").Output()
	if err != nil {
		t.Fatal(err)
	}
	for lines := bufio.NewScanner(strings.NewReader(string(out))); lines.Scan(); {
		var rtol, ms, theirs float64
		if _, err := fmt.Sscan(lines.Text(), &rtol, &ms, &theirs); err != nil {
			t.Fatal(err)
		}
		mine := float64(own.NsPerOp()) / float64(time.Millisecond)
		t.Logf("solve_ivp at %g: %.2f ms, %.2f s of flame; here %.4f ms, %.2f s: %.0f times as fast", rtol, ms, theirs, mine, lit, ms/mine)
		if rtol < 1e-5 && math.Abs(lit/theirs-1) > 0.001 {
			t.Errorf("%.2f s of flame here, %.2f s by solve_ivp", lit, theirs)
		}
	}
}
