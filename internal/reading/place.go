package reading

import (
	"slices"
	"strings"

	"slabside/internal/fault"
)

// Place is where a thermometer looks.
type Place string

// The places, in the order of a boil's way through the room.
const (
	Kettle   Place = "kettle"    // the boiling sugar
	Slab     Place = "slab"      // the sugar on the slab, or on the board beside the rolls
	Plate    Place = "plate"     // the slab itself
	Hook     Place = "hook"      // the sugar on the hook
	Rolls    Place = "rolls"     // the rolls themselves
	Sheet    Place = "sheet"     // a sheet as it leaves the rolls
	WaterIn  Place = "water in"  // cooling water of the slab
	WaterOut Place = "water out" // the same, where it leaves
	Air      Place = "air"       // of the room
)

// Places lists the places.
func Places() []Place {
	return []Place{Kettle, Slab, Plate, Hook, Rolls, Sheet, WaterIn, WaterOut, Air}
}

func (p Place) known() bool { return slices.Contains(Places(), p) }

// Slug is the place as it stands in an address or a topic: "water-in".
func (p Place) Slug() string { return strings.ReplaceAll(string(p), " ", "-") }

// ParsePlace reads a place; "water-in" is "water in". The fault's field is "in".
func ParsePlace(s string) (Place, error) {
	p := Place(strings.NewReplacer("-", " ", "_", " ").Replace(strings.ToLower(strings.TrimSpace(s))))
	if !p.known() {
		return "", notPlace(s)
	}
	return p, nil
}

func notPlace(s string) error {
	var all []string
	for _, p := range Places() {
		all = append(all, string(p))
	}
	text := "it is not said where the thermometer looks"
	if s != "" {
		text = "a thermometer does not look at \"" + fault.Clip(s, fault.Echo) + "\""
	}
	return fault.Invalid("%s", text).At("in").WithHint("one of %s", strings.Join(all, ", "))
}

// Unit is a scale of temperature.
type Unit string

// The units.
const (
	Celsius    Unit = "C"
	Fahrenheit Unit = "F"
)

// ParseUnit reads a unit; empty is °C. The fault's field is "unit".
func ParseUnit(s string) (Unit, error) {
	switch strings.ToLower(strings.TrimSpace(strings.TrimLeft(strings.TrimSpace(s), "°º"))) {
	case "", "c", "celsius":
		return Celsius, nil
	case "f", "fahrenheit":
		return Fahrenheit, nil
	}
	return "", fault.Invalid("%q is no unit of temperature that is read here", fault.Clip(s, fault.Echo)).At("unit").WithHint("C or F; left out it is C")
}

// ToC returns a value of the unit in °C.
func (u Unit) ToC(v float64) float64 {
	if u == Fahrenheit {
		return (v - 32) * 5 / 9
	}
	return v
}

// String is the unit with its sign.
func (u Unit) String() string { return "°" + string(u) }
