package heat

import (
	"math"
	"testing"

	"slabside/internal/validation"
)

// faceTables holds air against a published table, and the coefficients of a side that
// looks up against another evaluation of the same laws.
func faceTables(t *testing.T) []validation.Table {
	properties := validation.Table{Model: "Sutherland's law, ideal gas", Quantity: "viscosity, conductivity and diffusivity of air", Unit: "%", Relative: true, Range: "250 to 450 K", Kind: validation.Outside,
		Why: "constants from memory, stated to be good to 2.5 %"}
	for _, r := range validation.Records(t, "air.csv") {
		a, name := airAt(r.Number("temp_k")-zeroC), r.Text("temp_k")+" K, "
		properties.Rows = append(properties.Rows,
			validation.Row{Name: name + "viscosity", Got: a.viscosity, Want: r.Number("viscosity_m2s"), Tol: 0.025, Key: r.Key()},
			validation.Row{Name: name + "conductivity", Got: a.conductivity, Want: r.Number("conductivity_wmk"), Tol: 0.025, Key: r.Key()},
			validation.Row{Name: name + "diffusivity", Got: a.diffusivity, Want: r.Number("diffusivity_m2s"), Tol: 0.025, Key: r.Key()})
	}
	free := validation.Table{Model: "free convection of McAdams, Lloyd and Moran", Quantity: "coefficient of a side that looks up", Unit: "%", Relative: true, Range: "40 to 140 °C, one law at a time", Kind: validation.Regression,
		Why: "the same laws by another program, with other properties of air"}
	between := free
	between.Range, between.Why = "40 to 140 °C, Rayleigh numbers from 4.7·10⁶ to 10⁷", "the other program keeps the smaller law to Ra 10⁷ and steps there by 7 %; here the larger holds"
	radiation := free
	radiation.Model, radiation.Quantity, radiation.Range, radiation.Why = "grey side, Stefan and Boltzmann", "radiative coefficient", "40 to 140 °C, emissivity 0.9", "printed to three figures"
	for _, r := range validation.Records(t, "top-face-coefficients.csv") {
		side, air := r.Number("T_surface_C"), r.Number("T_air_C")
		name := r.Text("T_surface_C") + " °C, " + r.Text("A_over_P_m") + " m"
		row := validation.Row{Name: name, Got: FreeConvection(side, air, r.Number("A_over_P_m")), Want: r.Number("h_convection"), Tol: 0.02, Key: r.Key()}
		if ra := r.Number("Ra"); ra > cross && ra < 1e7 {
			row.Tol = 0.075
			between.Rows = append(between.Rows, row)
		} else {
			free.Rows = append(free.Rows, row)
		}
		row.Got, row.Want, row.Tol = Radiation(side, air, 0.9), r.Number("h_radiation"), 0.001
		radiation.Rows = append(radiation.Rows, row)
	}
	return []validation.Table{properties, free, between, radiation}
}

// Both laws of free convection meet where one takes over, and what is taken only rises
// with the temperature.
func TestFreeConvection(t *testing.T) {
	t.Parallel()
	if a, b := 0.54*math.Pow(cross, 0.25), 0.15*math.Cbrt(cross); math.Abs(a/b-1) > 1e-12 {
		t.Errorf("the laws meet at %g and %g", a, b)
	}
	before, worst := 0.0, 0.0
	for side := 24.0; side <= 160; side += 0.25 {
		f := Face{AmbientC: 24, Length: 0.15, Emissivity: 0.9}
		h, _ := f.coefficient(side)
		_, slope := f.coefficient(side - 0.125)
		out := h * (side - 24)
		if out < before {
			t.Errorf("at %g °C %g W/m² leave, less than at a quarter of a kelvin below", side, out)
		}
		numeric := (out - before) / 0.25
		if side > 26 {
			worst = max(worst, math.Abs(slope/numeric-1))
		}
		if side > 26 && math.Abs(slope/numeric-1) > 0.02 { // where the one law takes over, it jumps
			t.Errorf("at %g °C it grows by %g W/(m² K), by differences %g", side, slope, numeric)
		}
		before = out
	}
	t.Logf("slopes are off by %.2g of themselves at most", worst)
	if warm, cold := FreeConvection(44, 24, 0.15), FreeConvection(24, 44, 0.15); warm != cold {
		t.Errorf("%g one way, %g the other", warm, cold)
	}
	if once, fan := (&Face{AmbientC: 24, Length: 0.15}), (&Face{AmbientC: 24, Length: 0.15, Stir: 3}); true {
		a, _ := once.coefficient(80)
		b, _ := fan.coefficient(80)
		if math.Abs(b/a-3) > 1e-12 {
			t.Errorf("stirred three times, it is %g by %g", b, a)
		}
	}
}
