package heat

import (
	"math"

	"slabside/internal/fault"
)

// A Face is what a stack's outer side gives its heat to. Its parts add up; a face of
// none of them is insulated.
type Face struct {
	AmbientC   float64 // of the air or the water, and of the walls that it radiates to
	Film       float64 // W/(m² K); +Inf: the side is held at AmbientC
	Length     float64 // m, area by perimeter of a side that looks up: free convection of air; 0: none
	Stir       float64 // factor of the free convection, as by a fan; 0: 1
	Emissivity float64 // of the side, to walls that surround it; 0: it does not radiate
	Flux       float64 // W/m² into the stack besides
}

// coefficient is what the face takes by kelvin at a temperature of the side, and about by
// how much what it takes grows with it [W/(m² K)].
func (f *Face) coefficient(sideC float64) (h, slope float64) {
	h, slope = f.Film, f.Film
	if f.Length > 0 {
		free, grows := freeConvection(sideC, f.AmbientC, f.Length)
		if f.Stir > 0 {
			free, grows = free*f.Stir, grows*f.Stir
		}
		h, slope = h+free, slope+grows
	}
	if f.Emissivity > 0 {
		t := sideC + zeroC
		h, slope = h+Radiation(sideC, f.AmbientC, f.Emissivity), slope+4*f.Emissivity*stefan*t*t*t
	}
	return h, slope
}

// check refuses a face that is none.
func (f *Face) check(name string) error {
	const most = math.MaxFloat64
	for _, c := range []struct {
		what        string
		v, low, top float64
		give        string
	}{
		{"temperature", f.AmbientC, -zeroC, most, "degrees Celsius above absolute zero"},
		{"film", f.Film, 0, math.Inf(1), "zero or more"},
		{"length", f.Length, 0, most, "zero or more"},
		{"stir", f.Stir, 0, most, "zero or more"},
		{"emissivity", f.Emissivity, 0, 1, "from zero to one"},
		{"flux", f.Flux, -most, most, "a number"},
	} {
		if !(c.v >= c.low && c.v <= c.top) {
			return fault.Invalid("the %s of the %s side is %g: give %s", c.what, name, c.v, c.give)
		}
	}
	return nil
}

// zeroC is the ice point [K]; stefan the Stefan-Boltzmann constant [W/(m² K⁴)] (CODATA
// 2018, exact from the SI's own; source key codata2018).
const (
	zeroC  = 273.15
	stefan = 5.670374419e-8
)

// Radiation returns the radiative coefficient of a grey side to walls that surround it
// [W/(m² K)],
//
//	h = ε σ (T + T_w) (T² + T_w²)
func Radiation(sideC, wallsC, emissivity float64) float64 {
	t, w := sideC+zeroC, wallsC+zeroC
	return emissivity * stefan * (t + w) * (t*t + w*w)
}

// FreeConvection returns the coefficient of free convection of air from a warm side that
// looks up [W/(m² K)], for a length of area by perimeter [m]:
//
//	Nu = 0.54 Ra^1/4 (to Ra 10⁷), 0.15 Ra^1/3 beyond
//
// The two cross at Ra = 4.7·10⁶ and the larger holds, so that there is no step. A side
// that is colder than the air, over which the air lies still, keeps the coefficient of
// one that is as much warmer: too much by half, of next to nothing.
//
// Range: Ra 10⁴ to 10¹¹; error about 10 %. Reference: source keys mcadams1954 and lloyd-moran1974.
func FreeConvection(sideC, airC, length float64) float64 {
	h, _ := freeConvection(sideC, airC, length)
	return h
}

// freeConvection is that, and by how much what it takes grows with the side's
// temperature: by the law's power of the difference, less by the power of the film's
// temperature that the properties of air come to.
func freeConvection(sideC, airC, length float64) (h, slope float64) {
	a := airAt((sideC + airC) / 2)
	const gravity = 9.80665
	warmer := math.Abs(sideC - airC)
	ra := gravity / a.filmK * warmer * length * length * length / (a.viscosity * a.diffusivity)
	if ra < cross {
		h = 0.54 * math.Sqrt(math.Sqrt(ra)) * a.conductivity / length
		return h, h * (1.25 - 0.17*warmer/a.filmK)
	}
	h = 0.15 * math.Cbrt(ra) * a.conductivity / length
	return h, h * (4.0/3 - 0.35*warmer/a.filmK)
}

// cross is the Rayleigh number at which both laws of free convection agree,
// (0.54/0.15)¹².
const cross = 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6 * 3.6

// air is dry air at about one atmosphere.
type air struct {
	filmK                  float64
	conductivity           float64 // W/(m K)
	viscosity, diffusivity float64 // m²/s
}

// airAt returns air at a temperature: viscosity and conductivity by Sutherland's law
// (White's constants, from memory), density that of an ideal gas, a heat capacity of
// 1007 J/(kg K); within 2.5 % of source key incropera, table A.4, from 250 to 450 K.
func airAt(tempC float64) air {
	const (
		pressure, gas           = 101325.0, 287.05
		mu0, k0, zero           = 1.716e-5, 0.0241, 273.15
		viscosityS, conductingS = 110.4, 194.0
		capacity                = 1007.0
	)
	t := tempC + zeroC
	ratio := math.Sqrt(t/zero) * t / zero
	density := pressure / (gas * t)
	k := k0 * ratio * (zero + conductingS) / (t + conductingS)
	return air{filmK: t, conductivity: k, diffusivity: k / (density * capacity),
		viscosity: mu0 * ratio * (zero + viscosityS) / ((t + viscosityS) * density)}
}
