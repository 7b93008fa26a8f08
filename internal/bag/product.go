package bag

import q "slabside/internal/quantity"

// Product is something sold: a bag or jar of one sweet or of a mixture.
type Product struct {
	ID    string      `toml:"id" json:"id"`
	Name  string      `toml:"name" json:"name"`
	Net   q.Kilograms `toml:"net" json:"net"`                   // net weight on the label
	By    Share       `toml:"by,omitempty" json:"by,omitempty"` // how Parts share it; empty: piece
	Parts []Part      `toml:"part" json:"parts"`
	Pack  string      `toml:"pack,omitempty" json:"pack,omitempty"`           // "bag" (default) or "jar"
	In    string      `toml:"packed_in,omitempty" json:"packed_in,omitempty"` // id of the [Pack]; empty: not stated
	Price q.Money     `toml:"price,omitempty" json:"price,omitempty"`
}

// Share says what a mixture's shares count.
type Share string

// Shares of pieces or of mass.
const (
	ByPiece Share = "piece"
	ByMass  Share = "mass"
)

// Part is one sweet in a product. Portion empty: the recipe's portions as made.
type Part struct {
	Recipe  string  `toml:"recipe" json:"recipe"`
	Portion string  `toml:"portion,omitempty" json:"portion,omitempty"`
	Share   float64 `toml:"share" json:"share"`                     // any positive numbers; only their proportions count
	Least   int     `toml:"least,omitempty" json:"least,omitempty"` // pieces a bag must hold at least
}
