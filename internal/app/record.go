package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"slabside/internal/batch"
	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/learn"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/store"
)

// Codes of the cautions of records.
const (
	codeNotRemade = "not-remade" // what a batch was to be is not known
	codeSetAside  = "set-aside"  // it teaches nothing
	codeBeyond    = "beyond"     // what was seen of it cannot be
)

// BeginRequest begins the record of a batch, or corrects how it was begun.
type BeginRequest struct {
	Batch    string      // its number; empty: the next of the day
	On       string      // making day; empty: the number's, else today
	Recipe   string      // id
	Charge   q.Kilograms // 0: a whole boil
	Kettle   string      // id; empty: the recipe's
	Glass    string      // id; empty: the day's
	Corrects int64       // act of the beginning that is corrected: what is empty stays as it was there; 0: none
}

// Begin begins the record of a batch by the book as it is now, and returns its number.
// A beginning is corrected by the book by which the batch was begun.
//
// Faults: Invalid or NotFound, at the name of the field, for what cannot be meant;
// Conflict if the batch is begun already.
func (a *App) Begin(ctx context.Context, r BeginRequest, who, why string) (string, error) {
	b, head, err := a.Book(ctx)
	if err == nil && r.Corrects != 0 {
		b, head, err = a.asBegun(ctx, &r)
	}
	if err != nil {
		return "", err
	}
	if r.On == "" && len(r.Batch) > len(time.DateOnly) {
		r.On = r.Batch[:len(time.DateOnly)]
	}
	r.On = cmp.Or(r.On, a.Today(b))
	if err := checkDate("on", r.On); err != nil {
		return "", err
	}
	if r.Batch == "" {
		if r.Batch, err = a.nextBatch(ctx, r.On); err != nil {
			return "", err
		}
	}
	begun, err := r.begun(&b)
	if err != nil {
		return "", err
	}
	begun.Book = int64(head)
	return r.Batch, a.Enter(ctx, record.Entry{Batch: r.Batch, Begun: &begun}, r.Corrects, who, why)
}

// asBegun fills in what a correction leaves as it was, and returns the book of then.
func (a *App) asBegun(ctx context.Context, r *BeginRequest) (book.Book, store.Head, error) {
	if err := record.CheckID(r.Batch); err != nil {
		return book.Book{}, 0, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: r.Batch, Limit: 1})
	if err != nil {
		return book.Book{}, 0, err
	}
	for _, x := range list {
		for _, k := range x.Entries {
			if was := k.Begun; was != nil && k.Act == r.Corrects {
				r.On, r.Recipe, r.Kettle, r.Glass = cmp.Or(r.On, was.On), cmp.Or(r.Recipe, was.Recipe), cmp.Or(r.Kettle, was.Kettle), cmp.Or(r.Glass, was.Glass)
				r.Charge = cmp.Or(r.Charge, q.Kilograms(float64(was.ChargeMg)/1e6))
				b, err := a.bookBegun(ctx, was.Book)
				return b, store.Head(was.Book), err
			}
		}
	}
	return book.Book{}, 0, fault.NotFound("act %d began no batch %s", r.Corrects, r.Batch).At("corrects").WithHint("its record shows the act of each entry")
}

// begun finds what is asked for in the book.
func (r BeginRequest) begun(b *book.Book) (record.Begun, error) {
	rec, ok := b.Recipe(r.Recipe)
	if !ok {
		return record.Begun{}, fault.NotFound("no recipe %q in the shop book", fault.Clip(r.Recipe, fault.Echo)).At("recipe")
	}
	kettle, err := kettleOf(b, rec)
	if r.Kettle != "" {
		if kettle, ok = b.Kettle(r.Kettle); !ok {
			return record.Begun{}, fault.NotFound("no kettle %q in the shop book", fault.Clip(r.Kettle, fault.Echo)).At("kettle")
		}
		err = nil
	}
	if err != nil {
		return record.Begun{}, err
	}
	glass, err := dayGlass(b)
	if r.Glass != "" {
		if glass, ok = byID(b.Glasses, r.Glass, func(g rig.Glass) string { return g.ID }); !ok {
			return record.Begun{}, fault.NotFound("no glass %q in the shop book", fault.Clip(r.Glass, fault.Echo)).At("glass")
		}
		err = nil
	}
	return record.Begun{On: r.On, Recipe: rec.ID, ChargeMg: cmp.Or(r.Charge, kettle.UsualCharge).Milligrams(), Kettle: kettle.ID, Glass: glass.ID}, err
}

// checkDate refuses what is no date, at the name of a field.
func checkDate(name, date string) error {
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return fault.Invalid("%q is no date", fault.Clip(date, fault.Echo)).At(name).WithHint("write it as 2026-11-28")
	}
	return nil
}

// canBoil refuses a batch that the kettle does not take.
func canBoil(b *book.Book, begun record.Begun) error {
	in, err := chainOf(b, begun)
	if err != nil {
		return err
	}
	bi, err := in.Boil()
	if err == nil {
		_, err = boil.Prepare(bi)
	}
	return err
}

// nextBatch is the next number of a day.
func (a *App) nextBatch(ctx context.Context, on string) (string, error) {
	last, err := a.keeper.Records(ctx, store.Find{From: on, To: on, Limit: 1})
	if err != nil {
		return "", err
	}
	n := 0
	for _, r := range last {
		n, _ = strconv.Atoi(r.ID[strings.LastIndexByte(r.ID, '-')+1:])
	}
	return fmt.Sprintf("%s-%d", on, n+1), nil
}

// RecordLine is a batch in a list of records.
type RecordLine struct {
	Batch    string   `json:"batch"`
	On       string   `json:"on"`
	Recipe   string   `json:"recipe"`
	Name     string   `json:"name"`
	ChargeKg q.Number `json:"charge_kg"`
	Seen     []string `json:"seen"`   // kinds of what is written down of it
	Marked   bool     `json:"marked"` // a check is answered no, or a thing was found

	Place record.Place `json:"place"` // what may be done with it
}

// RecordQuery says which records are looked for.
type RecordQuery struct {
	Recipe, From, To string
	Before           string // number of a batch: what comes after it in the list
	Limit            int
}

// RecordList is a page of records, the newest first.
type RecordList struct {
	Records []RecordLine `json:"records"`
	Next    string       `json:"next,omitempty"` // what to give as before for those that follow
}

// Records lists records.
func (a *App) Records(ctx context.Context, r RecordQuery) (RecordList, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return RecordList{}, err
	}
	if err := a.checkQuery(ctx, r); err != nil {
		return RecordList{}, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Recipe: r.Recipe, From: r.From, To: r.To, Before: r.Before, Limit: r.Limit + 1})
	if err != nil {
		return RecordList{}, err
	}
	if _, ok := b.Recipe(r.Recipe); len(list) == 0 && r.Recipe != "" && !ok { // one that was taken out has its records still
		return RecordList{}, fault.NotFound("no recipe %q in the shop book", fault.Clip(r.Recipe, fault.Echo)).At("recipe")
	}
	out := RecordList{Records: []RecordLine{}}
	for _, x := range list[:min(r.Limit, len(list))] {
		begun := x.Begun()
		line := RecordLine{Batch: x.ID, On: begun.On, Recipe: begun.Recipe, Name: entry.NameOf(&b, store.KindRecipe, begun.Recipe), ChargeKg: q.Number(kg(begun.ChargeMg)), Seen: []string{}, Marked: x.Marked(), Place: x.Place().As}
		for _, kind := range record.Kinds()[1:] {
			if _, ok := x.Stands(kind); ok {
				line.Seen = append(line.Seen, string(kind))
			}
		}
		out.Records = append(out.Records, line)
	}
	if len(list) > r.Limit {
		out.Next = list[r.Limit-1].ID
	}
	return out, nil
}

// mostRecords is how many records are listed at once.
const mostRecords = 500

// checkQuery refuses what cannot be looked for.
func (a *App) checkQuery(ctx context.Context, r RecordQuery) error {
	if r.Limit < 1 || r.Limit > mostRecords {
		return fault.Invalid("a list gives 1 to %d at once", mostRecords).At("limit")
	}
	for _, d := range []struct{ name, date string }{{"from", r.From}, {"to", r.To}} {
		if d.date == "" {
			continue
		}
		if err := checkDate(d.name, d.date); err != nil {
			return err
		}
	}
	if r.Before == "" {
		return nil
	}
	there, err := a.keeper.Records(ctx, store.Find{Batch: r.Before, Limit: 1})
	if err == nil && len(there) == 0 {
		return fault.Invalid("there is no batch %q to go on after", fault.Clip(r.Before, fault.Echo)).At("before").WithHint("begin the list again")
	}
	return err
}

// RecordResult is the record of one batch: what is written, what was planned, and what
// it must have become.
type RecordResult struct {
	Batch    string        `json:"batch"`
	On       string        `json:"on"`
	Recipe   string        `json:"recipe"`
	Name     string        `json:"name"`
	Begun    *record.Begun `json:"begun"` // null: it was taken back
	Entries  []EntryLine   `json:"entries"`
	Planned  *MadeFigures  `json:"planned"`      // by the book of that day and its models; null with a caution that says why
	Became   *MadeFigures  `json:"became"`       // by what was seen; null if nothing tells
	Seen     []SeenLine    `json:"seen"`         // beside what was to be expected
	Contains *LotsContain  `json:"contains"`     // by the lots that went in; null: nothing is weighed
	Before   *BeforeFlame  `json:"before_flame"` // null: the book of then does not say
	Made     []MadeLine    `json:"made"`         // beside what was planned; none without rolls
	Balance  *Balance      `json:"balance"`      // null: the sound pieces were not weighed
	Open     []record.Kind `json:"open"`         // what is usually written of a batch and is not of this
	Signed   *SignedOff    `json:"signed_off"`   // null: nobody has
	Rules    []RuleLine    `json:"rules"`        // what record rules ask, item by item
	Cautions []Caution     `json:"cautions"`
	Sources  []string      `json:"sources"`
	Units    q.Reader      `json:"units"`
	Kettle   string        `json:"kettle"` // name
	Glass    string        `json:"glass"`  // name
	record   record.Record
}

// SignedOff is who has signed a record, when, and how far it was read.
type SignedOff struct {
	By      string    `json:"by"`
	At      time.Time `json:"at"`
	Through int64     `json:"through_act"`
	Note    string    `json:"note,omitempty"`
	Later   int       `json:"entries_after"` // entries that nobody has signed
}

// RuleLine is an item of a record rule, and what this record has of it.
type RuleLine struct {
	Rule   string `json:"rule"`
	Asks   string `json:"asks"`
	Source string `json:"source"`
	Field  string `json:"field"` // empty: a batch's record does not cover it
	State  string `json:"state"` // written, not written, not covered
	Else   string `json:"else,omitempty"`
}

// What is usually written of every batch; the rest is written when it happens.
var usualKinds = []record.Kind{record.Checking, record.Lifting, record.Working, record.Making, record.Ending, record.Cleaning, record.Tasting}

// Record returns the record as it is folded.
func (r RecordResult) Record() record.Record { return r.record }

// RecordResultOf is a record with what is written in it and no figures yet.
func RecordResultOf(entries []record.Kept) *RecordResult {
	r := record.Fold(entries)
	out := &RecordResult{Batch: r.ID, Begun: r.Begun(), Entries: []EntryLine{}, Seen: []SeenLine{}, Made: []MadeLine{}, Open: []record.Kind{}, Rules: []RuleLine{},
		Cautions: []Caution{}, Sources: []string{}, record: r}
	later := 0
	for _, k := range entries {
		line := EntryLine{k, r.Corrected(k.Act), r.AfterSigning(k.Act)}
		if out.Entries = append(out.Entries, line); line.Unsigned {
			later++
		}
	}
	if out.Begun == nil {
		return out
	}
	if k, ok := r.Signed(); ok {
		out.Signed = &SignedOff{By: k.Person, At: k.At, Through: k.Entry.Signed.Through, Note: k.Entry.Signed.Note, Later: later}
	}
	for _, kind := range usualKinds {
		if _, ok := r.Stands(kind); !ok {
			out.Open = append(out.Open, kind)
		}
	}
	for _, x := range record.Rules() {
		out.Rules = append(out.Rules, ruleLine(x, r))
	}
	out.Cautions = append(out.Cautions, marksOf(r)...)
	return out
}

func ruleLine(x record.Rule, r record.Record) RuleLine {
	out := RuleLine{Rule: x.Law, Asks: x.Asks, Source: string(x.Source), Field: x.Field, State: "not covered", Else: x.Else}
	switch {
	case x.Written(r):
		out.State = "written"
	case x.Covers():
		out.State = "not written"
	}
	return out
}

// EntryLine is an entry of a record.
type EntryLine struct {
	record.Kept
	Corrected bool `json:"corrected"`     // by a later one
	Unsigned  bool `json:"after_signing"` // the sign-off that holds is older: nobody has signed it
}

// MadeFigures are what a batch is, or was to be.
type MadeFigures struct {
	ReadC     *q.Estimate `json:"read_c,omitempty"` // on the glass at the end
	WaterFrac *q.Estimate `json:"water_frac"`       // in the kettle at the lift
	StandsC   *q.Estimate `json:"stands_up_c"`
	FlameS    *q.Estimate `json:"flame_s,omitempty"`
}

// SeenLine is one thing that was seen of a batch.
type SeenLine struct {
	What   string     `json:"what"`
	Unit   string     `json:"unit"` // C, frac or s
	Seen   q.Number   `json:"seen"`
	Before q.Estimate `json:"expected_before"` // without records
	Now    q.Estimate `json:"expected_now"`    // with what they teach
}

// Record returns the record of a batch. NotFound if it has none.
func (a *App) Record(ctx context.Context, id string) (*RecordResult, error) {
	if err := record.CheckID(id); err != nil {
		return nil, err
	}
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	list, err := a.keeper.Records(ctx, store.Find{Batch: id, Limit: 1})
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return nil, fault.NotFound("batch %s has no record", id).At("batch").WithHint("begin one on its page, or with slabside begin")
	}
	out := RecordResultOf(list[0].Entries)
	if out.Units = b.Shop.Units; out.Begun == nil {
		return out, nil
	}
	out.On, out.Recipe, out.Name = out.Begun.On, out.Begun.Recipe, entry.NameOf(&b, store.KindRecipe, out.Begun.Recipe)
	out.Kettle, out.Glass = entry.NameOf(&b, store.KindKettle, out.Begun.Kettle), entry.NameOf(&b, store.KindGlass, out.Begun.Glass)
	if err := a.wentIn(ctx, out); err != nil {
		return nil, err
	}
	return out, a.became(ctx, &b, out)
}

// wentIn fills in what the batch contains by the lots that went in.
func (a *App) wentIn(ctx context.Context, out *RecordResult) error {
	if _, ok := out.record.Stands(record.Weighing); !ok {
		return nil
	}
	was, err := a.bookBegun(ctx, out.Begun.Book)
	if err != nil {
		return err
	}
	list, err := a.keeper.Lots(ctx, store.FindLots{Limit: mostLots})
	if err != nil {
		return err
	}
	c := lotsContain(&was, out.record, list)
	rec, _ := was.Recipe(out.Recipe)
	out.Contains, out.Cautions = &c, append(out.Cautions, c.cautions(was, rec)...)
	return nil
}

// became fills in what was planned and what became of it.
func (a *App) became(ctx context.Context, b *book.Book, out *RecordResult) error {
	l, err := a.lessons(ctx, b)
	if err != nil {
		return err
	}
	a.made.mu.Lock()
	made := a.madeOf(ctx, out.record)
	was, err := a.bookOf(ctx, store.Head(out.Begun.Book))
	a.made.mu.Unlock()
	if err != nil {
		return err
	}
	if err := a.looked(ctx, was, out); err != nil {
		return err
	}
	if made.err != nil {
		why, _ := fault.Said(made.err)
		out.Cautions = append(out.Cautions, Caution{Code: codeNotRemade, Text: "what it was to be cannot be worked out: " + why})
		return nil
	}
	in, err := chainOf(was, *out.Begun)
	if err != nil {
		return err
	}
	in.Ensemble, in.Units = numeric.NewEnsemble(planDraws, planSeed), b.Shop.Units
	whole, err := batch.Predict(in)
	if err != nil {
		return err
	}
	p := whole.Boil
	out.Made, out.Balance = madeLines(whole, out.record.Made()), balanceOf(was, in, whole, out.record.Lifted(), out.record.Made())
	out.Cautions = append(out.Cautions, balanceCautions(b.Shop.Units, out.Balance)...)
	out.Sources = source.Strings(source.ModelSugar, source.Practice)
	out.Planned = &MadeFigures{ReadC: &p.DialC, WaterFrac: &p.WaterFrac, StandsC: p.GlassC, FlameS: p.LitS}
	if got, ok := l.Became(made.batch); ok {
		out.Became = &MadeFigures{WaterFrac: &got.WaterFrac, StandsC: got.StandsC}
		if !got.WaterFrac.Spread() {
			out.Cautions = append(out.Cautions, Caution{Code: codeBeyond, Text: "what was seen of it tells of less or more water than a boil ever holds: the nearest that can be is shown; look for a slip of the pen"})
		}
	}
	for _, c := range l.Compare(made.batch) {
		out.Seen = append(out.Seen, SeenLine{What: string(c.What), Unit: unitOf(c.What), Seen: q.Number(c.Seen), Before: c.Before, Now: c.Now})
	}
	if slices.ContainsFunc(l.aside, func(x Aside) bool { return slices.Contains(x.Batches, out.Batch) }) {
		out.Cautions = append(out.Cautions, Caution{Code: codeSetAside, Text: "this batch teaches the room nothing: " + l.why(out.Batch)})
	}
	return nil
}

// looked fills in what is looked at before the flame, and what was cooked back brings.
func (a *App) looked(ctx context.Context, was *book.Book, out *RecordResult) (err error) {
	if out.Before, err = a.beforeFlame(ctx, was, out.record); err != nil {
		return err
	}
	list, err := a.cookedBackCautions(ctx, was, out.record)
	out.Cautions = append(out.Cautions, list...)
	return err
}

// unitOf is the unit in which a thing is seen.
func unitOf(w learn.What) string {
	switch w {
	case learn.Weighed, learn.Measured:
		return "frac"
	case learn.Burned:
		return "s"
	}
	return "C"
}

// why is why a batch is set aside.
func (l lessonsOf) why(id string) string {
	for _, x := range l.aside {
		if slices.Contains(x.Batches, id) {
			return x.Why
		}
	}
	return ""
}
