package app

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"slabside/internal/book"
	"slabside/internal/day/daytest"
	"slabside/internal/demand"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
)

// keepBook is the use cases over a new database with a book in it.
func keepBook(t *testing.T, b book.Book) (*App, store.Keeper) {
	t.Helper()
	k, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	a := New(k, shoptest.Now)
	if _, err := a.Import(context.Background(), b, "test", "the sample shop"); err != nil {
		t.Fatal(err)
	}
	return a, k
}

// changes reads "first hazel-leaves" and so on.
func changes(t interface{ Fatal(...any) }, lines ...string) []Change {
	var out []Change
	for _, l := range lines {
		kind, text, _ := strings.Cut(l, " ")
		c, err := ReadChange(kind, text)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, c)
	}
	return out
}

func TestWithChanges(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		asks   []string
		change func(*book.Book) // what the changed book is, by hand
	}{
		{"a first one", []string{"first hazel-leaves"}, func(b *book.Book) {
			b.Day.Rules = append(b.Day.Rules, book.Rule{Kind: "first", Recipe: "hazel-leaves"})
		}},
		{"an order", []string{"next hazel-leaves,pear-barrels", "last aniseed-beads"}, func(b *book.Book) {
			b.Day.Rules = append(b.Day.Rules, book.Rule{Kind: "next", After: "hazel-leaves", Recipe: "pear-barrels"}, book.Rule{Kind: "last", Recipe: "aniseed-beads"})
		}},
		{"an act", []string{"at-least wash,hazel-leaves"}, func(b *book.Book) {
			b.Day.Rules = append(b.Day.Rules, book.Rule{Kind: "at_least", Act: "wash", Recipe: "hazel-leaves"})
		}},
		{"a break and a pour", []string{"break tea 10:00-10:30 15min", "pour school 14:00 5min 10min hazel-leaves"}, func(b *book.Book) {
			b.Day.Breaks = append(b.Day.Breaks, book.Break{Name: "tea", From: "10:00", To: "10:30", Duration: mins(15)})
			b.Day.Pours = append(b.Day.Pours, book.Pour{Name: "school", At: "14:00", Early: mins(5), Late: mins(10), Recipe: "hazel-leaves"})
		}},
		{"hands", []string{"without-hand cleo", "hand Dora 09:00-13:00 weigh,pack"}, func(b *book.Book) {
			b.Hands[2] = rig.Hand{ID: "dora", Name: "Dora", From: "09:00", To: "13:00", May: []rig.Task{rig.MayWeigh, rig.MayPack}}
		}},
		{"two of one name's id", []string{"hand Ada! adult,pack"}, func(b *book.Book) {
			b.Hands = append(b.Hands, rig.Hand{ID: "ada-2", Name: "Ada!", Adult: true, May: []rig.Task{rig.MayPack}})
		}},
		{"lines", []string{"without pear-bag", "bags aniseed-jar=12", "must row-mix@market stall"}, func(b *book.Book) {
			b.ToMake = b.ToMake[1:]
			b.ToMake[0].Must, b.ToMake[0].Due = true, testDate
			b.ToMake[1].Bags = 12
		}},
		{"a boil left out takes what needs it", []string{"not-today hazel-leaves"}, func(b *book.Book) {
			b.ToMake = slices.Delete(b.ToMake, 1, 2)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			kept, want := shoptest.Book(), shoptest.Book()
			want.ToMake[1].Due, kept.ToMake[1].Due = "2026-04-01", "2026-04-01"
			c.change(&want)
			got, err := withChanges(kept, changes(t, c.asks...), testDate)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("-want +got:\n%s", d)
			}
			again := shoptest.Book()
			again.ToMake[1].Due = "2026-04-01"
			if d := cmp.Diff(again, kept); d != "" {
				t.Errorf("the kept book was touched:\n%s", d)
			}
		})
	}
}

// The kept place of the first gives way to another.
func TestWithChanges_FirstGivesWay(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Day.Rules = []book.Rule{{Kind: "first", Recipe: "pear-barrels"}}
	got, err := withChanges(b, changes(t, "first hazel-leaves"), testDate)
	if err != nil {
		t.Fatal(err)
	}
	if want := []book.Rule{{Kind: "first", Recipe: "hazel-leaves"}}; !slices.Equal(got.Day.Rules, want) {
		t.Errorf("rules %+v", got.Day.Rules)
	}
}

func TestWithChanges_Refused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		asks       []string
		field, say string
	}{
		{[]string{"first toffee"}, "first", `no recipe with the id "toffee"`},
		{[]string{"without row-mix", "first hazel-leaves"}, "first", "Hazel leaves is not boiled that day"},
		{[]string{"first hazel-leaves", "first pear-barrels"}, "first", "twice"},
		{[]string{"first hazel-leaves", "first hazel-leaves"}, "first", "twice"},
		{[]string{"next aniseed-beads,pear-barrels"}, "next", "contradicts rule 1"},
		{[]string{"next hazel-leaves,hazel-leaves"}, "next", "is the recipe itself"},
		{[]string{"not-next aniseed-beads,pear-barrels"}, "not-next", "is a rule of the day already"},
		{[]string{"later hazel-leaves,pear-barrels", "later pear-barrels,hazel-leaves"}, "later", "runs in a circle"},
		{[]string{"first pear-barrels", "next hazel-leaves,pear-barrels"}, "next", "cannot both be"},
		{[]string{"last pear-barrels", "later pear-barrels,hazel-leaves"}, "later", "cannot both be"},
		{[]string{"next hazel-leaves,pear-barrels", "later pear-barrels,hazel-leaves"}, "later", "cannot both be"},
		{[]string{"at-least polish,hazel-leaves"}, "at-least", "not a word known here"},
		{[]string{"break tea 07:00-07:30 15min"}, "break", "outside the day"},
		{[]string{"break tea 11:00-10:30 15min"}, "break", "is before from"},
		{[]string{"break tea 10:00-10:75 15min"}, "break", "is not a clock time"},
		{[]string{"break tea 10:00-10:30 0min"}, "break", "zero"},
		{[]string{"pour school 19:00 5min 5min"}, "pour", "outside the day"},
		{[]string{"pour school 11:00 5min 5min toffee"}, "pour", "no recipe with the id"},
		{[]string{"hand Bela pack"}, "hand", "there is a hand called Bela"},
		{[]string{"hand Dora sing"}, "hand", "not a word known here"},
		{[]string{"hand Dora boil"}, "hand", "not an adult"},
		{[]string{"without-hand dora"}, "without-hand", `no hand "dora"`},
		{[]string{"without-hand ada", "without-hand bela"}, "without-hand", "without Bela"},
		{[]string{"without toffee"}, "without", "no line to make"},
		{[]string{"without row-mix@nobody"}, "without", "no line to make"},
		{[]string{"bags row-mix=0"}, "bags", "0 bags cannot be meant"},
		{[]string{"bags row-mix=5", "bags row-mix=6"}, "bags", "twice"},
		{[]string{"not-today toffee"}, "not-today", `no recipe "toffee"`},
		{[]string{"not-today hazel-leaves", "not-today hazel-leaves"}, "not-today", "twice"},
	} {
		_, err := withChanges(shoptest.Book(), changes(t, c.asks...), testDate)
		var e *fault.Error
		if !errors.As(err, &e) {
			t.Errorf("%v is taken", c.asks)
			continue
		}
		if e.Kind != fault.KindInvalid || e.Field != c.field || !strings.Contains(e.Text, c.say) || e.Hint == "" {
			t.Errorf("%v is refused at %s with %q, hint %q; want %s, %q", c.asks, e.Field, e.Text, e.Hint, c.field, c.say)
		}
	}
}

// Bags of one of two lines have to say whose.
func TestWithChanges_WhoseBags(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.ToMake = append(b.ToMake, demand.Line{Product: "row-mix", Bags: 5, For: "the school"})
	if _, err := withChanges(b, changes(t, "bags row-mix=9"), testDate); err == nil {
		t.Error("bags of two lines are taken for those of one")
	}
	got, err := withChanges(b, changes(t, "bags row-mix@the school=9"), testDate)
	if err != nil || got.ToMake[3].Bags != 9 || got.ToMake[1].Bags != 40 {
		t.Errorf("%+v, %v", got.ToMake, err)
	}
}

func planJSON(t *testing.T, p *DayPlan) string {
	t.Helper()
	s, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(s)
}

// A trial without changes is the kept plan, byte for byte; so is one whose change
// was taken back. One with a change is the kept plan's own with the kept beside it.
func TestPlan_TrialBesideKept(t *testing.T) {
	t.Parallel()
	a, _ := keepBook(t, shoptest.Book())
	ctx := context.Background()
	ask := func(req PlanRequest) *DayPlan {
		t.Helper()
		req.Date = testDate
		p, err := a.Plan(ctx, req)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	kept := ask(PlanRequest{})
	for name, same := range map[string]PlanRequest{
		"no changes": {If: []Change{}}, "the book's own hours": {Start: "08:00", End: "16:30"},
	} {
		if p := ask(same); planJSON(t, p) != planJSON(t, kept) {
			t.Errorf("%s: another plan than the kept one", name)
		}
	}
	first := changes(t, "first hazel-leaves")
	trial := ask(PlanRequest{If: first})
	if trial.Compared == nil || trial.Batches[0].Recipe != "hazel-leaves" {
		t.Fatalf("the first boil is %s", trial.Batches[0].Recipe)
	}
	if d := cmp.Diff(FiguresOf(kept), trial.Compared.Kept); d != "" {
		t.Errorf("the kept figures:\n%s", d)
	}
	if d := cmp.Diff(FiguresOf(trial), trial.Compared.Trial); d != "" {
		t.Errorf("the trial's figures:\n%s", d)
	}
	if back := ask(PlanRequest{If: first[:0]}); planJSON(t, back) != planJSON(t, kept) {
		t.Error("a change taken back leaves another plan")
	}
	if planJSON(t, ask(PlanRequest{})) != planJSON(t, kept) {
		t.Error("a trial has changed the kept plan")
	}
	late := ask(PlanRequest{Start: "08:30", End: "17:00"})
	if c := late.Compared; c == nil || len(c.Changes) != 2 || c.Changes[0].Kind != "start" || c.Changes[1].Kind != "end" || !c.Changes[0].DateOnly {
		t.Errorf("another start and end: %+v", late.Compared)
	}
	if got := late.Ends.Format("15:04"); got != "17:00" {
		t.Errorf("the day ends at %s", got)
	}
}

// The pinned order is honoured whatever is asked for: the plan passes the
// minute-by-minute checker, which shares no code with the planner, and the pins
// stand in the boils as they are listed.
func TestTrial_PinsAreHonoured(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("one plan after the other: nothing for the race detector, and all of it without")
	}
	rapid.Check(t, func(rt *rapid.T) {
		ids := []string{"pear-barrels", "aniseed-beads", "hazel-leaves"}
		recipe := rapid.SampledFrom(ids)
		var asked []string
		if rapid.Bool().Draw(rt, "first") {
			asked = append(asked, "first "+recipe.Draw(rt, "which"))
		}
		for _, kind := range []string{"next", "not-next", "later"} {
			if rapid.Bool().Draw(rt, kind) {
				asked = append(asked, kind+" "+recipe.Draw(rt, kind+" a")+","+recipe.Draw(rt, kind+" b"))
			}
		}
		b, err := withChanges(shoptest.Book(), changes(rt, asked...), testDate)
		if err != nil {
			return // contradicts itself or the book, which has tests of its own
		}
		m, err := newMaking(b, PlanRequest{Date: testDate})
		if err != nil {
			rt.Fatal(err)
		}
		if err := m.cover(); err != nil {
			rt.Fatal(err)
		}
		if err := m.schedule(context.Background()); err != nil {
			rt.Fatal(err)
		}
		for _, v := range daytest.Check(m.prob, m.plan) {
			rt.Errorf("%v: %v", asked, v)
		}
		var order []string
		for _, p := range m.plan.Made {
			order = append(order, m.lots[p.Boil].rec.ID)
		}
		for _, c := range changes(rt, asked...) {
			i, j := slices.Index(order, c.Rule.Recipe), slices.Index(order, c.Rule.After)
			if i < 0 || c.Rule.After != "" && j < 0 {
				continue // not made: no order for it
			}
			switch {
			case c.Kind == "first" && i != 0,
				c.Kind == "next" && (i == 0 || order[i-1] != c.Rule.After),
				c.Kind == "later" && i < j:
				rt.Errorf("%s %s in the order %v", c.Kind, c.Text(), order)
			}
		}
	})
}

// What a trial adds is kept in one act; what holds for its date alone is not.
func TestKeepTrial(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, k := keepBook(t, shoptest.Book())
	_, head, err := a.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	req := PlanRequest{Date: testDate, Start: "08:30", If: changes(t, "without-hand cleo", "hand Dora weigh,pack", "bags row-mix=50", "must row-mix", "first hazel-leaves")}
	trial, err := a.Plan(ctx, PlanRequest{Date: testDate, If: changes(t, "hand Dora weigh,pack", "bags row-mix=50", "first hazel-leaves")})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.KeepTrial(ctx, req, head-1, "Ada", ""); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("another head: %v", err)
	}
	now, err := a.KeepTrial(ctx, req, head, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	if now != head+1 {
		t.Errorf("%d acts, want one", now-head)
	}
	acts, err := k.Acts(ctx, int64(head), 10)
	if err != nil || len(acts) != 1 || acts[0].Person != "Ada" || !strings.Contains(acts[0].Reason, "50 bags of Row mix") {
		t.Errorf("acts %+v, %v", acts, err)
	}
	b, _, err := a.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Hands) != 4 || b.Hands[3].Name != "Dora" || b.ToMake[1].Bags != 50 || b.ToMake[1].Must || b.Day.Opens != "08:00" || len(b.Day.Rules) != 2 {
		t.Errorf("kept %+v, %+v, %+v", b.Hands, b.ToMake, b.Day)
	}
	kept, err := a.Plan(ctx, PlanRequest{Date: testDate})
	if err != nil {
		t.Fatal(err)
	}
	trial.Compared = nil
	if planJSON(t, kept) != planJSON(t, trial) {
		t.Error("the kept plan is not the trial's")
	}
	if _, err := a.KeepTrial(ctx, PlanRequest{Date: testDate, If: changes(t, "not-today hazel-leaves")}, now, "Ada", ""); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("nothing to write: %v", err)
	}
	if now, err = a.KeepTrial(ctx, PlanRequest{Date: testDate, If: changes(t, "without row-mix")}, now, "Ada", "no market"); err != nil {
		t.Fatal(err)
	}
	if b, _, _ = a.Book(ctx); len(b.ToMake) != 2 {
		t.Errorf("lines %+v", b.ToMake)
	}
	// The last lines go beside a change of the day: nothing is left to make.
	if _, err = a.KeepTrial(ctx, PlanRequest{Date: testDate, If: changes(t, "without pear-bag", "without aniseed-jar", "break tea 10:00-10:30 10min")}, now, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	if b, _, _ = a.Book(ctx); len(b.ToMake) != 0 || len(b.Day.Breaks) != 2 {
		t.Errorf("lines %+v, breaks %+v", b.ToMake, b.Day.Breaks)
	}
}

func TestCost(t *testing.T) {
	t.Parallel()
	at := shoptest.Now()
	kept := Figures{Closed: at, CleaningMin: 40, Boils: 4, BagsMade: 90, PoursKept: 1, LeftKg: 1, Order: []string{"a", "b"}}
	for _, c := range []struct {
		change func(*Figures)
		want   string
	}{
		{func(*Figures) {}, "It costs nothing: the day stays as it is."},
		{func(f *Figures) { f.Order = []string{"b", "a"} }, "It costs nothing but another order."},
		{func(f *Figures) { f.Closed, f.CleaningMin = at.Add(25*60e9), 60 }, "Closed 25 min later, 20 min more cleaning."},
		{func(f *Figures) { f.Closed, f.Boils, f.BagsMade, f.BagsShort = at.Add(-65*60e9), 3, 76, 14 }, "Closed 1 h 5 min earlier, 1 boil fewer, 14 bags fewer, 14 bags more short."},
		{func(f *Figures) { f.PoursMissed, f.LeftKg = 1, 0.25 }, "1 announced pour more missed, 750 g less left over."},
		{func(f *Figures) { f.Boils, f.BagsMade = 0, 0 }, "Nothing is boiled, 4 boils fewer, 90 bags fewer."},
	} {
		trial := kept
		c.change(&trial)
		if got := cost(q.Plain, kept, trial); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
