package app

import (
	"fmt"
	"slices"
	"strings"

	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/rig"
)

// Trial reports whether a request asks for anything but the day as the book has it.
func (r PlanRequest) Trial(b *book.Book) bool { return len(r.Said(b)) > 0 }

// applied puts the changes of a request into its book, in memory alone. What comes
// back asks for the same day without changes, so that both are planned by one path.
//
// Faults: Problems, each at the name of its change, for a change that cannot be
// meant in this book or contradicts another.
func applied(b book.Book, req PlanRequest) (book.Book, PlanRequest, error) {
	if req.Lines == nil {
		req.Lines = b.ToMake
	}
	if len(req.If) == 0 {
		return b, req, nil
	}
	if _, err := usable(&b); err != nil {
		return b, req, err
	}
	if err := CheckLines(b, req.Lines); err != nil {
		return b, req, err
	}
	b.ToMake = req.Lines
	b, err := withChanges(inHours(b, req), req.If, req.Date)
	req.Lines, req.If = some(b.ToMake), nil
	return b, req, err
}

// inHours gives a book the hours of a request, if they are longer: what is added
// may lie in them.
func inHours(b book.Book, req PlanRequest) book.Book {
	if isClock(req.Start) && req.Start < b.Day.Opens {
		b.Day.Opens = req.Start
	}
	if isClock(req.End) && req.End > b.Day.Ends {
		b.Day.Ends = req.End
	}
	return b
}

// Meant leaves out of a request each change that cannot be meant in the book on
// the date and in the hours it asks for; Problems says which, and why.
func (r PlanRequest) Meant(b book.Book) (PlanRequest, Problems) {
	if r.Lines != nil {
		b.ToMake = r.Lines
	}
	var p Problems
	_, r.If, p = sifted(inHours(b, r), r.If, r.Date)
	return r, p
}

func isClock(s string) bool { return hoursForm.MatchString(s + "-" + s) }

// withChanges applies changes one by one and has the book's own checks judge each.
// The book that was given is not touched.
func withChanges(b book.Book, list []Change, date string) (book.Book, error) {
	b, _, p := sifted(b, list, date)
	for _, err := range atOdds(&b, list) {
		p = append(p, err)
	}
	if len(p) > 0 {
		return b, p
	}
	return b, nil
}

// sifted applies the changes that can be meant, and says why the others cannot.
func sifted(b book.Book, list []Change, date string) (book.Book, []Change, Problems) {
	b.ToMake, b.Hands = slices.Clone(b.ToMake), slices.Clone(b.Hands)
	b.Day.Rules, b.Day.Breaks, b.Day.Pours = slices.Clone(b.Day.Rules), slices.Clone(b.Day.Breaks), slices.Clone(b.Day.Pours)
	var meant []Change
	var p Problems
	for i, c := range list {
		fail := func(err *fault.Error) { p = append(p, err.At(c.Kind)) }
		k, ok := kindOf(c.Kind)
		if !ok {
			fail(fault.Invalid("there is no change called %q", fault.Clip(c.Kind, fault.Echo)))
			continue
		}
		if twice(list[:i], c) {
			fail(fault.Invalid("%s stands here twice", c.Say(&b)).WithHint("give it once"))
			continue
		}
		next := b
		if err := k.apply(&next, c, date); err != nil {
			text, hint := fault.Said(err)
			fail(fault.Invalid("%s", text).WithHint("%s", hint))
			continue
		}
		if bad := newErrors(&b, &next); len(bad) > 0 {
			fail(fault.Invalid("%s: %s: %s", c.Say(&b), book.Place(&next, bad[0].Field), bad[0].Text).WithHint("%s", bad[0].Hint))
			continue
		}
		b, meant = next, append(meant, c)
	}
	return b, meant, p
}

// newErrors returns what the book's checks find wrong after a change and did not before.
func newErrors(before, after *book.Book) []book.Problem {
	old := book.Errors(book.Validate(before))
	return slices.DeleteFunc(book.Errors(book.Validate(after)), func(p book.Problem) bool {
		return slices.ContainsFunc(old, func(o book.Problem) bool { return o.Code == p.Code && o.Text == p.Text })
	})
}

// twice reports whether a change was made before; only one boil is the first, and
// one the last.
func twice(before []Change, c Change) bool {
	return slices.ContainsFunc(before, func(o Change) bool {
		return o.Kind == c.Kind && (o.Text() == c.Text() || c.Kind == "first" || c.Kind == "last" || c.Kind == "bags" && textLine(o) == textLine(c))
	})
}

// atOdds finds wished places in the day that cannot both be had, of which at least
// one is a change: the sweet that is first follows none, and each follows one.
func atOdds(b *book.Book, list []Change) []*fault.Error {
	changed := func(r book.Rule) (Change, bool) {
		i := slices.IndexFunc(list, func(c Change) bool { return c.Rule == r })
		if i < 0 {
			return Change{}, false
		}
		return list[i], true
	}
	boiled := boiledToday(b)
	var out []*fault.Error
	rules := b.Day.Rules
	for i, x := range rules {
		for _, y := range rules[i+1:] {
			if !clash(x, y) && !clash(y, x) || !boiled[x.Recipe] || !boiled[y.Recipe] || x.After != "" && !boiled[x.After] || y.After != "" && !boiled[y.After] {
				continue
			}
			c, ok := changed(y)
			if !ok {
				if c, ok = changed(x); !ok {
					continue
				}
			}
			out = append(out, fault.Invalid("%s and %s cannot both be", sayKept(b, x), sayKept(b, y)).At(c.Kind).WithHint("take one of the two back, or change the rules of the day in the shop book"))
		}
	}
	return out
}

func sayKept(b *book.Book, r book.Rule) string {
	return Change{Kind: strings.ReplaceAll(r.Kind, "_", "-"), Rule: r}.Say(b)
}

// clash reports whether one rule leaves no order for another, whatever else is boiled.
func clash(x, y book.Rule) bool {
	follows := y.Kind == "next" || y.Kind == "later"
	switch x.Kind {
	case "first":
		return follows && y.Recipe == x.Recipe
	case "last":
		return y.Kind == "later" && y.After == x.Recipe
	case "next":
		return y.Kind == "next" && y.Recipe == x.Recipe && y.After != x.After ||
			y.Kind == "later" && y.After == x.Recipe && y.Recipe == x.After
	}
	return false
}

// boiledToday returns the recipes that the lines to make ask for.
func boiledToday(b *book.Book) map[string]bool {
	wanted := map[string]bool{}
	for _, l := range b.ToMake {
		p, _ := b.Product(l.Product)
		for _, part := range p.Parts {
			wanted[part.Recipe] = true
		}
	}
	return wanted
}

// mustBeBoiled refuses a recipe that no line asks for: a wish about it would do nothing.
func mustBeBoiled(b *book.Book, ids ...string) error {
	boiled := boiledToday(b)
	for _, id := range ids {
		if _, ok := b.Recipe(id); !ok || id == "" {
			continue // the book's checks say it better, or any recipe is meant
		}
		if !boiled[id] {
			return fault.Invalid("%s is not boiled that day", recipeName(b, id)).WithHint("no line to make asks for it")
		}
	}
	return nil
}

func addRule(b *book.Book, c Change, _ string) error {
	if c.Kind == "first" || c.Kind == "last" { // a place for one: the kept one gives way
		b.Day.Rules = slices.DeleteFunc(slices.Clone(b.Day.Rules), func(r book.Rule) bool { return r.Kind == c.Rule.Kind })
	}
	if slices.ContainsFunc(b.Day.Rules, func(r book.Rule) bool { r.Why = ""; return r == c.Rule }) {
		return fault.Invalid("%s: that is a rule of the day already", c.Say(b)).WithHint("take it back")
	}
	b.Day.Rules = append(slices.Clip(b.Day.Rules), c.Rule)
	return mustBeBoiled(b, c.Rule.Recipe, c.Rule.After)
}

func addBreak(b *book.Book, c Change, _ string) error {
	b.Day.Breaks = append(slices.Clip(b.Day.Breaks), c.Break)
	return nil
}

func addPour(b *book.Book, c Change, _ string) error {
	b.Day.Pours = append(slices.Clip(b.Day.Pours), c.Pour)
	return mustBeBoiled(b, c.Pour.Recipe)
}

func addHand(b *book.Book, c Change, _ string) error {
	h := c.Hand
	if slices.ContainsFunc(b.Hands, func(o rig.Hand) bool { return strings.EqualFold(o.Name, h.Name) }) {
		return fault.Invalid("there is a hand called %s", h.Name).WithHint("give the new hand another name, or change the hours in the shop book")
	}
	base := entry.Slug(h.Name)
	if base == "" {
		base = "hand"
	}
	h.ID = base
	for n := 2; slices.ContainsFunc(b.Hands, func(o rig.Hand) bool { return o.ID == h.ID }); n++ {
		h.ID = fmt.Sprintf("%s-%d", base, n)
	}
	b.Hands = append(slices.Clip(b.Hands), h)
	return nil
}

func withoutHand(b *book.Book, c Change, _ string) error {
	i := slices.IndexFunc(b.Hands, func(h rig.Hand) bool { return h.ID == c.Hand.ID })
	if i < 0 {
		ids := make([]string, len(b.Hands))
		for i, h := range b.Hands {
			ids[i] = h.ID
		}
		return fault.Invalid("there is no hand %q", fault.Clip(c.Hand.ID, fault.Echo)).WithHint("the hands are %s", Listed(ids))
	}
	b.Hands = slices.Delete(slices.Clone(b.Hands), i, i+1)
	return nil
}

// notToday leaves out every line that needs a recipe.
func notToday(b *book.Book, c Change, _ string) error {
	r, ok := b.Recipe(c.Rule.Recipe)
	if !ok {
		return fault.Invalid("there is no recipe %q", fault.Clip(c.Rule.Recipe, fault.Echo)).WithHint("name one that is boiled that day")
	}
	if err := mustBeBoiled(b, r.ID); err != nil {
		return err
	}
	b.ToMake = slices.DeleteFunc(slices.Clone(b.ToMake), func(l demand.Line) bool {
		one := book.Book{Products: b.Products, ToMake: []demand.Line{l}}
		return boiledToday(&one)[r.ID]
	})
	return nil
}

// linesOf returns the places of the lines a change is about; never none without a fault.
func linesOf(b *book.Book, c Change) ([]int, error) {
	var at []int
	for i, l := range b.ToMake {
		if l.Product == c.Line.Product && (c.Line.For == "" || l.For == c.Line.For) {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return nil, fault.Invalid("no line to make asks for %s", lineName(b, c.Line)).WithHint("name the product of a line, and whom it is for after @ if one of several is meant")
	}
	return at, nil
}

func withoutLine(b *book.Book, c Change, _ string) error {
	at, err := linesOf(b, c)
	if err != nil {
		return err
	}
	b.ToMake = slices.Clone(b.ToMake)
	for _, i := range slices.Backward(at) {
		b.ToMake = slices.Delete(b.ToMake, i, i+1)
	}
	return nil
}

func otherBags(b *book.Book, c Change, _ string) error {
	at, err := linesOf(b, c)
	if err != nil {
		return err
	}
	if len(at) > 1 {
		return fault.Invalid("%d lines ask for %s", len(at), lineName(b, c.Line)).WithHint("say whose is meant, as %s@%s=%d", c.Line.Product, b.ToMake[at[0]].For, c.Line.Bags)
	}
	l := b.ToMake[at[0]]
	l.Bags = c.Line.Bags
	if err := CheckLines(*b, []demand.Line{l}); err != nil {
		return err.(Problems)[0]
	}
	b.ToMake = slices.Clone(b.ToMake)
	b.ToMake[at[0]] = l
	return nil
}

// mustGo makes orders of lines, due that day at the latest: what is due later is
// only a wish of that day.
func mustGo(b *book.Book, c Change, date string) error {
	at, err := linesOf(b, c)
	if err != nil {
		return err
	}
	b.ToMake = slices.Clone(b.ToMake)
	for _, i := range at {
		l := &b.ToMake[i]
		l.Must, l.Due = true, min(l.Due, date)
	}
	return nil
}
