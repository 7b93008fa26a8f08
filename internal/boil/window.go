package boil

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/ingredient"
	"slabside/internal/inversion"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// The true temperatures of the stages after the flame (source key practice): at the pour
// the sugar has lost some 3 K, 1 to 6; it is folded between 95 and 110 °C.
const (
	pourLoss, pourLossLeast, pourLossMost = q.Kelvins(3), q.Kelvins(1), q.Kelvins(6)
	foldFrom, foldTo                      = q.Celsius(95), q.Celsius(110)
)

// StageTemperature returns the true temperature of the sugar at a stage [°C] of a boil
// that ends at a temperature; false in the boil itself, which passes through all of
// them. The ranges of pour and fold are judgement (source key practice).
func StageTemperature(s recipe.Stage, end q.Estimate) (q.Estimate, bool) {
	at := q.Estimate{Basis: q.Estimated}
	switch s {
	case recipe.AtEnd:
		return end, true
	case recipe.AtPour:
		at.Value = end.Value - float64(pourLoss)
		at.Low, at.High = end.Low-float64(pourLossMost), end.High-float64(pourLossLeast)
		return at, true
	case recipe.AtFold: // a boil that ends below has not far to cool
		at.Value = min(float64(foldFrom+foldTo)/2, end.Value)
		at.Low, at.High = min(float64(foldFrom), end.Low), min(float64(foldTo), end.High)
		return at, true
	}
	return q.Estimate{}, false
}

// Window is when an addition goes in by practice (source key practice; that flavour
// goes in once the mass cools and acid once it lies cooled on the slab also greweling2007).
type Window struct {
	Stages    []recipe.Stage
	Low, High q.Celsius // of the sugar; 0: by the stage alone
	Most      q.Celsius // above it the caution is said; 0: by the stage alone
}

// The windows' edges (source key practice). Acid is warned of from 115 °C, oil from the
// top of its window: its vapour takes fire far below (flash points of essential oils 46
// to 90 °C, from memory).
const (
	oilFrom, oilTo q.Celsius = 100, 110
	acidMost       q.Celsius = 115
	grittyC        q.Celsius = 90 // at 85 to 90 °C powdered acid does not dissolve any more
)

// WindowOf returns when an ingredient goes in; false where practice leaves it free.
func WindowOf(in ingredient.Ingredient) (Window, bool) {
	switch in.Kind {
	case ingredient.Oil:
		return Window{Stages: []recipe.Stage{recipe.AtFold}, Low: oilFrom, High: oilTo, Most: oilTo}, true
	case ingredient.Acid, ingredient.Doctor:
		return Window{Stages: []recipe.Stage{recipe.AtFold}, Low: foldFrom, High: foldTo, Most: acidMost}, true
	case ingredient.Essence:
		return Window{Stages: []recipe.Stage{recipe.AtPour, recipe.AtFold}}, true
	case ingredient.Colour, ingredient.Extract:
		if in.Form() != ingredient.Powder {
			return Window{Stages: []recipe.Stage{recipe.AtEnd, recipe.AtPour}}, true
		}
	}
	return Window{}, false
}

// holds reports whether an addition at a stage and temperature is in its window.
func (w Window) holds(s recipe.Stage, atC float64) bool {
	if w.Most != 0 {
		return atC <= float64(w.Most)
	}
	return slices.Contains(w.Stages, s)
}

// short says the window in a few words.
func (w Window) short(u q.Reader) string {
	words := map[recipe.Stage]string{recipe.AtEnd: "at the end of the boil", recipe.AtPour: "at the pour", recipe.AtFold: "folded in"}
	var out []string
	for _, s := range w.Stages {
		out = append(out, words[s])
	}
	text := strings.Join(out, " or ") + ", flame off"
	if w.High != 0 {
		text += ", at " + u.TemperatureRange(w.Low, w.High, 0)
	}
	return text
}

// says says the window and what it is for.
func (w Window) says(in ingredient.Ingredient, u q.Reader) string {
	span := u.TemperatureRange(w.Low, w.High, 0)
	switch in.Kind {
	case ingredient.Oil:
		return "oils go in at about " + span + ", off the flame: hotter they are driven off, and their vapour takes fire"
	case ingredient.Acid, ingredient.Doctor:
		return fmt.Sprintf("powdered acid is folded in at %s: above %s it inverts and browns the sugar, at %s and less it stays gritty",
			span, u.Temperature(acidMost, 0), u.Temperature(grittyC, 0))
	case ingredient.Essence:
		return "flavour goes in once the mass cools, at the pour or folded in, off the flame: hotter it is driven off"
	}
	return "watery colour and flavour go in at the end of the boil or at the pour, flame off, a little at a time: there some of the water flashes off, folded in it stays"
}

// How long an addition is worked in (common practice, no source; the ranges are
// judgement): until the bubbling is over, or no streak and no grit is left.
func stirFor(f ingredient.Form, s recipe.Stage) (low, value, high float64) {
	slab := s == recipe.AtFold
	switch {
	case f == ingredient.Powder && slab:
		return 120, 180, 300
	case f == ingredient.Paste && slab, f == ingredient.Solid && slab:
		return 90, 150, 240
	case slab:
		return 60, 120, 180
	case f == ingredient.Paste, f == ingredient.Powder:
		return 30, 60, 120
	}
	return 20, 40, 60
}

// untilDone is what ends the stirring.
func untilDone(f ingredient.Form) string {
	switch f {
	case ingredient.Powder:
		return "until no grit is left"
	case ingredient.Solid:
		return "until it lies evenly"
	case ingredient.Oily:
		return "until no streak is left"
	}
	return "until the bubbling is over and no streak is left"
}

// acidOnSlab says how much the heat of the mass matters to acid that lies on it; the
// rate itself is not known.
func acidOnSlab(u q.Reader) string {
	const hot, mid, cool q.Celsius = 130, 110, 90
	fast, err := inversion.TimesFaster(hot, mid)
	faster, err2 := inversion.TimesFaster(hot, cool)
	if err != nil || err2 != nil {
		return ""
	}
	return fmt.Sprintf("how much acid inverts on the slab is not computed; at %s it inverts %s times as fast as at %s and %s times as fast as at %s",
		u.Temperature(hot, 0), u.Number(fast, 0), u.Temperature(mid, 0), u.Number(faster, 0), u.Temperature(cool, 0))
}
