package web

import (
	"slabside/internal/app"
	q "slabside/internal/quantity"
)

// stepRow is one of the boil's own steps.
type stepRow struct{ After, What, Read, Water string }

// addCourse shows a boil in time: its steps, temperature over the minutes, water
// over the temperature.
func (v *recipeView) addCourse(u q.Reader, c *app.Course) {
	if c == nil {
		return
	}
	degrees, unit := func(x q.Number) float64 { return float64(x) }, "°C"
	if u.US() {
		degrees, unit = func(x q.Number) float64 { return q.Celsius(x).Fahrenheit() }, "°F"
	}
	var time, water, dots []curvePoint
	for _, p := range c.Points {
		time = append(time, curvePoint{x: float64(p.AtS) / 60, y: degrees(p.TrueC)})
		if n := len(water); n == 0 || degrees(p.TrueC) > water[n-1].x {
			water = append(water, curvePoint{x: degrees(p.TrueC), y: 100 * float64(p.WaterFrac)})
		}
	}
	boils := q.Number(0)
	for _, s := range c.Steps {
		v.Steps = append(v.Steps, stepRow{q.Span(float64(s.AtS)), s.What, s.Read, u.Percent(q.Fraction(s.WaterFrac), 1)})
		label := map[string]string{"boils": "boils", "hold": "cannot wait", "lift": "flame off"}[s.Step]
		if label != "" {
			dots = append(dots, curvePoint{float64(s.AtS) / 60, degrees(s.TrueC), label})
		}
		if s.Step == "boils" {
			boils = s.TrueC
		}
	}
	n := 0
	for n < len(water)-1 && water[n].x < degrees(boils) {
		n++
	}
	v.Curves = []curve{
		drawCurve("True temperature of the sugar over the minutes since the flame was lit; its steps stand in the table", "minutes since flame up", "true, "+unit, u, time, dots),
		drawCurve("Water in the kettle over the true temperature, from the boil on; its steps stand in the table", "true, "+unit, "water, %", u, water[n:], nil),
	}
}
