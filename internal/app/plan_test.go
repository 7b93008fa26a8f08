package app

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
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
		"one rolls":   func(b *book.Book, r *PlanRequest) { b.Machines[0].Hands = 1 },
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
	b, strength := strongMildMiddling()
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

// strongMildMiddling is the sample book with nothing but strength to tell its
// recipes apart: no allergens, one pair of rolls, and each taints what is milder.
func strongMildMiddling() (book.Book, map[string]int) {
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
	return b, strength
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
		for _, s := range c.SetUps {
			if !strings.Contains(s.Why, "min: ") || s.Hand == "" {
				t.Errorf("a set-up without minutes, reason or hand: %+v", s)
			}
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

// The machine's people are those the shop book states, two where it is silent
// (common practice, no source), and a machine that asks for more than there are
// keeps every boil out of the day.
func TestMachineHands(t *testing.T) {
	t.Parallel()
	for hands, want := range map[int]int{0: 2, 1: 1, 2: 2, 3: 3} {
		b := shoptest.Book()
		b.Machines[0].Hands = hands
		m := makingOf(t, b, PlanRequest{})
		for _, boil := range m.prob.Boils {
			for _, s := range boil.Shapes {
				if roll := s.Steps[len(s.Steps)-1]; roll.Kind != day.Roll || roll.Hands != want {
					t.Errorf("hands %d: %s with %d", hands, roll.Kind, roll.Hands)
				}
			}
		}
		p, err := m.view()
		if err != nil {
			t.Fatal(err)
		}
		if none := len(p.Batches) == 0; none != (want > 2) { // two adults are there
			t.Errorf("hands %d: %d boils", hands, len(p.Batches))
		}
		for _, u := range p.Unplaced {
			if want > 2 && !strings.Contains(u.Why, "rolling takes 3") {
				t.Errorf("left out because %s", u.Why)
			}
		}
	}
}

// A recipe with a kettle of its own is boiled, poured and printed with that one, the
// others with the day's; the day says that the two stand on one flame.
func TestOwnKettle(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	own := b.Kettles[0]
	own.ID, own.Name, own.TiltStand, own.Burner, own.Material = "tilting", "Tilting pan", true, own.Burner/2, "tinned steel"
	own.UsualCharge = 9
	b.Kettles = append(b.Kettles, own)
	b.Recipes[0].Kettle = own.ID
	b.Room.PourAlone = 3
	m := makingOf(t, b, PlanRequest{})
	p, err := m.view()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for i, batch := range p.Batches {
		boil := m.prob.Boils[m.plan.Made[i].Boil]
		name, metal, pourers := b.Kettles[0].Name, "stainless steel", 2
		if batch.Recipe == b.Recipes[0].ID {
			name, metal, pourers = own.Name, "tinned steel", 1
		}
		seen[name] = true
		if batch.Sheet.Kettle != name || batch.Sheet.Metal != metal || boil.PourHands != pourers {
			t.Errorf("%s: in %s of %s, poured by %d", batch.Name, batch.Sheet.Kettle, batch.Sheet.Metal, boil.PourHands)
		}
		if two := slices.ContainsFunc(batch.Cautions, func(c Caution) bool { return c.Code == "two-to-pour" }); two != (pourers == 2) {
			t.Errorf("%s: two to pour is %v", batch.Name, two)
		}
		if got := batch.Size == "whole"; got != (batch.ChargeKg == 9 && pourers == 1 || batch.ChargeKg == 10 && pourers == 2) {
			t.Errorf("%s: %g kg called %s", batch.Name, float64(batch.ChargeKg), batch.Size)
		}
		if !strings.Contains(p.Kettle, name) {
			t.Errorf("the day names %q, not %s", p.Kettle, name)
		}
	}
	if len(seen) != 2 {
		t.Fatalf("only %v in the day", seen)
	}
	oneFlame := func(p *DayPlan) bool {
		return slices.ContainsFunc(p.Cautions, func(c Caution) bool { return c.Code == "one-flame" })
	}
	if !oneFlame(p) || oneFlame(plan(t, shoptest.Book(), PlanRequest{})) {
		t.Error("two kettles on one flame are not said, or one is")
	}
	for _, v := range daytest.Check(m.prob, m.plan) {
		t.Errorf("%+v", v)
	}
}

// What a supplier says may be in an ingredient stands on the sheets of the sweets
// made with it, with whose statement it is; what a sweet contains anyway is not
// said twice.
func TestMayContain(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	set := func(id, on string, may ...string) {
		for i := range b.Ingredients {
			if in := &b.Ingredients[i]; in.ID == id {
				in.StatementOn, in.MayContain = on, may
			}
		}
	}
	set("hazelnut", "2026-02-03", "peanut")
	set("syrup-42", "", "sulphites", "tree nut")
	for _, batch := range plan(t, b, PlanRequest{}).Batches {
		want := "sulphites (Glucose syrup, supplier's statement, undated)"
		if batch.Recipe == "hazel-leaves" {
			want += ", peanut (Hazelnut, chopped, supplier's statement of 3 February 2026)"
		} else {
			want += ", tree nut (Glucose syrup, supplier's statement, undated)"
		}
		if got := batch.Sheet.MayContainText(); got != want {
			t.Errorf("%s: %q, want %q", batch.Name, got, want)
		}
	}
}

// A list of the answer is never null: who reads it need not ask whether it is there.
func TestNoListIsNull(t *testing.T) {
	t.Parallel()
	var walk func(path string, v reflect.Value)
	walk = func(path string, v reflect.Value) {
		switch v.Kind() {
		case reflect.Pointer:
			if !v.IsNil() {
				walk(path, v.Elem())
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(fmt.Sprintf("%s[%d]", path, i), v.Index(i))
			}
		case reflect.Struct:
			for i := range v.NumField() {
				name, opts, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
				if f := v.Field(i); name == "" || name == "-" {
					continue
				} else if f.Kind() == reflect.Slice && f.IsNil() && opts == "" {
					t.Errorf("%s.%s is null", path, name)
				} else {
					walk(path+"."+name, f)
				}
			}
		}
	}
	for name, change := range map[string]func(*book.Book, *PlanRequest){
		"as it is":        func(*book.Book, *PlanRequest) {},
		"nothing to make": func(b *book.Book, r *PlanRequest) { r.Lines = []demand.Line{} },
		"short day":       func(b *book.Book, r *PlanRequest) { r.Start = "13:30" },
		"nothing fits":    func(b *book.Book, r *PlanRequest) { r.Start = "15:55" },
		"unstated":        func(b *book.Book, r *PlanRequest) { b.Ingredients[1].Statement = "" },
	} {
		b, req := shoptest.Book(), PlanRequest{}
		change(&b, &req)
		walk(name, reflect.ValueOf(plan(t, b, req)))
	}
	raw, err := BoilRaw(BoilRequest{Sugar: 6, Water: -1, WaterLeft: 0.025}, q.Plain)
	if err != nil {
		t.Fatal(err)
	}
	walk("boil", reflect.ValueOf(raw))
	mix, err := Mix(MixRequest{Bag: 40, Shares: []float64{1, 1}})
	if err != nil {
		t.Fatal(err)
	}
	walk("mix", reflect.ValueOf(mix))
	pieces, err := Pieces(PiecesRequest{Mass: 9, Piece: 0.0024})
	if err != nil {
		t.Fatal(err)
	}
	walk("pieces", reflect.ValueOf(pieces))
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
