package app_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// receive takes in a delivery that must be taken.
func receive(t *testing.T, a *app.App, change func(r *app.ReceiveRequest)) string {
	t.Helper()
	r := app.ReceiveRequest{Ingredient: "sugar", Supplier: "Mill Lane Stores", SupplierLot: "S-200", BestBefore: "2028-01-01", Mass: 25}
	change(&r)
	id, err := a.Receive(context.Background(), r, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func write(t *testing.T, a *app.App, e lot.Entry, corrects int64) {
	t.Helper()
	if err := a.WriteLot(context.Background(), e, corrects, "Ada", ""); err != nil {
		t.Fatal(err)
	}
}

func stores(t *testing.T, a *app.App) *app.StoresResult {
	t.Helper()
	r, err := a.Stores(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func shelf(t *testing.T, r *app.StoresResult, id string) app.Shelf {
	t.Helper()
	i := slices.IndexFunc(r.Shelves, func(s app.Shelf) bool { return s.Ingredient == id })
	if i < 0 {
		t.Fatalf("no shelf of %s", id)
	}
	return r.Shelves[i]
}

// A delivery gets the next number of its day; what its supplier says of allergens and
// the book does not sends it into quarantine, when it comes or when it is put right.
func TestReceive(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	first := receive(t, a, func(r *app.ReceiveRequest) { r.StatementOn = "2026-01-01" })
	if want := "r" + shoptest.Date + "-1"; first != want {
		t.Errorf("the first lot is %s, want %s", first, want)
	}
	nut := receive(t, a, func(r *app.ReceiveRequest) {
		r.Ingredient, r.StatementOn, r.MayContain = "hazelnut", "2026-01-01", []string{"peanut", "sesame"}
	})
	l, err := a.Lot(ctx, nut)
	if err != nil || l.Status != lot.Quarantine || !strings.Contains(l.Why, "sesame") || strings.Contains(l.Why, "peanut") {
		t.Errorf("a statement that the book does not know: %+v, %v", l, err)
	}
	err = a.WriteLot(ctx, lot.Entry{Lot: nut, Used: &lot.Used{MassMg: 1}}, 0, "Ada", "")
	if fault.KindOf(err) != fault.KindConflict || !strings.Contains(err.Error(), "sesame") {
		t.Errorf("taken out of quarantine: %v", err)
	}

	// A correction leaves what it does not name, and moves nothing out of quarantine.
	l, _ = a.Lot(ctx, first)
	act := l.Entries[0].Act
	if _, err := a.Receive(ctx, app.ReceiveRequest{Lot: first, Corrects: act, Mass: 24.5, MayContain: []string{"milk"}}, "Bela", "weighed again"); err != nil {
		t.Fatal(err)
	}
	l, _ = a.Lot(ctx, first)
	if l.OnHandMg != 24_500_000 || l.SupplierLot != "S-200" || l.Status != lot.Quarantine || !strings.Contains(l.Why, "milk") {
		t.Errorf("corrected: %d mg, %q, %s: %s", l.OnHandMg, l.SupplierLot, l.Status, l.Why)
	}

	for _, c := range []struct {
		name, field string
		kind        fault.Kind
		change      func(r *app.ReceiveRequest)
	}{
		{"no such ingredient", "received.ingredient", fault.KindNotFound, func(r *app.ReceiveRequest) { r.Ingredient = "none" }},
		{"tomorrow", "received.on", fault.KindInvalid, func(r *app.ReceiveRequest) { r.On = "2026-03-18" }},
		{"past its date", "received.best_before", fault.KindInvalid, func(r *app.ReceiveRequest) { r.BestBefore = "2026-03-16" }},
		{"no allergen", "received.may_contain", fault.KindInvalid, func(r *app.ReceiveRequest) { r.StatementOn, r.MayContain = "2026-01-01", []string{"dust"} }},
		{"no statement", "received.statement_on", fault.KindInvalid, func(r *app.ReceiveRequest) { r.MayContain = []string{"milk"} }},
		{"nothing", "received.mass_mg", fault.KindInvalid, func(r *app.ReceiveRequest) { r.Mass = 0 }},
		{"a number that is taken", "lot", fault.KindConflict, func(r *app.ReceiveRequest) { r.Lot = first }},
	} {
		r := app.ReceiveRequest{Ingredient: "sugar", Supplier: "Mill Lane Stores", Mass: 25}
		c.change(&r)
		_, err := a.Receive(ctx, r, "Ada", "")
		var f *fault.Error
		if !errors.As(err, &f) || f.Kind != c.kind || f.Field != c.field {
			t.Errorf("%s: %v, want %s at %s", c.name, err, c.kind, c.field)
		}
	}
	receive(t, a, func(r *app.ReceiveRequest) { r.BestBefore = shoptest.Date }) // the last day is not past
}

// One act freezes a lot: the next moment it stands on no sheet, nothing is taken of it,
// it counts as nothing for the day, and a second hand that reaches for the same button
// is told nothing else.
func TestHoldFreezesEverywhere(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	late := receive(t, a, func(r *app.ReceiveRequest) { r.Mass = 1000 })
	soon := receive(t, a, func(r *app.ReceiveRequest) { r.BestBefore, r.SupplierLot, r.Mass = "2026-09-01", "", 0.5 })
	sheet := func() []string {
		p, err := a.Plan(ctx, app.PlanRequest{})
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range p.Batches[0].Sheet.Weigh {
			if l.Ingredient == "sugar" {
				return l.Lots
			}
		}
		return nil
	}
	if got := sheet(); !slices.Equal(got, []string{soon, "S-200 (" + late + ")"}) {
		t.Errorf("the sheet lists %q, want the first to expire first and none of the book's", got)
	}
	if r := stores(t, a); len(r.Short) != 0 || shelf(t, r, "sugar").FreeMg != 1000_500_000 {
		t.Errorf("short of %+v", r.Short)
	}
	for range 2 {
		if err := a.HoldLot(ctx, late, "", "Ada"); err != nil {
			t.Fatal(err)
		}
	}
	if got := sheet(); !slices.Equal(got, []string{soon}) {
		t.Errorf("the sheet lists %q after the hold", got)
	}
	err := a.WriteLot(ctx, lot.Entry{Lot: late, Used: &lot.Used{MassMg: 1}}, 0, "Bela", "")
	if fault.KindOf(err) != fault.KindConflict {
		t.Errorf("taken of a lot on hold: %v", err)
	}
	r := stores(t, a)
	s := shelf(t, r, "sugar")
	if len(r.Short) != 1 || r.Short[0].ShortMg != s.NeededMg-500_000 || r.Short[0].StoppedMg != 1000e6 || r.ShortMg != r.Short[0].ShortMg || len(r.Reorder) != 1 {
		t.Errorf("short of %+v, to be ordered %+v", r.Short, r.Reorder)
	}
	if err := a.HoldLot(ctx, late, "glass in the next sack", "Ada"); err != nil {
		t.Fatal(err)
	}
	if l, _ := a.Lot(ctx, late); l.Why != "glass in the next sack" || len(l.Entries) != 3 {
		t.Errorf("%d entries, %q", len(l.Entries), l.Why)
	}
	write(t, a, lot.Entry{Lot: late, Placed: &lot.Placed{As: lot.Usable, Why: "looked through: another mill"}}, 0)
	if got := sheet(); len(got) != 2 {
		t.Errorf("the sheet lists %q after the release", got)
	}
	if err := a.HoldLot(ctx, "r2026-03-01-1", "", "Ada"); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("a lot that never came is held: %v", err)
	}
}

// What the day needs is what its batch sheets weigh, and follows the lines to make.
func TestStoresNeedWhatSheetsWeigh(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	weighed := func() map[string]float64 {
		p, err := a.Plan(ctx, app.PlanRequest{})
		if err != nil || len(p.Unplaced) > 0 {
			t.Fatalf("%v, %d unplaced", err, len(p.Unplaced))
		}
		sum := map[string]float64{}
		for _, b := range p.Batches {
			for _, l := range b.Sheet.Weigh {
				sum[l.Ingredient] += l.MassKg.Value
			}
		}
		return sum
	}
	compare := func() (total float64) {
		t.Helper()
		want := weighed()
		for _, s := range stores(t, a).Shelves {
			got := float64(s.NeededMg) / 1e6
			const division = 0.001 // of the floor scale, at most nine boils of it
			if math.Abs(got-want[s.Ingredient]) > 9*division/2 {
				t.Errorf("%s: %.4f kg needed, the sheets weigh %.4f kg", s.Ingredient, got, want[s.Ingredient])
			}
			total += got
		}
		return total
	}
	before := compare()
	receive(t, a, func(*app.ReceiveRequest) {}) // an act of the stores changes nothing
	if after := compare(); after != before {
		t.Errorf("%g kg needed after a delivery, %g before", after, before)
	}
	b, head := kept(t, a)
	if err := a.SetToMake(ctx, []demand.Line{{Product: b.Products[0].ID, Bags: 1}}, head, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	receive(t, a, func(*app.ReceiveRequest) {})
	if after := compare(); after >= before {
		t.Errorf("%g kg needed for a bag, %g for the day before", after, before)
	}
}

// How long the stores last goes by what was taken of them, else by the batches that
// were begun, and an order is due when it may be gone before a delivery comes.
func TestCoverAndReorder(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	k := keeper(t)
	b := shoptest.Book()
	b.ToMake = nil
	a := app.New(k, shoptest.Now)
	if _, err := a.Import(ctx, b, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	id := receive(t, a, func(r *app.ReceiveRequest) { r.On, r.Mass = "2026-03-01", 100 })
	if s := shelf(t, stores(t, a), "sugar"); s.CoverDays != nil || s.UsedBy != "" {
		t.Errorf("nothing was used, and it lasts %+v", s.CoverDays)
	}
	batch := begin(t, a, shoptest.Date)
	s := shelf(t, stores(t, a), "sugar")
	if s.UsedBy != "batches" || s.UsedDays != 1 || s.CoverDays == nil {
		t.Fatalf("by %q in %d d", s.UsedBy, s.UsedDays)
	}
	boiled, err := a.Boil(ctx, app.BoilRequest{Recipe: b.Recipes[0].ID})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(boiled.Weigh, func(l app.WeighLine) bool { return l.Ingredient == "sugar" })
	if want := boiled.Weigh[i].MassKg.Value; math.Abs(float64(s.UsedMg)/1e6-want) > 0.0006 {
		t.Errorf("used %d mg, a boil weighs %g kg", s.UsedMg, want)
	}
	for range 3 {
		write(t, a, lot.Entry{Lot: id, Used: &lot.Used{MassMg: 5e6, Batch: batch}}, 0)
	}
	s = shelf(t, stores(t, a), "sugar")
	if s.UsedBy != "stores" || s.UsedMg != 15e6 || s.FreeMg != 85e6 {
		t.Errorf("by %q %d mg, %d mg free", s.UsedBy, s.UsedMg, s.FreeMg)
	}
	// Three takings of 5 kg in a day: 85 kg last 85/15 d; Garwood's limits of three are
	// 0.818 and 7.754.
	c := s.CoverDays
	for _, x := range []struct{ got, want float64 }{{c.Value, 85.0 / 15}, {c.Low, 17 / 7.754}, {c.High, 17 / 0.818}} {
		if math.Abs(x.got/x.want-1) > 0.02 {
			t.Errorf("lasts %.3f d, want %.3f", x.got, x.want)
		}
	}
	for _, days := range []int{0, int(c.Low), int(c.Low) + 1} {
		b.Ingredients[0].LeadDays = days
		if _, err := a.Import(ctx, b, "Ada", ""); err != nil {
			t.Fatal(err)
		}
		if r := stores(t, a); (len(r.Reorder) == 1) != (days > int(c.Low)) {
			t.Errorf("a delivery takes %d d, the stores last %.2f at least: to be ordered %+v", days, c.Low, r.Reorder)
		}
	}
	if _, err := a.Stores(ctx, "soon"); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("no date: %v", err)
	}
}

// A lot past its date is said to be, one whose date is near is marked, and a reader's
// figures are those of the shop.
func TestDatesInTheStores(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	for _, c := range []struct {
		best string
		days int
		soon bool
	}{{"2026-03-17", 0, true}, {"2026-04-16", 30, true}, {"2026-04-17", 31, false}} {
		id := receive(t, a, func(r *app.ReceiveRequest) { r.BestBefore, r.Ingredient = c.best, "salt" })
		l, err := a.Lot(context.Background(), id)
		if err != nil || *l.DaysLeft != c.days || l.Soon != c.soon {
			t.Errorf("%s: %d days, soon %t, %v", c.best, *l.DaysLeft, l.Soon, err)
		}
	}
	past := func(date string) int {
		r, err := a.Stores(context.Background(), date)
		if err != nil {
			t.Fatal(err)
		}
		return len(slices.DeleteFunc(r.Cautions, func(c app.Caution) bool { return c.Code != "past-date" }))
	}
	if past("2026-03-17") != 0 || past("2026-03-18") != 1 {
		t.Error("a lot is past its date on the day after it, and not before")
	}
	if r := stores(t, a); r.Units.System() != q.US || r.Shelves[0].Ingredient != "sugar" || len(shelf(t, r, "salt").Lots) != 3 {
		t.Errorf("%s, %+v", r.Units, r.Shelves[0])
	}
}

// What the shop book lists is taken in once, of ingredients of which nothing came in.
func TestReceiveListed(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	receive(t, a, func(*app.ReceiveRequest) {}) // of sugar
	b, _ := kept(t, a)
	want := 0
	for _, in := range b.Ingredients {
		if in.ID != "sugar" {
			want += len(in.Lots)
		}
	}
	if r := stores(t, a); r.Listed != want {
		t.Errorf("%d lots are listed, want %d", r.Listed, want)
	}
	for _, n := range []int{want, 0} {
		if ids, err := a.ReceiveListed(ctx, "Ada"); err != nil || len(ids) != n {
			t.Fatalf("%d lots were taken in, want %d: %v", len(ids), n, err)
		}
	}
	s := shelf(t, stores(t, a), "citric")
	if len(s.Lots) != 1 || s.Lots[0].SupplierLot != "C-9" || s.Lots[0].On != "2026-03-02" || s.OnHandMg != 25e6 {
		t.Errorf("%+v", s.Lots)
	}
}
