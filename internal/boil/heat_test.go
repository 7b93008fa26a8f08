package boil

import (
	"math"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/validation"
)

// TestKettleTimes compares the time of flame with another enthalpy balance, to the
// same 3.25 % of water: a regression. Its latent heat of 2.2 MJ/kg leaves out the
// heat that holds water in the syrup (20 to 105 kJ/kg) and is 1 to 2 % low for
// steam at 107 °C; evaporation is three fifths of the heat, so up to 5 % more time is
// expected here, and no less than there.
func TestKettleTimes(t *testing.T) {
	t.Parallel()
	const tolerance = 0.05
	worst := 0.0
	for _, row := range validation.Records(t, "kettle-times.csv") {
		finished := row.Number("finished_kg")
		dry := finished * (1 - 0.0325)
		sugar := 0.6 * dry
		syrup := 0.4 * dry / 0.803
		water := q.Kilograms(sugar / 3)
		k := rig.Kettle{ID: "copper", Volume: 25, Burner: q.Watts(row.Number("burner_kw") * 1e3),
			Efficiency: q.Fraction(row.Number("efficiency")), Mass: 9, Material: rig.Copper}
		r := predict(t, Inputs{Charge: raw(t, Raw{Sugar: q.Kilograms(sugar), Syrup: q.Kilograms(syrup), SyrupDE: 42, SyrupSolids: 0.803, Water: &water}),
			End: End{WaterLeft: 0.0325}, Room: seaRoom(), Kettle: &k})
		want := row.Number("minutes")
		got := r.LitS.Value / 60
		rel := got/want - 1
		worst = math.Max(worst, math.Abs(rel))
		t.Logf("%4.0f kg %4s kW %4s: %.1f min, table %.1f (%+.1f %%)", finished, row.Text("burner_kw"), row.Text("efficiency"), got, want, rel*100)
		if rel < -0.005 || rel > tolerance {
			t.Errorf("%s kg, %s kW at %s: %.1f min, want %.1f within %.0f %% (%s)", row.Text("finished_kg"), row.Text("burner_kw"), row.Text("efficiency"), got, want, tolerance*100, row.Text("key"))
		}
	}
	t.Logf("worst %.1f %%", worst*100)
}

// TestHeatIntoPan checks the heat of a boil of barley sugar, 14 lb of sugar to 3 lb
// of syrup in 4 pints of water (source key guide1896), against an estimate made by
// hand: 2.38 kg of water off 5.4 MJ, warming 2.2 MJ, to the end 0.6 MJ, without a
// pan: 8.1 MJ or 0.30 kWh a kilogram (source key arithmetic).
func TestHeatIntoPan(t *testing.T) {
	t.Parallel()
	k := pan()
	k.Mass = 0
	r := predict(t, Inputs{Charge: oldCharges(t)["F05"], End: End{BoilTo: fahrenheit(300)}, Room: seaRoom(), Kettle: k})
	perKg := r.PanKWh.Value / r.MassKg.Value
	t.Logf("water off %.3f kg, %.3f kWh into the pan for %.3f kg: %.3f kWh/kg", r.WaterOffKg.Value, r.PanKWh.Value, r.MassKg.Value, perKg)
	// Half a unit of the last digit of 0.30, and the 5 % of latent heat it leaves out.
	if perKg < 0.295 || perKg > 0.305*1.05 {
		t.Errorf("%.3f kWh/kg, want 0.30", perKg)
	}
}

// TestTimeLaws: more fire is quicker, watching is part of the time, gas is the
// burner's power times the time, and an inefficient or unknown ring is slower or wider.
func TestTimeLaws(t *testing.T) {
	t.Parallel()
	base := predict(t, fruit(t))
	in := fruit(t)
	in.Kettle.Burner *= 2
	quick := predict(t, in)
	if !(quick.LitS.Value < base.LitS.Value/1.9 && quick.LitS.Value > base.LitS.Value/2.3) {
		t.Errorf("twice the burner: %.0f s against %.0f s", quick.LitS.Value, base.LitS.Value)
	}
	if w := base.WatchS.Value / base.LitS.Value; !(w > 0.1 && w < 0.6) {
		t.Errorf("watched %.0f %% of the time", w*100)
	}
	if got, want := base.EnergyKWh.Value, base.LitS.Value*15/3600; math.Abs(got-want) > 1e-9*want {
		t.Errorf("gas %.6f kWh, want %.6f", got, want)
	}
	in = fruit(t)
	in.Kettle.EfficiencyLow, in.Kettle.EfficiencyHigh = 0.44, 0.46
	known := predict(t, in)
	if !(width(*known.LitS) < width(*base.LitS)/3) {
		t.Errorf("a logged ring: range %.0f s, an unlogged one %.0f s", width(*known.LitS), width(*base.LitS))
	}
	in.Kettle.Burner = 200
	if _, err := Predict(in); err == nil {
		t.Error("a fire that cannot cover the losses boils")
	}
}

// TestFasterFireWidensTheEnd: the moment of the lift costs more where the end
// heats faster.
func TestFasterFireWidensTheEnd(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	in.Glass.Class = 0.2
	slow := predict(t, in)
	in.Kettle.Burner *= 3
	fast := predict(t, in)
	if !(width(fast.WaterFrac) > width(slow.WaterFrac)) {
		t.Errorf("range of water %.5f at three times the fire, %.5f before", width(fast.WaterFrac), width(slow.WaterFrac))
	}
}
