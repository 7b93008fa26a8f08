package inversion

import (
	"slabside/internal/fault"
	"slabside/internal/quantity"
)

// Acid is an acid, or the sour salt of one.
type Acid struct {
	// MolarMass of what is weighed [g/mol].
	MolarMass float64
	// PK are the dissociation constants at 25 °C, as −log10, strongest first;
	// unused ones are 0.
	PK [3]float64
	// Base is how many of its hydrogens come already replaced by an alkali metal: 1
	// for cream of tartar, 0 for an acid.
	Base float64
}

// CreamOfTartar is potassium hydrogen tartrate; constants of source key
// bates-canham1951.
func CreamOfTartar() Acid {
	a := Tartaric()
	a.MolarMass, a.Base = 188.18, 1
	return a
}

// Tartaric is tartaric acid; constants of source key bates-canham1951.
func Tartaric() Acid { return Acid{MolarMass: 150.09, PK: [3]float64{3.036, 4.366}} }

// Citric is citric acid free of crystal water (the monohydrate weighs 210.14);
// constants of source key pk-handbook.
func Citric() Acid { return Acid{MolarMass: 192.12, PK: [3]float64{3.128, 4.761, 6.396}} }

// Malic is malic acid; constants of source key pk-handbook.
func Malic() Acid { return Acid{MolarMass: 134.09, PK: [3]float64{3.40, 5.11}} }

// Lactic is lactic acid, reckoned dry; constant of source key pk-handbook.
func Lactic() Acid { return Acid{MolarMass: 90.08, PK: [3]float64{3.86}} }

// Equivalent returns the mass of the acid that gives a mole of hydrogens to alkali
// [g/mol]: what a titration weighs acids by. 192.12/3 for citric acid.
func (a Acid) Equivalent() float64 { return a.MolarMass / (float64(a.protons()) - a.Base) }

// protons returns how many hydrogens the acid can give.
func (a Acid) protons() int {
	for i, pk := range a.PK {
		if pk == 0 {
			return i
		}
	}
	return len(a.PK)
}

func (a Acid) check() error {
	n := a.protons()
	switch {
	case n == 0:
		return fault.Invalid("an acid without a dissociation constant").WithHint("give its pK at 25 °C")
	case !(a.MolarMass > 0):
		return fault.Invalid("the molar mass %g g/mol of an acid is not above zero", a.MolarMass)
	case !(a.Base >= 0 && a.Base <= float64(n)):
		return fault.Invalid("an acid of %d hydrogens cannot bring %g alkali metals", n, a.Base)
	}
	for i := 1; i < n; i++ {
		if !(a.PK[i] >= a.PK[i-1]) {
			return fault.Invalid("the pK of an acid do not rise").WithHint("give the strongest first")
		}
	}
	return nil
}

// Dose is an acid in the boil.
type Dose struct {
	Acid Acid
	Mass quantity.Kilograms
	// Neutralised is the share of its hydrogens that alkali has replaced before it is
	// weighed, beyond those of Base: 0 for the plain acid, the stated degree for a
	// buffered one, 1 for its salt. The alkali is reckoned as sodium, in the mass too.
	Neutralised quantity.Fraction
}

// sodiumForHydrogen is what a mole of an acid gains for every hydrogen that sodium
// replaces [g/mol].
const sodiumForHydrogen = 22.990 - 1.008

// moles returns the acid [mol] and the alkali it brings [mol of charge].
func (d Dose) moles() (acid, alkali float64) {
	replaced := float64(d.Neutralised) * (float64(d.Acid.protons()) - d.Acid.Base)
	acid = float64(d.Mass) * 1000 / (d.Acid.MolarMass + replaced*sodiumForHydrogen)
	return acid, acid * (d.Acid.Base + replaced)
}
