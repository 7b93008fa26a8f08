package ingredient

import q "slabside/internal/quantity"

// Form is how an ingredient comes out of its pot: it decides how it is stirred in.
type Form string

// The forms.
const (
	Liquid Form = "liquid"
	Paste  Form = "paste"
	Powder Form = "powder"
	Oily   Form = "oil"
	Solid  Form = "solid" // butter, nuts and what lies in the sweet as it is
)

// What a colour or a flavour is called by its dry matter: liquids hold 70 to 95 % of
// water, gels and pastes 40 to 70, powders 8 to 15 (common practice, no source).
const (
	pasteFrom  q.Fraction = 0.30
	powderFrom q.Fraction = 0.85
)

// Form returns how the ingredient comes out of its pot, by its kind and dry matter.
func (i Ingredient) Form() Form {
	switch i.Kind {
	case Oil, Release:
		return Oily
	case Fat, Nut, Other:
		return Solid
	}
	switch {
	case i.Solids >= powderFrom:
		return Powder
	case i.Solids+i.Spirit >= pasteFrom && i.Spirit == 0:
		return Paste
	}
	return Liquid
}

// Volatile says what an oil or a flavour is of, by how much of it hot sugar drives off.
type Volatile string

// The classes.
const (
	Citrus Volatile = "citrus" // terpenes: lemon, orange, grapefruit
	Mint   Volatile = "mint"   // menthol: peppermint, spearmint
	Spice  Volatile = "spice"  // cinnamon, clove, anise
)

// Volatiles lists the known classes.
func Volatiles() []Volatile { return []Volatile{Citrus, Mint, Spice} }

// Flavours reports whether a raw material of the kind flavours, and is lost on hot sugar.
func (k Kind) Flavours() bool { return k == Oil || k == Essence }
