package app_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/bag"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/shoptest"
	"slabside/internal/store"
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

// What is stopped stops a jar too that its bags were opened into; what is for the bin goes
// into the bin, scraps that are to be boiled again into a kettle, and what went before is
// put right.
func TestStoppedGoesWhereItIsMeantTo(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	batch := sound(t, a, "pear-barrels", 6)
	bags := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 8})
	write := func(e packing.Entry, corrects int64) error { return a.WritePacking(ctx, e, corrects, "Ada", "") }
	moved := func(n int64, to packing.Out) packing.Entry {
		return packing.Entry{Ledger: bags, Moved: &packing.Moved{On: "2026-03-17", Bags: n, To: to, For: "torn"}}
	}
	taken := func(id string, to packing.Out) packing.Entry {
		return packing.Entry{Ledger: id, Taken: &packing.Taken{On: "2026-03-17", MassMg: 10_000, To: to, For: "dull"}}
	}
	if err := write(moved(2, packing.ToCounter), 0); err != nil {
		t.Fatal(err)
	}
	sold := bagLot(t, a, bags).Entries[1].Act
	if err := a.OpenBags(ctx, bags, 3, "j-counter-1", "Ada", ""); err != nil {
		t.Fatal(err)
	}
	if err := a.HoldPacked(ctx, bags, "short of weight", "Ada"); err != nil {
		t.Fatal(err)
	}
	stopped := func(what string, err error) {
		t.Helper()
		if fault.KindOf(err) != fault.KindConflict || !strings.Contains(err.Error(), "on hold") {
			t.Errorf("%s: %v", what, err)
		}
	}
	stopped("out of the jar", write(taken("j-counter-1", packing.ToTasting), 0))
	stopped("the jar emptied", write(packing.Entry{Ledger: "j-counter-1", Emptied: &packing.Emptied{On: "2026-03-17"}}, 0))
	if j, err := a.Jar(ctx, "j-counter-1"); err != nil || !strings.Contains(j.Frozen, bags) {
		t.Errorf("the jar is frozen by %q, %v", j.Frozen, err)
	}
	if r := traced(t, a, bags); !slices.Contains(idsOf(r.Down), "j-counter-1") {
		t.Errorf("the bags are in %v", idsOf(r.Down))
	}
	if err := write(packing.Entry{Ledger: bags, Placed: &packing.Placed{As: packing.Usable, Why: "weighed again"}}, 0); err != nil {
		t.Fatal(err)
	}

	place := func(as record.Place) {
		t.Helper()
		enter(t, a, record.Entry{Batch: batch, Placed: &record.Placed{As: as, Why: "dull"}}, 0)
	}
	loose := packing.LooseID(batch)
	place(record.OnHold)
	stopped("held, into the bin", write(taken(loose, packing.ToWaste), 0))
	right := moved(3, packing.ToCounter)
	right.Moved.On = "" // the day on which they went
	if err := write(right, sold); err != nil {
		t.Errorf("what went before is not put right: %v", err)
	}
	if e := bagLot(t, a, bags).Entries; e[len(e)-1].Entry.Moved.On != "2026-03-17" || right.Moved.On != "" {
		t.Errorf("put right, it went on %q", e[len(e)-1].Entry.Moved.On)
	}
	if err := write(right, 0); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("bags that went on no day: %v", err)
	}
	place(record.Reboiled)
	for to, ok := range map[packing.Out]bool{packing.ToCookBack: true, packing.ToWaste: true, packing.ToTasting: false} {
		if err := write(taken(loose, to), 0); (err == nil) != ok {
			t.Errorf("to be boiled again, %s: %v", to, err)
		}
	}
	place(record.Binned)
	if err := write(moved(1, packing.ToWaste), 0); err != nil {
		t.Errorf("for the bin, into the bin: %v", err)
	}
	if err := write(moved(1, packing.ToGift), 0); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("for the bin, given away: %v", err)
	}
	if b := traced(t, a, batch).Bags; b.Packed != 8 || b.OnHand != 1 || b.Kept != 4 || b.Counter != 3 || b.Reachable != 0.625 {
		t.Errorf("of the bags %+v", b)
	}
}

// A trace upwards goes as far back as there is something, and bags hold nothing that was
// made after their lot was begun.
func TestTraceReachesBack(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, k := keptIn(t)
	b, head := kept(t, a)
	meta := store.Meta{Person: "Ada", At: shoptest.Now()}
	const old = "2025-09-01-1" // half a year before
	sack := "r2025-08-30-1"
	for _, err := range []error{
		second(k.EnterLot(ctx, lot.Entry{Lot: sack, Received: &lot.Received{On: "2025-08-30", Ingredient: "sugar", Supplier: "Mill Lane Stores", MassMg: 25e6}}, 0, meta)),
		second(k.Enter(ctx, record.Entry{Batch: old, Begun: &record.Begun{On: old[:10], Book: int64(head), Recipe: "pear-barrels", ChargeMg: 9e6, Kettle: b.Kettles[0].ID, Glass: b.Glasses[0].ID}}, 0, meta)),
		second(k.Enter(ctx, record.Entry{Batch: old, Weighed: &record.Weighed{Ingredient: "sugar", Lot: sack, MassMg: 5e6}}, 0, meta)),
		second(k.Enter(ctx, record.Entry{Batch: old, Made: &record.Made{SoundMg: 6e6}}, 0, meta)),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	bags := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{old}, Bags: 4})
	if err := a.HoldLot(ctx, sack, "damp", "Ada"); err != nil {
		t.Fatal(err)
	}
	r := traced(t, a, bags)
	if got := idsOf(r.Up); !slices.Equal(got, []string{old, sack}) || len(r.Stopped) != 1 || r.Stopped[0].ID != sack || !slices.Contains(r.Allergy.Lots, sack) {
		t.Errorf("in the bags are %v, stopped by %v, for an allergy %v", got, r.Stopped, r.Allergy.Lots)
	}
	e := packing.Entry{Ledger: "b2025-09-01-1", Packed: &packing.Packed{On: "2025-09-01", Product: "pear-bag", Bags: 1, LabelMg: 227_000, FromMg: 227_000, ToMg: 233_000,
		Of: []packing.Share{{Batch: "2026-03-17-1", Recipe: "pear-barrels", MassMg: 230_000}}, Opens: true}}
	if err := a.WritePacking(ctx, e, 0, "Ada", ""); fault.KindOf(err) != fault.KindInvalid || !strings.Contains(err.Error(), "made after") {
		t.Errorf("bags of a batch to come: %v", err)
	}
}

func second(_ store.Head, err error) error { return err }

// A sweet that is made no more was made all the same.
func TestAllergyCard_RecipeGone(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	nuts := sound(t, a, "hazel-leaves", 4)
	b, head := kept(t, a)
	for _, p := range b.Products {
		if slices.ContainsFunc(p.Parts, func(x bag.Part) bool { return x.Recipe == "hazel-leaves" }) {
			if err := a.SetToMake(ctx, nil, head, "Ada", ""); err != nil {
				t.Fatal(err)
			}
			_, head = kept(t, a)
			if err := a.Retire(ctx, store.KindProduct, p.ID, head, "Ada", ""); err != nil {
				t.Fatal(err)
			}
			_, head = kept(t, a)
		}
	}
	if err := a.Retire(ctx, store.KindRecipe, "hazel-leaves", head, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	pears := sound(t, a, "pear-barrels", 6)
	here := traced(t, a, pears).Allergy.Here
	if !slices.ContainsFunc(here, func(h app.HandledHere) bool { return h.Allergen == "tree nut" && h.Last == nuts }) {
		t.Errorf("handled here: %+v", here)
	}
}
