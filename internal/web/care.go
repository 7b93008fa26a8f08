package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/care"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// careView is what is wrong in the room and what is due.
type careView struct {
	Base     base
	First    *firstStep
	On       string
	Stopped  []faultRow
	Faults   []faultRow
	Due      []dueRow
	Offered  []offerRow
	Things   []careGroup
	Cautions []cautionView
}

// faultRow is a fault on a list.
type faultRow struct {
	Name, Href  string
	Text        string
	Found       string // when and by whom
	NotMade     string // recipes; empty: none
	Instead     string // address of what other rolls come to; empty: it is no pair of rolls
	Act         int64
	Settled     string
	Stops, Mine bool // it stops the thing; the visitor may settle it
}

// dueRow is what is due on a list.
type dueRow struct {
	Name, Href, What string
	When, Often      string
	Last             string
	Urgency          string
	Bad, Worth       bool
	DoneHref         string
}

// offerRow is a fault that a record speaks of.
type offerRow struct{ Name, Text, Batch, BatchHref, Href string }

// careGroup is one kind of thing with its ledgers.
type careGroup struct {
	Name  string
	Items []careItem
}

type careItem struct {
	Name, Href string
	Stopped    bool
}

func careHref(t care.Thing) string {
	return "/care/" + url.PathEscape(t.Kind) + "/" + url.PathEscape(t.ID)
}

func (s *server) care(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "care", careView{Base: frame("Care", "/room"), First: noBook()})
	}
	if err != nil {
		return err
	}
	res, err := s.shop.Care(r.Context(), r.URL.Query().Get("date"))
	if err != nil {
		return err
	}
	v := careView{Base: s.base(r, "Care", "/room"), On: longDate(res.On), Cautions: cautionsOf(res.Cautions), Things: careGroups(&b, res)}
	for _, f := range res.Faults {
		row := faultOf(f)
		if f.Stops {
			v.Stopped = append(v.Stopped, row)
		} else {
			v.Faults = append(v.Faults, row)
		}
	}
	for _, d := range res.Due {
		v.Due = append(v.Due, dueOf(d))
	}
	for _, o := range res.Offered {
		v.Offered = append(v.Offered, offerOf(o))
	}
	return s.render(w, http.StatusOK, "care", v)
}

func faultOf(f app.CareFault) faultRow {
	row := faultRow{Name: f.Name, Href: careHref(f.Thing), Text: capital(app.SayTrouble(f.Found)), Found: "found " + shortDate(f.On) + " by " + f.Person, Act: f.Act, Stops: f.Stops,
		NotMade: app.Listed(f.NeededBy)}
	if f.Batch != "" {
		row.Found += ", batch " + f.Batch
	}
	if f.SettledOn != "" {
		row.Settled = shortDate(f.SettledOn) + ": " + f.SettledBy
	}
	if f.Thing.Kind == care.Rolls && f.Stops {
		row.Instead = careHref(f.Thing) + "?instead#instead"
	}
	return row
}

// urgencyWords are the words of the urgencies on a page.
var urgencyWords = map[app.Urgency]string{app.Overdue: "OVERDUE", app.DueNow: "due now", app.Soon: "soon", app.Later: ""}

func dueOf(d app.CareDue) dueRow {
	row := dueRow{Name: d.Name, Href: careHref(d.Thing), What: d.What, Often: app.Often(d.EveryDays, d.EveryBatches, d.On), Urgency: urgencyWords[d.Urgency],
		Bad: d.Urgency == app.Overdue, Worth: d.Urgency == app.DueNow || d.Urgency == app.Soon, Last: "not done yet", DoneHref: careHref(d.Thing) + "?for=" + url.QueryEscape(d.What) + "#done"}
	var when []string
	if d.DaysLeft != nil {
		when = append(when, daysWords(*d.DaysLeft)+" ("+shortDate(d.On)+")")
	}
	if d.BatchesLeft != nil {
		when = append(when, batchesWords(*d.BatchesLeft))
	}
	row.When = strings.Join(when, " or ")
	if d.DoneOn != "" {
		row.Last = "last " + shortDate(d.DoneOn)
	}
	return row
}

// daysWords says in how many days, or how late.
func daysWords(n int) string {
	switch {
	case n == 0:
		return "today"
	case n > 0:
		return "in " + count(n, "day", "days")
	}
	return count(-n, "day", "days") + " late"
}

func batchesWords(n int) string {
	switch {
	case n == 0:
		return "before the next batch"
	case n > 0:
		return "in " + count(n, "batch", "batches")
	}
	return count(-n, "batch", "batches") + " late"
}

func offerOf(o app.CareOffer) offerRow {
	ask := url.Values{"batch": {o.Batch}, "trouble": {string(o.Kind)}, "what": {o.What}, "on": {o.On}}
	return offerRow{Name: o.Name, Text: o.What, Batch: o.Batch, BatchHref: recordHref(o.Batch), Href: careHref(o.Thing) + "?" + ask.Encode() + "#found"}
}

// careGroups lists every thing of the room, for its ledger to be opened.
func careGroups(b *book.Book, res *app.CareResult) []careGroup {
	stopped := map[care.Thing]bool{}
	if res != nil {
		for _, f := range res.Faults {
			stopped[f.Thing] = stopped[f.Thing] || f.Stops
		}
	}
	var out []careGroup
	for _, kind := range care.Kinds() {
		g := careGroup{Name: manyOf(kind)}
		for _, x := range entry.List(b, kind) {
			t := care.Thing{Kind: kind, ID: x.ID}
			g.Items = append(g.Items, careItem{x.Name, careHref(t), stopped[t]})
		}
		if len(g.Items) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// careThingView is the ledger of one thing with the forms to write more.
type careThingView struct {
	Base     base
	Thing    care.Thing
	Name     string
	Href     string
	Gone     bool // it is no longer in the book
	OutOfUse bool
	Book     string // address of the thing in the shop book; empty: it has none
	Facts    []pair
	Open     []faultRow
	Settled  []faultRow
	Due      []dueRow
	Offered  []offerRow
	Log      []careLog
	Cautions []cautionView
	Found    careForm
	Done     careForm
	DueForm  careForm
	Instead  []insteadView
	Law      []cautionView
	Step     string // what must be minded before hands go near
	Others   string // address of what other rolls come to; empty: it is no pair of rolls, or it is shown
	Faults   []faultLine
	Saved    bool
}

// careLog is one entry of a ledger.
type careLog struct {
	Act                 int64
	When, Who, What     string
	Reason              string
	Corrects, Corrected bool
	Edit                string // address of its form; empty: it is not corrected
	Back                bool   // it may be taken back
}

// careForm is a form with what is kept or was typed in it.
type careForm struct {
	Choices  []entry.Choice
	Duties   []entry.Choice
	Values   map[string]string
	Corrects int64
	Open     bool
}

// V returns what stands in a field.
func (f careForm) V(name string) string { return f.Values[name] }

func (s *server) careThing(w http.ResponseWriter, r *http.Request) error {
	v, err := s.careThingOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "carething", v)
}

func (s *server) careThingOf(r *http.Request, typed url.Values, wrong app.Problems) (careThingView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return careThingView{}, err
	}
	t := caredThing(r)
	res, err := s.shop.CareOf(r.Context(), t)
	if err != nil {
		return careThingView{}, err
	}
	v := careThingView{Base: s.base(r, res.Name, "/room"), Thing: t, Name: res.Name, Href: careHref(t), Gone: !res.InBook, OutOfUse: res.OutOfUse, Cautions: cautionsOf(res.Cautions), Faults: faultLines(wrong)}
	if res.InBook {
		v.Book = thingHref(t.Kind, t.ID)
	}
	for _, f := range res.Faults {
		row := faultOf(f)
		row.Mine = v.Base.May.Note && (v.Base.May.Change || !f.Stops)
		if f.SettledOn == "" {
			v.Open = append(v.Open, row)
		} else {
			v.Settled = append(v.Settled, row)
		}
	}
	for _, d := range res.Due {
		row := dueOf(d)
		row.Name = "" // the page is the thing's own
		v.Due = append(v.Due, row)
	}
	for _, o := range res.Offered {
		v.Offered = append(v.Offered, offerOf(o))
	}
	v.Facts = careFacts(res)
	v.forms(res, r.URL.Query(), typed)
	for _, e := range res.Entries {
		v.Log = append(v.Log, v.logOf(&b, res, e))
	}
	if t.Kind == care.Rolls || t.Kind == care.Machine {
		v.Step = caution.Text(caution.RollsClean)
	}
	if t.Kind != care.Rolls {
		return v, nil
	}
	if !res.OutOfUse && !r.URL.Query().Has("instead") {
		v.Others = v.Href + "?instead#instead"
		return v, nil
	}
	v.Instead, v.Law, err = s.insteadOf(r, t.ID)
	return v, err
}

// careFacts are the last of each kind of work, and the test of the metal.
func careFacts(res *app.CareThing) []pair {
	var out []pair
	for _, x := range res.Last {
		out = append(out, pair{"last " + string(x.Work), shortDate(x.On) + ", " + withWords(x.Done)})
	}
	if k := res.Thing.Kind; k == care.Rolls || k == care.Kettle {
		out = append(out, pair{"metal tested", or(res.Tested, "no test on record")})
	}
	return out
}

func withWords(d care.Done) string {
	text := d.By
	if d.With != "" {
		text += ", with " + d.With
		if d.FoodGrade {
			text += " (food-grade)"
		}
	}
	return text
}

// forms fills the forms: with what was refused, with an entry that is to be corrected, or
// with what a link asks for.
func (v *careThingView) forms(res *app.CareThing, ask, typed url.Values) {
	values := map[string]url.Values{}
	var corrects int64
	kind := typed.Get("kind")
	if typed != nil {
		values[kind] = typed
		_, _ = fmt.Sscan(typed.Get("corrects"), &corrects)
	} else if act := ask.Get("corrects"); act != "" {
		for _, e := range res.Entries {
			if fmt.Sprint(e.Act) == act && !e.Corrected {
				kind, corrects = e.Kind, e.Act
				values[kind] = typedCare(e.Entry)
			}
		}
	} else {
		values[string(care.Finding)] = ask
		values[string(care.Doing)] = ask
		switch {
		case ask.Has("trouble"):
			kind = string(care.Finding)
		case ask.Has("for"):
			kind = string(care.Doing)
		}
	}
	form := func(of care.Kind) careForm {
		f := careForm{Values: map[string]string{}, Open: kind == string(of)}
		for name := range values[string(of)] {
			f.Values[name] = values[string(of)].Get(name)
		}
		if f.Open {
			f.Corrects = corrects
		}
		return f
	}
	v.Found, v.Done, v.DueForm = form(care.Finding), form(care.Doing), form(care.Falling)
	v.Found.Choices = choicesOf(care.Troubles(), v.Found.V("trouble"))
	v.Done.Choices = choicesOf(care.Works(), v.Done.V("work"))
	for _, d := range v.Due {
		v.Done.Duties = append(v.Done.Duties, entry.Choice{Value: d.What, Label: d.What, Chosen: d.What == v.Done.V("for")})
	}
	if was := v.Done.V("for"); v.Done.Corrects != 0 && was != "" && v.Done.chosen() == "" {
		v.Done.Duties = append(v.Done.Duties, entry.Choice{Value: was, Label: was, Chosen: true})
	}
}

func (f careForm) chosen() string {
	for _, c := range f.Duties {
		if c.Chosen {
			return c.Value
		}
	}
	return ""
}

// typedCare are the fields of an entry as they would be typed.
func typedCare(e care.Entry) url.Values {
	v := url.Values{}
	set := func(name, text string) {
		if text != "" && text != "0" {
			v.Set(name, text)
		}
	}
	switch {
	case e.Found != nil:
		set("trouble", string(e.Found.Kind))
		set("what", e.Found.What)
		set("where", e.Found.Where)
		set("on", e.Found.On)
		set("batch", e.Found.Batch)
	case e.Done != nil:
		d := e.Done
		set("work", string(d.Work))
		set("by", d.By)
		set("with", d.With)
		if d.FoodGrade {
			set("food", "yes")
		}
		set("for", d.For)
		set("note", d.Note)
		set("on", d.On)
		set("settles", fmt.Sprint(d.Settles))
	case e.Due != nil:
		set("what", e.Due.What)
		set("days", fmt.Sprint(e.Due.EveryDays))
		set("batches", fmt.Sprint(e.Due.EveryBatches))
		set("until", e.Due.By)
		set("from", e.Due.From)
	}
	return v
}

func (v *careThingView) logOf(b *book.Book, res *app.CareThing, e app.CareEntry) careLog {
	x := careLog{Act: e.Act, When: stamp(e.At, b), Who: e.Person, What: app.SayCare(e.Entry), Reason: e.Reason, Corrects: e.Corrects != 0, Corrected: e.Corrected}
	if e.Corrected || e.Kind == "taken back" || !v.Base.May.Note {
		return x
	}
	frees := e.Entry.Found != nil && e.Entry.Found.Stops
	x.Back = v.Base.May.Change || !frees
	if x.Back && (e.Entry.Due == nil || !e.Entry.Due.Ends) {
		anchor := map[string]string{string(care.Finding): "found", string(care.Doing): "done", string(care.Falling): "due"}[e.Kind]
		x.Edit = fmt.Sprintf("%s?corrects=%d#%s", v.Href, e.Act, anchor)
	}
	return x
}

// postCare writes to the ledger of a thing.
func (s *server) postCare(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	e, corrects, wrong := readCare(caredThing(r), r.PostForm)
	if len(wrong) == 0 {
		err := s.writeCare(r, e, corrects, strings.TrimSpace(r.PostForm.Get("reason")))
		if err == nil {
			http.Redirect(w, r, careHref(e.Thing)+"?saved", http.StatusSeeOther)
			return nil
		}
		if !forForm(err) {
			return err
		}
		wrong = public(sentCare(err))
	}
	v, err := s.careThingOf(r, r.PostForm, wrong)
	if err != nil {
		return err
	}
	return s.render(w, status(wrong[0]), "carething", v)
}

// readCare reads an entry as it was typed. Of a fault the kind is enough: hands in gloves
// do not type.
func readCare(t care.Thing, form url.Values) (e care.Entry, corrects int64, wrong app.Problems) {
	e.Thing = t
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	n := &noteReader{form: form, u: q.Metric.With(q.Point)}
	number := func(name string) int64 {
		s := text(name)
		if s == "" {
			return 0
		}
		v, err := parseWhole(s)
		if err != nil {
			n.fail(name, err)
		}
		return int64(v)
	}
	corrects = number("corrects")
	switch kind := text("kind"); kind {
	case string(care.Finding):
		f := &care.Found{On: text("on"), Kind: care.Trouble(text("trouble")), What: or(text("what"), text("trouble")), Where: text("where"), Batch: text("batch")}
		f.Stops = text("stops") != "" || f.Kind.MustStop()
		if f.Kind == "" {
			n.fail("trouble", fault.Invalid("it is not said what is wrong").WithHint("press one of the words"))
		}
		e.Found = f
	case string(care.Doing), "settles":
		e.Done = &care.Done{On: text("on"), Work: care.Work(text("work")), By: text("by"), With: text("with"), FoodGrade: text("food") != "", For: text("for"), Settles: number("settles"), Note: text("note")}
		if e.Done.Work == "" {
			n.fail("work", fault.Invalid("it is not said what was done").WithHint("press one of the words"))
		}
	case string(care.Falling):
		e.Due = &care.Due{What: text("what"), EveryDays: int(number("days")), EveryBatches: int(number("batches")), By: text("until"), From: text("from")}
	case "ends":
		e.Due = &care.Due{What: text("what"), Ends: true}
	case "back":
		if corrects == 0 {
			n.fail("corrects", fault.Invalid("the form is not whole").WithHint("open the page again"))
		}
	default:
		n.wrong = append(n.wrong, fault.Invalid("the form does not say what is written down").WithHint("press one of the page's buttons"))
	}
	return e, corrects, n.wrong
}

// insteadView is one recipe on the other rolls.
type insteadView struct {
	Name, Charge string
	Own          insteadPair
	Others       []insteadPair
}

type insteadPair struct {
	Name, Piece, Change string
	Mounted             bool
	OutOfUse, Cannot    string
	Pieces              *figure
	Bags                []insteadBags
	Differs             []string
	Cautions            []cautionView
}

type insteadBags struct {
	Name, Holds string
	Bags        figure
	Differs     []string
}

func (s *server) insteadOf(r *http.Request, rolls string) ([]insteadView, []cautionView, error) {
	res, err := s.shop.InsteadOf(r.Context(), app.RollsRequest{Rolls: rolls})
	if err != nil {
		return nil, nil, err
	}
	u := res.Units
	var out []insteadView
	for _, x := range res.Recipes {
		v := insteadView{Name: x.Name, Charge: u.Mass(q.Kilograms(x.ChargeKg)), Own: insteadPairOf(u, x.Own)}
		for _, p := range x.Others {
			v.Others = append(v.Others, insteadPairOf(u, p))
		}
		out = append(out, v)
	}
	return out, cautionsOf(res.Cautions), nil
}

func insteadPairOf(u q.Reader, p app.RollsPair) insteadPair {
	v := insteadPair{Name: p.Name, Piece: u.Mass(q.Kilograms(p.PieceG / 1000)), Change: u.Number(float64(p.ChangeMin), 0) + " min", Mounted: p.Mounted, OutOfUse: capital(p.OutOfUse), Cannot: capital(p.Cannot),
		Cautions: cautionsOf(p.Cautions)}
	if p.Pieces != nil {
		f := countFigure(u, *p.Pieces)
		v.Pieces = &f
	}
	for _, d := range p.Differs {
		v.Differs = append(v.Differs, capital(d))
	}
	for _, x := range p.Bags {
		y := insteadBags{Name: x.Name, Holds: "about " + u.Number(x.Pieces.Value, 0) + " pieces", Bags: countFigure(u, x.Bags)}
		for _, d := range x.Differs {
			y.Differs = append(y.Differs, capital(d))
		}
		v.Bags = append(v.Bags, y)
	}
	return v
}

// countFigure prints how many of something there are.
func countFigure(u q.Reader, e q.Estimate) figure {
	f := figure{Value: u.Number(e.Value, 0)}
	if e.Basis != q.Exact {
		f.Range, f.Basis = u.Number(e.Low, 0)+"–"+u.Number(e.High, 0), string(e.Basis)
	}
	return f
}
