package supply_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/supply"
)

const (
	day = "2026-03-02"
	id  = "s2026-03-02-1"
)

func received() *supply.Received {
	return &supply.Received{On: day, Supply: "bags", Unit: supply.Pieces, Amount: 1000, Supplier: "a", SupplierLot: "B-7", BestBefore: "2028-03-01", DeclaredOn: "2026-01-05"}
}

// The net calorific value of propane follows from the heats of formation of the usual
// tables (kJ/mol at 25 °C, from memory: propane -104.7, carbon dioxide -393.5, water vapour
// -241.8) and its molar mass, 44.10 g: C3H8 + 5 O2 = 3 CO2 + 4 H2O gives 2043 kJ/mol and
// 46.3 MJ/kg. A burner of 10 kW for an hour burns 10 kWh, which is 0.777 kg of it.
func TestBurnt(t *testing.T) {
	t.Parallel()
	heat := (3*393.5 + 4*241.8 - 104.7) / 44.10
	if math.Abs(heat-46.3) > 0.1 {
		t.Fatalf("propane gives %.2f MJ/kg", heat)
	}
	gas := supply.Supply{Kind: supply.Gas, Unit: supply.ByMass, HeatMJKg: heat}
	if mg, ok := gas.Burnt(10); !ok || math.Abs(mg-0.777e6) > 0.002e6 {
		t.Errorf("10 kWh burn %.0f mg, %t", mg, ok)
	}
	gas.Unit, gas.Holds = "", 19
	if n, ok := gas.Burnt(244.5); !ok || math.Abs(n-1) > 0.003 {
		t.Errorf("244.5 kWh burn %.4f cylinders of 19 kg, %t", n, ok)
	}
	for name, s := range map[string]supply.Supply{
		"no heat":        {Kind: supply.Gas, Holds: 19},
		"no cylinder":    {Kind: supply.Gas, HeatMJKg: heat},
		"bags burn, but": {Kind: supply.Packaging, Holds: 19, HeatMJKg: heat},
	} {
		if n, ok := s.Burnt(10); ok {
			t.Errorf("%s: %g", name, n)
		}
	}
}

func TestEachBag(t *testing.T) {
	t.Parallel()
	s := supply.Supply{GoesWith: []supply.Goes{{Pack: "small"}, {Product: "mint", Pieces: 2}}}
	for _, c := range []struct {
		product, pack string
		want          int64
	}{{"pear", "small", 1}, {"mint", "small", 3}, {"mint", "", 2}, {"pear", "large", 0}, {"", "", 0}} {
		if got := s.EachBag(c.product, c.pack); got != c.want {
			t.Errorf("%s in %s: %d, want %d", c.product, c.pack, got, c.want)
		}
	}
}

// Everything that cannot be meant is named by its field.
func TestCheck(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, field string
		change      func(e *supply.Entry)
	}{
		{"as it is", "", func(*supply.Entry) {}},
		{"another number", "lot", func(e *supply.Entry) { e.Lot = "r2026-03-02-1" }},
		{"two things", "lot", func(e *supply.Entry) { e.Used = &supply.Used{Amount: 1} }},
		{"another day", "received.on", func(e *supply.Entry) { e.Received.On = "2026-03-03" }},
		{"no day", "received.on", func(e *supply.Entry) { e.Received.On = "today" }},
		{"of nothing", "received.supply", func(e *supply.Entry) { e.Received.Supply = "" }},
		{"by the yard", "received.unit", func(e *supply.Entry) { e.Received.Unit = "yard" }},
		{"from nobody", "received.supplier", func(e *supply.Entry) { e.Received.Supplier = " " }},
		{"none", "received.amount", func(e *supply.Entry) { e.Received.Amount = 0 }},
		{"a shipload", "received.amount", func(e *supply.Entry) { e.Received.Amount = supply.Pieces.Most() + 1 }},
		{"no date", "received.best_before", func(e *supply.Entry) { e.Received.BestBefore = "soon" }},
		{"no date of a paper", "received.declared_on", func(e *supply.Entry) { e.Received.DeclaredOn = "yes" }},
		{"a bell", "received", func(e *supply.Entry) { e.Received.Note = "\a" }},
		{"used none", "used.amount", func(e *supply.Entry) { *e = supply.Entry{Lot: id, Used: &supply.Used{}} }},
		{"wasted for nothing", "wasted.why", func(e *supply.Entry) { *e = supply.Entry{Lot: id, Wasted: &supply.Wasted{Amount: 1}} }},
		{"found less than none", "counted.found", func(e *supply.Entry) { *e = supply.Entry{Lot: id, Counted: &supply.Counted{Found: -1}} }},
		{"sure to less than none", "counted.sure", func(e *supply.Entry) { *e = supply.Entry{Lot: id, Counted: &supply.Counted{Sure: -1}} }},
		{"nowhere", "placed.as", func(e *supply.Entry) { *e = supply.Entry{Lot: id, Placed: &supply.Placed{As: "cellar"}} }},
		{"released for nothing", "placed.why", func(e *supply.Entry) { *e = supply.Entry{Lot: id, Placed: &supply.Placed{As: lot.Usable}} }},
	} {
		e := supply.Entry{Lot: id, Received: received()}
		c.change(&e)
		err := e.Check()
		var f *fault.Error
		if c.field == "" && err != nil || c.field != "" && (!errors.As(err, &f) || f.Field != c.field) {
			t.Errorf("%s: %v, want a fault at %q", c.name, err, c.field)
		}
	}
}

// book is the ledger of a lot and what the packing took of it, as acts of one log.
type book struct {
	kept    []supply.Kept
	takings []supply.Taking
	act     int64
}

func (b *book) write(e supply.Entry, corrects int64) error {
	err := supply.Follow(b.kept, e, corrects)
	if err == nil {
		b.act++
		b.kept = append(b.kept, supply.Kept{Entry: e, Act: b.act, At: time.Unix(b.act, 0), Corrects: corrects})
	}
	return err
}

func (b *book) pack(n int64) {
	b.act++
	b.takings = append(b.takings, supply.Taking{Act: b.act, First: b.act, Amount: n})
}

// A thousand bags worked through by hand: packed, counted, put right, torn, on hold.
func TestFold(t *testing.T) {
	t.Parallel()
	b := &book{}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(b.write(supply.Entry{Lot: id, Received: received()}, 0))
	b.pack(300)
	must(b.write(supply.Entry{Lot: id, Counted: &supply.Counted{Found: 690, Sure: 5}}, 0)) // ten are missing
	b.pack(100)
	must(b.write(supply.Entry{Lot: id, Used: &supply.Used{Amount: 20, For: "samples"}}, 0))
	must(b.write(supply.Entry{Lot: id, Wasted: &supply.Wasted{Amount: 50, Why: "torn"}}, 0))
	l := supply.Fold(b.kept, b.takings)
	want := supply.Balance{Received: 1000, Packed: 400, Used: 20, Wasted: 50, Unaccounted: 10, OnHand: 520}
	if l.Balance != want || l.Sure != 5 || !l.Free() {
		t.Errorf("the balance is %+v, want %+v", l.Balance, want)
	}
	// The first press was of 310: what the count found missing was packed.
	b.takings[0].Amount, b.takings[0].Act = 310, 99
	if l := supply.Fold(b.kept, b.takings); l.Unaccounted != 0 || l.OnHand != 520 {
		t.Errorf("put right: %+v", l.Balance)
	}
	// More than there was.
	b.pack(600)
	if l := supply.Fold(b.kept, b.takings); l.OnHand != 0 || l.Unaccounted != -80 {
		t.Errorf("more than there was: %+v", l.Balance)
	}
	if r := supply.RowOf(b.kept); !r.Live || r.Of != "bags" || r.On != day || r.N != 1 {
		t.Errorf("found by %+v", r)
	}
	must(b.write(supply.Entry{Lot: id, Counted: &supply.Counted{}}, 0))
	if r := supply.RowOf(b.kept); r.Live || !r.Stands {
		t.Errorf("counted out, found by %+v", r)
	}
	must(b.write(supply.Entry{Lot: id, Placed: &supply.Placed{As: lot.Hold}}, 0))
	if r := supply.RowOf(b.kept); !r.Live {
		t.Error("what is on hold is not found when it is empty")
	}
	for name, c := range map[string]struct {
		e        supply.Entry
		corrects int64
		kind     fault.Kind
	}{
		"used on hold":           {supply.Entry{Lot: id, Used: &supply.Used{Amount: 1}}, 0, fault.KindConflict},
		"thrown away on hold":    {supply.Entry{Lot: id, Wasted: &supply.Wasted{Amount: 1, Why: "x"}}, 0, fault.KindConflict},
		"weaker":                 {supply.Entry{Lot: id, Placed: &supply.Placed{As: lot.Quarantine, Why: "x"}}, 0, fault.KindConflict},
		"received twice":         {supply.Entry{Lot: id, Received: received()}, 0, fault.KindConflict},
		"never received":         {supply.Entry{Lot: "s2026-03-02-9", Counted: &supply.Counted{}}, 0, fault.KindNotFound},
		"taken back with more":   {supply.Entry{Lot: id}, 1, fault.KindConflict},
		"taken back what":        {supply.Entry{Lot: id}, 0, fault.KindInvalid},
		"no such act":            {supply.Entry{Lot: id}, 2, fault.KindNotFound},
		"another thing":          {supply.Entry{Lot: id, Received: &supply.Received{On: day, Supply: "jars", Unit: supply.Pieces, Amount: 1, Supplier: "a"}}, 1, fault.KindInvalid},
		"into quarantine by way": {supply.Entry{Lot: id, Received: &supply.Received{On: day, Supply: "bags", Unit: supply.Pieces, Amount: 1, Supplier: "a", Waits: "x"}}, 1, fault.KindInvalid},
	} {
		kept := b.kept
		if c.e.Lot != id {
			kept = nil
		}
		if err := supply.Follow(kept, c.e, c.corrects); fault.KindOf(err) != c.kind || err == nil {
			t.Errorf("%s: %v, want %v", name, err, c.kind)
		}
	}
	must(b.write(supply.Entry{Lot: id, Placed: &supply.Placed{As: lot.Condemned, Why: "printed wrong"}}, 0))
	must(b.write(supply.Entry{Lot: id, Wasted: &supply.Wasted{Amount: 1, Why: "x"}}, 0))
}

// Whatever is written, corrected and packed in whatever order, a ledger adds up and holds
// no less than nothing.
func TestAddsUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := &book{}
		amount := rapid.Int64Range(1, 900)
		for range rapid.IntRange(1, 30).Draw(t, "acts") {
			e, corrects := supply.Entry{Lot: id}, int64(0)
			if len(b.kept) > 0 && rapid.Bool().Draw(t, "corrects") {
				corrects = rapid.SampledFrom(b.kept).Draw(t, "which").Act
			}
			switch rapid.IntRange(0, 6).Draw(t, "what") {
			case 0:
				e.Received = received()
				e.Received.Amount = amount.Draw(t, "received")
			case 1:
				e.Used = &supply.Used{Amount: amount.Draw(t, "used")}
			case 2:
				e.Wasted = &supply.Wasted{Amount: amount.Draw(t, "wasted"), Why: "torn"}
			case 3:
				e.Counted = &supply.Counted{Found: amount.Draw(t, "found") - 1}
			case 4:
				as := rapid.SampledFrom(lot.Statuses()).Draw(t, "as")
				e.Placed = &supply.Placed{As: as, Why: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "why")}
			case 5:
				b.pack(amount.Draw(t, "packed"))
				continue
			}
			_ = b.write(e, corrects)
		}
		l := supply.Fold(b.kept, b.takings)
		if x := l.Balance; x.Received-x.Packed-x.Used-x.Wasted-x.Unaccounted != x.OnHand || x.OnHand < 0 {
			t.Fatalf("%+v does not add up", x)
		}
		packed := int64(0)
		for _, x := range b.takings {
			packed += x.Amount
		}
		if l.Packed != packed {
			t.Fatalf("%d packed, the ledger says %d", packed, l.Packed)
		}
	})
}

// The first that expires goes out first, then the first that came; what has no date last.
func TestFirstOut(t *testing.T) {
	t.Parallel()
	of := func(id, best string) supply.Ledger {
		return supply.Ledger{ID: id, Receipt: &supply.Received{On: id[1:11], BestBefore: best}}
	}
	list := []supply.Ledger{of("s2026-03-01-2", "2027-01-01"), of("s2026-03-01-10", "2027-01-01"), of("s2026-03-02-1", "2027-01-01"), of("s2026-02-01-1", "2028-01-01"), of("s2026-01-01-1", "")}
	for i := 1; i < len(list); i++ {
		if supply.FirstOut(list[i-1], list[i]) >= 0 || supply.FirstOut(list[i], list[i-1]) <= 0 {
			t.Errorf("%s does not go out before %s", list[i-1].ID, list[i].ID)
		}
	}
}
