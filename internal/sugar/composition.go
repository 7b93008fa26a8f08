package sugar

import (
	"fmt"
	"math"

	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// Spectrum is the make-up of a glucose syrup by the number of dextrose units in its
// sugars, as shares of the syrup's own solids. What is none of the three is
// higher sugars.
type Spectrum struct {
	Dextrose, Maltose, Maltotriose quantity.Fraction
}

// higherUnits is the mean number of dextrose units in the higher sugars of a
// syrup: with it the DE of published spectra is met within 4 (docs/validation.md).
const higherUnits = 6

// unitMolarMass is the molar mass of a chain of dextrose units [g/mol].
func unitMolarMass(units float64) float64 { return 162.14*units + 18.02 }

// DE returns the dextrose equivalent the spectrum counts up to [% of the syrup's
// solids]: every chain has one reducing end,
//
//	DE = 100 Σ w_i 180.16/(162.14i + 18.02),  i = 1, 2, 3 and 6 for the higher sugars
//
// Error ±4 DE against published spectra; a stated DE is better.
//
// Reference: arithmetic; the mean of the higher sugars by source key belitz.
func (s Spectrum) DE() float64 {
	ends := float64(s.Dextrose)/unitMolarMass(1) + float64(s.Maltose)/unitMolarMass(2) +
		float64(s.Maltotriose)/unitMolarMass(3) + s.higher()/unitMolarMass(higherUnits)
	return 100 * hexoseMolarMass * ends
}

// higher returns the share of sugars above maltotriose.
func (s Spectrum) higher() float64 {
	return max(0, 1-float64(s.Dextrose+s.Maltose+s.Maltotriose))
}

func (s Spectrum) check() error {
	if !isShare(s.Dextrose) || !isShare(s.Maltose) || !isShare(s.Maltotriose) || s.Dextrose+s.Maltose+s.Maltotriose > 1+slack {
		return fault.Invalid("the syrup cannot hold %s dextrose, %s maltose and %s maltotriose", quantity.Plain.Percent(s.Dextrose, 1),
			quantity.Plain.Percent(s.Maltose, 1), quantity.Plain.Percent(s.Maltotriose, 1)).
			WithHint("give shares of the syrup's dry solids that together do not exceed 100 %%")
	}
	return nil
}

// SpectrumCaution returns the caution that belongs to a syrup whose stated DE and
// spectrum are more than 5 DE apart.
func SpectrumCaution(s Solids) (c Caution, ok bool) {
	const apart = 5
	if s.Syrup == 0 || s.DE == 0 || s.Spectrum == (Spectrum{}) || math.Abs(s.DE-s.Spectrum.DE()) <= apart {
		return Caution{}, false
	}
	return Caution{CodeSpectrum, fmt.Sprintf("the syrup is stated as %.0f DE, but the sugars it is stated to hold make %.0f DE: "+
		"ask its maker which is right", s.DE, s.Spectrum.DE())}, true
}

// Solute is an acid or a salt dissolved beside the sugars.
type Solute struct {
	// Share is its share of the dry solids.
	Share quantity.Fraction
	// Particles is how many moles of particles a kilogram of it gives in
	// solution: 1000 over the molar mass for an acid, times the ions for a salt.
	Particles float64
}

// The limits of acid and salt beside the sugars: the sourest drops hold some 2 % of
// acid, and no solute is smaller than common salt (34 mol of ions a kilogram).
const (
	MaxBeside    = 0.05
	MaxParticles = 35
)

func (s Solute) check() error {
	if err := within("acid and salt in the solids", s.Share.Percent(), 0, MaxBeside*100, "%", source.Practice); err != nil {
		return err
	}
	return within("particles of acid and salt", s.Particles, 0, MaxParticles, "mol/kg", source.Arithmetic)
}

// Plus returns two solutes together.
func (s Solute) Plus(o Solute) Solute {
	share := s.Share + o.Share
	if share == 0 {
		return Solute{}
	}
	return Solute{share, (s.Particles*float64(s.Share) + o.Particles*float64(o.Share)) / float64(share)}
}

// ReducingSugars returns the reducing sugars of the solids, as dextrose, as a
// share of the dry solids: a syrup counts with its DE, invert sugar whole.
// Error ±1 point of DE on the syrup's share.
func (s Solids) ReducingSugars() quantity.Fraction {
	return s.Syrup*quantity.Fraction(s.dextrose()/100) + s.Invert
}

// Inverted returns the solids after a share of their sucrose has been inverted, and
// what a kilogram of them gains by the water it takes in: 342.30 kg of sucrose
// becomes 360.32 kg of invert sugar.
func (s Solids) Inverted(share quantity.Fraction) (after Solids, gain quantity.Fraction, err error) {
	if err := s.Check(); err != nil {
		return Solids{}, 0, err
	}
	if !isShare(share) {
		return Solids{}, 0, fault.Invalid("%s of the sucrose cannot be inverted", quantity.Plain.Percent(share, 2)).
			WithHint("the share lies between 0 %% and 100 %%")
	}
	gone := s.Sucrose() * share
	made := gone * (2 * hexoseMolarMass / sucroseMolarMass)
	gain = made - gone
	after = s
	after.Syrup /= 1 + gain
	after.Invert = min(1, (s.Invert+made)/(1+gain)) // but for rounding
	after.Beside.Share /= 1 + gain
	return after, gain, nil
}
