package keeping

import (
	"math"

	"slabside/internal/bag"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/source"
	"slabside/internal/sugar"
)

// film is what a material passes at 38 °C and 90 % humidity [g/m² in a day], and how.
type film struct {
	low, high float64 // 5 % and 95 % points
	thick     float64 // m that it is of; what it passes goes down as it grows thicker
	coating   bool    // a coat or foil holds the water back: the thickness does not count
	barrier   float64 // activation energy of the permeance [J/mol], from memory
	key       source.Key
}

// films is the table of source key biosystems, 25 µm, at 38 °C and 90 % humidity, in its
// own low and high; and beside it, from memory, what it does not hold: see key packaging.
// A foil laminate is as creased by filling.
func films() map[bag.Film]film {
	const um = 1e-6
	return map[bag.Film]film{
		bag.LowPE:           {15.75, 31.5, 25 * um, false, barrierPE, source.Biosystems},
		bag.HighPE:          {4.72, 9.45, 25 * um, false, barrierPE, source.Biosystems},
		bag.CastPP:          {9.45, 11.02, 25 * um, false, barrierPP, source.Biosystems},
		bag.OrientedPP:      {3.15, 7.87, 25 * um, false, barrierPP, source.Biosystems},
		bag.Polyester:       {15.75, 31.5, 25 * um, false, barrierPET, source.Biosystems},
		bag.PVC:             {31.5, 78.74, 25 * um, false, barrierPET, source.Biosystems},
		bag.MetalPolyester:  {0.7, 2.0, 12 * um, true, barrierMetal, source.Packaging},
		bag.FoilLaminate:    {0.025, 0.10, 90 * um, true, barrierPE, source.Packaging},
		bag.CoatedCellulose: {7, 20, 22.5 * um, true, barrierPE, source.Packaging},
		bag.PlainCellulose:  {500, 2000, 22.5 * um, true, barrierPET, source.Packaging},
		bag.WaxedPaper:      {5, 60, 50 * um, true, barrierPE, source.Packaging},
		bag.UncoatedPaper:   {1000, 4000, 80 * um, true, barrierPET, source.Packaging},
	}
}

// Activation energies of permeance [J/mol] (source key packaging, from memory): of
// polyethylene, polypropylene and polyester as quoted; a coated film's is taken in
// between, and a film without one is given the nearest in kind.
const (
	barrierPE    = 33.5e3
	barrierPP    = 42.3e3
	barrierPET   = 2.9e3
	barrierMetal = 20e3
)

// Where films are tested, and the errors of a wall.
const (
	testC        = 38.0
	testHumidity = 0.9

	gasConstant = 8.314462618 // J/(mol K)

	ninety = 1.6448536269514722 // the standard-normal 95 % point

	// filmHalf is the least ± of what a wall passes before it has been weighed, weighedHalf
	// after (judgement): pinholes, creases and seals no table knows; bags of one delivery.
	filmHalf    = 0.40
	weighedHalf = 0.15

	areaMeasured = 0.05 // ± of an area from width and height: the seal and the folds
	areaGuessed  = 0.25 // ± of one from the net weight

	lidLow, lidHigh = 0.5, 10.0 // mg of water a day past a lid (source key packaging, from memory, of little confidence)
	lidHalf         = 0.50      // ± of a leak that was measured
	lidC            = 25.0      // where a leak is measured: dry inside, half full of vapour outside
	lidHumidity     = 0.5
)

// sheet is one layer as the ensemble draws it, at the test's temperature.
type sheet struct {
	permeance float64 // g/(m² day kPa), the geometric middle
	spread    float64 // standard deviation of its logarithm
	barrier   float64 // J/mol
}

// wall is what stands between sweets and store: sheets one behind the other over an
// area, or the leak of a lid.
type wall struct {
	sheets     []sheet
	areaM2     float64
	areaSpread float64 // standard deviation of its logarithm
	lid        *sheet  // its permeance times its area [g/(day kPa)]
	keys       []source.Key
}

// wallOf works a pack's wall out.
func wallOf(p bag.Pack, net q.Kilograms) (wall, error) {
	var w wall
	if p.Closure == bag.Lid {
		low, high := lidLow, lidHigh
		if p.Leak > 0 {
			low, high = p.Leak/(1+lidHalf), p.Leak*(1+lidHalf)
		}
		p0, err := pressureKPa(lidC)
		if err != nil {
			return w, err
		}
		w.lid = &sheet{math.Sqrt(low*high) / 1e3 / (p0 * lidHumidity), spreadOf(low, high), barrierPE}
		w.keys = append(w.keys, source.Packaging)
	}
	test, err := pressureKPa(testC)
	if err != nil {
		return w, err
	}
	for _, l := range p.Layers {
		f, ok := films()[l.Film]
		if !ok {
			return w, fault.NotFound("there is no film %q", fault.Clip(string(l.Film), fault.Echo)).At("layer")
		}
		low, high := f.low, f.high
		switch {
		case l.Passes > 0:
			low, high = l.Passes, l.Passes
		case l.Thickness > 0 && !f.coating:
			low, high = low*f.thick/float64(l.Thickness), high*f.thick/float64(l.Thickness)
		}
		s := sheet{math.Sqrt(low*high) / (test * testHumidity), math.Max(spreadOf(low, high), math.Log(1+filmHalf)/ninety), f.barrier}
		w.sheets = append(w.sheets, s)
		w.keys = append(w.keys, f.key)
	}
	w.area(p, net)
	return w, nil
}

// spreadOf returns the standard deviation of a logarithm with the 5 % and 95 % points.
func spreadOf(low, high float64) float64 { return math.Log(high/low) / 2 / ninety }

// area sets both sides of the flat bag; of one nobody measured, that of a bag in shape
// like one of 33 dm² a kg at 250 g (a usual flat bag of drops; judgement).
func (w *wall) area(p bag.Pack, net q.Kilograms) {
	w.areaM2, w.areaSpread = 2*float64(p.Width)*float64(p.Height), math.Log(1+areaMeasured)/ninety
	if w.areaM2 == 0 {
		const of, m2 = 0.25, 0.066
		w.areaM2, w.areaSpread = m2*math.Pow(float64(net)/of, 2.0/3), math.Log(1+areaGuessed)/ninety
	}
}

// warm is what a permeance is multiplied by at a temperature, by Arrhenius.
func (s sheet) warm(at q.Celsius) float64 {
	from := q.Celsius(testC)
	return math.Exp(-s.barrier / gasConstant * (1/at.Kelvin() - 1/from.Kelvin()))
}

// passes returns P A at a temperature [g/(day kPa)]; of draws the errors of each sheet,
// the area and the lid in standard deviations, nil for the middle figure.
func (w wall) passes(at q.Celsius, draw func(i int) float64) float64 {
	if draw == nil {
		draw = func(int) float64 { return 0 }
	}
	total, resist := 0.0, 0.0
	for i, s := range w.sheets {
		resist += 1 / (s.permeance * s.warm(at) * math.Exp(s.spread*draw(i)))
	}
	if resist > 0 {
		total = w.areaM2 * math.Exp(w.areaSpread*draw(len(w.sheets))) / resist
	}
	if w.lid != nil {
		// A lid's leak is measured warm, as its own temperature has it.
		cold := w.lid.warm(at) / w.lid.warm(lidC)
		total += w.lid.permeance * cold * math.Exp(w.lid.spread*draw(len(w.sheets)+1))
	}
	if total == 0 { // nothing is known but that it was weighed; see [fit]
		total = sheet{permeance: 1, barrier: barrierPE}.warm(at)
	}
	return total
}

// unknown reports whether nothing of the wall is stated.
func (w wall) unknown() bool { return w.lid == nil && len(w.sheets) == 0 }

// most is how many times its middle figure a wall passes at the 95 % point of what is
// published of its kind; infinite of one that nothing is known of.
func (w wall) most() float64 {
	variance := w.areaSpread * w.areaSpread
	for _, s := range w.sheets {
		variance = math.Max(variance, w.areaSpread*w.areaSpread+s.spread*s.spread)
	}
	if w.lid != nil {
		variance = math.Max(variance, w.lid.spread*w.lid.spread)
	} else if w.unknown() {
		return math.Inf(1)
	}
	return math.Exp(ninety * math.Sqrt(variance))
}

// pressureKPa is the pressure of saturated steam [kPa].
func pressureKPa(at q.Celsius) (float64, error) {
	p, err := sugar.SaturationPressure(at)
	return float64(p) / 1e3, err
}
