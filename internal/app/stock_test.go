package app_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/record"
)

// makeStock makes a lot that must be taken.
func makeStock(t *testing.T, a *app.App, r app.MakeRequest) string {
	t.Helper()
	id, err := a.Make(context.Background(), r, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func lotOf(t *testing.T, a *app.App, id string) *app.LotResult {
	t.Helper()
	l, err := a.Lot(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// wrong holds a refusal against its field and a word of it.
func wrong(t *testing.T, what string, err error, field, says string) {
	t.Helper()
	var f *fault.Error
	if !errors.As(err, &f) || f.Field != field || !strings.Contains(err.Error(), says) {
		t.Errorf("%s: %v, want it at %q with %q", what, err, field, says)
	}
}

// A colour too small for the scale is dissolved one to five, as the sheet proposes: 50 g of
// it and 200 g of water, which is arithmetic. It is weighed by the solution and counted by
// the dose; on the shelf it counts as what is dissolved.
func TestStockSolution(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	green := receive(t, a, func(r *app.ReceiveRequest) {
		r.Ingredient, r.Mass, r.BestBefore, r.StatementOn, r.SupplierLot = "green", 0.2, "2026-09-01", "2026-01-05", "G-1"
	})
	part := func(id string, mg int64) []lot.Part { return []lot.Part{{Lot: id, MassMg: mg}} }
	good := app.MakeRequest{Of: part(green, 50_000), Carrier: "water", Strength: 0.2, BestBefore: "2026-03-24"}
	for _, c := range []struct {
		name, field, says string
		change            func(r *app.MakeRequest)
	}{
		{"of nothing", "received.made.of", "out of which lots", func(r *app.MakeRequest) { r.Of = nil }},
		{"of no such lot", "received.made.of", "there is no lot", func(r *app.MakeRequest) { r.Of = part("r2020-01-01-1", 1) }},
		{"of something else", "received.made.of", "nothing of", func(r *app.MakeRequest) { r.Ingredient = "red" }},
		{"in nothing", "received.made.carrier", "dissolved", func(r *app.MakeRequest) { r.Carrier = "" }},
		{"in syrup", "received.made.carrier", "no carrier", func(r *app.MakeRequest) { r.Carrier = "syrup" }},
		{"weighed otherwise", "received.made.strength_frac", "makes 16.67 %, not 20 %", func(r *app.MakeRequest) { r.CarrierMass = 0.25 }},
		{"water without a date", "received.best_before", "until when", func(r *app.MakeRequest) { r.BestBefore = "" }},
		{"longer than the colour", "received.best_before", "keeps no longer", func(r *app.MakeRequest) { r.BestBefore = "2026-09-02" }},
		{"past its date", "received.best_before", "past its date", func(r *app.MakeRequest) { r.BestBefore = "2026-03-16" }},
		{"more out than in", "received.mass_mg", "came out of", func(r *app.MakeRequest) { r.Mass = 0.3 }},
		{"tomorrow", "received.on", "not there yet", func(r *app.MakeRequest) { r.On = "2126-01-01" }},
		{"neither dissolved nor shared out", "received.made.carrier", "neither", func(r *app.MakeRequest) { r.Carrier, r.Strength = "", 0 }},
	} {
		r := good
		c.change(&r)
		_, err := a.Make(ctx, r, "Ada", "")
		wrong(t, c.name, err, c.field, c.says)
	}
	good.Mass = 0.249
	id := makeStock(t, a, good)
	l := lotOf(t, a, id)
	if m := l.Made; m == nil || m.Strength != 0.2 || m.CarrierMg != 200_000 || m.LostMg != 1000 || l.ReceivedMg != 249_000 || l.DoseMg != 49_800 || l.StatementOn != "2026-01-05" || l.Ingredient != "green" {
		t.Fatalf("made %+v of %+v", l, l.Made)
	}
	if l := lotOf(t, a, green); l.UsedMg != 50_000 || l.OnHandMg != 150_000 {
		t.Errorf("of the colour %d mg are used", l.UsedMg)
	}
	if s := shelf(t, stores(t, a), "green"); s.OnHandMg != 199_800 || s.FreeMg != 199_800 || s.UsedBy == "stores" {
		t.Errorf("the shelf holds %d mg, of it free %d, used by %q", s.OnHandMg, s.FreeMg, s.UsedBy)
	}

	batch := beginOf(t, a, "pear-barrels")
	line := lineAt(t, weighIn(t, a, batch), "green")
	if len(line.Lots) != 2 || line.Lots[0].Lot != id || line.Lots[0].Strength != 0.2 || line.Lots[0].Carrier != "water" || line.Lots[1].Lot != green {
		t.Fatalf("to weigh from are %+v", line.Lots)
	}
	mg := line.Lots[0].WeighMg
	if got := math.Abs(0.2*float64(mg) - float64(line.TargetMg)); got > float64(line.StepMg) {
		t.Errorf("%d mg of the solution for %d mg of colour", mg, line.TargetMg)
	}
	ask := func(from, ingredient, stage string, mg int64) error {
		return a.Weigh(ctx, app.WeighRequest{Batch: batch, Weighed: record.Weighed{Ingredient: ingredient, Stage: stage, Lot: from, MassMg: mg}}, "Ada")
	}
	wrong(t, "five times the dose", ask(id, "green", "end", 5*mg), "weighed.mass_mg", "the sheet says")
	if err := ask(id, "green", "end", mg); err != nil {
		t.Fatal(err)
	}
	line = lineAt(t, weighIn(t, a, batch), "green")
	if line.State != app.LineDone || line.DoneMg != lot.DoseMg(mg, 0.2) || line.Weighed[0].Strength != 0.2 || line.Weighed[0].MassMg != mg {
		t.Errorf("weighed from the solution: %+v", line)
	}
	if l := lotOf(t, a, id); l.UsedMg != mg {
		t.Errorf("%d mg are off the solution, want %d", l.UsedMg, mg)
	}
	if s := shelf(t, stores(t, a), "green"); s.UsedMg != lot.DoseMg(mg, 0.2) || s.UsedBy != "stores" {
		t.Errorf("used of late are %d mg by %q", s.UsedMg, s.UsedBy)
	}

	// In another carrier than the sheet counts on, or where it counts on none.
	oily := makeStock(t, a, app.MakeRequest{Of: part(green, 10_000), Carrier: "neutral oil", Strength: 0.2})
	wrong(t, "in oil", ask(oily, "green", "end", 1000), "weighed.lot", "in neutral oil")
	acid := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.Mass, r.SupplierLot = "citric", 1, "C-1" })
	sour := makeStock(t, a, app.MakeRequest{Of: part(acid, 100_000), Carrier: "water", Strength: 0.5, BestBefore: "2026-03-24"})
	wrong(t, "into a fold that counts on none", ask(sour, "citric", "fold", 1000), "weighed.lot", "a solution of 50 % in water")
	if l := lineAt(t, weighIn(t, a, batch), "citric"); len(l.Lots) != 1 || l.Lots[0].Lot != acid {
		t.Errorf("for the fold there are %+v", l.Lots)
	}

	// What was delivered is not made by a correction; what was made is corrected as it was made.
	_, err := a.Receive(ctx, app.ReceiveRequest{Lot: oily, Corrects: lotOf(t, a, oily).Entries[0].Act}, "Ada", "")
	wrong(t, "corrected as a delivery", err, "corrects", "made here")
	fix := app.MakeRequest{Lot: oily, Of: part(green, 12_000), Carrier: "neutral oil", Strength: 0.2, Corrects: lotOf(t, a, oily).Entries[0].Act}
	if makeStock(t, a, fix); lotOf(t, a, oily).OnHandMg != 60_000 || lotOf(t, a, green).UsedMg != 62_000 {
		t.Errorf("corrected, there are %d mg of it, and %d mg of the colour used", lotOf(t, a, oily).OnHandMg, lotOf(t, a, green).UsedMg)
	}
}

// A weak solution brings more water than the sheet counts on, and that is said.
func TestStockThatBringsMoreOfItsCarrier(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	green := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.Mass, r.SupplierLot = "green", 0.2, "G-1" })
	weak := makeStock(t, a, app.MakeRequest{Of: []lot.Part{{Lot: green, MassMg: 20_000}}, Carrier: "water", Strength: 0.02, BestBefore: "2026-03-24"})
	batch := beginOf(t, a, "pear-barrels")
	cautioned := func() bool {
		return slices.ContainsFunc(weighIn(t, a, batch).Cautions, func(c app.Caution) bool { return c.Code == "stock-carrier" && strings.Contains(c.Text, "wetter") })
	}
	if cautioned() {
		t.Error("cautioned before anything is weighed")
	}
	mg := lineAt(t, weighIn(t, a, batch), "green").Lots[0].WeighMg
	if err := a.Weigh(context.Background(), app.WeighRequest{Batch: batch, Weighed: record.Weighed{Ingredient: "green", Stage: "end", Lot: weak, MassMg: mg}}, "Ada"); err != nil {
		t.Fatal(err)
	}
	if !cautioned() {
		t.Errorf("%d mg of a solution of 2 %% and no word of its water", mg)
	}
}

// A hold of a lot freezes what is made of it, and what is made of that: nothing is weighed
// of it, made of it or used, and both ways it can be traced. A release lets it go.
func TestHoldFreezesWhatIsMadeOfIt(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	green := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.Mass, r.SupplierLot = "green", 0.2, "G-1" })
	stock := makeStock(t, a, app.MakeRequest{Of: []lot.Part{{Lot: green, MassMg: 50_000}}, Carrier: "water", Strength: 0.2, BestBefore: "2026-03-24"})
	vials := makeStock(t, a, app.MakeRequest{Of: []lot.Part{{Lot: stock, MassMg: 160_000}}, Packets: 5})
	if l := lotOf(t, a, vials); l.Made.Strength != 0.2 || l.Made.Carrier != "water" || l.Made.CarrierMg != 0 || l.BestBefore != "2026-03-24" {
		t.Errorf("the vials are %+v", l.Made)
	}
	batch := beginOf(t, a, "pear-barrels")
	weigh := func(mg int64) error {
		return a.Weigh(ctx, app.WeighRequest{Batch: batch, Weighed: record.Weighed{Ingredient: "green", Stage: "end", Lot: vials, MassMg: mg}}, "Ada")
	}
	if line := lineAt(t, weighIn(t, a, batch), "green"); line.Lots[1].Lot != vials || line.Lots[1].Packets != 5 || line.Lots[1].PacketMg != 32_000 {
		t.Errorf("the vials stand as %+v", line.Lots)
	}
	if err := weigh(20_000); err != nil {
		t.Fatal(err)
	}
	if got, want := idsOf(traced(t, a, green).Down), []string{stock, vials, batch}; !slices.Equal(got, want) {
		t.Errorf("the colour is in %v, want %v", got, want)
	}
	up := traced(t, a, batch).Up
	if got, want := idsOf(up), []string{vials, stock, green}; !slices.Equal(got, want) || up[1].MassMg != 160_000 || up[2].MassMg != 50_000 {
		t.Errorf("in the batch are %v, want %v: %+v", got, want, up)
	}

	write(t, a, lot.Entry{Lot: green, Placed: &lot.Placed{As: lot.Hold, Why: "another colour in it"}}, 0)
	for _, id := range []string{stock, vials} {
		if l := lotOf(t, a, id); l.Status != lot.Hold || !strings.Contains(l.Frozen, green) || !strings.Contains(l.Why, "another colour") {
			t.Errorf("%s is %s: %s", id, l.Status, l.Why)
		}
	}
	if s := shelf(t, stores(t, a), "green"); s.FreeMg != 0 || s.OnHandMg == 0 {
		t.Errorf("of the shelf %d of %d mg are free", s.FreeMg, s.OnHandMg)
	}
	if line := lineAt(t, weighIn(t, a, batch), "green"); len(line.Lots) != 0 || len(line.Stopped) != 3 {
		t.Errorf("to weigh from are %+v", line.Lots)
	}
	wrong(t, "weighed", weigh(1000), "lot", "on hold")
	wrong(t, "used", a.WriteLot(ctx, lot.Entry{Lot: vials, Used: &lot.Used{MassMg: 1}}, 0, "Ada", ""), "lot", "on hold")
	_, err := a.Make(ctx, app.MakeRequest{Of: []lot.Part{{Lot: vials, MassMg: 1000}}, Packets: 1}, "Ada", "")
	wrong(t, "made", err, "lot", "on hold")
	if _, err := a.Pack(ctx, app.PackRequest{Product: "pear-bag", Batches: []string{batch}, Bags: 1}, "Ada", ""); fault.KindOf(err) != fault.KindConflict || !strings.Contains(err.Error(), green) {
		t.Errorf("the batch is packed: %v", err)
	}
	if s, err := a.ScanFor(ctx, "green", vials); err != nil || s.Right {
		t.Errorf("the pot is taken: %+v, %v", s, err)
	}
	for id, frozen := range map[string][]string{green: {stock, vials, batch}} {
		r := traced(t, a, id)
		for _, s := range r.Down {
			if !s.Frozen || !slices.Contains(frozen, s.ID) {
				t.Errorf("%s is not frozen", s.ID)
			}
		}
		if r := traced(t, a, batch); r.Up[2].MassMg != 50_000 || len(r.Stopped) != 1 {
			t.Errorf("on hold, %d mg of the colour went in: %+v", r.Up[2].MassMg, r.Stopped)
		}
	}

	write(t, a, lot.Entry{Lot: green, Placed: &lot.Placed{As: lot.Usable, Why: "looked through"}}, 0)
	if err := weigh(1000); err != nil {
		t.Error(err)
	}
}

// Packets of an acid, weighed beforehand: each of the mass of a boil.
func TestPackets(t *testing.T) {
	t.Parallel()
	a := keptApp(t, false)
	acid := receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.Mass, r.SupplierLot = "citric", 1, "C-1" })
	id := makeStock(t, a, app.MakeRequest{Of: []lot.Part{{Lot: acid, MassMg: 470_500}}, Mass: q.Kilograms(0.47), Packets: 10})
	l := lotOf(t, a, id)
	if l.Made.Strength != 1 || l.Made.LostMg != 500 || l.BestBefore != "2028-01-01" || l.DoseMg != 470_000 {
		t.Errorf("the packets are %+v of %+v", l, l.Made)
	}
	batch := beginOf(t, a, "pear-barrels")
	line := lineAt(t, weighIn(t, a, batch), "citric")
	i := slices.IndexFunc(line.Lots, func(x app.WeighLot) bool { return x.Lot == id })
	if i < 0 || line.Lots[i].PacketMg != 47_000 || line.Lots[i].WeighMg != line.TargetMg {
		t.Errorf("they stand as %+v", line.Lots)
	}
	if err := a.Weigh(context.Background(), app.WeighRequest{Batch: batch, Weighed: record.Weighed{Ingredient: "citric", Stage: "fold", Lot: id, MassMg: 47_000}}, "Ada"); err != nil {
		t.Fatal(err)
	}
	if w := lineAt(t, weighIn(t, a, batch), "citric").Weighed[0]; w.Strength != 0 || w.DoseMg() != 47_000 {
		t.Errorf("weighed as %+v", w)
	}
}
