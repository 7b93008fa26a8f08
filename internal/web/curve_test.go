package web

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	q "slabside/internal/quantity"
)

// Ticks are round, evenly spaced, few, and hold every value.
func TestNiceTicks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-500, 500).Draw(t, "low")
		high := low + rapid.Float64Range(1e-3, 1000).Draw(t, "span")
		about := rapid.IntRange(3, 9).Draw(t, "about")
		ticks := niceTicks([]float64{high, low, (low + high) / 2}, about)
		step := ticks[1] - ticks[0]
		if ticks[0] > low+1e-9*step || ticks[len(ticks)-1] < high-1e-6*step {
			t.Fatalf("%v does not hold %g to %g", ticks, low, high)
		}
		if len(ticks) < 2 || len(ticks) > about+2 {
			t.Errorf("%d ticks, about %d were asked: %v", len(ticks), about, ticks)
		}
		lead := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
		if near := func(x float64) bool { return math.Abs(lead-x) < 1e-6 }; !near(1) && !near(2) && !near(5) && !near(10) {
			t.Errorf("a step of %g", step)
		}
	})
	for _, same := range [][]float64{nil, {3, 3}} {
		if ticks := niceTicks(same, 5); len(ticks) < 2 || ticks[0] >= ticks[len(ticks)-1] {
			t.Errorf("%v: ticks %v", same, ticks)
		}
	}
}

// A point lies on the drawing where its numbers say.
func TestDrawCurve(t *testing.T) {
	t.Parallel()
	c := drawCurve("t", "min", "°C", q.Plain, []curvePoint{{0, 20, ""}, {10, 120, ""}}, []curvePoint{{5, 70, "half"}, {10, 120, "a label too long to stand right"}})
	if c.Path != "M58 256L624 14" {
		t.Errorf("path %q", c.Path)
	}
	if d := c.Dots[0]; d.X != 341 || d.Y != 135 || d.Left {
		t.Errorf("the dot in the middle is %+v", d)
	}
	if !c.Dots[1].Left {
		t.Error("the label of the last dot runs out of the drawing")
	}
}
