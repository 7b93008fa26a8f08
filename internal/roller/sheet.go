package roller

import (
	"math"

	"slabside/internal/heat"
)

// Sheet is a sheet of drops that lies on the bench, or the drops of one, broken.
type Sheet struct {
	Sweet   heat.Matter
	PieceKg float64
	AirC    float64
	Fan     bool
	Loose   bool
}

// What a sheet gives to the air or the bench from each of its faces, and a loose drop all
// round [W/(m² K)] (source key model-heat).
const stillFilm, fanFilm = 10.0, 20.0

// CoolsTo returns how long the sheet takes from one temperature to another [s]; false if
// the room is too warm. The chill is a small one (Biot's number below 0.4), so a sheet is
// of one temperature all through.
func (s Sheet) CoolsTo(fromC, toC float64) (seconds float64, ok bool) {
	film := stillFilm
	if s.Fan {
		film = fanFilm
	}
	deep := SheetThickness(s.PieceKg, s.Sweet.Density) / 2 // volume by surface [m]
	if s.Loose {
		deep = math.Cbrt(s.PieceKg/s.Sweet.Density) / 5
	}
	perKg := film / (s.Sweet.Density * deep)
	lump := heat.Lump{Heat: s.Sweet.Heat, Step: 20, Takes: func(_, t float64) float64 { return perKg * (t - s.AirC) }}
	return lump.CoolsTo(0, fromC, toC, 12*3600)
}

// SheetThickness returns how thick a sheet of drops of a mass [kg] and a density [kg/m³]
// is if it is made even [m]: drops are about as deep as they are wide and the web between
// them is thin, so half of that (source key model-heat, 5 mm for drops of 10 mm).
func SheetThickness(pieceKg, density float64) float64 { return math.Cbrt(pieceKg/density) / 2 }

// HandWarm is the temperature at which drops are bagged [°C] (source key practice).
const HandWarm = 35.0
