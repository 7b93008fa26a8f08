package app_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

func traced(t *testing.T, a *app.App, id string) *app.TraceResult {
	t.Helper()
	r, err := a.Trace(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func idsOf(steps []app.TraceStep) []string {
	out := []string{}
	for _, s := range steps {
		out = append(out, s.ID)
	}
	return out
}

// A sack goes into a batch, its scraps into another, both into bags and one into a jar:
// one press on the sack freezes all of it at once, on every way out of the house, and
// nothing else. A release lets it go.
func TestHoldFreezesWhatHoldsIt(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	sack := receive(t, a, func(*app.ReceiveRequest) {})
	other := receive(t, a, func(r *app.ReceiveRequest) { r.SupplierLot = "S-201" })
	batch := func(lot string, made q.Kilograms) string {
		id := sound(t, a, "pear-barrels", made)
		mg := lineAt(t, weighIn(t, a, id), "sugar").TargetMg
		if err := a.Weigh(ctx, app.WeighRequest{Batch: id, Weighed: record.Weighed{Ingredient: "sugar", Lot: lot, MassMg: mg}}, "Ada"); err != nil {
			t.Fatal(err)
		}
		return id
	}
	one, two, three := batch(sack, 1), batch(other, 6), batch(other, 6)
	enter(t, a, record.Entry{Batch: two, CookedBack: &record.CookedBack{MassMg: 300_000, From: one}}, 0)
	mixed := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{one, two}, Bags: 10})
	clean := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{three}, Bags: 10})
	if err := a.FillJar(ctx, app.FillRequest{Jar: "j-counter-1", Batch: two, Mass: 1}, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	out := func(id string, bags int64, to packing.Out, order string) error {
		return a.WritePacking(ctx, packing.Entry{Ledger: id, Moved: &packing.Moved{On: "2026-03-17", Bags: bags, To: to, For: order}}, 0, "Ada", "")
	}
	for _, err := range []error{out(mixed, 2, packing.ToParcel, "17"), out(mixed, 3, packing.ToCounter, "")} {
		if err != nil {
			t.Fatal(err)
		}
	}

	down := traced(t, a, sack)
	if got, want := idsOf(down.Down), []string{one, mixed, two, "j-counter-1"}; !slices.Equal(sorted(got), sorted(want)) || len(down.Stopped) > 0 || down.Name != "Granulated sugar" {
		t.Errorf("the sack is in %v, want %v; stopped by %v", got, want, down.Stopped)
	}
	if b := down.Bags; b == nil || b.Packed != 10 || b.OnHand != 5 || b.ByName != 2 || b.Counter != 3 || b.Accounted != 1 || b.Reachable != 0.7 {
		t.Errorf("of its bags %+v", down.Bags)
	}
	up := traced(t, a, mixed)
	if got, want := idsOf(up.Up), []string{one, two, sack, other}; !slices.Equal(sorted(got), sorted(want)) {
		t.Errorf("in the bags are %v, want %v", got, want)
	}

	stop := func(what string, want bool, err error) {
		t.Helper()
		if (fault.KindOf(err) == fault.KindConflict) != want || want && !strings.Contains(err.Error(), sack) {
			t.Errorf("%s: %v, stopped wanted %t", what, err, want)
		}
	}
	if err := a.HoldAny(ctx, sack, "", "Wilma"); err != nil {
		t.Fatal(err)
	}
	try := func(want bool) {
		t.Helper()
		stop("bags over the counter", want, out(mixed, 1, packing.ToCounter, ""))
		stop("bags into the bin", want, out(mixed, 1, packing.ToWaste, "torn"))
		_, err := a.Pack(ctx, app.PackRequest{Product: "pear-bag", Batches: []string{two}, Bags: 1}, "Ada", "")
		stop("more bags", want, err)
		stop("into a jar", want, a.FillJar(ctx, app.FillRequest{Jar: "j-counter-2", Batch: one, Mass: 0.1}, "Ada", ""))
		stop("out of the jar", want, a.WritePacking(ctx, packing.Entry{Ledger: "j-counter-1", Taken: &packing.Taken{On: "2026-03-17", MassMg: 10_000, To: packing.ToTasting}}, 0, "Ada", ""))
		stop("loose", want, a.WritePacking(ctx, packing.Entry{Ledger: packing.LooseID(one), Taken: &packing.Taken{On: "2026-03-17", MassMg: 10_000, To: packing.ToTasting}}, 0, "Ada", ""))
		stop("cooked back", want, a.Enter(ctx, record.Entry{Batch: three, CookedBack: &record.CookedBack{MassMg: 10_000, From: one}}, 0, "Ada", ""))
		stop("what holds nothing of it", false, out(clean, 1, packing.ToCounter, ""))
	}
	try(true)
	if l := bagLot(t, a, mixed); l.Status != packing.Usable || !strings.Contains(l.Frozen, sack) {
		t.Errorf("the bags are %s, frozen: %s", l.Status, l.Frozen)
	}
	held, err := a.OnHold(ctx)
	if err != nil || len(held.Stopped) != 1 || held.Stopped[0].ID != sack || len(held.Stopped[0].Frozen) != 4 {
		t.Errorf("on hold: %+v, %v", held, err)
	}
	if r := traced(t, a, mixed); len(r.Stopped) != 1 || r.Stopped[0].ID != sack {
		t.Errorf("the bags are stopped by %v", r.Stopped)
	}
	write(t, a, lot.Entry{Lot: sack, Placed: &lot.Placed{As: lot.Usable, Why: "looked through"}}, 0)
	try(false)

	// A batch and bags are held in the same way.
	if err := a.HoldAny(ctx, three, "dull", "Wilma"); err != nil {
		t.Fatal(err)
	}
	if err := out(clean, 1, packing.ToCounter, ""); fault.KindOf(err) != fault.KindConflict || !strings.Contains(err.Error(), "dull") {
		t.Errorf("bags of a batch on hold: %v", err)
	}
	if err := a.HoldAny(ctx, "j-counter-1", "", "Wilma"); err != nil {
		t.Fatal(err)
	}
	held, _ = a.OnHold(ctx)
	if len(held.Stopped) != 2 {
		t.Errorf("on hold: %+v", held.Stopped)
	}
	for _, id := range []string{"x", "b2026-03-17-99", "2026-03-17-99", "r2026-03-17-99", "j-nobody"} {
		if _, err := a.Trace(ctx, id); err == nil {
			t.Errorf("%s is traced", id)
		}
	}
}

func sorted(list []string) []string { return slices.Sorted(slices.Values(list)) }

// The answer for an allergy goes by the lots that went in, names what is also handled
// here with what both touch, the last batch with it and what was cleaned and verified
// since; it never says free from.
func TestAllergyCard(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	sack := receive(t, a, func(r *app.ReceiveRequest) { r.StatementOn = "2026-01-05" })
	nuts := sound(t, a, "hazel-leaves", 4)
	pears := sound(t, a, "pear-barrels", 6)
	mg := lineAt(t, weighIn(t, a, pears), "sugar").TargetMg
	if err := a.Weigh(ctx, app.WeighRequest{Batch: pears, Weighed: record.Weighed{Ingredient: "sugar", Lot: sack, MassMg: mg}}, "Ada"); err != nil {
		t.Fatal(err)
	}
	bags := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{pears}, Bags: 4})
	card := func(id string) *app.AllergyCard {
		t.Helper()
		r := traced(t, a, id)
		if r.Allergy == nil {
			t.Fatalf("%s has no answer", id)
		}
		return r.Allergy
	}
	nut := func(c *app.AllergyCard) app.HandledHere {
		t.Helper()
		i := slices.IndexFunc(c.Here, func(h app.HandledHere) bool { return h.Allergen == "tree nut" })
		if i < 0 {
			t.Fatalf("nuts are not handled here: %+v", c.Here)
		}
		return c.Here[i]
	}
	c := card(bags)
	h := nut(c)
	if slices.Contains(c.Contains, "tree nut") || h.Last != nuts || len(h.Cleans) != 0 || !slices.Contains(h.Shared, "slab") || len(c.Statements) != 1 || c.Statements[0].On != "2026-01-05" {
		t.Errorf("the bags: %+v, nuts %+v", c, h)
	}
	if len(c.NotWeighed) != 1 || c.NotWeighed[0] != pears {
		t.Errorf("not every lot is written, and it says %v", c.NotWeighed)
	}
	text := strings.ToLower(c.Wording)
	if text == "" || strings.Contains(text, "free from") || strings.Contains(text, "safe") {
		t.Errorf("the wording is %q", c.Wording)
	}
	enter(t, a, record.Entry{Batch: nuts, Cleaned: &record.Cleaned{Surface: record.OnSlab, Kind: record.AllergenCleaned, By: "Ada"}}, 0)
	if h := nut(card(bags)); len(h.Cleans) != 0 {
		t.Errorf("a clean that nobody has verified counts: %v", h.Cleans)
	}
	enter(t, a, record.Entry{Batch: nuts, Cleaned: &record.Cleaned{Surface: record.OnSlab, Kind: record.AllergenCleaned, By: "Ada", Verified: "Bela"}}, 0)
	if h := nut(card(bags)); len(h.Cleans) != 1 || !strings.Contains(h.Cleans[0], "Bela") {
		t.Errorf("since then cleaned: %v", h.Cleans)
	}
	if c := card(nuts); !slices.Contains(c.Contains, "tree nut") || slices.ContainsFunc(c.Here, func(h app.HandledHere) bool { return h.Allergen == "tree nut" }) {
		t.Errorf("of the nuts: %+v", c)
	}
	if r := traced(t, a, sack); r.Allergy != nil {
		t.Error("a sack has an answer card")
	}
}

// What was written to a ledger is taken back on its own page and not by undoing the last
// change, which would say it did and do nothing.
func TestLedgersAreNotUndone(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	not := func(what string) {
		t.Helper()
		last, err := a.Last(ctx)
		if err != nil || last == nil || last.Undoable || len(last.What) != 1 || !strings.Contains(last.What[0], what) {
			t.Errorf("the last change is %+v, %v", last, err)
		}
	}
	lot := receive(t, a, func(*app.ReceiveRequest) {})
	not(lot)
	batch := sound(t, a, "pear-barrels", 6)
	bags := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 2})
	not(bags)
}
