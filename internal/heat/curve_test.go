package heat

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
)

// The table comes back to what it was asked, rises, and stands beside its function by no
// more than is said of it.
func TestCurve(t *testing.T) {
	t.Parallel()
	smooth, sharp := 0.0, 0.0
	c := twoLevelCurve(t)
	kink, err := NewCurve(0, 180, jump(50.1, 1400, 1850))
	if err != nil {
		t.Fatal(err)
	}
	before := math.Inf(-1)
	for temp := 0.0; temp <= 180; temp += 0.017 {
		if back := c.Temp(c.Enthalpy(temp)); math.Abs(back-temp) > 1e-10 {
			t.Errorf("%g °C comes back as %g", temp, back)
		}
		if h := c.Enthalpy(temp); h <= before {
			t.Errorf("at %g °C it falls", temp)
		} else {
			before = h
		}
		smooth = max(smooth, math.Abs(c.Temp(twoLevel(temp))-temp))
		sharp = max(sharp, math.Abs(kink.Temp(jump(50.1, 1400, 1850)(temp))-temp))
		if cp, want := c.Capacity(temp), (twoLevel(temp+0.2)-twoLevel(temp-0.2))/0.4; temp > 1 && temp < 179 && math.Abs(cp/want-1) > 0.01 {
			t.Errorf("at %g °C the capacity is %g, that of the function %g", temp, cp, want)
		}
	}
	t.Logf("beside a smooth function by %.2g K at most, beside one with a kink by %.2g K", smooth, sharp)
	if smooth > 0.005 || sharp > 0.06 {
		t.Errorf("beside its function by %g K, with a kink by %g K", smooth, sharp)
	}
	constant := ConstantHeat(1950)
	for _, temp := range []float64{-300, -1, 0, 0.5, 1, 140, 1e5} {
		if h := constant.Enthalpy(temp); math.Abs(h-1950*temp) > 1e-9*math.Abs(h) || math.Abs(constant.Temp(h)-temp) > 1e-9*math.Abs(temp) {
			t.Errorf("%g °C is %g J/kg and comes back as %g", temp, h, constant.Temp(h))
		}
	}
	if got := plain().Effusivity(80); math.Abs(got-930.484) > 0.001 { // √(0.30 · 1480 · 1950)
		t.Errorf("the effusivity is %g", got)
	}
}

// Any rising enthalpy makes a curve that comes back, far beyond its ends too; any other
// is refused.
func TestCurve_AnyFunction(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		a, b, at := rapid.Float64Range(1, 1e5).Draw(t, "a"), rapid.Float64Range(1, 1e5).Draw(t, "b"), rapid.Float64Range(-50, 250).Draw(t, "at")
		c, err := NewCurve(-50, 250, jump(at, a, b))
		if err != nil {
			t.Fatal(err)
		}
		temp := rapid.Float64Range(-1e6, 1e6).Draw(t, "temp")
		if back := c.Temp(c.Enthalpy(temp)); math.Abs(back-temp) > 1e-8*max(1, math.Abs(temp)) {
			t.Errorf("%g °C comes back as %g", temp, back)
		}
	})
	for name, f := range map[string]func(float64) float64{
		"falls":      func(c float64) float64 { return -c },
		"flat":       func(float64) float64 { return 1 },
		"falls late": func(c float64) float64 { return c - max(c-99, 0)*2 },
		"nan":        func(float64) float64 { return math.NaN() },
		"nan late":   func(c float64) float64 { return math.Sqrt(99 - c) },
		"infinite":   func(c float64) float64 { return 1 / (100 - c) },
	} {
		if _, err := NewCurve(0, 100, f); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, ends := range [][2]float64{{1, 1}, {2, 1}, {math.NaN(), 1}, {0, math.Inf(1)}} {
		if _, err := NewCurve(ends[0], ends[1], func(c float64) float64 { return c }); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%v: %v", ends, err)
		}
	}
}

// No enthalpy, however far or none, stops a curve from answering, and none that is a
// number gets an answer that is not.
func FuzzCurve(f *testing.F) {
	c, err := NewCurve(-20, 200, twoLevel)
	if err != nil {
		f.Fatal(err)
	}
	for _, h := range []float64{0, 1, -1e9, 1e9, 1e300, -1e300, math.Inf(1), math.Inf(-1), math.NaN()} {
		f.Add(h)
	}
	f.Fuzz(func(t *testing.T, h float64) {
		for _, c := range []*Curve{c, ConstantHeat(1950)} {
			temp, perJ := c.at(h)
			if finite := math.Abs(h) < 1e290; finite && (math.IsNaN(temp) || !(perJ > 0)) || math.IsNaN(h) && !math.IsNaN(temp) {
				t.Errorf("%g J/kg is %g °C, rising by %g", h, temp, perJ)
			}
		}
	})
}
