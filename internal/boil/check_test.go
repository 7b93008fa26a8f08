package boil

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
)

// One check by hand: in boiling water at 100 °C the errors there and at 150 °C share
// 1 + 2/3 + exp(−1) of 3 parts, so the class falls to √(1 − 2.0345²/(3·2.4444)) of
// itself where the check is perfect, to 0.66.
func TestChecked_OneByHand(t *testing.T) {
	t.Parallel()
	g := rig.Glass{Class: 2, Checks: []rig.GlassCheck{{Against: rig.AgainstReference, True: 100, Read: 101, Sure: 1e-6}}}
	got := Checked(g, seaRoom())
	share := 1 + 2./3 + math.Exp(-1)
	own := 2 + 4./9
	if want := 2 * math.Sqrt(1-share*share/(3*own)); math.Abs(float64(got.Class)-want) > 1e-6 || math.Abs(want-1.32) > 0.01 {
		t.Errorf("±%.6f K, want %.6f", float64(got.Class), want)
	}
	if want := share / own; math.Abs(float64(got.Offset)-want) > 1e-6 {
		t.Errorf("1 K at 100 °C makes %.6f K at 150, want %.6f", float64(got.Offset), want)
	}
}

// Ice and boiling water to 0.3 K each say of 150 °C no more than a straight line
// through them does, which leaves 0.47 K (source key model-heat).
func TestChecked_TwoPointsExtrapolate(t *testing.T) {
	t.Parallel()
	const sd = 0.3
	for _, class := range []q.Kelvins{2, 5, 50} {
		g := rig.Glass{Class: class, Checks: []rig.GlassCheck{
			{Against: rig.AgainstReference, True: 1e-9, Read: 0.3, Sure: sd * ninety},
			{Against: rig.AgainstReference, True: 100, Read: 100.6, Sure: sd * ninety},
		}}
		if s := float64(Checked(g, seaRoom()).Class) / ninety; s < 0.474 {
			t.Errorf("±%g K and two checks: known to %.3f K", float64(class), s)
		}
	}
}

// Three checks against drawing: errors of the scale are drawn by the million and
// weighted by how well they agree with what was read.
func TestChecked_ByDrawing(t *testing.T) {
	t.Parallel()
	g := rig.Glass{Class: 3, Offset: 0.5, Division: 1, Checks: []rig.GlassCheck{
		{Against: rig.AgainstIce, Read: 1}, {Against: rig.AgainstReference, True: 100, Read: 101, Sure: 1}, {Against: rig.AgainstReference, True: 140, Read: 142, Sure: 1.5},
	}}
	got := Checked(g, seaRoom())
	at := []float64{0, 100, 140, 150} // the bends are drawn along the scale, one leaning on the one before
	r := rand.New(rand.NewPCG(1, 2))
	third := float64(g.Class) / ninety / math.Sqrt(3)
	var sum, weighted, squared float64
	for range 1_000_000 {
		shift, stretch := third*r.NormFloat64(), third*r.NormFloat64()
		bend, e := 0.0, [4]float64{}
		for i, t := range at {
			if i == 0 {
				bend = third * r.NormFloat64()
			} else {
				lean := math.Exp(-(t - at[i-1]) / bendReach)
				bend = lean*bend + math.Sqrt(1-lean*lean)*third*r.NormFloat64()
			}
			e[i] = shift + stretch*t/classAt + bend
		}
		fit := 0.0
		for i, c := range g.Checks {
			known, sd, _ := CheckedAgainst(c, seaRoom())
			miss := float64(c.Read-known) - float64(g.Offset) - e[i]
			fit += miss * miss / (float64(sd*sd) + 1./12)
		}
		w := math.Exp(-fit / 2)
		sum, weighted, squared = sum+w, weighted+w*e[3], squared+w*e[3]*e[3]
	}
	mean := weighted / sum
	sd := math.Sqrt(squared/sum - mean*mean)
	if math.Abs(float64(got.Offset)-0.5-mean) > 0.01 || math.Abs(float64(got.Class)/ninety-sd) > 0.01 {
		t.Errorf("offset %.4f K and sd %.4f K, drawn %.4f and %.4f", float64(got.Offset), float64(got.Class)/ninety, 0.5+mean, sd)
	}
}

// No check changes nothing; every check narrows the class; their order does not
// matter; one beside the end of the boil says more than one in boiling water, and
// one in boiling water under a pressure nobody read says less.
func TestChecked_Laws(t *testing.T) {
	t.Parallel()
	bare := rig.Glass{ID: "g", Offset: 1, Class: 2, Division: 1}
	if got := Checked(bare, seaRoom()); fmt.Sprint(got) != fmt.Sprint(bare) {
		t.Errorf("without a check: %+v", got)
	}
	ice := rig.GlassCheck{Against: rig.AgainstIce, Read: 0.5}
	boiling := rig.GlassCheck{Against: rig.AgainstBoiling, Read: 100.5, Pressure: 101325}
	blind := rig.GlassCheck{Against: rig.AgainstBoiling, Read: 100.5}
	high := rig.GlassCheck{Against: rig.AgainstReference, Read: 151, True: 150}
	with := func(checks ...rig.GlassCheck) rig.Glass {
		g := bare
		g.Checks = checks
		return Checked(g, seaRoom())
	}
	for name, c := range map[string][2]rig.Glass{
		"ice narrows":                   {with(ice), bare},
		"boiling water more than ice":   {with(boiling), with(ice)},
		"a pressure read, than not":     {with(boiling), with(blind)},
		"both more than one":            {with(ice, boiling), with(boiling)},
		"a high check most of all":      {with(high), with(ice, boiling)},
		"all more than the high":        {with(ice, boiling, high), with(high)},
		"a surer reference than a poor": {with(high), with(rig.GlassCheck{Against: rig.AgainstReference, Read: 151, True: 150, Sure: 2})},
	} {
		if !(c[0].Class < c[1].Class) {
			t.Errorf("%s: ±%.4f K, against ±%.4f K", name, float64(c[0].Class), float64(c[1].Class))
		}
	}
	one, other := with(ice, boiling, high), with(high, ice, boiling)
	if math.Abs(float64(one.Offset-other.Offset)) > 1e-12 || math.Abs(float64(one.Class-other.Class)) > 1e-12 {
		t.Errorf("the order matters: %+v, %+v", one, other)
	}
	if c := with(boiling).Class; c < 0.6*bare.Class {
		t.Errorf("a boiling-water check alone vouches for 150 °C to ±%.2f K of ±%.2f", float64(c), float64(bare.Class))
	}
}

// A check in boiling water at 1000 m without a barometer is held against water
// that boils there: 96.7 °C (source key iapws-if97 under iso2533).
func TestCheckedAgainst_Altitude(t *testing.T) {
	t.Parallel()
	known, sd, err := CheckedAgainst(rig.GlassCheck{Against: rig.AgainstBoiling, Read: 97}, rig.Room{Altitude: 1000, StationPressure: 101325})
	if err != nil || math.Abs(float64(known)-96.69) > 0.05 {
		t.Errorf("boils at %.3f °C, %v, want 96.7", float64(known), err)
	}
	if sd < 0.1 || sd > 0.5 {
		t.Errorf("known to %.3f K: the weather moves it by some 0.4", float64(sd))
	}
	if _, _, err := CheckedAgainst(rig.GlassCheck{Against: "tea"}, seaRoom()); err == nil {
		t.Error("checked in tea")
	}
}

// A glass found to read higher is read higher, and what is computed for the end of
// the boil does not move.
func TestPredict_CheckedGlass(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	before := predict(t, in)
	g := *in.Glass
	g.Checks = []rig.GlassCheck{{On: "2026-03-01", Against: rig.AgainstReference, True: 150, Read: 150 + q.Celsius(g.Offset) + 3, Sure: 0.1}}
	in.Glass = &g
	after := predict(t, in)
	if d := after.DialC.Value - before.DialC.Value; d < 1.5 || d > 3 {
		t.Errorf("the reading moves by %.2f K", d)
	}
	if after.BoilC != before.BoilC || width(after.DialC) >= width(before.DialC) {
		t.Errorf("true %v before, %v after; reading to ±%.2f before, ±%.2f after", before.BoilC, after.BoilC, width(before.DialC), width(after.DialC))
	}
}
