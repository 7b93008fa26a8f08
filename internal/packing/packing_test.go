package packing_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"slabside/internal/fault"
	"slabside/internal/journal"
	"slabside/internal/packing"
)

const (
	day   = "2026-03-02"
	id    = "b2026-03-02-1"
	other = "b2026-03-02-2"
	jar   = "j-counter-3"
	batch = "2026-03-02-4"
	loose = "l2026-03-02-4"
)

func packed(lot string, bags, mg int64) packing.Entry {
	return packing.Entry{Ledger: lot, Packed: &packing.Packed{On: day, Product: "plain-bag", Bags: bags, LabelMg: 113_000, TareMg: 4_000, FromMg: 117_000, ToMg: 120_000, Scale: "counter",
		Of: []packing.Share{{Batch: batch, Recipe: "plain", MassMg: mg}}}}
}

func moved(lot string, bags int64, to packing.Out) packing.Entry {
	m := packing.Moved{On: day, Bags: bags, To: to, For: "order 7"}
	if to == packing.ToJar {
		m.Jar = jar
	}
	return packing.Entry{Ledger: lot, Moved: &m}
}

func counted(lot string, bags int64) packing.Entry {
	return packing.Entry{Ledger: lot, Counted: &packing.Counted{Bags: bags}}
}

func filled(mg int64, batches ...string) packing.Entry {
	f := packing.Filled{On: day}
	for _, b := range batches {
		f.Of = append(f.Of, packing.Share{Batch: b, Recipe: "plain", MassMg: mg})
	}
	return packing.Entry{Ledger: jar, Filled: &f}
}

func taken(ledger string, mg int64, to packing.Out) packing.Entry {
	return packing.Entry{Ledger: ledger, Taken: &packing.Taken{On: day, MassMg: mg, To: to, For: "a visitor"}}
}

func left(ledger string, mg int64) packing.Entry {
	return packing.Entry{Ledger: ledger, Left: &packing.Left{FoundMg: mg}}
}

func emptied() packing.Entry {
	return packing.Entry{Ledger: jar, Emptied: &packing.Emptied{On: day}}
}

func washed() packing.Entry { return packing.Entry{Ledger: jar, Washed: &packing.Washed{On: day}} }

func placed(ledger string, as packing.Status, why string) packing.Entry {
	return packing.Entry{Ledger: ledger, Placed: &packing.Placed{As: as, Why: why}}
}

// book writes entries as a store does: ledgers with one row of acts.
type book struct {
	kept map[string][]packing.Kept
	all  []packing.Kept
}

func (b *book) do(e packing.Entry, corrects int64) (int64, error) {
	if b.kept == nil {
		b.kept = map[string][]packing.Kept{}
	}
	if e.Packed != nil && corrects == 0 { // as the store's user does
		p := *e.Packed
		p.Opens = packing.FoldBags(b.kept[e.Ledger]).Packed == nil
		e.Packed = &p
	}
	if err := packing.Follow(b.kept[e.Ledger], e, corrects); err != nil {
		return 0, err
	}
	act := int64(len(b.all) + 1)
	k := packing.Kept{Entry: e, Act: act, Corrects: corrects, Person: "Ada", At: time.Date(2026, 3, 2, 8, 0, int(act), 0, time.UTC)}
	b.kept[e.Ledger], b.all = append(b.kept[e.Ledger], k), append(b.all, k)
	return act, nil
}

func (b *book) must(t interface{ Fatalf(string, ...any) }, e packing.Entry, corrects int64) int64 {
	act, err := b.do(e, corrects)
	if err != nil {
		t.Fatalf("%s: %v", e.Kind(), err)
	}
	return act
}

func (b *book) ledgers() [][]packing.Kept {
	var out [][]packing.Kept
	for _, id := range []string{id, other, jar, loose} {
		out = append(out, b.kept[id])
	}
	return out
}

// accounts is double entry: each fact moves something from one account to another, so
// that all of them together are nothing.
type accounts map[string]int64

func (a accounts) post(from, to string, n int64) { a[from], a[to] = a[from]-n, a[to]+n }

// never lets no shelf hold less than nothing: nobody brought the rest.
func (a accounts) never(shelf, nobody string) {
	if a[shelf] < 0 {
		a.post(nobody, shelf, -a[shelf])
	}
}

// doubleEntry works the whole book out anew, without the folds.
func doubleEntry(all []packing.Kept, made int64) accounts {
	a := accounts{}
	a.post("boil", "tray", made)
	var facts []packing.Entry // in the order in which they were first written
	slot := map[int64]int{}
	for _, k := range all {
		if k.Corrects == 0 {
			slot[k.Act] = len(facts)
			facts = append(facts, k.Entry)
			continue
		}
		slot[k.Act] = slot[k.Corrects]
		facts[slot[k.Act]] = k.Entry
	}
	for _, f := range facts {
		at := f.Ledger
		switch {
		case f.Packed != nil:
			a.post("packer", at, f.Packed.Bags)
			a.post("tray", "bags mg", f.Packed.Of[0].MassMg)
		case f.Moved != nil:
			a.post(at, at+" "+string(f.Moved.To), f.Moved.Bags)
		case f.Counted != nil:
			a.post(at, at+" nobody", a[at]-f.Counted.Bags)
		case f.Filled != nil:
			for _, s := range f.Filled.Of {
				from := "tray"
				if f.Filled.Lot != "" {
					from = "opened bags"
				}
				a.post(from, "jars mg", s.MassMg)
				a.post("scoop", jar, s.MassMg)
			}
		case f.Taken != nil && at == loose:
			a.post("tray", "tray "+string(f.Taken.To), f.Taken.MassMg)
		case f.Taken != nil:
			a.post(at, at+" "+string(f.Taken.To), f.Taken.MassMg)
		case f.Left != nil && at == loose:
			a.post("tray", "tray nobody", a["tray"]-f.Left.FoundMg)
		case f.Left != nil:
			a.post(at, at+" nobody", a[at]-f.Left.FoundMg)
		case f.Emptied != nil:
			a.post(at, at+" "+string(packing.ToCounter), a[at])
		}
		for _, shelf := range []string{id, other, jar, "tray"} {
			a.never(shelf, shelf+" nobody")
		}
	}
	return a
}

// balanced holds all folds against double entry.
func balanced(t *rapid.T, b *book, made int64) {
	a := doubleEntry(b.all, made)
	for _, lot := range []string{id, other} {
		f := packing.FoldBags(b.kept[lot])
		if f.Balance.Packed-f.Out.Sum()-f.Unaccounted != f.OnHand || f.OnHand < 0 {
			t.Fatalf("%s: %+v does not add up", lot, f.Balance)
		}
		if f.OnHand != a[lot] || f.Unaccounted != a[lot+" nobody"] {
			t.Fatalf("%s: %+v, double entry says %d on hand, %d unaccounted", lot, f.Balance, a[lot], a[lot+" nobody"])
		}
		for _, to := range packing.BagOuts() {
			if f.Out.Of(to) != a[lot+" "+string(to)] {
				t.Fatalf("%s: %d by %s, double entry says %d", lot, f.Out.Of(to), to, a[lot+" "+string(to)])
			}
		}
		if n := len(f.Moves); n > 0 && f.Moves[n-1].OnHand != f.OnHand {
			t.Fatalf("%s: the last line says %d, the balance %d", lot, f.Moves[n-1].OnHand, f.OnHand)
		}
	}
	j := packing.FoldJar(b.kept[jar])
	if j.FilledMg-j.OutMg.Sum()-j.UnaccountedMg != j.OnHandMg || j.OnHandMg < 0 || j.OnHandMg != a[jar] || j.UnaccountedMg != a[jar+" nobody"] || j.OutMg.Counter != a[jar+" "+string(packing.ToCounter)] {
		t.Fatalf("jar: %+v, double entry says %d on hand, %d unaccounted, %d sold", j.JarBalance, a[jar], a[jar+" nobody"], a[jar+" counter sale"])
	}
	l := packing.LooseOf(batch, made, b.ledgers())
	if l.PackedMg+l.JarsMg+l.OutMg.Sum()+l.UnaccountedMg+l.LeftMg != made || l.LeftMg < 0 {
		t.Fatalf("batch: %+v does not add up", l)
	}
	if l.LeftMg != a["tray"] || l.UnaccountedMg != a["tray nobody"] || l.PackedMg != a["bags mg"] {
		t.Fatalf("batch: %+v, double entry says %d left, %d unaccounted, %d packed", l, a["tray"], a["tray nobody"], a["bags mg"])
	}
	for _, to := range packing.LooseOuts() {
		if l.OutMg.Of(to) != a["tray "+string(to)] {
			t.Fatalf("batch: %d mg by %s, double entry says %d", l.OutMg.Of(to), to, a["tray "+string(to)])
		}
	}
}

// Under any sequence of acts, corrections and takings back, whatever the rules let
// through, every balance adds up and is that of double entry.
func TestAnySequenceAddsUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var b book
		made := rapid.Int64Range(0, 9_000_000).Draw(t, "made")
		for range rapid.IntRange(1, 40).Draw(t, "acts") {
			lot := rapid.SampledFrom([]string{id, other}).Draw(t, "lot")
			n := rapid.Int64Range(1, 30).Draw(t, "n")
			mg := rapid.Int64Range(1, 3_000_000).Draw(t, "mg")
			open := filled(mg, batch)
			open.Filled.Lot, open.Filled.Bags = id, n
			e := rapid.SampledFrom([]packing.Entry{
				packed(lot, n, mg), moved(lot, n, rapid.SampledFrom(packing.BagOuts()).Draw(t, "to")), counted(lot, n-1), filled(mg, batch), open,
				taken(loose, mg, rapid.SampledFrom(packing.LooseOuts()).Draw(t, "out")), taken(jar, mg, packing.ToTasting), left(loose, mg), left(jar, mg), emptied(), washed(),
				placed(lot, packing.Hold, ""), placed(lot, packing.Usable, "looked through"), {Ledger: rapid.SampledFrom([]string{id, other, jar, loose}).Draw(t, "back")},
			}).Draw(t, "entry")
			corrects := int64(0)
			if e.Kind() == journal.Taking || rapid.IntRange(0, 3).Draw(t, "correct") == 0 {
				corrects = rapid.Int64Range(1, int64(len(b.all)+1)).Draw(t, "corrects")
			}
			_, _ = b.do(e, corrects) // what is refused is not written
			balanced(t, &b, made)
		}
	})
}

// A shelf that is filled, sold from and robbed, written down with slips that are found
// later: once they are corrected and the shelf is counted, the ledger knows what is there
// and says as unaccounted just what nobody wrote down.
func TestBagsAgainstAShelf(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var b book
		var there, sold, lost, all int64
		slips := map[int64]packing.Entry{}
		write := func(right, wrong packing.Entry) {
			if rapid.IntRange(0, 3).Draw(t, "slip") == 0 {
				slips[b.must(t, wrong, 0)] = right
			} else {
				b.must(t, right, 0)
			}
		}
		n := rapid.Int64Range(1, 60).Draw(t, "first")
		write(packed(id, n, n*113_000), packed(id, n+1, n*113_000))
		there, all = n, n
		for range rapid.IntRange(0, 30).Draw(t, "acts") {
			n := rapid.Int64Range(1, 20).Draw(t, "n")
			switch rapid.IntRange(0, 3).Draw(t, "act") {
			case 0:
				write(packed(id, n, n*113_000), packed(id, 2*n, n*113_000))
				there, all = there+n, all+n
			case 1:
				if n <= there {
					write(moved(id, n, packing.ToCounter), moved(id, n+there, packing.ToCounter))
					there, sold = there-n, sold+n
				}
			case 2: // nobody sees it
				n = min(n, there)
				there, lost = there-n, lost+n
			case 3:
				write(counted(id, there), counted(id, n))
			}
			balanced(t, &b, 0)
		}
		for act := int64(1); act <= int64(len(b.all)); act++ {
			if right, ok := slips[act]; ok {
				b.must(t, right, act)
			}
		}
		b.must(t, counted(id, there), 0)
		got := packing.FoldBags(b.kept[id]).Balance
		want := packing.Balance{Packed: all, Out: packing.Outs{Counter: sold}, Unaccounted: lost, OnHand: there}
		if got != want {
			t.Fatalf("the ledger says %+v, the shelf %+v", got, want)
		}
	})
}

// A jar that is filled anew without having been emptied and washed is a blend of all
// that went in; one that was emptied and not washed still holds the batch before.
func TestJarsAreBlends(t *testing.T) {
	t.Parallel()
	const second, third = "2026-03-03-1", "2026-03-04-1"
	var b book
	holds := func(want string, blend bool) {
		t.Helper()
		j := packing.FoldJar(b.kept[jar])
		var got []string
		for _, s := range j.Holds() {
			got = append(got, s.Batch)
		}
		if strings.Join(got, " ") != want || j.Blend() != blend {
			t.Errorf("holds %v, blend %v, want %q, %v", got, j.Blend(), want, blend)
		}
	}
	b.must(t, washed(), 0) // a jar may be washed before it is ever filled
	b.must(t, filled(1e6, batch), 0)
	holds(batch, false)
	if _, err := b.do(washed(), 0); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("washed while it is full: %v", err)
	}
	b.must(t, emptied(), 0)
	holds(batch, false)
	refill := b.must(t, filled(1e6, second), 0)
	holds(batch+" "+second, true)
	b.must(t, emptied(), 0)
	b.must(t, washed(), 0)
	holds("", false)
	b.must(t, filled(5e5, third), 0)
	holds(third, false)
	if j := packing.FoldJar(b.kept[jar]); j.OutMg.Counter != 2e6 || j.OnHandMg != 5e5 {
		t.Errorf("%+v", j.JarBalance)
	}
	b.must(t, filled(1e6, batch, second), refill) // what it says is put right, where it stands
	holds(third, false)
	b.must(t, packed(id, 3, 339_000), 0)
	if got := packing.Holding(third, b.ledgers()); !slices.Equal(got, []string{jar}) {
		t.Errorf("%s is in %v", third, got)
	}
	if got := packing.Holding(batch, b.ledgers()); !slices.Equal(got, []string{id}) {
		t.Errorf("%s is in %v: the jar was washed since", batch, got)
	}
	b.must(t, moved(id, 3, packing.ToCounter), 0)
	if got := packing.Holding(batch, b.ledgers()); !slices.Equal(got, []string{id}) {
		t.Errorf("sold out, %s is in %v", batch, got)
	}
}

// What may be done with bags in each of their places.
func TestPlaces(t *testing.T) {
	t.Parallel()
	acts := map[string]packing.Entry{"sell": moved(id, 1, packing.ToCounter), "waste": moved(id, 1, packing.ToWaste), "pack": packed(id, 1, 1), "count": counted(id, 1),
		"release": placed(id, packing.Usable, "x"), "hold": placed(id, packing.Hold, ""), "condemn": placed(id, packing.Condemned, "x")}
	for at, may := range map[packing.Status]string{
		packing.Usable: "sell waste pack count hold condemn", packing.Hold: "count release condemn", packing.Condemned: "waste count release hold",
	} {
		for name, e := range acts {
			var b book
			b.must(t, packed(id, 5, 1), 0)
			switch at {
			case packing.Hold:
				b.must(t, acts["hold"], 0)
			case packing.Condemned:
				b.must(t, acts["condemn"], 0)
			}
			_, err := b.do(e, 0)
			if allowed := slices.Contains(strings.Fields(may), name); allowed && err != nil || !allowed && fault.KindOf(err) != fault.KindConflict {
				t.Errorf("%s of a lot that is %s: %v", name, at, err)
			}
		}
	}
}

// What corrects names an entry that stands and leaves what came after it its ground.
func TestCorrections(t *testing.T) {
	t.Parallel()
	var b book
	if _, err := b.do(moved(id, 1, packing.ToCounter), 0); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("sold before it was packed: %v", err)
	}
	adds, opens := packed(id, 5, 1), packed(id, 5, 1)
	opens.Packed.Opens = true
	if err := packing.Follow(nil, adds, 0); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("added to a lot that is not begun: %v", err)
	}
	first := b.must(t, packed(id, 5, 1), 0)
	if err := packing.Follow(b.kept[id], opens, 0); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("begun twice: %v", err)
	}
	out := b.must(t, moved(id, 1, packing.ToCounter), 0)
	elsewhere := packed(id, 5, 1)
	elsewhere.Packed.Product = "another"
	for name, c := range map[string]struct {
		e        packing.Entry
		corrects int64
		kind     fault.Kind
	}{
		"another product":             {elsewhere, 0, fault.KindInvalid},
		"another kind":                {moved(id, 1, packing.ToCounter), first, fault.KindInvalid},
		"no act":                      {counted(id, 1), 99, fault.KindNotFound},
		"packed taken back, one gone": {packing.Entry{Ledger: id}, first, fault.KindConflict},
	} {
		if _, err := b.do(c.e, c.corrects); fault.KindOf(err) != c.kind {
			t.Errorf("%s: %v", name, err)
		}
	}
	b.must(t, packing.Entry{Ledger: id}, out)
	held := b.must(t, placed(id, packing.Hold, ""), 0)
	for _, act := range []int64{held, first} {
		if _, err := b.do(packing.Entry{Ledger: id}, act); err == nil {
			t.Errorf("act %d of a lot that is on hold is taken back", act)
		}
	}
	b.must(t, elsewhere, first) // the only bags may turn out to be of another product
	if f := packing.FoldBags(b.kept[id]); f.Packed.Product != "another" || f.OnHand != 5 {
		t.Errorf("%+v", f.Packed)
	}
}

// Every figure is refused one step past what can be meant.
func TestCheckEdges(t *testing.T) {
	t.Parallel()
	with := func(change func(p *packing.Packed)) packing.Entry {
		e := packed(id, 1, 1)
		change(e.Packed)
		return e
	}
	two := counted(id, 1)
	two.Moved = moved(id, 1, packing.ToCounter).Moved
	forNobody := moved(id, 1, packing.ToParcel)
	forNobody.Moved.For = " "
	nowhere := moved(id, 1, packing.ToCounter)
	nowhere.Moved.Jar = jar
	for _, c := range []struct {
		name  string
		e     packing.Entry
		field string // empty: it is taken
	}{
		{"packed", packed(id, 1, 1), ""},
		{"the most", packed(id, packing.MostBags, 1), ""},
		{"more", packed(id, packing.MostBags+1, 1), "packed.bags"},
		{"none", packed(id, 0, 1), "packed.bags"},
		{"of another day", with(func(p *packing.Packed) { p.On = "2026-03-03" }), "packed.on"},
		{"of no batch", with(func(p *packing.Packed) { p.Of = nil }), "packed.of"},
		{"of one twice", with(func(p *packing.Packed) { p.Of = append(p.Of, p.Of[0]) }), "packed.of"},
		{"of nothing", packed(id, 1, 0), "packed.of"},
		{"past its date", with(func(p *packing.Packed) { p.BestBefore = "2026-03-01" }), "packed.best_before"},
		{"on its date", with(func(p *packing.Packed) { p.BestBefore = day }), ""},
		{"a window the wrong way round", with(func(p *packing.Packed) { p.ToMg = p.FromMg - 1 }), "packed.from_mg"},
		{"lighter than the bag", with(func(p *packing.Packed) { p.Weighed = []int64{p.TareMg} }), "packed.weighed_mg"},
		{"a jar that is packed", packed(jar, 1, 1), "packed"},
		{"bags that are washed", packing.Entry{Ledger: id, Washed: &packing.Washed{On: day}}, "washed"},
		{"no ledger", counted("x", 1), "ledger"},
		{"two things", two, "ledger"},
		{"a parcel to nobody", forNobody, "moved.for"},
		{"sold into a jar", nowhere, "moved.jar"},
		{"a long name", packing.Entry{Ledger: "j-" + strings.Repeat("a", 60), Emptied: &packing.Emptied{On: day}}, "ledger"},
		{"nothing taken", taken(loose, 0, packing.ToTasting), "taken.mass_mg"},
		{"loose in a parcel", taken(loose, 1, packing.ToParcel), "taken.to"},
		{"released for no reason", placed(id, packing.Usable, ""), "placed.why"},
		{"less than nothing left", left(loose, -1), "left.found_mg"},
	} {
		err := c.e.Check()
		var f *fault.Error
		if is := errors.As(err, &f); (err == nil) != (c.field == "") || is && f.Field != c.field {
			t.Errorf("%s: %v, want a refusal of %q", c.name, err, c.field)
		}
	}
}

// Keys carry their units, and what is not there is left out.
func TestJSON(t *testing.T) {
	t.Parallel()
	text, err := json.Marshal(taken(loose, 5, packing.ToTasting))
	if want := `{"ledger":"l2026-03-02-4","taken":{"on":"2026-03-02","mass_mg":5,"to":"tasting","for":"a visitor"}}`; err != nil || string(text) != want {
		t.Errorf("%s, %v, want %s", text, err, want)
	}
}
