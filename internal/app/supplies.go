package app

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	ledger "slabside/internal/lot"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// Codes of the cautions of supplies.
const (
	codeSeveralGases = "several-gases" // nobody knows which boil burnt which
	codeNoPaper      = "no-declaration"
)

// SupplyReceipt is a delivery of packaging, gas or consumables, or the correction of one.
type SupplyReceipt struct {
	Lot         string // its number; empty: the next of the day
	On          string // day it came; empty: the number's, else today
	Supply      string // id
	Amount      int64  // in the unit of the supply
	Supplier    string // empty: the shop book's
	SupplierLot string
	BestBefore  string
	DeclaredOn  string // date of the declaration that came with it, that it may touch food
	Certificate string
	Note        string
	Waits       string // why it waits in quarantine
	Corrects    int64  // act of the delivery that is corrected; 0: none
	Whole       bool   // of a correction: what is empty is empty; else it stays as it was
}

// ReceiveSupply writes down a delivery and returns the number of its lot. What touches
// food and came without a declaration, while none is on file, waits in quarantine until
// somebody has looked.
//
// Faults: Invalid or NotFound, at the name of the field of the entry, for what cannot be
// meant; Conflict if the number is taken.
func (a *App) ReceiveSupply(ctx context.Context, r SupplyReceipt, who, why string) (string, error) {
	b, _, err := a.Book(ctx)
	if err == nil && r.Corrects != 0 {
		err = a.asDelivered(ctx, &r)
	}
	if err != nil {
		return "", err
	}
	if r.On == "" && len(r.Lot) > len(time.DateOnly) {
		r.On = r.Lot[1 : 1+len(time.DateOnly)]
	}
	r.On = cmp.Or(r.On, a.Today(b))
	e, err := r.entry(&b, a.Today(b))
	if err != nil {
		return "", err
	}
	if r.Lot != "" {
		return r.Lot, a.WriteSupply(ctx, e, r.Corrects, who, why)
	}
	const tries = 5 // two tablets may take the same number in the same moment
	for i := 1; ; i++ {
		n, err := a.keeper.NextJot(ctx, store.SupplyJournal, r.On)
		if err == nil {
			e.Lot = fmt.Sprintf("s%s-%d", r.On, n)
			err = a.WriteSupply(ctx, e, 0, who, why)
		}
		if err == nil || i == tries || fault.KindOf(err) != fault.KindConflict {
			return e.Lot, err
		}
	}
}

// asDelivered fills in what a correction leaves as it was.
func (a *App) asDelivered(ctx context.Context, r *SupplyReceipt) error {
	kept, err := a.supplyKept(ctx, r.Lot)
	if err != nil {
		return err
	}
	for _, k := range kept {
		was := k.Entry.Received
		if was == nil || k.Act != r.Corrects {
			continue
		}
		r.Waits, r.On, r.Supply = was.Waits, cmp.Or(r.On, was.On), cmp.Or(r.Supply, was.Supply)
		if !r.Whole {
			r.Supplier, r.SupplierLot, r.BestBefore = cmp.Or(r.Supplier, was.Supplier), cmp.Or(r.SupplierLot, was.SupplierLot), cmp.Or(r.BestBefore, was.BestBefore)
			r.DeclaredOn, r.Certificate, r.Note = cmp.Or(r.DeclaredOn, was.DeclaredOn), cmp.Or(r.Certificate, was.Certificate), cmp.Or(r.Note, was.Note)
			r.Amount = cmp.Or(r.Amount, was.Amount)
		}
		return nil
	}
	return fault.NotFound("act %d received no lot %s", r.Corrects, r.Lot).At("corrects").WithHint("its ledger shows the act of each entry")
}

// entry is the delivery as it is written; what cannot be by the book is refused.
func (r SupplyReceipt) entry(b *book.Book, today string) (supply.Entry, error) {
	s, ok := b.Supply(r.Supply)
	switch {
	case !ok:
		return supply.Entry{}, fault.NotFound("no supply %q in the shop book", fault.Clip(r.Supply, fault.Echo)).At("received.supply").WithHint("put it into the shop book first")
	case r.On > today:
		return supply.Entry{}, fault.Invalid("%s is not there yet", fault.Clip(r.On, fault.Echo)).At("received.on").WithHint("write down what has come")
	case r.BestBefore != "" && r.BestBefore < r.On:
		return supply.Entry{}, fault.Invalid("it was past its date when it came").At("received.best_before").WithHint("look at the box again, or send it back")
	case r.DeclaredOn > today:
		return supply.Entry{}, fault.Invalid("%s is not there yet", fault.Clip(r.DeclaredOn, fault.Echo)).At("received.declared_on").WithHint("the date on the supplier's paper")
	}
	if s.Touches && s.DeclaredOn == "" && r.DeclaredOn == "" && r.Corrects == 0 {
		r.Waits = joined("; ", r.Waits, "no declaration is on file that it may touch food")
	}
	return supply.Entry{Lot: r.Lot, Received: &supply.Received{On: r.On, Supply: s.ID, Unit: s.In(), Amount: r.Amount, Supplier: cmp.Or(r.Supplier, s.Supplier), SupplierLot: r.SupplierLot,
		BestBefore: r.BestBefore, DeclaredOn: r.DeclaredOn, Certificate: r.Certificate, Note: r.Note, Waits: r.Waits}}, nil
}

// WriteSupply writes an entry to the ledger of a lot, corrects one, or takes one back.
// Faults are those of [supply.Follow]; Conflict too for a delivery that is taken back
// while bags were packed in it.
func (a *App) WriteSupply(ctx context.Context, e supply.Entry, corrects int64, who, why string) error {
	if err := e.Check(); err != nil {
		return err
	}
	if corrects != 0 && e.Kind() == "taken back" {
		l, err := a.supplyOf(ctx, e.Lot)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(l.Entries, func(k supply.Kept) bool { return k.Act == corrects && k.Entry.Received != nil }) && l.Packed > 0 {
			return fault.Conflict("bags were packed in lot %s", e.Lot).At("corrects").WithHint("correct its delivery; a lot that was opened stays in the book")
		}
	}
	_, err := store.Supplies().Enter(ctx, a.keeper, e, corrects, store.Meta{Person: who, At: a.now(), Reason: why})
	return err
}

// HoldSupply freezes a lot at once, and with it the bags that were packed in it; why may
// come later. A lot that is on hold stays so.
func (a *App) HoldSupply(ctx context.Context, id, why, who string) error {
	err := a.WriteSupply(ctx, supply.Entry{Lot: id, Placed: &supply.Placed{As: ledger.Hold, Why: why}}, 0, who, "")
	if fault.KindOf(err) != fault.KindConflict {
		return err
	}
	kept, err2 := a.supplyKept(ctx, id)
	if err2 == nil && supply.Fold(kept, nil).Status == ledger.Hold {
		return nil // somebody was quicker
	}
	return err
}

// supplyKept returns what is kept of a lot of a supply. NotFound if there is none.
func (a *App) supplyKept(ctx context.Context, id string) ([]supply.Kept, error) {
	if err := supply.CheckID(id); err != nil {
		return nil, err
	}
	found, err := store.Supplies().Find(ctx, a.keeper, store.FindJots{Subject: id, Limit: 1})
	if err == nil && len(found) == 0 {
		err = fault.NotFound("there is no lot %s", id).At("lot").WithHint("the stores list the lots that are there")
	}
	if err != nil {
		return nil, err
	}
	return found[0], nil
}

// supplyOf reads the ledger of a lot with what the packing took of it.
func (a *App) supplyOf(ctx context.Context, id string) (supply.Ledger, error) {
	kept, err := a.supplyKept(ctx, id)
	if err != nil {
		return supply.Ledger{}, err
	}
	took, err := a.takingsSince(ctx, dayOfID(id))
	if err != nil {
		return supply.Ledger{}, err
	}
	return supply.Fold(kept, took[id]), nil
}

// takingsSince is what the packing took of each lot from a day on: bags are of a lot of
// bags that was begun when the packaging was there.
func (a *App) takingsSince(ctx context.Context, day string) (map[string][]supply.Taking, error) {
	out := map[string][]supply.Taking{}
	found, err := store.Packing().Find(ctx, a.keeper, store.FindJots{From: day, Limit: mostTraced})
	if err != nil {
		return nil, err
	}
	for _, kept := range found {
		if !packing.IsBags(kept[0].Entry.Ledger) {
			continue
		}
		for _, o := range packing.FoldBags(kept).Opened() {
			out[o.Lot] = append(out[o.Lot], supply.Taking{Act: o.Act, First: o.First, At: o.At, Person: o.Person, Amount: o.Pieces, Into: kept[0].Entry.Ledger, Bags: o.Bags})
		}
	}
	return out, nil
}

// liveSupplies returns the lots that are there, or stopped, the first that goes out first.
func (a *App) liveSupplies(ctx context.Context) ([]supply.Ledger, error) {
	found, err := store.Supplies().Find(ctx, a.keeper, store.FindJots{Live: true, Limit: mostLots})
	if err != nil || len(found) == 0 {
		return nil, err
	}
	since := "9999-12-31"
	for _, kept := range found {
		since = min(since, dayOfID(kept[0].Entry.Lot))
	}
	took, err := a.takingsSince(ctx, since)
	if err != nil {
		return nil, err
	}
	var out []supply.Ledger
	for _, kept := range found {
		out = append(out, supply.Fold(kept, took[kept[0].Entry.Lot]))
	}
	slices.SortFunc(out, supply.FirstOut)
	return out, nil
}

// openedFor is what packaging of some lots goes with bags of a product: the pieces that
// the shop book says of each. A lot that is not usable is refused.
func (a *App) openedFor(ctx context.Context, b *book.Book, p bag.Product, bags int64, lots []string, field string) ([]packing.Opened, error) {
	var out []packing.Opened
	for i, id := range lots {
		if slices.Contains(lots[:i], id) {
			continue
		}
		kept, err := a.supplyKept(ctx, id)
		if err != nil {
			return nil, refield(err, field)
		}
		l := supply.Fold(kept, nil)
		if l.Receipt == nil {
			return nil, fault.NotFound("lot %s was taken back", id).At(field)
		}
		if l.Status != ledger.Usable {
			return nil, refield(l.Stopped(), field)
		}
		s, _ := b.Supply(l.Receipt.Supply)
		each := s.EachBag(p.ID, p.In)
		if each == 0 {
			return nil, fault.Invalid("lot %s is %s, which does not go with %s", id, cmp.Or(s.Name, l.Receipt.Supply), p.Name).At(field).WithHint("say in the shop book what it goes with, or take another lot")
		}
		out = append(out, packing.Opened{Supply: s.ID, Lot: id, Pieces: each * bags})
	}
	return out, nil
}

func refield(err error, field string) error {
	if f, ok := err.(*fault.Error); ok {
		return f.At(field)
	}
	return err
}

// OpenChoice is packaging that goes with a product, and the lots that may be opened.
type OpenChoice struct {
	Supply string       `json:"supply"`
	Name   string       `json:"name"`
	Each   int64        `json:"each"` // pieces with each bag
	Lots   []SupplyLine `json:"lots"` // that may be used, the one to take first: the last that was opened while something is left of it
}

// OpenFor returns the packaging that goes with a product, with the lots that may be
// opened. The one that was opened last for its bags comes first, since it is open; else
// the one that expires first. What never came in is left out: the shop keeps no lots of it.
//
// Faults: NotFound for a product that is not in the book.
func (a *App) OpenFor(ctx context.Context, product string) ([]OpenChoice, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	p, ok := b.Product(product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", fault.Clip(product, fault.Echo)).At("product")
	}
	out := []OpenChoice{}
	if !slices.ContainsFunc(b.Supplies, func(s supply.Supply) bool { return s.EachBag(p.ID, p.In) > 0 }) {
		return out, nil
	}
	list, err := a.liveSupplies(ctx)
	if err != nil {
		return nil, err
	}
	today := a.Today(b)
	for _, s := range b.Supplies {
		x := OpenChoice{Supply: s.ID, Name: s.Name, Each: s.EachBag(p.ID, p.In), Lots: []SupplyLine{}}
		if x.Each == 0 {
			continue
		}
		open, act := "", int64(0)
		for _, l := range list {
			if l.Receipt == nil || l.Receipt.Supply != s.ID || !l.Free() {
				continue
			}
			x.Lots = append(x.Lots, supplyLine(&b, l, today))
			for _, m := range l.Moves {
				if m.Taking != nil && m.Taking.First > act {
					open, act = l.ID, m.Taking.First
				}
			}
		}
		if len(x.Lots) == 0 { // of what never came in nobody keeps lots
			if came, err := store.Supplies().Find(ctx, a.keeper, store.FindJots{Of: s.ID, Limit: 1}); err != nil || len(came) == 0 {
				if err != nil {
					return nil, err
				}
				continue
			}
		}
		slices.SortStableFunc(x.Lots, func(y, z SupplyLine) int {
			rank := func(l SupplyLine) int {
				if l.Lot == open {
					return 0
				}
				return 1
			}
			return cmp.Compare(rank(y), rank(z))
		})
		out = append(out, x)
	}
	return out, nil
}

// SupplyLine is a lot of a supply as it stands; amounts are in its unit, pieces or
// milligrams.
type SupplyLine struct {
	Lot         string        `json:"lot"`
	Supply      string        `json:"supply"`
	Name        string        `json:"name"` // of the supply
	Kind        supply.Kind   `json:"kind"` // empty: the shop book has it no more
	Unit        supply.Unit   `json:"unit"`
	Supplier    string        `json:"supplier"`
	SupplierLot string        `json:"supplier_lot"`
	On          string        `json:"received_on"`
	BestBefore  string        `json:"best_before"` // empty: it has none
	DeclaredOn  string        `json:"declared_on"` // that it may touch food: with the lot, else on file; empty: neither
	Certificate string        `json:"certificate"`
	Note        string        `json:"note"`
	Status      ledger.Status `json:"status"`
	Why         string        `json:"why"`
	DaysLeft    *int          `json:"days_left"` // to its date, below zero past it; null without one
	Soon        bool          `json:"soon"`      // its date is near or past
	supply.Balance
	CountedOn string `json:"counted_on"` // day of the last count; empty: never
	Sure      int64  `json:"sure"`       // ± of that count; 0: not said
}

func supplyLine(b *book.Book, l supply.Ledger, today string) SupplyLine {
	x := SupplyLine{Lot: l.ID, Status: l.Status, Why: l.Why, Balance: l.Balance, Sure: l.Sure}
	if !l.Counted.IsZero() {
		x.CountedOn = l.Counted.In(zoneOf(b)).Format(time.DateOnly)
	}
	r := l.Receipt
	if r == nil {
		return x
	}
	s, _ := b.Supply(r.Supply)
	x.Supply, x.Name, x.Kind, x.Unit = r.Supply, entry.NameOf(b, store.KindSupply, r.Supply), s.Kind, r.Unit
	x.Supplier, x.SupplierLot, x.On, x.BestBefore = r.Supplier, r.SupplierLot, r.On, r.BestBefore
	x.DeclaredOn, x.Certificate, x.Note = cmp.Or(r.DeclaredOn, s.DeclaredOn), r.Certificate, r.Note
	if n, ok := daysTo(today, r.BestBefore); ok {
		x.DaysLeft, x.Soon = &n, n <= soonDays
	}
	return x
}

// SayAmount prints an amount of a ledger in the unit it is counted in.
func SayAmount(u q.Reader, unit supply.Unit, n int64) string {
	switch {
	case n < 0:
		return "−" + SayAmount(u, unit, -n)
	case unit == supply.ByMass:
		return u.Mass(kilograms(n))
	case n == 1:
		return "1 piece"
	}
	return fmt.Sprintf("%d pieces", n)
}

// SupplyResult is the whole ledger of a lot.
type SupplyResult struct {
	SupplyLine
	Entries []SupplyEntry `json:"entries"` // all of its own as they came, and what the packing took, in between
	Bags    []SupplyBags  `json:"bags"`    // lots of bags that were packed in it
	Frozen  int           `json:"frozen"`  // of them, that must not leave the house because of it
	Units   q.Reader      `json:"units"`
}

// SupplyEntry is an entry of a ledger, or what the packing took.
type SupplyEntry struct {
	supply.Kept
	Into        string `json:"into"`      // lot of bags, of what the packing took; empty: an entry of its own
	Taken       int64  `json:"taken"`     // by the packing
	Corrected   bool   `json:"corrected"` // by a later one
	Stands      bool   `json:"stands"`    // it counts
	Unaccounted int64  `json:"unaccounted"`
	OnHand      int64  `json:"on_hand"` // after it; 0 where it does not count
}

// SupplyBags is a lot of bags that was packed in a lot of packaging.
type SupplyBags struct {
	Lot    string `json:"lot"`
	Name   string `json:"name"` // of the product
	Pieces int64  `json:"pieces"`
	Bags   int64  `json:"bags"` // packed with it
	OnHand int64  `json:"on_hand"`
}

// SupplyLot returns the ledger of a lot of a supply. NotFound if there is none.
func (a *App) SupplyLot(ctx context.Context, id string) (*SupplyResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	l, err := a.supplyOf(ctx, id)
	if err != nil {
		return nil, err
	}
	out := &SupplyResult{SupplyLine: supplyLine(&b, l, a.Today(b)), Entries: []SupplyEntry{}, Bags: []SupplyBags{}, Units: b.Shop.Units}
	for _, k := range l.Entries {
		x := SupplyEntry{Kept: k, Corrected: slices.ContainsFunc(l.Entries, func(y supply.Kept) bool { return y.Corrects == k.Act })}
		for _, m := range l.Moves {
			if m.Act == k.Act && m.Taking == nil {
				x.Stands, x.Unaccounted, x.OnHand = true, m.Unaccounted, m.OnHand
			}
		}
		out.Entries = append(out.Entries, x)
	}
	for _, m := range l.Moves {
		if t := m.Taking; t != nil {
			out.Entries = append(out.Entries, SupplyEntry{Kept: supply.Kept{Entry: supply.Entry{Lot: id}, Act: t.Act, At: t.At, TakenIn: t.At, Person: t.Person}, Into: t.Into, Taken: t.Amount, Stands: true, Unaccounted: m.Unaccounted, OnHand: m.OnHand})
			if err := a.addBags(ctx, &b, out, *t); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(out.Entries, func(x, y SupplyEntry) int { return cmp.Compare(x.Act, y.Act) })
	if l.Stops() {
		out.Frozen = len(out.Bags)
	}
	return out, nil
}

// addBags adds what the packing took to the lot of bags it went with.
func (a *App) addBags(ctx context.Context, b *book.Book, out *SupplyResult, t supply.Taking) error {
	i := slices.IndexFunc(out.Bags, func(x SupplyBags) bool { return x.Lot == t.Into })
	if i < 0 {
		kept, err := a.lotKept(ctx, t.Into)
		if err != nil {
			return err
		}
		x := packing.FoldBags(kept)
		line := SupplyBags{Lot: t.Into, OnHand: x.OnHand}
		if x.Packed != nil {
			line.Name = entry.NameOf(b, store.KindProduct, x.Packed.Product)
		}
		i = len(out.Bags)
		out.Bags = append(out.Bags, line)
	}
	out.Bags[i].Pieces += t.Amount
	out.Bags[i].Bags += t.Bags
	return nil
}

// SaySupply says an entry in one line.
func SaySupply(u q.Reader, unit supply.Unit, e SupplyEntry) string {
	say := func(n int64) string { return SayAmount(u, unit, n) }
	switch x := e.Entry; {
	case e.Into != "":
		return say(e.Taken) + " packed with bags " + e.Into
	case x.Received != nil:
		text := joined(", ", "received "+say(x.Received.Amount)+" from "+x.Received.Supplier, x.Received.SupplierLot)
		if x.Received.Waits != "" {
			text += "; waits in quarantine: " + x.Received.Waits
		}
		return text
	case x.Placed != nil:
		word := map[ledger.Status]string{ledger.Usable: "released", ledger.Quarantine: "put in quarantine", ledger.Hold: "put on HOLD", ledger.Condemned: "condemned"}[x.Placed.As]
		return joined(": ", word, x.Placed.Why)
	case x.Used != nil:
		return joined(", ", "used "+say(x.Used.Amount), x.Used.For)
	case x.Wasted != nil:
		return "thrown away or sent back " + say(x.Wasted.Amount) + ": " + x.Wasted.Why
	case x.Counted != nil:
		text := "counted " + say(x.Counted.Found)
		if x.Counted.Sure > 0 {
			text += " ± " + say(x.Counted.Sure)
		}
		return text
	}
	return fmt.Sprintf("act %d taken back", e.Corrects)
}

// OpenList is the packaging that goes with a product.
type OpenList struct {
	Open []OpenChoice `json:"open"`
}
