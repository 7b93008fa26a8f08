package demand

import q "slabside/internal/quantity"

// Line is something to make: so many bags of a product.
type Line struct {
	Product string `toml:"product" json:"product"`
	Bags    int    `toml:"bags" json:"bags"`
	Must    bool   `toml:"must" json:"must"`                   // an order that must go, not a wish of the shelf
	Due     string `toml:"due,omitempty" json:"due,omitempty"` // date; empty: today
	For     string `toml:"for,omitempty" json:"for,omitempty"` // "shelf", or whose order
}

// Stock is what is already there: loose pieces of a portion, or packed bags.
type Stock struct {
	Product string      `toml:"product,omitempty" json:"product,omitempty"` // packed bags of it …
	Bags    int         `toml:"bags,omitempty" json:"bags,omitempty"`
	Recipe  string      `toml:"recipe,omitempty" json:"recipe,omitempty"` // … or loose sweets
	Portion string      `toml:"portion,omitempty" json:"portion,omitempty"`
	Loose   q.Kilograms `toml:"loose,omitempty" json:"loose,omitempty"`
	Lot     string      `toml:"lot,omitempty" json:"lot,omitempty"`
}
