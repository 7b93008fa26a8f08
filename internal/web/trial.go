package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/rig"
	"slabside/internal/store"
)

// trialView is a trial day beside the kept one.
type trialView struct {
	Head     string // what the part is headed
	Cost     string
	Change   *changeView
	Orders   [2][]string // kept and trial, where they differ
	Gained   []string
	Lost     []string
	Changes  []trialChange
	Faults   []faultLine // what of it cannot be
	PutAway  string
	State    string // the query of the trial, for the forms
	Seen     store.Head
	DateOnly bool // some of it is not written to the book
	Keeps    bool // some of it is
}

type trialChange struct {
	Says     string
	DateOnly bool
	Back     string // address of the trial without it
}

// choice is one thing to choose in a form.
type choice struct{ ID, Name string }

// whatIfView fills the forms that add a change.
type whatIfView struct {
	State           string
	Opens, Ends     string // of the day as it is shown
	Recipes, Hands  []choice
	Lines           []choice
	Acts, Tasks     []string
	Wishes          []choice
	Open            bool // what was tried cannot be: another try is likely
	Early, Late     int  // of an announced pour, to begin with [min]; common practice, no source
	LongestBreakMin int
}

// moveView is what can be done to one boil's place.
type moveView struct {
	State, Recipe string
	Others        []choice
}

// readTrial fills in what a query asks for beside the date.
func readTrial(v url.Values, req *app.PlanRequest) error {
	req.Start, req.End = v.Get("start"), v.Get("end")
	var err error
	req.If, err = app.ReadChanges(func(kind string) []string { return v[kind] })
	return err
}

// trialQuery writes the query that leads back to the same plan.
func trialQuery(req app.PlanRequest) url.Values {
	v := url.Values{"date": {req.Date}}
	if req.Start != "" {
		v.Set("start", req.Start)
	}
	if req.End != "" {
		v.Set("end", req.End)
	}
	for _, c := range req.If {
		v.Add(c.Kind, c.Text())
	}
	return v
}

// with returns the address of the day with one more change.
func with(req app.PlanRequest, kind, text string) string {
	v := trialQuery(req)
	if kind == "first" || kind == "last" {
		v.Del(kind) // one place: the last word counts
	}
	if !slices.Contains(v[kind], text) {
		v.Add(kind, text)
	}
	return "/?" + v.Encode()
}

// addChange answers a form of the page that asks for one more change or another
// day: it leads to the address that says it. What of a trial cannot be meant on the
// other day is left behind, and the page says so.
func (s *server) addChange(w http.ResponseWriter, r *http.Request, b book.Book, head store.Head) error {
	f := r.URL.Query()
	state, err := url.ParseQuery(f.Get("day"))
	if err != nil {
		return fault.Invalid("the form does not say which day").WithCause(err).WithHint("open the making day again")
	}
	req, err := s.askedOf(state, b)
	if err != nil {
		return err
	}
	to := ""
	switch kind := f.Get("add"); kind {
	case "hours":
		req.Start, req.End = otherThan(f.Get("start"), b.Day.Opens), otherThan(f.Get("end"), b.Day.Ends)
		to = "/?" + trialQuery(req).Encode()
	case "date":
		v := trialQuery(req)
		v.Set("date", f.Get("date"))
		v.Set("start", otherThan(f.Get("start"), b.Day.Opens))
		if req, err = s.askedOf(v, b); err != nil {
			return err
		}
		moved, left := req.Meant(b)
		if len(left) > 0 {
			return s.showDay(w, r, b, head, moved, left)
		}
		to = "/?" + trialQuery(moved).Encode()
	default:
		c, err := app.ReadChange(kind, changeText(kind, f))
		if err != nil {
			return err
		}
		to = with(req, c.Kind, c.Text())
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func otherThan(text, usual string) string {
	if text == usual {
		return ""
	}
	return text
}

// changeText puts the fields of a form together as a change is written.
func changeText(kind string, f url.Values) string {
	recipe, after := f.Get("recipe"), f.Get("after")
	switch kind {
	case "next", "not-next", "later":
		return after + "," + recipe
	case "at-least":
		if after != "" {
			recipe = after + "," + recipe
		}
		return f.Get("act") + "," + recipe
	case "break":
		return f.Get("name") + " " + f.Get("earliest") + "-" + f.Get("latest") + " " + f.Get("minutes") + "min"
	case "pour":
		return f.Get("name") + " " + f.Get("at") + " " + f.Get("early") + "min " + f.Get("late") + "min " + recipe
	case "hand":
		hours := ""
		if f.Get("comes") != "" || f.Get("leaves") != "" {
			hours = f.Get("comes") + "-" + f.Get("leaves") + " "
		}
		return f.Get("name") + " " + hours + strings.Join(f["may"], ",")
	case "without-hand":
		return f.Get("hand")
	case "without", "must":
		return f.Get("line")
	case "bags":
		return f.Get("line") + "=" + f.Get("bags")
	}
	return recipe
}

// postDay keeps a trial.
func (s *server) postDay(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	ctx := r.Context()
	b, head, err := s.shop.Book(ctx)
	if err != nil {
		return err
	}
	state, err := url.ParseQuery(r.PostForm.Get("day"))
	if err != nil {
		return fault.Invalid("the form does not say which day").WithCause(err).WithHint("open the making day again")
	}
	req, err := s.askedOf(state, b)
	if err != nil {
		return err
	}
	seen, err := seenHead(r.PostForm)
	if err != nil {
		return err
	}
	var before *app.DayPlan
	if seen == head && len(b.ToMake) > 0 {
		if before, err = s.plan(ctx, app.PlanRequest{Date: req.Date}); err != nil {
			before = nil
		}
	}
	now, err := s.shop.KeepTrial(ctx, req, seen, s.who(r), strings.TrimSpace(r.PostForm.Get("why")))
	if err != nil {
		if b, head, e := s.shop.Book(ctx); e == nil && status(err) < http.StatusInternalServerError {
			return s.showDay(w, r, b, head, req, err)
		}
		return err
	}
	req.If = slices.DeleteFunc(req.If, func(c app.Change) bool { return !c.DateOnly() })
	v := trialQuery(req)
	if before != nil {
		s.saves.keep(now, before)
		v.Set("saved", strconv.FormatInt(int64(now), 10))
	}
	http.Redirect(w, r, "/?"+v.Encode(), http.StatusSeeOther)
	return nil
}

// trialOf lays out a trial: what it changes, and what that does, or why it cannot be.
func trialOf(b *book.Book, head store.Head, req app.PlanRequest, p *app.DayPlan, faults []faultLine) *trialView {
	v := &trialView{Faults: faults, PutAway: "/?" + trialQuery(app.PlanRequest{Date: req.Date}).Encode(), State: trialQuery(req).Encode(), Seen: head, Head: "What it costs"}
	for _, c := range req.Said(b) {
		q := trialQuery(req)
		q[c.Kind] = slices.DeleteFunc(q[c.Kind], func(s string) bool { return s == c.Text })
		v.Changes = append(v.Changes, trialChange{Says: sentence(c.Says), DateOnly: c.DateOnly, Back: "/?" + q.Encode()})
		v.DateOnly, v.Keeps = v.DateOnly || c.DateOnly, v.Keeps || !c.DateOnly
	}
	c := p.Compared
	if c == nil {
		return v
	}
	v.Cost = sentence(c.Cost)
	v.Change = &changeView{Was: "kept", Now: "trial", Rows: figureRows(p.Units, c.Kept, c.Trial)}
	if !slices.Equal(c.Kept.Order, c.Trial.Order) {
		v.Orders = [2][]string{c.Kept.Order, c.Trial.Order}
	}
	for _, x := range c.Gained {
		v.Gained = append(v.Gained, sentence(x.Text))
	}
	for _, x := range c.Lost {
		v.Lost = append(v.Lost, sentence(x.Text))
	}
	return v
}

// whatIf fills the forms with what the day has.
func whatIf(b *book.Book, req app.PlanRequest, p *app.DayPlan) *whatIfView {
	v := &whatIfView{State: trialQuery(req).Encode(), Opens: or(req.Start, b.Day.Opens), Ends: or(req.End, b.Day.Ends), Recipes: boiledIn(p),
		Acts: book.RuleActs(), Early: 10, Late: 10, LongestBreakMin: 240,
		Wishes: []choice{{ID: "first", Name: "first of the day"}, {ID: "last", Name: "last of the day"}, {ID: "next", Name: "straight after"},
			{ID: "not-next", Name: "not straight after"}, {ID: "later", Name: "later than every boil of"}, {ID: "not-today", Name: "not that day"}}}
	for _, h := range b.Hands {
		v.Hands = append(v.Hands, choice{ID: h.ID, Name: h.Name})
	}
	for _, l := range b.ToMake {
		c := choice{ID: l.Product, Name: l.Product}
		if p, ok := b.Product(l.Product); ok {
			c.Name = p.Name
		}
		if l.For != "" {
			c.ID, c.Name = c.ID+"@"+l.For, c.Name+", for "+l.For
		}
		v.Lines = append(v.Lines, c)
	}
	for _, t := range rig.Tasks() {
		v.Tasks = append(v.Tasks, string(t))
	}
	return v
}

// boiledIn lists the sweets of a day, those without a place in it too.
func boiledIn(p *app.DayPlan) []choice {
	var out []choice
	add := func(id, name string) {
		if c := (choice{ID: id, Name: name}); !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	for _, b := range p.Batches {
		add(b.Recipe, b.Name)
	}
	for _, u := range p.Unplaced {
		add(u.Recipe, u.Name)
	}
	return out
}

// moveOf says what can be done to the place of one boil.
func moveOf(req app.PlanRequest, recipe string, all []choice) *moveView {
	v := &moveView{State: trialQuery(req).Encode(), Recipe: recipe}
	for _, c := range all {
		if c.ID != recipe {
			v.Others = append(v.Others, c)
		}
	}
	return v
}
