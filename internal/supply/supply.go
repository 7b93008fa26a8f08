package supply

import q "slabside/internal/quantity"

// Supply is something the shop buys and no sweet is made of. The order of the shop book
// is that of the walk along the shelves.
type Supply struct {
	ID         string      `toml:"id" json:"id"`
	Name       string      `toml:"name" json:"name"`
	Kind       Kind        `toml:"kind" json:"kind"`
	Unit       Unit        `toml:"unit,omitempty" json:"unit,omitempty"` // empty: pieces
	Supplier   string      `toml:"supplier,omitempty" json:"supplier,omitempty"`
	LeadDays   int         `toml:"lead_days,omitempty" json:"lead_days,omitempty"`       // from the order to the shelf; 0: not known
	Pieces     int         `toml:"least_pieces,omitempty" json:"least_pieces,omitempty"` // at so many more are ordered; 0: by how long it lasts alone
	Mass       q.Kilograms `toml:"least_mass,omitempty" json:"least_mass,omitempty"`     // the same of what goes by mass
	Touches    bool        `toml:"touches_food,omitempty" json:"touches_food,omitempty"`
	DeclaredOn string      `toml:"declared_on,omitempty" json:"declared_on,omitempty"`       // date of the supplier's declaration that it may, on file; empty: none
	GoesWith   []Goes      `toml:"goes_with,omitempty" json:"goes_with,omitempty"`           // what is packed with it
	Holds      q.Kilograms `toml:"holds,omitempty" json:"holds,omitempty"`                   // gas in a full cylinder
	HeatMJKg   float64     `toml:"heat_mj_per_kg,omitempty" json:"heat_mj_per_kg,omitempty"` // net calorific value [MJ/kg]; 0: not stated
	Note       string      `toml:"note,omitempty" json:"note,omitempty"`
}

// Goes says that so many pieces go into or onto each bag: of a pack, or of a product.
type Goes struct {
	Pack    string `toml:"pack,omitempty" json:"pack,omitempty"`       // id
	Product string `toml:"product,omitempty" json:"product,omitempty"` // id
	Pieces  int    `toml:"pieces,omitempty" json:"pieces,omitempty"`   // for each bag; 0: one
}

// Kind says what a supply is for.
type Kind string

// The kinds.
const (
	Packaging  Kind = "packaging"
	Gas        Kind = "gas"
	Consumable Kind = "consumable"
)

// Kinds lists the kinds.
func Kinds() []Kind { return []Kind{Packaging, Gas, Consumable} }

// Unit is what a supply is counted in.
type Unit string

// The units of a ledger: whole pieces, or whole milligrams.
const (
	Pieces Unit = "piece"
	ByMass Unit = "mass"
)

// Units lists the units.
func Units() []Unit { return []Unit{Pieces, ByMass} }

// In returns the unit the supply is counted in.
func (s Supply) In() Unit {
	if s.Unit == "" {
		return Pieces
	}
	return s.Unit
}

// Least returns at how much more is ordered, in the unit of its ledgers; 0: not stated.
func (s Supply) Least() int64 {
	if s.In() == ByMass {
		return s.Mass.Milligrams()
	}
	return int64(s.Pieces)
}

// EachBag returns how many pieces go with each bag of a product in a pack, 0 for none.
// What is said of both adds up: a bag, and its label.
func (s Supply) EachBag(product, pack string) int64 {
	n := 0
	for _, g := range s.GoesWith {
		if g.Product != "" && g.Product == product || g.Pack != "" && g.Pack == pack {
			n += max(1, g.Pieces)
		}
	}
	return int64(n)
}

// Burnt returns how much gas gives so much heat [kWh], in the unit of its ledgers, not
// rounded; false if its heat content is not stated. All of it is burnt, the flame's heat
// that goes past the pan too.
func (s Supply) Burnt(kWh float64) (float64, bool) {
	const joulesPerKWh, joulesPerMJ, mgPerKg = 3.6e6, 1e6, 1e6
	if s.Kind != Gas || s.HeatMJKg <= 0 || s.In() == Pieces && s.Holds <= 0 {
		return 0, false
	}
	kg := kWh * joulesPerKWh / (s.HeatMJKg * joulesPerMJ)
	if s.In() == Pieces {
		return kg / float64(s.Holds), true
	}
	return kg * mgPerKg, true
}
