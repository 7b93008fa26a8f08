package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/store"
)

// dayView is the making day on one page.
type dayView struct {
	Base     base
	Date     string // ISO
	DateLong string
	Start    string // as asked; empty: the book's opening
	State    string // the query of the day as asked, for the forms
	Opens    string
	Today    bool
	First    *firstStep // set when there is nothing to show yet
	Totals   []pair
	Stopped  bool // the search was cut short: a better order may exist
	Changed  *changeView
	Trial    *trialView // set where the day is not asked for as the book has it
	WhatIf   *whatIfView
	Trouble  []unplacedView
	Offers   []string
	Next     *nextView
	Done     []clockView // of the clock, past on the day itself
	Clock    []clockView // what is to come; all of it on any other day
	Table    timetable
	Steps    []stepView
	Pours    []pourView
	Bags     []bagsView
	LeftOver []leftView
	Cautions []cautionView
	Goals    []goalView
	Proof    string
	Sources  []sourceView
	DayPDF   string // addresses of the prints; empty without
	SheetPDF string
}

// pair is a name with what is said of it.
type pair struct{ Name, Text string }

// firstStep says what to do first on a page that has nothing to show.
type firstStep struct {
	Text string
	Href string // empty: nothing to press
	Do   string
	Code string // command to type, if any
}

type unplacedView struct {
	Name, Kg, Why string
	Lines         []string
}

type nextView struct {
	At    moment
	Verb  string
	Text  string
	Batch string
	Past  bool // the whole day is behind
}

type clockView struct {
	At    moment
	Kind  string
	Verb  string // before the time, where it stands alone
	Text  string
	Batch string // address of the sheet
	N     int
	Next  bool
	Past  bool
}

// stepView is one boil with what is done before it.
type stepView struct {
	Changes []changeoverView
	N       int
	Href    string
	Name    string
	Size    string
	Charge  string
	Rolls   string
	Lead    string
	Flame   string
	Pour    string
	Roll    string
	Done    string
	Pieces  figure
	Paints  []paintView
	Why     []string
	Move    *moveView
	Trouble string // address; empty on a day that is not kept
}

type paintView struct{ Paint, Colour, Work string }

type changeoverView struct {
	Act  string
	Time string // "10:42–11:02, 20 min"
	Why  string
	Hand string
}

type pourView struct {
	Name, At, Window, Kept, Why string
	Missed                      bool
}

type bagsView struct {
	Name, For, Due, Asked, FromStock string
	Made                             figure
	Chance                           string
	Must, Planned                    bool
	Mix                              []string
}

type leftView struct {
	Name, Bags string
	Kg, Pieces figure
}

type goalView struct{ Name, Value, Bound string }

type sourceView struct{ Key, Text string }

// clockKinds says what is done at a moment of the main clock.
var clockKinds = map[string]string{
	"flame_up": "light / flame up at", "changeover": "clean or change at", "hold": "watch from", "pour": "pour at", "roll": "rolls from",
	"break": "break at", "announced": "announced pour at",
	"packed": "last bag packed at", "closed": "closed at",
}

// askedDay reads which day a request asks for, refusing what cannot be meant.
func (s *server) askedDay(r *http.Request, b book.Book) (app.PlanRequest, error) {
	return s.askedOf(r.URL.Query(), b)
}

func (s *server) askedOf(v url.Values, b book.Book) (app.PlanRequest, error) {
	req := app.PlanRequest{Date: v.Get("date")}
	if err := readTrial(v, &req); err != nil {
		return req, err
	}
	if req.Date == "" {
		req.Date = s.shop.Today(b)
	}
	if _, err := time.Parse(time.DateOnly, req.Date); err != nil {
		return req, fault.Invalid("the date asked for cannot be read").At("date").WithHint("write it as 2026-11-28")
	}
	for name, at := range map[string]string{"start": req.Start, "end": req.End} {
		if _, err := time.Parse("15:04", at); err != nil && at != "" {
			return req, fault.Invalid("the %s asked for cannot be read", name).At(name).WithHint("write it as 08:00")
		}
	}
	return req, nil
}

// dayQuery writes the query that leads back to the same plan.
func dayQuery(req app.PlanRequest) string { return "?" + trialQuery(req).Encode() }

func (s *server) day(w http.ResponseWriter, r *http.Request) error {
	b, head, err := s.shop.Book(r.Context())
	if fault.KindOf(err) == fault.KindNotFound && err != nil {
		return s.render(w, http.StatusOK, "day", dayView{Base: frame("Making day", "/"), First: noBook()})
	}
	if err != nil {
		return err
	}
	if r.URL.Query().Has("add") {
		return s.addChange(w, r, b, head)
	}
	req, err := s.askedDay(r, b)
	if err != nil {
		return err
	}
	return s.showDay(w, r, b, head, req, nil)
}

// showDay shows a day, kept or trial. A trial that cannot be meant is said above;
// the kept day stands below then. Wrong is why a trial could not be kept or what of
// it was left behind, and is said above it.
func (s *server) showDay(w http.ResponseWriter, r *http.Request, b book.Book, head store.Head, req app.PlanRequest, wrong error) error {
	v := dayView{Base: s.base(r, "Making day", "/"), Date: req.Date, DateLong: longDate(req.Date), Start: req.Start, State: trialQuery(req).Encode(),
		Opens: b.Day.Opens, Today: req.Date == s.shop.Today(b)}
	if len(b.ToMake) == 0 {
		v.First = &firstStep{Text: "Nothing is asked for yet. Write down the bags to make, and the day follows from them.", Href: "/to-make", Do: "Write the bags to make"}
		if len(b.Products) == 0 {
			v.First = noProducts()
		}
		return s.render(w, http.StatusOK, "day", v)
	}
	shown := req
	p, err := s.plan(r.Context(), req)
	if err != nil && fault.KindOf(err) == fault.KindInvalid && req.Trial(&b) {
		wrong, shown = err, app.PlanRequest{Date: req.Date}
		p, err = s.plan(r.Context(), shown)
	}
	if err != nil {
		return err
	}
	st := http.StatusOK
	var faults []faultLine
	if wrong != nil {
		st, faults = status(wrong), faultLines(public(wrong))
	}
	s.fillDay(&v, p, shown)
	v.WhatIf = whatIf(&b, req, p)
	all := boiledIn(p)
	for i, b := range p.Batches {
		v.Steps[i].Move = moveOf(req, b.Recipe, all)
	}
	if req.Trial(&b) || wrong != nil {
		v.Trial = trialOf(&b, head, req, p, faults)
		v.Trial.Keeps = v.Trial.Keeps && v.Base.May.Change
		switch {
		case wrong == nil:
		case !req.Trial(&b):
			v.Trial.Head = "None of it can be that day. The kept day is below."
		case p.Compared == nil:
			v.Trial.Head = "This cannot be. The kept day is below."
		case r.Method == http.MethodPost:
			v.Trial.Head = "It was not kept"
		default:
			v.Trial.Head = "Not all of it can be that day"
		}
		v.WhatIf.Open = len(faults) > 0
	}
	if n, err := strconv.ParseInt(r.URL.Query().Get("saved"), 10, 64); err == nil && store.Head(n) == head && v.Trial == nil {
		if before := s.saves.before(head); before != nil {
			v.Changed = compare(before, p)
		}
	}
	return s.render(w, st, "day", v)
}

func noBook() *firstStep {
	return &firstStep{Text: "There is no shop book yet. Begin your own here, or look around in the demo shop's first:", Code: "slabside demo", Href: "/start", Do: "Begin a shop book"}
}

func noProducts() *firstStep {
	return &firstStep{Text: "The shop book has no products yet.", Href: "/new/product", Do: "Add a product"}
}

// fillDay turns a plan into what the page says.
func (s *server) fillDay(v *dayView, p *app.DayPlan, req app.PlanRequest) {
	query := dayQuery(req)
	v.Totals, v.Stopped = dayTotals(p), p.StoppedEarly
	for _, u := range p.Unplaced {
		v.Trouble = append(v.Trouble, unplacedView{Name: u.Name, Kg: p.Units.Mass(q.Kilograms(u.ChargeKg)), Why: sentence(u.Why), Lines: u.Lines})
	}
	for _, o := range p.Offers {
		v.Offers = append(v.Offers, sentence(o))
	}
	v.Clock, v.Next = dayClock(p, query, v.Today, s.opt.Now())
	if v.Next != nil && !v.Next.Past {
		n := slices.IndexFunc(v.Clock, func(c clockView) bool { return !c.Past })
		v.Done, v.Clock = v.Clock[:n], v.Clock[n:]
	}
	v.Table = drawTimetable(p)
	v.Steps = daySteps(p, query)
	for _, a := range p.Pours {
		v.Pours = append(v.Pours, pourOf(p, a))
	}
	for _, m := range p.Bags {
		v.Bags = append(v.Bags, bagsOf(p.Units, m))
	}
	for _, l := range p.LeftOver {
		v.LeftOver = append(v.LeftOver, leftView{Name: l.Name, Bags: l.Bags, Kg: figureOf(p.Units.SayMass(l.Kg)), Pieces: figureOf(p.Units.SayCount(l.Pieces, "pieces"))})
	}
	v.Cautions = cautionsOf(p.Cautions)
	for _, o := range p.Objectives {
		name, value, bound := p.Goal(o)
		v.Goals = append(v.Goals, goalView{name, value, bound})
	}
	v.Proof = proofOf(p)
	v.Sources = sourcesOf(p.Sources)
	if s.opt.DaySheet != nil {
		v.DayPDF = "/day.pdf" + query
	}
	if s.opt.BatchSheets != nil {
		v.SheetPDF = "/sheets.pdf" + query
	}
}

func dayTotals(p *app.DayPlan) []pair {
	kg, made := 0.0, 0.0
	for _, b := range p.Batches {
		kg += float64(b.ChargeKg)
	}
	for _, m := range p.Bags {
		made += m.Made.Value
	}
	out := []pair{
		{"boils", strconv.Itoa(len(p.Batches))},
		{"into the kettle", p.Units.Mass(q.Kilograms(kg))},
		{"bags", strconv.Itoa(int(math.Round(made)))},
	}
	if !p.WorkEnd.IsZero() {
		out = append(out, pair{"last bag packed", clock(p.WorkEnd)})
	}
	if !p.Closed.IsZero() {
		out = append(out, pair{"closed", clock(p.Closed)})
	}
	return out
}

// dayClock returns the main clock and what comes next: the first act not yet
// past on the day itself, the first flame on any other day.
func dayClock(p *app.DayPlan, query string, today bool, now time.Time) ([]clockView, *nextView) {
	n := map[string]int{}
	for _, b := range p.Batches {
		n[b.ID] = b.N
	}
	var out []clockView
	next := -1
	for i, m := range p.Clock {
		verb, ok := clockKinds[m.Kind]
		if !ok {
			verb = "at"
		}
		c := clockView{At: momentOf(m.At), Kind: m.Kind, Verb: verb, Text: sentence(m.Text), N: n[m.Batch], Past: today && m.At.Before(now)}
		if c.N > 0 {
			c.Batch = batchHref(m.Batch, query)
		}
		if next < 0 && !c.Past && (today || m.Kind == "flame_up") {
			next = i
		}
		out = append(out, c)
	}
	if len(out) == 0 {
		return nil, nil
	}
	past := next < 0
	if past {
		next = len(out) - 1
	}
	out[next].Next = true
	c := out[next]
	return out, &nextView{At: c.At, Verb: c.Verb, Text: c.Text, Batch: c.Batch, Past: past}
}

// batchHref leads to a batch's sheet of the same plan. The batch's own id says the date.
func batchHref(id, query string) string {
	href := "/batch/" + url.PathEscape(id)
	if v, err := url.ParseQuery(strings.TrimPrefix(query, "?")); err == nil {
		if v.Del("date"); len(v) > 0 {
			href += "?" + v.Encode()
		}
	}
	return href
}

func daySteps(p *app.DayPlan, query string) []stepView {
	leads := map[string][]changeoverView{}
	for _, c := range p.Changeovers {
		for _, x := range c.SetUps {
			leads[c.To] = append(leads[c.To], changeoverView{Act: sentence(x.Act), Why: sentence(x.Why), Hand: x.Hand,
				Time: fmt.Sprintf("%s–%s, %d min", clock(x.Begin), clock(x.End), x.Minutes)})
		}
	}
	out := make([]stepView, 0, len(p.Batches))
	for _, b := range p.Batches {
		st := stepView{Changes: leads[b.ID], N: b.N, Href: batchHref(b.ID, query), Name: b.Name, Size: sizeWord(b.Size),
			Charge: p.Units.Mass(q.Kilograms(b.ChargeKg)), Rolls: b.RollsName, Lead: b.Lead,
			Flame: clock(b.FlameUp), Pour: clock(b.Pour), Roll: clock(b.RollStart) + "–" + clock(b.RollEnd), Done: clock(b.Done),
			Pieces: figureOf(p.Units.SayCount(b.Pieces, "pieces"))}
		if p.Compared == nil {
			st.Trouble = troubleHref(b.ID)
		}
		for _, w := range b.WhyHere {
			st.Why = append(st.Why, sentence(w))
		}
		for _, po := range b.Portions {
			st.Paints = append(st.Paints, paintView{paintOf(po.Paint), po.Colour, po.Work})
		}
		out = append(out, st)
	}
	return out
}
