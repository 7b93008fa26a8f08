package sugar

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/validation"
)

func steamTables(t *testing.T) []validation.Table {
	official := validation.Table{
		Model: "IAPWS-IF97 region 4", Quantity: "saturation pressure and temperature", Unit: "%", Relative: true,
		Range: "300 to 600 K, 0.1 to 10 MPa", Kind: validation.Outside,
		Why: "half a unit of the last digit printed in the release",
	}
	for _, r := range validation.Records(t, "if97.csv") {
		at, got := r.Number("at"), 0.0
		if r.Text("find") == "pressure" {
			got = float64(must(SaturationPressure(quantity.FromKelvin(at)))) / 1e6
		} else {
			got = must(SaturationTemperature(quantity.Pascals(at * 1e6))).Kelvin()
		}
		official.Rows = append(official.Rows, validation.Row{
			Name: r.Text("find") + " at " + r.Text("at"), Got: got, Want: r.Number("value"),
			Tol: halfDigit(t, r.Text("value")) / r.Number("value"), Key: r.Key(),
		})
	}
	other := validation.Table{
		Model: "IAPWS-IF97 region 4", Quantity: "saturation pressure", Unit: "%", Relative: true,
		Range: "20 to 170 °C against the Wagner-Pruss equation", Kind: validation.Outside,
		Why: "another published equation, coefficients from memory, said to agree within 0.02 %",
	}
	for c := 20.0; c <= 170; c += 10 {
		other.Rows = append(other.Rows, validation.Row{
			Name: fmt.Sprintf("%g °C", c), Got: float64(must(SaturationPressure(quantity.Celsius(c)))),
			Want: wagnerPruss(c + 273.15), Tol: 2e-4, Key: source.WagnerPruss,
		})
	}
	// Antoine's two branches, mmHg, constants from memory.
	antoine := other.Against("Antoine", "three constants a branch, said to agree within 0.8 %: has to fail", func(r validation.Row) float64 {
		var c float64
		if _, err := fmt.Sscanf(r.Name, "%g °C", &c); err != nil {
			t.Fatal(err)
		}
		if c <= 100 {
			return 133.322 * math.Pow(10, 8.07131-1730.63/(233.426+c))
		}
		return 133.322 * math.Pow(10, 8.14019-1810.94/(244.485+c))
	})
	return []validation.Table{official, other, antoine}
}

// wagnerPruss is the vapour pressure of water [Pa] by the auxiliary equation of
// Wagner & Pruss 1993, coefficients from memory.
func wagnerPruss(tempK float64) float64 {
	const criticalK, criticalPa = 647.096, 22.064e6
	v := 1 - tempK/criticalK
	sum := -7.85951783*v + 1.84408259*math.Pow(v, 1.5) - 11.7866497*math.Pow(v, 3) +
		22.6807411*math.Pow(v, 3.5) - 15.9618719*math.Pow(v, 4) + 1.80122502*math.Pow(v, 7.5)
	return criticalPa * math.Exp(criticalK/tempK*sum)
}

// halfDigit is half a unit of the last digit a number is printed with.
func halfDigit(t *testing.T, printed string) float64 {
	t.Helper()
	if _, err := strconv.ParseFloat(printed, 64); err != nil {
		t.Fatal(err)
	}
	point := strings.IndexByte(printed, '.')
	if point < 0 {
		return 0.5
	}
	return 0.5 * math.Pow(10, -float64(len(printed)-point-1))
}

func atmosphereTables(t *testing.T) []validation.Table {
	table := validation.Table{
		Model: "standard atmosphere", Quantity: "pressure", Unit: "Pa", Range: "−610 to 5000 m", Kind: validation.Outside,
		Why: "the barometric formula from the standard's own constants (288.15 K, 6.5 K/km, 9.80665 m/s², 287.05287 J/kgK); " +
			"the short formula's rounded constants cost a few hundredths of a pascal",
	}
	for _, h := range []float64{-610, 0, 250, 305, 500, 1000, 1500, 2000, 3000, 4000, 5000} {
		table.Rows = append(table.Rows, validation.Row{
			Name: fmt.Sprintf("%g m", h), Got: float64(must(StandardAtmosphere(quantity.Metres(h)))),
			Want: 101325 * math.Pow(1-0.0065*h/288.15, 9.80665/(287.05287*0.0065)), Tol: 0.05, Key: source.ISO2533,
		})
	}
	var height float64
	level := table.Against("one temperature to the top", "air of 288.15 K at every height: has to fail", func(r validation.Row) float64 {
		if _, err := fmt.Sscanf(r.Name, "%g m", &height); err != nil {
			t.Fatal(err)
		}
		return 101325 * math.Exp(-9.80665*height/(287.05287*288.15))
	})
	// The kitchen rule says that water boils 1 °C lower for every 305 m (1000 ft).
	rule := validation.Table{
		Model: "standard atmosphere with IAPWS-IF97", Quantity: "boiling point of water", Unit: "K",
		Range: "305 to 3050 m against 1 °C in 305 m", Kind: validation.Doubtful,
		Why: "a rule of thumb in whole degrees: half a degree",
	}
	sea := must(SaturationTemperature(must(StandardAtmosphere(0))))
	for _, steps := range []float64{1, 2, 4, 6, 8, 10} {
		got := must(SaturationTemperature(must(StandardAtmosphere(quantity.Metres(304.8 * steps)))))
		rule.Rows = append(rule.Rows, validation.Row{
			Name: fmt.Sprintf("%g m", 305*steps), Got: float64(got.Minus(sea)), Want: -steps, Tol: 0.5, Key: source.Practice,
		})
	}
	return []validation.Table{table, level, rule}
}
