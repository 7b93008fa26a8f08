package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// recordView is the record of one batch: what was planned, what was seen, what is
// written, and the forms to write more.
type recordView struct {
	Base     base
	ID       string
	Name     string
	Recipe   string // address
	Sheet    string // address of its batch sheet; empty where it was of no plan
	Begun    string
	Gone     bool   // its beginning was taken back
	Who      string // is writing
	WentIn   []pair // by its lots; empty: nothing is weighed
	Facts    []recordFact
	Seen     []seenRow
	Cautions []cautionView
	Balance  []balanceRow
	Cards    []noteCard
	Sign     *signView
	Rules    []ruleRow
	Law      string // that the authority decides
	Log      []logRow
	Begin    *logRow // to be taken back; nil where more is written
	Faults   []faultLine
	Saved    bool
	Trouble  string // address of its trouble page
	Place    string // what may be done with it, where it is not simply good
	PlaceWhy string
	Attached attachedView
}

// recordFact is a figure as it was planned and as it became.
type recordFact struct {
	Name            string
	Planned, Became figure
	Known           bool
	Off             bool   // outside what was planned
	Else            string // what stands where nothing is known
}

type seenRow struct {
	What, Seen  string
	Before, Now figure
	Off         bool // outside what was to be expected
}

// noteForm is the form of one kind of entry.
type noteForm struct {
	Batch    string
	Kind     string
	Title    string
	Help     string
	ID       string // what the ids of its fields begin with
	Fields   []noteField
	More     []noteField // folded away
	MoreOpen bool
	Asks     []askRow
	Words    []entry.Choice // any of them
	Scales   []entry.Choice
	Of       []entry.Choice
	Act      int64  // of the entry that stands; 0: none does
	Says     string // what stands
	Open     bool
	Again    bool  // one that may be written once more
	Through  int64 // last act that a sign-off signs
}

type noteField struct {
	ID                             string
	Name, Label, Unit, Value, Help string
	Type                           string // of the input; empty: text
	Count                          bool
	Fault                          *faultLine
}

// logRow is one entry of the record.
type logRow struct {
	Act       int64
	When, Who string
	What      string
	Reason    string
	Corrects  bool
	Corrected bool
	Unsigned  bool // written after the sign-off
}

func recordHref(id string) string { return "/records/" + url.PathEscape(id) }

func (s *server) record(w http.ResponseWriter, r *http.Request) error {
	v, err := s.recordOf(r, nil)
	if err != nil {
		return err
	}
	v.Saved = r.URL.Query().Has("saved")
	return s.render(w, http.StatusOK, "record", v)
}

// recordOf shows a record; what was typed and not kept stands in its form.
func (s *server) recordOf(r *http.Request, kept url.Values) (recordView, error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return recordView{}, err
	}
	res, err := s.shop.Record(r.Context(), r.PathValue("id"))
	if err != nil {
		return recordView{}, err
	}
	v := recordView{Base: s.base(r, "Batch "+res.Batch, "/records"), Who: s.who(r), ID: res.Batch, Name: res.Name, Gone: res.Begun == nil}
	for _, e := range res.Entries {
		row := logRow{Act: e.Act, When: stamp(e.At, &b), Who: e.Person, What: saysEntry(&b, e.Entry), Reason: e.Reason, Corrects: e.Corrects != 0, Corrected: e.Corrected, Unsigned: e.Unsigned}
		v.Log = append(v.Log, row)
	}
	if v.Attached, err = s.attachedTo(r, &b, res.Batch, recordHref(res.Batch), v.Base.May.Note); err != nil || v.Gone {
		return v, err
	}
	place := res.Record().Place()
	v.Trouble, v.Place, v.PlaceWhy = troubleHref(res.Batch), placeTag(place.As), capital(place.Why)
	u := b.Shop.Units
	v.Begun = fmt.Sprintf("%s, %s into the kettle, %s, read on %s", longDate(res.On), u.Mass(q.Kilograms(float64(res.Begun.ChargeMg)/1e6)), res.Kettle, res.Glass)
	if _, ok := b.Recipe(res.Recipe); ok {
		v.Recipe = "/recipes/" + url.PathEscape(res.Recipe)
	}
	v.WentIn = wentIn(res.Contains)
	v.Facts = recordFacts(u, res)
	for _, x := range res.Seen {
		v.Seen = append(v.Seen, seenOf(u, x))
	}
	v.Facts = append(v.Facts, madeFacts(u, res)...)
	v.Balance = balanceRows(u, res.Balance)
	v.Cautions = sentencesOf(res.Cautions)
	v.Cards = cardsOf(&b, res, v.Base.Who, kept)
	v.Sign, v.Rules, v.Law = signOf(&b, res, kept), ruleRows(res.Rules), caution.Text(caution.NotLegal)
	if first, ok := res.Record().Stands(record.Beginning); ok && !anyNoted(res.Record()) {
		v.Begin = &logRow{Act: first.Act}
	}
	return v, nil
}

// wentIn says what a batch contains by the lots that went in.
func wentIn(c *app.LotsContain) []pair {
	if c == nil {
		return nil
	}
	out := []pair{{"lots", or(app.Listed(c.Lots), "none is named")}, {"contains", or(app.Listed(c.Contains), "none is named by what is on file")}}
	add := func(name, text string) {
		if text != "" {
			out = append(out, pair{name, text})
		}
	}
	add("may contain", app.Listed(c.May))
	add("nobody has stated", app.Listed(c.Unstated))
	add("out of no named lot", app.Listed(c.NoLot))
	if !c.Whole {
		add("not all is weighed", "what is missing goes by the recipe")
	}
	return out
}

func anyNoted(r record.Record) bool {
	for _, kind := range record.Kinds()[1:] {
		if _, ok := r.Stands(kind); ok {
			return true
		}
	}
	return false
}

// recordFacts puts what was planned beside what became of it.
func recordFacts(u q.Reader, res *app.RecordResult) []recordFact {
	if res.Planned == nil {
		return nil
	}
	got := app.MadeFigures{}
	if res.Became != nil {
		got = *res.Became
	}
	var out []recordFact
	add := func(name string, plan, became *q.Estimate, say func(q.Estimate) string) {
		if plan == nil {
			return
		}
		f := recordFact{Name: name, Planned: figureOf(say(*plan))}
		if became != nil {
			f.Became, f.Known = figureOf(say(*became)), true
		}
		out = append(out, f)
	}
	c := func(e q.Estimate) string { return u.SayTemperature(e, 0) }
	add("water in the kettle at the lift", res.Planned.WaterFrac, got.WaterFrac, func(e q.Estimate) string { return u.SayPercent(e, 2) })
	add("stands up to", res.Planned.StandsC, got.StandsC, c)
	add("read on the glass", res.Planned.ReadC, readOf(res), c)
	add("time of flame", res.Planned.FlameS, flameOf(res), u.SayTime)
	return out
}

// readOf and flameOf are what was read and timed, which is exact.
func readOf(res *app.RecordResult) *q.Estimate {
	l := res.Record().Lifted()
	if l == nil || l.ReadC == 0 {
		return nil
	}
	e := q.ExactOf(l.ReadC)
	return &e
}

func flameOf(res *app.RecordResult) *q.Estimate {
	l := res.Record().Lifted()
	if l == nil || l.FlameS == 0 {
		return nil
	}
	e := q.ExactOf(float64(l.FlameS))
	return &e
}

// seenWords says what was seen as a maker does.
var seenWords = map[string]string{"weighed": "water, by the kettle on the scale", "measured": "water, as measured", "pulled": "could be pulled at",
	"rolled": "first good sheet at", "last": "last good sheet at", "burned": "time of flame",
	"edge lifts": "from the pour until the edge lifted", "pull begun": "from the pour until it was pulled", "first sheet": "from the pour to the first good sheet",
	"rolling": "from the first good sheet to the last", "gone short": "from the pour until it had gone short", "read": "on the slab, by a thermometer"}

// saySeen prints a thing that was seen.
func saySeen(u q.Reader, unit string, e q.Estimate) string {
	switch unit {
	case "frac":
		return u.SayPercent(e, 2)
	case "s":
		return u.SayTime(e)
	}
	return u.SayTemperature(e, 0)
}

func seenOf(u q.Reader, x app.SeenLine) seenRow {
	return seenRow{What: or(seenWords[x.What], x.What), Seen: saySeen(u, x.Unit, q.ExactOf(float64(x.Seen))),
		Before: figureOf(saySeen(u, x.Unit, x.Before)), Now: figureOf(saySeen(u, x.Unit, x.Now)),
		Off: float64(x.Seen) < x.Now.Low || float64(x.Seen) > x.Now.High}
}

// saysEntry says an entry in one line.
func saysEntry(b *book.Book, e record.Entry) string {
	u := b.Shop.Units
	c := func(name string, v float64) string {
		if v == 0 {
			return ""
		}
		return name + " " + u.Temperature(q.Celsius(v), 1)
	}
	var parts []string
	switch {
	case e.Begun != nil:
		parts = []string{"begun: " + u.Mass(q.Kilograms(float64(e.Begun.ChargeMg)/1e6)) + " into the kettle"}
	case e.Lifted != nil:
		l := *e.Lifted
		parts = []string{"lifted" + c(" at", l.ReadC)}
		if l.GrossMg > 0 {
			parts = append(parts, fmt.Sprintf("the kettle with its sugar %s, empty %s", u.Weight(q.Kilograms(float64(l.GrossMg)/1e6), 0.001), u.Weight(q.Kilograms(float64(l.EmptyMg)/1e6), 0.001)))
		}
		if l.FlameS > 0 {
			parts = append(parts, "flame "+u.Number(float64(l.FlameS)/60, 1)+" min")
		}
		if l.LitAt != "" {
			parts = append(parts, "lit at "+l.LitAt)
		}
		if l.LiftedAt != "" {
			parts = append(parts, "off the fire at "+l.LiftedAt)
		}
		if l.StationPa > 0 {
			parts = append(parts, "barometer "+u.Pressure(q.Pascals(l.StationPa)))
		}
	case e.Moisture != nil:
		m := *e.Moisture
		parts = []string{fmt.Sprintf("moisture of the %s %s, ± %s", m.Of, u.Percent(q.Fraction(m.WaterFrac), 2), u.Percent(q.Fraction(m.SureFrac), 2))}
		if m.Method != "" {
			parts = append(parts, m.Method)
		}
	case e.Worked != nil:
		for _, s := range []string{c("pulled from", e.Worked.PullC), c("rolled from", e.Worked.RollC), c("last good sheet at", e.Worked.LastC)} {
			if s != "" {
				parts = append(parts, s)
			}
		}
	case e.Kind() == record.Taking:
		return "taken back"
	default:
		parts = app.SayWork(u, e)
	}
	return strings.Join(parts, "; ")
}

// noteForms are the forms of what can be written down, with what stands in them.
func noteForms(b *book.Book, r record.Record, typed url.Values) []noteForm {
	u := b.Shop.Units
	deg, kg := unitsOf(u)
	val := func(on bool, text string) string {
		if !on {
			return ""
		}
		return text
	}
	temp := func(v float64) string { return val(v != 0, u.Temperature(q.Celsius(v), 1)) }
	mass := func(mg int64) string { return massText(u, mg) }
	lift, moist, work := record.Lifted{}, record.Moisture{}, record.Worked{}
	act := func(k record.Kind) int64 {
		kept, _ := r.Stands(k)
		return kept.Act
	}
	if l := r.Lifted(); l != nil {
		lift = *l
	}
	if m := r.Moisture(); m != nil {
		moist = *m
	}
	if w := r.Worked(); w != nil {
		work = *w
	}
	forms := []noteForm{
		{Kind: string(record.Lifting), Help: "Fill in what was looked at; the rest may stay empty.", Act: act(record.Lifting), Fields: []noteField{
			{Name: "read", Label: "Read on the glass", Unit: deg, Value: temp(lift.ReadC)},
			{Name: "gross", Label: "Kettle with the sugar, on the scale", Unit: kg, Value: mass(lift.GrossMg), Help: "Weighed at once, with hands and cloths off. Two people carry a hot kettle; never over a wet floor."},
			{Name: "empty", Label: "Kettle alone", Unit: kg, Value: mass(lift.EmptyMg), Help: "Weighed cold, once, with what hangs on it"},
			{Name: "flame", Label: "The flame burned", Unit: "min", Value: val(lift.FlameS > 0, u.Number(float64(lift.FlameS)/60, 1)+" min")},
			{Name: "station", Label: "Barometer in the room", Unit: "hPa", Value: val(lift.StationPa > 0, u.Pressure(q.Pascals(lift.StationPa))), Help: "What it shows, not the weather report's figure"},
			{Name: "lit_at", Label: "Lit at", Type: "time", Value: lift.LitAt}, {Name: "lifted_at", Label: "Lifted at", Type: "time", Value: lift.LiftedAt},
		}, Scales: scalesOf(b, lift.Scale)},
		{Kind: string(record.Working), Help: "Of the middle of the batch, with a stick probe.", Act: act(record.Working), Fields: []noteField{
			{Name: "pull", Label: "Could be pulled at", Unit: deg, Value: temp(work.PullC)},
			{Name: "roll", Label: "First good sheet", Unit: deg, Value: temp(work.RollC)},
			{Name: "last", Label: "Last good sheet", Unit: deg, Value: temp(work.LastC)},
			{Name: "probe", Label: "The probe is good to ±", Unit: deg, Value: or(val(work.SureK > 0, u.Difference(q.Kelvins(work.SureK), 1)), u.Difference(2, 1))},
		}},
		{Kind: string(record.Moist), Help: "From an oven, a balance with a lamp, or a laboratory.", Act: act(record.Moist), Fields: []noteField{
			{Name: "water", Label: "Water", Unit: "%", Value: val(moist.WaterFrac > 0, u.Percent(q.Fraction(moist.WaterFrac), 2))},
			{Name: "sure", Label: "Sure to ±", Unit: "%", Value: or(val(moist.SureFrac > 0, u.Percent(q.Fraction(moist.SureFrac), 2)), u.Percent(0.003, 1))},
			{Name: "method", Label: "How it was measured", Value: moist.Method},
		}, Of: []entry.Choice{{Value: "sweet", Label: "finished pieces", Chosen: moist.Of != record.OfSugar}, {Value: "sugar", Label: "plain sugar from the kettle", Chosen: moist.Of == record.OfSugar}}},
	}
	for i := range forms {
		if k, ok := r.Stands(record.Kind(forms[i].Kind)); ok {
			forms[i].Says = capital(saysEntry(b, k.Entry))
		}
	}
	if typed == nil {
		return forms
	}
	for i := range forms {
		if forms[i].Kind != typed.Get("kind") {
			continue
		}
		forms[i].Open = true
		for j, f := range forms[i].Fields {
			forms[i].Fields[j].Value = typed.Get(f.Name)
		}
		forms[i].Scales = scalesOf(b, typed.Get("scale"))
		for j := range forms[i].Of {
			forms[i].Of[j].Chosen = forms[i].Of[j].Value == typed.Get("of")
		}
	}
	return forms
}

func scalesOf(b *book.Book, chosen string) []entry.Choice {
	var out []entry.Choice
	for _, s := range b.Scales {
		out = append(out, entry.Choice{Value: s.ID, Label: s.Name, Chosen: s.ID == chosen})
	}
	return out
}

// postRecord writes an entry, corrects one or takes one back.
func (s *server) postRecord(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	id := r.PathValue("id")
	e, corrects, wrong, err := s.readNoted(r, id, r.PostForm)
	if err != nil {
		return err
	}
	if len(wrong) == 0 {
		err := s.shop.Enter(r.Context(), e, corrects, s.who(r), strings.TrimSpace(r.PostForm.Get("why")))
		if err == nil {
			http.Redirect(w, r, recordHref(id)+"?saved", http.StatusSeeOther)
			return nil
		}
		var f *fault.Error
		lost := errors.As(err, &f) && f.Kind == fault.KindNotFound && f.Field == "cooked_back.from"
		if !forForm(err) && !lost {
			return err
		}
		wrong = public(err)
	}
	v, err := s.recordOf(r, r.PostForm)
	if err != nil {
		return err
	}
	v.refused(wrong)
	return s.render(w, status(wrong[0]), "record", v)
}

// readNoted reads what a form writes to a record, corrects or takes back.
func (s *server) readNoted(r *http.Request, id string, form url.Values) (e record.Entry, corrects int64, wrong app.Problems, err error) {
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return e, 0, nil, err
	}
	if corrects, err = correctsOf(form); err != nil {
		return e, 0, nil, err
	}
	e = record.Entry{Batch: id}
	if form.Get("act") != "back" {
		e, wrong = readNote(&b, id, form)
	}
	return e, corrects, wrong, s.mayWrite(r, e, corrects)
}

// correctsOf reads which act a form corrects or takes back, 0 for none.
func correctsOf(form url.Values) (int64, error) {
	act, err := strconv.ParseInt(or(form.Get("corrects"), "0"), 10, 64)
	if err != nil || act < 0 {
		return 0, fault.Invalid("the form is not whole").WithHint("open the page again")
	}
	return act, nil
}

// tried answers a form that was sent: with the page it leads to, or, where something is
// wrong that its sender can mend, with its own page again and what that is.
func (s *server) tried(w http.ResponseWriter, r *http.Request, to string, wrong app.Problems, err error, page string, again func(app.Problems) (any, error)) error {
	switch {
	case err == nil && len(wrong) == 0:
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	case err != nil && !forForm(err):
		return err
	case err != nil:
		wrong = public(err)
	}
	v, err := again(wrong)
	if err != nil {
		return err
	}
	return s.render(w, status(wrong[0]), page, v)
}

// forForm reports whether a fault is shown in the form that was sent, for another try.
func forForm(err error) bool {
	kind := fault.KindOf(err)
	return kind == fault.KindInvalid || kind == fault.KindConflict
}

// noteNames leads from the fields of an entry to those of its form.
var noteNames = map[string]string{
	"lifted.read_c": "read", "lifted.gross_mg": "gross", "lifted.flame_s": "flame", "lifted.station_pa": "station", "moisture.water_frac": "water",
	"moisture.sure_frac": "sure", "worked.pull_c": "pull", "worked.roll_c": "roll", "worked.last_c": "last", "worked.sure_k": "probe",
}

// refused puts what is wrong at the fields of the form, and the rest above.
func (v *recordView) refused(wrong app.Problems) {
	for i, line := range faultLines(wrong) {
		name := or(noteNames[line.Field], or(workNames[line.Field], line.Field))
		if !v.refuse(name, line) {
			v.Faults = append(v.Faults, faultLines(wrong[i:i+1])...)
		}
	}
}

func (v *recordView) refuse(name string, line faultLine) bool {
	var forms []*noteForm
	for i := range v.Cards {
		for j := range v.Cards[i].Forms {
			forms = append(forms, &v.Cards[i].Forms[j])
		}
	}
	if v.Sign != nil {
		forms = append(forms, v.Sign.Form)
	}
	for _, f := range forms {
		if f.Open && f.refuse(name, line) {
			return true
		}
	}
	return false
}

// refuse puts what is wrong at a field; false if the form has none of that name.
func (f *noteForm) refuse(name string, line faultLine) bool {
	named := func(x noteField) bool { return x.Name == name }
	if i := slices.IndexFunc(f.Fields, named); i >= 0 {
		f.Fields[i].Fault = &line
		return true
	}
	i := slices.IndexFunc(f.More, named)
	if i < 0 {
		return false
	}
	f.More[i].Fault, f.MoreOpen = &line, true
	return true
}

// noteReader reads the fields of a form that was sent, and keeps what is wrong.
type noteReader struct {
	form  url.Values
	u     q.Reader
	wrong app.Problems
}

// text is a field as it was typed, with the unit that stands beside it where it has
// none and the mark of programs for decimals.
func (n *noteReader) text(name, unit string) string {
	s := strings.TrimSpace(n.form.Get(name))
	if s == "" {
		return ""
	}
	plain, err := n.u.Decimal().Plain(s)
	if err != nil {
		n.fail(name, err)
		return ""
	}
	if last := plain[len(plain)-1]; last >= '0' && last <= '9' {
		plain += " " + unit
	}
	return plain
}

func (n *noteReader) fail(name string, err error) {
	text, hint := fault.Said(err)
	n.wrong = append(n.wrong, fault.Invalid("%s", text).At(name).WithHint("%s", hint))
}

// of reads a field by a parser; 0 where nothing is typed.
func of[T ~float64](n *noteReader, name, unit string, parse func(string) (T, error)) T {
	text := n.text(name, unit)
	if text == "" {
		return 0
	}
	v, err := parse(text)
	if err != nil {
		n.fail(name, err)
	}
	return v
}

// readNote reads an entry as it was typed. The faults name the fields of the form.
func readNote(b *book.Book, id string, form url.Values) (record.Entry, app.Problems) {
	n := &noteReader{form: form, u: b.Shop.Units}
	deg, kg := unitsOf(n.u)
	temp := func(name string) float64 { return float64(of(n, name, deg, q.ParseTemperature)) }
	mg := func(name string) int64 { return of(n, name, kg, q.ParseMass).Milligrams() }
	e := record.Entry{Batch: id}
	switch record.Kind(form.Get("kind")) {
	case record.Lifting:
		l := record.Lifted{ReadC: temp("read"), GrossMg: mg("gross"), EmptyMg: mg("empty"), StationPa: float64(of(n, "station", "hPa", q.ParsePressure)),
			LitAt: form.Get("lit_at"), LiftedAt: form.Get("lifted_at")}
		if text := n.text("flame", "min"); text != "" {
			d, err := q.ParseDuration(text)
			if err != nil {
				n.fail("flame", err)
			}
			l.FlameS = int64(d.Std().Round(time.Second) / time.Second)
		}
		if l.GrossMg > 0 {
			l.Scale = form.Get("scale")
		}
		e.Lifted = &l
	case record.Moist:
		e.Moisture = &record.Moisture{Of: record.Sample(form.Get("of")), WaterFrac: float64(of(n, "water", "%", q.ParseFraction)),
			SureFrac: float64(of(n, "sure", "%", q.ParseFraction)), Method: strings.TrimSpace(form.Get("method"))}
	case record.Working:
		e.Worked = &record.Worked{PullC: temp("pull"), RollC: temp("roll"), LastC: temp("last"), SureK: float64(of(n, "probe", deg, q.ParseDifference))}
	default:
		if readWork(n, &e) {
			break
		}
		n.wrong = append(n.wrong, fault.Invalid("the form does not say what is written down").WithHint("press one of the page's buttons"))
	}
	return e, n.wrong
}
