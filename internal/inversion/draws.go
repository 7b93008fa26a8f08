package inversion

import (
	"math"

	"slabside/internal/fault"
	"slabside/internal/numeric"
)

// Priors is what is not known of a boil's acids, beside the model's own error.
type Priors struct {
	// AlkaliSD is one standard deviation of [Bath.Alkali] [mol of charge]: that of the
	// water's alkalinity, and [SugarAshSD] for every kilogram of sugar.
	AlkaliSD float64
}

// The columns of an ensemble that the draws use: errors of the shop, the same for
// every boil.
const (
	columnModel  = "shop:inversion"
	columnAlkali = "shop:alkali"
	columnPlain  = "shop:plain-ph"
)

// Draws returns the share of sucrose inverted along a curve in every world of an
// ensemble: with the error of the model ([ModelLogSD], or [CalibratedLogSD] where the
// boil has a factor), of the alkali, and of a plain boil's pH ([PlainPHSD]).
//
// Range and faults as [Boil.Along].
func (b Boil) Draws(curve []Point, e numeric.Ensemble, prior Priors) ([]float64, error) {
	out, err := b.Exposures(curve, e, prior)
	for i, x := range out {
		out[i] = float64(inverted(x))
	}
	return out, err
}

// Exposures returns the exposure behind [Boil.Draws] in every world.
func (b Boil) Exposures(curve []Point, e numeric.Ensemble, prior Priors) ([]float64, error) {
	if !(prior.AlkaliSD >= 0) || math.IsInf(prior.AlkaliSD, 0) {
		return nil, fault.Invalid("the spread %g mol of the alkali cannot be", prior.AlkaliSD)
	}
	p, nodes, _, err := b.run(curve)
	if err != nil {
		return nil, err
	}
	spread := ModelLogSD
	if b.Factor != 0 {
		spread = CalibratedLogSD
	}
	at := p.overAlkali(nodes, b.Bath.Alkali, prior.AlkaliSD)
	out, alkali, plain := e.Normal(columnModel), make([]float64, e.Len()), e.Normal(columnPlain)
	if prior.AlkaliSD > 0 {
		alkali = e.Normal(columnAlkali)
	}
	for i, z := range out {
		x := at.of(alkali[i])
		own := x.sour + x.plain*math.Exp(-plain[i]*PlainPHSD*math.Ln10)
		out[i] = b.factor() * own * math.Exp(z*spread)
	}
	return out, nil
}

// alkaliGrid is the exposure over the alkali, at even standard deviations, worked out
// where it is asked for: the exposure bends so little that straight lines between
// are good to 0.5 %.
type alkaliGrid struct {
	points [gridCells + 1]exposed
	known  [gridCells + 1]bool
	at     func(sds float64) exposed
}

const (
	gridCells = 28
	gridEnd   = 3.5 // standard deviations
)

func (p *pot) overAlkali(nodes []node, middle, sd float64) *alkaliGrid {
	return &alkaliGrid{at: func(sds float64) exposed { return p.expose(nodes, max(0, middle+sd*sds)) }}
}

func (g *alkaliGrid) point(i int) exposed {
	if !g.known[i] {
		g.points[i], g.known[i] = g.at(gridEnd*(2*float64(i)/gridCells-1)), true
	}
	return g.points[i]
}

// of returns the exposure z standard deviations from the middle.
func (g *alkaliGrid) of(z float64) exposed {
	place := (min(max(z, -gridEnd), gridEnd)/gridEnd + 1) / 2 * gridCells
	i := min(int(place), gridCells-1)
	low, high, part := g.point(i), g.point(i+1), place-float64(i)
	between := func(a, b float64) float64 { return a + part*(b-a) }
	return exposed{sour: between(low.sour, high.sour), plain: between(low.plain, high.plain)}
}
