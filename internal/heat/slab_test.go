package heat

import (
	"fmt"
	"math"
	"testing"

	"slabside/internal/validation"
)

// twoLevel is the enthalpy of the slab tables, about a glass transition at 50 °C.
func twoLevel(c float64) float64 {
	const tg = 50
	x := math.Abs((c - tg) / 8) // ln 2 cosh x = |x| + ln(1 + e^−2|x|)
	return 1355*c + 0.9*c*c + 225*(c+8*(x+math.Log1p(math.Exp(-2*x))))
}

func twoLevelCurve(t testing.TB) *Curve {
	c, err := NewCurve(0, 180, twoLevel)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// slab is that of the tables: candy of a depth [m] on 10 mm of steel, over water.
func slab(t testing.TB, curve *Curve, depth, contact float64, cells int) *Stack {
	t.Helper()
	return stack(t, 0, Face{AmbientC: 18, Film: 800}, Face{AmbientC: 24, Length: 0.15, Emissivity: 0.9},
		Layer{Matter: steel(), Thickness: 0.010, Cells: max(cells/5, 2), TempC: 18},
		Layer{Matter: Matter{Heat: curve, Density: 1480, K: 0.30}, Thickness: depth, Cells: cells, TempC: 140, Contact: contact})
}

// skin is the mean of the lower 2 mm, in whole cells: so the tables have it.
func skin(s *Stack) float64 {
	n := float64(s.layers[1].to - s.layers[1].from)
	return s.Between(1, 0, max(math.Floor(0.002/s.Thickness(1)*n+1e-9), 1)/n)
}

// when lets time pass until a temperature has fallen to another, and returns the moment.
func when(t testing.TB, s *Stack, temp func() float64, to float64) float64 {
	t.Helper()
	if met, err := s.AdvanceUntil(2e4, func() float64 { return temp() - to }); err != nil || !met {
		t.Fatalf("it does not come to %g °C: %v", to, err)
	}
	return s.Time()
}

// slabTables holds stack and lump against another program's slabs, which is no check of
// the model, but of the program. Edges are a matter of two dimensions, and the turned
// slabs' curves of the same rules as their times: neither is here.
func slabTables(t *testing.T) []validation.Table {
	early, late := fluxTables(t)
	folds, batches := turnTables(t)
	return []validation.Table{pieceTable(t), timeTable(t), curveTable(t), early, late, folds, batches}
}

func pieceTable(t *testing.T) validation.Table {
	table := validation.Table{Model: "lump in steps of 5 s", Quantity: "minutes until a loose piece is cool", Unit: "min", Range: "to 50, 40, 35 and 30 °C", Kind: validation.Regression,
		Why: "the same law by another program, printed to 0.1 min"}
	curve := twoLevelCurve(t)
	for _, r := range validation.Records(t, "piece-cooling.csv") {
		l := Lump{Heat: curve, Takes: func(_, c float64) float64 { return r.Number("h_W_m2K") * (c - 24) / (1480 * r.Number("V_over_A_m")) }}
		for _, to := range []float64{50, 40, 35, 30} {
			seconds, ok := l.CoolsTo(0, 75, to, 1e5)
			if !ok {
				t.Errorf("%s: it does not come to %g °C", r.Text("case"), to)
			}
			table.Rows = append(table.Rows, validation.Row{Name: fmt.Sprintf("%s, %s W/(m² K), to %g °C", r.Text("case"), r.Text("h_W_m2K"), to), Got: seconds / 60,
				Want: r.Number(fmt.Sprintf("min_to_%gC", to)), Tol: 0.06, Key: r.Key()})
		}
	}
	return table
}

func timeTable(t *testing.T) validation.Table {
	table := validation.Table{Model: "stack of 40 candy cells, the usual bound", Quantity: "seconds until a slab that is not turned is cool", Unit: "s", Range: "15 to 25 mm, contacts of 100 to 2000 W/(m² K)", Kind: validation.Regression,
		Why: "another program's Euler steps of half a second, one to two seconds apart in print"}
	curve := twoLevelCurve(t)
	for _, r := range validation.Records(t, "slab-nofold-times.csv") {
		for _, c := range []struct {
			column string
			to     float64
			temp   func(*Stack) float64
		}{
			{"t_bottom2mm_to_85C_s", 85, skin}, {"t_bottom2mm_to_60C_s", 60, skin},
			{"t_mean_to_110C_s", 110, mean}, {"t_mean_to_95C_s", 95, mean}, {"t_mean_to_80C_s", 80, mean},
			{"t_core_to_110C_s", 110, core}, {"t_core_to_95C_s", 95, core}, {"t_core_to_80C_s", 80, core},
		} {
			s := slab(t, curve, r.Number("thickness_mm")/1000, r.Number("contact_hc_W_m2K"), 40)
			table.Rows = append(table.Rows, validation.Row{Name: r.Text("thickness_mm") + " mm, contact " + r.Text("contact_hc_W_m2K") + ", " + c.column,
				Got: when(t, s, func() float64 { return c.temp(s) }, c.to), Want: r.Number(c.column), Tol: 2, Key: r.Key()})
		}
	}
	return table
}

func mean(s *Stack) float64 { return s.Mean(1) }
func core(s *Stack) float64 { return s.At(1, 0.5) }

func curveTable(t *testing.T) validation.Table {
	table := validation.Table{Model: "stack of 40 candy cells, the usual bound", Quantity: "temperatures of a slab that is not turned: mean, core, skin, uppermost cell", Unit: "K", Range: "15 to 25 mm, 30 to 1800 s", Kind: validation.Regression,
		Why: "another program's Euler steps of half a second"}
	alongSlabs(t, func(r validation.Record, s *Stack, name string) {
		for _, c := range []struct {
			column string
			got    float64
		}{{"mean_C", s.Mean(1)}, {"core_C", core(s)}, {"bottom2mm_C", skin(s)}, {"top_C", s.At(1, 1-1.0/80)}} {
			table.Rows = append(table.Rows, validation.Row{Name: name + c.column, Got: c.got, Want: r.Number(c.column), Tol: 0.6, Key: r.Key()})
		}
	})
	return table
}

func fluxTables(t *testing.T) (early, late validation.Table) {
	early = validation.Table{Model: "stack of 40 candy cells, the usual bound", Quantity: "what a slab that is not turned gives to the water", Unit: "%", Relative: true, Range: "15 to 25 mm, 30 and 60 s", Kind: validation.Regression,
		Why: "the other program's plate is half a kelvin warmer in the first minute, why is not stated; case F1 has the plate exact"}
	late = early
	late.Range, late.Why = "15 to 25 mm, 90 to 1800 s", "another program's Euler steps of half a second"
	alongSlabs(t, func(r validation.Record, s *Stack, name string) {
		row := validation.Row{Name: name + "flux", Got: -s.sides.below[0], Want: r.Number("flux_to_water_W_m2"), Tol: 0.02, Key: r.Key()}
		if r.Number("t_s") < 90 {
			row.Tol = 0.05
			early.Rows = append(early.Rows, row)
		} else {
			late.Rows = append(late.Rows, row)
		}
	})
	return early, late
}

// turned lets a slab be turned until it is at the last of the temperatures, and returns
// when its mean came to each: a turn when its skin is at 80 °C, at the earliest 20 s after
// the beginning or the turn before, and it is off the table for some seconds, to lie as
// deep [m] as it is gathered. The moments are met by the second, as the tables have them.
func turned(t *testing.T, s *Stack, depth, off float64, to ...float64) (at []float64, turns int) {
	t.Helper()
	contact, rested := 1/s.layers[1].apart, 0.0
	for s.Time() < 5000 {
		s.to(t, s.Time()+1)
		for s.Mean(1) <= to[len(at)] {
			if at = append(at, s.Time()); len(at) == len(to) {
				return at, turns
			}
		}
		if skin(s) > 80 || s.Time()-rested < 20 {
			continue
		}
		s.SetContact(1, 1e-9)
		s.to(t, s.Time()+off)
		s.SetContact(1, contact)
		s.Fold(0.3, depth)
		rested = s.Time()
		turns++
	}
	t.Fatalf("it does not come to %g °C", to[len(at)])
	return nil, 0
}

// turnTables are the slabs that are turned. That a turn takes the slab off for 4 s in the
// table by depths, and that turns are 20 s apart, is read from its figures.
func turnTables(t *testing.T) (folds, batches validation.Table) {
	folds = validation.Table{Model: "stack of 40 candy cells, the usual bound", Quantity: "seconds until a slab that is turned is cool", Unit: "%", Relative: true, Range: "15 to 25 mm, spread back or gathered to 35 mm, contacts of 100 to 2000 W/(m² K)", Kind: validation.Regression,
		Why: "another program's steps; a turn earlier or later moves a time by 2 to 3 %"}
	batches = folds
	batches.Range = "5 to 20 kg, gathered to 30 to 45 mm"
	curve := twoLevelCurve(t)
	marks := []float64{110, 95, 85, 80}
	add := func(table *validation.Table, r validation.Record, name, column string, at []float64) {
		for i, to := range marks {
			table.Rows = append(table.Rows, validation.Row{Name: fmt.Sprintf("%s, mean at %g °C", name, to), Got: at[i], Want: r.Number(fmt.Sprintf(column, to)), Tol: 0.04, Key: r.Key()})
		}
	}
	for _, r := range validation.Records(t, "slab-fold-times.csv") {
		poured := r.Number("poured_thickness_mm") / 1000
		s := slab(t, curve, poured, r.Number("contact_hc_W_m2K"), 40)
		depth := poured
		if r.Text("mode") != "spread back to poured thickness" {
			depth = 0.035
		}
		at, turns := turned(t, s, depth, 4, marks...)
		add(&folds, r, r.Text("poured_thickness_mm")+" mm, "+r.Text("mode")+", contact "+r.Text("contact_hc_W_m2K"), "t_mean_%gC_s", at)
		if want := r.Whole("folds_total"); turns < want-2 || turns > want+2 {
			t.Errorf("%v mm, contact %v: %d turns, %d in the table", r.Text("poured_thickness_mm"), r.Text("contact_hc_W_m2K"), turns, want)
		}
	}
	for _, r := range validation.Records(t, "slab-batch-times.csv") {
		s := slab(t, curve, r.Number("poured_thickness_mm")/1000, 500, 40)
		at, _ := turned(t, s, r.Number("lump_depth_after_first_turn_mm")/1000, r.Number("seconds_off_table_per_turn"), marks...)
		add(&batches, r, r.Text("batch_kg")+" kg, "+r.Text("poured_thickness_mm")+" mm", "turned_mean_%gC_s", at)
	}
	return folds, batches
}

// alongSlabs shows the rows of the slabs that are not turned, beyond the first moment,
// each with its slab at the time.
func alongSlabs(t *testing.T, see func(r validation.Record, s *Stack, name string)) {
	curve := twoLevelCurve(t)
	var s *Stack
	seen := 0
	for _, r := range validation.Records(t, "slab-cooling-curves.csv") {
		if r.Text("folding") != "none" {
			continue
		}
		if r.Number("t_s") == 0 {
			s = slab(t, curve, r.Number("poured_thickness_mm")/1000, 500, 40)
			continue
		}
		seen++
		see(r, s.to(t, r.Number("t_s")), r.Text("poured_thickness_mm")+" mm, "+r.Text("t_s")+" s, ")
	}
	if seen < 150 {
		t.Errorf("%d rows of slabs that are not turned", seen)
	}
}
