package app

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"slabside/internal/bag"
	"slabside/internal/batch"
	"slabside/internal/book"
	"slabside/internal/day"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/store"
)

// planDraws is the ensemble of a plan; planSeed makes the same book give the
// same plan everywhere.
const (
	planDraws = numeric.Draws
	planSeed  = 1
	keptPlans = 16
	// planStates ends a search by a count, the same on every machine: what is
	// proved on ordinary days is proved long before.
	planStates = 5_000_000
	// planLimit ends a search by the clock; its plan says so and is not kept.
	planLimit = 2 * time.Minute
)

// planKey names a plan: everything it depends on.
type planKey struct {
	head             store.Head
	date, start, end string
	reader           q.Reader          // whom its texts are printed for
	changed          [sha256.Size]byte // of what a trial may have otherwise
}

// planCall is a plan that is being made, or was.
type planCall struct {
	done chan struct{}
	plan *DayPlan
	err  error
}

// Plan plans a making day of the kept book. Plans are remembered while the book
// stays as it is; callers must not change what they get. A trial comes with the
// kept day beside it, which is planned too.
//
// Faults: invalid for a date, lines or changes that cannot be meant, or a book with
// problems. A day into which not everything fits is not a fault: the plan says
// what is left out and why.
func (a *App) Plan(ctx context.Context, req PlanRequest) (*DayPlan, error) {
	b, head, err := a.Book(ctx)
	if err != nil {
		return nil, err
	}
	if req.Date == "" {
		req.Date = a.Today(b)
	}
	p, err := a.planOf(ctx, b, head, req)
	if err != nil || !req.Trial(&b) {
		return p, err
	}
	kept, err := a.planOf(ctx, b, head, PlanRequest{Date: req.Date, Lines: req.Lines})
	if err != nil {
		return nil, err
	}
	trial := *p
	trial.Compared = Compare(&b, req, kept, p)
	return &trial, nil
}

// planOf makes a plan, or takes the one that is remembered.
func (a *App) planOf(ctx context.Context, b book.Book, head store.Head, req PlanRequest) (*DayPlan, error) {
	b, req, err := applied(b, req)
	if err != nil {
		return nil, err
	}
	text, err := json.Marshal(struct {
		Lines []demand.Line
		Day   book.Day
		Hands []rig.Hand
	}{req.Lines, b.Day, b.Hands})
	if err != nil {
		return nil, fault.Internal(err, "the day could not be read")
	}
	if req.Taught, err = a.taught(ctx, &b); err != nil {
		return nil, err
	}
	if req.Stopped, err = a.stopped(ctx); err != nil {
		return nil, err
	}
	if req.Grained, err = a.grained(ctx, &b, req.Date); err != nil {
		return nil, err
	}
	if err := a.withStores(ctx, &b); err != nil {
		return nil, err
	}
	head = a.plannedAt(ctx, head)
	key := planKey{head, req.Date, req.Start, req.End, b.Shop.Units, sha256.Sum256(text)}
	a.mu.Lock()
	c, ok := a.plans[key]
	if !ok {
		for k := range a.plans {
			if k.head != head || len(a.plans) >= keptPlans {
				delete(a.plans, k)
			}
		}
		c = &planCall{done: make(chan struct{})}
		a.plans[key] = c
	}
	a.mu.Unlock()
	if !ok {
		go a.makeFor(ctx, key, b, req, c)
	}
	select {
	case <-c.done:
		return c.plan, c.err
	case <-ctx.Done():
		return nil, fault.Busy("the plan is not ready yet").WithCause(ctx.Err()).WithHint("ask again in a moment; it is being made")
	}
}

// makeFor makes a plan for all who wait for it; the one who asked first may leave.
// An answer that the clock cut short is given once and not kept: another time it
// may be better. One that its budget of states cut short is the same every time.
func (a *App) makeFor(ctx context.Context, key planKey, b book.Book, req PlanRequest, c *planCall) {
	own, cancel := context.WithTimeout(context.WithoutCancel(ctx), planLimit)
	defer cancel()
	defer close(c.done)
	defer func() {
		if r := recover(); r != nil {
			c.plan, c.err = nil, fault.Internal(fmt.Errorf("panic: %v", r), "the plan could not be finished")
		}
		if c.err != nil || own.Err() != nil {
			a.mu.Lock()
			if a.plans[key] == c {
				delete(a.plans, key)
			}
			a.mu.Unlock()
		}
	}()
	if c.plan, c.err = MakePlan(own, b, req); c.err == nil {
		c.plan.Book = a.mark(own, key.head)
	}
}

// MakePlan plans a making day of a book: lines to boils, boils to the minute.
// It depends on nothing but its arguments. A trial has no kept day beside it.
func MakePlan(ctx context.Context, b book.Book, req PlanRequest) (*DayPlan, error) {
	m, err := newMaking(b, req)
	if err != nil {
		return nil, err
	}
	if err := m.cover(); err != nil {
		return nil, err
	}
	if err := m.schedule(ctx); err != nil {
		return nil, err
	}
	return m.view()
}

// making is a plan on its way from lines to minutes.
type making struct {
	dayline
	req     PlanRequest
	found   []book.Problem // cautions of the book's proof
	lines   []demand.Line
	glass   rig.Glass
	yields  map[yieldKey][]batch.Yield
	kettles []rig.Kettle // of each recipe

	sweets []bag.Sweet // every portion of the day's recipes
	first  []int       // recipe → its first sweet
	pieces [][]float64 // sweet → mean finished piece, a draw each [kg]
	result demand.Result
	lots   []lot

	prob      *day.Problem
	plan      *day.Plan
	stoppedBy string
	blockers  []day.Blocker
	ruledOut  map[int]bool           // boils
	stopped   map[int][]StoppedThing // boils that cannot be made, and what stops them; they are the last of the lots
	idle      map[int][]string       // boils that nobody needs without those
	boardless map[int]bool           // recipes of which no charge is rolled in time without the board that is out of use
	overrun   int
}

// lot is one boil of the lot plan with its prediction.
type lot struct {
	work
	pred   batch.Prediction
	yields []batch.Yield // of this very boil, by portion: draws to be added up
}

type yieldKey struct {
	recipe int
	charge q.Kilograms
	index  int
}

func newMaking(b book.Book, req PlanRequest) (*making, error) {
	b, req, err := applied(b, req)
	if err != nil {
		return nil, err
	}
	b = req.Stopped.without(b)
	found, err := usable(&b)
	if err != nil {
		return nil, err
	}
	if err := CheckLines(b, req.Lines); err != nil {
		return nil, err
	}
	m := &making{dayline: dayline{b: &b, grained: req.Grained, late: req.Start > b.Day.Opens}, found: found, req: req, yields: map[yieldKey][]batch.Yield{}, boardless: map[int]bool{}}
	if m.glass, err = dayGlass(&b); err != nil {
		return nil, err
	}
	if err := m.hours(); err != nil {
		return nil, err
	}
	m.chooseLines()
	return m, m.chooseRecipes()
}

// usable refuses a book with problems, naming them all, and returns its cautions.
func usable(b *book.Book) (cautions []book.Problem, err error) {
	var p Problems
	for _, pr := range book.Validate(b) {
		if pr.Severity == book.Error {
			p = append(p, fault.Invalid("%s", pr.Text).At(book.Place(b, pr.Field)).WithHint("%s", pr.Hint))
		} else {
			cautions = append(cautions, pr)
		}
	}
	if len(p) > 0 {
		return nil, p
	}
	return cautions, nil
}

// hours sets when the room opens and the day ends.
func (m *making) hours() error {
	loc, err := time.LoadLocation(m.b.Shop.TimeZone)
	if err != nil {
		return fault.Invalid("unknown time zone %q", m.b.Shop.TimeZone).At("shop.time_zone").WithHint("write an IANA name such as Europe/London")
	}
	date, err := time.ParseInLocation(time.DateOnly, m.req.Date, loc)
	if err != nil {
		return fault.Invalid("%q is not a date", m.req.Date).At("date").WithHint("write it as 2026-11-28")
	}
	at := func(clock, field string) (time.Time, error) {
		t, err := time.Parse("15:04", clock)
		if err != nil {
			return time.Time{}, fault.Invalid("%q is not a time of day", clock).At(field).WithHint("write it as 08:00")
		}
		return time.Date(date.Year(), date.Month(), date.Day(), t.Hour(), t.Minute(), 0, 0, loc), nil
	}
	opens, ends, field := m.b.Day.Opens, m.b.Day.Ends, "day.opens"
	if m.req.End != "" {
		ends, field = m.req.End, "end"
	}
	if m.ends, err = at(ends, field); err != nil {
		return err
	}
	if m.req.Start != "" {
		opens, field = m.req.Start, "start"
	}
	if m.opens, err = at(opens, field); err != nil {
		return err
	}
	if !m.ends.After(m.opens) {
		return fault.Invalid("the room opens at %s and the day ends at %s", opens, ends).At(field).WithHint("open before the day ends")
	}
	return nil
}

// chooseLines keeps the lines; one that is due on a later day is a wish today.
func (m *making) chooseLines() {
	for _, l := range m.req.Lines {
		if l.Due > m.req.Date {
			l.Must = false
		}
		m.lines = append(m.lines, l)
	}
}

// chooseRecipes lists the recipes the lines' products are made of, in the book's order.
func (m *making) chooseRecipes() error {
	wanted := map[string]bool{}
	for _, l := range m.lines {
		p, _ := m.b.Product(l.Product)
		for _, part := range p.Parts {
			wanted[part.Recipe] = true
		}
	}
	for _, r := range m.b.Recipes {
		if !wanted[r.ID] {
			continue
		}
		k, err := kettleOf(m.b, r)
		if err != nil {
			return err
		}
		m.recipes = append(m.recipes, r)
		m.kettles = append(m.kettles, k)
	}
	return nil
}

// yield returns what a boil gives, remembered.
func (m *making) yield(r int, charge q.Kilograms, index int) ([]batch.Yield, error) {
	key := yieldKey{r, charge, index}
	if y, ok := m.yields[key]; ok {
		return y, nil
	}
	in, err := chain(m.b, m.req.Taught, m.recipes[r], charge)
	if err != nil {
		return nil, err
	}
	y, err := batch.YieldOf(in, charge, index)
	if err == nil {
		m.yields[key] = y
	}
	return y, err
}

// predict returns what one boil of a recipe and charge will do. Two boils alike
// read alike on their sheets; each one's own errors are drawn in [making.yield],
// where boils are added up.
func (m *making) predict(r int, charge q.Kilograms) (batch.Prediction, error) {
	in, err := chain(m.b, m.req.Taught, m.recipes[r], charge)
	if err != nil {
		return batch.Prediction{}, err
	}
	return batch.Predict(in)
}

// cover turns the lines into boils.
func (m *making) cover() error {
	p := demand.Problem{Today: m.req.Date, Lines: m.lines, Draws: planDraws}
	for r, rec := range m.recipes {
		k := m.kettles[r]
		first, err := m.yield(r, k.UsualCharge, 0)
		if err != nil {
			return named(err, rec.Name)
		}
		dr := demand.Recipe{ID: rec.ID, LeastCharge: k.LeastCharge, UsualCharge: k.UsualCharge}
		if dr.MostCharge, err = m.mostCharge(r); err != nil {
			return named(err, rec.Name)
		}
		if dr.MostCharge > 0 && dr.MostCharge < dr.LeastCharge && len(m.boards()) > 0 {
			m.boardless[r], dr.MostCharge = true, 0
		}
		m.first = append(m.first, len(m.sweets))
		for i, portion := range rec.Portions {
			piece := make([]float64, planDraws)
			mean := 0.0
			for d := range piece {
				piece[d] = first[i].Kg[d] / first[i].Pieces[d]
				mean += piece[d] / planDraws
			}
			m.pieces = append(m.pieces, piece)
			m.sweets = append(m.sweets, bag.Sweet{Recipe: rec.ID, Portion: portion.ID, Share: portion.Share, Piece: q.Kilograms(mean)})
			dr.Portions = append(dr.Portions, demand.Portion{ID: portion.ID, Share: portion.Share, Piece: q.Kilograms(mean), Draws: piece})
		}
		p.Recipes = append(p.Recipes, dr)
	}
	for _, pr := range m.b.Products {
		if slices.ContainsFunc(m.lines, func(l demand.Line) bool { return l.Product == pr.ID }) {
			p.Products = append(p.Products, pr)
		}
	}
	for _, s := range m.b.Stock {
		if s.Product != "" && slices.ContainsFunc(p.Products, productID(s.Product)) ||
			s.Recipe != "" && slices.ContainsFunc(m.recipes, func(r recipe.Recipe) bool { return r.ID == s.Recipe }) {
			p.Stock = append(p.Stock, s)
		}
	}
	p.Yield = func(r int, charge q.Kilograms, index int) ([][]float64, error) {
		y, err := m.yield(r, charge, index)
		if err != nil {
			return nil, named(err, m.recipes[r].Name)
		}
		kg := make([][]float64, len(y))
		for i := range y {
			kg[i] = y[i].Kg
		}
		return kg, nil
	}
	var err error
	if m.result, err = demand.Cover(p); err != nil {
		return err
	}
	return m.chooseLots(m.result.Best)
}

// named says in which recipe a fault lies, keeping its kind.
func named(err error, recipe string) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	c := *f
	c.Text = recipe + ": " + f.Text
	return &c
}

// mostCharge is the largest charge of a recipe that the rolls eat while the
// batch is in condition; 0 where a whole boil fits.
func (m *making) mostCharge(r int) (q.Kilograms, error) {
	whole := m.kettles[r].UsualCharge
	pred, err := m.predict(r, whole)
	if err != nil {
		return 0, err
	}
	most := whole
	finished := pred.Boil.FinishedKg.Value
	if !pred.RollFits && finished > 0 {
		most = min(most, whole*pred.LargestRoll/q.Kilograms(finished))
	}
	pulled := 0.0
	for _, p := range m.recipes[r].Portions {
		if p.Work == recipe.Pulled {
			pulled += float64(p.Share)
		}
	}
	if pulled > 0 && len(m.b.Hooks) > 0 {
		if hook := m.b.Hooks[0].MostOne; hook > 0 && finished*pulled > float64(hook) {
			most = min(most, whole*hook/q.Kilograms(finished*pulled))
		}
	}
	if most >= whole {
		return 0, nil
	}
	return most, nil
}

// chooseLots predicts every boil of a lot plan.
func (m *making) chooseLots(p demand.LotPlan) error {
	m.lots = nil
	for r, l := range p.Lots {
		for i, charge := range l.Charges {
			pred, err := m.predict(r, charge)
			if err != nil {
				return named(err, m.recipes[r].Name)
			}
			yields, err := m.yield(r, charge, i)
			if err != nil {
				return named(err, m.recipes[r].Name)
			}
			w := work{rec: m.recipes[r], recipe: r, kettle: m.kettles[r], charge: charge,
				liftKg: pred.Boil.MassKg.Value, finishedKg: pred.Boil.FinishedKg.Value, weighLines: len(pred.Boil.Weighings), hot: pred.Hot}
			if pred.Boil.LitS == nil || pred.Boil.WatchS == nil {
				return fault.Invalid("%s: the time in the kettle cannot be computed", m.recipes[r].Name).
					WithHint("give kettle %q its burner power and efficiency", m.kettles[r].ID)
			}
			w.litS, w.watchS = pred.Boil.LitS.Value, pred.Boil.WatchS.Value
			m.lots = append(m.lots, lot{work: w, pred: pred, yields: yields})
		}
	}
	m.sharePacking()
	return nil
}

// sharePacking lays the packing of every line on the boils whose sweets fill it,
// by mass: packing is work after those boils.
func (m *making) sharePacking() {
	bagMin := m.b.Room.Times.PackBag.Minutes()
	perRecipe := make([]float64, len(m.recipes))
	for _, l := range m.result.Lines {
		total := 0.0
		for _, n := range l.Kg {
			total += float64(n.Mass)
		}
		for _, n := range l.Kg {
			if total > 0 {
				perRecipe[n.Recipe] += bagMin * float64(l.ToPack) * float64(n.Mass) / total
			}
		}
	}
	charges := make([]q.Kilograms, len(m.recipes))
	for _, l := range m.lots {
		charges[l.recipe] += l.charge
	}
	for i := range m.lots {
		l := &m.lots[i]
		l.packMin = perRecipe[l.recipe] * float64(l.charge/charges[l.recipe])
	}
}

// schedule finds the best order and minutes.
func (m *making) schedule(ctx context.Context) error {
	able := m.stopLots()
	works := make([]work, able)
	for i, l := range m.lots[:able] {
		works[i] = l.work
	}
	lines := make([]day.Line, len(m.result.Lines))
	for i, l := range m.result.Lines {
		lines[i] = day.Line{Name: m.lines[l.Line].Product, Must: m.lines[l.Line].Must, Needs: m.result.Best.Lines[i].Own}
	}
	p, err := m.dayline.problem(works, lines)
	if err != nil {
		return err
	}
	m.prob = p
	m.dropPast()
	if m.plan, err = day.Solve(ctx, p, day.Options{MaxLabels: planStates}); err != nil {
		return err
	}
	switch {
	case !m.plan.StoppedEarly:
	case ctx.Err() != nil:
		m.stoppedBy = ByClock
	default:
		m.stoppedBy = ByBudget
	}
	if len(m.plan.Made) < len(p.Boils) {
		m.blockers = day.Blockers(p, m.plan)
		if err := m.findRuledOut(ctx); err != nil {
			return err
		}
		if m.overrun, err = day.Overrun(ctx, p); err != nil {
			return err
		}
	}
	for i := able; i < len(m.lots); i++ {
		m.blockers = append(m.blockers, day.Blocker{Boil: i})
	}
	return nil
}
