package boil

import (
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/sugar"
)

// Makeup is a mass sorted by what it does in a boil [kg].
type Makeup struct {
	Sucrose   float64 // dry
	Syrup     float64 // solids of glucose syrup
	SyrupDE   float64 // Σ solids · DE, for the mean DE
	Invert    float64 // solids of invert syrup and honey
	Dissolved float64 // tartar, acids, salt, extract solids, dyes
	Fat       float64 // butter fat, oils: no solute
	Apart     float64 // nuts and other solids that do not dissolve
	Water     float64
	Spirit    float64
}

// makeupOf sorts a mass of an ingredient with the given solids and DE.
func makeupOf(in ingredient.Ingredient, mass, solids, de float64) Makeup {
	var m Makeup
	dry := mass * solids
	m.Spirit = mass * float64(in.Spirit)
	m.Water = mass - dry - m.Spirit
	switch in.Kind {
	case ingredient.Sugar:
		m.Sucrose = dry
	case ingredient.Syrup:
		m.Syrup, m.SyrupDE = dry, dry*de
	case ingredient.Invert:
		m.Invert = dry
	case ingredient.Fat, ingredient.Oil, ingredient.Release:
		m.Fat = dry
	case ingredient.Nut, ingredient.Dust, ingredient.Other:
		m.Apart = dry
	default:
		m.Dissolved = dry
	}
	return m
}

// Plus returns the two masses together.
func (m Makeup) Plus(o Makeup) Makeup {
	return Makeup{
		m.Sucrose + o.Sucrose, m.Syrup + o.Syrup, m.SyrupDE + o.SyrupDE, m.Invert + o.Invert,
		m.Dissolved + o.Dissolved, m.Fat + o.Fat, m.Apart + o.Apart, m.Water + o.Water, m.Spirit + o.Spirit,
	}
}

// Times returns k times the mass.
func (m Makeup) Times(k float64) Makeup {
	return Makeup{
		m.Sucrose * k, m.Syrup * k, m.SyrupDE * k, m.Invert * k,
		m.Dissolved * k, m.Fat * k, m.Apart * k, m.Water * k, m.Spirit * k,
	}
}

// Phase returns the dry matter of the sugar phase: what is dissolved [kg].
func (m Makeup) Phase() float64 { return m.Sucrose + m.Syrup + m.Invert + m.Dissolved }

// Dry returns all dry matter [kg].
func (m Makeup) Dry() float64 { return m.Phase() + m.Fat + m.Apart }

// Mass returns the whole mass [kg].
func (m Makeup) Mass() float64 { return m.Dry() + m.Water + m.Spirit }

// WaterFrac returns water (and spirit, which softens like it) as a share of the whole.
func (m Makeup) WaterFrac() float64 {
	mass := m.Mass()
	if mass == 0 {
		return 0
	}
	return (m.Water + m.Spirit) / mass
}

// DE returns the mean dextrose equivalent of the syrups, 0 without any: the
// mass-weighted mean, because DE counts molecules a mass.
func (m Makeup) DE() float64 {
	if m.Syrup == 0 {
		return 0
	}
	return m.SyrupDE / m.Syrup
}

// Solids returns the make-up of the sugar phase; what is dissolved beside the
// sugars counts as sucrose.
func (m Makeup) Solids() sugar.Solids {
	phase := m.Phase()
	if phase == 0 {
		return sugar.Solids{}
	}
	return sugar.Solids{
		Syrup:  q.Fraction(m.Syrup / phase),
		DE:     m.DE(),
		Invert: q.Fraction(m.Invert / phase),
	}
}

// phaseMixture returns the sugar phase with its water and spirit.
func (m Makeup) phaseMixture() sugar.Mixture {
	wet := m.Water + m.Spirit
	return sugar.Mix(m.Solids(), q.Fraction(wet/(wet+m.Phase())))
}
