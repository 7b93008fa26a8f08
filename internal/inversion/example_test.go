package inversion_test

import (
	"fmt"

	"slabside/internal/inversion"
	"slabside/internal/numeric"
	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

// curve is a boil of sucrose at sea level that loses water evenly from 30 % to the
// water of 150 °C in the given minutes, as a kettle's firing gives it, and the hot
// table after it.
func curve(minutes float64) []inversion.Point {
	const parts = 64
	end, _ := sugar.WaterAtBoil(sugar.Solids{}, 150, quantity.StandardAtmospherePa)
	perSolids := func(w quantity.Fraction) float64 { return float64(w) / float64(1-w) }
	var points []inversion.Point
	for i := range parts + 1 {
		part := float64(i) / parts
		wet := perSolids(0.30) + part*(perSolids(end)-perSolids(0.30))
		water := quantity.Fraction(wet / (1 + wet))
		at, _ := sugar.BoilingPoint(sugar.Mix(sugar.Solids{}, water), quantity.StandardAtmospherePa)
		points = append(points, inversion.Point{Seconds: 60 * minutes * part, Temp: at, Water: water})
	}
	return append(points, inversion.Point{Seconds: 60*minutes + 240, Temp: 90, Water: end})
}

// The door for a boil: what goes into the kettle, the shop's water and the curve of the
// firing give what is inverted, with its range, its cautions and the solids after it.
func Example() {
	const sucrose, water, tartar = 6.35, 2.1, 0.00953 // 14 lb, a third of water, 0.15 %
	alkali, _ := inversion.Alkali(water, inversion.AsCalcium(100), sucrose)
	boil := inversion.Boil{
		Dry: sucrose,
		Bath: inversion.Bath{
			Doses:  []inversion.Dose{{Acid: inversion.CreamOfTartar(), Mass: tartar}},
			Alkali: alkali,
		},
	}
	points := curve(20)
	out, err := boil.Along(points)
	if err != nil {
		fmt.Println(err)
		return
	}
	// The water is not measured: ±20 mg/L of it.
	worlds, _ := boil.Draws(points, numeric.NewEnsemble(numeric.Draws, 1), inversion.Priors{
		AlkaliSD: float64(inversion.AsCalcium(20)) * water / 1000,
	})
	spread, _ := numeric.Summarise(worlds)
	glass := func(s sugar.Solids) quantity.Celsius {
		t, _ := sugar.GlassTransition(sugar.Mix(s, 0.03))
		return t
	}
	fmt.Printf("%s of the sucrose inverted, %s to %s, pH %.1f at the end\n", quantity.Plain.Percent(out.Inverted, 0),
		quantity.Plain.Percent(quantity.Fraction(spread.Low), 0), quantity.Plain.Percent(quantity.Fraction(spread.High), 0), out.EndPH)
	fmt.Printf("the dry sugar grows by %.0f g, and stands up to %.0f °C, not %.0f\n", 1000*float64(out.Bound),
		float64(glass(out.Solids)), float64(glass(boil.Solids)))
	for _, c := range out.Cautions() {
		fmt.Println(c.Code)
	}
	// Output:
	// 20 % of the sucrose inverted, 11 % to 36 %, pH 3.6 at the end
	// the dry sugar grows by 68 g, and stands up to 27 °C, not 37
	// inversion-unchecked
}

func ExampleBath_PH() {
	tartar := inversion.Bath{Doses: []inversion.Dose{{Acid: inversion.CreamOfTartar(), Mass: 0.0064}}}
	soft, _ := tartar.PH(1)
	tartar.Alkali = 0.010
	hard, _ := tartar.PH(1)
	fmt.Printf("pH %.2f, in hard water %.2f\n", soft, hard)
	// Output: pH 3.56, in hard water 3.90
}

func ExampleCookBack() {
	for n := 1; n <= 3; n++ {
		share, _ := inversion.CookBack(0.10, 0.12, n)
		fmt.Printf("boil %d: %s\n", n, quantity.Plain.Percent(share, 2))
	}
	limit, _ := inversion.CookBackLimit(0.10, 0.12)
	fmt.Printf("in the end: %s\n", quantity.Plain.Percent(limit, 2))
	// Output:
	// boil 1: 12 %
	// boil 2: 13.06 %
	// boil 3: 13.15 %
	// in the end: 13.16 %
}
