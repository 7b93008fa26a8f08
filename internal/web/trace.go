package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/supply"
)

// holdView is all that is stopped, and the field that anything is looked up by.
type holdView struct {
	Base   base
	First  *firstStep
	Halts  []haltView
	Asked  string // what was looked up and not found
	Faults []faultLine
}

type haltView struct {
	ID, Href, Page, Name, As, Why string
	Frozen                        []traceRow
}

// traceRow is a thing on the way.
type traceRow struct {
	ID, Href, Name, Says, Mass string
	Frozen                     bool
}

// traceView is one thing: what it is, what stops it, what is answered for an allergy,
// what is in it and what it is in.
type traceView struct {
	Base     base
	ID, Name string
	Line     string
	Page     string // address of its own page
	Kind     string
	Stops    []string
	Own      bool // it is stopped itself
	Card     *allergyView
	Up, Down []traceRow
	Bags     []pair
	Cautions []cautionView
	Faults   []faultLine
	Saved    bool
}

// allergyView is the answer card.
type allergyView struct {
	Wording    string
	Contains   string
	Facts      []pair
	Here       []hereRow
	Statements []pair
	Cautions   []cautionView
}

type hereRow struct{ Allergen, In, Shared, Last, Cleans string }

func traceHref(id string) string { return "/trace/" + url.PathEscape(id) }

// pageOf is the page of a thing that bears a number.
func pageOf(id string) string {
	switch {
	case lot.CheckID(id) == nil || supply.IsLot(id):
		return lotHref(id)
	case record.CheckID(id) == nil:
		return recordHref(id)
	case packing.IsBags(id) || packing.IsJar(id):
		return "/packing/" + url.PathEscape(id)
	}
	return ""
}

// hold lists what is stopped; a number that is looked up leads to what bears it.
func (s *server) hold(w http.ResponseWriter, r *http.Request) error {
	v := holdView{Base: s.base(r, "Hold", "/hold")}
	if id := strings.TrimSpace(r.URL.Query().Get("id")); id != "" {
		_, err := s.shop.Trace(r.Context(), id)
		if err == nil {
			http.Redirect(w, r, traceHref(id), http.StatusSeeOther)
			return nil
		}
		if k := fault.KindOf(err); k != fault.KindInvalid && k != fault.KindNotFound {
			return err
		}
		v.Asked, v.Faults = id, faultLines(public(err))
	}
	held, err := s.shop.OnHold(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "hold", holdView{Base: frame("Hold", "/hold"), First: noBook()})
	}
	if err != nil {
		return err
	}
	for _, x := range held.Stopped {
		h := haltView{ID: x.ID, Href: traceHref(x.ID), Page: pageOf(x.ID), Name: x.Name, As: haltWord(x.As), Why: x.Why}
		for _, f := range x.Frozen {
			h.Frozen = append(h.Frozen, traceRowOf(held.Units, f))
		}
		v.Halts = append(v.Halts, h)
	}
	code := http.StatusOK
	if len(v.Faults) > 0 {
		code = http.StatusUnprocessableEntity
	}
	return s.render(w, code, "hold", v)
}

func haltWord(as string) string {
	switch as {
	case "hold":
		return "ON HOLD"
	case "bin":
		return "to be thrown away"
	case "reboil":
		return "to be boiled again"
	}
	return as
}

func traceRowOf(u q.Reader, x app.TraceStep) traceRow {
	row := traceRow{ID: x.ID, Href: traceHref(x.ID), Name: x.Name, Says: x.Says, Frozen: x.Frozen}
	if x.MassMg > 0 {
		row.Mass = massMg(u, x.MassMg)
	}
	return row
}

func (s *server) trace(w http.ResponseWriter, r *http.Request) error {
	v, err := s.traceOf(r)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "trace", v)
}

func (s *server) traceOf(r *http.Request) (traceView, error) {
	x, err := s.shop.Trace(r.Context(), r.PathValue("id"))
	if err != nil {
		return traceView{}, err
	}
	u := x.Units
	v := traceView{Base: s.base(r, x.ID, "/hold"), ID: x.ID, Name: x.Name, Page: pageOf(x.ID), Kind: x.Kind}
	if x.On != "" {
		v.Line = map[string]string{app.TraceLot: "came ", app.TracePacks: "came ", app.TraceBatch: "made ", app.TraceBags: "packed ", app.TraceJar: "filled "}[x.Kind] + longDate(x.On)
	}
	for _, h := range x.Stopped {
		v.Own = v.Own || h.ID == x.ID
		text := haltWord(h.As)
		if h.ID != x.ID {
			text = h.ID + " is " + text
		}
		if h.Why != "" {
			text += ": " + h.Why
		}
		v.Stops = append(v.Stops, text)
	}
	for _, s := range x.Up {
		v.Up = append(v.Up, traceRowOf(u, s))
	}
	for _, s := range x.Down {
		v.Down = append(v.Down, traceRowOf(u, s))
	}
	if b := x.Bags; b != nil {
		v.Bags = []pair{{"packed", count(int(b.Packed), "bag", "bags")}, {"here", count(int(b.OnHand), "bag", "bags")}, {"by order or parcel", count(int(b.ByName), "bag", "bags")},
			{"kept as samples, opened, thrown away", count(int(b.Kept), "bag", "bags")}, {"over the counter, given, tasted", count(int(b.Counter), "bag", "bags")}, {"unaccounted", count(int(b.Unaccounted), "bag", "bags")},
			{"accounted for", u.Percent(q.Fraction(b.Accounted), 0)}, {"can be reached", u.Percent(q.Fraction(b.Reachable), 0)}}
	}
	v.Cautions = cautionsOf(x.Cautions)
	v.Card = allergyOf(x.Allergy)
	return v, nil
}

func allergyOf(c *app.AllergyCard) *allergyView {
	if c == nil {
		return nil
	}
	v := &allergyView{Wording: c.Wording, Contains: or(app.Listed(c.Contains), "none is named by what is on file")}
	add := func(name, text string) {
		if text != "" {
			v.Facts = append(v.Facts, pair{name, text})
		}
	}
	add("may contain", app.Listed(c.May))
	add("nobody has stated", app.Listed(c.Unstated))
	add("lots that went in", app.Listed(c.Lots))
	add("not every lot is written of", app.Listed(c.NotWeighed))
	for _, s := range c.Statements {
		text := "none came with it, which is not none"
		switch {
		case s.On != "" && len(s.May) > 0:
			text = "of " + shortDate(s.On) + ": may contain " + app.Listed(s.May)
		case s.On != "":
			text = "of " + shortDate(s.On) + ": lists nothing"
		}
		v.Statements = append(v.Statements, pair{s.Ingredient + ", " + s.Lot, text})
	}
	for _, h := range c.Here {
		row := hereRow{Allergen: h.Allergen, In: app.Listed(h.In), Shared: app.Listed(h.Shared), Last: "none is written in the days before", Cleans: strings.Join(h.Cleans, "; ")}
		if h.Last != "" {
			row.Last = fmt.Sprintf("%s, %s", h.Last, shortDate(h.LastOn))
			row.Cleans = or(row.Cleans, "none that is verified")
		}
		v.Here = append(v.Here, row)
	}
	v.Cautions = cautionsOf(c.Cautions)
	return v
}

// postTrace freezes the thing by one press; why may come after.
func (s *server) postTrace(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id := r.PathValue("id")
	err := s.shop.HoldAny(r.Context(), id, strings.TrimSpace(r.PostForm.Get("why")), s.who(r))
	if err == nil {
		http.Redirect(w, r, traceHref(id)+"?saved", http.StatusSeeOther)
		return nil
	}
	if !forForm(err) {
		return err
	}
	v, err2 := s.traceOf(r)
	if err2 != nil {
		return err2
	}
	v.Faults = faultLines(public(err))
	return s.render(w, status(err), "trace", v)
}

// traceEndpoints are traces and holds for programs.
func (s *server) traceEndpoints() []endpoint {
	return []endpoint{
		{path: "/held", get: &operation{summary: "What is stopped, and what is frozen with it.", answer: "held", do: s.getHeld}},
		{path: "/trace/{id}", get: &operation{summary: "What went into a lot, a batch, bags or a jar and what it went into; what became of its bags, what stops it, what is answered for an allergy.", answer: "trace", do: s.getTrace}},
		{path: "/trace/{id}/hold", put: &operation{summary: "Freezes a lot, a batch, bags or a jar and all that holds something of it.", answer: "trace", body: "write-hold", note: true, do: s.putTraceHold}},
	}
}

func (s *server) getHeld(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.OnHold(c.Context())
}

func (s *server) getTrace(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.Trace(c.Context(), c.PathValue("id"))
}

func (s *server) putTraceHold(c *call) (any, error) {
	var in APIHold
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if err := c.query().err(); err != nil {
		return nil, err
	}
	id := c.PathValue("id")
	if err := s.shop.HoldAny(c.Context(), id, strings.TrimSpace(in.Why), s.who(c.Request)); err != nil {
		return nil, sentLot(sent(err))
	}
	return s.shop.Trace(c.Context(), id)
}
