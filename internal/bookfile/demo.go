package bookfile

import (
	_ "embed"
	"slices"
)

//go:embed demo.toml
var demo []byte

// DemoName is the name of the demo shop book in messages.
const DemoName = "demo.toml"

//go:embed demo-records.jsonl
var demoRecords []byte

// DemoRecords returns what the demo shop has written down of its batches, a JSON
// object a line: how many days before, the recipe, and the entries as package record
// has them. Invented, with a kettle that gets a little less of its heat and a room that
// boils a little hotter than the models have it.
func DemoRecords() []byte { return slices.Clone(demoRecords) }

// Demo returns the text of the demo shop book, the invented shop of the guide.
func Demo() []byte { return slices.Clone(demo) }
