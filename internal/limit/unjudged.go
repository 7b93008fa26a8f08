package limit

import (
	"fmt"
	"slices"

	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/source"
)

// unjudged adds what a table of law leaves open: substances that no rule of it counts
// here, and ingredients whose holdings are not stated, or not in full.
func (r *Report) unjudged(in Inputs, t Table) {
	var noRow []string
	seen := map[string]bool{}
	for _, s := range in.Sweets {
		for _, b := range s.Brings {
			for _, h := range holdsOf(b.Ingredient) {
				if _, most := h.Range(); seen[h.Substance] || !(most > 0) || !(b.Share.High > 0) || r.judged(h.Substance) {
					continue
				}
				seen[h.Substance] = true
				if why := t.passedOver(h); why != "" {
					f := open(t, nameOf(h.Substance)+": "+why)
					f.Substances = []string{h.Substance}
					r.List = append(r.List, f)
					continue
				}
				noRow = append(noRow, h.Substance)
			}
		}
	}
	if len(noRow) > 0 {
		r.List = append(r.List, t.withoutRow(noRow))
	}
	r.unstated(in, t)
}

// judged reports whether a finding counts the substance.
func (r *Report) judged(word string) bool {
	return slices.ContainsFunc(r.List, func(f Finding) bool { return contains(f.Substances, word) })
}

// passedOver says why the rules of a table that name a substance did not count it;
// empty if none names it.
func (t Table) passedOver(h ingredient.Hold) string {
	why := ""
	for _, rule := range t.Rules {
		switch {
		case !contains(rule.Substances, h.Substance):
		case len(rule.OnlyIf) > 0:
			return "its limit is for sweets that hold " + either(rule.OnlyIf) + ", and this one does not, as far as the shop book says"
		case rule.How == NotAsSuch:
			why = "it came with the plant, for which this table has no figure; put in as such it is not allowed"
		}
	}
	return why
}

// either writes words out: "a, b or c".
func either(words []string) string {
	out := words[0]
	for i, w := range words[1:] {
		if i == len(words)-2 {
			out += " or " + w
			continue
		}
		out += ", " + w
	}
	return out
}

// withoutRow is the finding of substances that a table does not name.
func (t Table) withoutRow(words []string) Finding {
	var names, why []string
	for _, w := range words {
		names = append(names, nameOf(w))
		if s, ok := Named(w); ok && s.Group == Colour && len(why) == 0 {
			why = append(why, "a colour that the law does not list is not permitted: ask before it is used")
		}
	}
	f := open(t, listed(names)+": this table has no row for "+map[bool]string{true: "it", false: "them"}[len(words) == 1], why...)
	f.Substances = words
	return f
}

// unstated adds the ingredients whose holdings are not stated, or not in full.
func (r *Report) unstated(in Inputs, t Table) {
	var none, some []string
	seen := map[string]bool{}
	for _, s := range in.Sweets {
		for _, b := range s.Brings {
			i := b.Ingredient
			if seen[i.ID] || i.HoldsAll || !(b.Share.High > 0) {
				continue
			}
			seen[i.ID] = true
			switch {
			case len(i.Holds) > 0:
				r.companions(in.Units, t, s, i)
				if i.Kind.Compounded() {
					some = append(some, i.Name)
				}
			case i.Kind.Compounded():
				none = append(none, i.Name)
			}
		}
	}
	if len(none) > 0 {
		r.List = append(r.List, open(t, "what "+listed(none)+" "+verb(none, "holds", "hold")+" of colours and flavour compounds is not stated",
			"the supplier's sheet says it: put it into the shop book"))
	}
	if len(some) > 0 {
		r.List = append(r.List, open(t, "whether "+listed(some)+" "+verb(some, "holds", "hold")+" anything else that has a limit is not stated",
			"when the supplier's sheet lists all of it, say so in the shop book"))
	}
}

func verb(list []string, one, more string) string {
	if len(list) == 1 {
		return one
	}
	return more
}

// companions adds what an oil usually holds and the shop has not stated, where the
// table has a limit for it.
func (r *Report) companions(u q.Reader, t Table, s Sweet, i ingredient.Ingredient) {
	holds := holdsOf(i)
	for _, h := range holds {
		for _, usual := range UsualIn(h.Substance) {
			if slices.ContainsFunc(holds, func(o ingredient.Hold) bool { return o.Substance == usual.Substance }) {
				continue
			}
			for _, rule := range t.Rules {
				if rule.How != AtMost || !contains(rule.Substances, usual.Substance) || !rule.binds(s) {
					continue
				}
				f := open(t, fmt.Sprintf("%s usually holds %s of %s, and what %s holds is not stated", h.Substance, spread(u, usual), usual.Substance, i.Name))
				f.Rule, f.Substances, f.Sources = rule.Name, []string{usual.Substance}, source.Strings(usual.Source)
				r.List = append(r.List, f)
			}
		}
	}
}

// spread prints what an oil usually holds.
func spread(u q.Reader, x Usual) string {
	if x.Least == 0 {
		return "up to " + u.Percent(x.Most, 1)
	}
	return u.Number(x.Least.Percent(), 1) + "–" + u.Percent(x.Most, 1)
}
