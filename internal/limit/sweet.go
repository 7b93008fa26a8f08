package limit

import (
	"strings"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
)

// Sweet is one portion of a boil, finished.
type Sweet struct {
	ID, Name string // of the portion; Name is empty where there is one alone
	Brings   []Brought
}

// Brought is an ingredient in a sweet.
type Brought struct {
	Ingredient ingredient.Ingredient
	Share      q.Estimate // of the finished sweet, by mass, as it was weighed
}

// holdsOf is what an ingredient holds: what its supplier states, by this program's
// words, and the acid that it is.
func holdsOf(in ingredient.Ingredient) []ingredient.Hold {
	var out []ingredient.Hold
	for _, h := range in.Holds {
		h.Substance = wordOf(h.Substance)
		out = append(out, h)
	}
	sour := wordOf(acidWord(in.Soured()))
	for _, h := range out {
		if h.Substance == sour {
			return out // as stated
		}
	}
	if sour != "" {
		out = append(out, ingredient.Hold{Substance: sour, Share: in.Solids})
	}
	return out
}

// acidWord is how a substance's name is made of an acid's.
func acidWord(s ingredient.Sour) string {
	if s == "" || s == ingredient.CreamOfTartar {
		return string(s)
	}
	return string(s) + " acid"
}

// Part is what one ingredient brings of one substance.
type Part struct {
	Ingredient string            `json:"ingredient"` // its id
	Name       string            `json:"name"`
	Substance  string            `json:"substance"`
	SweetFrac  q.Estimate        `json:"ingredient_frac"` // of the ingredient in the sweet
	LeastFrac  q.Number          `json:"least_frac"`      // of the substance in the ingredient
	MostFrac   q.Number          `json:"most_frac"`
	By         ingredient.HoldBy `json:"by"`
	Brings     q.Estimate        `json:"brings_mg_kg"`
}

// amount is what an ingredient that is a share of a sweet brings of what it holds, as
// a share of the sweet: the middle of what it may hold, and from the least of it in the
// least to the most in the most.
func amount(share q.Estimate, h ingredient.Hold) q.Estimate {
	least, most := h.Range()
	e := q.Estimate{Value: share.Value * float64(least+most) / 2, Low: share.Low * float64(least), High: share.High * float64(most), Basis: share.Basis}
	if least != most {
		e.Basis = q.Estimated
	}
	return e
}

// sum adds estimates end to end: that their ranges are reached together is the worst
// there can be.
func sum(a, b q.Estimate) q.Estimate {
	out := q.Estimate{Value: a.Value + b.Value, Low: a.Low + b.Low, High: a.High + b.High, Basis: q.Exact}
	if a.Basis != q.Exact || b.Basis != q.Exact {
		out.Basis = q.Estimated
	}
	return out
}

// parts lists what a sweet holds that a rule counts, and adds it up.
func (r Rule) parts(s Sweet) (out []Part, total q.Estimate) {
	total = q.ExactOf(0)
	for _, b := range s.Brings {
		for _, h := range holdsOf(b.Ingredient) {
			if !contains(r.Substances, h.Substance) || r.How == NotAsSuch && h.Natural {
				continue
			}
			e := amount(b.Share, h)
			if !(e.High > 0) {
				continue
			}
			least, most := h.Range()
			total = sum(total, e)
			out = append(out, Part{Ingredient: b.Ingredient.ID, Name: b.Ingredient.Name, Substance: h.Substance, SweetFrac: b.Share,
				LeastFrac: q.Number(least), MostFrac: q.Number(most), By: h.By, Brings: e.Scale(1e6)})
		}
	}
	return out, total
}

// binds reports whether the rule is meant for a sweet at all.
func (r Rule) binds(s Sweet) bool {
	if len(r.OnlyIf) == 0 {
		return true
	}
	for _, b := range s.Brings {
		for _, h := range holdsOf(b.Ingredient) {
			if _, most := h.Range(); contains(r.OnlyIf, h.Substance) && most > 0 && b.Share.High > 0 {
				return true
			}
		}
	}
	return false
}

func contains(words []string, word string) bool {
	for _, w := range words {
		if strings.EqualFold(w, word) {
			return true
		}
	}
	return false
}
