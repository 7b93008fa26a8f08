package store

import (
	"slices"

	"slabside/internal/demand"
	"slabside/internal/fault"
)

// LinesToMake is what Changes call the lines to make, which are no thing.
const LinesToMake = "lines to make"

// Plan is what an act has to do.
type Plan struct {
	Body    ActBody
	New     []Definition // one for each mark of the body, in its order
	Changes Changes
}

// Empty reports whether there is nothing to do.
func (p Plan) Empty() bool {
	return len(p.New) == 0 && len(p.Body.Back) == 0 && len(p.Body.Order) == 0 && len(p.Body.Retired) == 0 && p.Body.ToMake == nil
}

// MakePlan compares a file's definitions and lines to make with the things (in
// the shop's order, with the retired ones) and lines that are kept. Invalid
// names a field that refers to what is in neither.
func MakePlan(defs []Definition, lines []demand.Line, things []Thing, kept []demand.Line) (Plan, error) {
	var p Plan
	held := map[Name]Thing{}
	old := map[string][]string{}
	for _, t := range things {
		held[t.Name] = t
		if !t.Retired {
			old[t.Kind] = append(old[t.Kind], t.Slug)
		}
	}
	file := map[string][]string{}
	in := map[Name]bool{}
	for _, d := range defs {
		in[d.Name] = true
		file[d.Kind] = append(file[d.Kind], d.Slug)
	}
	if len(things) == 0 && !in[Name{KindShop, KindShop}] {
		return p, fault.Invalid("a new book needs its shop").At(KindShop).WithHint("give the shop's name, place, units, currency, market and time zone")
	}
	for _, d := range defs {
		for _, r := range d.Refs {
			if err := there(r.Name, in, held); err != nil {
				return p, err.At(r.Field)
			}
		}
		p.compare(d, held)
	}
	for i, l := range lines {
		if err := there(Name{KindProduct, l.Product}, in, held); err != nil {
			return p, err.At(indexed("to_make", i, "product"))
		}
	}
	for _, t := range things {
		if !t.Retired && !in[t.Name] {
			p.Changes.Kept = append(p.Changes.Kept, t.Name.String())
		}
	}
	for _, kind := range Kinds() {
		if Single(kind) {
			continue
		}
		if order := MergeOrder(old[kind], file[kind]); !slices.Equal(order, old[kind]) {
			p.Body.Order = append(p.Body.Order, Order{kind, order})
		}
	}
	p.lines(lines, kept)
	return p, nil
}

// compare decides what becomes of one definition.
func (p *Plan) compare(d Definition, held map[Name]Thing) {
	sum := Sum(d.Body)
	t, known := held[d.Name]
	if t.Retired {
		p.Body.Back = append(p.Body.Back, d.Name)
	}
	if !known || t.SHA256 != sum {
		p.Body.Revisions = append(p.Body.Revisions, Mark{d.Name, t.N + 1, sum})
		p.New = append(p.New, d)
	}
	switch {
	case !known || t.Retired:
		p.Changes.Added = append(p.Changes.Added, d.Name.String())
	case t.SHA256 != sum:
		p.Changes.Revised = append(p.Changes.Revised, d.Name.String())
	default:
		p.Changes.Unchanged++
	}
}

// lines decides what becomes of the lines to make; nil leaves them as they are.
func (p *Plan) lines(lines, kept []demand.Line) {
	switch {
	case len(lines) == 0 && len(kept) == 0:
	case lines == nil:
		p.Changes.Kept = append(p.Changes.Kept, LinesToMake)
	case slices.Equal(lines, kept):
		p.Changes.Unchanged++
	default:
		makes := Makes(lines)
		p.Body.ToMake = &makes
		if len(kept) == 0 {
			p.Changes.Added = append(p.Changes.Added, LinesToMake)
		} else {
			p.Changes.Revised = append(p.Changes.Revised, LinesToMake)
		}
	}
}

// there refuses a name that is neither in the file nor live in the book.
func there(n Name, in map[Name]bool, held map[Name]Thing) *fault.Error {
	if in[n] {
		return nil
	}
	t, known := held[n]
	switch {
	case known && !t.Retired:
		return nil
	case known:
		return fault.Invalid("%s %q is retired", n.Kind, fault.Clip(n.Slug, fault.Echo)).WithHint("bring it back by importing it, or use another")
	}
	return fault.Invalid("there is no %s %q", n.Kind, fault.Clip(n.Slug, fault.Echo)).WithHint("add it, or correct the id")
}
