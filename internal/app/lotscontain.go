package app

import (
	"slices"

	"slabside/internal/book"
	"slabside/internal/ingredient"
	ledger "slabside/internal/lot"
	"slabside/internal/recipe"
	"slabside/internal/record"
)

// codeOtherThanBook is the code of the caution that what went in says something else
// than the recipe.
const codeOtherThanBook = "other-than-book"

// LotsContain is what a batch contains by the lots that went into it, and not by its
// recipe: by what the shop book says of each ingredient and by the statement that came
// with its lot.
type LotsContain struct {
	Contains []string `json:"contains"`
	May      []string `json:"may_contain"`
	Unstated []string `json:"unstated"` // names of what nobody has stated, which is not none
	Lots     []string `json:"lots"`     // that went in
	NoLot    []string `json:"no_lot"`   // names of what went in out of no named lot
	Whole    bool     `json:"whole"`    // every line of the sheet is weighed, so that nothing is missing here
}

// lotsContain reads what went in. What is not weighed yet goes by the recipe, so that the
// answer is never shorter than the truth.
func lotsContain(b *book.Book, r record.Record, list []ledger.Ledger) LotsContain {
	out := LotsContain{Contains: []string{}, May: []string{}, Unstated: []string{}, Lots: []string{}, NoLot: []string{}, Whole: true}
	begun := r.Begun()
	if begun == nil {
		return out
	}
	rec, _ := b.Recipe(begun.Recipe)
	in := map[string]bool{}     // ingredients that went in
	served := map[string]bool{} // ingredients of the recipe that something was weighed for
	for _, k := range r.All(record.Weighing) {
		w := k.Weighed
		in[w.Ingredient], served[w.Line().Ingredient] = true, true
		x, _ := b.Ingredient(w.Ingredient)
		if w.Lot == "" {
			if x.Kind != ingredient.Water {
				out.NoLot = append(out.NoLot, nameIn(b, w.Ingredient))
			}
			continue
		}
		out.Lots = append(out.Lots, w.Lot)
		i := slices.IndexFunc(list, func(l ledger.Ledger) bool { return l.ID == w.Lot })
		if i < 0 || list[i].Receipt == nil { // its statement cannot be read, which is not none
			out.Unstated = append(out.Unstated, nameIn(b, w.Ingredient))
			continue
		}
		out.May = append(out.May, list[i].Receipt.MayContain...)
	}
	for _, id := range rec.Ingredients() {
		if !served[id] {
			in[id] = true
			if x, _ := b.Ingredient(id); x.Kind != ingredient.Water {
				out.Whole = false
			}
		}
	}
	for id := range in {
		x, ok := b.Ingredient(id)
		if x.Kind == ingredient.Water {
			continue
		}
		if !ok || !x.Stated() {
			out.Unstated = append(out.Unstated, nameIn(b, id))
		}
		out.Contains = append(out.Contains, x.Contains...)
		out.May = append(out.May, x.MayContain...)
	}
	for _, words := range []*[]string{&out.Contains, &out.May, &out.Unstated, &out.Lots, &out.NoLot} {
		slices.Sort(*words)
		*words = slices.Compact(*words)
	}
	out.May = slices.DeleteFunc(out.May, func(w string) bool { return slices.Contains(out.Contains, w) })
	return out
}

// cautions say where the lots say something else than the recipe: the label goes by the
// lots.
func (c LotsContain) cautions(b book.Book, rec recipe.Recipe) []Caution {
	var out []Caution
	contains, may, _ := b.AllergensOf(rec)
	var more []string
	for _, w := range c.Contains {
		if !slices.Contains(contains, w) {
			more = append(more, "contains "+w)
		}
	}
	for _, w := range c.May {
		if !slices.Contains(contains, w) && !slices.Contains(may, w) {
			more = append(more, "may contain "+w)
		}
	}
	if len(more) > 0 {
		out = append(out, Caution{Code: codeOtherThanBook, Text: "by the lots that went in this batch " + Listed(more) + ", and its recipe does not say so: the label goes by the lots; do not pack it under the usual one"})
	}
	if len(c.NoLot) > 0 {
		out = append(out, Caution{Code: codeNoLot, Text: Listed(c.NoLot) + " went in out of no named lot: what became of that delivery cannot be followed into this batch"})
	}
	return out
}
