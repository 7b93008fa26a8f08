package web

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"slabside/internal/access"
	"slabside/internal/app"
	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/keeping"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/store"
	"slabside/internal/verdict"
)

// planFile is a rich day made by hand: seven boils with their changeovers, a
// break, two announced pours, a boil that finds no place, left-over and cautions.
//
//go:embed testdata/plan.json
var planFile []byte

// fixtureDay is the date of the plan file; fixtureNow a moment in its morning.
const fixtureDay = "2026-11-28"

func fixtureNow() time.Time { return time.Date(2026, 11, 28, 9, 41, 20, 0, time.UTC) }

func fixturePlan(t testing.TB) *app.DayPlan {
	t.Helper()
	p := new(app.DayPlan)
	if err := json.Unmarshal(planFile, p); err != nil {
		t.Fatalf("plan.json: %v", err)
	}
	return p
}

// fakeShop keeps a book in memory and plans by hand: the file's plan for its own
// lines, and one more half boil for every twenty bags beyond them.
type fakeShop struct {
	*app.App // who may do what: the use cases themselves, over gateKeeper

	mu   sync.Mutex
	book book.Book
	head store.Head

	bookErr, planErr, boilErr, setErr error
	invert                            *q.Estimate     // of a boil
	weigh                             []app.WeighLine // the same
	panics                            bool
	stopped                           string
	inTrouble                         bool // the record of the fixture's batch has a trouble and a hold
	plans                             int
	was                               []fakeState
	taps                              []app.Tap
	slab                              slabFake
}

func newFakeShop() *fakeShop {
	return &fakeShop{App: app.New(&gateKeeper{}, fixtureNow), book: fixtureBook(), head: 7, slab: slabFake{lines: 2}}
}

// gateKeeper keeps who may do what in memory, and nothing else.
type gateKeeper struct {
	store.Keeper
	mu    sync.Mutex
	state []byte
}

func (k *gateKeeper) Access(context.Context) (s access.State, err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.state != nil {
		err = json.Unmarshal(k.state, &s)
	}
	return s, err
}

func (k *gateKeeper) ChangeAccess(ctx context.Context, change func(*access.State) error) error {
	s, err := k.Access(ctx)
	if err != nil {
		return err
	}
	err, keep := access.Kept(change(&s))
	if !keep {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.state, _ = json.Marshal(s)
	return err
}

func (f *fakeShop) Book(context.Context) (book.Book, store.Head, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	b := f.book
	b.ToMake = slices.Clone(b.ToMake)
	return b, f.head, f.bookErr
}

func (f *fakeShop) Today(book.Book) string { return fixtureDay }

func (f *fakeShop) Plan(_ context.Context, req app.PlanRequest) (*app.DayPlan, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.panics {
		panic("a defect put in by the test")
	}
	if f.planErr != nil {
		return nil, f.planErr
	}
	f.plans++
	lines := req.Lines
	if lines == nil {
		lines = f.book.ToMake
	}
	p := new(app.DayPlan)
	if err := json.Unmarshal(planFile, p); err != nil {
		return nil, err
	}
	p.StoppedEarly, p.StoppedBy, p.ProvedBest = f.stopped != "", f.stopped, f.stopped == ""
	for i := range p.Bags {
		p.Bags[i].Asked = 0
		for _, l := range lines {
			if l.Product == p.Bags[i].Product {
				p.Bags[i].Asked += l.Bags
			}
		}
	}
	more := max(0, asked(p)-304)
	for n := 0; n < more; n += 20 {
		b := p.Batches[2]
		b.N, b.Size, b.ChargeKg = len(p.Batches)+1, "half", 6
		b.ID = fmt.Sprintf("%s-%d", fixtureDay, b.N)
		p.Batches = append(p.Batches, b)
		p.WorkEnd, p.Closed = p.WorkEnd.Add(40*time.Minute), p.Closed.Add(40*time.Minute)
	}
	if req.Trial(&f.book) { // whatever is tried takes twelve minutes
		kept := *p
		p.WorkEnd, p.Closed = p.WorkEnd.Add(12*time.Minute), p.Closed.Add(12*time.Minute)
		p.Cautions = append(slices.Clone(p.Cautions), app.Caution{Code: "trial", Text: "The last boil is packed late.", At: "day"})
		slices.Reverse(p.Batches[1:3])
		p.Compared = app.Compare(&f.book, req, &kept, p)
		slices.Reverse(p.Batches[1:3])
	}
	if req.Date != fixtureDay {
		p.Date = req.Date
		for i := range p.Batches {
			p.Batches[i].ID = strings.Replace(p.Batches[i].ID, fixtureDay, req.Date, 1)
		}
	}
	return p, nil
}

func (f *fakeShop) ShelfLife(_ context.Context, req app.ShelfLifeRequest) (*app.ShelfLifeResult, error) {
	if req.Product == "none" {
		return nil, fault.NotFound("no product %q in the shop book", req.Product).At("product")
	}
	k := fakeKeeps()
	return &app.ShelfLifeResult{Keeping: k, AtC: 26, Humidity: 0.42, Parts: []app.Keeping{k}, Units: q.Metric.With(q.Point)}, nil
}

// fakeKeeps is how long a sweet keeps in a bag, as its slip has it.
func fakeKeeps() app.Keeping {
	est := func(v, lo, hi float64) q.Estimate { return q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated} }
	log := keeping.Log{DryG: 110.17, Slope: 0.176, Start: 0.159, End: 0.218, Humidity: 0.42, Passes: est(0.0124, 0.0074, 0.0208), PressureKPa: 3.364,
		StartWater: est(0.026, 0.021, 0.032), BalanceWater: 0.0763}
	days, limit, balance := est(log.Days(), 60, 190), est(0.036, 0.031, 0.042), q.Number(0.0763)
	return app.Keeping{Bound: "about", Days: &days, Text: "97 days (60–190), estimated at 26 °C and 42 % of humidity", Why: []string{"from 2.6 % of water to 3.6 %"},
		Product: "bag", ProductName: "Damson bag", Pack: "Clear bag", Recipe: "damson", Name: "Damson", LimitWater: &limit, StartWater: &log.StartWater, BalanceWater: &balance, PassesGDay: &log.Passes,
		Log: &log, Cautions: []app.Caution{{Code: "keeping-average", Text: "this is the average water of the pack"}}, Sources: []string{"robertson"}}
}

func (f *fakeShop) Slab(_ context.Context, req app.SlabRequest) (*app.SlabResult, error) {
	return app.SlabRaw(req, q.Plain)
}

func (f *fakeShop) Boil(_ context.Context, req app.BoilRequest) (*app.BoilResult, error) {
	if f.boilErr != nil {
		return nil, f.boilErr
	}
	est := func(v, lo, hi float64) *q.Estimate {
		return &q.Estimate{Value: v, Low: lo, High: hi, Basis: q.Estimated}
	}
	charge := 12.0
	if req.Charge > 0 {
		charge = float64(req.Charge)
	}
	if req.Pieces > 0 {
		charge = float64(req.Pieces) / 250
	}
	if req.Bags > 0 {
		charge = float64(req.Bags) / 10
	}
	pieces, keeps := 250*charge, fakeKeeps()
	lift := q.Number(152)
	course := &app.Course{Steps: []app.CourseStep{
		{Step: "light", What: "flame up", TrueC: 20, WaterFrac: 0.23},
		{Step: "boils", What: "it boils: stir no more", AtS: 370, TrueC: 107.2, WaterFrac: 0.23},
		{Step: "lift", What: "flame off, lift", AtS: 1280, TrueC: 150.8, Read: "152 °C", WaterFrac: 0.029},
	}}
	for _, s := range course.Steps {
		course.Points = append(course.Points, app.CoursePoint{AtS: s.AtS, TrueC: s.TrueC, WaterFrac: s.WaterFrac, MassKg: 9, DepthM: 0.05})
	}
	return &app.BoilResult{
		AfterHeatK: est(0.8, 0.3, 2.7), LiftC: est(152.3, 149.9, 153.4), LiftMarkC: &lift, Lift: "152 °C", LateK: est(1.1, 0.8, 1.3), LateWater: est(0.002, 0.0015, 0.0025), Course: course,
		Pieces: est(pieces, pieces*0.95, pieces*1.05),
		BoilC:  est(151.62, 150.9, 152.3), DialC: est(153.12, 152.1, 154.2), MarkC: 153, Read: "153 °C", WaterFrac: est(0.027, 0.021, 0.033), MassKg: est(9.41, 9.33, 9.52),
		SolidsKg: est(9.16, 9.1, 9.2), WaterOffKg: est(2.59, 2.48, 2.67), InvertFrac: f.invert, GlassC: est(43, 39, 47),
		BoilTimeS: est(1320, 1150, 1540), EnergyKWh: est(6.6, 5.7, 7.7), ChargeKg: q.Number(charge), PressurePa: 99890, Units: q.Metric.With(q.Point),
		Weigh:    f.weigh,
		Stock:    []app.StockSolution{{Ingredient: "colour", Text: "Colour, powder: make a stock solution of 2 g in 98 g of water"}},
		Cautions: []app.Caution{{Code: "thermometer", Text: "A check in boiling water does not vouch for 150 °C."}},
		Sources:  []string{"starzak1997", "practice"},
		Verdicts: fakeVerdicts(), Keeps: &keeps,
	}, nil
}

func (f *fakeShop) LimitsIn(_ context.Context, b *book.Book, req app.LimitsRequest) (*app.LimitsResult, error) {
	return app.LimitsOf(b, req)
}

func (f *fakeShop) Limits(_ context.Context, req app.LimitsRequest) (*app.LimitsResult, error) {
	if req.Date == "" {
		req.Date = fixtureDay
	}
	return app.LimitsOf(&f.book, req)
}

// fakeVerdicts are those of a boil of two parts of sugar to one of syrup that is boiled
// to 2.7 % of water: worked out once, since the page draws them as they are.
var fakeVerdicts = sync.OnceValue(func() verdict.Verdicts {
	r, err := app.BoilRaw(app.BoilRequest{Sugar: 6, Syrup: 3.735, SyrupDE: 42, SyrupSolids: 0.803, Water: 2, WaterLeft: 0.027}, q.Plain)
	if err != nil {
		panic(err)
	}
	return r.Verdicts
})

func (f *fakeShop) SetToMake(_ context.Context, lines []demand.Line, expect store.Head, _, _ string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.setErr != nil {
		return f.setErr
	}
	if err := app.CheckLines(f.book, lines); err != nil {
		return err
	}
	if expect != f.head {
		return fault.Conflict("the book has changed")
	}
	f.book.ToMake = slices.Clone(lines)
	f.head++
	return nil
}

// kept returns the first line and the head, for tests beside a running server.
func (f *fakeShop) kept() (demand.Line, store.Head) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.book.ToMake[0], f.head
}

func fakePDF(w io.Writer, p *app.DayPlan) error {
	_, err := fmt.Fprintf(w, "%%PDF-1.7 %s %d boils\n", p.Date, len(p.Batches))
	return err
}

func fixtureOptions() Options {
	return Options{Now: fixtureNow, Person: "Ann", DaySheet: fakePDF, BatchSheets: fakePDF}
}

// fixtureSite is the site over a fresh fake shop.
func fixtureSite() (http.Handler, *fakeShop) {
	f := newFakeShop()
	return New(f, fixtureOptions()), f
}

func fixtureBook() book.Book {
	min := func(m float64) q.Duration { return q.Duration(m * float64(time.Minute)) }
	one := func(id, colour, paint string, work recipe.Work) []recipe.Portion {
		return []recipe.Portion{{ID: id, Share: 1, Colour: colour, Paint: paint, Work: work}}
	}
	boil := []recipe.Part{{Ingredient: "sugar", Mass: 6.6}, {Ingredient: "syrup", Mass: 3}, {Ingredient: "water", Mass: 2.4}}
	fold := func(ing string, dose q.Fraction) recipe.Addition {
		return recipe.Addition{Ingredient: ing, Stage: recipe.AtFold, Dose: dose}
	}
	b := book.Book{
		Format: book.Format,
		Shop:   book.Shop{Name: "Sample Sweets", Place: "Anywhere", Units: q.Metric.With(q.Point), Currency: "EUR", Market: "eu", TimeZone: "UTC"},
		Room: rig.Room{Altitude: 120, Air: 20, Humidity: 0.5, PourAlone: 8, HoldPoint: 115, Times: rig.Times{
			Charge: min(6), Pour: min(3), Rinse: min(8), FirstTurn: min(2), Turn: min(8), PullRate: 0.5, RollRate: 1, RollBand: min(3), RollBandBoard: min(14),
			Wipe: min(6), Wash: min(20), AllergenClean: min(35), RollsWipe: min(3), RollsWash: min(10), RollsAllergen: min(20), KettleClean: min(20),
			WeighBase: min(4), WeighLine: min(1), Cool: min(25), SieveRate: 1, FinishRate: 1, PackBag: min(0.5), Closing: min(30)}},
		Kettles: []rig.Kettle{
			{ID: "big", Name: "Big pan", Volume: 30, FoamRoom: 0.4, LeastCharge: 3, UsualCharge: 12, Burner: 18000, Efficiency: 0.45, EfficiencyLow: 0.35, EfficiencyHigh: 0.55, Mass: 9, Smear: 0.1, Material: rig.TinnedSteel},
			{ID: "small", Name: "Trial pan", Volume: 8, FoamRoom: 0.4, LeastCharge: 1, UsualCharge: 4, Burner: 6000, Efficiency: 0.3, Mass: 3, Smear: 0.05, Material: rig.Copper, Tested: rig.Test{By: "the inspector", On: "2026-03-14"}, TiltStand: true, TrialsOnly: true}},
		Slabs:    []rig.Slab{{ID: "slab", Name: "Long slab", Length: 1.5, Width: 0.75, Material: rig.Marble}, {ID: "steel", Name: "Trial slab", Length: 0.6, Width: 0.5, Material: rig.Stainless, Cooling: "channels", TrialsOnly: true}},
		Hooks:    []rig.Hook{{ID: "hook", Name: "Wall hook", MostOne: 4}},
		Machines: []rig.Machine{{ID: "m", Name: "Drop machine", Guard: "finger guard, judged by a fitter", Stop: true, RollRate: 1.1}},
		Rolls: []rig.Rolls{{ID: "barrel", Name: "Barrel", Piece: 0.0038, Material: rig.Brass, Change: min(8)}, {ID: "leaf", Name: "Leaf", Piece: 0.0024, Material: rig.Brass, Tested: rig.Test{By: "the inspector", On: "2026-03-14"}, Change: min(8)},
			{ID: "bead", Name: "Bead", PerPound: 504, Material: rig.Stainless, Change: min(8)}, {ID: "shell", Name: "Shell", Piece: 0.003, Material: rig.Brass, Change: min(8)}},
		Boards:  []rig.Board{{ID: "board", Name: "Feeding board", Lamp: true, Most: 12}},
		Benches: []rig.Bench{{ID: "bench", Name: "Sheet bench", Most: 20}},
		Sieves:  []rig.Sieve{{ID: "s5", Name: "Coarse sieve", Aperture: 0.005}},
		Scales:  []rig.Scale{{ID: "s30", Name: "30 kg scale", Capacity: 30, Resolution: 0.001, Approved: true}, {ID: "s600", Name: "600 g scale", Capacity: 0.6, Resolution: 1e-5}},
		Glasses: []rig.Glass{{ID: "long", Name: "Long glass", Offset: 1.5, Class: 1, Division: 1, CheckedOn: "2026-09-01", CheckedAt: 150}, {ID: "spare", Name: "Spare glass", Offset: -0.5, Class: 2, Division: 2}},
		Hands: []rig.Hand{{ID: "ann", Name: "Ann", Adult: true, May: rig.Tasks()}, {ID: "ben", Name: "Ben", Adult: true, May: rig.Tasks()},
			{ID: "cleo", Name: "Cleo", Adult: true, May: []rig.Task{rig.MayWeigh, rig.MayPack}, From: "09:00"}, {ID: "dan", Name: "Dan", May: []rig.Task{rig.MayPack}, To: "12:00"}},
		Ingredients: []ingredient.Ingredient{
			{ID: "sugar", Name: "Granulated sugar", Kind: ingredient.Sugar, Solids: 1, Statement: "stated"}, {ID: "syrup", Name: "Glucose syrup 42 DE", Kind: ingredient.Syrup, Solids: 0.803, DE: 42, Statement: "stated"},
			{ID: "water", Name: "Water", Kind: ingredient.Water, Statement: "stated"}, {ID: "butter", Name: "Butter", Kind: ingredient.Fat, Solids: 0.84, Statement: "stated", Contains: []string{"milk"}, MayContain: []string{"soy"}},
			{ID: "citric", Name: "Citric acid", Kind: ingredient.Acid, Solids: 1, Statement: "stated"}, {ID: "oil", Name: "Clove oil", Kind: ingredient.Oil, Solids: 1}, {ID: "green", Name: "Green colour", Kind: ingredient.Colour, Solids: 1, Statement: "stated"},
			{ID: "dust", Name: "Icing sugar", Kind: ingredient.Dust, Solids: 1, Statement: "stated"}},
		Recipes: []recipe.Recipe{
			{ID: "clove", Name: "Clove barrels", Boil: boil, BoilTo: 152, Additions: []recipe.Addition{fold("oil", 0.0012)}, Portions: one("all", "amber", "#C8742A", recipe.Clear), Flavour: recipe.Flavour{Family: "clove", CarryOver: 4, TaintLimit: 2, Tolerates: map[string]int{"mint": 3, "anise": 4}}, Rolls: "barrel", Finish: recipe.Dusted, FinishWith: "dust", FinishGain: 0.005, Note: "Pack warm."},
			{ID: "pear", Name: "Pear drops", Boil: boil, WaterLeft: 0.025, Additions: []recipe.Addition{fold("citric", 0.012), {Ingredient: "green", Stage: recipe.AtPour, Dose: 2e-5, Portion: "yellow"}}, Portions: []recipe.Portion{{ID: "pink", Share: 0.5, Colour: "pink", Paint: "#E9A0A8", Work: recipe.Clear}, {ID: "yellow", Share: 0.5, Colour: "yellow", Paint: "#F0CF5E", Work: recipe.Pulled, Air: 0.085}}, Flavour: recipe.Flavour{Family: "fruit", CarryOver: 2, TaintLimit: 1}, Stain: &recipe.Stain{CarryOver: 2, Limit: 3}, Rolls: "leaf", Finish: recipe.Plain},
			{ID: "lemon", Name: "Lemon shells", Boil: boil, BoilTo: 152, Portions: one("all", "clear yellow", "#F2D64B", recipe.Clear), Flavour: recipe.Flavour{Family: "citrus", CarryOver: 3, TaintLimit: 1}, Rolls: "shell", Finish: recipe.Sanded}},
		Products: []bag.Product{{ID: "pear-113", Name: "Pear drops 113 g", Net: 0.113, Parts: []bag.Part{{Recipe: "pear", Share: 1}}}, {ID: "mix-227", Name: "Shop mix 227 g", Net: 0.227}, {ID: "mint-113", Name: "Mint leaves 113 g", Net: 0.113},
			{ID: "beads-113", Name: "Aniseed beads 113 g", Net: 0.113}, {ID: "butter-113", Name: "Butter pebbles 113 g", Net: 0.113}, {ID: "almond-113", Name: "Almond beads 113 g", Net: 0.113}},
		Day: book.Day{Opens: "08:00", Ends: "17:30", Kettle: "big", Glass: "long", Breaks: []book.Break{{Name: "Midday", From: "12:00", To: "13:00", Duration: min(30)}},
			Pours: []book.Pour{{Name: "Morning pour", At: "11:00", Early: min(10), Late: min(5)}}, Rules: []book.Rule{{Kind: "last", Recipe: "butter", Why: "butter last: its milk would ask for a clean"}}},
		Stock: []demand.Stock{{Product: "pear-113", Bags: 6}, {Recipe: "pear", Portion: "pink", Loose: 0.42, Lot: "P-12"}},
		ToMake: []demand.Line{{Product: "pear-113", Bags: 80, Must: true, Due: "2026-11-29", For: "Quay Café"}, {Product: "mix-227", Bags: 60, For: "shelf"}, {Product: "mint-113", Bags: 40, For: "shelf"},
			{Product: "beads-113", Bags: 70, For: "shelf"}, {Product: "butter-113", Bags: 24, For: "shelf"}, {Product: "almond-113", Bags: 30, For: "shelf"}},
	}
	return b
}
