package lot_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/lot"
)

const id = "r2026-03-02-1"

func delivery() lot.Received {
	return lot.Received{On: "2026-03-02", Ingredient: "sugar", Supplier: "Mill Lane Stores", SupplierLot: "S-7", BestBefore: "2027-03-01",
		MassMg: 25e6, StatementOn: "2026-01-05", MayContain: []string{"milk"}, Certificate: "CoA 71"}
}

// Every figure is refused one step past what can be meant and taken one step inside.
func TestCheckEdges(t *testing.T) {
	t.Parallel()
	came := func(change func(r *lot.Received)) lot.Entry {
		r := delivery()
		change(&r)
		return lot.Entry{Lot: id, Received: &r}
	}
	placed := func(as lot.Status, why string) lot.Entry {
		return lot.Entry{Lot: id, Placed: &lot.Placed{As: as, Why: why}}
	}
	used := func(mg int64) lot.Entry { return lot.Entry{Lot: id, Used: &lot.Used{MassMg: mg}} }
	wasted := func(mg int64, why string) lot.Entry {
		return lot.Entry{Lot: id, Wasted: &lot.Wasted{MassMg: mg, Why: why}}
	}
	counted := func(mg, sure int64) lot.Entry {
		return lot.Entry{Lot: id, Counted: &lot.Counted{FoundMg: mg, SureMg: sure}}
	}
	for _, c := range []struct {
		name  string
		e     lot.Entry
		field string // of the refusal; empty: it is taken
	}{
		{"a delivery", came(func(*lot.Received) {}), ""},
		{"of another day", came(func(r *lot.Received) { r.On = "2026-03-03" }), "received.on"},
		{"of no day", came(func(r *lot.Received) { r.On = "March" }), "received.on"},
		{"of nothing", came(func(r *lot.Received) { r.MassMg = 0 }), "received.mass_mg"},
		{"of a milligram", came(func(r *lot.Received) { r.MassMg = 1 }), ""},
		{"the most", came(func(r *lot.Received) { r.MassMg = lot.MostMg }), ""},
		{"more", came(func(r *lot.Received) { r.MassMg = lot.MostMg + 1 }), "received.mass_mg"},
		{"from nobody", came(func(r *lot.Received) { r.Supplier = " " }), "received.supplier"},
		{"of no ingredient", came(func(r *lot.Received) { r.Ingredient = "" }), "received.ingredient"},
		{"without a date to use it by", came(func(r *lot.Received) { r.BestBefore = "" }), ""},
		{"no such date", came(func(r *lot.Received) { r.BestBefore = "2027-02-29" }), "received.best_before"},
		{"a statement of no date", came(func(r *lot.Received) { r.StatementOn = "" }), "received.statement_on"},
		{"a statement of nothing", came(func(r *lot.Received) { r.MayContain = nil }), ""},
		{"a line in a note", came(func(r *lot.Received) { r.Note = "a\nb" }), "received"},
		{"held at once", placed(lot.Hold, ""), ""},
		{"waiting for no reason", placed(lot.Quarantine, ""), "placed.why"},
		{"released for no reason", placed(lot.Usable, " "), "placed.why"},
		{"condemned for no reason", placed(lot.Condemned, ""), "placed.why"},
		{"nowhere", placed("attic", "x"), "placed.as"},
		{"nothing used", used(0), "used.mass_mg"},
		{"a milligram used", used(1), ""},
		{"wasted for no reason", wasted(1, ""), "wasted.why"},
		{"nothing wasted", wasted(0, "spilt"), "wasted.mass_mg"},
		{"nothing found", counted(0, 0), ""},
		{"less than nothing found", counted(-1, 0), "counted.found_mg"},
		{"surer than sure", counted(1, -1), "counted.sure_mg"},
		{"no number", lot.Entry{Lot: "2026-03-02-1", Counted: &lot.Counted{}}, "lot"},
	} {
		err := c.e.Check()
		var f *fault.Error
		switch is := errors.As(err, &f); {
		case c.field == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.field != "" && (!is || f.Kind != fault.KindInvalid || f.Field != c.field):
			t.Errorf("%s: %v, want a refusal of %s", c.name, err, c.field)
		}
	}
	two := used(1)
	two.Counted = &lot.Counted{}
	if two.Check() == nil {
		t.Error("an entry of two things is taken")
	}
}

// Keys carry their units, and what is not there is left out.
func TestJSON(t *testing.T) {
	t.Parallel()
	text, err := json.Marshal(lot.Entry{Lot: id, Counted: &lot.Counted{FoundMg: 5}})
	if want := `{"lot":"r2026-03-02-1","counted":{"found_mg":5}}`; err != nil || string(text) != want {
		t.Errorf("%s, %v, want %s", text, err, want)
	}
}

// ledger writes entries as a store does.
type ledger struct {
	kept []lot.Kept
	act  int64
}

func (l *ledger) do(e lot.Entry, corrects int64) (int64, error) {
	e.Lot = id
	if err := lot.Follow(l.kept, e, corrects); err != nil {
		return 0, err
	}
	l.act++
	at := time.Date(2026, 3, 2, 8, 0, int(l.act), 0, time.UTC)
	l.kept = append(l.kept, lot.Kept{Entry: e, Act: l.act, Corrects: corrects, Person: "Ada", At: at})
	return l.act, nil
}

func (l *ledger) must(t interface{ Fatalf(string, ...any) }, e lot.Entry, corrects int64) int64 {
	act, err := l.do(e, corrects)
	if err != nil {
		t.Fatalf("%s: %v", e.Kind(), err)
	}
	return act
}

func used(mg int64) lot.Entry    { return lot.Entry{Used: &lot.Used{MassMg: mg}} }
func counted(mg int64) lot.Entry { return lot.Entry{Counted: &lot.Counted{FoundMg: mg}} }
func wasted(mg int64) lot.Entry  { return lot.Entry{Wasted: &lot.Wasted{MassMg: mg, Why: "spilt"}} }

// shelf is what is truly there, and what truly happened to it.
type shelf struct{ there, used, wasted, lost int64 }

// A shelf that is taken from, spilt and robbed, written down with slips that are found
// later: whatever the order, once the slips are corrected and the shelf is counted the
// ledger knows what is there, and says as unaccounted just what nobody wrote down.
func TestLedgerAgainstAShelf(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var l ledger
		r := delivery()
		true0 := rapid.Int64Range(1, 50e6).Draw(t, "delivery")
		r.MassMg = rapid.SampledFrom([]int64{true0, true0 + 1, 2 * true0}).Draw(t, "as written")
		first := l.must(t, lot.Entry{Received: &r}, 0)
		s := shelf{there: true0}
		slips := map[int64]lot.Entry{} // act → what it should say; nothing: it never happened
		if r.MassMg != true0 {
			right := r
			right.MassMg = true0
			slips[first] = lot.Entry{Received: &right}
		}
		correct := func(act int64) {
			e := slips[act]
			delete(slips, act)
			l.must(t, e, act)
		}
		for range rapid.IntRange(0, 40).Draw(t, "acts") {
			m := rapid.Int64Range(0, s.there).Draw(t, "mass")
			slip := rapid.IntRange(0, 3).Draw(t, "slip") == 0
			write := func(right, wrong lot.Entry) {
				if slip {
					slips[l.must(t, wrong, 0)] = right
				} else {
					l.must(t, right, 0)
				}
			}
			switch rapid.IntRange(0, 6).Draw(t, "act") {
			case 0:
				if m > 0 {
					write(used(m), used(m+1+s.there)) // more than there was
					s.there, s.used = s.there-m, s.used+m
				}
			case 1:
				if m > 0 {
					write(wasted(m), wasted(1+m/2))
					s.there, s.wasted = s.there-m, s.wasted+m
				}
			case 2:
				write(counted(s.there), counted(m))
			case 3: // nobody sees it
				s.there, s.lost = s.there-m, s.lost+m
			case 4: // a forgotten bag turns up
				s.there, s.lost = s.there+m, s.lost-m
			case 5: // written down and never done
				slips[l.must(t, used(1+m), 0)] = lot.Entry{}
			case 6:
				if len(slips) > 0 {
					acts := sorted(slips)
					correct(rapid.SampledFrom(acts).Draw(t, "corrected"))
				}
			}
			balanced(t, l.kept)
		}
		for _, act := range sorted(slips) {
			correct(act)
		}
		l.must(t, counted(s.there), 0)
		balanced(t, l.kept)
		got := lot.Fold(l.kept).Balance
		want := lot.Balance{ReceivedMg: true0, UsedMg: s.used, WastedMg: s.wasted, UnaccountedMg: s.lost, OnHandMg: s.there}
		if got != want {
			t.Fatalf("the ledger says %+v, the shelf %+v", got, want)
		}
	})
}

func sorted(slips map[int64]lot.Entry) []int64 {
	var acts []int64
	for act := range slips {
		acts = append(acts, act)
	}
	slices.Sort(acts)
	return acts
}

// balanced holds a ledger against double entry: each fact moves a mass from one account
// to another, so that all accounts together are nothing, and what is on the shelf is
// what came less what went.
func balanced(t *rapid.T, kept []lot.Kept) {
	type account int
	const (
		supplier account = iota
		stores
		kettles
		bin
		nobody
		accounts
	)
	var books [accounts]int64
	post := func(from, to account, mg int64) { books[from], books[to] = books[from]-mg, books[to]+mg }
	var facts []lot.Entry // in the order in which they were first written
	slot := map[int64]int{}
	for _, k := range kept {
		if k.Corrects == 0 {
			slot[k.Act] = len(facts)
			facts = append(facts, k.Entry)
			continue
		}
		slot[k.Act] = slot[k.Corrects]
		facts[slot[k.Act]] = k.Entry
	}
	for _, f := range facts {
		switch {
		case f.Received != nil:
			post(supplier, stores, f.Received.MassMg)
		case f.Used != nil:
			post(stores, kettles, f.Used.MassMg)
		case f.Wasted != nil:
			post(stores, bin, f.Wasted.MassMg)
		case f.Counted != nil:
			post(stores, nobody, books[stores]-f.Counted.FoundMg)
		}
		if books[stores] < 0 {
			post(nobody, stores, -books[stores])
		}
	}
	l := lot.Fold(kept)
	b := l.Balance
	if b.ReceivedMg-b.UsedMg-b.WastedMg-b.UnaccountedMg != b.OnHandMg || b.OnHandMg < 0 {
		t.Fatalf("%+v does not add up", b)
	}
	want := lot.Balance{ReceivedMg: -books[supplier], UsedMg: books[kettles], WastedMg: books[bin], UnaccountedMg: books[nobody], OnHandMg: books[stores]}
	if b != want {
		t.Fatalf("%+v, double entry says %+v", b, want)
	}
	if n := len(l.Moves); n > 0 && l.Moves[n-1].OnHandMg != b.OnHandMg {
		t.Fatalf("the last line says %d mg, the balance %d mg", l.Moves[n-1].OnHandMg, b.OnHandMg)
	}
}

// A loss that nobody wrote down is not known before a count, and open after it; a count
// that finds it again takes it back.
func TestALossShowsAtTheNextCount(t *testing.T) {
	t.Parallel()
	var l ledger
	r := delivery()
	l.must(t, lot.Entry{Received: &r}, 0)
	l.must(t, used(5e6), 0)
	for i, step := range []struct {
		do           lot.Entry
		open, onHand int64
	}{
		{used(1e6), 0, 19e6},
		{counted(18_000_001), 999_999, 18_000_001},
		{used(18_000_002), 999_998, 0}, // a milligram more than was counted
		{counted(0), 999_998, 0},
		{counted(1e6), -2, 1e6},
	} {
		l.must(t, step.do, 0)
		if b := lot.Fold(l.kept); b.UnaccountedMg != step.open || b.OnHandMg != step.onHand {
			t.Errorf("step %d: unaccounted %d mg, on hand %d mg, want %d and %d", i, b.UnaccountedMg, b.OnHandMg, step.open, step.onHand)
		}
	}
}

// What may be done with a lot in each of its places, and how it gets there.
func TestPlaces(t *testing.T) {
	t.Parallel()
	put := func(as lot.Status) lot.Entry {
		return lot.Entry{Placed: &lot.Placed{As: as, Why: "because " + string(as)}}
	}
	acts := []lot.Entry{used(1), wasted(1), counted(1), put(lot.Usable), put(lot.Quarantine), {Placed: &lot.Placed{As: lot.Hold}}, put(lot.Condemned)}
	names := []string{"use", "waste", "count", "release", "quarantine", "hold", "condemn"}
	for _, c := range []struct {
		at  lot.Status
		may string
	}{
		{lot.Usable, "use waste count quarantine hold condemn"},
		{lot.Quarantine, "count release hold condemn"},
		{lot.Hold, "count release hold condemn"},
		{lot.Condemned, "waste count release hold"},
	} {
		for i, e := range acts {
			var l ledger
			r := delivery()
			l.must(t, lot.Entry{Received: &r}, 0)
			if c.at != lot.Usable {
				l.must(t, put(c.at), 0)
			}
			_, err := l.do(e, 0)
			switch may := slices.Contains(strings.Fields(c.may), names[i]); {
			case may && err != nil:
				t.Errorf("%s of a lot that is %s: %v", names[i], c.at, err)
			case !may && fault.KindOf(err) != fault.KindConflict:
				t.Errorf("%s of a lot that is %s: %v, want a conflict", names[i], c.at, err)
			case !may && i < 2 && !strings.Contains(err.Error(), "because "+string(c.at)):
				t.Errorf("%s of a lot that is %s: %v, which does not say why", names[i], c.at, err)
			}
		}
	}
}

// A hold may come first and its reason after; a lot that waits from the start is
// received so, and no correction releases it.
func TestReasonsAndWaiting(t *testing.T) {
	t.Parallel()
	var l ledger
	r := delivery()
	r.Waits = "no certificate"
	came := l.must(t, lot.Entry{Received: &r}, 0)
	free := r
	free.Waits = ""
	if _, err := l.do(lot.Entry{Received: &free}, came); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("released by a correction: %v", err)
	}
	more := r
	more.MassMg++
	l.must(t, lot.Entry{Received: &more}, came)
	if f := lot.Fold(l.kept); f.Status != lot.Quarantine || f.Why != "no certificate" || f.OnHandMg != more.MassMg || f.Free() {
		t.Errorf("%s: %s, %d mg", f.Status, f.Why, f.OnHandMg)
	}
	hold := func(why string) lot.Entry { return lot.Entry{Placed: &lot.Placed{As: lot.Hold, Why: why}} }
	held := l.must(t, hold(""), 0)
	if _, err := l.do(hold(""), 0); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("held twice: %v", err)
	}
	l.must(t, hold("glass in the next sack"), 0)
	if f := lot.Fold(l.kept); f.Status != lot.Hold || f.Why != "glass in the next sack" {
		t.Errorf("%s: %s", f.Status, f.Why)
	}
	if _, err := l.do(lot.Entry{}, held); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a hold is taken back without a release: %v", err)
	}
	if _, err := l.do(lot.Entry{}, came+1); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("a lot that was put aside is taken out of the book: %v", err)
	}
}

// What corrects names an entry that stands, of its kind and of this lot.
func TestCorrections(t *testing.T) {
	t.Parallel()
	var l ledger
	if _, err := l.do(used(1), 0); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("used before it came: %v", err)
	}
	r := delivery()
	came := l.must(t, lot.Entry{Received: &r}, 0)
	use := l.must(t, used(1e6), 0)
	for _, c := range []struct {
		name     string
		e        lot.Entry
		corrects int64
		kind     fault.Kind
	}{
		{"received twice", lot.Entry{Received: &r}, 0, fault.KindConflict},
		{"nothing taken back", lot.Entry{}, 0, fault.KindInvalid},
		{"another kind", wasted(1), use, fault.KindInvalid},
		{"no such act", used(1), 9, fault.KindNotFound},
		{"the delivery of a lot that was used", lot.Entry{}, came, fault.KindConflict},
	} {
		if _, err := l.do(c.e, c.corrects); fault.KindOf(err) != c.kind {
			t.Errorf("%s: %v, want %s", c.name, err, c.kind)
		}
	}
	back := l.must(t, lot.Entry{}, use)
	for name, e := range map[string]int64{"corrected twice": use, "a taking back corrected": back} {
		if _, err := l.do(used(2), e); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	l.must(t, lot.Entry{}, came)
	if f := lot.Fold(l.kept); f.Receipt != nil || f.Balance != (lot.Balance{}) || len(f.Entries) != 4 {
		t.Errorf("taken back whole: %+v", f.Balance)
	}
	l.must(t, lot.Entry{Received: &r}, 0) // the number is free again
}

// First expiry first out; without a date last; of one date the first that came.
func TestFirstOut(t *testing.T) {
	t.Parallel()
	at := func(n int, on, best string) lot.Ledger {
		return lot.Ledger{ID: fmt.Sprintf("r%s-%d", on, n), Receipt: &lot.Received{On: on, BestBefore: best}}
	}
	want := []lot.Ledger{at(1, "2026-03-02", "2026-05-01"), at(2, "2026-01-02", "2026-06-01"), at(1, "2026-01-03", "2026-06-01"),
		at(9, "2026-02-01", ""), at(10, "2026-02-01", "")}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, lot.FirstOut)
	for i := range want {
		if got[i].ID != want[i].ID {
			t.Errorf("place %d: %s, want %s", i, got[i].ID, want[i].ID)
		}
	}
}
