package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	ledger "slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/scan"
	"slabside/internal/store"
)

// Codes of the cautions of the weigh-in.
const (
	codeNoLot    = "no-lot"    // something was weighed out of no named lot
	codeNoneLeft = "none-left" // nothing of an ingredient may be used
)

// WeighIn is the sheet of a batch as it is weighed: one thing after the other, out of
// which lot, and how far it has come.
type WeighIn struct {
	Batch    string        `json:"batch"`
	On       string        `json:"on"`
	Recipe   string        `json:"recipe"`
	Name     string        `json:"name"`
	Lines    []WeighInLine `json:"lines"`
	Next     int           `json:"next"`      // index of the first line that is open; -1: none is
	KettleMg int64         `json:"kettle_mg"` // weighed into the charge so far
	ChargeMg int64         `json:"charge_mg"` // when all of it is in
	Contains LotsContain   `json:"contains"`
	Cautions []Caution     `json:"cautions"`
	Units    q.Reader      `json:"units"`
	Seconds  []string      `json:"seconds"` // people of the room, who can look a second time
}

// The states of a line of the sheet.
const (
	LineOpen = "open" // nothing is weighed for it
	LinePart = "part" // some of it is
	LineDone = "done" // it is as the sheet says
	LineOver = "over" // more is weighed than the sheet says
)

// WeighInLine is a line of the sheet.
type WeighInLine struct {
	Ingredient string       `json:"ingredient"`
	Name       string       `json:"name"`
	Stage      string       `json:"stage"`   // empty: into the charge
	Portion    string       `json:"portion"` // empty: the whole boil
	TargetMg   int64        `json:"target_mg"`
	LowMg      int64        `json:"low_mg"`  // from here on it is as the sheet says
	HighMg     int64        `json:"high_mg"` // up to here
	DoneMg     int64        `json:"done_mg"`
	State      string       `json:"state"`
	Scale      string       `json:"scale"` // id; empty: none takes it
	ScaleName  string       `json:"scale_name"`
	StepMg     int64        `json:"step_mg"` // of the scale; 0: none is named
	Goes       int          `json:"goes"`    // weighings it takes
	Stock      string       `json:"stock"`   // how it is weighed where the scale is too coarse; empty: as it is
	Tap        bool         `json:"tap"`     // water, which has no lot
	Second     string       `json:"second"`  // why two people look at it; empty: one may
	Alike      bool         `json:"alike"`   // a white powder that another is easily taken for
	Lots       []WeighLot   `json:"lots"`    // that may be used, the one that goes out first first
	Stopped    []WeighLot   `json:"stopped"` // that must not be
	Kept       bool         `json:"kept"`    // something of it ever came into the stores
	Instead    []Substitute `json:"instead"` // what else there is of its kind
	Weighed    []WeighedOut `json:"weighed"`
}

// WeighLot is a lot that may be weighed from, or not.
type WeighLot struct {
	Lot        string        `json:"lot"`
	Mark       string        `json:"supplier_lot"`
	Supplier   string        `json:"supplier"`
	BestBefore string        `json:"best_before"`
	OnHandMg   int64         `json:"on_hand_mg"`
	Past       bool          `json:"past"`          // its date
	Strength   float64       `json:"strength_frac"` // of the ingredient in it; 1: as it came
	Carrier    string        `json:"carrier"`       // what it is dissolved in; empty: nothing
	WeighMg    int64         `json:"weigh_mg"`      // of it for what the line still wants; 0: nothing
	Packets    int           `json:"packets"`       // it was shared out in; 0: it was not
	PacketMg   int64         `json:"packet_mg"`     // of it in one, to the nearest; 0: it is in none
	Status     ledger.Status `json:"status"`
	Why        string        `json:"why"` // it is where it is
}

// WeighedOut is a weighing that stands.
type WeighedOut struct {
	Act    int64  `json:"act"`
	Person string `json:"person"`
	record.Weighed
}

// Substitute is another ingredient of the same kind, and what changes with it.
type Substitute struct {
	Ingredient string   `json:"ingredient"`
	Name       string   `json:"name"`
	FreeMg     int64    `json:"free_mg"`
	Changes    []string `json:"changes"` // none but the name on the label where it is empty
}

// WeighRequest is one weighing, or the correction of one.
type WeighRequest struct {
	Batch    string
	Weighed  record.Weighed
	Corrects int64 // act of the weighing that is corrected; 0: none
}

// lineShare is how near to the sheet a weighing into the charge is as the sheet says: a
// half per cent moves no figure of a boil by more than its range. A dose comes as near as
// the scale is asked to, see [boil.MostDoseError] (judgement: common practice, no source).
const lineShare = 0.005

// WeighInOf returns the sheet of a batch as it is weighed.
//
// Faults: NotFound for a batch that is not begun, and those of its boil.
func (a *App) WeighInOf(ctx context.Context, id string) (*WeighIn, error) {
	now, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	r, b, err := a.begunRecord(ctx, id)
	if err != nil {
		return nil, err
	}
	begun := r.Begun()
	p, err := preparedOf(&b, begun.Recipe, q.Kilograms(kg(begun.ChargeMg)))
	if err != nil {
		return nil, err
	}
	list, err := a.lotsNow(ctx, store.FindLots{Limit: mostLots})
	if err != nil {
		return nil, err
	}
	today := a.Today(now)
	out := &WeighIn{Batch: r.ID, On: begun.On, Recipe: begun.Recipe, Name: entry.NameOf(&b, store.KindRecipe, begun.Recipe), Lines: []WeighInLine{}, Next: -1, Cautions: []Caution{}, Units: now.Shop.Units, Seconds: []string{}}
	for _, h := range now.Hands {
		out.Seconds = append(out.Seconds, h.Name)
	}
	rec, _ := b.Recipe(begun.Recipe)
	for _, w := range p.Weighings {
		l := weighInLine(&b, w, list, today)
		l.Instead = substitutes(&now, rec, w.Ingredient, list)
		l.fill(r, w)
		if c, ok := carrierOf(now.Shop.Units, l, w, begun.ChargeMg); ok {
			out.Cautions = append(out.Cautions, c)
		}
		if out.Lines = append(out.Lines, l); out.Next < 0 && (l.State == LineOpen || l.State == LinePart) {
			out.Next = len(out.Lines) - 1
		}
		if l.Stage == "" {
			out.KettleMg += l.DoneMg
			out.ChargeMg += l.TargetMg
		}
		if !l.Tap && l.Kept && len(l.Lots) == 0 && l.State == LineOpen {
			out.Cautions = append(out.Cautions, Caution{Code: codeNoneLeft, Text: l.Name + ": nothing of it may be used; take in a delivery, have a lot released, or weigh another in its place and say why"})
		}
	}
	out.Contains = lotsContain(&b, r, list)
	out.Cautions = append(out.Cautions, out.Contains.cautions(b, rec)...)
	if slices.ContainsFunc(out.Lines, func(l WeighInLine) bool { return l.Alike }) {
		out.Cautions = append(out.Cautions, Caution{Code: string(caution.LookAlikes), Text: caution.Text(caution.LookAlikes)})
	}
	return out, nil
}

// begunRecord returns the record of a batch that is begun, and the book by which it was.
func (a *App) begunRecord(ctx context.Context, id string) (record.Record, book.Book, error) {
	r, err := a.recordOf(ctx, id)
	if err != nil {
		return record.Record{}, book.Book{}, err
	}
	b, err := a.bookBegun(ctx, r.Begun().Book)
	return r, b, err
}

// weighInLine is a line of the sheet with the lots that it may be weighed from.
func weighInLine(b *book.Book, w boil.Weighing, list []ledger.Ledger, today string) WeighInLine {
	in, _ := b.Ingredient(w.Ingredient)
	l := WeighInLine{Ingredient: w.Ingredient, Name: w.Name, Stage: string(w.Stage), Portion: w.Portion, TargetMg: w.Rounded.Milligrams(), Scale: w.Scale, StepMg: w.Resolution.Milligrams(), Goes: w.Goes,
		Tap: in.Kind == ingredient.Water, Second: secondLooks(in), Alike: in.WhitePowder(), Lots: []WeighLot{}, Stopped: []WeighLot{}, Weighed: []WeighedOut{}, Instead: []Substitute{}}
	share := lineShare
	if w.Stage != "" {
		share = boil.MostDoseError
	}
	half := max(int64(math.Round(share*float64(l.TargetMg))), l.StepMg)
	l.LowMg, l.HighMg = max(1, l.TargetMg-half), l.TargetMg+half
	if s, ok := byID(b.Scales, w.Scale, func(s rig.Scale) string { return s.ID }); ok {
		l.ScaleName = s.Name
	}
	if st := w.Stock; st != nil {
		u := b.Shop.Units
		l.Stock = fmt.Sprintf("as a solution of %s in %s: weigh %s of it", u.Percent(st.Strength, 1), st.Carrier, u.Mass(st.Weigh))
	}
	for _, x := range list {
		if x.Receipt.Ingredient != w.Ingredient {
			continue
		}
		if l.Kept = true; !fitsStock(w, x) {
			continue
		}
		lot := WeighLot{Strength: x.Receipt.Strength(), Lot: x.ID, Mark: x.Receipt.SupplierLot, Supplier: x.Receipt.Supplier, BestBefore: x.Receipt.BestBefore, OnHandMg: x.OnHandMg, Past: x.Receipt.BestBefore != "" && x.Receipt.BestBefore < today, Status: x.Status, Why: x.Why}
		if m := x.Receipt.Made; m != nil {
			if lot.Carrier, lot.Packets = m.Carrier, m.Packets; m.Packets > 0 {
				lot.PacketMg = int64(math.Round(float64(x.Receipt.MassMg) / float64(m.Packets)))
			}
		}
		switch {
		case x.Free():
			l.Lots = append(l.Lots, lot)
		case x.Status != ledger.Usable && x.OnHandMg > 0:
			l.Stopped = append(l.Stopped, lot)
		}
	}
	if w.Stock != nil { // what the sheet proposes stands first
		slices.SortStableFunc(l.Lots, func(x, y WeighLot) int { return cmp.Compare(dissolved(y), dissolved(x)) })
	}
	return l
}

// dissolved is 1 for a stock solution, 0 for what is as it came.
func dissolved(l WeighLot) int {
	if l.Strength < 1 {
		return 1
	}
	return 0
}

// fill puts in what is weighed already.
func (l *WeighInLine) fill(r record.Record, w boil.Weighing) {
	for _, k := range r.All(record.Weighing) {
		if k.Weighed.Line() == lineOf(w) {
			l.DoneMg += k.Weighed.DoseMg()
			l.Weighed = append(l.Weighed, WeighedOut{k.Act, k.Person, *k.Weighed})
		}
	}
	for i, x := range l.Lots {
		target := l.TargetMg
		if x.Strength < 1 { // what the scale is too coarse for, a solution gives to the milligram
			target = w.Target.Milligrams()
		}
		l.Lots[i].WeighMg = int64(math.Round(float64(max(0, target-l.DoneMg)) / x.Strength))
	}
	switch {
	case l.DoneMg == 0:
		l.State = LineOpen
	case l.DoneMg < l.LowMg:
		l.State = LinePart
		if n := len(l.Weighed); l.Weighed[n-1].Why != "" {
			l.State = LineDone // short, and said why
		}
	case l.DoneMg > l.HighMg:
		l.State = LineOver
	default:
		l.State = LineDone
	}
}

func lineOf(w boil.Weighing) record.Line {
	return record.Line{Ingredient: w.Ingredient, Stage: string(w.Stage), Portion: w.Portion}
}

// secondLooks says why a second person looks at label and scale of an ingredient, empty
// where one may weigh it alone. What nobody has stated is not none.
func secondLooks(in ingredient.Ingredient) string {
	switch {
	case in.Kind == ingredient.Water:
		return ""
	case !in.Stated():
		return "nobody has stated what it may contain"
	case len(in.Contains) > 0:
		return "contains " + Listed(in.Contains)
	case len(in.MayContain) > 0:
		return "may contain " + Listed(in.MayContain)
	}
	return ""
}

// substitutes are the other ingredients of the same kind of which something may be used,
// and what changes with each. What goes by another name stands by it on the label.
func substitutes(b *book.Book, rec recipe.Recipe, id string, list []ledger.Ledger) []Substitute {
	out := []Substitute{}
	in, ok := b.Ingredient(id)
	if !ok || in.Kind == ingredient.Water {
		return out
	}
	contains, may, _ := b.AllergensOf(rec)
	for _, x := range b.Ingredients {
		if x.ID == id || x.Kind != in.Kind || x.Acid != in.Acid {
			continue
		}
		s := Substitute{Ingredient: x.ID, Name: x.Name, Changes: []string{}}
		for _, l := range list {
			if l.Receipt.Ingredient == x.ID && l.Free() {
				s.FreeMg += l.DoseMg()
			}
		}
		if s.FreeMg == 0 {
			continue
		}
		var new []string
		for _, w := range slices.Concat(x.Contains, x.MayContain) {
			if !slices.Contains(contains, w) && !slices.Contains(may, w) {
				new = append(new, w)
			}
		}
		if len(new) > 0 {
			s.Changes = append(s.Changes, "brings "+Listed(Once(new))+", which the label does not name")
		}
		if !x.Stated() {
			s.Changes = append(s.Changes, "nobody has stated what it may contain")
		}
		if math.Abs(float64(x.Solids-in.Solids)) > 0.005 {
			s.Changes = append(s.Changes, fmt.Sprintf("holds %s of dry matter instead of %s", q.Plain.Percent(x.Solids, 1), q.Plain.Percent(in.Solids, 1)))
		}
		if x.DE != in.DE {
			s.Changes = append(s.Changes, fmt.Sprintf("of DE %.4g instead of %.4g: the boil is another", x.DE, in.DE))
		}
		if x.Neutralised != in.Neutralised {
			s.Changes = append(s.Changes, "buffered otherwise: it sours and inverts otherwise")
		}
		out = append(out, s)
	}
	return out
}

// Weigh writes down a weighing, or corrects one. A mass that makes the line more than the
// sheet says, or one without a lot where the stores keep the ingredient, needs a reason.
//
// Faults are those of [App.MayEnter]: Invalid at weighed.lot for a lot of something else
// or none, at weighed.checked_by where a second person must look, at weighed.mass_mg for
// too much; Conflict for a lot that is on hold.
func (a *App) Weigh(ctx context.Context, r WeighRequest, who string) error {
	return a.Enter(ctx, record.Entry{Batch: r.Batch, Weighed: &r.Weighed}, r.Corrects, who, "")
}

// canWeigh refuses a weighing that is none of the sheet's.
func (a *App) canWeigh(ctx context.Context, b *book.Book, r record.Record, begun record.Begun, w record.Weighed, corrects int64, who string) error {
	now, _, err := a.Book(ctx)
	if err != nil {
		return err
	}
	in, ok := now.Ingredient(w.Ingredient)
	if !ok {
		in, ok = b.Ingredient(w.Ingredient)
	}
	if !ok {
		return fault.NotFound("no ingredient %q in the shop book", fault.Clip(w.Ingredient, fault.Echo)).At("weighed.ingredient")
	}
	if err := knownScale(b, w.Scale, "weighed.scale"); err != nil {
		return err
	}
	p, err := preparedOf(b, begun.Recipe, q.Kilograms(kg(begun.ChargeMg)))
	if err != nil {
		return err
	}
	at := slices.IndexFunc(p.Weighings, func(x boil.Weighing) bool { return lineOf(x) == w.Line() })
	if at < 0 {
		return fault.Invalid("the sheet of batch %s has no %s%s", r.ID, nameIn(&now, w.Line().Ingredient), intoSaid(w.Stage, w.Portion)).At("weighed.ingredient").
			WithHint("say in whose place it goes, or look at the pot again")
	}
	list, err := a.keeper.Lots(ctx, store.FindLots{Ingredient: w.Ingredient, Limit: mostLots})
	if err != nil {
		return err
	}
	if err := a.fromLot(ctx, &now, in, w, list); err != nil {
		return err
	}
	switch why := secondLooks(in); {
	case why != "" && w.Second == "":
		return fault.Invalid("two people look at %s: it %s", in.Name, why).At("weighed.checked_by").WithHint("the second reads the label of the pot and the scale, and is named")
	case w.Second != "" && strings.EqualFold(strings.TrimSpace(w.Second), strings.TrimSpace(who)):
		return fault.Invalid("%s cannot be the second person too", w.Second).At("weighed.checked_by").WithHint("name somebody else who has looked")
	}
	line := weighInLine(b, p.Weighings[at], nil, "")
	if i := slices.IndexFunc(list, func(l ledger.Ledger) bool { return l.ID == w.Lot }); i >= 0 {
		if err := refuseStock(p.Weighings[at], list[i]); err != nil {
			return err
		}
		was := func(k record.Kept) bool { return k.Act == corrects && k.Weighed.Lot == w.Lot }
		if !slices.ContainsFunc(r.All(record.Weighing), was) { // what has gone in is put right, whatever was stopped since
			if err := a.mayTake(ctx, "lot", w.Lot); err != nil {
				return err
			}
		}
	}
	total := w.DoseMg()
	for _, k := range r.All(record.Weighing) {
		if k.Act != corrects && k.Weighed.Line() == w.Line() {
			total += k.Weighed.DoseMg()
		}
	}
	if total > line.HighMg && strings.TrimSpace(w.Why) == "" {
		u := now.Shop.Units
		return fault.Invalid("that makes %s of %s, and the sheet says %s", u.Weight(q.Kilograms(kg(total)), q.Kilograms(kg(line.StepMg))), line.Name, u.Weight(q.Kilograms(kg(line.TargetMg)), q.Kilograms(kg(line.StepMg)))).At("weighed.mass_mg").
			WithHint("take some out and weigh again, or say why it is more")
	}
	return nil
}

// fromLot refuses a lot of something else, and none where there is one.
func (a *App) fromLot(ctx context.Context, b *book.Book, in ingredient.Ingredient, w record.Weighed, list []ledger.Ledger) error {
	if w.Lot == "" {
		if in.Kind == ingredient.Water || len(list) == 0 || strings.TrimSpace(w.Why) != "" {
			return nil
		}
		return fault.Invalid("it is not said out of which lot").At("weighed.lot").WithHint("scan the pot or pick its lot; if nobody can tell, say why")
	}
	if slices.ContainsFunc(list, func(l ledger.Ledger) bool { return l.ID == w.Lot }) {
		return nil
	}
	other, err := a.keeper.Lots(ctx, store.FindLots{Lot: w.Lot, Limit: 1})
	switch {
	case err != nil:
		return err
	case len(other) == 0 || other[0].Receipt == nil:
		return fault.NotFound("there is no lot %s", w.Lot).At("weighed.lot").WithHint("the stores list the lots that are there")
	}
	return fault.Invalid("lot %s is %s, not %s", w.Lot, nameIn(b, other[0].Receipt.Ingredient), in.Name).At("weighed.lot").WithHint("put it back and read the label of the pot")
}

func nameIn(b *book.Book, id string) string {
	return cmp.Or(entry.NameOf(b, store.KindIngredient, id), id)
}

// intoSaid says into what a line of the sheet goes, empty for the charge.
func intoSaid(stage, portion string) string {
	out := ""
	if stage != "" {
		out = " at the " + stage
	}
	if portion != "" {
		out += " for the " + portion + " portion"
	}
	return out
}

// Scanned is what a code on a pot is to a line of the sheet.
type Scanned struct {
	Right      bool   `json:"right"`
	Lot        string `json:"lot"`        // our number; empty: no lot is known by the code
	Ingredient string `json:"ingredient"` // of that lot
	Says       string `json:"says"`       // what it is, and what to do
}

// ScanFor reads a code off a pot for an ingredient of a sheet: the number of one of our
// lots, or the mark that its supplier gave it, bare or in a code of GS1's.
//
// Faults: Invalid for what cannot be read, see [scan.Read].
func (a *App) ScanFor(ctx context.Context, wanted, text string) (*Scanned, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	in, ok := b.Ingredient(wanted)
	if !ok {
		return nil, fault.NotFound("no ingredient %q in the shop book", fault.Clip(wanted, fault.Echo)).At("ingredient")
	}
	code, err := scan.Read(text)
	if err != nil {
		return nil, err
	}
	list, err := a.lotsNow(ctx, store.FindLots{Limit: mostLots})
	if err != nil {
		return nil, err
	}
	mark := cmp.Or(code.Lot, code.Text)
	var found []ledger.Ledger
	for _, l := range list {
		if strings.EqualFold(l.ID, code.Text) || l.Receipt.SupplierLot != "" && strings.EqualFold(l.Receipt.SupplierLot, mark) {
			found = append(found, l)
		}
	}
	if len(found) == 0 {
		return &Scanned{Says: fmt.Sprintf("No lot in the stores bears %s. Take it in first, or look for another pot.", fault.Clip(mark, fault.Echo))}, nil
	}
	slices.SortStableFunc(found, func(x, y ledger.Ledger) int { // of several with one mark, the one that is meant
		return cmp.Compare(rank(x, wanted), rank(y, wanted))
	})
	l := found[0]
	out := &Scanned{Lot: l.ID, Ingredient: l.Receipt.Ingredient}
	switch {
	case l.Receipt.Ingredient != wanted:
		out.Says = fmt.Sprintf("WRONG POT: that is %s, lot %s. The sheet asks for %s.", nameIn(&b, l.Receipt.Ingredient), l.ID, in.Name)
	case l.Status != ledger.Usable:
		out.Says = fmt.Sprintf("NOT THIS LOT: %s is %s%s. Put it aside.", l.ID, placeSaid(l.Status), whySaid(l.Why))
	default:
		out.Right = true
		out.Says = joined(", ", in.Name, solutionSaid(l.Receipt.Made), "lot "+l.ID)
		if best := l.Receipt.BestBefore; best != "" && best < a.Today(b) {
			out.Says += "; past its date " + best + ": look at it before it is used"
		}
		if i := slices.IndexFunc(list, func(x ledger.Ledger) bool {
			return x.Receipt.Ingredient == wanted && x.Free() && x.Receipt.Strength() == l.Receipt.Strength()
		}); i >= 0 && list[i].ID != l.ID {
			out.Says += "; lot " + markOf(list[i]) + " goes out first"
		}
	}
	return out, nil
}

// rank is how likely a lot is the one that is meant.
func rank(l ledger.Ledger, wanted string) int {
	n := 0
	if l.Receipt.Ingredient != wanted {
		n += 4
	}
	if l.Status != ledger.Usable {
		n += 2
	}
	if l.OnHandMg <= 0 {
		n++
	}
	return n
}

func placeSaid(s ledger.Status) string {
	switch s {
	case ledger.Hold:
		return "ON HOLD"
	case ledger.Quarantine:
		return "in quarantine"
	case ledger.Condemned:
		return "condemned"
	}
	return string(s)
}

func whySaid(why string) string {
	if why == "" {
		return ""
	}
	return " (" + why + ")"
}
