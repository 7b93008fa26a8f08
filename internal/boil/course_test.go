package boil

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/validation"
)

// TestCourse_ByScipy compares the boil in time with SciPy's solve_ivp, which follows
// the same published relations as differential equations (testdata/course.py,
// written anew: RK45 for the boil, LSODA for the two bodies that ride up together
// after the flame is off, with heats that change as they go).
func TestCourse_ByScipy(t *testing.T) {
	t.Parallel()
	type key struct{ kg, kw, eff string }
	want := map[key]map[string]float64{}
	for _, row := range validation.Records(t, "course.csv") {
		k := key{row.Text("finished_kg"), row.Text("burner_kw"), row.Text("efficiency")}
		if want[k] == nil {
			want[k] = map[string]float64{}
		}
		want[k][row.Text("quantity")] = row.Number("value")
	}
	if len(want) != 3 {
		t.Fatalf("%d boils in the table", len(want))
	}
	for k, w := range want {
		dry := number(t, k.kg) * (1 - 0.0325)
		water := q.Kilograms(0.6 * dry / 3)
		p := prepare(t, Inputs{Charge: raw(t, Raw{Sugar: q.Kilograms(0.6 * dry), Syrup: q.Kilograms(0.4 * dry / 0.803), SyrupDE: 42, SyrupSolids: 0.803, Water: &water}),
			End: End{WaterLeft: 0.0325}, Room: seaRoom(),
			Kettle: &rig.Kettle{ID: "copper", Volume: 25, Burner: q.Watts(number(t, k.kw) * 1e3), Efficiency: q.Fraction(number(t, k.eff)), Mass: 9, Material: rig.Copper}})
		fresh := p.middle()
		fresh.invert = 0 // the other program knows of no inversion
		pot := fresh.pot(nil)
		f, err := fire(pot, 0.0325/(1-0.0325)*pot.Phase(), *p.in.Kettle, p.pressure, float64(p.in.Room.Air))
		if err != nil {
			t.Fatal(err)
		}
		p.fire = &f
		c := clockwork{firing: f, radiusM: panRadius(*p.in.Kettle, pot)}
		power := number(t, k.kw) * 1e3 * number(t, k.eff)
		if err := c.burn(power); err != nil {
			t.Fatal(err)
		}
		hot, err := p.fire.hot(*p.in.Kettle)
		if err != nil {
			t.Fatal(err)
		}
		after := p.fire.after(hot, filmMiddle, power)
		got := map[string]float64{"boils": c.points[warmSteps].AtS, "end": c.points[len(c.points)-1].AtS, "end_c": c.points[len(c.points)-1].TempC,
			"after_k": after.rise, "after_s": after.time}
		for _, at := range []string{"110", "120", "130", "140"} {
			got["at_"+at] = on(c.points, number(t, at)).AtS
		}
		// The steps are good to 0.05 %; the heats stand still in the closed form of the ride.
		within := map[string]float64{"after_k": 0.005, "after_s": 0.005, "end_c": 1e-5}
		for name, v := range w {
			tol, ok := within[name]
			if !ok {
				tol = 0.0005
			}
			rel := got[name]/v - 1
			t.Logf("%s kg %s kW %-8s %10.3f, SciPy %10.3f (%+.3f %%)", k.kg, k.kw, name, got[name], v, rel*100)
			if math.Abs(rel) > tol {
				t.Errorf("%s kg, %s kW: %s is %.4f, SciPy has %.4f", k.kg, k.kw, name, got[name], v)
			}
		}
	}
}

// The two bodies keep their heat: what the wall loses, the sugar and the room get;
// and the sugar is told to turn where it turns.
func TestAfterHeat_Laws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pan := hotPan{areaM2: rapid.Float64Range(0.05, 0.6).Draw(t, "area"), heat: rapid.Float64Range(500, 8000).Draw(t, "wall")}
		film := rapid.Float64Range(150, 5000).Draw(t, "film")
		power := rapid.Float64Range(2000, 15000).Draw(t, "power")
		sugar := rapid.Float64Range(8000, 200000).Draw(t, "sugar")
		loss := rapid.Float64Range(100, 900).Draw(t, "loss")
		a := afterHeatOf(pan, film, power, sugar, loss)
		if !(a.rise > 0 && a.time > 0) {
			t.Fatalf("no after-heat: %+v", a)
		}
		x := a.rest + (a.first-a.rest)*math.Exp(-a.time/a.tau)
		if wall := pan.heat * (a.first - x - a.rise); math.Abs(wall-sugar*a.rise-loss*a.time) > 1e-9*pan.heat*a.first {
			t.Errorf("the wall gives %.9g J, the sugar gets %.9g and the room %.9g", wall, sugar*a.rise, loss*a.time)
		}
		const d = 1e-3
		if a.after(a.time) < a.after(a.time*(1-d)) || a.after(a.time) < a.after(a.time*(1+d)) {
			t.Errorf("it does not turn after %g s", a.time)
		}
		if better := afterHeatOf(pan, 2*film, power, sugar, loss); better.rise >= a.rise {
			t.Errorf("a wall closer to the sugar gives %g K, before %g K", better.rise, a.rise)
		}
		if more := afterHeatOf(pan, film, power*1.1, sugar, loss); more.rise <= a.rise {
			t.Errorf("a hotter wall gives %g K, before %g K", more.rise, a.rise)
		}
		if none := afterHeatOf(pan, film, loss, sugar, loss); none.rise != 0 {
			t.Errorf("a fire that only holds gives %g K", none.rise)
		}
	})
}

// A course rises, dries and sinks in the pan; its steps come in their order; it ends
// where the boil is to end, and the flame is off before.
func TestCourse_Laws(t *testing.T) {
	t.Parallel()
	p := prepare(t, fruit(t))
	c, err := p.Course()
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(c.Points); i++ {
		a, b := c.Points[i-1], c.Points[i]
		if b.AtS < a.AtS || b.TempC < a.TempC || b.WaterFrac > a.WaterFrac || b.MassKg > a.MassKg {
			t.Errorf("from %+v to %+v", a, b)
		}
	}
	var order []Step
	for i, m := range c.Moments {
		order = append(order, m.Step)
		if i > 0 && m.AtS < c.Moments[i-1].AtS {
			t.Errorf("%s comes before %s", m.Step, c.Moments[i-1].Step)
		}
	}
	if len(order) != 7 {
		t.Errorf("steps %v", order)
	}
	end := c.Points[len(c.Points)-1]
	if math.Abs(end.TempC-p.target.tempC) > 1e-9 || math.Abs(end.WaterFrac-p.nominal.Lift.WaterFrac()) > 1e-12 || math.Abs(end.MassKg-p.nominal.Lift.Mass()) > 1e-9 {
		t.Errorf("ends at %+v, asked %.3f °C with %.5f of water", end, p.target.tempC, p.nominal.Lift.WaterFrac())
	}
	r := predict(t, fruit(t))
	lift := c.Moments[5]
	if got := end.TempC - lift.TempC; math.Abs(got-r.AfterHeatK.Value) > 1e-9 {
		t.Errorf("the course rides %.6f K, the result says %.6f", got, r.AfterHeatK.Value)
	}
	if !(lift.AtS < r.LitS.Value && end.AtS > lift.AtS) {
		t.Errorf("the flame is off after %g s; with the flame on the end is there after %g", lift.AtS, r.LitS.Value)
	}
	if d := r.DialC.Value - r.LiftC.Value - r.AfterHeatK.Value; math.Abs(d) > 1e-9 {
		t.Errorf("read %v, off at %v, rides %v", r.DialC.Value, r.LiftC.Value, r.AfterHeatK.Value)
	}
	in := fruit(t)
	in.Kettle.Burner = 0
	if c, err := prepare(t, in).Course(); c != nil || err != nil {
		t.Errorf("no fire: %v, %v", c, err)
	}
}

// A pan far too large for its charge leaves the thermometer bare, and says so; the
// pan of everyday does not.
func TestShallow(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	if hasCaution(predict(t, in).Cautions, string(CodeShallow)) {
		t.Error("the everyday pan is called too large")
	}
	in.Kettle.Volume *= 3
	if !hasCaution(predict(t, in).Cautions, string(CodeShallow)) {
		t.Error("a pan three times as large is not")
	}
}

// What ten seconds cost is what a boil lifted ten seconds later comes to.
func TestLate_IsALaterLift(t *testing.T) {
	t.Parallel()
	r := predict(t, fruit(t))
	in := fruit(t)
	in.End = End{Here: q.Celsius(r.BoilC.Value + r.LateK.Value)}
	late := predict(t, in)
	if got := late.LitS.Value - r.LitS.Value; math.Abs(got-lateS) > 0.3 {
		t.Errorf("%.3f K more take %.2f s, want %d", r.LateK.Value, got, lateS)
	}
	if got := r.WaterFrac.Value - late.WaterFrac.Value; math.Abs(got/r.LateWaterFrac.Value-1) > 0.05 {
		t.Errorf("%.5f less water, told %.5f", got, r.LateWaterFrac.Value)
	}
}

func BenchmarkCourse(b *testing.B) {
	p, err := Prepare(fruit(b))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Course(); err != nil {
			b.Fatal(err)
		}
	}
}
