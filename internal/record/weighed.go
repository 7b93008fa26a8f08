package record

import (
	"strings"

	"slabside/internal/fault"
	"slabside/internal/lot"
)

// Weighed is one thing that was weighed for a batch. What is weighed in several goes, or
// out of several lots, is written down as often.
type Weighed struct {
	Ingredient string `json:"ingredient"`           // id of what was weighed
	Lot        string `json:"lot,omitempty"`        // number of its lot in the stores; empty: it has none, as tap water
	MassMg     int64  `json:"mass_mg"`              // as the scale says, of a stock solution all of it
	Stage      string `json:"stage,omitempty"`      // of the sheet, into which it goes; empty: into the charge
	Portion    string `json:"portion,omitempty"`    // of the sheet; empty: the whole boil
	Instead    string `json:"instead_of,omitempty"` // id of the ingredient of the sheet in whose place it goes
	Why        string `json:"why,omitempty"`        // it goes in its place, or it is not what the sheet says
	Scale      string `json:"scale,omitempty"`      // id
	Second     string `json:"checked_by,omitempty"` // who looked at label and scale too
	Scanned    bool   `json:"scanned,omitempty"`    // the lot was read off the pot, not picked from a list
	// Strength is the ingredient in what was weighed, by mass, of a stock solution; 0: it is
	// the ingredient as it is.
	Strength float64 `json:"strength_frac,omitempty"`
}

// DoseMg is how much of the ingredient was weighed [mg].
func (w Weighed) DoseMg() int64 { return lot.DoseMg(w.MassMg, w.Strength) }

// Line names the line of the sheet that a weighing is for.
type Line struct{ Ingredient, Stage, Portion string }

// Line returns the line of the sheet that the weighing is for.
func (w Weighed) Line() Line {
	if w.Instead != "" {
		return Line{w.Instead, w.Stage, w.Portion}
	}
	return Line{w.Ingredient, w.Stage, w.Portion}
}

func (w *Weighed) check() error {
	switch {
	case w.Ingredient == "":
		return fault.Invalid("it is not said what was weighed").At("weighed.ingredient")
	case w.MassMg <= 0 || w.MassMg > mostMg:
		return fault.Invalid("%g g cannot have been weighed", float64(w.MassMg)/1e3).At("weighed.mass_mg").WithHint("write what the scale says, more than zero")
	case w.Instead == w.Ingredient:
		return fault.Invalid("nothing goes in its own place").At("weighed.instead_of")
	case w.Instead != "" && strings.TrimSpace(w.Why) == "":
		return fault.Invalid("it is not said why another thing goes in").At("weighed.why").WithHint("out of it, its lot is on hold, as the maker said")
	case !(w.Strength >= 0 && w.Strength <= 1):
		return fault.Invalid("a strength of %g is none", w.Strength).At("weighed.strength_frac").WithHint("leave it out: it is that of the lot")
	case w.Strength != 0 && w.Lot == "":
		return fault.Invalid("a solution was weighed, and its lot is not named").At("weighed.lot")
	case w.Scanned && w.Lot == "":
		return fault.Invalid("a lot was read off the pot and is not named").At("weighed.lot")
	}
	if w.Lot != "" {
		if err := lot.CheckID(w.Lot); err != nil {
			return fault.Invalid("%q is no number of a lot", fault.Clip(w.Lot, fault.Echo)).At("weighed.lot").WithHint("it is an r, a day and a number, as r2026-11-28-2")
		}
	}
	return fault.Texts("weighed", w.Ingredient, w.Stage, w.Portion, w.Instead, w.Why, w.Scale, w.Second)
}

// WeighedInMg adds up what stands weighed for each line of the sheet [mg], of solutions
// the ingredient in them.
func (r Record) WeighedInMg() map[Line]int64 {
	out := map[Line]int64{}
	for _, k := range r.All(Weighing) {
		out[k.Weighed.Line()] += k.Weighed.DoseMg()
	}
	return out
}
