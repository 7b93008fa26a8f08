package ingredient

import q "slabside/internal/quantity"

// Kind says what an ingredient does in a boil.
type Kind string

// The kinds.
const (
	Sugar   Kind = "sugar"  // sucrose
	Syrup   Kind = "syrup"  // glucose syrup, with its DE
	Invert  Kind = "invert" // invert syrup, honey
	Water   Kind = "water"
	Doctor  Kind = "doctor"  // cream of tartar and other acids that invert in the boil
	Fat     Kind = "fat"     // butter, cream
	Acid    Kind = "acid"    // citric, tartaric, malic: folded in
	Oil     Kind = "oil"     // essential oils and flavourings in oil
	Essence Kind = "essence" // flavourings in alcohol or glycol
	Extract Kind = "extract" // malt extract, juices and other watery flavours
	Colour  Kind = "colour"
	Salt    Kind = "salt" // salt, bicarbonate
	Nut     Kind = "nut"
	Dust    Kind = "dust"    // icing sugar, starch and other dustings
	Release Kind = "release" // slab oil, release spray
	Other   Kind = "other"
)

// Kinds lists the known kinds.
func Kinds() []Kind {
	return []Kind{Sugar, Syrup, Invert, Water, Doctor, Fat, Acid, Oil, Essence, Extract, Colour, Salt, Nut, Dust, Release, Other}
}

// Sours reports whether a raw material of the kind is an acid or may be the salt of one.
func (k Kind) Sours() bool { return k == Doctor || k == Acid || k == Salt }

// Sour names an acid of the trade.
type Sour string

// The acids.
const (
	CreamOfTartar Sour = "cream of tartar"
	Tartaric      Sour = "tartaric"
	Citric        Sour = "citric"
	Malic         Sour = "malic"
	Lactic        Sour = "lactic"
)

// Acids lists the known acids.
func Acids() []Sour { return []Sour{CreamOfTartar, Tartaric, Citric, Malic, Lactic} }

// Ingredient is a raw material as this shop buys it.
type Ingredient struct {
	ID     string     `toml:"id" json:"id"`
	Name   string     `toml:"name" json:"name"`
	Kind   Kind       `toml:"kind" json:"kind"`
	Solids q.Fraction `toml:"solids" json:"solids"`                 // dry matter, everything that is not water or spirit
	DE     float64    `toml:"de,omitempty" json:"de,omitempty"`     // dextrose equivalent of a syrup
	Acid   Sour       `toml:"acid,omitempty" json:"acid,omitempty"` // which acid it is, or is a salt of; a doctor is cream of tartar unless it says
	// Neutralised is the share of the acid's hydrogens that alkali has replaced: of a
	// buffered acid or its salt.
	Neutralised q.Fraction `toml:"neutralised,omitempty" json:"neutralised,omitempty"`
	Spirit      q.Fraction `toml:"spirit,omitempty" json:"spirit,omitempty"` // alcohol that flashes off
	// Volatile says of an oil or an essence how fast it leaves hot sugar; empty where
	// nobody has said.
	Volatile Volatile `toml:"volatile,omitempty" json:"volatile,omitempty"`
	// Statement is what the supplier says of allergens: "stated" when Contains
	// and MayContain are complete, "unknown" (the default when empty) when nothing is on file.
	Statement   string   `toml:"statement,omitempty" json:"statement,omitempty"`
	StatementOn string   `toml:"statement_on,omitempty" json:"statement_on,omitempty"` // date of the statement
	Contains    []string `toml:"contains,omitempty" json:"contains,omitempty"`
	MayContain  []string `toml:"may_contain,omitempty" json:"may_contain,omitempty"`
	// Holds is what its supplier says of compounds that a law may limit, whether it is
	// all of them or not; HoldsAll says that it is.
	Holds    []Hold `toml:"hold,omitempty" json:"holds,omitempty"`
	HoldsAll bool   `toml:"holds_all,omitempty" json:"holds_all,omitempty"`
	Lots     []Lot  `toml:"lot,omitempty" json:"lots,omitempty"`
	LeadDays int    `toml:"lead_days,omitempty" json:"lead_days,omitempty"` // from the order to the shelf; 0: not known
	Note     string `toml:"note,omitempty" json:"note,omitempty"`
}

// Stated reports whether the supplier's allergen statement is on file.
func (i Ingredient) Stated() bool { return i.Statement == "stated" }

// Lot is a delivery with the supplier's lot mark.
type Lot struct {
	Lot        string      `toml:"lot" json:"lot"`
	Supplier   string      `toml:"supplier" json:"supplier"`
	Received   string      `toml:"received,omitempty" json:"received,omitempty"`       // date
	BestBefore string      `toml:"best_before,omitempty" json:"best_before,omitempty"` // date
	Quantity   q.Kilograms `toml:"quantity,omitempty" json:"quantity,omitempty"`
}

// Allergens lists the allergen words a shop book may use: the union of the
// lists of Regulation (EU) 1169/2011 Annex II, 21 U.S.C. 321(qq) and the
// Canadian Food and Drug Regulations B.01.010.1 (from memory; a market's own
// list and wording belong to its label rules).
func Allergens() []string {
	return []string{"gluten", "crustaceans", "egg", "fish", "peanut", "soy", "milk", "tree nut", "celery", "mustard", "sesame", "sulphites", "lupin", "molluscs", "wheat"}
}
