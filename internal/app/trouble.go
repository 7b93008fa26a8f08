package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/source"
	"slabside/internal/store"
	"slabside/internal/trouble"
)

// TroubleRequest says that a batch went wrong.
type TroubleRequest struct {
	Batch    string
	What     record.Trouble
	When     string // time of day; empty: now, for a batch of today
	Note     string
	Corrects int64 // act of the trouble that is corrected; 0: none
}

// TroubleResult is what to do about a batch that went wrong, in the order in which it is
// needed.
type TroubleResult struct {
	Batch    string        `json:"batch"`
	On       string        `json:"on"`
	Recipe   string        `json:"recipe"`
	Name     string        `json:"name"`
	Troubles []TroubleLine `json:"troubles"` // the last first
	Now      []NowLines    `json:"now"`      // the next thirty seconds, of the last trouble first
	Place    record.Place  `json:"place"`    // what may be done with it
	PlaceWhy string        `json:"place_why"`
	Options  []PlaceOption `json:"options"`
	Wash     *WashDue      `json:"wash"` // null: nothing lies on the line
	Day      *Loss         `json:"day"`  // null: a caution says why
	Causes   []CauseLine   `json:"causes"`
	OnHold   []HeldLine    `json:"on_hold"` // all batches that are
	Cautions []Caution     `json:"cautions"`
	Sources  []string      `json:"sources"`
	Units    q.Reader      `json:"units"`
}

// TroubleLine is a trouble that stands written.
type TroubleLine struct {
	Act  int64          `json:"act"`
	What record.Trouble `json:"what"`
	When string         `json:"when"`
	Note string         `json:"note"`
	By   string         `json:"by"`
}

// NowLines are the next thirty seconds of a trouble.
type NowLines struct {
	What  record.Trouble `json:"what"`
	Lines []string       `json:"lines"`
}

// PlaceOption is one thing that may become of a batch, or may not.
type PlaceOption struct {
	As      record.Place `json:"as"`
	Says    string       `json:"says"`
	Open    bool         `json:"open"`
	Why     string       `json:"why"`     // how, or why not
	Reasons []string     `json:"reasons"` // to be written beside it
	Source  string       `json:"source"`
}

// WashDue is what is washed before the next boil, a hard rule of the plan.
type WashDue struct {
	Why  string           `json:"why"`
	Left []record.Surface `json:"left"` // no wash is written of these
}

// CauseLine is a possible cause; they come in the order of what the record says of them.
type CauseLine struct {
	Trouble  record.Trouble `json:"trouble"`
	What     string         `json:"what"`
	Look     string         `json:"look"`
	Evidence []EvidenceLine `json:"evidence"` // none: nothing written down tells
	Score    int            `json:"score"`
	Source   string         `json:"source"`
}

// EvidenceLine is one thing that speaks for a cause or against it.
type EvidenceLine struct {
	Says   string `json:"says"`
	Weight int    `json:"weight"` // below 0: against it
}

// HeldLine is a batch on hold.
type HeldLine struct {
	Batch string `json:"batch"`
	Name  string `json:"name"`
	Why   string `json:"why"`
}

// DecideRequest says what becomes of a batch.
type DecideRequest struct {
	Batch    string
	As       record.Place
	Why      string
	Corrects int64 // act of the place that is corrected; 0: none
}

// Codes of the cautions of trouble.
const (
	codeNoCauses = "causes-unknown"  // what the batch was to be cannot be worked out
	codeNoLoss   = "loss-unknown"    // what it leaves short is not worked out
	codeNotLook  = "trouble-unready" // it is being worked out
)

// Trouble writes down that a batch went wrong, and puts it on hold where the trouble asks
// for that or closes what it was free for, each by an act of its own. A batch of the plan
// that is not begun is begun with it. What stands written already of the same minute is
// not written twice: a wet finger presses twice.
//
// Faults: those of [App.Enter]; NotFound for a batch that is neither begun nor in the plan
// of its day.
func (a *App) Trouble(ctx context.Context, r TroubleRequest, who, why string) error {
	return a.trouble(ctx, r, store.Meta{Person: who, At: a.now(), Reason: why})
}

func (a *App) trouble(ctx context.Context, r TroubleRequest, m store.Meta) error {
	if err := record.CheckID(r.Batch); err != nil {
		return err
	}
	b, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	x, err := a.recordBegun(ctx, r.Batch, m.Person)
	if err != nil {
		return err
	}
	if at := m.At.In(zoneOf(&b)); r.When == "" && x.Begun().On == at.Format(time.DateOnly) {
		r.When = at.Format("15:04")
	}
	e := record.Entry{Batch: r.Batch, Troubled: &record.Troubled{What: r.What, When: r.When, Note: strings.TrimSpace(r.Note)}}
	var list []record.Entry
	switch {
	case r.Corrects != 0:
		if err := a.enter(ctx, e, r.Corrects, m); err != nil {
			return err
		}
	case !slices.ContainsFunc(x.All(record.Troubling), func(k record.Kept) bool { return *k.Troubled == *e.Troubled }):
		list = append(list, e)
	case m.Tap == (store.Tap{}): // a tap that was broken off may still have to hold the batch
		return nil
	}
	if hold, ok := a.holds(ctx, x, r.What); ok {
		list = append(list, hold)
	}
	return a.enterEach(ctx, list, m)
}

// ThirtySeconds is what to do about a trouble at once, line by line.
func ThirtySeconds(t record.Trouble) []string { return trouble.Of(t).Now }

// holds returns the entry that puts a batch on hold for a trouble; false if it needs none.
func (a *App) holds(ctx context.Context, r record.Record, t record.Trouble) (record.Entry, bool) {
	place := r.Place().As
	if place == record.OnHold || place == record.Binned {
		return record.Entry{}, false
	}
	o, known := trouble.Allowed(trouble.Options([]record.Trouble{t}, a.factsOf(ctx, r)), place)
	if !trouble.Of(t).Holds && (!known || o.Open) {
		return record.Entry{}, false
	}
	return record.Entry{Batch: r.ID, Placed: &record.Placed{As: record.OnHold, Why: string(t)}}, true
}

// recordBegun returns the record of a batch; one that only the plan of its day has is
// begun as the plan has it.
func (a *App) recordBegun(ctx context.Context, id, who string) (record.Record, error) {
	r, err := a.recordFold(ctx, id)
	if err != nil || r.Begun() != nil {
		return r, err
	}
	p, err := a.Plan(ctx, PlanRequest{Date: id[:len(time.DateOnly)]})
	if err != nil {
		return r, err
	}
	i := slices.IndexFunc(p.Batches, func(x Batch) bool { return x.ID == id })
	if i < 0 || len(r.Entries) > 0 {
		return r, fault.NotFound("batch %s is not begun", id).At("batch").WithHint("begin its record first")
	}
	x := p.Batches[i]
	if _, err := a.Begin(ctx, BeginRequest{Batch: id, On: p.Date, Recipe: x.Recipe, Charge: q.Kilograms(x.ChargeKg)}, who, ""); err != nil {
		return r, err
	}
	return a.recordFold(ctx, id)
}

// recordFold returns what is written of a batch, an empty record for nothing.
func (a *App) recordFold(ctx context.Context, id string) (record.Record, error) {
	list, err := a.keeper.Records(ctx, store.Find{Batch: id, Limit: 1})
	if err != nil || len(list) == 0 {
		return record.Record{ID: id}, err
	}
	return list[0], nil
}

// Decide says what becomes of a batch: see [App.mayPlace] for what is refused. What
// stands already is not written twice.
func (a *App) Decide(ctx context.Context, r DecideRequest, who, why string) error {
	return a.decide(ctx, r, store.Meta{Person: who, At: a.now(), Reason: why})
}

func (a *App) decide(ctx context.Context, r DecideRequest, m store.Meta) error {
	if err := record.CheckID(r.Batch); err != nil {
		return err
	}
	x, err := a.recordFold(ctx, r.Batch)
	if err != nil {
		return err
	}
	placed := record.Placed{As: r.As, Why: strings.TrimSpace(r.Why)}
	if k, ok := x.Stands(record.Placing); ok && r.Corrects == 0 && *k.Placed == placed {
		return nil
	}
	return a.enter(ctx, record.Entry{Batch: r.Batch, Placed: &placed}, r.Corrects, m)
}

// mayPlace refuses a place that a trouble of the batch closes, and to take a place back
// that leaves the batch at one.
func (a *App) mayPlace(ctx context.Context, r record.Record, e record.Entry, corrects int64) error {
	place := e.Placed
	if place == nil {
		i := slices.IndexFunc(r.Entries, func(k record.Kept) bool { return k.Act == corrects })
		if i < 0 || r.Entries[i].Placed == nil {
			return nil
		}
		taken := record.Kept{Entry: e, Corrects: corrects, Act: r.Through() + 1}
		left := record.Fold(append(slices.Clone(r.Entries), taken)).Place()
		place = &left
	}
	o, ok := trouble.Allowed(trouble.Options(trouble.What(r), a.factsOf(ctx, r)), place.As)
	if !ok || o.Open {
		return nil
	}
	if e.Placed == nil {
		return fault.Invalid("without it batch %s %s, and that is closed: %s", r.ID, SayPlace(place.As), o.Why).At("corrects").WithHint("decide something else in its place")
	}
	return fault.Invalid("%s is closed for batch %s: %s", place.As, r.ID, o.Why).At("placed.as").WithHint("open: %s", a.openPlaces(ctx, r))
}

func (a *App) openPlaces(ctx context.Context, r record.Record) string {
	var open []record.Place
	for _, o := range trouble.Options(trouble.What(r), a.factsOf(ctx, r)) {
		if o.Open {
			open = append(open, o.As)
		}
	}
	return strings.Join(words(open), ", ")
}

// mayBoilAgain refuses scraps of a batch that may not go into a kettle: on hold, thrown
// away, closed for it by its trouble, or grained and not put down as dissolved.
func (a *App) mayBoilAgain(ctx context.Context, r record.Record) error {
	place, what := r.Place(), trouble.What(r)
	refuse := func(why, hint string) error {
		return fault.Invalid("nothing of batch %s is cooked back: %s", r.ID, why).At("cooked_back.from").WithHint("%s", hint)
	}
	switch o, ok := trouble.Allowed(trouble.Options(what, a.factsOf(ctx, r)), record.Reboiled); {
	case ok && !o.Open:
		return refuse(o.Why, "it goes the way its trouble leaves open")
	case place.As == record.Binned:
		return refuse("it is thrown away", "look at the number on the tub again")
	case place.As == record.OnHold:
		return refuse(cmp.Or(place.Why, "on hold"), "somebody who may decide looks at it first")
	case slices.Contains(what, record.DidGrain) && place.As != record.Reboiled:
		return refuse("it grained, and grain is catching", "dissolve it in water to a clear syrup, and have it put down as boiled again on its trouble page")
	}
	return nil
}

// Washed writes down that all was washed hot and wet that a batch left grain on, a
// surface an act, by whom.
func (a *App) Washed(ctx context.Context, batch, by, who string) error {
	return a.washed(ctx, batch, by, store.Meta{Person: who, At: a.now()})
}

func (a *App) washed(ctx context.Context, batch, by string, m store.Meta) error {
	b, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	r, err := a.recordFold(ctx, batch)
	if err != nil {
		return err
	}
	left, _ := trouble.Unwashed(r, roomSurfaces(&b))
	var list []record.Entry
	for _, s := range left {
		list = append(list, record.Entry{Batch: batch, Cleaned: &record.Cleaned{Surface: s, Kind: record.Washed, By: by}})
	}
	m.Reason = "hot wet wash after grain"
	return a.enterEach(ctx, list, m)
}

// TroubleOf returns what to do about a batch; NotFound if it has no record. What it leaves
// short of the day is waited for as long as the context lasts; without it a caution says
// so, for what to do now does not wait.
func (a *App) TroubleOf(ctx context.Context, batch string) (*TroubleResult, error) {
	slow := ctx
	ctx = context.WithoutCancel(ctx)
	b, head, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	res, err := a.Record(ctx, batch)
	if err != nil {
		return nil, err
	}
	if res.Begun == nil {
		return nil, fault.NotFound("the record of batch %s was taken back", batch).At("batch")
	}
	r := res.record
	place := r.Place()
	out := &TroubleResult{Batch: r.ID, On: res.On, Recipe: res.Recipe, Name: res.Name, Troubles: []TroubleLine{}, Now: []NowLines{}, Place: place.As, PlaceWhy: place.Why,
		Options: []PlaceOption{}, Causes: []CauseLine{}, OnHold: []HeldLine{}, Cautions: []Caution{}, Units: b.Shop.Units}
	keys := []source.Key{source.Practice}
	what := trouble.What(r)
	for _, k := range slices.Backward(r.All(record.Troubling)) {
		t := k.Troubled
		out.Troubles = append(out.Troubles, TroubleLine{k.Act, t.What, t.When, t.Note, k.Person})
		if !slices.ContainsFunc(out.Now, func(n NowLines) bool { return n.What == t.What }) {
			out.Now = append(out.Now, NowLines{t.What, trouble.Of(t.What).Now})
			keys = append(keys, trouble.Of(t.What).Keys...)
		}
	}
	for _, o := range trouble.Options(what, a.factsOf(ctx, r)) {
		out.Options = append(out.Options, PlaceOption{o.As, SayPlace(o.As), o.Open, o.Why, some(o.Reasons), string(o.Key)})
	}
	if left, by := trouble.Unwashed(r, roomSurfaces(&b)); len(left) > 0 {
		out.Wash = &WashDue{Why: trouble.Of(by).Lies, Left: left}
	}
	if err := a.causes(ctx, &b, res, what, out); err != nil {
		return nil, err
	}
	for _, c := range out.Causes {
		keys = append(keys, source.Key(c.Source))
	}
	if out.OnHold, err = a.onHold(ctx, &b); err != nil {
		return nil, err
	}
	out.lossOf(a.lossOf(slow, b, head, r))
	out.fixed(what)
	slices.Sort(keys)
	out.Sources = source.Strings(slices.Compact(keys)...)
	return out, nil
}

// lossOf fills in what a batch leaves short, or why that is not known.
func (r *TroubleResult) lossOf(l *Loss, err error) {
	if r.Day = l; err == nil {
		return
	}
	r.Day = nil
	code, why := codeNoLoss, "what it leaves short cannot be worked out: "
	if fault.KindOf(err) == fault.KindBusy {
		code, why = codeNotLook, ""
	}
	text, _ := fault.Said(err)
	r.Cautions = append(r.Cautions, Caution{Code: code, Text: why + text})
}

// fixed adds the cautions that stand beside trouble in their fixed wording.
func (r *TroubleResult) fixed(what []record.Trouble) {
	if len(what) == 0 {
		return
	}
	codes := []caution.Code{caution.HotSugar, caution.Burns, caution.RollsClean}
	for _, t := range what {
		switch t {
		case record.DidScorch, record.Stopped:
			codes = append(codes, caution.Presence, caution.Gas)
		case record.WrongStuff:
			codes = append(codes, caution.AllergenUnknown, caution.AllergenClean, caution.NotLegal)
		case record.Foreign:
			codes = append(codes, caution.ForeignBody, caution.BrassMagnet)
		}
	}
	for _, c := range codes {
		x := Caution{Code: string(c), Text: caution.Text(c)}
		if !slices.Contains(r.Cautions, x) {
			r.Cautions = append(r.Cautions, x)
		}
	}
}

// onHold lists the batches that are on hold, the newest first.
func (a *App) onHold(ctx context.Context, b *book.Book) ([]HeldLine, error) {
	list, err := a.keeper.Records(ctx, store.Find{Limit: mostRecords})
	if err != nil {
		return nil, err
	}
	out := []HeldLine{}
	for _, r := range list {
		if p := r.Place(); p.As == record.OnHold && r.Begun() != nil {
			out = append(out, HeldLine{r.ID, entry.NameOf(b, store.KindRecipe, r.Begun().Recipe), p.Why})
		}
	}
	return out, nil
}

// causes ranks what may have been the cause of each trouble.
func (a *App) causes(ctx context.Context, b *book.Book, res *RecordResult, what []record.Trouble, out *TroubleResult) error {
	if len(what) == 0 {
		return nil
	}
	e, err := a.evidenceOf(ctx, b, res)
	if err != nil {
		why, _ := fault.Said(err)
		out.Cautions = append(out.Cautions, Caution{Code: codeNoCauses, Text: "the causes rest on what is written alone, for what it was to be cannot be worked out: " + why})
	}
	for _, t := range slices.Backward(what) {
		for _, c := range trouble.Causes(t, e) {
			line := CauseLine{Trouble: c.Trouble, What: c.What, Look: c.Look, Evidence: []EvidenceLine{}, Score: c.Score, Source: string(c.Key)}
			for _, f := range c.Findings {
				line.Evidence = append(line.Evidence, EvidenceLine{f.Says, f.Weight})
			}
			out.Causes = append(out.Causes, line)
		}
	}
	return nil
}

// SayWash says what is washed and what is not yet written.
func (w *WashDue) SayWash() string {
	return fmt.Sprintf("Hot wet wash before the next flame: %s; %s.", strings.Join(words(w.Left), ", "), w.Why)
}

// Says is what is written that tells of a cause, for it or against it.
func (c CauseLine) Says() []string {
	if len(c.Evidence) == 0 {
		return []string{"nothing written down tells"}
	}
	var out []string
	for _, e := range c.Evidence {
		if e.Weight < 0 {
			out = append(out, "against it: "+e.Says)
		} else {
			out = append(out, e.Says)
		}
	}
	return out
}
