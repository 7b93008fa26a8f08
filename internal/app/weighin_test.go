package app_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/record"
)

func weighIn(t *testing.T, a *app.App, batch string) *app.WeighIn {
	t.Helper()
	w, err := a.WeighInOf(context.Background(), batch)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func lineAt(t *testing.T, w *app.WeighIn, ingredient string) app.WeighInLine {
	t.Helper()
	i := slices.IndexFunc(w.Lines, func(l app.WeighInLine) bool { return l.Ingredient == ingredient })
	if i < 0 {
		t.Fatalf("the sheet has no %s", ingredient)
	}
	return w.Lines[i]
}

// beginOf begins a batch by the book as it is.
func beginOf(t *testing.T, a *app.App, recipe string) string {
	t.Helper()
	id, err := a.Begin(context.Background(), app.BeginRequest{Recipe: recipe}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// A sheet is weighed line by line: lots in the order in which they go out, each weighing
// off its lot, and what is not the sheet's is refused at the field that is wrong.
func TestWeighIn(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	late := receive(t, a, func(r *app.ReceiveRequest) { r.BestBefore = "2029-01-01" })
	soon := receive(t, a, func(r *app.ReceiveRequest) { r.SupplierLot = "S-199" })
	held := receive(t, a, func(r *app.ReceiveRequest) { r.SupplierLot = "S-198" })
	syrup := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.SupplierLot = "syrup-42", "S-200" })
	nuts := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.SupplierLot = "hazelnut", "N-1" })
	write(t, a, lot.Entry{Lot: held, Placed: &lot.Placed{As: lot.Hold, Why: "damp"}}, 0)
	id := beginOf(t, a, "hazel-leaves")

	w := weighIn(t, a, id)
	sugar := lineAt(t, w, "sugar")
	if w.Next != 0 || sugar.State != app.LineOpen || sugar.TargetMg <= 0 || len(sugar.Lots) != 2 || sugar.Lots[0].Lot != soon || sugar.Lots[1].Lot != late || len(sugar.Stopped) != 1 || sugar.Stopped[0].Lot != held {
		t.Fatalf("the sheet begins with %+v", sugar)
	}
	if w.Contains.Whole || !slices.Contains(w.Contains.Contains, "tree nut") {
		t.Errorf("before anything is weighed it contains %+v", w.Contains)
	}
	ask := func(change func(r *app.WeighRequest)) error {
		r := app.WeighRequest{Batch: id, Weighed: record.Weighed{Ingredient: "sugar", Lot: soon, MassMg: sugar.TargetMg}}
		change(&r)
		return a.Weigh(ctx, r, "Ada")
	}
	for _, c := range []struct {
		name, field, says string
		change            func(r *app.WeighRequest)
	}{
		{"a lot of something else", "weighed.lot", "not", func(r *app.WeighRequest) { r.Weighed.Lot = syrup }},
		{"no such lot", "weighed.lot", "there is no lot", func(r *app.WeighRequest) { r.Weighed.Lot = "r2020-01-01-1" }},
		{"no lot", "weighed.lot", "out of which lot", func(r *app.WeighRequest) { r.Weighed.Lot = "" }},
		{"a lot on hold", "lot", "on hold", func(r *app.WeighRequest) { r.Weighed.Lot = held }},
		{"none of the sheet's", "weighed.ingredient", "has no", func(r *app.WeighRequest) { r.Weighed.Ingredient, r.Weighed.Lot = "aniseed-oil", "" }},
		{"for the wrong moment", "weighed.ingredient", "at the fold", func(r *app.WeighRequest) { r.Weighed.Stage = "fold" }},
		{"never heard of", "weighed.ingredient", "no ingredient", func(r *app.WeighRequest) { r.Weighed.Ingredient = "salt of the earth" }},
		{"too much", "weighed.mass_mg", "the sheet says", func(r *app.WeighRequest) { r.Weighed.MassMg = sugar.HighMg + 1 }},
		{"no such scale", "weighed.scale", "no scale", func(r *app.WeighRequest) { r.Weighed.Scale = "none" }},
		{"nuts by one alone", "weighed.checked_by", "two people", func(r *app.WeighRequest) {
			r.Weighed = record.Weighed{Ingredient: "hazelnut", Lot: nuts, MassMg: 1, Stage: lineAt(t, w, "hazelnut").Stage}
		}},
		{"nuts by the same twice", "weighed.checked_by", "second person", func(r *app.WeighRequest) {
			r.Weighed = record.Weighed{Ingredient: "hazelnut", Lot: nuts, MassMg: 1, Stage: lineAt(t, w, "hazelnut").Stage, Second: "ada"}
		}},
	} {
		err := ask(c.change)
		var f *fault.Error
		if !errors.As(err, &f) || f.Field != c.field || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v (at %q), want it at %s", c.name, err, f.Field, c.field)
		}
	}
	if w := weighIn(t, a, id); w.KettleMg != 0 {
		t.Fatalf("refused and yet %d mg are in", w.KettleMg)
	}

	// In two goes, out of two lots; the second ends the line.
	half := sugar.TargetMg / 2
	if err := ask(func(r *app.WeighRequest) { r.Weighed.MassMg = half }); err != nil {
		t.Fatal(err)
	}
	if l := lineAt(t, weighIn(t, a, id), "sugar"); l.State != app.LinePart || l.DoneMg != half {
		t.Errorf("half of it: %+v", l)
	}
	if err := ask(func(r *app.WeighRequest) {
		r.Weighed.MassMg, r.Weighed.Lot, r.Weighed.Scanned = sugar.TargetMg-half, late, true
	}); err != nil {
		t.Fatal(err)
	}
	w = weighIn(t, a, id)
	if l := lineAt(t, w, "sugar"); l.State != app.LineDone || w.Next != 1 || w.KettleMg != sugar.TargetMg || len(l.Weighed) != 2 {
		t.Errorf("both halves: %+v, next %d, %d in the kettle", l, w.Next, w.KettleMg)
	}
	if l, _ := a.Lot(ctx, soon); l.UsedMg != half {
		t.Errorf("%d mg are off the first lot", l.UsedMg)
	}

	// What is corrected counts once; more than the sheet says stands with its reason.
	act := lineAt(t, w, "sugar").Weighed[0].Act
	if err := ask(func(r *app.WeighRequest) { r.Weighed.MassMg, r.Corrects = half+sugar.TargetMg, act }); err == nil {
		t.Error("too much by a correction is taken")
	}
	if err := ask(func(r *app.WeighRequest) {
		r.Weighed.MassMg, r.Weighed.Why, r.Corrects = half+sugar.TargetMg, "the sack slipped", act
	}); err != nil {
		t.Error(err)
	}
	if l := lineAt(t, weighIn(t, a, id), "sugar"); l.State != app.LineOver || l.DoneMg != 2*sugar.TargetMg {
		t.Errorf("more than the sheet says: %+v", l)
	}

	// The nut by two people; then the record says which lots it holds.
	nut := lineAt(t, w, "hazelnut")
	if err := a.Weigh(ctx, app.WeighRequest{Batch: id, Weighed: record.Weighed{Ingredient: "hazelnut", Stage: nut.Stage, Portion: nut.Portion, Lot: nuts, MassMg: nut.TargetMg, Second: "Bela"}}, "Ada"); err != nil {
		t.Fatal(err)
	}
	r, err := a.Record(ctx, id)
	if err != nil || r.Contains == nil || !slices.Contains(r.Contains.Lots, nuts) || !slices.Contains(r.Contains.Lots, late) || r.Contains.Whole {
		t.Errorf("the record holds %+v, %v", r.Contains, err)
	}
}

// What a batch contains follows the lots that went in: a lot whose statement names more
// than the recipe says is told of, and so is one that nobody can name.
func TestStatementFollowsTheLots(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	other := receive(t, a, func(r *app.ReceiveRequest) { r.StatementOn, r.MayContain = "2026-01-01", []string{"sesame"} })
	write(t, a, lot.Entry{Lot: other, Placed: &lot.Placed{As: lot.Usable, Why: "looked at: it goes under a label of its own"}}, 0)
	id := beginOf(t, a, "pear-barrels")
	sugar := lineAt(t, weighIn(t, a, id), "sugar")
	if err := a.Weigh(ctx, app.WeighRequest{Batch: id, Weighed: record.Weighed{Ingredient: "sugar", Lot: other, MassMg: sugar.TargetMg}}, "Ada"); err != nil {
		t.Fatal(err)
	}
	r, err := a.Record(ctx, id)
	if err != nil || r.Contains == nil || !slices.Contains(r.Contains.May, "sesame") {
		t.Fatalf("it may contain %+v, %v", r.Contains, err)
	}
	says := func(code, word string) bool {
		return slices.ContainsFunc(r.Cautions, func(c app.Caution) bool { return c.Code == code && strings.Contains(c.Text, word) })
	}
	if !says("other-than-book", "sesame") || says("no-lot", "") {
		t.Errorf("cautions %v", r.Cautions)
	}
	act := lineAt(t, weighIn(t, a, id), "sugar").Weighed[0].Act
	if err := a.Weigh(ctx, app.WeighRequest{Batch: id, Corrects: act, Weighed: record.Weighed{Ingredient: "sugar", MassMg: sugar.TargetMg, Why: "the mark was torn off"}}, "Ada"); err != nil {
		t.Fatal(err)
	}
	if r, err = a.Record(ctx, id); err != nil || says("other-than-book", "") || !says("no-lot", "") {
		t.Errorf("out of a lot that nobody can name: %v, %v", r.Cautions, err)
	}
	if l, _ := a.Lot(ctx, other); l.UsedMg != 0 {
		t.Errorf("%d mg are off the lot still", l.UsedMg)
	}
}

// A code on a pot is right, of another pot, of a lot that is stopped, or of none.
func TestScanFor(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	first := receive(t, a, func(r *app.ReceiveRequest) { r.SupplierLot = "ABC123" })
	second := receive(t, a, func(r *app.ReceiveRequest) { r.SupplierLot, r.BestBefore = "ABC124", "2029-01-01" })
	syrup := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.SupplierLot = "syrup-42", "G-7" })
	held := receive(t, a, func(r *app.ReceiveRequest) { r.SupplierLot, r.BestBefore = "ABC125", "2029-02-01" })
	if err := a.HoldLot(ctx, held, "", "Ada"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, code string
		right      bool
		lot, says  string
	}{
		{"our number", first, true, first, "lot " + first},
		{"its mark", "abc123", true, first, first},
		{"a code of the supplier's", "]C1010952123454321310ABC123", true, first, first},
		{"one that goes out later", "ABC124", true, second, "goes out first"},
		{"another pot", "G-7", false, syrup, "WRONG POT"},
		{"on hold", held, false, held, "ON HOLD"},
		{"of none", "X-1", false, "", "No lot"},
	} {
		got, err := a.ScanFor(ctx, "sugar", c.code)
		if err != nil || got.Right != c.right || got.Lot != c.lot || !strings.Contains(got.Says, c.says) {
			t.Errorf("%s: %+v, %v", c.name, got, err)
		}
	}
	if _, err := a.ScanFor(ctx, "sugar", "]C10109521234543214"); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a misread code: %v", err)
	}
	if _, err := a.ScanFor(ctx, "nothing", first); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("for no ingredient: %v", err)
	}
}
