package app_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/caution"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

func itemsOf(list []app.Asked) []record.Item {
	var out []record.Item
	for _, x := range list {
		out = append(out, x.Item)
	}
	return out
}

// past is the record of a batch of a recipe before, with an answer to the allergen clean.
func past(id, recipe string, clean record.Says) record.Record {
	kept := []record.Kept{{Entry: record.Entry{Batch: id, Begun: &record.Begun{On: id[:10], Book: 1, Recipe: recipe, ChargeMg: 1, Kettle: "k", Glass: "g"}}, Act: 1}}
	if clean != "" {
		kept = append(kept, record.Kept{Entry: record.Entry{Batch: id, Checked: &record.Checked{Checks: []record.Check{{Item: record.AllergenClean, Says: clean, By: "Bela"}}}}, Act: 2})
	}
	return record.Fold(kept)
}

// Which checks are asked follows from room, recipe and what was boiled before: each flips
// by the one thing that decides it. (Which are asked where: common practice, no source.)
func TestChecksAsked(t *testing.T) {
	t.Parallel()
	all := []record.Item{record.MachineSeated, record.GuardsOn, record.StopWorks, record.RollsWhole, record.GlassWhole, record.HoodOn, record.AlarmWorks}
	drop := func(items ...record.Item) []record.Item {
		return slices.DeleteFunc(slices.Clone(all), func(x record.Item) bool { return slices.Contains(items, x) })
	}
	with := func(x record.Item) []record.Item { return append(slices.Clone(all), x) }
	nut := past("2026-03-16-3", "hazel-leaves", "")
	for name, c := range map[string]struct {
		change func(b *book.Book, r *recipe.Recipe)
		before []record.Record
		want   []record.Item
	}{
		"as it is":           {nil, nil, all},
		"no rolls":           {func(_ *book.Book, r *recipe.Recipe) { r.Rolls = "" }, nil, drop(record.MachineSeated, record.GuardsOn, record.StopWorks, record.RollsWhole)},
		"no machine":         {func(b *book.Book, _ *recipe.Recipe) { b.Machines = nil }, nil, drop(record.MachineSeated, record.GuardsOn, record.StopWorks)},
		"no burner":          {func(b *book.Book, _ *recipe.Recipe) { b.Kettles[0].Burner = 0 }, nil, drop(record.HoodOn, record.AlarmWorks)},
		"a cooled slab":      {func(b *book.Book, _ *recipe.Recipe) { b.Slabs[0].Cooling = "channels" }, nil, with(record.WaterOn)},
		"cooled for trials":  {func(b *book.Book, _ *recipe.Recipe) { b.Slabs[0].Cooling, b.Slabs[0].TrialsOnly = "channels", true }, nil, all},
		"after the same":     {nil, []record.Record{past("2026-03-16-3", "pear-barrels", "")}, all},
		"after a nut":        {nil, []record.Record{nut}, with(record.AllergenClean)},
		"two after a nut":    {nil, []record.Record{past("2026-03-16-4", "pear-barrels", ""), nut}, with(record.AllergenClean)},
		"cleaned between":    {nil, []record.Record{past("2026-03-16-4", "pear-barrels", record.Yes), nut}, all},
		"not cleaned":        {nil, []record.Record{past("2026-03-16-4", "pear-barrels", record.No), nut}, with(record.AllergenClean)},
		"cleaned for it":     {nil, []record.Record{past("2026-03-16-4", "hazel-leaves", record.Yes)}, with(record.AllergenClean)},
		"of the same nut":    {func(b *book.Book, r *recipe.Recipe) { *r, _ = b.Recipe("hazel-leaves") }, []record.Record{nut}, all},
		"a recipe gone":      {nil, []record.Record{past("2026-03-16-3", "forgotten", "")}, with(record.AllergenClean)},
		"left of yesterday":  {func(b *book.Book, _ *recipe.Recipe) { b.Day.Residue = []book.Residue{{Family: "milk", Level: 1}} }, nil, with(record.AllergenClean)},
		"a trace of nothing": {func(b *book.Book, _ *recipe.Recipe) { b.Day.Residue = []book.Residue{{Family: "milk"}} }, nil, all},
		"nobody has said": {func(b *book.Book, _ *recipe.Recipe) {
			for i := range b.Ingredients {
				if b.Ingredients[i].ID == "aniseed-oil" {
					b.Ingredients[i].Statement = ""
				}
			}
		}, []record.Record{past("2026-03-16-3", "aniseed-beads", "")}, with(record.AllergenClean)},
	} {
		b := shoptest.Book()
		rec := b.Recipes[0]
		if c.change != nil {
			c.change(&b, &rec)
		}
		got := app.ChecksAsked(&b, rec, b.Kettles[0], c.before)
		if !slices.Equal(itemsOf(got), c.want) {
			t.Errorf("%s: asked %v, want %v", name, itemsOf(got), c.want)
		}
		if sheet := app.ChecksOnSheet(&b, b.Recipes[0].ID); slices.Contains(sheet, record.AllergenClean) || len(sheet) == 0 {
			t.Errorf("%s: the sheet has boxes for %v", name, sheet)
		}
		if last := got[len(got)-1]; last.Item == record.AllergenClean && last.Why == "" {
			t.Errorf("%s: it does not say why", name)
		}
	}
}

func recordOf(t *testing.T, a *app.App, id string) *app.RecordResult {
	t.Helper()
	r, err := a.Record(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func codes(list []app.Caution) []string {
	out := []string{}
	for _, c := range list {
		out = append(out, c.Code)
	}
	return out
}

// Before the flame all that is asked is to be answered; a no is taken like any other
// answer, shows its caution in its fixed wording, and marks the record.
func TestBeforeTheFlame(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	id := begin(t, a, "")
	r := recordOf(t, a, id)
	if r.Before == nil || len(r.Before.Asked) != 7 || r.Before.Ready || len(r.Cautions) != 0 {
		t.Fatalf("nothing answered: %+v, %+v", r.Before, r.Cautions)
	}
	answers := func(says record.Says) record.Entry {
		c := &record.Checked{}
		for _, x := range r.Before.Asked {
			c.Checks = append(c.Checks, record.Check{Item: x.Item, Says: record.Yes})
		}
		c.Checks[1].Says = says
		return record.Entry{Batch: id, Checked: c}
	}
	partly := answers(record.Yes)
	partly.Checked.Checks = partly.Checked.Checks[:6]
	enter(t, a, partly, 0)
	if r = recordOf(t, a, id); r.Before.Ready {
		t.Error("one is not answered, and it may be lit")
	}
	enter(t, a, answers(record.No), r.Entries[1].Act)
	r = recordOf(t, a, id)
	if want := []string{string(caution.NotBeforeFlame), string(caution.GuardOff)}; r.Before.Ready || !slices.Equal(codes(r.Cautions), want) || r.Cautions[0].Text != caution.Text(caution.NotBeforeFlame) {
		t.Errorf("a guard is off: ready %t, %+v", r.Before.Ready, r.Cautions)
	}
	list, err := a.Records(context.Background(), app.RecordQuery{Limit: 5})
	if err != nil || !list.Records[0].Marked {
		t.Errorf("the list does not mark it: %+v, %v", list, err)
	}
	enter(t, a, answers(record.NotHere), r.Entries[2].Act)
	if r = recordOf(t, a, id); !r.Before.Ready || len(r.Cautions) != 0 {
		t.Errorf("put right: %+v, %+v", r.Before, r.Cautions)
	}
	// Whatever is answered, what is written later is taken.
	enter(t, a, record.Entry{Batch: id, After: &record.After{Rolls: record.No, Glass: record.No}}, 0)
	enter(t, a, record.Entry{Batch: id, Found: &record.Found{Of: record.OfMetal, What: "a chip of bronze", Where: "in the siftings", Done: "batch held"}}, 0)
	enter(t, a, record.Entry{Batch: id, Cleaned: &record.Cleaned{Surface: record.OnSlab, Kind: record.AllergenCleaned, By: "Ada"}}, 0)
	enter(t, a, record.Entry{Batch: id, Cleaned: &record.Cleaned{Surface: record.OnRolls, Kind: record.AllergenCleaned, By: "Ada", Verified: "Bela"}}, 0)
	r = recordOf(t, a, id)
	want := []string{string(caution.RollsIntact), string(caution.GlassBrittle), string(caution.ForeignBody), string(caution.AllergenClean)}
	if !slices.Equal(codes(r.Cautions), want) || !strings.HasPrefix(r.Cautions[3].Text, "slab: ") {
		t.Errorf("after: %+v", r.Cautions)
	}
}

// An allergen before it is asked about by its batch.
func TestAllergenBefore(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	nut, err := a.Begin(context.Background(), app.BeginRequest{Recipe: "hazel-leaves"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	id := begin(t, a, "")
	last := recordOf(t, a, id).Before.Asked
	if x := last[len(last)-1]; x.Item != record.AllergenClean || !strings.Contains(x.Why, nut) {
		t.Errorf("asked %+v", x)
	}
	// Its scraps do not go in either, and no more of them than it kept.
	enter(t, a, record.Entry{Batch: nut, Made: &record.Made{EndsMg: 500_000, CookBackMg: 300_000}}, 0)
	back := func(mg int64, from string) record.Entry {
		return record.Entry{Batch: id, CookedBack: &record.CookedBack{MassMg: mg, From: from}}
	}
	enter(t, a, back(300_000, nut), 0)
	if got, want := codes(recordOf(t, a, id).Cautions), []string{string(caution.CookBack), string(caution.CookBackAllergens)}; !slices.Equal(got, want) {
		t.Errorf("cooked back: %v, want %v", got, want)
	}
	enter(t, a, back(1, nut), 0)
	if got := codes(recordOf(t, a, id).Cautions); len(got) != 3 || got[2] != "more-used" {
		t.Errorf("a milligram more than there is: %v", got)
	}
	ctx := context.Background()
	wants(t, "of no record", a.Enter(ctx, back(1, "2026-01-01-1"), 0, "Ada", ""), fault.KindNotFound, "cooked_back.from")
	wants(t, "more than the charge", a.Enter(ctx, back(10_000_001, ""), 0, "Ada", ""), fault.KindInvalid, "cooked_back.mass_mg")
	if err := a.MayEnter(ctx, back(10_000_000, ""), 0); err != nil {
		t.Errorf("the whole charge: %v", err)
	}
	wants(t, "no scale", a.Enter(ctx, record.Entry{Batch: id, Made: &record.Made{SoundMg: 1e6, Scale: "none"}}, 0, "Ada", ""), fault.KindNotFound, "made.scale")
}

// What was made stands beside what was planned and is flagged one step outside its range.
func TestMadeBesidePlanned(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	id := begin(t, a, "")
	plan := map[string]q.Estimate{}
	for _, l := range recordOf(t, a, id).Made {
		if l.Made != nil || !l.Planned.Spread() {
			t.Errorf("%+v", l)
		}
		plan[l.What] = l.Planned
	}
	if len(plan) != 3 {
		t.Fatalf("planned %v", plan)
	}
	mg := func(kg float64) int64 { return int64(math.Round(kg * 1e6)) }
	act := int64(0)
	for _, c := range []struct {
		step float64 // of the width of the range, past its end
		off  bool
	}{{-0.01, false}, {0.01, true}} {
		at := func(e q.Estimate) float64 { return e.High + c.step*(e.High-e.Low) }
		m := &record.Made{Pieces: int64(at(plan["pieces"])), SoundMg: mg(at(plan["sound"])), WebMg: mg(at(plan["scraps"])) - 1000, SiftingsMg: 1000, LeftMg: 5e6}
		enter(t, a, record.Entry{Batch: id, Made: m}, act)
		r := recordOf(t, a, id)
		act = r.Entries[len(r.Entries)-1].Act
		for _, l := range r.Made {
			if l.Made == nil || l.Off != c.off {
				t.Errorf("%s, %.0f %% of its range past it: %+v", l.What, 100*c.step, l)
			}
		}
	}
	// Pieces by the weight of a sample: 4 kg, of which 50 pieces weigh 200 g.
	enter(t, a, record.Entry{Batch: id, Made: &record.Made{SampleN: 50, SampleMg: 200_000, SoundMg: 4_000_000}}, act)
	if l := recordOf(t, a, id).Made[0]; l.Made == nil || *l.Made != 1000 {
		t.Errorf("by weight: %+v", l)
	}
}

// A loss that is put in and not written down shows as unaccounted to the gram, beyond
// what the kettle keeps; written down it is gone from there; nothing is made to fit.
func TestUnaccounted(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	id := begin(t, a, "")
	enter(t, a, weighed(t, a, id, 0), 0)
	act := int64(0)
	balance := func(m record.Made) *app.RecordResult {
		t.Helper()
		enter(t, a, record.Entry{Batch: id, Made: &m}, act)
		r := recordOf(t, a, id)
		act = r.Entries[len(r.Entries)-1].Act
		return r
	}
	made := record.Made{SoundMg: 6_000_000, EndsMg: 400_000, WebMg: 250_000, SiftingsMg: 60_000, LeftMg: 20_000, CookBackMg: 600_000, Scale: "floor"}
	r := balance(made)
	x := r.Balance
	if x == nil || !x.Weighed || len(x.Written) != 5 {
		t.Fatalf("%+v", x)
	}
	sum := 0.0
	for _, l := range x.Written {
		sum += float64(l.Kg)
	}
	if got, want := x.UnaccountedKg.Value, x.LiftKg.Value+x.AddedKg.Value-sum; math.Abs(got-want) > 1e-9 {
		t.Errorf("unaccounted %.6f kg, the lines say %.6f", got, want)
	}
	// Pear barrels are dusted to 1 % of the sound pieces by their recipe, within 25 % of it;
	// seven weighings on a scale of 1 g, a rectangle each (JCGM 100:2008, 4.3.7).
	finish := 6.0 * 0.01 / 1.01
	sd := math.Sqrt(7*1e-6/12 + finish*finish*0.25*0.25)
	if got, want := (x.UnaccountedKg.High-x.UnaccountedKg.Low)/2, 1.6449*sd; math.Abs(got-want) > 1e-5 {
		t.Errorf("the scales make ± %.5f kg of it, want %.5f", got, want)
	}
	// All sound but what the kettle keeps: nothing to look for.
	made.SoundMg += int64(math.Round((x.UnaccountedKg.Value - x.KettleKeepsKg.Value) * 1e6 / (1 - 0.01/1.01)))
	r = balance(made)
	if x = r.Balance; math.Abs(x.UnaccountedKg.Value-x.KettleKeepsKg.Value) > 1e-5 || slices.Contains(codes(r.Cautions), "unaccounted") {
		t.Fatalf("all there: %+v, %v", x, r.Cautions)
	}
	whole := x.UnaccountedKg.Value
	const loss = 0.5
	lost := made
	lost.EndsMg = 0
	lost.CookBackMg = 0
	lost.WebMg -= 100_000
	r = balance(lost) // 0.4 kg of ends and 0.1 kg of web are written nowhere
	if got := r.Balance.UnaccountedKg.Value - whole; math.Abs(got-loss) > 1e-9 {
		t.Errorf("half a kilogram is lost, and %.6f kg shows", got)
	}
	if !slices.Contains(codes(r.Cautions), "unaccounted") {
		t.Errorf("nothing is said of it: %v", r.Cautions)
	}
	lost.WasteMg = 500_000
	r = balance(lost)
	if got := r.Balance.UnaccountedKg.Value - whole; math.Abs(got) > 1e-9 || slices.Contains(codes(r.Cautions), "unaccounted") {
		t.Errorf("written as waste, and %.6f kg is missing: %v", got, r.Cautions)
	}
	lost.WasteMg += 1_000_000
	if r = balance(lost); !slices.Contains(codes(r.Cautions), "more-written") || r.Balance.UnaccountedKg.Value > 0 {
		t.Errorf("a kilogram too much: %+v, %v", r.Balance.UnaccountedKg, r.Cautions)
	}
	// Not weighed, the lift is the plan's and its range goes in.
	id = begin(t, a, "")
	enter(t, a, record.Entry{Batch: id, Made: &made}, 0)
	if y := recordOf(t, a, id).Balance; y == nil || y.Weighed || y.UnaccountedKg.High-y.UnaccountedKg.Low < 0.9*(y.LiftKg.High-y.LiftKg.Low) {
		t.Errorf("by the plan: %+v", y)
	}
}

// A sign-off says who, when and how far it was read; what comes after it shows, and what
// the record rules ask is listed item by item, what is not covered among it.
func TestSignedOff(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	id := begin(t, a, "")
	enter(t, a, weighed(t, a, id, 0), 0)
	r := recordOf(t, a, id)
	want := []record.Kind{record.Checking, record.Working, record.Making, record.Ending, record.Cleaning, record.Tasting}
	if r.Signed != nil || !slices.Equal(r.Open, want) {
		t.Errorf("signed %+v, open %v", r.Signed, r.Open)
	}
	sign := record.Entry{Batch: id, Signed: &record.Signed{Through: r.Record().Through(), Note: "all seen"}}
	enter(t, a, record.Entry{Batch: id, Tasted: &record.Tasted{Words: []record.Word{record.Good}}}, 0)
	wants(t, "written to meanwhile", a.Enter(context.Background(), sign, 0, "Ada", ""), fault.KindConflict, "signed.through_act")
	sign.Signed.Through = recordOf(t, a, id).Record().Through()
	enter(t, a, sign, 0)
	enter(t, a, record.Entry{Batch: id, Tasted: &record.Tasted{Words: []record.Word{record.Dull}}}, 0)
	r = recordOf(t, a, id)
	if s := r.Signed; s == nil || s.By != "Ada" || s.Through != sign.Signed.Through || s.Note != "all seen" || s.Later != 1 {
		t.Errorf("signed %+v", s)
	}
	for i, e := range r.Entries {
		if e.Unsigned != (i == len(r.Entries)-1) {
			t.Errorf("act %d stands after the sign-off: %t", e.Act, e.Unsigned)
		}
	}
	states := map[string]int{}
	for _, x := range r.Rules {
		states[x.State]++
		if (x.State == "not covered") != (x.Field == "") || x.Field == "" && x.Else == "" {
			t.Errorf("%+v", x)
		}
	}
	if states["written"] < 9 || states["not written"] < 5 || states["not covered"] < 5 || len(r.Rules) != len(record.Rules()) {
		t.Errorf("the rules: %v", states)
	}
}
