package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/store"
)

// mostLines is the largest number of lines one form takes.
const mostLines = 200

// toMakeView is the page of the bags asked for.
type toMakeView struct {
	Base     base
	First    *firstStep
	Head     store.Head
	Lines    []lineView
	Products []productView
	Faults   []faultLine // of the whole form
	Wrong    int         // how many fields are wrong
	Conflict []conflictRow
	Follows  followsView
	Stock    []pair
}

// lineView is one line as typed.
type lineView struct {
	I                       int
	N                       int // for people, from 1
	Product, Bags, Due, For string
	Must                    bool
	Errors                  map[string]string // by field
	Products                []productView
}

type productView struct {
	ID, Name string
	Chosen   bool
}

// conflictRow is a line in which the kept book differs from what was typed.
type conflictRow struct{ Name, Kept, Typed string }

// followsView says what the plan makes of the lines as typed.
type followsView struct {
	Quiet  string // why there is nothing to say
	Change *changeView
	Faults []faultLine
}

func (s *server) toMake(w http.ResponseWriter, r *http.Request) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "tomake", toMakeView{Base: frame("To make", "/to-make"), First: noBook()})
	}
	if err != nil {
		return err
	}
	f := typed{head: head, lines: asTyped(b.ToMake)}
	if len(f.lines) == 0 {
		f.lines = []typedLine{{}}
	}
	v := s.toMakeView(r, b, f, nil)
	v.Follows.Quiet = "Change a line to see what it does to the day."
	return s.render(w, http.StatusOK, "tomake", v)
}

// typed is the form as it was sent, nothing corrected.
type typed struct {
	head  store.Head
	lines []typedLine
}

type typedLine struct {
	product, bags, due, forWhom string
	must                        bool
}

// asTyped returns lines as somebody would type them.
func asTyped(lines []demand.Line) []typedLine {
	var out []typedLine
	for _, l := range lines {
		out = append(out, typedLine{product: l.Product, bags: strconv.Itoa(l.Bags), due: l.Due, forWhom: l.For, must: l.Must})
	}
	return out
}

// blank reports whether the line has been left empty; it is then left out.
func (l typedLine) blank() bool {
	return l.product == "" && l.bags == "" && l.due == "" && l.forWhom == "" && !l.must
}

func readForm(f url.Values) (typed, error) {
	head, err := seenHead(f)
	if err != nil {
		return typed{}, err
	}
	n, err := strconv.Atoi(f.Get("lines"))
	if err != nil || n < 0 || n > mostLines {
		return typed{}, fault.Invalid("a form takes up to %d lines", mostLines).WithHint("open the page again and send fewer")
	}
	t := typed{head: head}
	for i := range n {
		get := func(name string) string { return strings.TrimSpace(f.Get(fmt.Sprintf("line.%d.%s", i, name))) }
		t.lines = append(t.lines, typedLine{product: get("product"), bags: get("bags"), due: get("due"), forWhom: get("for"), must: get("must") != ""})
	}
	return t, nil
}

// meant turns the typed lines into lines to make. The faults name the fields
// by the place of the line in the form.
func (t typed) meant(b book.Book) ([]demand.Line, app.Problems) {
	var lines []demand.Line
	var at []int // place in the form of each line
	var p app.Problems
	for i, l := range t.lines {
		if l.blank() {
			continue
		}
		field := func(name string) string { return fmt.Sprintf("line[%d].%s", i, name) }
		bags, err := strconv.Atoi(l.bags)
		switch {
		case l.bags == "":
			p, bags = append(p, fault.Invalid("no number of bags").At(field("bags")).WithHint("write a whole number from 1 to %d, or take the line out", demand.MostBags)), 1
		case err != nil:
			p, bags = append(p, fault.Invalid("%q is not a whole number of bags", fault.Clip(l.bags, fault.Echo)).At(field("bags")).WithHint("write a whole number from 1 to %d", demand.MostBags)), 1
		}
		if len(l.forWhom) > 200 {
			p = append(p, fault.Invalid("too long").At(field("for")).WithHint("write up to 200 letters"))
		}
		lines, at = append(lines, demand.Line{Product: l.product, Bags: bags, Must: l.must, Due: l.due, For: l.forWhom}), append(at, i)
	}
	p = append(p, movedFaults(app.CheckLines(b, lines), at)...)
	return lines, p
}

// movedFaults takes the faults of a list of lines to their places in the form.
func movedFaults(err error, at []int) app.Problems {
	var ps app.Problems
	if !errors.As(err, &ps) {
		return nil
	}
	out := make(app.Problems, 0, len(ps))
	for _, e := range ps {
		var i int
		var name string
		if _, err := fmt.Sscanf(e.Field, "line[%d].%s", &i, &name); err == nil && i >= 0 && i < len(at) {
			e = e.At(fmt.Sprintf("line[%d].%s", at[i], name))
		}
		out = append(out, e)
	}
	return out
}

func (s *server) postToMake(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	t, err := readForm(r.PostForm)
	if err != nil {
		return err
	}
	b, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	switch act := r.PostForm.Get("act"); {
	case act == "add":
		if len(t.lines) < mostLines {
			t.lines = append(t.lines, typedLine{})
		}
		return s.showTyped(w, r, b, t)
	case strings.HasPrefix(act, "out."):
		if i, err := strconv.Atoi(act[len("out."):]); err == nil && i >= 0 && i < len(t.lines) {
			t.lines = slices.Delete(t.lines, i, i+1)
		}
		return s.showTyped(w, r, b, t)
	case act == "try":
		return s.showTyped(w, r, b, t)
	case act == "save":
		return s.save(w, r, b, head, t)
	}
	return fault.Invalid("the form does not say what to do").WithHint("press one of the page's buttons")
}

// showTyped shows the form as typed, with what the plan makes of it, and keeps nothing.
func (s *server) showTyped(w http.ResponseWriter, r *http.Request, b book.Book, t typed) error {
	lines, wrong := t.meant(b)
	v := s.toMakeView(r, b, t, wrong)
	v.Follows = s.follows(r.Context(), b, lines, wrong)
	st := http.StatusOK
	if len(wrong) > 0 {
		st = http.StatusUnprocessableEntity
	}
	return s.render(w, st, "tomake", v)
}

func (s *server) save(w http.ResponseWriter, r *http.Request, b book.Book, head store.Head, t typed) error {
	lines, wrong := t.meant(b)
	if len(wrong) > 0 {
		v := s.toMakeView(r, b, t, wrong)
		v.Follows.Quiet = "The day follows when the lines are right."
		return s.render(w, http.StatusUnprocessableEntity, "tomake", v)
	}
	err := s.setLines(w, r, b, head, t.head, lines, "lines to make changed on the page")
	switch {
	case err == nil:
		return nil
	case fault.KindOf(err) == fault.KindConflict:
		return s.showConflict(w, r, t, lines)
	case errors.As(err, new(app.Problems)):
		v := s.toMakeView(r, b, t, movedFaults(err, t.places()))
		v.Follows.Quiet = "The day follows when the lines are right."
		return s.render(w, http.StatusUnprocessableEntity, "tomake", v)
	}
	return err
}

// setLines keeps the lines to make, unless the book has moved on from the
// expected head, and sends the reader to what they change of the day.
func (s *server) setLines(w http.ResponseWriter, r *http.Request, b book.Book, head, expect store.Head, lines []demand.Line, why string) error {
	ctx := r.Context()
	var before *app.DayPlan
	if expect == head {
		before = s.planKept(ctx, b)
	}
	if err := s.shop.SetToMake(ctx, lines, expect, s.who(r), why); err != nil {
		return err
	}
	to := "/"
	if _, now, err := s.shop.Book(ctx); err == nil && before != nil {
		s.saves.keep(now, before)
		to = fmt.Sprintf("/?saved=%d", now)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// places returns the places in the form of the lines that are not blank.
func (t typed) places() []int {
	var at []int
	for i, l := range t.lines {
		if !l.blank() {
			at = append(at, i)
		}
	}
	return at
}

// showConflict says what somebody else has changed, keeps what was typed, and
// takes the new head, so that saving again is a decision.
func (s *server) showConflict(w http.ResponseWriter, r *http.Request, t typed, lines []demand.Line) error {
	b, head, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	t.head = head
	v := s.toMakeView(r, b, t, nil)
	v.Conflict = differences(b, lines)
	v.Faults = []faultLine{{Text: changedMeanwhile,
		Hint: "Look at the differences, then save again to put your lines in their place"}}
	v.Follows = s.follows(r.Context(), b, lines, nil)
	return s.render(w, http.StatusConflict, "tomake", v)
}

// differences lists the products whose bags differ between the book and the form.
func differences(b book.Book, lines []demand.Line) []conflictRow {
	sum := func(list []demand.Line, id string) (n int) {
		for _, l := range list {
			if l.Product == id {
				n += l.Bags
			}
		}
		return n
	}
	var out []conflictRow
	for _, p := range b.Products {
		kept, mine := sum(b.ToMake, p.ID), sum(lines, p.ID)
		if kept != mine {
			out = append(out, conflictRow{p.Name, count(kept, "bag", "bags"), count(mine, "bag", "bags")})
		}
	}
	return out
}

// follows plans the lines as typed beside the kept ones.
func (s *server) follows(ctx context.Context, b book.Book, lines []demand.Line, wrong app.Problems) followsView {
	switch {
	case len(wrong) > 0:
		return followsView{Quiet: "The day follows when the lines are right."}
	case len(lines) == 0:
		return followsView{Quiet: "No line, no boil: the day would be empty."}
	}
	after, err := s.plan(ctx, app.PlanRequest{Date: s.shop.Today(b), Lines: lines})
	if err != nil {
		if fault.KindOf(err) == fault.KindInternal {
			s.log.Error("plan of the lines typed", "error", err.Error(), "cause", causes(err))
		}
		return followsView{Faults: faultLines(public(err))}
	}
	before := s.planKept(ctx, b)
	if before == nil {
		before = emptyDay(after)
	}
	return followsView{Change: compare(before, after)}
}

// planKept plans the lines in the book, for a comparison; nil when there are
// none or they cannot be planned.
func (s *server) planKept(ctx context.Context, b book.Book) *app.DayPlan {
	if len(b.ToMake) == 0 {
		return nil
	}
	p, err := s.plan(ctx, app.PlanRequest{Date: s.shop.Today(b)})
	if err != nil {
		return nil
	}
	return p
}

// toMakeView lays out the form as typed, each fault at its field.
func (s *server) toMakeView(r *http.Request, b book.Book, t typed, wrong app.Problems) toMakeView {
	v := toMakeView{Base: s.base(r, "To make", "/to-make"), Head: t.head, Stock: stockOf(b)}
	if len(b.Products) == 0 {
		v.First = noProducts()
		return v
	}
	byField := map[string]string{}
	for _, e := range wrong {
		text := sentence(e.Text)
		if e.Hint != "" {
			text += ". " + sentence(e.Hint)
		}
		if _, ok := byField[e.Field]; !ok {
			byField[e.Field] = text
			v.Wrong++
		}
	}
	for i, l := range t.lines {
		lv := lineView{I: i, N: i + 1, Product: l.product, Bags: l.bags, Due: l.due, For: l.forWhom, Must: l.must, Errors: map[string]string{}}
		for _, name := range [...]string{"product", "bags", "must", "due", "for"} {
			lv.Errors[name] = byField[fmt.Sprintf("line[%d].%s", i, name)]
		}
		found := l.product == ""
		for _, p := range b.Products {
			lv.Products = append(lv.Products, productView{p.ID, p.Name, p.ID == l.product})
			found = found || p.ID == l.product
		}
		if !found { // kept in the list, so that what was sent is not lost
			lv.Products = append(lv.Products, productView{l.product, fault.Clip(l.product, fault.Echo) + " (not in the book)", true})
		}
		v.Lines = append(v.Lines, lv)
	}
	return v
}

// stockOf says what is on hand.
func stockOf(b book.Book) []pair {
	var out []pair
	for _, st := range b.Stock {
		p := pair{}
		switch {
		case st.Product != "":
			p.Name, p.Text = st.Product, count(st.Bags, "bag packed", "bags packed")
			for _, pr := range b.Products {
				if pr.ID == st.Product {
					p.Name = pr.Name
				}
			}
		default:
			p.Name, p.Text = st.Recipe, b.Shop.Units.Mass(st.Loose)+" loose"
			for _, rc := range b.Recipes {
				if rc.ID == st.Recipe {
					p.Name = rc.Name
				}
			}
			if st.Portion != "" {
				p.Name += ", " + st.Portion
			}
		}
		if st.Lot != "" {
			p.Text += ", lot " + st.Lot
		}
		out = append(out, p)
	}
	return out
}
