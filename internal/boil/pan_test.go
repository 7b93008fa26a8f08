package boil

import (
	"errors"
	"math"
	"strings"
	"testing"

	"slabside/internal/fault"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

// A charge is refused as soon as it reaches into the foam room or falls below the
// kettle's least charge, one in a hundred either side of the limit, and the
// refusal says what would fit: a charge that in turn is taken.
func TestFit_RefusedAtTheEdge(t *testing.T) {
	t.Parallel()
	base := fruit(t)
	fit, err := FitOf(base.Charge, *base.Kettle)
	if err != nil {
		t.Fatal(err)
	}
	for name, set := range map[string]func(in *Inputs, k float64){
		"too much": func(in *Inputs, k float64) {
			in.Kettle.Volume = fit.Volume / q.Litres((1-float64(in.Kettle.FoamRoom))*k)
		},
		"too little": func(in *Inputs, k float64) { in.Kettle.LeastCharge = fit.Mass * q.Kilograms(k) },
	} {
		for _, k := range []float64{0.99, 1.01} {
			in := fruit(t)
			set(&in, k)
			_, err := Prepare(in)
			if k < 1 {
				if err != nil {
					t.Errorf("%s: refused at %g of the limit: %v", name, k, err)
				}
				continue
			}
			var f *fault.Error
			if !errors.As(err, &f) || f.Kind != fault.KindOutOfRange || f.Field != "charge" || !strings.Contains(f.Text, name) {
				t.Errorf("%s: at %g of the limit: %v", name, k, err)
			}
		}
	}
	for _, u := range []q.Reader{q.Metric.With(q.Point), q.US.With(q.Comma)} {
		in := fruit(t)
		in.Kettle.Volume = 7 // L
		in.Kettle.LeastCharge = 0.5
		in.Units = u
		fit, err := FitOf(in.Charge, *in.Kettle)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Prepare(in)
		var f *fault.Error
		if !errors.As(err, &f) || !strings.Contains(f.Hint, u.Mass(fit.Sayable(u))) || !strings.Contains(f.Text, u.Volume(fit.Volume)) || !strings.Contains(f.Text, u.Volume(fit.Room)) {
			t.Fatalf("%v does not name the volume, the room and what fits", err)
		}
		for i := range in.Charge.Lines {
			in.Charge.Lines[i].Mass *= fit.Sayable(u) / fit.Mass
		}
		if _, err := Prepare(in); err != nil {
			t.Errorf("what was said to fit does not: %v", err)
		}
	}
}

// A syrup of three parts of sugar to one of water weighs some 1.3 kg/L at the boil
// (common practice, no source; the density itself is checked in package sugar).
// Butter takes more room than the syrup it displaces.
func TestFit_Volume(t *testing.T) {
	t.Parallel()
	charge := func(lines ...Line) Charge { return Charge{Lines: lines} }
	sugar := ingredient.Ingredient{ID: "s", Kind: ingredient.Sugar, Solids: 1}
	water := ingredient.Ingredient{ID: "w", Kind: ingredient.Water}
	fat := ingredient.Ingredient{ID: "f", Kind: ingredient.Fat, Solids: 1}
	f, err := FitOf(charge(Line{sugar, 7.5}, Line{water, 2.5}), *pan())
	if err != nil {
		t.Fatal(err)
	}
	if d := 10 / float64(f.Volume); d < 1.25 || d > 1.35 {
		t.Errorf("a syrup of %.3f kg/L", d)
	}
	rich, err := FitOf(charge(Line{sugar, 6.5}, Line{water, 2.5}, Line{fat, 1}), *pan())
	if err != nil || rich.Volume <= f.Volume {
		t.Errorf("with butter %.3f L, without %.3f L (%v)", float64(rich.Volume), float64(f.Volume), err)
	}
	if got, want := float64(f.Most), 10*15/float64(f.Volume); math.Abs(got-want) > 1e-9 { // 25 L less 40 %
		t.Errorf("at most %g kg, want %g kg", got, want)
	}
}
