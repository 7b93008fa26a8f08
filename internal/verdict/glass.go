package verdict

import (
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// glass returns the glass transition of a mixture in this room [°C] and one standard
// deviation of it [K]: the model's, as far as records have not moved it.
func (in Inputs) glass(m sugar.Mixture) (t, sd float64, err error) {
	c, err := sugar.GlassTransition(m)
	sd = float64(sugar.GlassSD(m))
	return float64(c) + in.Boil.Stands.Mean*sd, in.Boil.Stands.SD * sd, err
}

// waterAtGlass returns the water with which solids stand up to t [°C] and no more, z
// standard deviations to the good.
func (in Inputs) waterAtGlass(s sugar.Solids, t, z float64) (float64, error) {
	sd := float64(sugar.GlassSD(sugar.Mix(s, 0))) // the same whatever the water
	w, err := sugar.WaterAtGlass(s, q.Celsius(t-(in.Boil.Stands.Mean+z*in.Boil.Stands.SD)*sd))
	return float64(w), err
}
