package heat

import (
	"math"

	"slabside/internal/fault"
)

// A Curve is the enthalpy of matter against its temperature, as a table that is read in
// either direction. Between the ends it was made for it is straight from node to node,
// within 0.005 K of the function it was made of where that is as smooth as a glass
// transition of 20 K, and within 0.06 K at a kink (both measured over 180 K); beyond them
// it goes on with the slope of the last two nodes, so whoever makes it takes the ends wide
// enough.
type Curve struct {
	firstJ, perNode float64 // J/kg of the first node and between two
	nodesPerJ       float64
	tempC           []float64
}

// nodes is how many temperatures a curve holds.
const nodes = 192

// NewCurve tabulates an enthalpy [J/kg] between two temperatures [°C]. The enthalpy must
// rise with the temperature; anything else is an invalid fault.
func NewCurve(lowC, highC float64, enthalpy func(tempC float64) float64) (*Curve, error) {
	if !(highC > lowC) {
		return nil, fault.Invalid("an enthalpy between %g and %g °C has no length", lowC, highC)
	}
	temps, heats := make([]float64, nodes), make([]float64, nodes)
	for i := range nodes {
		temps[i] = lowC + (highC-lowC)*float64(i)/(nodes-1)
		heats[i] = enthalpy(temps[i])
		if i > 0 && !(heats[i] > heats[i-1]) {
			return nil, fault.Invalid("the enthalpy does not rise from %.4g to %.4g °C", temps[i-1], temps[i])
		}
	}
	c := &Curve{firstJ: heats[0], perNode: (heats[nodes-1] - heats[0]) / (nodes - 1), tempC: make([]float64, nodes)}
	c.nodesPerJ = 1 / c.perNode
	if math.IsInf(c.perNode, 0) || math.IsInf(c.nodesPerJ, 0) {
		return nil, fault.Invalid("the enthalpy is not finite between %g and %g °C", lowC, highC)
	}
	for i, k := 0, 0; i < nodes; i++ {
		at := c.firstJ + float64(i)*c.perNode
		for k < nodes-2 && heats[k+1] < at {
			k++
		}
		part := (at - heats[k]) / (heats[k+1] - heats[k])
		c.tempC[i] = temps[k] + part*(temps[k+1]-temps[k])
	}
	return c, nil
}

// ConstantHeat returns the curve of matter whose heat capacity [J/(kg K)] is the same at
// all temperatures; its enthalpy is counted from 0 °C.
func ConstantHeat(capacity float64) *Curve {
	return &Curve{perNode: capacity, nodesPerJ: 1 / capacity, tempC: []float64{0, 1}}
}

// Temp returns the temperature [°C] at an enthalpy [J/kg].
func (c *Curve) Temp(enthalpy float64) float64 {
	t, _ := c.at(enthalpy)
	return t
}

// at returns the temperature [°C] at an enthalpy [J/kg], and by how much it rises with
// it [K kg/J].
func (c *Curve) at(enthalpy float64) (tempC, perJ float64) {
	place, i := (enthalpy-c.firstJ)*c.nodesPerJ, 0
	switch last := len(c.tempC) - 2; {
	case place >= float64(last): // before it is made an int, which has an end
		i = last
	case place > 0:
		i = int(place)
	}
	rise := c.tempC[i+1] - c.tempC[i]
	return c.tempC[i] + (place-float64(i))*rise, rise * c.nodesPerJ
}

// Enthalpy returns the enthalpy [J/kg] at a temperature [°C].
func (c *Curve) Enthalpy(tempC float64) float64 {
	low, high := 0, len(c.tempC)-1
	for high-low > 1 {
		if mid := (low + high) / 2; c.tempC[mid] <= tempC {
			low = mid
		} else {
			high = mid
		}
	}
	part := (tempC - c.tempC[low]) / (c.tempC[low+1] - c.tempC[low])
	return c.firstJ + (float64(low)+part)*c.perNode
}

// Capacity returns the heat capacity [J/(kg K)] at a temperature [°C].
func (c *Curve) Capacity(tempC float64) float64 {
	_, perJ := c.at(c.Enthalpy(tempC))
	return 1 / perJ
}

// Matter is what a layer is of.
type Matter struct {
	Heat    *Curve
	Density float64 // kg/m³
	K, KPer float64 // conductivity K + KPer · T [W/(m K), T in °C]
}

// conductivity is that of the matter at a temperature [W/(m K)].
func (m *Matter) conductivity(tempC float64) float64 { return m.K + m.KPer*tempC }

// Effusivity returns √(k ρ c) at a temperature [J/(m² K √s)]: how strongly it pulls the
// temperature of what it touches towards its own.
func (m Matter) Effusivity(tempC float64) float64 {
	return math.Sqrt(m.conductivity(tempC) * m.Density * m.Heat.Capacity(tempC))
}
