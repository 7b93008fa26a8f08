package app

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"

	"slabside/internal/boil"
	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	ledger "slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/store"
)

// Codes of the cautions of the stores.
const (
	codeNeeds   = "needs-unknown" // what the day needs could not be worked out
	codeUse     = "use-unknown"   // some batches do not tell what they used
	codePast    = "past-date"     // a lot is past its best-before date
	codeUnkept  = "stores-unkept" // of an ingredient nothing was ever received
	codeMostLot = "more-lots"     // not all lots were looked at
)

// StoresResult is what is in the stores, in the order of the shop book, which is that of
// the walk along the shelves; JSON is the contract of the stores command.
type StoresResult struct {
	On       string    `json:"on"` // day by which dates are told, and whose plan is looked at
	Shelves  []Shelf   `json:"shelves"`
	Short    []Short   `json:"short"`   // of what the day needs more of than may be used
	Reorder  []Reorder `json:"reorder"` // what is to be ordered
	Cautions []Caution `json:"cautions"`
	Units    q.Reader  `json:"units"`
	ShortMg  int64     `json:"short_mg"` // all of them together
	Listed   int       `json:"listed"`   // lots that only the shop book lists, of ingredients of which nothing ever came in
}

// Shelf is one ingredient in the stores. Of its stock solutions it counts what is dissolved.
type Shelf struct {
	Ingredient    string      `json:"ingredient"`
	Name          string      `json:"name"`
	OnHandMg      int64       `json:"on_hand_mg"`
	FreeMg        int64       `json:"free_mg"`        // of that, what may be used
	UnaccountedMg int64       `json:"unaccounted_mg"` // of the lots of which something is left
	NeededMg      int64       `json:"needed_mg"`      // for the day
	UsedMg        int64       `json:"used_mg"`        // of late
	UsedDays      int         `json:"used_days"`      // in so many days; 0: nothing is known
	UsedBy        string      `json:"used_by"`        // stores: by what was taken of lots; batches: by those begun; empty: nothing is known
	CoverDays     *q.Estimate `json:"cover_days"`     // that what is free lasts at that rate; null where nothing is known
	LeadDays      int         `json:"lead_days"`      // from the order to the shelf; 0: not stated
	Lots          []LotLine   `json:"lots"`           // those of which something is left, the first that goes out first
}

// Short is an ingredient of which the day needs more than may be used.
type Short struct {
	Ingredient string `json:"ingredient"`
	Name       string `json:"name"`
	NeededMg   int64  `json:"needed_mg"`
	FreeMg     int64  `json:"free_mg"`
	StoppedMg  int64  `json:"stopped_mg"` // on hand, but on hold, in quarantine or condemned
	ShortMg    int64  `json:"short_mg"`
	// Instead is what else there is of its kind that the law lets into the day's recipes,
	// and what changes with each: the name on the label always does.
	Instead []Substitute `json:"instead"`
}

// Reorder is an ingredient to be ordered, and why.
type Reorder struct {
	Ingredient string `json:"ingredient"`
	Name       string `json:"name"`
	Why        string `json:"why"`
}

// usedDays is how far back use is looked at [d]: four weeks of making days.
const usedDays = 28

// Stores returns what is in the stores on a day, empty for today, and what of it the day
// needs. Faults: Invalid, at date, for what is no date.
func (a *App) Stores(ctx context.Context, date string) (*StoresResult, error) {
	b, head, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	date = cmp.Or(date, a.Today(b))
	if err := checkDate("date", date); err != nil {
		return nil, err
	}
	list, err := a.lotsNow(ctx, store.FindLots{OnHand: true, Limit: mostLots + 1})
	if err != nil {
		return nil, err
	}
	out := &StoresResult{On: date, Shelves: []Shelf{}, Short: []Short{}, Reorder: []Reorder{}, Cautions: []Caution{}, Units: b.Shop.Units}
	if len(list) > mostLots {
		list = list[:mostLots]
		out.caution(codeMostLot, "there are more lots than are looked at: the first %d are", mostLots)
	}
	listed, err := a.listed(ctx, &b)
	if err != nil {
		return nil, err
	}
	out.Listed = len(listed)
	need, err := a.needsOf(ctx, b, head, date)
	if err != nil {
		why, _ := fault.Said(err)
		out.caution(codeNeeds, "what the day needs cannot be worked out: %s", why)
	}
	use, err := a.useOf(ctx, &b, date)
	if err != nil {
		return nil, err
	}
	if use.unclear > 0 {
		out.caution(codeUse, "%d of the batches of late do not tell what they used", use.unclear)
	}
	var unkept []string
	for _, in := range b.Ingredients {
		if in.Kind == ingredient.Water && !use.kept[in.ID] {
			continue // it comes from the tap
		}
		if out.shelf(&b, in, list, need.mg[in.ID], use, date); need.mg[in.ID] > 0 && !use.kept[in.ID] {
			unkept = append(unkept, in.Name)
		}
	}
	for i, s := range out.Short {
		out.Short[i].Instead = insteadOf(&b, need.of(s.Ingredient), s.Ingredient, list, date)
	}
	if len(unkept) > 0 {
		out.caution(codeUnkept, "%s: nothing was ever received, so that nobody knows whether it is enough", Listed(unkept))
	}
	return out, nil
}

func (r *StoresResult) caution(code, format string, a ...any) {
	r.Cautions = append(r.Cautions, Caution{Code: code, Text: fmt.Sprintf(format, a...)})
}

// shelf adds an ingredient to the list, and says what is short of it and to be ordered.
func (r *StoresResult) shelf(b *book.Book, in ingredient.Ingredient, list []ledger.Ledger, needed int64, use use, date string) {
	s := Shelf{Ingredient: in.ID, Name: in.Name, NeededMg: needed, LeadDays: in.LeadDays, Lots: []LotLine{}}
	for _, l := range list {
		if l.Receipt.Ingredient != in.ID {
			continue
		}
		x := lotLine(b, l, date)
		s.Lots = append(s.Lots, x)
		s.OnHandMg, s.UnaccountedMg = s.OnHandMg+x.DoseMg, s.UnaccountedMg+ledger.DoseMg(l.UnaccountedMg, l.Receipt.Strength())
		if l.Free() {
			s.FreeMg += x.DoseMg
		}
		if x.DaysLeft != nil && *x.DaysLeft < 0 && l.Status == ledger.Usable {
			r.caution(codePast, "%s, lot %s, is past its best-before date: look at it before it is used", in.Name, l.ID)
		}
	}
	kept := use.kept[in.ID]
	if kept {
		use.cover(&s)
	}
	r.Shelves = append(r.Shelves, s)
	if short := needed - s.FreeMg; short > 0 && kept {
		r.Short = append(r.Short, Short{in.ID, in.Name, needed, s.FreeMg, s.OnHandMg - s.FreeMg, short, []Substitute{}})
		r.ShortMg += short
	}
	if why := s.reorder(b.Shop.Units); kept && why != "" {
		r.Reorder = append(r.Reorder, Reorder{in.ID, in.Name, why})
	}
}

// reorder says why an ingredient is to be ordered; empty: it is not.
func (s Shelf) reorder(u q.Reader) string {
	switch c := s.CoverDays; {
	case s.NeededMg > s.FreeMg:
		return fmt.Sprintf("the day needs %s, and %s may be used", u.Mass(kilograms(s.NeededMg)), u.Mass(kilograms(s.FreeMg)))
	case c != nil && s.LeadDays > 0 && c.Low <= float64(s.LeadDays):
		return fmt.Sprintf("it may be gone in %s d, and a delivery takes %d d", u.Number(c.Low, 0), s.LeadDays)
	case s.FreeMg == 0 && s.UsedMg > 0:
		return "nothing is left that may be used"
	}
	return ""
}

// use is what was used of late.
type use struct {
	kept    map[string]bool // ingredients of which anything ever came in
	taken   map[string]*takings
	batches map[string]*takings
	first   string // day from which use is known
	days    int
	unclear int // batches that do not tell
	burns   int // batches that tell what they burnt
	kWh     float64
}

type takings struct {
	n  int
	mg int64
}

func (u use) add(to map[string]*takings, id string, mg int64) {
	if to[id] == nil {
		to[id] = &takings{}
	}
	to[id].n++
	to[id].mg += mg
}

// cover says how long what is free lasts.
func (u use) cover(s *Shelf) {
	t := u.taken[s.Ingredient]
	if s.UsedBy = "stores"; t == nil {
		t, s.UsedBy = u.batches[s.Ingredient], "batches"
	}
	if t == nil {
		s.UsedBy = ""
		return
	}
	s.UsedMg, s.UsedDays = t.mg, u.days
	rate, ok := ledger.RateOf(t.n, float64(t.mg), float64(u.days))
	if !ok {
		return
	}
	free := float64(s.FreeMg)
	s.CoverDays = &q.Estimate{Value: free / rate.Middle, Low: free / rate.High, High: free / rate.Low, Basis: q.Estimated}
	if s.FreeMg == 0 {
		s.CoverDays.Basis = q.Exact
	}
}

// useOf finds what was used in the four weeks before a day: by what was taken of lots,
// and by the batches that were begun. A shop that has written for fewer days is told by
// those.
func (a *App) useOf(ctx context.Context, b *book.Book, date string) (use, error) {
	u := use{kept: map[string]bool{}, taken: map[string]*takings{}, batches: map[string]*takings{}}
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return u, fault.Invalid("%q is no date", fault.Clip(date, fault.Echo)).At("date")
	}
	from := day.AddDate(0, 0, 1-usedDays).Format(time.DateOnly)
	zone := zoneOf(b)
	u.first = date
	all, err := a.keeper.Lots(ctx, store.FindLots{Limit: mostLots})
	if err != nil {
		return u, err
	}
	of := map[string]string{}
	for _, l := range all {
		of[l.ID] = l.Receipt.Ingredient
	}
	for _, l := range all {
		u.kept[l.Receipt.Ingredient] = true
		for _, m := range l.Moves {
			on := m.First.In(zone).Format(time.DateOnly)
			u.first = min(u.first, on)
			if m.Used == nil || on < from || on > date || of[m.Used.Into] == l.Receipt.Ingredient { // it is on the shelf still, dissolved
				continue
			}
			u.add(u.taken, l.Receipt.Ingredient, ledger.DoseMg(m.Used.MassMg, l.Receipt.Strength()))
		}
	}
	if err := a.begunSince(ctx, &u, from, date); err != nil {
		return u, err
	}
	known, _ := daysTo(max(from, u.first), date)
	u.days = known + 1
	return u, nil
}

// begunSince adds what the batches that were begun in some days were charged with.
func (a *App) begunSince(ctx context.Context, u *use, from, to string) error {
	list, err := a.keeper.Records(ctx, store.Find{From: from, To: to, Limit: mostRecords})
	if err != nil {
		return err
	}
	for _, r := range list {
		begun := r.Begun()
		u.first = min(u.first, begun.On)
		was, err := a.bookBegun(ctx, begun.Book)
		if err != nil {
			return err
		}
		p, err := preparedOf(&was, begun.Recipe, q.Kilograms(float64(begun.ChargeMg)/1e6))
		if err != nil {
			u.unclear++
			continue
		}
		for id, mg := range weighedIn(p.Weighings) {
			u.add(u.batches, id, mg)
		}
		if kWh, ok := p.GasKWh(); ok {
			u.burns, u.kWh = u.burns+1, u.kWh+kWh
		}
	}
	return nil
}

// preparedOf is what a charge of a recipe is weighed of.
func preparedOf(b *book.Book, id string, charge q.Kilograms) (*boil.Plan, error) {
	rec, ok := b.Recipe(id)
	if !ok {
		return nil, fault.NotFound("no recipe %q", fault.Clip(id, fault.Echo))
	}
	in, err := chain(b, nil, rec, charge)
	if err != nil {
		return nil, err
	}
	bi, err := in.Boil()
	if err != nil {
		return nil, err
	}
	return boil.Prepare(bi)
}

// weighedIn adds up weighings by ingredient [mg].
func weighedIn(list []boil.Weighing) map[string]int64 {
	out := map[string]int64{}
	for _, w := range list {
		out[w.Ingredient] += w.Rounded.Milligrams()
	}
	return out
}

// needs remembers what a day needs: it takes half a second to work out, and an act in
// the stores does not change it.
type needs struct {
	mu   sync.Mutex
	head store.Head // up to which it is known to hold
	date string
	book []byte // the lines and the book; acts of batches may change what boils come to
	day  dayNeeds
	err  error
}

// dayNeeds is what the boils of a day are weighed of.
type dayNeeds struct {
	mg      map[string]int64 // by ingredient
	recipes []recipe.Recipe  // that are boiled, once each
	kWh     q.Estimate       // of gas; the ranges added up, as if all were off together
}

// of are the recipes that want an ingredient.
func (d dayNeeds) of(id string) []recipe.Recipe {
	var out []recipe.Recipe
	for _, r := range d.recipes {
		if slices.Contains(r.Ingredients(), id) {
			out = append(out, r)
		}
	}
	return out
}

// needsOf returns what the boils of a day are weighed of, by ingredient [mg]: all that
// its lines need, whether the day is long enough or not.
func (a *App) needsOf(ctx context.Context, b book.Book, head store.Head, date string) (dayNeeds, error) {
	n := &a.needs
	n.mu.Lock()
	defer n.mu.Unlock()
	text, err := json.Marshal(b)
	if err != nil {
		return dayNeeds{}, fault.Internal(err, "the book could not be read")
	}
	same, err := a.storesAlone(ctx, n.head, head)
	if err != nil {
		return dayNeeds{}, err
	}
	if same && n.date == date && bytes.Equal(n.book, text) {
		n.head = head
		return n.day, n.err
	}
	n.day, n.err = a.workOutNeeds(ctx, b, date)
	n.head, n.date, n.book = head, date, text
	return n.day, n.err
}

// storesAlone reports whether nothing but acts of the stores and the packing lies between
// two states.
func (a *App) storesAlone(ctx context.Context, from, to store.Head) (bool, error) {
	const most = 500
	if from == to || from == 0 || to < from || to-from > most {
		return from == to && from != 0, nil
	}
	acts, err := a.keeper.Acts(ctx, int64(from), most)
	if fault.KindOf(err) == fault.KindNotFound {
		return false, nil // a file keeps none
	}
	return !slices.ContainsFunc(acts, func(x store.Act) bool { return x.Kind != store.ActLot && !isPacking(x) }), err
}

func (a *App) workOutNeeds(ctx context.Context, b book.Book, date string) (dayNeeds, error) {
	out := dayNeeds{mg: map[string]int64{}}
	if len(b.ToMake) == 0 {
		return out, nil
	}
	taught, err := a.taught(ctx, &b)
	if err != nil {
		return dayNeeds{}, err
	}
	m, err := newMaking(b, PlanRequest{Date: date, Taught: taught})
	if err != nil {
		return dayNeeds{}, err
	}
	if err := m.cover(); err != nil {
		return dayNeeds{}, err
	}
	for _, l := range m.lots {
		for id, mg := range weighedIn(l.pred.Boil.Weighings) {
			out.mg[id] += mg
		}
		if e := l.pred.Boil.EnergyKWh; e != nil {
			out.kWh = q.Estimate{Value: out.kWh.Value + e.Value, Low: out.kWh.Low + e.Low, High: out.kWh.High + e.High, Basis: q.Estimated}
		}
		if !slices.ContainsFunc(out.recipes, func(r recipe.Recipe) bool { return r.ID == l.rec.ID }) {
			out.recipes = append(out.recipes, l.rec)
		}
	}
	return out, nil
}
