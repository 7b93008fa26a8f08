package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"slabside/internal/bag"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// What an answer to when bags can be had rests on.
const (
	RestsStock = "stock"       // bags that are packed and promised to nobody
	RestsLoose = "loose"       // loose sweets that only have to be packed
	RestsPlan  = "plan"        // boils of the day as it is planned
	RestsBoil  = "boil"        // a boil that still fits into today
	RestsNext  = "next-making" // a boil of the next making day
)

// WhenResult is when a customer can have bags; JSON is the contract of the when command.
type WhenResult struct {
	Product  string     `json:"product"`
	Name     string     `json:"name"`
	Bags     int        `json:"bags"`
	Asked    time.Time  `json:"asked_at"`
	At       *time.Time `json:"at"` // the earliest, by the low end of what comes; null: no time can be told
	Today    bool       `json:"today"`
	Rests    string     `json:"rests_on"` // stock, loose, plan, boil, next-making; empty: no time can be told
	Says     string     `json:"says"`     // the same in words
	NotToday string     `json:"not_today_because"`
	Steps    []WhenStep `json:"steps"`    // what there is at what time, one on the other
	Promised int        `json:"promised"` // bags of the product that orders still wait for
	Cautions []Caution  `json:"cautions"`
	Units    q.Reader   `json:"units"`
}

// WhenStep is what can be had by a time.
type WhenStep struct {
	Rests string     `json:"rests_on"`
	At    time.Time  `json:"at"`
	Bags  q.Estimate `json:"bags"` // all together by then, what is promised left out
	Text  string     `json:"text"`
}

// When answers when somebody can have so many bags of a product: from bags in stock that
// are promised to nobody, from loose sweets, from the day's plan as it stands, from a
// boil that still fits into the day, from one of the next. Orders go first; what only
// the shelf asks for gives way.
//
// Faults: NotFound for a product that is not in the book, Invalid for a number of bags
// that cannot be meant.
func (a *App) When(ctx context.Context, product string, bags int) (*WhenResult, error) {
	b, _, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	p, ok := b.Product(product)
	if !ok {
		return nil, fault.NotFound("no product %q in the shop book", fault.Clip(product, fault.Echo)).At("product")
	}
	if bags < 1 || bags > demand.MostBags {
		return nil, fault.Invalid("%d bags cannot be meant", bags).At("bags").WithHint("a whole number from 1 to %d", demand.MostBags)
	}
	h, err := a.packhouseOf(ctx, &b, nil)
	if err != nil {
		return nil, err
	}
	w := &asking{a: a, h: h, p: p, zone: zoneOf(&b), now: a.now(), out: &WhenResult{Product: p.ID, Name: p.Name, Bags: bags, Steps: []WhenStep{}, Cautions: []Caution{}, Units: b.Shop.Units}}
	w.out.Asked = w.now
	if err := w.claims(); err != nil {
		return nil, err
	}
	for _, try := range []func(context.Context) error{w.inStock, w.loose, w.planned, w.boiledToday, w.boiledNext} {
		if err := try(ctx); err != nil {
			return nil, err
		}
		if w.out.At != nil {
			return w.out, nil
		}
	}
	w.out.Says = fmt.Sprintf("no time can be told: %s", w.out.NotToday)
	return w.out, nil
}

// asking is a question on its way to its answer.
type asking struct {
	a    *App
	h    *packhouse
	p    bag.Product
	zone *time.Location
	now  time.Time
	out  *WhenResult

	orders  []demand.Line        // that still wait, with the bags that they still wait for
	spare   map[string]int       // bags of each product in stock that no order waits for
	free    int                  // of the product that is asked for
	claimKg map[sweetKey]float64 // what orders will take of each sweet, loose [kg]
	opens   time.Time            // of today
	ends    time.Time
}

// claims finds what orders still wait for: less what went out for them today, and less
// the bags of their product that are in stock.
func (w *asking) claims() error {
	m := &making{dayline: dayline{b: w.h.b}, req: PlanRequest{Date: w.h.today}}
	if err := m.hours(); err != nil {
		return err
	}
	w.opens, w.ends = m.opens, m.ends
	w.claimKg = map[sweetKey]float64{}
	stock := map[string]int{}
	for _, x := range w.h.b.Products {
		stock[x.ID] = w.inBags(x.ID)
	}
	for _, l := range w.h.b.ToMake {
		if !l.Must {
			continue
		}
		l.Bags -= min(l.Bags, w.gone(l))
		if l.Product == w.p.ID {
			w.out.Promised += l.Bags
		}
		if l.Bags > 0 {
			w.orders = append(w.orders, l)
		}
		have := min(l.Bags, stock[l.Product])
		stock[l.Product] -= have
		p, ok := w.h.b.Product(l.Product)
		if !ok || l.Bags == have {
			continue
		}
		each, err := w.h.perBag(p)
		if err != nil {
			return err
		}
		for key, kg := range each {
			w.claimKg[key] += kg * float64(l.Bags-have)
		}
	}
	w.spare, w.free = stock, stock[w.p.ID]
	return nil
}

// inBags is how many bags of a product may go out.
func (w *asking) inBags(product string) int {
	n := w.h.listed(product)
	for _, x := range w.h.lots(product) {
		if x.Free() && !w.h.badLot(x) {
			n += int(x.OnHand)
		}
	}
	return n
}

// gone is how many bags went out today for a line, by what it is for.
func (w *asking) gone(l demand.Line) int {
	n := int64(0)
	for _, x := range w.h.lots(l.Product) {
		for _, m := range x.Moves {
			if v := m.Entry.Moved; v != nil && l.For != "" && v.For == l.For && v.On == w.h.today && (v.To == packing.ToOrder || v.To == packing.ToParcel) {
				n += v.Bags
			}
		}
	}
	return int(n)
}

// step notes what there is by a time, and answers by it if the low end suffices.
func (w *asking) step(rests string, at time.Time, low, mid, high int, text string) {
	e := q.Estimate{Value: float64(mid), Low: float64(low), High: float64(high), Basis: q.Estimated}
	if low == high {
		e = q.ExactOf(float64(mid))
	}
	w.out.Steps = append(w.out.Steps, WhenStep{Rests: rests, At: at, Bags: e, Text: text})
	if low >= w.out.Bags && w.out.At == nil {
		w.answer(rests, at)
	}
}

func (w *asking) answer(rests string, at time.Time) {
	w.out.At, w.out.Rests = &at, rests
	local := at.In(w.zone)
	w.out.Today = local.Format(time.DateOnly) == w.h.today
	day := "today"
	if !w.out.Today {
		day = local.Format(time.DateOnly)
	}
	from := map[string]string{RestsStock: "they are packed", RestsLoose: "the sweets are made and have to be packed", RestsPlan: "by the day's plan as it stands", RestsBoil: "with a boil that still fits into the day",
		RestsNext: "with a boil of that day"}[rests]
	when := fmt.Sprintf("%s at %s", day, local.Format("15:04"))
	if rests == RestsStock {
		when = "now"
	}
	w.out.Says = fmt.Sprintf("%s: %s", when, from)
}

func (w *asking) inStock(context.Context) error {
	text := fmt.Sprintf("%d bags are packed and promised to nobody", w.free)
	w.step(RestsStock, w.now, w.free, w.free, w.free, text)
	return nil
}

// packedBy is when bags that are begun at a time are packed by one hand, within the
// hours of the room; false: not today.
func (w *asking) packedBy(from time.Time, bags int) (time.Time, bool) {
	if from.Before(w.opens) {
		from = w.opens
	}
	each := time.Duration(w.h.b.Room.Times.PackBag)
	at := from.Add(time.Duration(max(0, bags)) * each).Truncate(time.Minute).Add(time.Minute)
	return at, !at.After(w.ends)
}

// over is what is left of so much of each sweet once the orders have theirs [kg].
func (w *asking) over(kg map[sweetKey]float64) map[sweetKey]float64 {
	out := map[sweetKey]float64{}
	for key, m := range kg {
		out[key] = max(0, m-w.claimKg[key])
	}
	return out
}

func (w *asking) loose(context.Context) error {
	n := w.free + w.h.fills(w.p, w.over(w.h.looseKg()))
	if n == w.free {
		return nil
	}
	at, today := w.packedBy(w.now, min(n, w.out.Bags)-w.free)
	if !today {
		w.notToday("what is made cannot be packed before the day ends")
		return nil
	}
	w.step(RestsLoose, at, n, n, n, fmt.Sprintf("loose sweets fill %d more", n-w.free))
	return nil
}

func (w *asking) notToday(why string) {
	if w.out.NotToday == "" {
		w.out.NotToday = why
	}
}

// planned looks at the boils of the day's plan that are not made yet.
func (w *asking) planned(ctx context.Context) error {
	plan, err := w.a.Plan(ctx, PlanRequest{})
	if err != nil {
		if ctx.Err() != nil || fault.KindOf(err) == fault.KindBusy {
			return err
		}
		why, _ := fault.Said(err)
		w.out.Cautions = append(w.out.Cautions, Caution{Code: codeNoPlan, Text: "the day cannot be planned: " + why})
		return nil
	}
	low, mid, high := w.h.looseKg(), w.h.looseKg(), w.h.looseKg()
	best := w.free
	for _, x := range w.coming(plan) {
		for _, portion := range x.Portions {
			key := sweetKey{x.Recipe, portion.ID}
			low[key] += portion.SoundKg.Low
			mid[key] += portion.SoundKg.Value
			high[key] += portion.SoundKg.High
		}
		bags := func(kg map[sweetKey]float64) int { return w.free + w.h.fills(w.p, w.over(kg)) }
		l, m, h := bags(low), bags(mid), bags(high)
		if m <= best {
			continue
		}
		best = m
		at, today := w.packedBy(later(w.now, x.Cool), min(m, w.out.Bags)-w.free)
		if !today {
			w.notToday("what the plan makes cannot be packed before the day ends")
			continue
		}
		w.step(RestsPlan, at, l, m, h, fmt.Sprintf("%s, boil %d of the plan, can be packed from %s", x.Name, x.N, x.Cool.In(w.zone).Format("15:04")))
		if w.out.At != nil {
			return nil
		}
	}
	if best >= w.out.Bags {
		w.out.Cautions = append(w.out.Cautions, Caution{Code: codeMaybe, Text: fmt.Sprintf("the boils of the plan most likely give %d bags, and may give fewer: the answer goes by the low end", best)})
	}
	return nil
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// coming are the boils of a plan that are still to come or on their way, by when they
// can be packed: of each recipe as many as were made today have gone before.
func (w *asking) coming(plan *DayPlan) []Batch {
	made, begun := map[string]int{}, map[string]int{}
	for _, x := range w.h.batches {
		if x.begun.On != w.h.today {
			continue
		}
		if begun[x.begun.Recipe]++; x.weighed() || x.place.As == record.Binned || x.place.As == record.OnHold || x.place.As == record.Reboiled {
			made[x.begun.Recipe]++
		}
	}
	seen := map[string]int{}
	var out []Batch
	for _, x := range plan.Batches {
		seen[x.Recipe]++
		n := seen[x.Recipe]
		if n <= made[x.Recipe] || n > begun[x.Recipe] && x.FlameUp.Before(w.now) {
			continue // made, or never begun and its time is past
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(x, y Batch) int { return x.Cool.Compare(y.Cool) })
	return out
}

// boiledToday tries whether a boil for the bags still fits into what is left of the day,
// beside what the orders wait for.
func (w *asking) boiledToday(ctx context.Context) error {
	start := later(w.now, w.opens).In(w.zone)
	if r := start.Truncate(5 * time.Minute); r.Before(start) {
		start = r.Add(5 * time.Minute)
	}
	if !start.Add(time.Hour).Before(w.ends) {
		w.notToday("the day is over, or nearly")
		return nil
	}
	under := 0
	for _, x := range w.h.batches {
		if x.begun.On == w.h.today && x.made == nil && x.place.As.Packs() {
			under++
		}
	}
	if err := w.boiled(ctx, RestsBoil, w.h.today, start.Format("15:04")); err != nil || w.out.At == nil || under == 0 {
		return err
	}
	w.out.Cautions = append(w.out.Cautions, Caution{Code: codeMaybe, Text: fmt.Sprintf("%d batches of today are under way: what they give is not counted, and the kettle may not be free at once", under)})
	return nil
}

// boiledNext tries the day after, from its opening.
func (w *asking) boiledNext(ctx context.Context) error {
	day, err := time.Parse(time.DateOnly, w.h.today)
	if err != nil {
		return fault.Internal(err, "today is no date")
	}
	return w.boiled(ctx, RestsNext, day.AddDate(0, 0, 1).Format(time.DateOnly), "")
}

// askedFor marks the line of the question among the lines of a trial.
const askedFor = "what is asked for now"

// boiled plans a day for what orders wait for and for the bags that are asked for, with
// what is there as its stock, and answers if all of it fits.
func (w *asking) boiled(ctx context.Context, rests, date, start string) error {
	b := *w.h.b
	b.Stock = w.stock(rests == RestsNext)
	taught, err := w.a.taught(ctx, &b)
	if err != nil {
		return err
	}
	req := PlanRequest{Date: date, Start: start, Taught: taught, Lines: append([]demand.Line{}, w.orders...)}
	if rests == RestsNext { // what is due today is made today
		req.Lines = slices.DeleteFunc(req.Lines, func(l demand.Line) bool { return l.Due == "" || l.Due < date })
	}
	for i := range req.Lines {
		if req.Lines[i].Due > date {
			req.Lines[i].Must = false
		}
	}
	req.Lines = append(req.Lines, demand.Line{Product: w.p.ID, Bags: w.out.Bags, Must: true, For: askedFor})
	plan, err := MakePlan(ctx, b, req)
	if err != nil {
		if ctx.Err() != nil {
			return fault.Busy("the answer is not ready yet").WithCause(err).WithHint("ask again in a moment")
		}
		why, _ := fault.Said(err)
		w.notToday("a day with them cannot be planned: " + why)
		return nil
	}
	return w.fits(rests, plan)
}

// fits answers by a plan into which the bags and all orders fit.
func (w *asking) fits(rests string, plan *DayPlan) error {
	for _, x := range plan.Bags {
		switch {
		case x.Planned:
		case x.For == askedFor:
			w.notToday(whyUnplaced(plan, "no boil for them fits into what is left of the day"))
			return nil
		case x.Must:
			w.notToday(fmt.Sprintf("the day is needed for %d bags of %s that an order waits for", x.Asked, x.Name))
			return nil
		}
	}
	i := slices.IndexFunc(plan.Bags, func(x BagsMade) bool { return x.For == askedFor })
	if i < 0 {
		return fault.Internal(nil, "the plan does not say what becomes of the bags")
	}
	x := plan.Bags[i]
	at := w.opens
	if rests != RestsNext {
		at = later(w.now, w.opens)
	}
	for _, part := range w.p.Parts {
		for _, batch := range plan.Batches {
			if batch.Recipe == part.Recipe {
				at = later(at, batch.Done)
			}
		}
	}
	low, mid, high := x.FromStock+int(x.Made.Low), x.FromStock+int(math.Round(x.Made.Value)), x.FromStock+int(x.Made.High)
	w.out.Steps = append(w.out.Steps, WhenStep{Rests: rests, At: at, Bags: estimateOf(low, mid, high), Text: "with a boil for them, after what orders wait for"})
	w.answer(rests, at)
	if low < w.out.Bags {
		w.out.Cautions = append(w.out.Cautions, Caution{Code: codeMaybe, Text: fmt.Sprintf("the boil may give %d bags only: promise the rest with care", low)})
	}
	return nil
}

func estimateOf(low, mid, high int) q.Estimate {
	if low == high {
		return q.ExactOf(float64(mid))
	}
	return q.Estimate{Value: float64(mid), Low: float64(low), High: float64(high), Basis: q.Estimated}
}

// whyUnplaced is why the boils of the asked bags are not in a plan.
func whyUnplaced(plan *DayPlan, otherwise string) string {
	for _, u := range plan.Unplaced {
		if u.Why != "" {
			return u.Name + ": " + u.Why
		}
	}
	return otherwise
}

// stock is what is there, as a plan takes it; tomorrow the orders of today have theirs.
func (w *asking) stock(tomorrow bool) []demand.Stock {
	var out []demand.Stock
	left := w.h.looseKg()
	if tomorrow {
		left = w.over(left)
	}
	for _, p := range w.h.b.Products {
		n := w.inBags(p.ID)
		if tomorrow {
			n = w.spare[p.ID]
		}
		if n > 0 {
			out = append(out, demand.Stock{Product: p.ID, Bags: n})
		}
	}
	for _, r := range w.h.b.Recipes {
		for _, x := range r.Portions {
			if m := left[sweetKey{r.ID, x.ID}]; m > 1e-6 {
				out = append(out, demand.Stock{Recipe: r.ID, Portion: x.ID, Loose: q.Kilograms(m)})
			}
		}
	}
	return out
}
