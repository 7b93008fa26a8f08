package store

import (
	"slices"
	"strings"

	"slabside/internal/fault"
)

// TakeOut adds to the plan what goes out of the book in the same act. Defs are
// what the act puts in, things what is kept, lines the lines to make that are
// kept, and users tells what uses a thing now. Faults as of [Keeper.Change].
func (p *Plan) TakeOut(out []Name, defs []Definition, things []Thing, lines []Make, users func(Name) ([]Name, error)) error {
	if p.Body.ToMake != nil {
		lines = *p.Body.ToMake
	}
	for _, n := range out {
		if Single(n.Kind) {
			return fault.Invalid("the %s of a book is never taken out", fault.Clip(n.Kind, fault.Echo))
		}
		live := slices.ContainsFunc(things, func(t Thing) bool { return t.Name == n && !t.Retired })
		if !live || slices.Contains(p.Body.Retired, n) {
			return fault.NotFound("there is no %s %q", fault.Clip(n.Kind, fault.Echo), fault.Clip(n.Slug, fault.Echo))
		}
		left, err := stillUsing(n, out, defs, users)
		if err != nil {
			return err
		}
		if n.Kind == KindProduct && slices.ContainsFunc(lines, func(m Make) bool { return m.Product == n.Slug }) {
			left = append(left, "the "+LinesToMake)
		}
		if len(left) > 0 {
			return fault.Conflict("%s is still used by %s", n, strings.Join(left, ", ")).WithHint("take it out there first")
		}
		p.Body.Retired = append(p.Body.Retired, n)
		p.orderWithout(n, things)
	}
	return nil
}

// stillUsing lists what uses a thing once the act is done.
func stillUsing(n Name, out []Name, defs []Definition, users func(Name) ([]Name, error)) ([]string, error) {
	now, err := users(n)
	if err != nil {
		return nil, err
	}
	var left []string
	for _, u := range now {
		put := slices.ContainsFunc(defs, func(d Definition) bool { return d.Name == u })
		if !put && !slices.Contains(out, u) {
			left = append(left, u.String())
		}
	}
	for _, d := range defs {
		if d.Name == n || slices.ContainsFunc(d.Refs, func(r Ref) bool { return r.Name == n }) {
			left = append(left, d.Name.String())
		}
	}
	return left, nil
}

// orderWithout takes a thing out of the order of its kind.
func (p *Plan) orderWithout(n Name, things []Thing) {
	i := slices.IndexFunc(p.Body.Order, func(o Order) bool { return o.Kind == n.Kind })
	if i < 0 {
		slugs := []string{}
		for _, t := range things {
			if t.Kind == n.Kind && !t.Retired {
				slugs = append(slugs, t.Slug)
			}
		}
		i, p.Body.Order = len(p.Body.Order), append(p.Body.Order, Order{n.Kind, slugs})
	}
	o := &p.Body.Order[i]
	o.Slugs = slices.DeleteFunc(o.Slugs, func(s string) bool { return s == n.Slug })
}
