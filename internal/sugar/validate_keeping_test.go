package sugar

import (
	"fmt"
	"math"
	"testing"

	"slabside/internal/numeric"
	"slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/validation"
)

// spectrumTables hold the reducing power counted from a syrup's sugars against the
// DE its source states.
func spectrumTables() []validation.Table {
	outside := validation.Table{
		Model: "chains of dextrose units, higher sugars of 6", Quantity: "DE of glucose syrups from their sugars", Unit: "DE",
		Range: "26 to 63 DE", Kind: validation.Outside,
		Why: "sugars in whole per cents, and the DE of a row is that of its class: 4 DE stated",
	}
	fitted := outside
	fitted.Kind, fitted.Range, fitted.Why = validation.Fitted, "20 to 97 DE", "the mean of the higher sugars was chosen on these: 4 DE"
	for _, s := range Syrups() {
		spectrum, ok := s.Spectrum()
		if !ok {
			continue
		}
		row := validation.Row{Name: s.Name, Got: spectrum.DE(), Want: s.DE, Tol: 4, Key: s.Source}
		if s.Source == source.Belitz {
			fitted.Rows = append(fitted.Rows, row)
		} else {
			outside.Rows = append(outside.Rows, row)
		}
	}
	long := outside.Against("chains, higher sugars of 12", "twice as long: has to fail", func(r validation.Row) float64 {
		for _, s := range Syrups() {
			if spectrum, ok := s.Spectrum(); ok && s.Name == r.Name {
				return spectrum.DE() + 100*hexoseMolarMass*spectrum.higher()*(1/unitMolarMass(12)-1/unitMolarMass(higherUnits))
			}
		}
		panic("no syrup " + r.Name)
	})
	return []validation.Table{outside, fitted, long}
}

// syrupActivityTables hold Norrish's equation against syrups at 25 °C.
func syrupActivityTables(t *testing.T) []validation.Table {
	pureSugar := validation.Table{
		Model: "Norrish", Quantity: "water activity of syrups, 25 °C", Unit: "", Range: "sucrose, 25 to 67 %", Kind: validation.Fitted,
		Covers: "water activity in a room", Why: "osmotic coefficients from memory; sucrose's constant was drawn from such values by its authors: 0.01",
	}
	thick := pureSugar
	thick.Range, thick.Kind, thick.Why = "sucrose 61 and 74 %, corn syrup 65 %", validation.Outside, "whole per cents of humidity, DE not stated (42 taken): 0.025"
	for _, r := range validation.Records(t, "syrup-activity.csv") {
		if r.Text("molality") != "" {
			m := r.Number("molality")
			solids := 34230 * m / (1000 + 342.3*m)
			pureSugar.Rows = append(pureSugar.Rows, validation.Row{
				Name: fmt.Sprintf("%g mol/kg", m), Tol: 0.01, Key: r.Key(), Place: &validation.Place{Solids: solids, Temp: 25},
				Got: must(SyrupActivity(pure(solids))), Want: math.Exp(-0.018015 * m * r.Number("osmotic")),
			})
			continue
		}
		s := Solids{}
		if r.Text("solute") == "corn syrup" {
			s.Syrup = 1
		}
		wet := r.Number("water_g_per_100g")
		m := Mix(s, quantity.Fraction(wet/(100+wet)))
		thick.Rows = append(thick.Rows, validation.Row{
			Name: r.Text("solute") + " with " + r.Text("water_g_per_100g") + " g", Tol: 0.025, Key: r.Key(),
			Got: must(SyrupActivity(m)), Want: r.Number("water_activity"), Place: &validation.Place{Solids: m.Dry().Percent(), Temp: 25},
		})
	}
	raoult := pureSugar.Against("Raoult, mole fraction", "no activity coefficient: has to fail", func(r validation.Row) float64 {
		return 1 - soluteFraction(1-r.Place.Solids/100)
	})
	return []validation.Table{pureSugar, thick, raoult}
}

// zobrist is the activity of water over sucrose [solids as a mass fraction, °C], source
// key zobrist2011: one of the two the isotherm was fitted to.
func zobrist(w, tempC float64) float64 {
	return (1-w)/(1-0.99721*w+0.13599*w*w) + (tempC-25)*(0.001688*w-0.005151*w*w+0.009607*w*w*w-0.006142*w*w*w*w)
}

// isothermTables hold the isotherm against tables of amorphous sugars, and the boiling
// equation over the same rows as a rival.
func isothermTables(t *testing.T) []validation.Table {
	syrup := validation.Table{
		Model: "GAB isotherm", Quantity: "water in boiled sugar, 25 °C", Unit: "%", Relative: true, Range: "corn syrup, 60 to 90 % humidity",
		Kind: validation.Outside, Why: "20 % of the moisture stated; the syrup's DE is not",
	}
	sucrose := syrup
	sucrose.Range, sucrose.Kind, sucrose.Why = "sucrose, 60 to 90 % humidity", validation.Fitted, "the isotherm was fitted to these: 10 %"
	other := syrup
	other.Range, other.Kind, other.Why = "90 % sucrose at 40 % humidity; candy floss at 33 %", validation.Doubtful,
		"one reading each, and they contradict each other: the one holds more water than the isotherm, the other less"
	out := syrup
	out.Range, out.Kind = "fructose; a candy text's 25 to 35 % for 1 to 3 % water", validation.LeftOut
	out.Why = "no sweet is fructose alone; the humidity quoted fits 4 to 6 % water, which is the end of a sweet's life and not its start"
	place := func(x float64) *validation.Place { return &validation.Place{Solids: 10000 / (100 + x), Temp: 25} }
	for _, r := range validation.Records(t, "isotherm.csv") {
		h, want := r.Number("humidity"), r.Number("water_g_per_100g")
		row := validation.Row{Name: r.Text("material") + ", " + r.Text("humidity"), Want: want, Key: r.Key(), Place: place(want),
			Got: perSolids(must(RoomWater(quantity.Fraction(h))))}
		switch r.Text("material") {
		case "corn syrup":
			row.Tol = 0.20
			syrup.Rows = append(syrup.Rows, row)
		case "sucrose, amorphous":
			row.Tol = 0.10
			sucrose.Rows = append(sucrose.Rows, row)
		case "sucrose of 90 %", "candy floss":
			row.Tol = 0.40
			other.Rows = append(other.Rows, row)
		default:
			out.Rows = append(out.Rows, row)
		}
	}
	syrup.Covers, sucrose.Covers = "water activity in a room", "water activity in a room"
	dry := sucrose
	dry.Quantity, dry.Unit, dry.Relative = "humidity over boiled sugar, 25 °C", "", false
	dry.Range, dry.Why, dry.Rows = "2 to 10 % water", "the equation for sucrose it was fitted to below 50 % humidity: 0.05", nil
	for _, water := range []float64{2, 3, 4, 5, 6, 8, 10} {
		dry.Rows = append(dry.Rows, validation.Row{Name: fmt.Sprintf("%g %%", water), Tol: 0.05, Key: source.Zobrist2011,
			Got: must(RoomActivity(pure(100 - water))), Want: zobrist(1-water/100, 25), Place: &validation.Place{Solids: 100 - water, Temp: 25}})
	}
	boil := syrup.Against("Starzak & Peacock with the syrup factor", "the boiling equation in a room: has to fail", func(r validation.Row) float64 {
		var h float64
		if _, err := fmt.Sscanf(r.Name, "corn syrup, %g", &h); err != nil {
			t.Fatal(err)
		}
		return perSolids(quantity.Fraction(must(numeric.Brent(func(w float64) float64 {
			return must(WaterActivity(Mix(Solids{Syrup: 1}, quantity.Fraction(w)), 25)) - h
		}, 0.05, 0.9, 1e-9))))
	})
	return []validation.Table{syrup, sucrose, dry, boil, other, out}
}

// perSolids turns a mass fraction of water into g per 100 g of solids.
func perSolids(w quantity.Fraction) float64 { return 100 * float64(w) / float64(1-w) }

func dewTables(t *testing.T) []validation.Table {
	printed := validation.Table{
		Model: "IAPWS-IF97 region 4", Quantity: "dew point", Unit: "K", Range: "20 to 30 °C, 40 to 60 %", Kind: validation.Outside,
		Why: "printed to 0.1 K, from memory",
	}
	for _, r := range validation.Records(t, "dew.csv") {
		printed.Rows = append(printed.Rows, validation.Row{
			Name: r.Text("air_c") + " °C, " + r.Text("humidity_pct") + " %", Tol: 0.1, Key: r.Key(), Want: r.Number("dew_c"),
			Got: float64(must(DewPoint(quantity.Celsius(r.Number("air_c")), quantity.Fraction(r.Number("humidity_pct")/100)))),
		})
	}
	magnus := printed
	magnus.Range, magnus.Why, magnus.Rows = "10 to 40 °C, 60 to 95 %, against a Magnus form", "0.083 % of the pressure stated for the form: 0.02 K", nil
	for _, c := range []float64{10, 20, 30, 40} {
		for _, h := range []float64{0.6, 0.8, 0.95} {
			magnus.Rows = append(magnus.Rows, validation.Row{
				Name: fmt.Sprintf("%g °C, %g %%", c, 100*h), Tol: 0.02, Key: source.Magnus, Want: magnusDew(c, h),
				Got: float64(must(DewPoint(quantity.Celsius(c), quantity.Fraction(h)))),
			})
		}
	}
	rule := printed.Against("a fifth of a degree a per cent", "the rule of thumb, good to a degree: has to fail", func(r validation.Row) float64 {
		var c, h float64
		if _, err := fmt.Sscanf(r.Name, "%g °C, %g", &c, &h); err != nil {
			t.Fatal(err)
		}
		return c - (100-h)/5
	})
	return []validation.Table{printed, magnus, rule}
}

// magnusDew is the dew point [°C] by log10 p(hPa) = log10 6.116441 + 7.591386t/(t+240.7263),
// source key magnus.
func magnusDew(tempC, humidity float64) float64 {
	ten := math.Log10(humidity) + 7.591386*tempC/(tempC+240.7263)
	return 240.7263 / (7.591386/ten - 1)
}

// keepingRegression are values other workings of the same formulas gave.
func keepingRegression(t *testing.T) []validation.Table {
	glass := validation.Table{Model: "Gordon-Taylor", Quantity: "glass transition of plain recipes", Unit: "K", Range: "0 to 3 % water, syrup or invert",
		Kind: validation.Regression, Why: "worked with water at 138 K and not 136, and from shares that are not stated (those of the reducing sugars taken): 0.8 K"}
	critical := validation.Table{Model: "Gordon-Taylor", Quantity: "water at a glass transition of 25 and 35 °C", Unit: "% water", Range: "plain recipes",
		Kind: validation.Regression, Why: "worked with water at 138 K: below 0.1 point"}
	for _, r := range validation.Records(t, "regress-keeping.csv") {
		s := Solids{Syrup: quantity.Fraction(r.Number("syrup_pct") / 100), Invert: quantity.Fraction(r.Number("invert_pct") / 100)}
		for i, column := range []string{"glass_dry_c", "glass_2pct_c", "glass_3pct_c"} {
			water := [3]float64{0, 2, 3}[i]
			glass.Rows = append(glass.Rows, validation.Row{Name: fmt.Sprintf("%s at %g %%", r.Text("recipe"), water), Tol: 0.8, Key: r.Key(),
				Got: float64(must(GlassTransition(Mix(s, quantity.Fraction(water/100))))), Want: r.Number(column)})
		}
		for i, column := range []string{"water_pct_25c", "water_pct_35c"} {
			at := [2]float64{25, 35}[i]
			critical.Rows = append(critical.Rows, validation.Row{Name: fmt.Sprintf("%s at %g °C", r.Text("recipe"), at), Tol: 0.1, Key: r.Key(),
				Got: must(WaterAtGlass(s, quantity.Celsius(at))).Percent(), Want: r.Number(column)})
		}
	}
	sorbed := validation.Table{Model: "GAB isotherm", Quantity: "humidity over boiled sugar, 25 °C", Unit: "", Range: "2 to 10 % water",
		Kind: validation.Regression, Why: "printed to 0.001"}
	for _, r := range validation.Records(t, "regress-sorption.csv") {
		if r.Number("water_pct") < 2 {
			continue // below 10 % humidity, where the isotherm does not answer
		}
		sorbed.Rows = append(sorbed.Rows, validation.Row{Name: r.Text("water_pct") + " %", Tol: 0.0006, Key: r.Key(),
			Got: must(RoomActivity(pure(100 - r.Number("water_pct")))), Want: r.Number("water_activity")})
	}
	reducing := validation.Table{Model: "molar masses", Quantity: "reducing sugars of recipes", Unit: "% of the solids", Range: "0 to 16 % inverted",
		Kind: validation.Regression, Why: "printed to 0.01"}
	for _, r := range validation.Records(t, "regress-reducing.csv") {
		syrup := r.Number("syrup_kg") * r.Number("syrup_solids")
		dry := r.Number("sucrose_kg") + syrup
		after, gain, err := Solids{Syrup: quantity.Fraction(syrup / dry)}.Inverted(quantity.Fraction(r.Number("inverted")))
		if err != nil {
			t.Fatal(err)
		}
		reducing.Rows = append(reducing.Rows, validation.Row{Name: r.Text("recipe"), Tol: 0.006, Key: r.Key(),
			Got: after.ReducingSugars().Percent(), Want: r.Number("reducing_pct")})
		if got := dry * float64(1+gain); math.Abs(got/r.Number("dry_kg")-1) > 1e-3 {
			t.Errorf("%s: %.2f kg dry, want %.2f", r.Text("recipe"), got, r.Number("dry_kg"))
		}
	}
	heat := validation.Table{Model: "water and dry sugar side by side", Quantity: "heat given up on the slab", Unit: "kJ/kg", Range: "97 % solids, 150 to 30 °C",
		Kind: validation.Regression, Why: "\"about\" 265 kJ/kg from the same heat capacity: 5",
		Rows: []validation.Row{{Name: "150 to 30 °C", Got: must(Enthalpy(pure(97), 150)) - must(Enthalpy(pure(97), 30)), Want: 265, Tol: 5,
			Key: source.ModelSugar}}}
	return []validation.Table{glass, critical, sorbed, reducing, heat}
}
