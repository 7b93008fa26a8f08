package hottest

import "math"

// candy is sugar on a slab as a room has it.
type candy struct {
	density  float64 // kg/m³
	conducts float64 // W/(m K)
	glassC   float64
	thicker  float64 // decades
	heat     table
}

// What sugar and syrup are taken for: the glass transition by Gordon and Taylor, the line
// of Vogel, Fulcher and Tammann through it (source key model-sugar).
const (
	kelvin      = 273.15
	waterGlassK = 136.0
	sugarGlassK = 335.15
	syrupGlassK = 358.15
	gordon      = 4.7
	vogelFrom   = -4.8
	vogelD      = 7.5
	vogelShare  = 0.8376
)

// glassOf returns the glass transition of sugar and syrup with so much water [°C].
func glassOf(syrup, water float64) float64 {
	dry := 1 / ((1-syrup)/sugarGlassK + syrup/syrupGlassK)
	return ((1-water)*dry+gordon*water*waterGlassK)/(1-water+gordon*water) - kelvin
}

// meanHeat is the heat capacity of candy in the middle of 80 to 140 °C [J/(kg K)] by
// water and dry sugar side by side (source key model-sugar).
func meanHeat(water float64) float64 { return 4190*water + (1-water)*(1830+5.5*(110-20)) }

// newCandy returns candy whose heat capacity is the two-level curve (source key
// model-heat), made larger so that its mean over 80 to 140 °C is a given one.
//
//	c = s {1400 + 1.8 (T − 25) + 225 [1 + tanh((T − T_g)/8)]}
func newCandy(density, conducts, glassC, thicker, mean float64) candy {
	enthalpy := func(t float64) float64 {
		x := math.Abs((t - glassC) / 8)
		return 1355*t + 0.9*t*t + 225*(t+8*(x+math.Log1p(math.Exp(-2*x))))
	}
	s := mean * 60 / (enthalpy(140) - enthalpy(80))
	return candy{density, conducts, glassC, thicker, newTable(func(t float64) float64 { return s * enthalpy(t) })}
}

// at returns the temperature at which the candy is so thick [°C].
func (c *candy) at(decades float64) float64 {
	t0 := vogelShare * (c.glassC + kelvin)
	return t0 + vogelD*t0/math.Ln10/(decades-c.thicker-vogelFrom) - kelvin
}

// table is a temperature by enthalpy, at even steps of enthalpy.
type table struct {
	from, step float64 // J/kg
	tempC      []float64
}

// The table's ends [°C] and its nodes.
const (
	tableFrom, tableTo = 5.0, 175.0
	tableNodes         = 700
)

func newTable(enthalpy func(float64) float64) table {
	low, high := enthalpy(tableFrom), enthalpy(tableTo)
	t := table{low, (high - low) / (tableNodes - 1), make([]float64, tableNodes)}
	at := tableFrom
	for i := range t.tempC {
		want := low + float64(i)*t.step
		for range 4 {
			at += (want - enthalpy(at)) * 1e-3 / (enthalpy(at+5e-4) - enthalpy(at-5e-4))
		}
		t.tempC[i] = at
	}
	return t
}

// temp returns the temperature at an enthalpy [°C] and what it takes by kelvin [J/(kg K)].
func (t *table) temp(h float64) (tempC, capacity float64) {
	place := (h - t.from) / t.step
	i := min(max(int(place), 0), tableNodes-2)
	rise := t.tempC[i+1] - t.tempC[i]
	return t.tempC[i] + (place-float64(i))*rise, t.step / rise
}

// enthalpy returns the enthalpy at a temperature [J/kg].
func (t *table) enthalpy(tempC float64) float64 {
	low, high := 0, tableNodes-1
	for high-low > 1 {
		if mid := (low + high) / 2; t.tempC[mid] <= tempC {
			low = mid
		} else {
			high = mid
		}
	}
	return t.from + t.step*(float64(low)+(tempC-t.tempC[low])/(t.tempC[high]-t.tempC[low]))
}
