package sugar_test

import (
	"fmt"

	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

func ExampleBoilingPoint() {
	candy := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03)
	atSea, _ := sugar.BoilingPoint(candy, quantity.StandardAtmospherePa)
	up, _ := sugar.StandardAtmosphere(1500)
	inTheHills, _ := sugar.BoilingPoint(candy, up)
	fmt.Printf("%.1f °C at the sea, %.1f °C at 1500 m\n", float64(atSea), float64(inTheHills))
	// Output: 149.2 °C at the sea, 142.9 °C at 1500 m
}

func ExampleBoilingPoint_outOfRange() {
	_, err := sugar.BoilingPoint(sugar.Mix(sugar.Solids{}, 0.001), quantity.StandardAtmospherePa)
	fmt.Println(err)
	// Output: dry solids 99.9 % is outside 0 to 99.6 %, the range of the model (starzak1997)
}

func ExampleWaterAtBoil() {
	water, _ := sugar.WaterAtBoil(sugar.Solids{Syrup: 0.4}, 150, quantity.StandardAtmospherePa)
	low, _ := sugar.WaterAtBoilWith(sugar.Solids{Syrup: 0.4}, 150, quantity.StandardAtmospherePa, -1.645)
	high, _ := sugar.WaterAtBoilWith(sugar.Solids{Syrup: 0.4}, 150, quantity.StandardAtmospherePa, 1.645)
	fmt.Printf("%s left, %s to %s\n", quantity.Plain.Percent(water, 1), quantity.Plain.Percent(low, 1), quantity.Plain.Percent(high, 1))
	// Output: 2.8 % left, 2.4 % to 3.4 %
}

func ExampleWaterActivity() {
	aw, _ := sugar.WaterActivity(sugar.Mix(sugar.Solids{}, 0.35), 103.8)
	fmt.Printf("%.2f\n", aw)
	// Output: 0.87
}

func ExampleSaturationPressure() {
	p, _ := sugar.SaturationPressure(100)
	fmt.Println(quantity.Plain.Pressure(p))
	// Output: 1014.2 hPa
}

func ExampleSaturationTemperature() {
	t, _ := sugar.SaturationTemperature(quantity.StandardAtmospherePa)
	fmt.Println(quantity.Plain.Temperature(t, 2))
	// Output: 99.97 °C
}

func ExampleStandardAtmosphere() {
	p, _ := sugar.StandardAtmosphere(305)
	fmt.Println(quantity.Plain.Pressure(p))
	// Output: 977.1 hPa
}

func ExampleGlassTransition() {
	glass, _ := sugar.GlassTransition(sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03))
	fmt.Printf("stands up to %.0f °C\n", float64(glass))
	// Output: stands up to 44 °C
}

func ExampleDensity() {
	syrup, _ := sugar.Density(sugar.Mix(sugar.Solids{}, 0.4), 20)
	fmt.Printf("%.4f kg/L\n", syrup)
	// Output: 1.2864 kg/L
}

func ExampleViscosity() {
	eta, _ := sugar.Viscosity(sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03), 80)
	fmt.Printf("%.1e Pa s\n", eta)
	// Output: 1.4e+05 Pa s
}

func ExampleTemperatureAtViscosity() {
	// Drops roll cleanly at 1e5 to 1e6 Pa s.
	m := sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03)
	soft, _ := sugar.TemperatureAtViscosity(m, 1e5)
	short, _ := sugar.TemperatureAtViscosity(m, 1e6)
	fmt.Printf("%.0f to %.0f °C\n", float64(short), float64(soft))
	// Output: 73 to 81 °C
}

func ExampleHeatCapacity() {
	m := sugar.Mix(sugar.Solids{}, 0.03)
	melt, _ := sugar.HeatCapacity(m, 140)
	glass, _ := sugar.HeatCapacity(m, 30)
	fmt.Printf("%.2f and %.2f kJ/kgK\n", melt, glass)
	// Output: 2.54 and 1.37 kJ/kgK
}

func ExampleLatentHeat() {
	water, _ := sugar.LatentHeat(sugar.Mix(sugar.Solids{}, 1), 150)
	candy, _ := sugar.LatentHeat(sugar.Mix(sugar.Solids{}, 0.03), 150)
	fmt.Printf("%.0f and %.0f kJ/kg\n", water, candy)
	// Output: 2114 and 2218 kJ/kg
}

func ExampleBoilingDownHeat() {
	q, _ := sugar.BoilingDownHeat(sugar.Solids{Syrup: 0.3}, 0.25, 0.025, quantity.StandardAtmospherePa)
	fmt.Printf("%.0f kJ per kg of dry sugar\n", q)
	// Output: 823 kJ per kg of dry sugar
}

func ExampleConductivity() {
	c, _ := sugar.Conductivity(sugar.Mix(sugar.Solids{}, 0.03), 100)
	fmt.Printf("%.2f W/mK\n", c)
	// Output: 0.33 W/mK
}

func ExamplePropertiesOf() {
	p, _ := sugar.PropertiesOf(sugar.State{
		Mixture: sugar.Mix(sugar.Solids{Syrup: 0.4}, 0.03), At: 100, Pressure: quantity.StandardAtmospherePa,
	})
	fmt.Printf("boils at %.1f °C (%.1f to %.1f)\n", p.BoilingC.Value, p.BoilingC.Low, p.BoilingC.High)
	for _, c := range p.Cautions {
		fmt.Println(c.Text)
	}
	// Output:
	// boils at 149.2 °C (146.8 to 152.1)
	// no measurement checks the viscosity of sugar this dry: take it as right to a factor of three
}

func ExampleSolids_Inverted() {
	s := sugar.Solids{Syrup: 0.3}
	after, gain, _ := s.Inverted(0.05)
	fmt.Printf("reducing sugars %s, then %s; 1 kg of dry sugar gains %.1f g\n", quantity.Plain.Percent(s.ReducingSugars(), 1),
		quantity.Plain.Percent(after.ReducingSugars(), 1), 1000*float64(gain))
	// Output: reducing sugars 12.6 %, then 16.3 %; 1 kg of dry sugar gains 1.8 g
}

func ExampleSpectrum_DE() {
	fmt.Printf("%.0f DE\n", sugar.Spectrum{Dextrose: 0.19, Maltose: 0.14, Maltotriose: 0.11}.DE())
	// Output: 40 DE
}

func ExampleEnthalpy() {
	m := sugar.Mix(sugar.Solids{}, 0.03)
	hot, _ := sugar.Enthalpy(m, 150)
	cool, _ := sugar.Enthalpy(m, 30)
	fmt.Printf("%.0f kJ/kg\n", hot-cool)
	// Output: 269 kJ/kg
}

func ExampleStickyHumidity() {
	doctored, _ := sugar.StickyHumidity(sugar.Solids{Syrup: 0.4}, 25)
	tartar, _ := sugar.StickyHumidity(sugar.Solids{Invert: 0.16}, 25)
	fmt.Printf("with syrup above %s humidity, with 16 %% invert above %s\n", quantity.Plain.Percent(doctored, 0), quantity.Plain.Percent(tartar, 0))
	// Output: with syrup above 33 % humidity, with 16 % invert above 22 %
}

func ExampleWaterAtGlass() {
	water, _ := sugar.WaterAtGlass(sugar.Solids{Syrup: 0.4}, 25)
	fmt.Println(quantity.Plain.Percent(water, 1))
	// Output: 5.7 %
}

func ExampleRoomActivity() {
	a, _ := sugar.RoomActivity(sugar.Mix(sugar.Solids{}, 0.03))
	fmt.Printf("%.2f\n", a)
	// Output: 0.18
}

func ExampleSyrupActivity() {
	a, _ := sugar.SyrupActivity(sugar.Mix(sugar.Solids{}, 0.325))
	fmt.Printf("%.2f over saturated syrup\n", a)
	// Output: 0.85 over saturated syrup
}

func ExampleDewPoint() {
	dew, _ := sugar.DewPoint(25, 0.5)
	fmt.Printf("%.1f °C\n", float64(dew))
	// Output: 13.9 °C
}
