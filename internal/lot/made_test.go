package lot_test

import (
	"errors"
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/lot"
)

// A stock solution as it is made on a bench: 50 g of acid out of two lots and 50 g of
// water; 99 g came out.
func solution() lot.Received {
	return lot.Received{On: "2026-03-02", Ingredient: "citric", Supplier: "made here", BestBefore: "2026-03-09", MassMg: 99_000, MayContain: []string{"milk"},
		Made: &lot.Made{Of: []lot.Part{{"r2026-03-01-1", 30_000}, {"r2026-03-02-2", 20_000}}, Strength: 0.5, Carrier: "water", CarrierMg: 50_000, LostMg: 1000}}
}

func TestMadeEdges(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, field string
		change      func(r *lot.Received, m *lot.Made)
	}{
		{"as it is", "", func(*lot.Received, *lot.Made) {}},
		{"of nothing", "received.made.of", func(_ *lot.Received, m *lot.Made) { m.Of = nil }},
		{"of itself", "received.made.of", func(_ *lot.Received, m *lot.Made) { m.Of[0].Lot = id }},
		{"of one lot twice", "received.made.of", func(_ *lot.Received, m *lot.Made) { m.Of[1].Lot = m.Of[0].Lot }},
		{"of what came after", "received.made.of", func(_ *lot.Received, m *lot.Made) { m.Of[0].Lot = "r2026-03-03-1" }},
		{"of no lot", "received.made.of", func(_ *lot.Received, m *lot.Made) { m.Of[0].Lot = "sugar" }},
		{"of none of a lot", "received.made.of", func(_ *lot.Received, m *lot.Made) { m.Of[0].MassMg = 0 }},
		{"of no strength", "received.made.strength_frac", func(_ *lot.Received, m *lot.Made) { m.Strength = 0 }},
		{"stronger than all", "received.made.strength_frac", func(_ *lot.Received, m *lot.Made) { m.Strength = 1.01 }},
		{"stronger than what went in", "received.made.strength_frac", func(_ *lot.Received, m *lot.Made) { m.Strength = 0.51 }},
		{"in nothing that is named", "received.made.carrier", func(_ *lot.Received, m *lot.Made) { m.Carrier = " " }},
		{"more out than in", "received.mass_mg", func(r *lot.Received, m *lot.Made) { r.MassMg = 101_000; m.LostMg = -1000 }},
		{"a loss that is not named", "received.mass_mg", func(_ *lot.Received, m *lot.Made) { m.LostMg = 0 }},
		{"fewer than no packets", "received.made.packets", func(_ *lot.Received, m *lot.Made) { m.Packets = -1 }},
		{"more packets than are meant", "received.made.packets", func(_ *lot.Received, m *lot.Made) { m.Packets = lot.MostPackets + 1 }},
	} {
		r := solution()
		c.change(&r, r.Made)
		err := lot.Entry{Lot: id, Received: &r}.Check()
		var f *fault.Error
		if c.field == "" && err != nil || c.field != "" && (!errors.As(err, &f) || f.Field != c.field) {
			t.Errorf("%s: %v, want a fault at %q", c.name, err, c.field)
		}
	}
	if got := lot.DoseMg(99_000, 0.5); got != 49_500 {
		t.Errorf("99 g of a half solution hold %d mg", got)
	}
	if got := lot.DoseMg(7, 0); got != 7 {
		t.Errorf("7 mg of what is as it came hold %d mg", got)
	}
}

// A lot keeps no longer than what it is made of, and may contain what that may.
func TestFollowMade(t *testing.T) {
	t.Parallel()
	one := lot.Received{On: "2026-03-01", Ingredient: "citric", Supplier: "a", BestBefore: "2026-03-20", MassMg: 1e6, StatementOn: "2026-01-01", MayContain: []string{"milk"}}
	two := lot.Received{On: "2026-03-02", Ingredient: "citric", Supplier: "a", MassMg: 1e6}
	of := func(id string) ([]lot.Kept, error) {
		r := map[string]*lot.Received{"r2026-03-01-1": &one, "r2026-03-02-2": &two}[id]
		if r == nil {
			return nil, nil
		}
		return []lot.Kept{{Entry: lot.Entry{Lot: id, Received: r}, Act: 3}}, nil
	}
	bought := []lot.Kept{{Entry: lot.Entry{Lot: id, Received: &lot.Received{}}, Act: 9}}
	before := []lot.Kept{{Entry: lot.Entry{Lot: id, Received: ptr(solution())}, Act: 2}}
	for _, c := range []struct {
		name, field string
		kept        []lot.Kept
		change      func(r *lot.Received)
	}{
		{"as it is", "", nil, func(*lot.Received) {}},
		{"to the day", "", nil, func(r *lot.Received) { r.BestBefore = "2026-03-20" }},
		{"a day longer", "received.best_before", nil, func(r *lot.Received) { r.BestBefore = "2026-03-21" }},
		{"for ever", "received.best_before", nil, func(r *lot.Received) { r.BestBefore = "" }},
		{"without its milk", "received.may_contain", nil, func(r *lot.Received) { r.MayContain = []string{"soy"} }},
		{"of a lot that never was", "received.made.of", nil, func(r *lot.Received) { r.Made.Of[1].Lot = "r2026-03-02-7" }},
		{"of what was bought", "received.made", bought, func(*lot.Received) {}},
		{"bought after all", "received.made", before, func(r *lot.Received) { r.Made = nil }},
		{"of what came after it", "received.made.of", before, func(*lot.Received) {}},
	} {
		r := solution()
		c.change(&r)
		corrects := int64(0)
		if c.kept != nil {
			corrects = c.kept[0].Act
		}
		err := lot.FollowMade(c.kept, lot.Entry{Lot: id, Received: &r}, corrects, of)
		var f *fault.Error
		if c.field == "" && err != nil || c.field != "" && (!errors.As(err, &f) || f.Field != c.field) {
			t.Errorf("%s: %v, want a fault at %q", c.name, err, c.field)
		}
	}
}

func ptr[T any](v T) *T { return &v }

// house is the ledgers of a few lots, written as a store writes them: an entry and what
// it does to others at once, or none of it.
type house struct {
	kept map[string][]lot.Kept
	act  int64
}

func (h *house) write(e lot.Entry, corrects int64) bool {
	kept := h.kept[e.Lot]
	of := func(id string) ([]lot.Kept, error) { return h.kept[id], nil }
	if lot.Follow(kept, e, corrects) != nil || lot.FollowMade(kept, e, corrects, of) != nil {
		return false
	}
	type move struct {
		e        lot.Entry
		corrects int64
	}
	all := []move{{e, corrects}}
	for _, m := range lot.Moves(kept, e, corrects) {
		theirs := int64(0)
		for _, k := range h.kept[m.Lot] {
			if k.Act == corrects && k.Kind() != lot.Taking {
				theirs = corrects
			}
		}
		if lot.Follow(h.kept[m.Lot], m, theirs) != nil {
			return false
		}
		all = append(all, move{m, theirs})
	}
	h.act++
	for _, m := range all {
		h.kept[m.e.Lot] = append(h.kept[m.e.Lot], lot.Kept{Entry: m.e, Act: h.act, Corrects: m.corrects})
	}
	return true
}

// Whatever is made, corrected, taken back, used and counted: what every lot gave to others
// is what those say they took, and over the whole house what came from outside is on hand,
// used up, lost in the making, thrown away or unaccounted, to the milligram.
func TestMassesOfWhatIsMadeAddUp(t *testing.T) {
	t.Parallel()
	const day = "2026-03-02"
	made := 0
	rapid.Check(t, func(t *rapid.T) {
		h := &house{kept: map[string][]lot.Kept{}}
		ids := []string{}
		for i := range 6 {
			ids = append(ids, fmt.Sprintf("r%s-%d", day, i+1))
		}
		for _, id := range ids[:3] {
			h.write(lot.Entry{Lot: id, Received: &lot.Received{On: day, Ingredient: "citric", Supplier: "a", MassMg: 1e6}}, 0)
		}
		for range rapid.IntRange(1, 30).Draw(t, "acts") {
			id := rapid.SampledFrom(ids).Draw(t, "lot")
			e, corrects := lot.Entry{Lot: id}, int64(0)
			if kept := h.kept[id]; len(kept) > 0 && rapid.Bool().Draw(t, "corrects") {
				k := rapid.SampledFrom(kept).Draw(t, "which")
				if k.Used != nil && k.Used.Into != "" {
					continue // the store refuses to correct it there
				}
				corrects = k.Act
			}
			mg := rapid.Int64Range(1, 700_000)
			switch rapid.IntRange(0, 4).Draw(t, "what") {
			case 0, 1:
				m := &lot.Made{Strength: 0.01, Carrier: "water", CarrierMg: mg.Draw(t, "water")}
				for _, from := range rapid.SliceOfNDistinct(rapid.SampledFrom(ids), 1, 3, rapid.ID[string]).Draw(t, "of") {
					m.Of = append(m.Of, lot.Part{Lot: from, MassMg: mg.Draw(t, "part")})
				}
				m.LostMg = rapid.Int64Range(0, m.InMg()-1).Draw(t, "lost")
				m.Strength = rapid.Float64Range(1e-6, float64(m.InMg()-m.CarrierMg)/float64(m.InMg())).Draw(t, "strength")
				e.Received = &lot.Received{On: day, Ingredient: "citric", Supplier: "made here", MassMg: m.InMg() - m.LostMg, Made: m}
			case 2:
				e.Used = &lot.Used{MassMg: mg.Draw(t, "used")}
			case 3:
				e.Counted = &lot.Counted{FoundMg: mg.Draw(t, "found")}
			}
			if h.write(e, corrects) && e.Received != nil {
				made++
			}
		}
		gave, took := map[[2]string]int64{}, map[[2]string]int64{}
		var outside, lost, used, open, onHand int64
		for id, kept := range h.kept {
			l := lot.Fold(kept)
			if b := l.Balance; b.ReceivedMg-b.UsedMg-b.WastedMg-b.UnaccountedMg != b.OnHandMg || b.OnHandMg < 0 {
				t.Fatalf("%s: %+v does not add up", id, b)
			}
			for _, m := range l.Moves {
				switch {
				case m.Used != nil && m.Used.Into != "":
					gave[[2]string{id, m.Used.Into}] += m.Used.MassMg
				case m.Used != nil:
					used += m.Used.MassMg
				case m.Received != nil && m.Received.Made != nil:
					outside, lost = outside+m.Received.Made.CarrierMg, lost+m.Received.Made.LostMg
					for _, p := range m.Received.Made.Of {
						took[[2]string{p.Lot, id}] += p.MassMg
					}
				case m.Received != nil:
					outside += m.Received.MassMg
				}
			}
			open, onHand = open+l.UnaccountedMg, onHand+l.OnHandMg
		}
		if fmt.Sprint(gave) != fmt.Sprint(took) {
			t.Fatalf("lots gave %v, and what was made took %v", gave, took)
		}
		if outside != lost+used+open+onHand {
			t.Fatalf("%d mg came, %d were lost, %d used, %d open and %d on hand", outside, lost, used, open, onHand)
		}
	})
	if made == 0 {
		t.Error("nothing was ever made")
	}
}
