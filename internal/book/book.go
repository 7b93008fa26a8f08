package book

import (
	"slabside/internal/bag"
	"slabside/internal/demand"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/supply"
)

// Format is the version of the shop-book format this program writes.
const Format = 1

// Book is a shop book's definitions, its day and what is to be made. The order
// of its lists is the shop's own and is kept.
type Book struct {
	Format int      `toml:"format" json:"format"`
	Shop   Shop     `toml:"shop" json:"shop"`
	Room   rig.Room `toml:"room" json:"room"`

	Kettles  []rig.Kettle  `toml:"kettle,omitempty" json:"kettles,omitempty"`
	Slabs    []rig.Slab    `toml:"slab,omitempty" json:"slabs,omitempty"`
	Hooks    []rig.Hook    `toml:"hook,omitempty" json:"hooks,omitempty"`
	Machines []rig.Machine `toml:"machine,omitempty" json:"machines,omitempty"`
	Rolls    []rig.Rolls   `toml:"rolls,omitempty" json:"rolls,omitempty"`
	Boards   []rig.Board   `toml:"board,omitempty" json:"boards,omitempty"`
	Benches  []rig.Bench   `toml:"bench,omitempty" json:"benches,omitempty"`
	Sieves   []rig.Sieve   `toml:"sieve,omitempty" json:"sieves,omitempty"`
	Scales   []rig.Scale   `toml:"scale,omitempty" json:"scales,omitempty"`
	Glasses  []rig.Glass   `toml:"glass,omitempty" json:"glasses,omitempty"`
	Hands    []rig.Hand    `toml:"hand,omitempty" json:"hands,omitempty"`

	Ingredients []ingredient.Ingredient `toml:"ingredient,omitempty" json:"ingredients,omitempty"`
	Recipes     []recipe.Recipe         `toml:"recipe,omitempty" json:"recipes,omitempty"`
	Packs       []bag.Pack              `toml:"pack,omitempty" json:"packs,omitempty"`
	Products    []bag.Product           `toml:"product,omitempty" json:"products,omitempty"`
	Supplies    []supply.Supply         `toml:"supply,omitempty" json:"supplies,omitempty"`

	Day    Day            `toml:"day" json:"day"`
	Stock  []demand.Stock `toml:"stock,omitempty" json:"stock,omitempty"`
	ToMake []demand.Line  `toml:"to_make,omitempty" json:"to_make,omitempty"`
}

// Shop says whose book it is and how it speaks.
type Shop struct {
	Name     string   `toml:"name" json:"name"`
	Place    string   `toml:"place" json:"place"`
	Units    q.Reader `toml:"units" json:"units"`         // the mark for decimals in it is that of whoever reads this copy, and is never kept
	Currency string   `toml:"currency" json:"currency"`   // ISO 4217
	Market   string   `toml:"market" json:"market"`       // whose label rules: us, eu, uk, ca
	TimeZone string   `toml:"time_zone" json:"time_zone"` // IANA name
}

// Day is how a making day runs here.
type Day struct {
	Opens   string `toml:"opens" json:"opens"` // clock, "08:00"
	Ends    string `toml:"ends" json:"ends"`
	Kettle  string `toml:"kettle,omitempty" json:"kettle,omitempty"`   // which kettle the plan uses; empty: the only one not for trials
	Glass   string `toml:"glass,omitempty" json:"glass,omitempty"`     // which glass is read; empty: the first
	Mounted string `toml:"mounted,omitempty" json:"mounted,omitempty"` // rolls on the machine at opening
	// StrongAnyTime lets a strong flavour come before the mild ones it would
	// taint, with a wash between; left out, mild goes before strong.
	StrongAnyTime bool      `toml:"strong_any_time,omitempty" json:"strong_any_time,omitempty"`
	Residue       []Residue `toml:"residue,omitempty" json:"residue,omitempty"` // left on the line from the day before
	Breaks        []Break   `toml:"break,omitempty" json:"breaks,omitempty"`
	Pours         []Pour    `toml:"announced_pour,omitempty" json:"announced_pours,omitempty"`
	Rules         []Rule    `toml:"rule,omitempty" json:"rules,omitempty"`
}

// Residue is a level left on the line.
type Residue struct {
	Family string `toml:"family" json:"family"` // a flavour family, "stain", or an allergen
	Level  int    `toml:"level" json:"level"`
}

// Break stops the room.
type Break struct {
	Name     string     `toml:"name" json:"name"`
	From     string     `toml:"from" json:"from"` // earliest start
	To       string     `toml:"to" json:"to"`     // latest start
	Duration q.Duration `toml:"duration" json:"duration"`
}

// Pour is an announced pour: visitors are told of it.
type Pour struct {
	Name   string     `toml:"name" json:"name"`
	At     string     `toml:"at" json:"at"`
	Early  q.Duration `toml:"early" json:"early"`
	Late   q.Duration `toml:"late" json:"late"`
	Recipe string     `toml:"recipe,omitempty" json:"recipe,omitempty"` // empty: any
}

// Rule pins or forbids a neighbour, or demands an act.
type Rule struct {
	Kind   string `toml:"kind" json:"kind"` // first, last, next, not_next, later, at_least
	Recipe string `toml:"recipe" json:"recipe"`
	After  string `toml:"after,omitempty" json:"after,omitempty"` // next, not_next, later, at_least: the recipe before it
	Act    string `toml:"act,omitempty" json:"act,omitempty"`     // at_least: wipe, wash, allergen clean
	Why    string `toml:"why,omitempty" json:"why,omitempty"`
}
