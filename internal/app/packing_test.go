package app_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"slabside/internal/app"
	"slabside/internal/caution"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

const counter = packing.ToCounter

// sound begins a batch of a recipe of which so much came out sound.
func sound(t *testing.T, a *app.App, recipe string, made q.Kilograms) string {
	t.Helper()
	id, err := a.Begin(context.Background(), app.BeginRequest{Recipe: recipe}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	if made > 0 {
		enter(t, a, record.Entry{Batch: id, Made: &record.Made{SoundMg: made.Milligrams()}}, 0)
	}
	return id
}

func pack(t *testing.T, a *app.App, r app.PackRequest) string {
	t.Helper()
	id, err := a.Pack(context.Background(), r, "Wilma", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func bagLot(t *testing.T, a *app.App, id string) *app.BagLot {
	t.Helper()
	l, err := a.BagLot(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func batchLeft(t *testing.T, a *app.App, id string) *app.BatchLeft {
	t.Helper()
	l, err := a.BatchLeft(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func has(list []app.Caution, code string) bool {
	return slices.ContainsFunc(list, func(c app.Caution) bool { return c.Code == code })
}

const (
	pearNet  = 8 * q.KilogramsPerOunce // of a bag of pear barrels
	pearRoll = 0.0038 * 1.01           // a piece, by its rolls and what dusting leaves on it [kg]
)

// Bags are packed, added to, put right and taken out; the batch they are of has an honest
// balance all the while. A bag holds its net weight and half a piece on the average, as
// the plan takes it (common practice, no source).
func TestPack(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	batch := sound(t, a, "pear-barrels", 6)
	lot := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1, Tare: 0.005})
	if want := "b" + shoptest.Date + "-1"; lot != want {
		t.Fatalf("packed as %s, want %s", lot, want)
	}
	if got := pack(t, a, app.PackRequest{Lot: lot, Batches: []string{batch}, Bags: 10, Tare: 0.005, Weighed: []q.Kilograms{0.233, 0.234}}); got != lot {
		t.Fatalf("added to %s", got)
	}
	if got := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 2}); got != "b"+shoptest.Date+"-2" {
		t.Fatalf("the next lot is %s", got)
	}
	l := bagLot(t, a, lot)
	each := pearNet + pearRoll/2
	if l.Balance.Packed != 11 || l.OnHand != 11 || len(l.Of) != 1 || math.Abs(float64(l.Of[0].MassMg)-11*each*1e6) > 12 {
		t.Errorf("%+v of %+v, want 11 bags of %.6g kg", l.Balance, l.Of, each)
	}
	if l.Check == nil || l.Check.Bags != 2 || l.Check.MeanMg != 228_500 || l.Rule == "" || has(l.Cautions, "bags-short") {
		t.Errorf("weighed: %+v by %q, %+v", l.Check, l.Rule, l.Cautions)
	}
	left := batchLeft(t, a, batch)
	if want := 6 - 13*each; math.Abs(float64(left.LeftMg)/1e6-want) > 1e-4 || left.MadeMg != left.PackedMg+left.LeftMg || len(left.In) != 2 {
		t.Errorf("%+v, want %.4f kg left in two lots", left.Loose, want)
	}

	// The ten were eleven: what went in with them is more too.
	act := l.Entries[1].Act
	pack(t, a, app.PackRequest{Lot: lot, Bags: 11, Corrects: act})
	if l = bagLot(t, a, lot); l.Balance.Packed != 12 || math.Abs(float64(l.Of[0].MassMg)-12*each*1e6) > 12 || l.TareMg != 5000 {
		t.Errorf("put right: %+v of %+v", l.Balance, l.Of)
	}

	// Out of the lot, and more than was there.
	move := func(bags int64, to packing.Out, order string) error {
		return a.WritePacking(ctx, packing.Entry{Ledger: lot, Moved: &packing.Moved{On: shoptest.Date, Bags: bags, To: to, For: order}}, 0, "Wilma", "")
	}
	if err := errors.Join(move(5, packing.ToOrder, "17"), move(8, counter, "")); err != nil {
		t.Fatal(err)
	}
	if l = bagLot(t, a, lot); l.OnHand != 0 || l.Unaccounted != -1 || l.Out.Order != 5 || l.Out.Counter != 8 {
		t.Errorf("thirteen of twelve bags went out: %+v", l.Balance)
	}

	// Held in one press, and once more by somebody slower; nothing goes out then.
	if err := errors.Join(a.HoldPacked(ctx, lot, "", "Wilma"), a.HoldPacked(ctx, lot, "", "Ada")); err != nil {
		t.Fatal(err)
	}
	if err := move(1, counter, ""); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("sold on hold: %v", err)
	}
	for _, c := range []struct {
		r     app.PackRequest
		kind  fault.Kind
		field string
	}{
		{app.PackRequest{Product: "none", Bags: 1}, fault.KindNotFound, "packed.product"},
		{app.PackRequest{Product: "pear-bag", Batches: []string{batch}}, fault.KindInvalid, "packed.bags"},
		{app.PackRequest{Product: "pear-bag", Bags: 1}, fault.KindInvalid, "packed.of"},
		{app.PackRequest{Product: "aniseed-jar", Batches: []string{batch}, Bags: 1}, fault.KindInvalid, "packed.of"},
		{app.PackRequest{Product: "pear-bag", Batches: []string{"2026-03-17-9"}, Bags: 1}, fault.KindNotFound, "packed.of"},
		{app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1, Scale: "none"}, fault.KindNotFound, "scale"},
		{app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 30}, fault.KindInvalid, "packed.why"},
		{app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 2, Mass: 0.1}, fault.KindInvalid, "packed.mass"},
		{app.PackRequest{Lot: lot, Batches: []string{batch}, Bags: 1}, fault.KindConflict, "lot"},
		{app.PackRequest{Lot: "b2026-03-17-7", Batches: []string{batch}, Bags: 1}, fault.KindNotFound, "lot"},
		{app.PackRequest{Lot: lot, Bags: 1, Corrects: 999}, fault.KindNotFound, "corrects"},
	} {
		_, err := a.Pack(ctx, c.r, "Wilma", "")
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != c.kind || f.Field != c.field {
			t.Errorf("%+v: %v, want %s at %s", c.r, err, c.kind, c.field)
		}
	}
	// More than is left goes in where it is said why, with a caution and openly.
	more := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 30, Why: "the tray was weighed too early"})
	if l = bagLot(t, a, more); !has(l.Cautions, "more-than-left") {
		t.Errorf("no caution: %+v", l.Cautions)
	}
	if left = batchLeft(t, a, batch); left.LeftMg != 0 || left.UnaccountedMg >= 0 || left.PackedMg+left.UnaccountedMg != left.MadeMg {
		t.Errorf("%+v", left.Loose)
	}
	// A batch that is put aside is not packed, and its bags are said to be of it.
	enter(t, a, record.Entry{Batch: batch, Placed: &record.Placed{As: record.OnHold, Why: "a chip of glass"}}, 0)
	if _, err := a.Pack(ctx, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1}, "Wilma", ""); fault.KindOf(err) != fault.KindConflict || !strings.Contains(err.Error(), "glass") {
		t.Errorf("packed out of a batch on hold: %v", err)
	}
	if l = bagLot(t, a, more); !slices.Equal(l.Aside, []string{batch}) || !strings.Contains(l.Frozen, "glass") {
		t.Errorf("aside %v, frozen %s", l.Aside, l.Frozen)
	}
}

// A mixture is of one batch of each of its sweets, and takes of each what the blend holds;
// of two batches of one sweet the first is used up first.
func TestPackMixture(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	pear, beads, leaves := sound(t, a, "pear-barrels", 1), sound(t, a, "aniseed-beads", 5), sound(t, a, "hazel-leaves", 0)
	again := sound(t, a, "pear-barrels", 5)
	lot := pack(t, a, app.PackRequest{Product: "row-mix", Batches: []string{pear, beads, leaves, again}, Bags: 20})
	l := bagLot(t, a, lot)
	total := int64(0)
	of := map[string]int64{}
	for _, s := range l.Of {
		total += s.MassMg
		of[s.Batch] += s.MassMg
	}
	// By pieces 2 : 3 : 1 of barrels, beads and leaves: by mass as their pieces weigh.
	b, _ := kept(t, a)
	barrel, bead, leaf := 2*0.0038, 3*q.KilogramsPerPound/500, 0.0024
	for i, piece := range []*float64{&barrel, &bead, &leaf} {
		*piece *= 1 + float64(b.Recipes[i].FinishGain)
	}
	sum := barrel + bead + leaf
	want := func(part float64) float64 { return part / sum * float64(total) }
	if of[pear] != 1_000_000 || math.Abs(float64(of[pear]+of[again])-want(barrel)) > 2 || math.Abs(float64(of[beads])-want(bead)) > 2 || math.Abs(float64(of[leaves])-want(leaf)) > 2 {
		t.Errorf("%v of %d mg", of, total)
	}
	if x := batchLeft(t, a, leaves); x.Weighed || !has(x.Cautions, "sound-not-weighed") {
		t.Errorf("%+v", x)
	}
	if r, err := a.PackingDay(context.Background()); err != nil || len(r.Batches) != 3 || len(r.Lots) != 1 || len(r.Lines) != 3 {
		t.Errorf("%+v, %v", r, err)
	}
}

// What is asked for, less what is there of earlier days, less what is packed today.
func TestPackLines(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	line := func() app.PackLine {
		t.Helper()
		l, err := a.PackedFor(ctx, "pear-bag")
		if err != nil {
			t.Fatal(err)
		}
		return *l
	}
	if l := line(); l.Asked != 30 || l.Must != 30 || l.Stock != 6 || l.Left != 24 || l.Fills != 0 || len(l.Short) != 1 {
		t.Errorf("before anything is made: %+v", l)
	}
	batch := sound(t, a, "pear-barrels", 3)
	if l := line(); l.Fills != 13 || !slices.Equal(l.Batches, []string{batch}) || len(l.Short) != 0 {
		t.Errorf("3 kg loose: %+v", l)
	}
	pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 10})
	if l := line(); l.Today != 10 || l.Stock != 0 || l.Left != 20 { // the list in the book no longer counts
		t.Errorf("ten packed: %+v", l)
	}
	if _, err := a.PackedFor(ctx, "none"); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("no product: %v", err)
	}
	lots, err := a.BagLots(ctx, app.BagQuery{Product: "pear-bag", Live: true, Limit: 5})
	if err != nil || len(lots.Lots) != 1 || lots.Next != "" {
		t.Errorf("%+v, %v", lots, err)
	}
	pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1})
	if lots, err = a.BagLots(ctx, app.BagQuery{Limit: 1}); err != nil || len(lots.Lots) != 1 || lots.Next == "" {
		t.Errorf("%+v, %v", lots, err)
	}
	if lots, err = a.BagLots(ctx, app.BagQuery{Limit: 1, Before: lots.Next}); err != nil || len(lots.Lots) != 1 || lots.Next != "" {
		t.Errorf("%+v, %v", lots, err)
	}
}

// The window by hand: eight ounces are 226.796 g, 5 g of bag, on the approved scale of
// half a gram; to it the heaviest barrel, a tenth over 3.838 g.
func TestPackWindow(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	w, err := a.PackWindow(ctx, "pear-bag", 0.005, "")
	if err != nil || w.Scale != "counter" || w.FromMg != 232_000 || w.ToMg != 236_500 || w.PieceMg != 4222 || !strings.Contains(w.Rule, "Handbook 133") || w.LeastMg != 226_796+5000-12_700 {
		t.Fatalf("%+v, %v", w, err)
	}
	if has(w.Cautions, string(caution.TradeScale)) || !has(w.Cautions, string(caution.NotLegal)) {
		t.Errorf("%+v", w.Cautions)
	}
	if w, err = a.PackWindow(ctx, "pear-bag", 0.005, "floor"); err != nil || w.FromMg != 232_000 || w.ToMg != 237_000 || !has(w.Cautions, string(caution.TradeScale)) {
		t.Errorf("on the floor scale, which is not approved: %+v, %v", w, err)
	}
	// Pieces that were counted tell what one weighs.
	batch := sound(t, a, "pear-barrels", 0)
	enter(t, a, record.Entry{Batch: batch, Made: &record.Made{SoundMg: 4_000_000, Pieces: 1000}}, 0)
	if w, err = a.PackWindow(ctx, "pear-bag", 0, ""); err != nil || w.PieceMg != 4400 || w.FromMg != 227_000 {
		t.Errorf("barrels of 4 g: %+v, %v", w, err)
	}
	if _, err := a.PackWindow(ctx, "none", 0, ""); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("no product: %v", err)
	}
}

// Jars: loose sweets and opened bags go in, a refill is said to be a blend, and a bag
// that is opened counts once.
func TestJars(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	first, second := sound(t, a, "pear-barrels", 3), sound(t, a, "pear-barrels", 3)
	lot := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{first}, Bags: 4})
	const jar = "j-counter-3"
	if err := a.OpenBags(ctx, lot, 1, jar, "Wilma", ""); err != nil {
		t.Fatal(err)
	}
	before := batchLeft(t, a, first).Loose
	if before.JarsMg != 0 || before.PackedMg != bagLot(t, a, lot).Of[0].MassMg {
		t.Errorf("an opened bag counts twice: %+v", before)
	}
	if err := a.FillJar(ctx, app.FillRequest{Jar: jar, Batch: second, Mass: 1}, "Wilma", ""); err != nil {
		t.Fatal(err)
	}
	j, err := a.Jar(ctx, jar)
	if err != nil || !j.Blend || len(j.Of) != 2 || !has(j.Cautions, "jar-is-a-blend") || math.Abs(float64(j.OnHandMg)/1e6-1-pearNet-pearRoll/2) > 1e-5 {
		t.Fatalf("%+v, %v", j, err)
	}
	if x := batchLeft(t, a, second); x.JarsMg != 1e6 || !slices.Equal(x.In, []string{jar}) {
		t.Errorf("%+v in %v", x.Loose, x.In)
	}
	if l := bagLot(t, a, lot); l.OnHand != 3 || l.Out.Opened != 1 {
		t.Errorf("%+v", l.Balance)
	}
	if err := a.FillJar(ctx, app.FillRequest{Jar: jar, Batch: second, Mass: 2.5}, "Wilma", ""); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("more than is left goes in: %v", err)
	}
	// What is taken without a bag.
	for _, e := range []packing.Entry{
		{Ledger: packing.LooseID(second), Taken: &packing.Taken{On: shoptest.Date, MassMg: 50_000, To: packing.ToTasting}},
		{Ledger: packing.LooseID(second), Left: &packing.Left{FoundMg: 1_900_000}},
	} {
		if err := a.WritePacking(ctx, e, 0, "Wilma", ""); err != nil {
			t.Fatal(err)
		}
	}
	if x := batchLeft(t, a, second); x.OutMg.Tasting != 50_000 || x.UnaccountedMg != 50_000 || x.LeftMg != 1_900_000 || len(x.Entries) != 2 {
		t.Errorf("%+v", x.Loose)
	}
	if err := a.WritePacking(ctx, packing.Entry{Ledger: "l2026-03-17-9", Left: &packing.Left{}}, 0, "Wilma", ""); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("of a batch that never was: %v", err)
	}
	enter(t, a, record.Entry{Batch: second, Placed: &record.Placed{As: record.OnHold}}, 0)
	if j, err = a.Jar(ctx, jar); err != nil || !strings.Contains(j.Frozen, second) {
		t.Errorf("%+v, %v", j.Cautions, err)
	}
	if err := errors.Join(a.HoldPacked(ctx, jar, "", "Wilma"), a.HoldPacked(ctx, jar, "", "Ada")); err != nil {
		t.Error(err)
	}
}

// When bags can be had: what is promised is not given away twice, each source is tried
// before the next, and what does not fit is said not to.
func TestWhen(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	when := func(product string, bags int) *app.WhenResult {
		t.Helper()
		w, err := a.When(ctx, product, bags)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	lines := func(l ...demand.Line) {
		t.Helper()
		_, head := kept(t, a)
		if err := a.SetToMake(ctx, l, head, "Ada", ""); err != nil {
			t.Fatal(err)
		}
	}
	// Six bags stand in the book, thirty are ordered: none is free.
	if w := when("pear-bag", 1); w.Rests == app.RestsStock || w.Promised != 30 || w.At == nil {
		t.Errorf("a bag that is promised: %+v", w)
	}
	lines(demand.Line{Product: "pear-bag", Bags: 4, Must: true, For: "order 9"})
	if w := when("pear-bag", 2); w.Rests != app.RestsStock || !w.Today || !w.At.Equal(shoptest.Now()) {
		t.Errorf("two of six are free: %+v", w)
	}
	// Made and not packed: by the time they are packed, from the opening of the room.
	batch := sound(t, a, "pear-barrels", 3)
	w := when("pear-bag", 8)
	b, _ := kept(t, a)
	open := shoptest.Now().Add(10 * time.Minute)
	if late := w.At.Sub(open); w.Rests != app.RestsLoose || late < time.Duration(6*b.Room.Times.PackBag) || late > time.Duration(6*b.Room.Times.PackBag)+time.Minute {
		t.Errorf("six more to be packed: %+v after the opening, %+v", late, w)
	}
	// What went out for the order is no longer waited for.
	lot := pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 4})
	if err := a.WritePacking(ctx, packing.Entry{Ledger: lot, Moved: &packing.Moved{On: shoptest.Date, Bags: 4, To: packing.ToOrder, For: "order 9"}}, 0, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	if w := when("pear-bag", 1); w.Promised != 0 {
		t.Errorf("the order has its bags: %+v", w)
	}
	// The day's plan makes them for the shelf, which gives way.
	lines(demand.Line{Product: "aniseed-jar", Bags: 8, For: "shelf"})
	w = when("aniseed-jar", 5)
	plan, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil || len(plan.Batches) == 0 {
		t.Fatalf("no plan: %v", err)
	}
	if w.Rests != app.RestsPlan || w.At.Before(plan.Batches[0].Cool) || !w.Today {
		t.Errorf("out of the plan: %+v", w)
	}
	// A boil of its own still fits in, and one that is far too much does not: honestly.
	lines()
	if w = when("aniseed-jar", 5); w.Rests != app.RestsBoil || !w.Today || w.At.Before(shoptest.Now()) {
		t.Errorf("with a boil of today: %+v", w)
	}
	if w = when("aniseed-jar", 4000); w.At != nil || w.Rests != "" || w.NotToday == "" || !strings.Contains(w.Says, "no time can be told") {
		t.Errorf("four thousand jars: %+v", w)
	}
	// A lot on hold is no stock.
	lines()
	free := when("pear-bag", 1)
	pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 3})
	if w = when("pear-bag", 3); w.Rests != app.RestsStock {
		t.Errorf("three packed: %+v, before %+v", w, free)
	}
	if err := a.HoldPacked(ctx, "b"+shoptest.Date+"-2", "", "Ada"); err != nil {
		t.Fatal(err)
	}
	if w = when("pear-bag", 3); w.Rests == app.RestsStock {
		t.Errorf("on hold, and given away: %+v", w)
	}
	for _, c := range []struct {
		product string
		bags    int
	}{{"none", 1}, {"pear-bag", 0}} {
		if _, err := a.When(ctx, c.product, c.bags); err == nil {
			t.Errorf("%+v is answered", c)
		}
	}
}

// What is packed leaves the plan as it is: it is not made anew for each bag.
func TestPackingKeepsThePlan(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	batch := sound(t, a, "pear-barrels", 6)
	before, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil {
		t.Fatal(err)
	}
	pack(t, a, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1})
	after, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil || after != before {
		t.Errorf("a bag, and the day is planned anew: %v", err)
	}
	sound(t, a, "hazel-leaves", 1)
	if after, err = a.Plan(ctx, app.PlanRequest{}); err != nil || after == before {
		t.Errorf("a batch, and the plan is the one of before it: %v", err)
	}
}
