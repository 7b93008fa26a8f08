package recipe

import (
	q "slabside/internal/quantity"
)

// Recipe is one sweet. Amounts are parts by mass and scale to any charge.
type Recipe struct {
	ID   string `toml:"id" json:"id"`
	Name string `toml:"name" json:"name"`

	// Boil is what goes into the kettle at the start; only the proportions count.
	Boil []Part `toml:"boil" json:"boil"`

	// BoilTo is the true temperature at the end of the boil at 1013.25 hPa. In
	// another room the same dryness is reached at another temperature. Exactly
	// one of BoilTo and WaterLeft is set.
	BoilTo    q.Celsius  `toml:"boil_to,omitempty" json:"boil_to,omitempty"`
	WaterLeft q.Fraction `toml:"water_left,omitempty" json:"water_left,omitempty"`

	Additions  []Addition `toml:"addition,omitempty" json:"additions,omitempty"`
	Portions   []Portion  `toml:"portion" json:"portions"` // shares sum to one
	Flavour    Flavour    `toml:"flavour" json:"flavour"`
	Stain      *Stain     `toml:"stain,omitempty" json:"stain,omitempty"` // nil: it neither stains nor minds
	Rolls      string     `toml:"rolls" json:"rolls"`
	Finish     Finish     `toml:"finish" json:"finish"`
	FinishGain q.Fraction `toml:"finish_gain,omitempty" json:"finish_gain,omitempty"` // dusting or sanding kept, share of the pieces' mass
	FinishWith string     `toml:"finish_with,omitempty" json:"finish_with,omitempty"` // ingredient
	Kettle     string     `toml:"kettle,omitempty" json:"kettle,omitempty"`           // empty: the day's kettle
	Note       string     `toml:"note,omitempty" json:"note,omitempty"`
}

// Part is an ingredient of the kettle's charge.
type Part struct {
	Ingredient string      `toml:"ingredient" json:"ingredient"`
	Mass       q.Kilograms `toml:"mass" json:"mass"` // in the recipe as written; scaled to the charge
}

// Stage is when an addition is made.
type Stage string

// The stages, in order of time.
const (
	AtBoil Stage = "boil" // in the boiling syrup, before the end
	AtEnd  Stage = "end"  // at the end of the boil, flame down or off
	AtPour Stage = "pour" // on the slab as it is poured
	AtFold Stage = "fold" // folded in on the slab
)

// Stages lists the stages in order.
func Stages() []Stage { return []Stage{AtBoil, AtEnd, AtPour, AtFold} }

// Addition is something added after the start of the boil. The dose is a share
// of the finished mass of its portion (of the whole boil where Portion is empty).
type Addition struct {
	Ingredient string     `toml:"ingredient" json:"ingredient"`
	Stage      Stage      `toml:"stage" json:"stage"`
	Dose       q.Fraction `toml:"dose" json:"dose"`
	Portion    string     `toml:"portion,omitempty" json:"portion,omitempty"`
}

// Portion is a part of the batch with its own colour and working.
type Portion struct {
	ID     string     `toml:"id" json:"id"`
	Share  q.Fraction `toml:"share" json:"share"`
	Colour string     `toml:"colour" json:"colour"` // word for people, "clear green"
	Paint  string     `toml:"paint" json:"paint"`   // "#rrggbb" to draw it
	Work   Work       `toml:"work" json:"work"`
	Air    q.Fraction `toml:"air,omitempty" json:"air,omitempty"` // volume share of air kept after the rolls; pulled portions only, 0: 8.5 %
}

// Work is how a portion is worked on the slab.
type Work string

// The two ways.
const (
	Clear  Work = "clear"  // folded clear
	Pulled Work = "pulled" // pulled on the hook: opaque, lighter
)

// Flavour says what the sweet leaves behind and what it cannot stand.
type Flavour struct {
	Family string `toml:"family" json:"family"` // residue channel, "mint"
	// CarryOver is the level left on slab, hook and rolls: 0 none … 6 very strong. A wipe takes 2.
	CarryOver int `toml:"carry_over" json:"carry_over"`
	// TaintLimit is the level of any other family it tolerates: 0 easily tainted … 6 nothing shows.
	TaintLimit int `toml:"taint_limit" json:"taint_limit"`
	// Tolerates raises the limit for single families.
	Tolerates map[string]int `toml:"tolerates,omitempty" json:"tolerates,omitempty"`
}

// Stain is colour carry-over, on a channel of its own.
type Stain struct {
	CarryOver int `toml:"carry_over" json:"carry_over"`
	Limit     int `toml:"limit" json:"limit"`
}

// MostLevel is the highest residue level a recipe may state.
const MostLevel = 6

// Finish is what is done to the sieved pieces.
type Finish string

// The finishes.
const (
	Plain  Finish = "plain"
	Dusted Finish = "dusted"
	Sanded Finish = "sanded"
)
