package sugar

import (
	"slabside/internal/fault"
	"slabside/internal/quantity"
	"slabside/internal/source"
)

// DefaultDE is the dextrose equivalent of ordinary confectioners' glucose syrup.
const DefaultDE = 42

// The range of the syrup composition table (source key syrup-slides and others):
// from enzyme 20 DE to acid-enzyme high conversion 64 DE.
const (
	MinDE = 20
	MaxDE = 64
)

// Solids is the make-up of the dry sugars. What is neither syrup nor invert is
// sucrose; the zero value is pure sucrose.
type Solids struct {
	// Syrup is the share of the dry solids that came as glucose-syrup solids.
	Syrup quantity.Fraction
	// DE is the syrup's dextrose equivalent [% of its solids], 0 for DefaultDE.
	// It is not looked at where there is no syrup.
	DE float64
	// Invert is the share of the dry solids that is invert sugar (glucose and
	// fructose in equal parts), added as such or made in the boil.
	Invert quantity.Fraction
	// Spectrum is the syrup's sugars by their size, where its maker states them.
	// The zero value stands for a syrup known by its DE alone. Where DE is 0 it
	// follows from the spectrum; where both are stated the DE counts the molecules.
	Spectrum Spectrum
	// Beside is what is dissolved beside the sugars: acids and salts.
	Beside Solute
}

// Mixture is dry sugars with water.
type Mixture struct {
	Solids Solids
	// Water is the mass fraction of water in the whole.
	Water quantity.Fraction
}

// Mix returns a mixture of the solids with the given mass fraction of water.
func Mix(s Solids, water quantity.Fraction) Mixture { return Mixture{Solids: s, Water: water} }

// Dry returns the mass fraction of dry solids.
func (m Mixture) Dry() quantity.Fraction { return 1 - m.Water }

// Sucrose returns the share of the dry solids that is sucrose.
func (s Solids) Sucrose() quantity.Fraction { return max(0, 1-s.Syrup-s.Invert-s.Beside.Share) }

// Check returns a fault if the make-up cannot be: a share that is negative or
// above one, more than one in all, a syrup outside the composition table, or more
// acid and salt than the models are asked for.
func (s Solids) Check() error {
	if err := s.Beside.check(); err != nil {
		return err
	}
	switch {
	case !isShare(s.Syrup):
		return fault.Invalid("the syrup share %s of the solids is not between 0 %% and 100 %%",
			quantity.Plain.Percent(s.Syrup, 2)).WithHint("give the share of the dry solids, such as 40 %%")
	case !isShare(s.Invert):
		return fault.Invalid("the invert share %s of the solids is not between 0 %% and 100 %%",
			quantity.Plain.Percent(s.Invert, 2)).WithHint("give the share of the dry solids, such as 5 %%")
	case s.Syrup+s.Invert+s.Beside.Share > 1+slack:
		return fault.Invalid("syrup, invert sugar and what is dissolved beside them together make %s of the solids",
			quantity.Plain.Percent(s.Syrup+s.Invert+s.Beside.Share, 2)).WithHint("the shares of the dry solids may not exceed 100 %%")
	}
	if s.Syrup > 0 {
		if err := s.Spectrum.check(); err != nil {
			return err
		}
		return within("dextrose equivalent", s.dextrose(), MinDE, MaxDE, "DE", source.SyrupSlides)
	}
	return nil
}

// dextrose returns the syrup's DE: as stated, or as its spectrum counts it, or the default.
func (s Solids) dextrose() float64 {
	switch {
	case s.DE != 0:
		return s.DE
	case s.Spectrum != Spectrum{}:
		return s.Spectrum.DE()
	}
	return DefaultDE
}

// inverseMolarMass returns 1/M̄ [mol/g] of the dry sugars:
//
//	1/M̄ = Σ f_i/M_i
//
// with the number-average molar mass of a syrup from its reducing power, and every
// ion of a salt counted.
func (s Solids) inverseMolarMass() float64 {
	syrup, invert, beside := float64(s.Syrup), float64(s.Invert), float64(s.Beside.Share)
	return (1-syrup-invert-beside)/sucroseMolarMass + invert/hexoseMolarMass + syrup*s.dextrose()/dextroseEquivalentMass +
		beside*s.Beside.Particles/1000
}

// Molar masses [g/mol].
const (
	waterMolarMass   = 18.015
	sucroseMolarMass = 342.30
	hexoseMolarMass  = 180.16
	// dextroseEquivalentMass over DE is the number-average molar mass of a
	// syrup: DE counts reducing ends per 100 g as if they were dextrose.
	dextroseEquivalentMass = 18016
)

// slack forgives the rounding of a sum of shares or of one minus a share.
const slack = 1e-9

func isShare(f quantity.Fraction) bool { return f >= 0 && f <= 1 }

// within returns an out-of-range fault unless low ≤ v ≤ high.
func within(name string, v, low, high float64, unit string, key source.Key) error {
	if inside(v, low, high) {
		return nil
	}
	return fault.OutOfRange(name, v, low, high, unit, string(key))
}

// inside reports whether low ≤ v ≤ high, but for rounding; never for a NaN.
func inside(v, low, high float64) bool {
	edge := slack * (high - low)
	return v >= low-edge && v <= high+edge
}

// check checks the mixture's make-up and that its dry solids lie between the
// two fractions.
func (m Mixture) check(minDry, maxDry float64, key source.Key) error {
	if err := m.Solids.Check(); err != nil {
		return err
	}
	return within("dry solids", m.Dry().Percent(), minDry*100, maxDry*100, "%", key)
}

// checkTemp checks a temperature against a model's range.
func checkTemp(t quantity.Celsius, low, high float64, key source.Key) error {
	return within("temperature", float64(t), low, high, "°C", key)
}
