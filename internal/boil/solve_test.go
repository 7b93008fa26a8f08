package boil

import (
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
