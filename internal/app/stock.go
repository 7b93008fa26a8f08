package app

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	ledger "slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
	"slabside/internal/trace"
)

// codeStockCarrier is the code of the caution that a stock solution brought another mass
// of its carrier than the sheet counts on.
const codeStockCarrier = "stock-carrier"

// StockCarriers lists what stock solutions are made in.
func StockCarriers() []string { return boil.Carriers() }

// madeHere stands where the supplier of a delivery does.
const madeHere = "made here"

// MakeRequest is a stock solution, or packets weighed beforehand, made in the house out of
// lots of the stores; or the correction of one.
type MakeRequest struct {
	Lot         string // its number; empty: the next of the day
	On          string // day it was made; empty: the number's, else today
	Ingredient  string // id of what it is a solution of; empty: that of the first lot
	Of          []ledger.Part
	Carrier     string      // see [boil.Carriers]; empty: none, or that of the lots
	CarrierMass q.Kilograms // of it that has no lot; 0: what the strength asks for
	Strength    q.Fraction  // as meant, by mass; 0: as it was weighed
	Mass        q.Kilograms // that came out; 0: all that went in
	Packets     int         // it is shared out in; 0: it is not
	BestBefore  string      // empty: that of the lot that expires first, unless water is in it
	Note        string
	Corrects    int64 // act of the making that is corrected; 0: none
}

// Make writes down that a lot was made out of others, and returns its number: what was
// taken of each goes off its ledger in the same act. It is as strong as it was weighed,
// keeps no longer than the first of them that expires, and may contain all that they may.
//
// Faults: Invalid or NotFound, at the name of the field of the entry, for what cannot be
// meant; Conflict if the number is taken, or a lot is on hold or made out of one that is.
func (a *App) Make(ctx context.Context, r MakeRequest, who, why string) (string, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return "", err
	}
	if r.On == "" && len(r.Lot) > len(time.DateOnly) {
		r.On = r.Lot[1 : 1+len(time.DateOnly)]
	}
	today := a.Today(b)
	r.On = cmp.Or(r.On, today)
	if r.On > today {
		return "", fault.Invalid("%s is not there yet", fault.Clip(r.On, fault.Echo)).At("received.on").WithHint("write down what was made")
	}
	parts, err := a.partsOf(ctx, r.Of)
	if err != nil {
		return "", err
	}
	in, err := r.receipt(&b, parts)
	if err != nil {
		return "", err
	}
	if r.Corrects != 0 {
		l, err := a.ledgerOf(ctx, r.Lot)
		if err != nil {
			return "", err
		}
		for _, k := range l.Entries {
			if k.Act == r.Corrects && k.Received != nil {
				in.Waits = k.Received.Waits // a correction moves no lot
			}
		}
	}
	if r.Lot != "" {
		return r.Lot, a.WriteLot(ctx, ledger.Entry{Lot: r.Lot, Received: in}, r.Corrects, who, why)
	}
	const tries = 5 // two tablets may take the same number in the same moment
	for i := 1; ; i++ {
		next, err := a.keeper.NextLot(ctx, r.On)
		if err == nil {
			err = a.WriteLot(ctx, ledger.Entry{Lot: next, Received: in}, 0, who, why)
		}
		if err == nil || i == tries || fault.KindOf(err) != fault.KindConflict {
			return next, err
		}
	}
}

// partsOf are the ledgers of what a lot is made of.
func (a *App) partsOf(ctx context.Context, of []ledger.Part) ([]ledger.Ledger, error) {
	if len(of) == 0 {
		return nil, fault.Invalid("it is not said out of which lots").At("received.made.of").WithHint("name each lot and what was taken of it")
	}
	out := make([]ledger.Ledger, 0, len(of))
	for _, p := range of {
		if err := ledger.CheckID(p.Lot); err != nil {
			return nil, fault.Invalid("%q is no number of a lot", fault.Clip(p.Lot, fault.Echo)).At("received.made.of").WithHint("it is an r, a day and a number, as r2026-11-28-2")
		}
		l, err := a.ledgerOf(ctx, p.Lot)
		if err == nil && l.Receipt == nil {
			err = fault.NotFound("there is no lot %s", p.Lot)
		}
		if fault.KindOf(err) == fault.KindNotFound {
			return nil, fault.NotFound("there is no lot %s", p.Lot).At("received.made.of").WithHint("the stores list the lots that are there")
		}
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

// receipt works out what is made.
func (r MakeRequest) receipt(b *book.Book, parts []ledger.Ledger) (*ledger.Received, error) {
	id := cmp.Or(r.Ingredient, parts[0].Receipt.Ingredient)
	in, ok := b.Ingredient(id)
	if !ok {
		return nil, fault.NotFound("no ingredient %q in the shop book", fault.Clip(id, fault.Echo)).At("received.ingredient").WithHint("put it into the shop book first")
	}
	m := &ledger.Made{Of: r.Of, Carrier: r.Carrier, CarrierMg: r.CarrierMass.Milligrams(), Packets: r.Packets}
	dose, err := r.dissolve(b, in, m, parts)
	if err != nil {
		return nil, err
	}
	if err := r.strong(b, m, dose); err != nil {
		return nil, err
	}
	out := &ledger.Received{On: r.On, Ingredient: id, Supplier: madeHere, MassMg: m.InMg(), Note: r.Note, Made: m}
	if r.Mass != 0 {
		out.MassMg = r.Mass.Milligrams()
	}
	if m.LostMg = m.InMg() - out.MassMg; m.LostMg < 0 {
		u := b.Shop.Units
		return nil, fault.Invalid("%s came out of %s", u.Mass(r.Mass), u.Mass(kilograms(m.InMg()))).At("received.mass_mg").WithHint("write what was taken of each lot, and all of the carrier")
	}
	if err := r.keeps(out, parts); err != nil {
		return nil, err
	}
	return out, bears(b, in, out, parts)
}

// dissolve returns how much of the ingredient is in the parts [mg], and says in what it is
// dissolved. What is of another ingredient is the carrier.
func (r MakeRequest) dissolve(b *book.Book, in ingredient.Ingredient, m *ledger.Made, parts []ledger.Ledger) (dose float64, err error) {
	taken, others := int64(0), false
	for i, l := range parts {
		x := l.Receipt
		taken += r.Of[i].MassMg
		if x.Ingredient != in.ID {
			others = true
			continue
		}
		dose += x.Strength() * float64(r.Of[i].MassMg)
		if x.Made == nil || x.Made.Carrier == "" {
			continue
		}
		if m.Carrier = cmp.Or(m.Carrier, x.Made.Carrier); m.Carrier != x.Made.Carrier {
			return 0, fault.Invalid("lot %s is dissolved in %s, not in %s", l.ID, x.Made.Carrier, fault.Clip(m.Carrier, fault.Echo)).At("received.made.carrier").WithHint("make it of lots in one carrier")
		}
	}
	switch {
	case dose == 0:
		return 0, fault.Invalid("nothing of %s is in it", in.Name).At("received.made.of").WithHint("name a lot of it")
	case m.Carrier != "" && !slices.Contains(boil.Carriers(), m.Carrier):
		return 0, fault.Invalid("%q is no carrier of a stock solution", fault.Clip(m.Carrier, fault.Echo)).At("received.made.carrier").WithHint("%s", strings.Join(boil.Carriers(), ", "))
	case m.Carrier == "" && (others || m.CarrierMg != 0 || r.Strength != 0 && r.Strength != 1):
		return 0, fault.Invalid("it is not said what it is dissolved in").At("received.made.carrier").WithHint("%s", strings.Join(boil.Carriers(), ", "))
	case r.Strength < 0 || r.Strength > 1:
		return 0, fault.Invalid("a strength of %s is none", q.Plain.Percent(r.Strength, 1)).At("received.made.strength_frac").WithHint("more than 0 %% and at most 100 %%")
	case r.Strength > 0 && !others && m.CarrierMg == 0:
		m.CarrierMg = max(0, int64(math.Round(dose/float64(r.Strength)))-taken)
	}
	return dose, nil
}

// strong says how strong it is, and refuses what is not what was meant.
func (r MakeRequest) strong(b *book.Book, m *ledger.Made, dose float64) error {
	m.Strength = dose / float64(m.InMg())
	u := b.Shop.Units
	switch {
	case r.Strength > 0 && math.Abs(m.Strength/float64(r.Strength)-1) > boil.MostDoseError:
		return fault.Invalid("what was weighed makes %s, not %s", u.Percent(q.Fraction(m.Strength), 2), u.Percent(r.Strength, 2)).At("received.made.strength_frac").
			WithHint("weigh more of the one or the other, or leave the strength out: it is as strong as it was weighed")
	case m.Strength == 1 && m.Packets == 0:
		return fault.Invalid("it is neither dissolved nor shared out").At("received.made.carrier").WithHint("say in what it is dissolved, or in how many packets it is")
	}
	return nil
}

// keeps says until when it keeps. What was dissolved in water keeps less long than what
// was dry, and nobody but the maker knows how long.
func (r MakeRequest) keeps(out *ledger.Received, parts []ledger.Ledger) error {
	first := ""
	for _, l := range parts {
		if best := l.Receipt.BestBefore; best != "" && (first == "" || best < first) {
			first = best
		}
	}
	switch {
	case r.BestBefore != "":
		first = r.BestBefore
	case out.Made.Carrier == boil.Carriers()[0] && out.Made.CarrierMg > 0:
		return fault.Invalid("it is not said until when it keeps").At("received.best_before").WithHint("water in it lets things grow that the dry ingredient does not: give it days, keep it cold, and throw it away when it clouds or smells")
	}
	if out.BestBefore = first; first != "" && first < out.On {
		return fault.Invalid("it was past its date when it was made").At("received.best_before").WithHint("look at the lots it is made of")
	}
	return nil
}

// bears says what it may contain: all that its parts may, and what a carrier may by the
// shop book. What nobody has stated of one part is stated of none.
func bears(b *book.Book, in ingredient.Ingredient, out *ledger.Received, parts []ledger.Ledger) error {
	var own, all []string // of the ingredient's own lots, which were looked at when they came
	stated := out.Made.CarrierMg == 0 || out.Made.Carrier == boil.Carriers()[0]
	on := "9999-99-99"
	for _, l := range parts {
		x := l.Receipt
		all = append(all, x.MayContain...)
		if stated, on = stated && x.StatementOn != "", min(on, x.StatementOn); x.Ingredient == in.ID {
			own = append(own, x.MayContain...)
			continue
		}
		carrier, _ := b.Ingredient(x.Ingredient)
		for _, w := range carrier.Contains {
			if !slices.Contains(in.Contains, w) {
				return fault.Invalid("%s contains %s, and %s does not", carrier.Name, w, in.Name).At("received.made.of").WithHint("dissolve it in something else")
			}
		}
		all = append(all, carrier.MayContain...)
	}
	if out.MayContain = Once(all); stated {
		out.StatementOn = on
	}
	var news []string
	for _, w := range out.MayContain {
		if !slices.Contains(own, w) && !slices.Contains(in.Contains, w) && !slices.Contains(in.MayContain, w) {
			news = append(news, w)
		}
	}
	if len(news) > 0 {
		out.Waits = fmt.Sprintf("what it is dissolved in may contain %s, %s by the shop book does not", Listed(news), in.Name)
	}
	return nil
}

// lotsNow are the lots that are looked for, with those on hold that are made out of one
// that is stopped: a hold of a source freezes them.
func (a *App) lotsNow(ctx context.Context, f store.FindLots) ([]ledger.Ledger, error) {
	list, err := a.keeper.Lots(ctx, f)
	if err != nil {
		return nil, err
	}
	frozen, err := a.frozenLots(ctx)
	if err != nil {
		return nil, err
	}
	for i, l := range list {
		if why := frozen[l.ID]; why != "" && l.Status != ledger.Hold && l.Status != ledger.Condemned {
			list[i].Status, list[i].Why = ledger.Hold, why
		}
	}
	return list, nil
}

// frozenLots are the lots that something of a stopped one is in, each with why.
func (a *App) frozenLots(ctx context.Context) (map[string]string, error) {
	s, err := a.stopsNow(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for id, roots := range s.in {
		if h := s.lots[roots[0]]; ledger.CheckID(id) == nil {
			out[id] = "made of " + h.ID + ", which is " + stoppedWord(h.As) + whySaid(h.Why)
		}
	}
	return out, nil
}

// mayTake refuses to take anything of lots that are made out of a stopped one.
func (a *App) mayTake(ctx context.Context, field string, ids ...string) error {
	frozen, err := a.frozenLots(ctx)
	if err != nil {
		return err
	}
	for _, id := range ids {
		if why := frozen[id]; why != "" {
			return fault.Conflict("lot %s is %s", id, why).At(field).WithHint("take another lot; who may change the book looks at that one and releases it")
		}
	}
	return nil
}

// takenBy are the lots that an entry of a ledger takes something of.
func takenBy(e ledger.Entry) []string {
	switch {
	case e.Used != nil:
		return []string{e.Lot}
	case e.Received != nil && e.Received.Made != nil:
		var out []string
		for _, p := range e.Received.Made.Of {
			out = append(out, p.Lot)
		}
		return out
	}
	return nil
}

// madeEdges lead to lots from those that they are made of, and to those in turn; those of
// lots whose ledgers were read say so already.
func (a *App) madeEdges(ctx context.Context, ids []string, read map[string]bool) ([]trace.Edge, error) {
	var out []trace.Edge
	seen := map[string]bool{}
	for next := slices.Clone(ids); len(next) > 0; next = next[1:] {
		if id := next[0]; seen[id] || ledger.CheckID(id) != nil {
			continue
		}
		seen[next[0]] = true
		l, err := a.ledgerOf(ctx, next[0])
		if err != nil {
			return nil, err
		}
		if l.Receipt == nil || l.Receipt.Made == nil {
			continue
		}
		for _, p := range l.Receipt.Made.Of {
			if next = append(next, p.Lot); !read[p.Lot] {
				out = append(out, trace.Edge{From: p.Lot, To: l.ID, MassMg: p.MassMg})
			}
		}
	}
	return out, nil
}

// withStrength is an entry whose weighing says how strong the lot is that it is out of.
func (a *App) withStrength(ctx context.Context, e record.Entry) (record.Entry, error) {
	if e.Weighed == nil || e.Weighed.Lot == "" {
		return e, nil
	}
	list, err := a.keeper.Lots(ctx, store.FindLots{Lot: e.Weighed.Lot, Limit: 1})
	if err != nil || len(list) == 0 {
		return e, err // the keeper says so in its own words
	}
	w := *e.Weighed
	is := list[0].Receipt.Strength()
	if said := cmp.Or(w.Strength, is); said != is {
		return e, fault.Invalid("lot %s is of %s, not of %s", w.Lot, q.Plain.Percent(q.Fraction(is), 2), q.Plain.Percent(q.Fraction(said), 2)).At("weighed.strength_frac").WithHint("leave it out: it is that of the lot")
	}
	if w.Strength = is; is == 1 {
		w.Strength = 0
	}
	e.Weighed = &w
	return e, nil
}

// fitsStock reports whether a lot can be weighed for a line of the sheet: as it is, or as
// a solution where the sheet counts on one, in the carrier that it counts on.
func fitsStock(w boil.Weighing, l ledger.Ledger) bool {
	m := l.Receipt.Made
	return m == nil || m.Strength == 1 || w.Stock != nil && w.Stock.Carrier == m.Carrier
}

// refuseStock says why a lot is not weighed for a line.
func refuseStock(w boil.Weighing, l ledger.Ledger) error {
	if fitsStock(w, l) {
		return nil
	}
	err := fault.Invalid("lot %s is %s", l.ID, solutionSaid(l.Receipt.Made)).At("weighed.lot")
	if w.Stock == nil {
		return err.WithHint("the sheet has %s weighed as it is, and does not count on the %s", w.Name, l.Receipt.Made.Carrier)
	}
	return err.WithHint("the sheet counts on %s, not on %s", w.Stock.Carrier, l.Receipt.Made.Carrier)
}

// solutionSaid says what a stock solution is; nothing for what is as it came.
func solutionSaid(m *ledger.Made) string {
	if m == nil || m.Strength == 1 {
		return ""
	}
	return fmt.Sprintf("a solution of %s in %s", q.Plain.Percent(q.Fraction(m.Strength), 2), m.Carrier)
}

// carrierOf cautions where what was weighed for a line brought more or less of its carrier
// than the sheet counts on, by more than a half per cent of the charge: the kettle or the
// mass is wetter or drier than was worked out.
func carrierOf(u q.Reader, l WeighInLine, w boil.Weighing, chargeMg int64) (Caution, bool) {
	brought, any := int64(0), false
	for _, x := range l.Weighed {
		if x.Strength != 0 {
			brought, any = brought+x.MassMg-x.DoseMg(), true
		}
	}
	if !any || w.Stock == nil || l.State == LineOpen || l.State == LinePart {
		return Caution{}, false
	}
	counted := w.Stock.CarrierMass().Milligrams()
	if math.Abs(float64(brought-counted)) <= lineShare*float64(chargeMg) {
		return Caution{}, false
	}
	thanIs := "drier"
	if brought > counted {
		thanIs = "wetter"
	}
	return Caution{Code: codeStockCarrier, Text: fmt.Sprintf("%s brought %s of %s, and the sheet counts on %s: what it is weighed into is %s than was worked out", l.Name, u.Mass(kilograms(brought)), w.Stock.Carrier, u.Mass(kilograms(counted)), thanIs)}, true
}
