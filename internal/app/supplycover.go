package app

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"slabside/internal/book"
	"slabside/internal/fault"
	ledger "slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/store"
	"slabside/internal/supply"
)

// SuppliesResult is what there is of packaging, gas and consumables, in the order of the
// shop book, which is that of the walk along the shelves; JSON is the contract of the
// supplies command.
type SuppliesResult struct {
	On       string          `json:"on"`
	Shelves  []SupplyShelf   `json:"shelves"`
	Reorder  []SupplyReorder `json:"reorder"`
	Cautions []Caution       `json:"cautions"`
	Units    q.Reader        `json:"units"`
}

// SupplyShelf is one supply; amounts are in its unit, pieces or milligrams.
type SupplyShelf struct {
	Supply      string       `json:"supply"`
	Name        string       `json:"name"`
	Kind        supply.Kind  `json:"kind"`
	Unit        supply.Unit  `json:"unit"`
	Touches     bool         `json:"touches_food"`
	OnHand      int64        `json:"on_hand"`
	Free        int64        `json:"free"`        // of that, what may be used
	Unaccounted int64        `json:"unaccounted"` // of the lots that are there
	Least       int64        `json:"least"`       // at so much more is ordered; 0: not stated
	Used        float64      `json:"used"`        // of late; of a gas by its heat a part of a cylinder too
	UsedDays    int          `json:"used_days"`   // in so many days; 0: nothing is known
	UsedBy      string       `json:"used_by"`     // lots: what was packed and taken; counts: what counts found gone; boils: those begun; plan: those of the day; empty: nothing is known
	CoverDays   *q.Estimate  `json:"cover_days"`  // that what is free lasts at that rate; by the plan in days like that; null where nothing is known
	LeadDays    int          `json:"lead_days"`   // 0: not stated
	Lots        []SupplyLine `json:"lots"`        // those of which something is left, the first that goes out first
}

// SupplyReorder is a supply to be ordered, and why.
type SupplyReorder struct {
	Supply   string `json:"supply"`
	Name     string `json:"name"`
	Supplier string `json:"supplier"`
	Why      string `json:"why"`
}

// supplyDays is how far back use of supplies is looked at [d]: what is counted once a
// month shows in a quarter. (Judgement.)
const supplyDays = 91

// Supplies returns what there is on a day, empty for today. How long it lasts is told by
// what was packed and taken of the lots; of what nobody writes down, by what counts found
// gone; of gas whose heat is stated, by the boils that were begun, else by those of the
// day's plan.
//
// Faults: Invalid, at date, for what is no date.
func (a *App) Supplies(ctx context.Context, date string) (*SuppliesResult, error) {
	b, head, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	date = cmp.Or(date, a.Today(b))
	if err := checkDate("date", date); err != nil {
		return nil, err
	}
	out := &SuppliesResult{On: date, Shelves: []SupplyShelf{}, Reorder: []SupplyReorder{}, Cautions: []Caution{}, Units: b.Shop.Units}
	if len(b.Supplies) == 0 {
		return out, nil
	}
	live, err := a.liveSupplies(ctx)
	if err != nil {
		return nil, err
	}
	gone, err := a.goneSince(ctx, &b, date)
	if err != nil {
		return nil, err
	}
	heat, err := a.heatOf(ctx, &b, head, date, out)
	if err != nil {
		return nil, err
	}
	for _, s := range b.Supplies {
		out.shelf(&b, s, live, gone[s.ID], heat, date)
	}
	return out, nil
}

func (r *SuppliesResult) caution(code, format string, a ...any) {
	r.Cautions = append(r.Cautions, Caution{Code: code, Text: fmt.Sprintf(format, a...)})
}

func (r *SuppliesResult) shelf(b *book.Book, s supply.Supply, live []supply.Ledger, g gone, h heat, date string) {
	x := SupplyShelf{Supply: s.ID, Name: s.Name, Kind: s.Kind, Unit: s.In(), Touches: s.Touches, Least: s.Least(), LeadDays: s.LeadDays, Lots: []SupplyLine{}}
	for _, l := range live {
		if l.Receipt == nil || l.Receipt.Supply != s.ID || l.OnHand == 0 || l.Receipt.Unit != s.In() {
			continue
		}
		line := supplyLine(b, l, date)
		x.Lots = append(x.Lots, line)
		x.OnHand, x.Unaccounted = x.OnHand+l.OnHand, x.Unaccounted+l.Unaccounted
		if l.Free() {
			x.Free += l.OnHand
		}
		if line.DaysLeft != nil && *line.DaysLeft < 0 && l.Status == ledger.Usable {
			r.caution(codePast, "%s, lot %s, is past its best-before date: look at it before it is used", s.Name, l.ID)
		}
		if s.Touches && line.DeclaredOn == "" && l.Status == ledger.Usable {
			r.caution(codeNoPaper, "%s, lot %s, touches food, and no declaration is on file that it may", s.Name, l.ID)
		}
	}
	if !x.byHeat(s, h) {
		x.byLots(g)
	}
	r.Shelves = append(r.Shelves, x)
	if why := x.reorder(r.Units, g.ever); why != "" {
		r.Reorder = append(r.Reorder, SupplyReorder{s.ID, s.Name, s.Supplier, why})
	}
}

// byHeat tells how long a gas lasts by the boils; false if its heat is not stated or no
// boil tells.
func (x *SupplyShelf) byHeat(s supply.Supply, h heat) bool {
	used, ok := s.Burnt(h.kWh)
	if !ok {
		return false
	}
	if rate, known := ledger.RateOf(h.boils, used, float64(h.days)); known {
		x.UsedBy, x.Used, x.UsedDays = "boils", used, h.days
		x.CoverDays = lasts(x.Free, rate.Low, rate.Middle, rate.High)
		return true
	}
	low, _ := s.Burnt(h.day.Low)
	middle, _ := s.Burnt(h.day.Value)
	high, _ := s.Burnt(h.day.High)
	if low <= 0 {
		return false
	}
	x.UsedBy, x.Used, x.UsedDays = "plan", middle, 1
	x.CoverDays = lasts(x.Free, low, middle, high)
	return true
}

// byLots tells how long something lasts by what went of its lots.
func (x *SupplyShelf) byLots(g gone) {
	if rate, ok := ledger.RateOf(g.n, float64(g.amount), float64(g.days)); ok {
		x.UsedBy, x.Used, x.UsedDays = g.by, float64(g.amount), g.days
		x.CoverDays = lasts(x.Free, rate.Low, rate.Middle, rate.High)
	}
}

// lasts is how long so much lasts at a rate a day.
func lasts(free int64, low, middle, high float64) *q.Estimate {
	f := float64(free)
	e := &q.Estimate{Value: f / middle, Low: f / high, High: f / low, Basis: q.Estimated}
	if free == 0 {
		e.Basis = q.Exact
	}
	return e
}

// reorder says why a supply is to be ordered; empty: it is not. Of what never came in
// nobody knows what there is.
func (x SupplyShelf) reorder(u q.Reader, ever bool) string {
	switch c := x.CoverDays; {
	case !ever:
		return ""
	case x.Free == 0:
		return "nothing is left that may be used"
	case x.Least > 0 && x.Free <= x.Least:
		return fmt.Sprintf("%s may be used, and more is ordered at %s", SayAmount(u, x.Unit, x.Free), SayAmount(u, x.Unit, x.Least))
	case c != nil && x.LeadDays > 0 && c.Low <= float64(x.LeadDays):
		return fmt.Sprintf("it may be gone in %s d, and a delivery takes %d d", u.Number(c.Low, 0), x.LeadDays)
	}
	return ""
}

// gone is what went of a supply of late.
type gone struct {
	ever   bool // anything ever came in
	n      int  // times that something went
	amount int64
	by     string // lots, counts
	days   int
}

// goneSince finds what went of each supply in the quarter before a day: packed, taken,
// and what counts found missing; what they found too much is taken off again. Where only
// counts tell, it went until the last of them.
func (a *App) goneSince(ctx context.Context, b *book.Book, date string) (map[string]gone, error) {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return nil, fault.Invalid("%q is no date", fault.Clip(date, fault.Echo)).At("date")
	}
	from := day.AddDate(0, 0, 1-supplyDays).Format(time.DateOnly)
	found, err := store.Supplies().Find(ctx, a.keeper, store.FindJots{Limit: mostLots})
	if err != nil {
		return nil, err
	}
	since := from
	for _, kept := range found {
		since = min(since, dayOfID(kept[0].Entry.Lot))
	}
	took, err := a.takingsSince(ctx, since)
	if err != nil {
		return nil, err
	}
	zone := zoneOf(b)
	type span struct {
		gone
		first, counted string
		written        int
	}
	spans := map[string]*span{}
	for _, kept := range found {
		l := supply.Fold(kept, took[kept[0].Entry.Lot])
		if l.Receipt == nil {
			continue
		}
		g := spans[l.Receipt.Supply]
		if g == nil {
			g = &span{first: date}
			spans[l.Receipt.Supply] = g
		}
		g.ever = true
		for _, m := range l.Moves {
			on := m.First.In(zone).Format(time.DateOnly)
			if m.Entry.Received != nil {
				on = min(on, m.Entry.Received.On) // written down after it came
			}
			if on > date {
				continue
			}
			if g.first = min(g.first, on); on < from {
				continue
			}
			switch {
			case m.Taking != nil:
				g.n, g.amount, g.written = g.n+1, g.amount+m.Taking.Amount, g.written+1
			case m.Entry.Used != nil:
				g.n, g.amount, g.written = g.n+1, g.amount+m.Entry.Used.Amount, g.written+1
			case m.Entry.Counted != nil:
				if g.counted = max(g.counted, on); m.Unaccounted > 0 {
					g.n++
				}
				g.amount += m.Unaccounted
			}
		}
	}
	out := map[string]gone{}
	for id, g := range spans {
		until := date
		if g.by = "lots"; g.written == 0 {
			g.by, until = "counts", cmp.Or(g.counted, date)
		}
		known, _ := daysTo(max(from, g.first), until)
		g.days = max(1, known+1)
		out[id] = g.gone
	}
	return out, nil
}

// heat is what the burners gave of late, and what they give on the day.
type heat struct {
	boils int
	kWh   float64 // of the boils begun
	days  int
	day   q.Estimate // of the plan's boils; zero: none
}

// heatOf finds what the boils burn, where there is a gas whose heat is stated.
func (a *App) heatOf(ctx context.Context, b *book.Book, head store.Head, date string, out *SuppliesResult) (heat, error) {
	gases := 0
	for _, s := range b.Supplies {
		if _, ok := s.Burnt(1); ok {
			gases++
		}
	}
	if gases == 0 {
		return heat{}, nil
	}
	if gases > 1 {
		out.caution(codeSeveralGases, "the shop book states the heat of %d gases: each is told as if all boils burnt it", gases)
	}
	use, err := a.useOf(ctx, b, date)
	if err != nil {
		return heat{}, err
	}
	h := heat{boils: use.burns, kWh: use.kWh, days: use.days}
	if h.boils > 0 {
		return h, nil
	}
	need, err := a.needsOf(ctx, *b, head, date)
	if err != nil {
		why, _ := fault.Said(err)
		out.caution(codeNeeds, "what the day burns cannot be worked out: %s", why)
	}
	h.day = need.kWh
	return h, nil
}
