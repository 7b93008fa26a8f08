package inversion

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Point is a moment of a boil, or of the cooling after it.
type Point struct {
	Seconds float64           // from any start
	Temp    quantity.Celsius  // true temperature of the mass
	Water   quantity.Fraction // mass fraction of free water in it, as the boiling point gives it
}

// Boil is what inverts along a curve.
type Boil struct {
	// Solids is the make-up of the dry sugars at the start.
	Solids sugar.Solids
	// Dry is the mass of them.
	Dry quantity.Kilograms
	// Bath is the acids and what eats them.
	Bath Bath
	// Factor is the exposure of a boil measured on this kettle and water over the
	// exposure computed for it; 0 where none was measured.
	Factor float64
}

// Outcome is what a boil inverts.
type Outcome struct {
	// Exposure is ∫ k dt, the factor in it: the sucrose that lives is e^−Exposure.
	Exposure float64
	// Last is the part of it on the last stretch of the curve, from its last point but
	// one: that of the slab, where the curve ends on one.
	Last float64
	// Inverted is the share of the sucrose that falls to invert sugar.
	Inverted quantity.Fraction
	// Solids is the make-up after it; Bound the water the sugar took in.
	Solids sugar.Solids
	Bound  quantity.Kilograms
	// StartPH and EndPH are the first and last of the curve.
	StartPH, EndPH float64
	// Unchecked is the share of the exposure beyond [CheckedMaxC] or
	// [CheckedMaxDry]; Eaten that in which acid was put in and none is left over.
	Unchecked, Eaten quantity.Fraction
}

// The codes of the cautions given here.
const (
	CodeUnchecked = "inversion-unchecked" // no measurement checks the rate there
	CodeEaten     = "acid-eaten"          // the water's lime leaves no acid
)

// Cautions returns what an outcome must say beside its numbers.
func (o Outcome) Cautions() []sugar.Caution {
	var out []sugar.Caution
	if o.Unchecked > 0 {
		out = append(out, sugar.Caution{Code: CodeUnchecked, Text: "above 115 °C or 85 % solids no measurement checks how fast " +
			"sugar inverts: right to a factor of two, no better"})
	}
	if o.Eaten > 0 {
		out = append(out, sugar.Caution{Code: CodeEaten, Text: "the lime of the water and the ash of the sugar eat all the acid: " +
			"the boil inverts like one without, whatever was weighed"})
	}
	return out
}

// Along returns what the boil inverts along a curve. Between two points the
// temperature goes straight and the water by equal ratios; sucrose falls by the first
// order, so that a boil cut in two gives what the whole gives. A point may repeat the
// last one's time (an instant's drop, at a pour).
//
// Range: that of [Rate] at every point, [Bath.PH] and [sugar.Density]; at least two
// points, times that do not fall. Error [ModelLogSD] of the exposure.
func (b Boil) Along(curve []Point) (Outcome, error) {
	p, _, x, err := b.run(curve)
	if err != nil {
		return Outcome{}, err
	}
	all := x.sour + x.plain
	o := Outcome{Exposure: b.factor() * all, Last: b.factor() * x.last, StartPH: x.startPH, EndPH: x.endPH}
	if all > 0 {
		o.Unchecked = quantity.Fraction(x.unchecked / all)
		if !p.plain() {
			o.Eaten = quantity.Fraction(x.plain / all)
		}
	}
	o.Inverted = inverted(o.Exposure)
	after, gain, err := b.Solids.Inverted(o.Inverted)
	o.Solids, o.Bound = after, quantity.Kilograms(gain)*b.Dry
	return o, err
}

// run checks a boil with its curve and integrates it without a factor.
func (b Boil) run(curve []Point) (*pot, []node, exposed, error) {
	p, nodes, err := b.prepare(curve)
	if err != nil {
		return nil, nil, exposed{}, err
	}
	x := p.expose(nodes, b.Bath.Alkali)
	return p, nodes, x, within("pH", x.lowPH, MinPH, MaxPH, "")
}

// inverted is the share of sucrose gone after an exposure.
func inverted(exposure float64) quantity.Fraction { return quantity.Fraction(-math.Expm1(-exposure)) }

func (b Boil) factor() float64 {
	if b.Factor == 0 {
		return 1
	}
	return b.Factor
}

// node is a point of a curve with what the acids do not change.
type node struct {
	seconds   float64
	waterKg   float64
	sourless  float64 // rate at pH 0 [1/s]
	unchecked bool
	last      bool // of the last stretch
}

// prepare checks a boil with its curve and divides the curve finely enough for the
// logarithm of the rate to be straight between nodes.
func (b Boil) prepare(curve []Point) (*pot, []node, error) {
	p, err := b.Bath.pot()
	if err != nil {
		return nil, nil, err
	}
	if !(b.Dry > 0) || math.IsInf(float64(b.Dry), 0) {
		return nil, nil, fault.Invalid("%g kg of dry sugar cannot boil", float64(b.Dry))
	}
	if !(b.Factor >= 0) || math.IsInf(b.Factor, 0) {
		return nil, nil, fault.Invalid("the factor %g of a measured boil is not above zero", b.Factor)
	}
	if len(curve) < 2 {
		return nil, nil, fault.Invalid("a curve of %d points is no boil", len(curve)).WithHint("give its start and its end at least")
	}
	nodes := make([]node, 0, 2*len(curve))
	for i, q := range curve {
		if i == 0 {
			if nodes, err = b.add(nodes, q); err != nil {
				return nil, nil, err
			}
			continue
		}
		last := curve[i-1]
		if !(q.Seconds >= last.Seconds) || math.IsInf(q.Seconds, 0) {
			return nil, nil, fault.Invalid("the curve goes from %g s back to %g s", last.Seconds, q.Seconds)
		}
		n := pieces(last, q)
		for j := 1; j <= n; j++ {
			part := float64(j) / float64(n)
			at := q
			if j < n {
				at = Point{
					Seconds: last.Seconds + part*(q.Seconds-last.Seconds),
					Temp:    last.Temp + quantity.Celsius(part)*(q.Temp-last.Temp),
					Water:   last.Water * quantity.Fraction(math.Pow(float64(q.Water/last.Water), part)),
				}
			}
			if nodes, err = b.add(nodes, at); err != nil {
				return nil, nil, err
			}
			nodes[len(nodes)-1].last = i == len(curve)-1
		}
	}
	return &p, nodes, nil
}

// The widest step of a node: over it the logarithm of the rate bends by less than a
// thousandth.
const (
	stepK     = 2.0  // K
	stepRatio = 0.05 // of ln(water)
	mostSteps = 200
)

// pieces returns into how many steps the way between two points is divided.
func pieces(a, b Point) int {
	if a.Seconds == b.Seconds {
		return 1
	}
	n := max(math.Abs(float64(b.Temp-a.Temp))/stepK, math.Abs(math.Log(float64(b.Water/a.Water)))/stepRatio)
	if !(n < mostSteps) {
		return mostSteps
	}
	return max(1, int(math.Ceil(n)))
}

func (b Boil) add(nodes []node, q Point) ([]node, error) {
	free, err := sourless(q.Temp, sugar.Mix(b.Solids, q.Water))
	if err != nil {
		return nil, err
	}
	return append(nodes, node{
		seconds: q.Seconds, sourless: free,
		waterKg:   float64(b.Dry) * float64(q.Water) / float64(1-q.Water),
		unchecked: q.Temp > CheckedMaxC || 1-q.Water > CheckedMaxDry,
	}), nil
}

// exposed is the exposure along the nodes without a factor, and what it is made of.
type exposed struct {
	sour, plain, unchecked float64
	last                   float64
	startPH, endPH, lowPH  float64
}

// expose integrates the rate over the nodes: between two of them its logarithm goes
// straight in time, and the integral of that is exact.
func (p *pot) expose(nodes []node, alkali float64) exposed {
	var out exposed
	bare, g := p.plain(), cold()
	before, wasPlain := 0.0, false
	for i, n := range nodes {
		ph, plain := PlainPH, true
		if !bare {
			if balance := p.ph(n.waterKg, alkali, &g); balance < PlainPH {
				ph, plain = balance, false
			}
		}
		k := n.sourless * math.Exp(-ph*math.Ln10)
		if i == 0 {
			out.startPH, out.lowPH = ph, ph
		} else {
			gone := (n.seconds - nodes[i-1].seconds) * logMean(before, k)
			if plain && wasPlain {
				out.plain += gone
			} else {
				out.sour += gone
			}
			if n.unchecked {
				out.unchecked += gone
			}
			if n.last {
				out.last += gone
			}
		}
		before, wasPlain, out.endPH, out.lowPH = k, plain, ph, min(out.lowPH, ph)
	}
	return out
}

// logMean is the mean of a quantity that goes from a to b by equal ratios.
func logMean(a, b float64) float64 {
	r := b/a - 1
	if math.Abs(r) < 1e-4 {
		return a * (1 + r/2 - r*r/12)
	}
	return (b - a) / math.Log1p(r)
}
