package app

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	ledger "slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
)

// ReceiveRequest is a delivery, or the correction of one.
type ReceiveRequest struct {
	Lot         string // its number; empty: the next of the day
	On          string // day it came; empty: the number's, else today
	Ingredient  string // id
	Supplier    string
	SupplierLot string
	BestBefore  string
	Mass        q.Kilograms
	StatementOn string // date of the supplier's statement of what it may contain
	MayContain  []string
	Certificate string
	Note        string
	Waits       string // why it waits in quarantine
	Corrects    int64  // act of the delivery that is corrected; 0: none
	Whole       bool   // of a correction: what is empty is empty; else it stays as it was
}

// Receive writes down a delivery and returns the number of its lot. A lot whose
// supplier says that it may contain what the shop book does not say of the ingredient
// waits in quarantine until somebody has looked: plans and labels go by the book.
//
// Faults: Invalid or NotFound, at the name of the field of the entry, for what cannot be
// meant; Conflict if the number is taken.
func (a *App) Receive(ctx context.Context, r ReceiveRequest, who, why string) (string, error) {
	b, _, err := a.Book(ctx)
	if err == nil && r.Corrects != 0 {
		err = a.asReceived(ctx, &r)
	}
	if err != nil {
		return "", err
	}
	if r.On == "" && len(r.Lot) > len(time.DateOnly) {
		r.On = r.Lot[1 : 1+len(time.DateOnly)]
	}
	r.On = cmp.Or(r.On, a.Today(b))
	news, err := r.check(&b, a.Today(b))
	switch {
	case err != nil:
		return "", err
	case news != "" && r.Corrects == 0:
		r.Waits = joined("; ", r.Waits, news)
	case news != "": // put aside before it is written that it must be
		err := a.WriteLot(ctx, ledger.Entry{Lot: r.Lot, Placed: &ledger.Placed{As: ledger.Quarantine, Why: news}}, 0, who, why)
		if err != nil && fault.KindOf(err) != fault.KindConflict {
			return "", err
		}
	}
	if r.Lot != "" {
		return r.Lot, a.WriteLot(ctx, r.entry(), r.Corrects, who, why)
	}
	const tries = 5 // two tablets may take the same number in the same moment
	for i := 1; ; i++ {
		if r.Lot, err = a.keeper.NextLot(ctx, r.On); err == nil {
			err = a.WriteLot(ctx, r.entry(), 0, who, why)
		}
		if err == nil || i == tries || fault.KindOf(err) != fault.KindConflict {
			return r.Lot, err
		}
	}
}

// asReceived fills in what a correction leaves as it was.
func (a *App) asReceived(ctx context.Context, r *ReceiveRequest) error {
	l, err := a.ledgerOf(ctx, r.Lot)
	if err != nil {
		return err
	}
	for _, k := range l.Entries {
		was := k.Received
		if was == nil || k.Act != r.Corrects {
			continue
		}
		if was.Made != nil {
			return fault.Invalid("lot %s was made here and not delivered", r.Lot).At("corrects").WithHint("correct what it was made of, or take it back")
		}
		r.Waits, r.On = was.Waits, cmp.Or(r.On, was.On)
		if !r.Whole {
			r.Ingredient, r.Supplier, r.SupplierLot = cmp.Or(r.Ingredient, was.Ingredient), cmp.Or(r.Supplier, was.Supplier), cmp.Or(r.SupplierLot, was.SupplierLot)
			r.BestBefore, r.StatementOn = cmp.Or(r.BestBefore, was.BestBefore), cmp.Or(r.StatementOn, was.StatementOn)
			r.Certificate, r.Note = cmp.Or(r.Certificate, was.Certificate), cmp.Or(r.Note, was.Note)
			r.Mass = cmp.Or(r.Mass, kilograms(was.MassMg))
			if r.MayContain == nil {
				r.MayContain = was.MayContain
			}
		}
		return nil
	}
	return fault.NotFound("act %d received no lot %s", r.Corrects, r.Lot).At("corrects").WithHint("its ledger shows the act of each entry")
}

// listed are the lots that the shop book lists of ingredients of which nothing ever came
// into the stores, as deliveries. One of which the book does not say how much is there
// is left out.
func (a *App) listed(ctx context.Context, b *book.Book) ([]ReceiveRequest, error) {
	kept, err := a.keeper.Lots(ctx, store.FindLots{Limit: mostLots})
	if err != nil {
		return nil, err
	}
	var out []ReceiveRequest
	for _, in := range b.Ingredients {
		if slices.ContainsFunc(kept, func(l ledger.Ledger) bool { return l.Receipt.Ingredient == in.ID }) {
			continue
		}
		for _, l := range in.Lots {
			if l.Quantity <= 0 {
				continue
			}
			on := a.Today(*b)
			for _, date := range []string{l.Received, l.BestBefore} { // it came before it was past its date
				if date != "" {
					on = min(on, date)
				}
			}
			out = append(out, ReceiveRequest{On: on, Ingredient: in.ID, Supplier: l.Supplier, SupplierLot: l.Lot, BestBefore: l.BestBefore, Mass: l.Quantity, Note: "as the shop book listed it"})
		}
	}
	return out, nil
}

// ReceiveListed takes in what the shop book lists of ingredients of which nothing ever
// came into the stores, and returns the numbers of the lots. What is written when
// something fails stays, and is not listed again.
func (a *App) ReceiveListed(ctx context.Context, who string) ([]string, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	list, err := a.listed(ctx, &b)
	if err != nil {
		return nil, err
	}
	ids := []string{}
	for _, r := range list {
		id, err := a.Receive(ctx, r, who, "")
		if err != nil {
			return ids, err
		}
		ids = append(ids, id)
	}
	return ids, nil
}

func kilograms(mg int64) q.Kilograms { return q.Kilograms(float64(mg) / 1e6) }

// check refuses what cannot be by the book, and says what the book does not know of.
func (r ReceiveRequest) check(b *book.Book, today string) (news string, err error) {
	in, ok := b.Ingredient(r.Ingredient)
	if !ok {
		return "", fault.NotFound("no ingredient %q in the shop book", fault.Clip(r.Ingredient, fault.Echo)).At("received.ingredient").WithHint("put it into the shop book first")
	}
	if r.On > today {
		return "", fault.Invalid("%s is not there yet", fault.Clip(r.On, fault.Echo)).At("received.on").WithHint("write down what has come")
	}
	if r.BestBefore != "" && r.BestBefore < r.On {
		return "", fault.Invalid("it was past its date when it came").At("received.best_before").WithHint("look at the sack again, or send it back")
	}
	var unknown []string
	for _, w := range r.MayContain {
		switch {
		case !slices.Contains(ingredient.Allergens(), w):
			return "", fault.Invalid("%q is no allergen that is known here", fault.Clip(w, fault.Echo)).At("received.may_contain").WithHint("one of %s", strings.Join(ingredient.Allergens(), ", "))
		case !slices.Contains(in.Contains, w) && !slices.Contains(in.MayContain, w):
			unknown = append(unknown, w)
		}
	}
	if len(unknown) > 0 {
		news = fmt.Sprintf("its statement says %s, the shop book does not", Listed(unknown))
	}
	return news, nil
}

// joined joins the texts that are there.
func joined(with string, texts ...string) string {
	return strings.Join(slices.DeleteFunc(texts, func(s string) bool { return s == "" }), with)
}

func (r ReceiveRequest) entry() ledger.Entry {
	return ledger.Entry{Lot: r.Lot, Received: &ledger.Received{On: r.On, Ingredient: r.Ingredient, Supplier: r.Supplier, SupplierLot: r.SupplierLot, BestBefore: r.BestBefore,
		MassMg: r.Mass.Milligrams(), StatementOn: r.StatementOn, MayContain: r.MayContain, Certificate: r.Certificate, Note: r.Note, Waits: r.Waits}}
}

// WriteLot writes an entry to the ledger of a lot, corrects one, or takes one back.
// Faults are those of [ledger.Follow], and Invalid for what is no number of a batch.
func (a *App) WriteLot(ctx context.Context, e ledger.Entry, corrects int64, who, why string) error {
	if err := e.Check(); err != nil {
		return err
	}
	if u := e.Used; u != nil && u.Batch != "" {
		var f *fault.Error
		if err := record.CheckID(u.Batch); errors.As(err, &f) {
			return f.At("used.batch")
		}
	}
	if ids := takenBy(e); len(ids) > 0 && corrects == 0 {
		if err := a.mayTake(ctx, "lot", ids...); err != nil {
			return err
		}
	}
	_, err := a.keeper.EnterLot(ctx, e, corrects, store.Meta{Person: who, At: a.now(), Reason: why})
	return err
}

// HoldLot freezes a lot at once; why may come later. A lot that is on hold stays so.
func (a *App) HoldLot(ctx context.Context, id, why, who string) error {
	err := a.WriteLot(ctx, ledger.Entry{Lot: id, Placed: &ledger.Placed{As: ledger.Hold, Why: why}}, 0, who, "")
	if fault.KindOf(err) != fault.KindConflict {
		return err
	}
	l, err2 := a.ledgerOf(ctx, id)
	if err2 == nil && l.Status == ledger.Hold {
		return nil // somebody was quicker
	}
	return err
}

// mostLots is how many lots of which something is left are looked at.
const mostLots = 5000

func (a *App) ledgerOf(ctx context.Context, id string) (ledger.Ledger, error) {
	if err := ledger.CheckID(id); err != nil {
		return ledger.Ledger{}, err
	}
	list, err := a.keeper.Lots(ctx, store.FindLots{Lot: id, Limit: 1})
	if err == nil && len(list) == 0 {
		err = fault.NotFound("there is no lot %s", id).At("lot").WithHint("the stores list the lots that are there")
	}
	if err != nil {
		return ledger.Ledger{}, err
	}
	return list[0], nil
}

// withStores puts what the stores have in the place of the lots that the book lists, for
// the ingredients of which anything ever came into the stores: those that may be used,
// the first that expires first. What is on hold stands on no sheet.
func (a *App) withStores(ctx context.Context, b *book.Book) error {
	list, err := a.lotsNow(ctx, store.FindLots{Limit: mostLots})
	if err != nil || len(list) == 0 {
		return err
	}
	known, free := map[string]bool{}, map[string][]ingredient.Lot{}
	for _, l := range list {
		id := l.Receipt.Ingredient
		if known[id] = true; l.Free() && l.Receipt.Strength() == 1 { // a solution is weighed by its own sheet
			free[id] = append(free[id], ingredient.Lot{Lot: markOf(l), Supplier: l.Receipt.Supplier, Received: l.Receipt.On, BestBefore: l.Receipt.BestBefore, Quantity: kilograms(l.OnHandMg)})
		}
	}
	b.Ingredients = slices.Clone(b.Ingredients)
	for i, in := range b.Ingredients {
		if known[in.ID] {
			b.Ingredients[i].Lots = free[in.ID]
		}
	}
	return nil
}

// markOf is what stands on the sack: the supplier's mark and our number.
func markOf(l ledger.Ledger) string {
	if l.Receipt.SupplierLot == "" {
		return l.ID
	}
	return l.Receipt.SupplierLot + " (" + l.ID + ")"
}

// LotLine is a lot in the stores as it stands.
type LotLine struct {
	Lot         string        `json:"lot"`
	Ingredient  string        `json:"ingredient"`
	Name        string        `json:"name"` // of the ingredient
	Supplier    string        `json:"supplier"`
	SupplierLot string        `json:"supplier_lot"`
	On          string        `json:"received_on"`
	BestBefore  string        `json:"best_before"` // empty: it has none
	StatementOn string        `json:"statement_on"`
	MayContain  []string      `json:"may_contain"`
	Certificate string        `json:"certificate"`
	Note        string        `json:"note"`
	Status      ledger.Status `json:"status"`
	Why         string        `json:"why"`       // it is where it is
	Left        bool          `json:"left"`      // something is left of it
	DaysLeft    *int          `json:"days_left"` // to its date, below zero past it; null without one
	Soon        bool          `json:"soon"`      // its date is near or past
	ledger.Balance
	Made      *ledger.Made `json:"made"`       // in the house, out of other lots; null: it was delivered
	DoseMg    int64        `json:"dose_mg"`    // of the ingredient on hand: of a stock solution what is dissolved
	CountedOn string       `json:"counted_on"` // day of the last count; empty: never
	SureMg    int64        `json:"sure_mg"`    // ± of that count; 0: not said
}

// soonDays is how near a date is near [d]: what stands there a month is used up first
// (judgement: common practice, no source).
const soonDays = 30

func lotLine(b *book.Book, l ledger.Ledger, today string) LotLine {
	x := LotLine{Lot: l.ID, Status: l.Status, Why: l.Why, Balance: l.Balance, Left: l.OnHandMg > 0, SureMg: l.SureMg, MayContain: []string{}}
	if !l.Counted.IsZero() {
		x.CountedOn = l.Counted.In(zoneOf(b)).Format(time.DateOnly)
	}
	r := l.Receipt
	if r == nil {
		return x
	}
	x.Ingredient, x.Name = r.Ingredient, entry.NameOf(b, store.KindIngredient, r.Ingredient)
	x.Supplier, x.SupplierLot, x.On, x.BestBefore, x.StatementOn = r.Supplier, r.SupplierLot, r.On, r.BestBefore, r.StatementOn
	x.Made, x.DoseMg = r.Made, l.DoseMg()
	x.MayContain, x.Certificate, x.Note = append(x.MayContain, r.MayContain...), r.Certificate, r.Note
	if n, ok := daysTo(today, r.BestBefore); ok {
		x.DaysLeft, x.Soon = &n, n <= soonDays
	}
	return x
}

// zoneOf is the book's time zone.
func zoneOf(b *book.Book) *time.Location {
	zone, err := time.LoadLocation(b.Shop.TimeZone)
	if err != nil {
		return time.UTC
	}
	return zone
}

// daysTo counts the days from one date to another.
func daysTo(from, to string) (int, bool) {
	f, err1 := time.Parse(time.DateOnly, from)
	t, err2 := time.Parse(time.DateOnly, to)
	return int(t.Sub(f).Hours() / 24), errors.Join(err1, err2) == nil
}

// LotResult is the whole ledger of a lot.
type LotResult struct {
	LotLine
	Entries []LotEntry `json:"entries"` // all, as they came
	Frozen  string     `json:"frozen"`  // why it is on hold without being put there: what it is made of is; empty: it is not
	Units   q.Reader   `json:"units"`
}

// LotEntry is an entry of a ledger.
type LotEntry struct {
	ledger.Kept
	Corrected     bool  `json:"corrected"`      // by a later one
	Moved         bool  `json:"stands"`         // it counts
	UnaccountedMg int64 `json:"unaccounted_mg"` // that it brought to light
	OnHandMg      int64 `json:"on_hand_mg"`     // after it; 0 where it does not count
}

// Lot returns the ledger of a lot. NotFound if there is none.
func (a *App) Lot(ctx context.Context, id string) (*LotResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	l, err := a.ledgerOf(ctx, id)
	if err != nil {
		return nil, err
	}
	now, err := a.lotsNow(ctx, store.FindLots{Lot: id, Limit: 1})
	if err != nil {
		return nil, err
	}
	out := &LotResult{LotLine: lotLine(&b, now[0], a.Today(b)), Entries: []LotEntry{}, Units: b.Shop.Units}
	if now[0].Status != l.Status {
		out.Frozen = now[0].Why
	}
	for _, k := range l.Entries {
		x := LotEntry{Kept: k, Corrected: l.Corrected(k.Act)}
		for _, m := range l.Moves {
			if m.Act == k.Act {
				x.Moved, x.UnaccountedMg, x.OnHandMg = true, m.UnaccountedMg, m.OnHandMg
			}
		}
		out.Entries = append(out.Entries, x)
	}
	return out, nil
}
