package boil

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// The end that is found for what a sweet is to stand up to is the one after which
// it does; a sweet that is to stand up to more is boiled drier.
func TestEndFor_RoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		in := fruit(t)
		want := q.Celsius(rapid.Float64Range(25, 50).Draw(rt, "stands up to"))
		in.End = End{StandsUp: want}
		p, err := Prepare(in)
		if err != nil {
			rt.Fatal(err)
		}
		got, err := sugar.GlassTransition(p.nominal.whole().phaseMixture())
		if err != nil || math.Abs(float64(got-want)) > 1e-5 {
			rt.Fatalf("asked %.4f °C, stands up to %.4f, %v", float64(want), float64(got), err)
		}
		// The same by hand: the water that was found, asked for as such.
		in.End = End{WaterLeft: p.in.End.WaterLeft}
		same, err := Prepare(in)
		if err != nil || math.Abs(same.target.tempC-p.target.tempC) > 1e-9 {
			rt.Fatalf("%.6f and %.6f °C, %v", same.target.tempC, p.target.tempC, err)
		}
		in.End = End{StandsUp: want + 1}
		more, err := Prepare(in)
		if err != nil || more.target.tempC <= p.target.tempC {
			rt.Fatalf("a kelvin more: boiled to %.3f °C, before to %.3f, %v", more.target.tempC, p.target.tempC, err)
		}
	})
}

// The end of a boil with acid counts what the boil to it inverts: boiled so, the sweet
// stands up to what was asked, and boiled a little wetter to less.
func TestEndFor_Inverts(t *testing.T) {
	t.Parallel()
	for _, acid := range []float64{0.2, 1, 4} {
		for _, want := range []float64{15, 25, 33} {
			in := tartarBoil(t)
			in.Charge.Lines[len(in.Charge.Lines)-1].Mass *= q.Kilograms(acid)
			in.End = End{StandsUp: q.Celsius(want)}
			r := predict(t, in)
			if got := r.GlassC.Value; math.Abs(got-want) > 1e-3 {
				t.Errorf("%g of the tartar: asked %g °C, stands up to %.4f", acid, want, got)
			}
			in.End = End{WaterLeft: q.Fraction(r.WaterFrac.Value) + 0.0005}
			if wetter := predict(t, in); !(wetter.GlassC.Value < want) {
				t.Errorf("%g of the tartar: wetter, it stands up to %.3f °C, not under %g", acid, wetter.GlassC.Value, want)
			}
		}
	}
}

// With much acid a sweet stands up to no more, however dry it is boiled: the driest
// end whose boil has a time is said, and more is not promised.
func TestEndFor_InvertsTooMuch(t *testing.T) {
	t.Parallel()
	in := tartarBoil(t)
	in.Kettle.Burner /= 3
	in.End = End{StandsUp: 50}
	_, err := Prepare(in)
	if fault.KindOf(err) != fault.KindOutOfRange || !strings.Contains(err.Error(), "and no more") {
		t.Fatal(err)
	}
	var water, most float64
	if _, scan := fmt.Sscanf(err.Error(), "boiled to %g %% of water it stands up to %g °C and no more", &water, &most); scan != nil {
		t.Fatalf("%v: %v", err, scan)
	}
	in.End = End{StandsUp: q.Celsius(most - 0.6)}
	if p, err := Prepare(in); err != nil || p.inverting == nil {
		t.Errorf("%.1f °C, a little under what it is said to stand up to: %v", most-0.6, err)
	}
	in.End = End{StandsUp: q.Celsius(most + 0.6)}
	if _, err := Prepare(in); err == nil {
		t.Errorf("%.1f °C, a little over what it is said to stand up to, can be had", most+0.6)
	}
}

// Where there is no end, what can be had is said.
func TestEndFor_None(t *testing.T) {
	t.Parallel()
	for asked, want := range map[q.Celsius]string{90: "and no more", -60: "even with 15 % of water"} {
		in := fruit(t)
		in.End = End{StandsUp: asked}
		if _, err := Prepare(in); fault.KindOf(err) != fault.KindOutOfRange || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v", asked, err)
		}
	}
}
