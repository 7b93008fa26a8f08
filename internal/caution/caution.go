package caution

import (
	"fmt"
	"slices"
)

// Code names a caution for programs. Codes never change.
type Code string

// Caution is what a result carries beside its figures.
type Caution struct {
	Code Code   `json:"code"`
	Text string `json:"text"`
}

// Of returns the caution of a code in its fixed wording. It panics on an
// unknown code, which is a programmer's slip.
func Of(c Code) Caution { return Caution{Code: c, Text: Text(c)} }

// About returns the caution of a code with what it concerns before the fixed
// wording: About(OldMetal, `rolls "leaf"`).
func About(c Code, subject string) Caution {
	return Caution{Code: c, Text: subject + ": " + Text(c)}
}

// Text returns the fixed wording of a code. It panics on an unknown code.
func Text(c Code) string {
	i := slices.IndexFunc(texts, func(t Caution) bool { return t.Code == c })
	if i < 0 {
		panic(fmt.Sprintf("caution: no text for code %q", c))
	}
	return texts[i].Text
}

// Known reports whether the code has a fixed wording.
func Known(c Code) bool {
	return slices.ContainsFunc(texts, func(t Caution) bool { return t.Code == c })
}

// All returns every caution in the order of the work: fire, sugar, additions,
// gas, rolls, lifting, metal, foreign bodies, allergens, hands, law.
func All() []Caution { return slices.Clone(texts) }

// Merge joins lists of cautions, keeping the first of any two that are equal.
func Merge(lists ...[]Caution) []Caution {
	var out []Caution
	for _, l := range lists {
		for _, c := range l {
			if !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	return out
}
