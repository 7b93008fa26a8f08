package ingredient

// Acidic reports whether the ingredient brings a sweet below pH 6 for sure:
// added acids, cream of tartar, and juices and malt (common practice, no source).
func (i Ingredient) Acidic() bool {
	return i.Kind == Acid || i.Kind == Doctor || i.Kind == Extract
}

// Watery reports whether the ingredient brings free water or spirit that boils
// up in hot sugar.
func (i Ingredient) Watery() bool {
	return i.Kind != Sugar && i.Kind != Fat && i.Solids < 0.9
}

// WhitePowder reports whether the ingredient looks like others on the shelf
// that must not be taken for it.
func (i Ingredient) WhitePowder() bool {
	return i.Kind == Acid || i.Kind == Doctor || i.Kind == Salt
}
