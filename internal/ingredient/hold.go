package ingredient

import q "slabside/internal/quantity"

// Hold is how much of a substance an ingredient holds, as it is bought.
type Hold struct {
	Substance string     `toml:"substance" json:"substance"` // by any of its names, as package limit reads them
	Share     q.Fraction `toml:"share" json:"share"`         // of the ingredient; the least, where Most is given
	Most      q.Fraction `toml:"most,omitempty" json:"most,omitempty"`
	// Natural says that it came with the plant; else it was put in as such.
	Natural bool   `toml:"natural,omitempty" json:"natural,omitempty"`
	By      HoldBy `toml:"by,omitempty" json:"by,omitempty"` // empty: not recorded
}

// Range returns the least and the most of the substance, as shares of the ingredient.
func (h Hold) Range() (least, most q.Fraction) { return h.Share, max(h.Share, h.Most) }

// HoldBy says who vouches for a figure.
type HoldBy string

// The vouchers.
const (
	BySheet    HoldBy = "sheet"    // the supplier's specification
	ByAnalysis HoldBy = "analysis" // of this delivery
	ByBook     HoldBy = "book"     // what such a thing usually holds
)

// HoldBys lists the vouchers.
func HoldBys() []HoldBy { return []HoldBy{BySheet, ByAnalysis, ByBook} }

// Compounded reports whether an ingredient of the kind may hold compounds that a law
// limits in sweets and its name does not tell: flavours, colours, extracts.
func (k Kind) Compounded() bool {
	return k == Oil || k == Essence || k == Extract || k == Colour || k == Other
}

// Soured returns the acid that an ingredient is, or is a salt of, where it says none:
// cream of tartar for a doctor and citric for an acid; empty for the rest.
func (i Ingredient) Soured() Sour {
	switch {
	case i.Acid != "":
		return i.Acid
	case i.Kind == Doctor:
		return CreamOfTartar
	case i.Kind == Acid:
		return Citric
	}
	return ""
}
