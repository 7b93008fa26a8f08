package app_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/care"
	"slabside/internal/caution"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
)

var leafRolls = care.Thing{Kind: care.Rolls, ID: "leaf"}

// look writes to the ledger of a thing what must be taken, and returns the act.
func look(t *testing.T, a *app.App, e care.Entry, corrects int64) int64 {
	t.Helper()
	if err := a.WriteCare(context.Background(), e, corrects, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	c := cared(t, a, e.Thing)
	return c.Entries[len(c.Entries)-1].Act
}

func cared(t *testing.T, a *app.App, of care.Thing) *app.CareThing {
	t.Helper()
	c, err := a.CareOf(context.Background(), of)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func cracked(of care.Thing) care.Entry {
	return care.Entry{Thing: of, Found: &care.Found{Kind: care.Cracked, What: "a hair crack", Where: "third groove", Stops: true}}
}

func planned(t *testing.T, a *app.App) *app.DayPlan {
	t.Helper()
	p, err := a.Plan(context.Background(), app.PlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func recipesOf(p *app.DayPlan) []string {
	var out []string
	for _, x := range p.Batches {
		out = append(out, x.Recipe)
	}
	slices.Sort(out)
	return out
}

// A day is planned without what runs on cracked rolls, says why and what would help, and
// has it again once they are put right. Everything else is made as before.
func TestPlanWithoutCrackedRolls(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	before := planned(t, a)
	if !slices.Contains(recipesOf(before), "hazel-leaves") {
		t.Fatalf("the day makes %v", recipesOf(before))
	}
	look(t, a, cracked(leafRolls), 0)
	p := planned(t, a)
	// Of the pear barrels the second boil is for the mixture, which lacks the leaves.
	if got, want := recipesOf(p), []string{"aniseed-beads", "pear-barrels"}; !slices.Equal(got, want) {
		t.Errorf("the day makes %v, want %v", got, want)
	}
	slices.SortFunc(p.Unplaced, func(x, y app.Unplaced) int { return strings.Compare(x.Recipe, y.Recipe) })
	if len(p.Unplaced) != 2 || p.Unplaced[1].Why != "it would only fill what cannot be packed without hazel leaves" || p.Unplaced[0].Recipe != "hazel-leaves" || p.Unplaced[0].Why != "the Leaf rolls are out of use: cracked: a hair crack, third groove (found 17 March 2026)" {
		t.Errorf("not in the day: %+v", p.Unplaced)
	}
	if !slices.ContainsFunc(p.Unplaced[0].Lines, func(s string) bool { return strings.Contains(s, "Row mix") }) {
		t.Errorf("short are %v", p.Unplaced[0].Lines)
	}
	if !slices.ContainsFunc(p.Offers, func(s string) bool {
		return strings.Contains(s, "Leaf rolls") && strings.Contains(s, "Barrel (") && strings.Contains(s, "Bead (")
	}) {
		t.Errorf("offered: %q", p.Offers)
	}
	if i := slices.IndexFunc(p.Cautions, func(c app.Caution) bool { return c.Code == string(caution.OutOfUse) }); i < 0 || !strings.Contains(p.Cautions[i].Text, "Leaf rolls") {
		t.Errorf("no caution of it: %+v", p.Cautions)
	}
	for _, x := range p.Bags {
		if x.Product == "row-mix" && x.Planned {
			t.Error("a mixture is planned without one of its sweets")
		}
	}
	look(t, a, cracked(care.Thing{Kind: care.Rolls, ID: "barrel"}), 0)
	if p := planned(t, a); len(p.Unplaced) != 2 && slices.ContainsFunc(p.Offers, func(s string) bool { return strings.Contains(s, "Barrel (") || strings.Contains(s, "Everything fits") }) {
		t.Errorf("two pairs cracked: %+v, %q", p.Unplaced, p.Offers)
	}
	look(t, a, cracked(care.Thing{Kind: care.Kettle, ID: "tall-pan"}), 0)
	if p := planned(t, a); len(p.Batches) != 0 || len(p.Unplaced) == 0 {
		t.Errorf("without a kettle %d boils are made", len(p.Batches))
	}
	for _, of := range []care.Thing{{Kind: care.Rolls, ID: "barrel"}, {Kind: care.Kettle, ID: "tall-pan"}, leafRolls} {
		c := cared(t, a, of)
		look(t, a, care.Entry{Thing: of, Done: &care.Done{Work: care.Replaced, Settles: c.Faults[0].Act}}, 0)
	}
	if p := planned(t, a); !slices.Equal(recipesOf(p), recipesOf(before)) || len(p.Unplaced) != 0 {
		t.Errorf("put right, the day makes %v", recipesOf(p))
	}
}

// Another slab, hook or machine takes the place of one that is out of use; without a
// board the plan goes by the shorter time; a day without the last of a kind is not made.
func TestStoppedWithAnother(t *testing.T) {
	t.Parallel()
	stopped := func(kind, id string) app.Stopped {
		f := care.Fault{Found: care.Found{On: shoptest.Date, Kind: care.Loose, What: "a leg", Stops: true}, Act: 1}
		return app.Stopped{{Thing: care.Thing{Kind: kind, ID: id}, Faults: []care.Fault{f}}}
	}
	b := shoptest.Book()
	for _, c := range []struct {
		kind, id string
		another  func()
		boils    bool
	}{
		{care.Slab, "granite", nil, false},
		{care.Hook, "wall-hook", nil, true}, // of what is folded clear
		{care.Machine, "drop-machine", nil, false},
		{care.Glass, "glass", nil, false},
		{care.Board, "board", nil, true}, // the least charge is rolled while it lies on the slab
		{care.Sieve, "coarse", nil, true},
		{care.Slab, "granite", func() {
			b.Slabs = append(b.Slabs, rig.Slab{ID: "steel", Name: "Steel", Length: 1.2, Width: 0.7, Material: rig.Stainless})
		}, true},
		{care.Machine, "drop-machine", func() { b.Machines = append(b.Machines, rig.Machine{ID: "two", Name: "Other machine", Stop: true}) }, true},
		{care.Board, "board", func() { b.Kettles[0].LeastCharge = 8 }, false}, // of the least charge some goes short without it
	} {
		if c.another != nil {
			c.another()
		}
		p, err := app.MakePlan(context.Background(), b, app.PlanRequest{Date: shoptest.Date, Lines: b.ToMake[:1], Stopped: stopped(c.kind, c.id)})
		if err != nil {
			t.Fatal(err)
		}
		if (len(p.Batches) > 0) != c.boils {
			t.Errorf("without %s %s of %d: %d boils, want %t", c.kind, c.id, len(b.Slabs), len(p.Batches), c.boils)
		}
	}
}

// A check before the flame is not answered with yes while a fault says no; no, and the
// truth about an earlier day, are taken.
func TestChecksAreNotAnsweredByHabit(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	id, err := a.Begin(ctx, app.BeginRequest{Recipe: "hazel-leaves"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	other, err := a.Begin(ctx, app.BeginRequest{Recipe: "pear-barrels"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	earlier, err := a.Begin(ctx, app.BeginRequest{Recipe: "hazel-leaves", On: "2026-03-16"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	check := func(batch string, item record.Item, says record.Says) error {
		return a.MayEnter(ctx, record.Entry{Batch: batch, Checked: &record.Checked{Checks: []record.Check{{Item: item, Says: says}}}}, 0)
	}
	look(t, a, cracked(leafRolls), 0)
	machine := care.Thing{Kind: care.Machine, ID: "drop-machine"}
	guard := look(t, a, care.Entry{Thing: machine, Found: &care.Found{Kind: care.Guard, What: "hinge broken", Stops: true}}, 0)
	wants(t, "rolls", check(id, record.RollsWhole, record.Yes), fault.KindConflict, "checked.rolls")
	wants(t, "guards", check(id, record.GuardsOn, record.Yes), fault.KindConflict, "checked.guards")
	wants(t, "guards of another batch", check(other, record.GuardsOn, record.Yes), fault.KindConflict, "checked.guards")
	for name, err := range map[string]error{
		"no": check(id, record.RollsWhole, record.No), "the stop": check(id, record.StopWorks, record.Yes), "other rolls": check(other, record.RollsWhole, record.Yes),
		"the day before": check(earlier, record.RollsWhole, record.Yes),
	} {
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	r := recordOf(t, a, id)
	if r.Before.Ready || len(r.Before.OutOfUse) != 2 {
		t.Errorf("before the flame: %+v", r.Before)
	}
	for _, x := range r.Before.Asked {
		if want := x.Item == record.RollsWhole || x.Item == record.GuardsOn; want != (x.No != "") {
			t.Errorf("%s is told %q", x.Item, x.No)
		}
	}
	look(t, a, care.Entry{Thing: machine, Done: &care.Done{Work: care.Repaired, By: "the fitter", Settles: guard}}, 0)
	if err := check(other, record.GuardsOn, record.Yes); err != nil {
		t.Errorf("put right: %v", err)
	}
	enter(t, a, record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 149}}, 0)
	if err := check(id, record.RollsWhole, record.Yes); err != nil {
		t.Errorf("after the lift: %v", err)
	}
}

// What a record says is wrong is offered as a fault of the thing, until it is written
// down, and is none by itself.
func TestFaultsOffered(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	id := begin(t, a, "")
	enter(t, a, record.Entry{Batch: id, Checked: &record.Checked{Checks: []record.Check{{Item: record.StopWorks, Says: record.No}, {Item: record.RollsWhole, Says: record.Yes}}}}, 0)
	enter(t, a, record.Entry{Batch: id, After: &record.After{Rolls: record.No, Glass: record.No}}, 0)
	rolls := recordOf(t, a, id).Record().Begun().Recipe
	b, _ := kept(t, a)
	rec, _ := b.Recipe(rolls)
	list := func() []app.CareOffer {
		c, err := a.Care(ctx, "")
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Faults) > 0 && c.Faults[0].Batch == "" {
			t.Errorf("a fault that nobody wrote: %+v", c.Faults)
		}
		return c.Offered
	}
	offered := list()
	if len(offered) != 2 || offered[0].Thing != (care.Thing{Kind: care.Rolls, ID: rec.Rolls}) || offered[0].Batch != id || offered[1].Kind != care.Stop {
		t.Fatalf("offered: %+v", offered)
	}
	if c := cared(t, a, offered[1].Thing); len(c.Offered) != 1 || c.OutOfUse {
		t.Errorf("the machine: %+v", c)
	}
	o := offered[0]
	look(t, a, care.Entry{Thing: o.Thing, Found: &care.Found{On: o.On, Kind: care.Chipped, What: "a chip of 2 mm", Stops: true, Batch: o.Batch}}, 0)
	if left := list(); len(left) != 1 || left[0].Kind != care.Stop {
		t.Errorf("left: %+v", left)
	}
	if err := a.WriteCare(ctx, care.Entry{Thing: o.Thing, Found: &care.Found{Kind: care.Worn, What: "x", Batch: "nine"}}, 0, "Ada", ""); err == nil {
		t.Error("a fault of no batch is taken")
	}
}

// What is due by batches counts the batches made on the thing since, and the list has the
// most urgent first.
func TestCareDue(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	due := func(of care.Thing, d care.Due) { look(t, a, care.Entry{Thing: of, Due: &d}, 0) }
	pan := care.Thing{Kind: care.Kettle, ID: "tall-pan"}
	due(pan, care.Due{What: "tin the lining", EveryDays: 400, From: "2026-03-01"})
	due(leafRolls, care.Due{What: "oil the bearings", EveryBatches: 2, From: "2026-03-10"})
	due(care.Thing{Kind: care.Scale, ID: "counter"}, care.Due{What: "verify", By: "2026-03-16"})
	due(care.Thing{Kind: care.Glass, ID: "glass"}, care.Due{What: "crack test", EveryDays: 7, From: "2026-03-12"})
	for on, recipe := range map[string]string{"2026-03-10": "hazel-leaves", "2026-03-11": "hazel-leaves", "2026-03-12": "pear-barrels", "2026-03-16": "hazel-leaves"} {
		if _, err := a.Begin(ctx, app.BeginRequest{Recipe: recipe, On: on}, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	c, err := a.Care(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	type row struct {
		what    string
		urgency app.Urgency
	}
	var got []row
	for _, d := range c.Due {
		got = append(got, row{d.What, d.Urgency})
	}
	// Of the four batches two ran on the leaf rolls after the tenth.
	if want := []row{{"verify", app.Overdue}, {"oil the bearings", app.DueNow}, {"crack test", app.Soon}, {"tin the lining", app.Later}}; !slices.Equal(got, want) {
		t.Errorf("due: %v, want %v", got, want)
	}
	if n := c.Due[1].BatchesLeft; n == nil || *n != 0 {
		t.Errorf("batches left: %v", n)
	}
	look(t, a, care.Entry{Thing: leafRolls, Done: &care.Done{On: "2026-03-16", Work: care.Oiled, With: "white oil", FoodGrade: true, For: "oil the bearings"}}, 0)
	if d := cared(t, a, leafRolls).Due[0]; *d.BatchesLeft != 2 || d.DoneOn != "2026-03-16" || d.Urgency != app.Soon {
		t.Errorf("oiled: %+v", d)
	}
	for _, x := range []struct {
		name, field string
		kind        fault.Kind
		e           care.Entry
	}{
		{"to come", "found.on", fault.KindInvalid, care.Entry{Thing: pan, Found: &care.Found{On: "2026-03-18", Kind: care.Worn, What: "thin"}}},
		{"no such thing", "thing", fault.KindNotFound, care.Entry{Thing: care.Thing{Kind: care.Kettle, ID: "none"}, Due: &care.Due{What: "x", By: "2026-04-01"}}},
		{"no kind", "thing", fault.KindInvalid, care.Entry{Thing: care.Thing{Kind: "recipe", ID: "pear-barrels"}}},
	} {
		wants(t, x.name, a.WriteCare(ctx, x.e, 0, "Ada", ""), x.kind, x.field)
	}
	if _, err := a.CareOf(ctx, care.Thing{Kind: care.Kettle, ID: "none"}); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("a thing that is not there: %v", err)
	}
	if _, err := a.Care(ctx, "March"); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("no date: %v", err)
	}
}

// Oiling and wiping are told to be done stopped and isolated wherever rolls are cared for,
// untested metal asks for its test, and a guard or a stop stops the machine in words.
func TestCareCautions(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	has := func(c *app.CareThing, want ...caution.Code) {
		t.Helper()
		for _, x := range want {
			if !slices.Contains(codes(c.Cautions), string(x)) {
				t.Errorf("%s says %v, not %s", c.Name, codes(c.Cautions), x)
			}
		}
	}
	barrel := care.Thing{Kind: care.Rolls, ID: "barrel"}
	has(cared(t, a, barrel), caution.RollsClean, caution.WhoRepairs, caution.RepairMetal, caution.AcidOnCopper, caution.FoodOil)
	if c := cared(t, a, barrel); slices.Contains(codes(c.Cautions), string(caution.OldMetal)) || c.Tested == "" {
		t.Error("tested bronze asks for a test")
	}
	machine := care.Thing{Kind: care.Machine, ID: "drop-machine"}
	has(cared(t, a, machine), caution.RollsClean, caution.Guards)
	look(t, a, care.Entry{Thing: machine, Found: &care.Found{Kind: care.Stop, What: "runs on", Stops: true}}, 0)
	has(cared(t, a, machine), caution.OutOfUse, caution.StopDead)
}

// What would let a thing be used again is told apart, so that it can be left to whoever
// answers for it.
func TestCareReleases(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	act := look(t, a, cracked(leafRolls), 0)
	for name, c := range map[string]struct {
		e        care.Entry
		corrects int64
		want     bool
	}{
		"another fault": {cracked(leafRolls), 0, false},
		"settled":       {care.Entry{Thing: leafRolls, Done: &care.Done{Work: care.Repaired, Settles: act}}, 0, true},
		"oiled":         {care.Entry{Thing: leafRolls, Done: &care.Done{Work: care.Oiled, With: "white oil"}}, 0, false},
		"taken back":    {care.Entry{Thing: leafRolls}, act, true},
		"made less":     {care.Entry{Thing: leafRolls, Found: &care.Found{Kind: care.Worn, What: "a groove"}}, act, true},
		"put right":     {cracked(leafRolls), act, false},
	} {
		if got, err := a.CareReleases(ctx, c.e, c.corrects, "Bela"); err != nil || got != c.want {
			t.Errorf("%s: %t, %v, want %t", name, got, err, c.want)
		}
	}
}

// On other rolls a boil comes to what the boil itself says with the recipe on them, and
// bags are filled as a bag is filled anywhere: to the net weight and half a piece over it
// (common practice, no source: filled piece by piece until it holds the net weight).
func TestInsteadOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	look(t, a, cracked(care.Thing{Kind: care.Rolls, ID: "barrel"}), 0)
	r, err := a.InsteadOf(ctx, app.RollsRequest{Rolls: "barrel"})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Recipes) != 1 || r.Recipes[0].Recipe != "pear-barrels" || !strings.Contains(r.OutOfUse, "hair crack") {
		t.Fatalf("%+v", r)
	}
	x := r.Recipes[0]
	if x.Own.Rolls != "barrel" || x.Own.OutOfUse == "" || len(x.Others) != 2 || x.Others[0].Rolls != "leaf" {
		t.Fatalf("the others are %+v", x.Others)
	}
	b, _ := kept(t, a)
	for _, p := range append(x.Others, x.Own) {
		on := b
		on.Recipes = slices.Clone(b.Recipes)
		i := slices.IndexFunc(on.Recipes, func(r recipe.Recipe) bool { return r.ID == "pear-barrels" })
		on.Recipes[i].Rolls = p.Rolls
		boil, err := a.BoilIn(ctx, &on, app.BoilRequest{Recipe: "pear-barrels"})
		if err != nil {
			t.Fatal(err)
		}
		if *boil.Pieces != *p.Pieces {
			t.Errorf("%s: %+v pieces, the boil says %+v", p.Rolls, *p.Pieces, *boil.Pieces)
		}
		piece := p.SoundKg.Value / p.Pieces.Value
		for _, f := range p.Bags {
			if f.Product != "pear-bag" {
				continue
			}
			net := float64(8 * q.KilogramsPerOunce)
			if want := net/piece + 0.5; math.Abs(f.Pieces.Value-want) > 0.02*want {
				t.Errorf("%s: %g pieces a bag, want about %g", p.Rolls, f.Pieces.Value, want)
			}
			if want := p.SoundKg.Value / (net + piece/2); math.Abs(f.Bags.Value-want) > 1.5 || f.Bags.Value != math.Floor(f.Bags.Value) {
				t.Errorf("%s: %g bags, want about %g", p.Rolls, f.Bags.Value, want)
			}
		}
	}
	leaf, bead := x.Others[0], x.Others[1]
	if leaf.Pieces.Value <= x.Own.Pieces.Value || bead.Pieces.Value <= leaf.Pieces.Value {
		t.Error("smaller pieces are not more")
	}
	if leaf.ChangeMin != 7 || !leaf.Mounted || leaf.Material != string(rig.Stainless) {
		t.Errorf("%+v", leaf)
	}
	if !slices.ContainsFunc(bead.Differs, func(s string) bool { return strings.Contains(s, "fine sieve") }) || slices.ContainsFunc(leaf.Differs, func(s string) bool { return strings.Contains(s, "sieve") }) {
		t.Errorf("the sieve: %v and %v", bead.Differs, leaf.Differs)
	}
	for _, f := range leaf.Bags {
		text := strings.Join(f.Differs, "; ")
		switch f.Product {
		case "pear-bag":
			if !strings.Contains(text, "the name says barrel") || strings.Contains(text, "shares") {
				t.Errorf("of the bag: %s", text)
			}
		case "row-mix":
			if !strings.Contains(text, "reckoned anew") || len(f.Least) != 1 {
				t.Errorf("of the mixture: %s, %+v", text, f.Least)
			}
		}
	}
	// A 1 lb jar of another recipe has nothing to do with it.
	for _, c := range []struct {
		name, field string
		kind        fault.Kind
		req         app.RollsRequest
	}{
		{"nothing", "rolls", fault.KindInvalid, app.RollsRequest{}},
		{"no such rolls", "rolls", fault.KindNotFound, app.RollsRequest{Rolls: "none"}},
		{"no such recipe", "recipe", fault.KindNotFound, app.RollsRequest{Recipe: "none"}},
		{"not together", "rolls", fault.KindInvalid, app.RollsRequest{Rolls: "leaf", Recipe: "pear-barrels"}},
		{"no such product", "product", fault.KindNotFound, app.RollsRequest{Rolls: "barrel", Product: "none"}},
		{"of another recipe", "product", fault.KindNotFound, app.RollsRequest{Rolls: "barrel", Product: "aniseed-jar"}},
	} {
		_, err := a.InsteadOf(ctx, c.req)
		wants(t, c.name, err, c.kind, c.field)
	}
	one, err := a.InsteadOf(ctx, app.RollsRequest{Recipe: "pear-barrels", Product: "pear-bag", Charge: 5})
	if err != nil || len(one.Recipes[0].Own.Bags) != 1 || one.Recipes[0].ChargeKg != 5 {
		t.Errorf("of one product: %+v, %v", one, err)
	}
}
