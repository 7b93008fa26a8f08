package bag

import q "slabside/internal/quantity"

// Pack is a bag, pouch or jar as the shop buys it, empty.
type Pack struct {
	ID      string      `toml:"id" json:"id"`
	Name    string      `toml:"name" json:"name"`
	Closure Closure     `toml:"closure" json:"closure"`
	Layers  []Layer     `toml:"layer,omitempty" json:"layers,omitempty"`            // of its wall, none of glass or metal
	Width   q.Metres    `toml:"width,omitempty" json:"width,omitempty"`             // lying flat and empty; with Height 0: from the net weight
	Height  q.Metres    `toml:"height,omitempty" json:"height,omitempty"`           // the same, up to the seal
	Leak    float64     `toml:"leak_mg_day,omitempty" json:"leak_mg_day,omitempty"` // of its lid, in mg of water a day; 0: not known
	Weighed []Weighing  `toml:"weighing,omitempty" json:"weighings,omitempty"`      // of one filled pack that stood and took up water
	Held    q.Kilograms `toml:"weighed_net,omitempty" json:"weighed_net,omitempty"` // sweets in the pack that was weighed; 0: the net weight of the product
}

// Closure is how a pack is shut.
type Closure string

// The closures.
const (
	Sealed Closure = "heat-sealed"
	Tied   Closure = "tied" // or twisted, folded, clipped: air goes in and out
	Lid    Closure = "lid"
)

// Closures lists the closures.
func Closures() []Closure { return []Closure{Sealed, Tied, Lid} }

// Layer is one sheet of a wall.
type Layer struct {
	Film      Film     `toml:"film" json:"film"`
	Thickness q.Metres `toml:"thickness,omitempty" json:"thickness,omitempty"` // 0: as it is usually sold
	Passes    float64  `toml:"wvtr,omitempty" json:"wvtr,omitempty"`           // g of water through a square metre in a day at 38 °C and 90 %, by the supplier's sheet; 0: not known
}

// Film is what a layer is made of.
type Film string

// The films that sweets are packed in.
const (
	OrientedPP      Film = "oriented polypropylene"
	CastPP          Film = "cast polypropylene"
	LowPE           Film = "low-density polyethylene"
	HighPE          Film = "high-density polyethylene"
	Polyester       Film = "polyester"
	MetalPolyester  Film = "metallised polyester"
	FoilLaminate    Film = "foil laminate"
	PVC             Film = "PVC"
	CoatedCellulose Film = "coated cellulose"
	PlainCellulose  Film = "plain cellulose"
	WaxedPaper      Film = "waxed paper"
	UncoatedPaper   Film = "paper"
)

// Films lists the films.
func Films() []Film {
	return []Film{OrientedPP, CastPP, LowPE, HighPE, Polyester, MetalPolyester, FoilLaminate, PVC, CoatedCellulose, PlainCellulose, WaxedPaper, UncoatedPaper}
}

// Weighing is what a filled and shut pack had gained by a day.
type Weighing struct {
	Days     float64     `toml:"days" json:"days"` // since it was shut
	Gain     q.Kilograms `toml:"gain" json:"gain"` // since it was shut
	At       q.Celsius   `toml:"at" json:"at"`     // where it stood, on the average
	Humidity q.Fraction  `toml:"humidity" json:"humidity"`
}
