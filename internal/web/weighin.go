package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// weighInsView lists the batches of the day that can be weighed in.
type weighInsView struct {
	Base    base
	First   *firstStep
	On      string
	Batches []weighable
}

// weighable is a batch of the day: begun, or still only planned.
type weighable struct {
	ID, Name, Charge string
	Recipe           string // id, for the form that begins it
	ChargeText       string // for that form
	Begun            bool
	Flame            string // time of its flame in the plan; empty: it is in none
}

// weighInView is the sheet of one batch, line by line.
type weighInView struct {
	Base     base
	ID       string
	Name     string
	Record   string // address
	Lines    []weighLineView
	Next     int // number of the first line that is open, from 1; 0: all is in
	InKettle string
	OfCharge string
	Cautions []cautionView
	Seconds  []string
	Who      string
	Faults   []faultLine
	Saved    bool
}

// weighLineView is a line of the sheet with its form.
type weighLineView struct {
	app.WeighInLine
	N, Of   int
	Into    string
	Target  string
	Accept  string // from–to
	Done    string // weighed so far; empty: nothing
	Left    string // still to be weighed; empty: nothing
	Open    bool
	Field   string // the mass that is typed already
	Stops   []string
	Picks   []weighPick
	Changes []weighInstead
	Log     []weighedRow
	Typed   url.Values // what was typed and refused; nil: nothing
	Fault   map[string]*faultLine
}

type weighPick struct {
	Lot, Text string
	Mark      string // its supplier's
	First     bool
	Past      bool
	Chosen    bool
}

type weighInstead struct{ ID, Text string }

type weighedRow struct {
	Act       int64
	Text, Who string
}

// shown are the fields of the line that stand on the page.
func (l weighLineView) shown() []string {
	if l.Tap {
		return []string{"mass", "instead", "why"}
	}
	return []string{"code", "lot", "mass", "second", "instead", "why"}
}

// Wrong returns what is wrong with a field of the line, nil if nothing is.
func (l weighLineView) Wrong(field string) *faultLine { return l.Fault[field] }

func weighInHref(id string) string { return "/weigh-in/" + url.PathEscape(id) }

// weighIns lists what can be weighed in today.
func (s *server) weighIns(w http.ResponseWriter, r *http.Request) error {
	v, err := s.weighInsOf(r)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "weighins", v)
}

func (s *server) weighInsOf(r *http.Request) (weighInsView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return weighInsView{Base: frame("Weigh-in", "/weigh-in"), First: noBook()}, nil
	}
	if err != nil {
		return weighInsView{}, err
	}
	today := s.shop.Today(b)
	v := weighInsView{Base: s.base(r, "Weigh-in", "/weigh-in"), On: longDate(today)}
	const most = 100
	list, err := s.shop.Records(r.Context(), app.RecordQuery{From: today, To: today, Limit: most})
	if err != nil {
		return weighInsView{}, err
	}
	u := b.Shop.Units
	begun := map[string]bool{}
	for _, x := range slices.Backward(list.Records) {
		begun[x.Batch] = true
		v.Batches = append(v.Batches, weighable{ID: x.Batch, Name: x.Name, Charge: u.Mass(q.Kilograms(x.ChargeKg)), Begun: true})
	}
	if plan, err := s.plan(r.Context(), app.PlanRequest{}); err == nil { // without one, what is begun is still there
		for _, p := range plan.Batches {
			i := slices.IndexFunc(v.Batches, func(x weighable) bool { return x.ID == p.ID })
			if i < 0 {
				v.Batches = append(v.Batches, weighable{ID: p.ID, Name: p.Name, Charge: u.Mass(q.Kilograms(p.ChargeKg)), Recipe: p.Recipe, ChargeText: chargeText(u, float64(p.ChargeKg))})
				i = len(v.Batches) - 1
			}
			v.Batches[i].Flame = p.FlameUp.Format("15:04")
		}
	}
	if len(v.Batches) == 0 {
		v.First = &firstStep{Text: "Nothing is planned or begun today. Say what to make, and its boils stand here to be weighed.", Href: "/to-make", Do: "To make"}
	}
	return v, nil
}

func (s *server) weighIn(w http.ResponseWriter, r *http.Request) error {
	v, err := s.weighInOf(r, nil, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "weighin", v)
}

// weighInOf shows a sheet; what was typed and not written stands in its line.
func (s *server) weighInOf(r *http.Request, typed url.Values, wrong app.Problems) (weighInView, error) {
	res, err := s.shop.WeighInOf(r.Context(), r.PathValue("batch"))
	if err != nil {
		return weighInView{}, err
	}
	u := res.Units
	v := weighInView{Base: s.base(r, "Weigh in "+res.Batch, "/weigh-in"), ID: res.Batch, Name: res.Name, Record: recordHref(res.Batch), Next: res.Next + 1,
		InKettle: massMg(u, res.KettleMg), OfCharge: massMg(u, res.ChargeMg), Who: s.who(r)}
	for _, name := range res.Seconds {
		if !strings.EqualFold(name, v.Who) {
			v.Seconds = append(v.Seconds, name)
		}
	}
	for i, l := range res.Lines {
		v.Lines = append(v.Lines, weighLineOf(u, l, i+1, len(res.Lines)))
	}
	v.Cautions = cautionsOf(res.Cautions)
	v.refused(typed, wrong)
	return v, nil
}

func weighLineOf(u q.Reader, l app.WeighInLine, n, of int) weighLineView {
	step := kilogramsOf(l.StepMg)
	weight := func(mg int64) string { return u.Weight(kilogramsOf(mg), step) }
	x := weighLineView{WeighInLine: l, N: n, Of: of, Into: intoText(l.Stage, l.Portion), Target: weight(l.TargetMg), Accept: weight(l.LowMg) + " – " + weight(l.HighMg),
		Open: l.State == app.LineOpen || l.State == app.LinePart, Fault: map[string]*faultLine{}}
	if l.DoneMg > 0 {
		x.Done = weight(l.DoneMg)
	}
	if left := l.TargetMg - l.DoneMg; x.Open && left > 0 {
		x.Field = typedMass(u, left)
		if l.DoneMg > 0 {
			x.Left = weight(left)
		}
	}
	for i, p := range l.Lots {
		text := p.Lot
		if p.Mark != "" {
			text = p.Mark + " (" + p.Lot + ")"
		}
		if p.BestBefore != "" {
			text += ", best before " + shortDate(p.BestBefore)
		}
		text += ", " + massMg(u, p.OnHandMg) + " left"
		if p.PacketMg > 0 {
			text += ", in packets of " + massMg(u, p.PacketMg)
		}
		if p.Strength > 0 && p.Strength < 1 {
			x.Field = "" // of the solution it is another mass
			text = "Solution of " + u.Percent(q.Fraction(p.Strength), 2) + " in " + p.Carrier + ": weigh " + massMg(u, p.WeighMg) + " of it. " + text
		}
		x.Picks = append(x.Picks, weighPick{Lot: p.Lot, Mark: p.Mark, Text: text, First: i == 0 && len(l.Lots) > 1, Past: p.Past})
	}
	for _, p := range l.Stopped {
		word := map[lot.Status]string{lot.Hold: "ON HOLD", lot.Quarantine: "in quarantine", lot.Condemned: "condemned"}[p.Status]
		x.Stops = append(x.Stops, or(p.Mark, p.Lot)+" ("+p.Lot+"): "+word)
	}
	for _, c := range l.Instead {
		text := c.Name + ", " + massMg(u, c.FreeMg) + " there"
		if len(c.Changes) > 0 {
			text += ": " + strings.Join(c.Changes, "; ")
		}
		x.Changes = append(x.Changes, weighInstead{c.Ingredient, text})
	}
	for _, k := range l.Weighed {
		x.Log = append(x.Log, weighedRow{k.Act, saysWeighed(u, k.Weighed, step), k.Person})
	}
	return x
}

// typedMass is a mass as it stands in a field, in the unit of the scale.
func typedMass(u q.Reader, mg int64) string {
	if u.US() {
		return u.Number(float64(kilogramsOf(mg))/q.KilogramsPerOunce, 2) + " oz"
	}
	return u.Number(float64(mg)/1e3, 3) + " g"
}

func saysWeighed(u q.Reader, w record.Weighed, step q.Kilograms) string {
	out := u.Weight(kilogramsOf(w.MassMg), step)
	if w.Strength != 0 {
		out += " of a solution of " + u.Percent(q.Fraction(w.Strength), 2) + ", " + massMg(u, w.DoseMg()) + " of it"
	}
	if w.Instead != "" {
		out += " of " + w.Ingredient + " in its place"
	}
	if w.Lot != "" {
		out += " out of " + w.Lot
	}
	if w.Scanned {
		out += ", scanned"
	}
	if w.Second != "" {
		out += ", " + w.Second + " looked too"
	}
	if w.Why != "" {
		out += ": " + w.Why
	}
	return out
}

// intoText says where a line of the sheet goes.
func intoText(stage, portion string) string {
	out := "into the kettle"
	switch stage {
	case "":
	case "boil":
		out = "a pot of its own, for the boil"
	case "end":
		out = "a pot of its own, for the end of the boil"
	default:
		out = "a pot of its own, for the " + stage
	}
	if portion != "" {
		out += ", " + portion + " portion"
	}
	return out
}

// weighField leads from the fields of a weighing to those of the form.
var weighField = map[string]string{"weighed.lot": "lot", "lot": "lot", "weighed.mass_mg": "mass", "weighed.checked_by": "second", "weighed.ingredient": "instead", "weighed.instead_of": "instead", "weighed.why": "why", "weighed.scale": "scale"}

// refused puts what is wrong at the fields of the line that was sent, and the rest above.
func (v *weighInView) refused(typed url.Values, wrong app.Problems) {
	n, _ := strconv.Atoi(typed.Get("line"))
	if n < 1 || n > len(v.Lines) {
		v.Faults = faultLines(wrong)
		return
	}
	l := &v.Lines[n-1]
	l.Typed, l.Field, l.Open = typed, or(typed.Get("mass"), l.Field), true
	v.Next = n
	for i := range l.Picks {
		l.Picks[i].Chosen = l.Picks[i].Lot == typed.Get("lot")
	}
	for i, x := range faultLines(wrong) {
		name := or(weighField[x.Field], x.Field)
		if slices.Contains(l.shown(), name) && l.Fault[name] == nil {
			l.Fault[name] = &x
			continue
		}
		v.Faults = append(v.Faults, faultLines(wrong[i:i+1])...)
	}
}

// postWeighIn writes down a weighing, takes one back, or reads a code.
func (s *server) postWeighIn(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id := r.PathValue("batch")
	e, corrects, wrong, err := s.readWeighing(r, id, r.PostForm)
	if err != nil {
		return err
	}
	if len(wrong) == 0 {
		err := s.shop.Enter(r.Context(), e, corrects, s.who(r), "")
		if err == nil {
			http.Redirect(w, r, weighInHref(id)+"?saved", http.StatusSeeOther)
			return nil
		}
		if !forForm(err) && fault.KindOf(err) != fault.KindNotFound {
			return err
		}
		wrong = public(err)
	}
	v, err := s.weighInOf(r, r.PostForm, wrong)
	if err != nil {
		return err
	}
	return s.render(w, status(wrong[0]), "weighin", v)
}

// readWeighing reads the form of a line of the sheet.
func (s *server) readWeighing(r *http.Request, id string, form url.Values) (e record.Entry, corrects int64, wrong app.Problems, err error) {
	e = record.Entry{Batch: id}
	if form.Get("act") == "back" {
		corrects, err = correctsOf(form)
		return e, corrects, nil, err
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return e, 0, nil, err
	}
	n := &noteReader{form: form, u: b.Shop.Units}
	unit := "g"
	if n.u.US() {
		unit = "oz"
	}
	text := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	wd := record.Weighed{Ingredient: text("ingredient"), Stage: text("stage"), Portion: text("portion"), Lot: text("lot"), MassMg: of(n, "mass", unit, q.ParseMass).Milligrams(),
		Scale: text("scale"), Second: text("second"), Why: strings.TrimSpace(text("why") + " " + text("why_more"))}
	if other := text("instead"); other != "" && other != wd.Ingredient {
		wd.Instead, wd.Ingredient = wd.Ingredient, other
	}
	if code := text("code"); code != "" {
		got, err := s.shop.ScanFor(r.Context(), wd.Ingredient, code)
		var f *fault.Error
		switch {
		case errors.As(err, &f) && f.Kind == fault.KindInvalid:
			n.wrong = append(n.wrong, f.At("code"))
		case err != nil:
			return e, 0, nil, err
		case !got.Right:
			n.wrong = append(n.wrong, fault.Invalid("%s", strings.TrimSuffix(got.Says, ".")).At("code"))
		default:
			wd.Lot, wd.Scanned = got.Lot, true
		}
	}
	e.Weighed = &wd
	return e, 0, n.wrong, nil
}

// getScan answers a page that has read a code off a pot.
func (s *server) getScan(c *call) (any, error) {
	a := c.query()
	ingredient, code := a.text("ingredient"), a.text("code")
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.ScanFor(c.Context(), ingredient, code)
}

func (s *server) getWeighIn(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return s.shop.WeighInOf(c.Context(), c.PathValue("batch"))
}

// APIWeighed writes down one weighing.
type APIWeighed struct {
	Corrects int64 `json:"corrects_act,omitempty"`
	record.Weighed
}

func (s *server) putWeighed(c *call) (any, error) {
	return putPart(s, c, func(in *APIWeighed) (record.Entry, int64, string) {
		return record.Entry{Weighed: &in.Weighed}, in.Corrects, ""
	})
}

// weighInEndpoints are the weigh-in for programs.
func (s *server) weighInEndpoints() []endpoint {
	return []endpoint{
		{path: "/records/{batch}/weigh-in", get: &operation{summary: "The sheet of a batch as it is weighed: what, how much, out of which lots, how far it is.", answer: "weigh-in", do: s.getWeighIn}},
		writes("weighed", "Writes down one thing that was weighed for the batch, out of which lot; as often as it happens.", s.putWeighed),
		{path: "/scan", get: &operation{summary: "What a code on a pot is to an ingredient of a sheet: the right lot, another pot, a lot that is stopped.", answer: "scan", do: s.getScan, params: []param{
			{name: "ingredient", help: "What the sheet asks for.", example: "sugar"}, {name: "code", help: "As the scanner types it.", example: "r2026-11-20-1"}}}},
	}
}
