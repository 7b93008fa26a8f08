package bookfile

import (
	_ "embed"
	"slices"
)

//go:embed demo.toml
var demo []byte

// DemoName is the name of the demo shop book in messages.
const DemoName = "demo.toml"

// Demo returns the text of the demo shop book, the invented shop of the guide.
func Demo() []byte { return slices.Clone(demo) }
