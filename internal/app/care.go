package app

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"slabside/internal/book"
	"slabside/internal/care"
	"slabside/internal/caution"
	"slabside/internal/fault"
	"slabside/internal/journal"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/source"
	"slabside/internal/store"
)

// CareResult is what is wrong in the room and what is due; JSON is the contract of the
// care command.
type CareResult struct {
	On       string      `json:"on"`     // day by which it is told what is due
	Faults   []CareFault `json:"faults"` // open ones, those that stop a thing first
	Due      []CareDue   `json:"due"`    // the most urgent first
	Offered  []CareOffer `json:"offered"`
	Cautions []Caution   `json:"cautions"`
	Units    q.Reader    `json:"units"`
}

// CareFault is a fault of a thing.
type CareFault struct {
	Thing care.Thing `json:"thing"`
	Name  string     `json:"name"` // of the thing
	Act   int64      `json:"act"`  // by which it is settled
	care.Found
	Person    string   `json:"person"`
	NeededBy  []string `json:"needed_by"`            // names of the recipes that are made on the thing, where it stops
	SettledOn string   `json:"settled_on,omitempty"` // day; empty: it is open
	SettledBy string   `json:"settled_by,omitempty"` // what was done, and by whom
}

// Urgency says how near something is due.
type Urgency string

// The urgencies, the most urgent first.
const (
	Overdue Urgency = "overdue"
	DueNow  Urgency = "due"
	Soon    Urgency = "soon"
	Later   Urgency = "later"
)

// Urgencies lists the urgencies.
func Urgencies() []Urgency { return []Urgency{Overdue, DueNow, Soon, Later} }

// careSoon is how near what is due is near [d, or batches] (judgement: common practice,
// no source).
const (
	careSoonDays    = 7
	careSoonBatches = 3
)

// CareDue is what is to be done to a thing.
type CareDue struct {
	Thing care.Thing `json:"thing"`
	Name  string     `json:"name"` // of the thing
	Act   int64      `json:"act"`
	What  string     `json:"what"`
	// EveryDays and EveryBatches say how often; both 0: once.
	EveryDays    int     `json:"every_days"`
	EveryBatches int     `json:"every_batches"`
	DoneOn       string  `json:"done_on"`      // day it was done last; empty: never since it is due
	On           string  `json:"due_on"`       // day; empty: by batches alone
	DaysLeft     *int    `json:"days_left"`    // below zero past it; null without a day
	BatchesLeft  *int    `json:"batches_left"` // below zero past it; null where it is not due by batches
	Urgency      Urgency `json:"urgency"`
}

// CareOffer is what the record of a batch says is wrong, and nobody has written down as a
// fault of the thing.
type CareOffer struct {
	Thing care.Thing   `json:"thing"`
	Name  string       `json:"name"`
	Batch string       `json:"batch"`
	On    string       `json:"on"`
	Kind  care.Trouble `json:"fault"`
	What  string       `json:"what"`
}

// CareThing is the whole ledger of a thing.
type CareThing struct {
	Thing    care.Thing  `json:"thing"`
	Name     string      `json:"name"`
	InBook   bool        `json:"in_book"` // it is in the shop book as it is now
	OutOfUse bool        `json:"out_of_use"`
	Faults   []CareFault `json:"faults"`
	Due      []CareDue   `json:"due"`
	Last     []CareLast  `json:"last"`
	Offered  []CareOffer `json:"offered"`
	Tested   string      `json:"metal_tested"` // by whom and when, of a kettle or rolls; empty: not, or it is of no such kind
	Entries  []CareEntry `json:"entries"`      // all, as they came
	Cautions []Caution   `json:"cautions"`
	Sources  []string    `json:"sources"`
	Units    q.Reader    `json:"units"`
}

// CareLast is the last of a kind of work.
type CareLast struct {
	care.Done
	Act int64 `json:"act"`
}

// CareEntry is an entry of a ledger.
type CareEntry struct {
	care.Kept
	Kind      string `json:"kind"`
	Corrected bool   `json:"corrected"` // by a later one
}

// mostCareBatches is how many batches are counted for what is due by them.
const mostCareBatches = 20_000

// Care returns what is wrong in the room and what is due on a day, empty for today.
// Faults: Invalid, at date, for what is no date.
func (a *App) Care(ctx context.Context, date string) (*CareResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	date = cmp.Or(date, a.Today(b))
	if err := checkDate("date", date); err != nil {
		return nil, err
	}
	list, err := a.careLedgers(ctx, store.FindJots{})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(x, y care.Ledger) int { return byThing(x.Thing, y.Thing) })
	out := &CareResult{On: date, Faults: []CareFault{}, Due: []CareDue{}, Cautions: []Caution{}, Units: b.Shop.Units}
	made, err := a.madeOn(ctx, list)
	if err != nil {
		return nil, err
	}
	for _, l := range list {
		if !inBook(&b, l.Thing) {
			continue // it was taken out of the book, and its ledger stays
		}
		for _, f := range l.Open() {
			out.Faults = append(out.Faults, careFault(&b, l.Thing, f))
		}
		out.Due = append(out.Due, duesOf(&b, l, date, made)...)
	}
	slices.SortStableFunc(out.Faults, func(x, y CareFault) int { return cmp.Or(-compare(x.Stops, y.Stops), cmp.Compare(x.On, y.On)) })
	slices.SortStableFunc(out.Due, byUrgency)
	if out.Offered, err = a.careOffered(ctx, &b, list, date); err != nil {
		return nil, err
	}
	var codes []caution.Caution
	if len(out.Faults)+len(out.Due) > 0 {
		codes = append(codes, caution.Of(caution.RollsClean), caution.Of(caution.WhoRepairs))
	}
	for _, f := range out.Faults {
		codes = append(codes, troubleCautions(f.Found)...)
	}
	out.Cautions = plainCautions(caution.Merge(codes))
	return out, nil
}

func compare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// byUrgency orders what is due: the most urgent first, what has a day before what has
// none, the earlier day and the fewer batches first.
func byUrgency(x, y CareDue) int {
	all := Urgencies()
	return cmp.Or(cmp.Compare(slices.Index(all, x.Urgency), slices.Index(all, y.Urgency)),
		cmp.Compare(cmp.Or(x.On, "9999"), cmp.Or(y.On, "9999")), cmp.Compare(left(x.BatchesLeft), left(y.BatchesLeft)))
}

func left(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

// plainCautions are fixed cautions as an answer carries them.
func plainCautions(list []caution.Caution) []Caution {
	out := []Caution{}
	for _, c := range list {
		out = append(out, Caution{Code: string(c.Code), Text: c.Text})
	}
	return out
}

// troubleCautions are those that go with a kind of fault.
func troubleCautions(f care.Found) []caution.Caution {
	switch f.Kind {
	case care.Guard:
		return []caution.Caution{caution.Of(caution.GuardOff)}
	case care.Stop:
		return []caution.Caution{caution.Of(caution.StopDead)}
	case care.Cracked, care.Chipped:
		return []caution.Caution{caution.Of(caution.RollsIntact)}
	case care.Metal:
		return []caution.Caution{caution.Of(caution.OldMetal)}
	}
	return nil
}

func careFault(b *book.Book, t care.Thing, f care.Fault) CareFault {
	out := CareFault{Thing: t, Name: thingName(b, t), Act: f.Act, Found: f.Found, Person: f.Person, NeededBy: []string{}}
	if f.Done != nil {
		out.SettledOn, out.SettledBy = f.Done.On, joined(", ", string(f.Done.Work), f.Done.By)
	} else if f.Stops {
		out.NeededBy = append(out.NeededBy, neededBy(b, t)...)
	}
	return out
}

// neededBy names the recipes that are made on a thing.
func neededBy(b *book.Book, t care.Thing) []string {
	var out []string
	glass, _ := b.DayGlass()
	for _, r := range b.Recipes {
		if k, err := kettleOf(b, r); err == nil && slices.Contains(needsThings(b, r, k.ID, glass.ID), t) {
			out = append(out, r.Name)
		}
	}
	return out
}

// duesOf lists what is due on a thing.
func duesOf(b *book.Book, l care.Ledger, today string, made func(care.Thing, string) int) []CareDue {
	out := []CareDue{}
	for _, d := range l.Duties {
		n := d.NextOf(today, func(since string) int { return made(l.Thing, since) })
		x := CareDue{Thing: l.Thing, Name: thingName(b, l.Thing), Act: d.Act, What: d.What, EveryDays: d.EveryDays, EveryBatches: d.EveryBatches, DoneOn: d.Done, On: n.On, Urgency: Later}
		near := false
		if n.On != "" {
			x.DaysLeft = &n.Days
			near = n.Days <= careSoonDays
		}
		if d.EveryBatches > 0 {
			x.BatchesLeft = &n.Batches
			near = near || n.Batches <= careSoonBatches
		}
		switch {
		case n.Over():
			x.Urgency = Overdue
		case n.Now():
			x.Urgency = DueNow
		case near:
			x.Urgency = Soon
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, byUrgency)
	return out
}

// madeOn returns how many batches were made on a thing after a day, of the things of which
// something is due by batches. Those of the day itself count for before: it is cared for
// after the last sheet.
func (a *App) madeOn(ctx context.Context, list []care.Ledger) (func(care.Thing, string) int, error) {
	first := ""
	for _, l := range list {
		for _, d := range l.Duties {
			if since := max(d.From, d.Done); d.EveryBatches > 0 && (first == "" || since < first) {
				first = since
			}
		}
	}
	days := map[care.Thing][]string{}
	if first == "" {
		return func(care.Thing, string) int { return 0 }, nil
	}
	for before, n, all := "", mostRecords, 0; n == mostRecords && all < mostCareBatches; all += n {
		found, err := a.keeper.Records(ctx, store.Find{From: first, Before: before, Limit: mostRecords})
		if err != nil {
			return nil, err
		}
		n = len(found)
		for _, r := range found {
			before = r.ID
			things, err := a.madeWith(ctx, r)
			if err != nil {
				return nil, err
			}
			for _, t := range things {
				days[t] = append(days[t], r.Begun().On)
			}
		}
	}
	return func(t care.Thing, since string) int {
		n := 0
		for _, on := range days[t] {
			if on > since {
				n++
			}
		}
		return n
	}, nil
}

// madeWith lists the things a batch was made on: those of its record and its recipe, and
// the bench, sieves and scales that every batch comes over.
func (a *App) madeWith(ctx context.Context, r record.Record) ([]care.Thing, error) {
	begun := r.Begun()
	if begun == nil {
		return nil, nil
	}
	b, err := a.bookBegun(ctx, begun.Book)
	if err != nil {
		return nil, err
	}
	rec, ok := b.Recipe(begun.Recipe)
	if !ok {
		return nil, nil
	}
	out := needsThings(&b, rec, begun.Kettle, begun.Glass)
	if x := dayBoard(&b); x != nil && rec.Rolls != "" {
		out = append(out, care.Thing{Kind: care.Board, ID: x.ID})
	}
	add := func(kind string, ids []string) {
		for _, id := range ids {
			out = append(out, care.Thing{Kind: kind, ID: id})
		}
	}
	add(care.Bench, idsOf(b.Benches, func(x rig.Bench) string { return x.ID }))
	add(care.Sieve, idsOf(b.Sieves, func(x rig.Sieve) string { return x.ID }))
	add(care.Scale, idsOf(b.Scales, func(x rig.Scale) string { return x.ID }))
	return out, nil
}

func idsOf[T any](list []T, id func(T) string) []string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = id(x)
	}
	return out
}

// offeredDays is how far back records are looked through for faults that nobody has
// written down [d].
const offeredDays = 28

// careOffered lists what the records of late say is wrong with rolls and machine. A fault
// of the thing that names the batch, or was found that day, answers it.
func (a *App) careOffered(ctx context.Context, b *book.Book, list []care.Ledger, today string) ([]CareOffer, error) {
	out := []CareOffer{}
	day, err := time.Parse(time.DateOnly, today)
	if err != nil {
		return out, nil
	}
	found, err := a.keeper.Records(ctx, store.Find{From: day.AddDate(0, 0, -offeredDays).Format(time.DateOnly), To: today, Limit: mostRecords})
	if err != nil {
		return nil, err
	}
	for _, r := range found {
		offers, err := a.offersOf(ctx, b, r)
		if err != nil {
			return nil, err
		}
		for _, o := range offers {
			if !answered(list, o) && inBook(b, o.Thing) && !slices.ContainsFunc(out, func(x CareOffer) bool { return x.Thing == o.Thing && x.Batch == o.Batch && x.Kind == o.Kind }) {
				out = append(out, o)
			}
		}
	}
	return out, nil
}

func answered(list []care.Ledger, o CareOffer) bool {
	for _, l := range list {
		if l.Thing != o.Thing {
			continue
		}
		return slices.ContainsFunc(l.Faults, func(f care.Fault) bool { return f.Batch == o.Batch || f.On == o.On && f.Kind == o.Kind })
	}
	return false
}

// offersOf lists what one record says is wrong.
func (a *App) offersOf(ctx context.Context, b *book.Book, r record.Record) ([]CareOffer, error) {
	refused, after := r.Checked().Refused(), r.After()
	afterNo := after != nil && after.Rolls == record.No
	if r.Begun() == nil || len(refused) == 0 && !afterNo {
		return nil, nil
	}
	was, err := a.bookBegun(ctx, r.Begun().Book)
	if err != nil {
		return nil, err
	}
	rec, ok := was.Recipe(r.Begun().Recipe)
	if !ok {
		return nil, nil
	}
	var out []CareOffer
	add := func(kind, id string, of care.Trouble, what string) {
		t := care.Thing{Kind: kind, ID: id}
		out = append(out, CareOffer{Thing: t, Name: thingName(b, t), Batch: r.ID, On: r.Begun().On, Kind: of, What: what})
	}
	if afterNo {
		add(care.Rolls, rec.Rolls, care.Chipped, "not whole after the last sheet")
	}
	machine := dayMachine(&was)
	for _, item := range refused {
		switch {
		case item == record.RollsWhole:
			add(care.Rolls, rec.Rolls, care.Chipped, "not whole before the flame")
		case machine == nil:
		case item == record.MachineSeated:
			add(care.Machine, machine.ID, care.Loose, "not seated and locked before the flame")
		case item == record.GuardsOn:
			add(care.Machine, machine.ID, care.Guard, "a guard was off before the flame")
		case item == record.StopWorks:
			add(care.Machine, machine.ID, care.Stop, "the stop did not work before the flame")
		}
	}
	return out, nil
}

// CareOf returns the ledger of a thing, an empty one of a thing of the book of which
// nothing was written. NotFound for what is neither in the book nor written of.
func (a *App) CareOf(ctx context.Context, t care.Thing) (*CareThing, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	l, err := a.careLedger(ctx, &b, t)
	if err != nil {
		return nil, err
	}
	out := &CareThing{Thing: t, Name: thingName(&b, t), InBook: inBook(&b, t), OutOfUse: l.OutOfUse(), Faults: []CareFault{}, Last: []CareLast{},
		Tested: metalTest(&b, t), Entries: []CareEntry{}, Units: b.Shop.Units}
	for _, f := range append(l.Open(), settledOf(l)...) {
		out.Faults = append(out.Faults, careFault(&b, t, f))
	}
	made, err := a.madeOn(ctx, []care.Ledger{l})
	if err != nil {
		return nil, err
	}
	out.Due = duesOf(&b, l, a.Today(b), made)
	for _, x := range l.Last {
		out.Last = append(out.Last, CareLast{x.Done, x.Act})
	}
	for _, k := range l.Entries {
		out.Entries = append(out.Entries, CareEntry{Kept: k, Kind: k.Entry.Kind(), Corrected: l.Corrected(k.Act)})
	}
	offered, err := a.careOffered(ctx, &b, []care.Ledger{l}, a.Today(b))
	if err != nil {
		return nil, err
	}
	out.Offered = slices.DeleteFunc(offered, func(o CareOffer) bool { return o.Thing != t })
	out.Cautions = plainCautions(thingCautions(&b, l))
	out.Sources = source.Strings(careSources(t)...)
	return out, nil
}

// settledOf lists the faults that are done with, the last first.
func settledOf(l care.Ledger) []care.Fault {
	out := slices.DeleteFunc(slices.Clone(l.Faults), func(f care.Fault) bool { return f.Done == nil })
	slices.Reverse(out)
	return out
}

// metalTest says by whom and when the metal of a kettle or rolls was tested.
func metalTest(b *book.Book, t care.Thing) string {
	test := rig.Test{}
	switch t.Kind {
	case care.Kettle:
		k, _ := b.Kettle(t.ID)
		test = k.Tested
	case care.Rolls:
		r, _ := b.RollsOf(t.ID)
		test = r.Tested
	}
	if !test.Done() {
		return ""
	}
	return test.By + ", " + longDay(test.On)
}

// thingCautions are those that go with the care of a thing, what stops it first.
func thingCautions(b *book.Book, l care.Ledger) []caution.Caution {
	var out []caution.Caution
	if l.OutOfUse() {
		out = append(out, caution.Of(caution.OutOfUse))
	}
	for _, f := range l.Open() {
		out = append(out, troubleCautions(f.Found)...)
	}
	switch l.Thing.Kind {
	case care.Machine:
		out = append(out, caution.Of(caution.RollsClean), caution.Of(caution.WhoRepairs), caution.Of(caution.AfterWork), caution.Of(caution.FoodOil), caution.Of(caution.Guards))
	case care.Rolls:
		r, _ := b.RollsOf(l.Thing.ID)
		out = append(out, caution.Of(caution.RollsClean), caution.Of(caution.WhoRepairs), caution.Of(caution.AfterWork), caution.Of(caution.FoodOil), caution.Of(caution.RepairMetal))
		out = append(out, metalCautions(r.Material, r.Tested)...)
	case care.Kettle:
		k, _ := b.Kettle(l.Thing.ID)
		out = append(out, caution.Of(caution.WhoRepairs), caution.Of(caution.RepairMetal), caution.Of(caution.Gas))
		out = append(out, metalCautions(k.Touches(), k.Tested)...)
	case care.Glass:
		out = append(out, caution.Of(caution.GlassBrittle), caution.Of(caution.HighCheck))
	case care.Scale:
		out = append(out, caution.Of(caution.TradeScale))
	default:
		out = append(out, caution.Of(caution.WhoRepairs))
	}
	return caution.Merge(out)
}

// metalCautions are those of a metal that sugar touches.
func metalCautions(m rig.Material, t rig.Test) []caution.Caution {
	var out []caution.Caution
	if m.AsksTest() && !t.Done() {
		out = append(out, caution.Of(caution.OldMetal))
	}
	if m.Bare() {
		out = append(out, caution.Of(caution.AcidOnCopper))
	}
	return out
}

// careSources are where the care of a thing is asked for: equipment kept so that it does
// not get into food, lubricants that may touch it, and the trade's own habit.
func careSources(t care.Thing) []source.Key {
	switch t.Kind {
	case care.Rolls, care.Machine:
		return []source.Key{source.CFR117, source.CFR178, source.Practice}
	case care.Kettle:
		return []source.Key{source.CFR117, source.Practice}
	}
	return []source.Key{source.Practice}
}

// careLedger returns what is kept of a thing.
func (a *App) careLedger(ctx context.Context, b *book.Book, t care.Thing) (care.Ledger, error) {
	if err := t.Check(); err != nil {
		return care.Ledger{}, err
	}
	list, err := a.careLedgers(ctx, store.FindJots{Subject: t.String()})
	switch {
	case err != nil:
		return care.Ledger{}, err
	case len(list) > 0:
		return list[0], nil
	case !inBook(b, t):
		return care.Ledger{}, fault.NotFound("there is no %s %q in the shop book", t.Kind, fault.Clip(t.ID, fault.Echo)).At("thing").WithHint("the boiling room lists what is there")
	}
	return care.Ledger{Thing: t}, nil
}

// WriteCare writes an entry to the ledger of a thing, corrects one, or takes one back.
// What is left empty is today, and the one who writes.
//
// Faults are those of [care.Follow]; NotFound for a thing that is not in the book, Invalid
// for a day that is to come.
func (a *App) WriteCare(ctx context.Context, e care.Entry, corrects int64, who, why string) error {
	e, _, err := a.mayCare(ctx, e, corrects, who)
	if err != nil {
		return err
	}
	_, err = store.Care().Enter(ctx, a.keeper, e, corrects, store.Meta{Person: who, At: a.now(), Reason: why})
	return err
}

// CareReleases reports whether an entry would let a thing that is out of use be used
// again, or do away with one of the faults that stop it. Faults are those of
// [App.WriteCare].
func (a *App) CareReleases(ctx context.Context, e care.Entry, corrects int64, who string) (bool, error) {
	e, l, err := a.mayCare(ctx, e, corrects, who)
	if err != nil {
		return false, err
	}
	return care.Releases(l.Entries, e, corrects), nil
}

// mayCare fills in what an entry leaves empty and refuses what cannot be written.
func (a *App) mayCare(ctx context.Context, e care.Entry, corrects int64, who string) (care.Entry, care.Ledger, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return e, care.Ledger{}, err
	}
	today := a.Today(b)
	e = filled(e, today, who)
	if err := e.Check(); err != nil {
		return e, care.Ledger{}, err
	}
	if e.Kind() != journal.Taking && corrects == 0 && !inBook(&b, e.Thing) {
		return e, care.Ledger{}, fault.NotFound("there is no %s %q in the shop book", e.Thing.Kind, fault.Clip(e.Thing.ID, fault.Echo)).At("thing").WithHint("the boiling room lists what is there")
	}
	if err := notToCome(e, today); err != nil {
		return e, care.Ledger{}, err
	}
	l, err := a.careLedger(ctx, &b, e.Thing)
	if err == nil {
		err = care.Follow(l.Entries, e, corrects)
	}
	return e, l, err
}

// filled puts in what is left empty.
func filled(e care.Entry, today, who string) care.Entry {
	switch {
	case e.Found != nil:
		f := *e.Found
		f.On = cmp.Or(f.On, today)
		e.Found = &f
	case e.Done != nil:
		d := *e.Done
		d.On, d.By = cmp.Or(d.On, today), cmp.Or(d.By, who)
		e.Done = &d
	case e.Due != nil && e.Due.EveryDays+e.Due.EveryBatches != 0:
		d := *e.Due
		d.From = cmp.Or(d.From, today)
		e.Due = &d
	}
	return e
}

// notToCome refuses what is written of a day to come, and what is no batch.
func notToCome(e care.Entry, today string) error {
	for _, x := range []struct {
		field, on string
	}{{"found.on", dayOf(e.Found, func(f care.Found) string { return f.On })}, {"done.on", dayOf(e.Done, func(d care.Done) string { return d.On })}, {"due.from", dayOf(e.Due, func(d care.Due) string { return d.From })}} {
		if x.on > today {
			return fault.Invalid("%s is not there yet", x.on).At(x.field).WithHint("write down what has been")
		}
	}
	if e.Found == nil || e.Found.Batch == "" {
		return nil
	}
	var f *fault.Error
	if err := record.CheckID(e.Found.Batch); errors.As(err, &f) {
		return f.At("found.batch")
	}
	return nil
}

func dayOf[T any](part *T, day func(T) string) string {
	if part == nil {
		return ""
	}
	return day(*part)
}

// SayCare says an entry in one line.
func SayCare(e care.Entry) string {
	switch {
	case e.Found != nil:
		text := SayTrouble(*e.Found)
		if e.Found.Stops {
			text += "; out of use"
		}
		return "found " + text
	case e.Done != nil:
		d := e.Done
		text := string(d.Work)
		if d.Work == care.OtherWork {
			text = "done"
		}
		if d.With != "" {
			text += " with " + d.With
			if d.FoodGrade {
				text += " (food-grade)"
			}
		}
		text = joined(", ", text+" by "+d.By, d.Note)
		if d.For != "" {
			text += "; was due: " + d.For
		}
		if d.Settles != 0 {
			text += fmt.Sprintf("; settles act %d", d.Settles)
		}
		return text
	case e.Due != nil && e.Due.Ends:
		return "due no more: " + e.Due.What
	case e.Due != nil:
		return "due " + Often(e.Due.EveryDays, e.Due.EveryBatches, e.Due.By) + ": " + e.Due.What
	}
	return "taken back"
}

// Often says how often something is due: "every 30 days or 40 batches".
func Often(days, batches int, by string) string {
	of := func(n int, one, many string) string {
		if n == 1 {
			return "every " + one
		}
		return fmt.Sprintf("every %d %s", n, many)
	}
	switch {
	case days > 0 && batches > 0:
		return of(days, "day", "days") + " or " + of(batches, "batch", "batches")
	case days > 0:
		return of(days, "day", "days")
	case batches > 0:
		return of(batches, "batch", "batches")
	}
	return "once, by " + longDay(by)
}
