package app

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"slabside/internal/book"
	"slabside/internal/day"
	"slabside/internal/day/daytest"
	"slabside/internal/demand"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
)

const testDate = "2026-03-17"

func plan(t *testing.T, b book.Book, req PlanRequest) *DayPlan {
	t.Helper()
	if req.Date == "" {
		req.Date = testDate
	}
	p, err := MakePlan(context.Background(), b, req)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// makingOf runs the pipeline up to the schedule, to look inside.
func makingOf(t *testing.T, b book.Book, req PlanRequest) *making {
	t.Helper()
	req.Date = testDate
	m, err := newMaking(b, req)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.cover(); err != nil {
		t.Fatal(err)
	}
	if err := m.schedule(context.Background()); err != nil {
		t.Fatal(err)
	}
	return m
}

// Every plan passes the minute-by-minute checker, which shares no code with the
// planner, and so do the named duties.
func TestPlansPassTheChecker(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(*book.Book, *PlanRequest){
		"as it is":    func(*book.Book, *PlanRequest) {},
		"short day":   func(b *book.Book, r *PlanRequest) { r.Start = "13:30" },
		"one adult":   func(b *book.Book, r *PlanRequest) { b.Hands = slices.Delete(b.Hands, 1, 2) },
		"many bags":   func(b *book.Book, r *PlanRequest) { b.ToMake[0].Bags *= 4 },
		"small bench": func(b *book.Book, r *PlanRequest) { b.Benches[0].Most = 10 },
		"tilt stand":  func(b *book.Book, r *PlanRequest) { b.Kettles[0].TiltStand = true },
		"small pours": func(b *book.Book, r *PlanRequest) { b.Room.PourAlone = 12 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := shoptest.Book()
			var req PlanRequest
			change(&b, &req)
			if bad := book.Errors(book.Validate(&b)); len(bad) > 0 {
				t.Fatalf("not a sound book: %+v", bad)
			}
			m := makingOf(t, b, req)
			for _, v := range daytest.Check(m.prob, m.plan) {
				t.Errorf("%+v", v)
			}
			duties, err := day.Assign(m.prob, m.plan)
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range daytest.CheckDuties(m.prob, m.plan, duties) {
				t.Errorf("%+v", v)
			}
		})
	}
}

// Mild before strong (common practice, no source): with nothing but flavour to
// tell two sweets apart, the order that needs no wash is the mild one first.
func TestMildBeforeStrong(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Day.Breaks, b.Day.Pours, b.Day.Rules, b.Day.Residue = nil, nil, nil, nil
	strength := map[string]int{}
	for i := range b.Recipes {
		r := &b.Recipes[i]
		r.Rolls = b.Recipes[0].Rolls
		r.Stain = nil
		r.Flavour.Family = fmt.Sprintf("flavour-%d", i)
		r.Flavour.CarryOver = []int{5, 1, 3}[i%3]
		r.Flavour.TaintLimit = r.Flavour.CarryOver
		r.Flavour.Tolerates = nil
		strength[r.ID] = r.Flavour.CarryOver
	}
	for i := range b.Ingredients {
		b.Ingredients[i].Contains, b.Ingredients[i].Statement = nil, "stated"
	}
	p := plan(t, b, PlanRequest{})
	if len(p.Batches) < 3 {
		t.Fatalf("only %d boils", len(p.Batches))
	}
	for i := 1; i < len(p.Batches); i++ {
		before, after := p.Batches[i-1], p.Batches[i]
		if strength[before.Recipe] > strength[after.Recipe] {
			t.Errorf("%s (strength %d) goes before %s (%d)", before.Name, strength[before.Recipe], after.Name, strength[after.Recipe])
		}
	}
	for _, c := range p.Changeovers {
		if slices.Contains(c.Acts, "wash") {
			t.Errorf("a wash that the order makes needless: %s", c.Why)
		}
	}
}

// A sweet made without an allergen, after one made with it, needs an allergen
// clean; nothing a person can ask for in a plan takes that away.
func TestAllergenOrder(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	nut := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool {
		m := dayline{b: &b}
		contains, _ := m.allergensOf(r)
		return slices.Contains(contains, "tree nut")
	})
	if nut < 0 {
		t.Fatal("the sample shop has no recipe with a tree nut")
	}
	b.Day.Rules = []book.Rule{{Kind: "first", Recipe: b.Recipes[nut].ID}}
	p := plan(t, b, PlanRequest{})
	if p.Batches[0].Recipe != b.Recipes[nut].ID {
		t.Fatalf("the rule is not kept: %s is first", p.Batches[0].Name)
	}
	found := false
	for _, c := range p.Changeovers {
		found = found || slices.Contains(c.Acts, "allergen clean") && strings.Contains(c.Why, "tree nut")
	}
	// The clean of the line is not one of the kettle: the boil after it says so.
	for _, c := range p.Changeovers {
		if !slices.Contains(c.Acts, "allergen clean") {
			continue
		}
		i := slices.IndexFunc(p.Batches, func(x Batch) bool { return x.ID == c.To })
		if !slices.ContainsFunc(p.Batches[i].Cautions, func(x Caution) bool { return x.Code == "allergen-beyond-line" && x.At == "weigh" }) {
			t.Errorf("batch %d follows an allergen clean and does not say what that leaves out", i+1)
		}
		if strings.Contains(c.Why, "and rolls") {
			t.Errorf("the clean claims the rolls: %s", c.Why)
		}
	}
	if !found && slices.ContainsFunc(p.Batches, func(x Batch) bool { return x.Recipe != b.Recipes[nut].ID }) {
		t.Error("a boil without nuts follows one with nuts, and no allergen clean stands between")
	}
}

// An ingredient whose supplier has said nothing blocks like an allergen: unknown is not none.
func TestUnstatedIsNotNone(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	r := b.Recipes[0]
	b.Day.Rules = []book.Rule{{Kind: "first", Recipe: r.ID}}
	own := r.Boil[0].Ingredient
	for _, a := range r.Additions {
		own = a.Ingredient
	}
	for i := range b.Ingredients {
		if b.Ingredients[i].ID == own {
			b.Ingredients[i].Statement = ""
		}
	}
	p := plan(t, b, PlanRequest{})
	found := 0
	for _, batch := range p.Batches {
		if batch.Recipe != r.ID {
			continue
		}
		found++
		if len(batch.Sheet.Unstated) == 0 {
			t.Error("the sheet does not name the ingredient nobody has stated")
		}
		if !slices.ContainsFunc(batch.Cautions, func(c Caution) bool { return c.Code == "allergen-unknown" }) {
			t.Error("no caution for the unknown statement")
		}
	}
	if found == 0 {
		t.Fatalf("%s is not in the day", r.ID)
	}
	next := slices.IndexFunc(p.Batches, func(batch Batch) bool { return batch.Recipe != r.ID })
	if next < 0 {
		t.Fatal("no other sweet follows it")
	}
	if id := p.Batches[next].ID; !slices.ContainsFunc(p.Changeovers, func(c Changeover) bool {
		return c.To == id && slices.Contains(c.Acts, day.AllergenClean.String())
	}) {
		t.Errorf("%s follows what nobody has stated without an allergen clean", p.Batches[next].Name)
	}
}

// The same book, date and lines give the same plan, byte for byte.
func TestPlanIsDeterministic(t *testing.T) {
	t.Parallel()
	a, err := json.Marshal(plan(t, shoptest.Book(), PlanRequest{}))
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(plan(t, shoptest.Book(), PlanRequest{}))
	if err != nil {
		t.Fatal(err)
	}
	if string(a) != string(b) {
		t.Error("two plans of one book differ")
	}
}

// Times of a batch follow each other, and every figure of the plan belongs to its batch.
func TestPlanHangsTogether(t *testing.T) {
	t.Parallel()
	p := plan(t, shoptest.Book(), PlanRequest{})
	if !p.ProvedBest {
		t.Error("a normal day is not proved best")
	}
	for _, b := range p.Batches {
		times := []time.Time{b.WeighBy, b.ChargeAt, b.FlameUp, b.Hold, b.Pour, b.PourEnd, b.RollStart, b.RollEnd, b.Cool, b.Done}
		for i := 1; i < len(times); i++ {
			if times[i].Before(times[i-1]) {
				t.Errorf("batch %d: time %d (%v) is before time %d (%v)", b.N, i, times[i], i-1, times[i-1])
			}
		}
		if b.Lead == "" {
			t.Errorf("batch %d: nobody is named with the flame", b.N)
		}
		if len(b.WhyHere) == 0 {
			t.Errorf("batch %d does not say why it is here", b.N)
		}
		sum := 0.0
		for _, portion := range b.Portions {
			sum += portion.Pieces.Value
		}
		if math.Abs(sum-b.Pieces.Value) > 0.02*b.Pieces.Value+2 {
			t.Errorf("batch %d: portions make %.0f pieces, the batch %.0f", b.N, sum, b.Pieces.Value)
		}
		if math.Abs(float64(b.ChargeKg)-kettleMass(b)) > 0.02 {
			t.Errorf("batch %d: the lines in the kettle weigh %.3f kg, the charge is %.3f", b.N, kettleMass(b), float64(b.ChargeKg))
		}
	}
	for _, c := range p.Changeovers {
		if !strings.Contains(c.Why, "min: ") || c.Hand == "" {
			t.Errorf("a changeover without minutes, reason or hand: %+v", c)
		}
	}
	for i := 1; i < len(p.Clock); i++ {
		if p.Clock[i].At.Before(p.Clock[i-1].At) {
			t.Error("the clock runs backwards")
		}
	}
	for _, l := range p.Bags {
		if l.Made.High > float64(l.Asked-l.FromStock) {
			t.Errorf("%s: more bags filled than asked", l.Name)
		}
		if l.Must && l.Planned && float64(l.Chance) < demand.MustCover-0.001 {
			t.Errorf("%s must go and is whole with only %.3f", l.Name, float64(l.Chance))
		}
	}
}

func kettleMass(b Batch) float64 {
	kg := 0.0
	for _, w := range b.Sheet.Weigh {
		if w.Stage == "kettle" {
			kg += w.MassKg.Value
		}
	}
	return kg
}

// More bags make more boils or less left over, never fewer bags; a pinned
// neighbour is kept.
func TestPlanFollowsLinesAndRules(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	before := plan(t, b, PlanRequest{})
	more := slices.Clone(b.ToMake)
	more[0].Bags *= 3
	after := plan(t, b, PlanRequest{Lines: more})
	mass := func(p *DayPlan) (kg float64) {
		for _, x := range p.Batches {
			kg += float64(x.ChargeKg)
		}
		return kg
	}
	if mass(after) <= mass(before) {
		t.Errorf("three times the bags of %s boil %.1f kg instead of %.1f", more[0].Product, mass(after), mass(before))
	}
	var ids []string
	for _, x := range before.Batches {
		if !slices.Contains(ids, x.Recipe) {
			ids = append(ids, x.Recipe)
		}
	}
	last := ids[0]
	b.Day.StrongAnyTime = true // a pinned recipe is free of the order of strength; compare like with like
	before = plan(t, b, PlanRequest{})
	b.Day.Rules = []book.Rule{{Kind: "last", Recipe: last}}
	pinned := plan(t, b, PlanRequest{})
	if got := pinned.Batches[len(pinned.Batches)-1].Recipe; got != last {
		t.Errorf("%s is pinned last, %s is", last, got)
	}
	if pinned.Objectives[3].Value < before.Objectives[3].Value {
		t.Error("a rule made the day end earlier")
	}
}

// A day too short says what is left out, why, and what would help.
func TestDayTooShort(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Day.Ends = "10:30"
	b.Day.Breaks, b.Day.Pours = nil, nil
	p := plan(t, b, PlanRequest{})
	if len(p.Unplaced) == 0 || len(p.Offers) == 0 {
		t.Fatalf("%d unplaced, %d offers", len(p.Unplaced), len(p.Offers))
	}
	for _, u := range p.Unplaced {
		if u.Why == "" || len(u.Lines) == 0 {
			t.Errorf("%s is left out without reason or without the lines it leaves short: %+v", u.Name, u)
		}
	}
	if !p.Closed.Before(p.Ends.Add(time.Second)) {
		t.Errorf("closed at %v, after the day's end", p.Closed)
	}
	// Adding what the offer asks for makes everything fit.
	b.Day.Ends = "18:30"
	if p := plan(t, b, PlanRequest{}); len(p.Unplaced) != 0 {
		t.Errorf("%d boils still left out of a long day", len(p.Unplaced))
	}
}

// Higher up the glass is read lower, by about 1.26 times what water boils lower;
// the dryness stays. Source key: the altitude table of the standard atmosphere (iso2533).
func TestAltitudeMovesTheGlassOnly(t *testing.T) {
	t.Parallel()
	low, high := shoptest.Book(), shoptest.Book()
	low.Room.Altitude, high.Room.Altitude = 0, 1500
	a, b := plan(t, low, PlanRequest{}), plan(t, high, PlanRequest{})
	for i := range a.Batches {
		x, y := a.Batches[i].Sheet, b.Batches[i].Sheet
		drop := x.DialC.Value - y.DialC.Value
		// Water boils 4.99 K lower at 1500 m; candy about 1.26 times that.
		if drop < 5.6 || drop > 7.0 {
			t.Errorf("%s: read %.2f K lower at 1500 m", a.Batches[i].Name, drop)
		}
		if math.Abs(x.WaterFrac.Value-y.WaterFrac.Value) > 0.0005 {
			t.Errorf("%s: water left moves from %.4f to %.4f", a.Batches[i].Name, x.WaterFrac.Value, y.WaterFrac.Value)
		}
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	for name, c := range map[string]struct {
		change func(*book.Book)
		req    PlanRequest
		want   string
	}{
		"date":     {nil, PlanRequest{Date: "17.3.2026"}, "is not a date"},
		"start":    {nil, PlanRequest{Date: testDate, Start: "8 am"}, "is not a time of day"},
		"late":     {nil, PlanRequest{Date: testDate, Start: "23:00"}, "the day ends"},
		"product":  {nil, PlanRequest{Date: testDate, Lines: []demand.Line{{Product: "none", Bags: 1}}}, "unknown product"},
		"bags":     {nil, PlanRequest{Date: testDate, Lines: []demand.Line{{Product: b.Products[0].ID, Bags: -1}}}, "cannot be meant"},
		"rolls":    {func(b *book.Book) { b.Rolls = nil }, PlanRequest{Date: testDate}, "rolls"},
		"kettle":   {func(b *book.Book) { b.Kettles = nil }, PlanRequest{Date: testDate}, "kettle"},
		"burner":   {func(b *book.Book) { b.Kettles[0].Burner = 0 }, PlanRequest{Date: testDate}, "burner"},
		"timezone": {func(b *book.Book) { b.Shop.TimeZone = "Nowhere" }, PlanRequest{Date: testDate}, "zone"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := shoptest.Book()
			if c.change != nil {
				c.change(&b)
			}
			_, err := MakePlan(context.Background(), b, c.req)
			if err == nil || fault.KindOf(err) != fault.KindInvalid {
				t.Fatalf("got %v, want an invalid fault", err)
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("%q does not say %q", err, c.want)
			}
		})
	}
}

// A caution flips when its quantity crosses the limit by one per cent: two to pour.
func TestTwoToPourAtItsEdge(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	lift := plan(t, b, PlanRequest{}).Batches[0].Sheet.LiftKg.Value
	for _, c := range []struct {
		limit float64
		want  bool
	}{{lift * 0.99, true}, {lift * 1.01, false}} {
		b := shoptest.Book()
		b.Room.PourAlone = q.Kilograms(c.limit)
		p := plan(t, b, PlanRequest{})
		i := slices.IndexFunc(p.Batches, func(x Batch) bool { return math.Abs(x.Sheet.LiftKg.Value-lift) < 1e-9 })
		got := slices.ContainsFunc(p.Batches[i].Cautions, func(x Caution) bool { return x.Code == "two-to-pour" })
		if got != c.want {
			t.Errorf("limit %.3f kg for %.3f kg: two to pour is %v", c.limit, lift, got)
		}
	}
}

func TestReadOrders(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	id := b.Products[0].ID
	lines, err := ReadOrders("o.csv", strings.NewReader("\ufeffProduct,Bags,Must,Due,For\n"+id+", 12 ,yes,2026-03-20,post\n"+id+",3,,,\n"), b)
	if err != nil {
		t.Fatal(err)
	}
	want := []demand.Line{{Product: id, Bags: 12, Must: true, Due: "2026-03-20", For: "post"}, {Product: id, Bags: 3}}
	if !slices.Equal(lines, want) {
		t.Errorf("got %+v", lines)
	}
	_, err = ReadOrders("o.csv", strings.NewReader("product,bags,must\nx,1,yes\n"+id+",one,no\n"+id+",1,perhaps\n"+id+",0,no\n"), b)
	for _, want := range []string{"o.csv:2", "o.csv:3", "o.csv:4", "o.csv:5"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v does not name %s", err, want)
		}
	}
}

// A person's order of two recipes stands against mild before strong, and no boil
// is lost to a circle of the two.
func TestLaterStandsAgainstStrength(t *testing.T) {
	t.Parallel()
	before := plan(t, shoptest.Book(), PlanRequest{})
	for i := range before.Batches {
		for j := range before.Batches[:i] {
			first, last := before.Batches[i].Recipe, before.Batches[j].Recipe
			if first == last {
				continue
			}
			b := shoptest.Book()
			b.Day.Rules = []book.Rule{{Kind: "later", Recipe: last, After: first}}
			p := plan(t, b, PlanRequest{})
			if len(p.Unplaced) > 0 {
				t.Errorf("%s later than %s: %d boils are lost", last, first, len(p.Unplaced))
			}
			seen := false
			for _, x := range p.Batches {
				seen = seen || x.Recipe == last
				if seen && x.Recipe == first {
					t.Errorf("%s comes after %s, against the rule", first, last)
				}
			}
		}
	}
}

// An order file without lines asks for nothing, not for the book's lines, and a
// column nobody knows is refused.
func TestReadOrders_EmptyAndColumns(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	lines, err := ReadOrders("o.csv", strings.NewReader("product,bags\n"), b)
	if err != nil || lines == nil || len(lines) != 0 {
		t.Fatalf("got %v, %v", lines, err)
	}
	if p := plan(t, b, PlanRequest{Lines: lines}); len(p.Batches) != 0 {
		t.Errorf("%d boils for no lines", len(p.Batches))
	}
	for _, head := range []string{"product,bags,musts\n", "product,bags,bags\n"} {
		if _, err := ReadOrders("o.csv", strings.NewReader(head), b); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%q: %v", head, err)
		}
	}
	if _, err := ReadOrders("o.csv", strings.NewReader("product,bags\n"+strings.Repeat(" ", mostOrders)), b); err == nil {
		t.Error("an order file over its size is read in part")
	}
}
