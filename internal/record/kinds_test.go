package record_test

import (
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"slabside/internal/fault"
	"slabside/internal/record"
	"slabside/internal/source"
)

// Every answer and every figure of the later kinds is refused one step past what can be
// meant and taken one step inside.
func TestCheckEdgesOfKinds(t *testing.T) {
	t.Parallel()
	check := func(list ...record.Check) record.Entry {
		return record.Entry{Batch: id, Checked: &record.Checked{Checks: list}}
	}
	weighed := func(change func(w *record.Weighed)) record.Entry {
		w := record.Weighed{Ingredient: "sugar", Lot: "r2026-03-14-1", MassMg: 4_000_000, Scale: "bench", Second: "Bela"}
		change(&w)
		return record.Entry{Batch: id, Weighed: &w}
	}
	made := func(change func(m *record.Made)) record.Entry {
		m := record.Made{Turns: 20, Sheets: 12, Pieces: 2000, SoundMg: 5_000_000, EndsMg: 300_000, WebMg: 200_000, SiftingsMg: 50_000, LeftMg: 10_000, WasteMg: 5_000}
		change(&m)
		return record.Entry{Batch: id, Made: &m}
	}
	found := func(of record.Stuff, what, where, done string) record.Entry {
		return record.Entry{Batch: id, Found: &record.Found{Of: of, What: what, Where: where, Done: done}}
	}
	cleaned := func(on record.Surface, how record.Clean, by, second string) record.Entry {
		return record.Entry{Batch: id, Cleaned: &record.Cleaned{Surface: on, Kind: how, By: by, Verified: second}}
	}
	tasted := func(note string, words ...record.Word) record.Entry {
		return record.Entry{Batch: id, Tasted: &record.Tasted{Words: words, Note: note}}
	}
	back := func(mg int64, from string) record.Entry {
		return record.Entry{Batch: id, CookedBack: &record.CookedBack{MassMg: mg, From: from}}
	}
	after := func(rolls, glass record.Says) record.Entry {
		return record.Entry{Batch: id, After: &record.After{Rolls: rolls, Glass: glass}}
	}
	moment := func(m record.Moment) record.Entry { return record.Entry{Batch: id, Moment: &m} }
	lift := func(lit, lifted string) record.Entry {
		return record.Entry{Batch: id, Lifted: &record.Lifted{LitAt: lit, LiftedAt: lifted}}
	}
	for _, c := range []struct {
		name  string
		e     record.Entry
		field string // of the refusal; empty: it is taken
	}{
		{"weighed", weighed(func(*record.Weighed) {}), ""},
		{"nothing weighed", weighed(func(w *record.Weighed) { w.MassMg = 0 }), "weighed.mass_mg"},
		{"of nothing", weighed(func(w *record.Weighed) { w.Ingredient = "" }), "weighed.ingredient"},
		{"of no lot", weighed(func(w *record.Weighed) { w.Lot = "7" }), "weighed.lot"},
		{"without a lot", weighed(func(w *record.Weighed) { w.Lot = "" }), ""},
		{"read off no lot", weighed(func(w *record.Weighed) { w.Lot, w.Scanned = "", true }), "weighed.lot"},
		{"in another's place", weighed(func(w *record.Weighed) { w.Instead = "beet sugar" }), "weighed.why"},
		{"in another's place, said why", weighed(func(w *record.Weighed) { w.Instead, w.Why = "beet sugar", "out of it" }), ""},
		{"in its own place", weighed(func(w *record.Weighed) { w.Instead, w.Why = "sugar", "out of it" }), "weighed.instead_of"},
		{"another trouble", record.Entry{Batch: id, Troubled: &record.Troubled{What: "bored"}}, "trouble.what"},
		{"a trouble at no time", record.Entry{Batch: id, Troubled: &record.Troubled{What: record.Dropped, When: "25:00"}}, "trouble.when"},
		{"noted", record.Entry{Batch: id, Noted: &record.Noted{Why: "written already", Tried: "{}"}}, ""},
		{"noted for no reason", record.Entry{Batch: id, Noted: &record.Noted{Tried: "{}"}}, "noted.why"},
		{"nothing noted", record.Entry{Batch: id, Noted: &record.Noted{Why: "so"}}, "noted.tried"},
		{"held without a reason", record.Entry{Batch: id, Placed: &record.Placed{As: record.OnHold}}, ""},
		{"free without one", record.Entry{Batch: id, Placed: &record.Placed{As: record.Free}}, "placed.why"},
		{"nowhere to be", record.Entry{Batch: id, Placed: &record.Placed{As: "shelf", Why: "so"}}, "placed.as"},

		{"checked", check(record.Check{Item: record.HoodOn, Says: record.Yes}, record.Check{Item: record.WaterOn, Says: record.NotHere}), ""},
		{"no check", check(), "checked.checks"},
		{"another check", check(record.Check{Item: "oven", Says: record.Yes}), "checked.checks"},
		{"no answer", check(record.Check{Item: record.HoodOn}), "checked.hood"},
		{"answered twice", check(record.Check{Item: record.HoodOn, Says: record.Yes}, record.Check{Item: record.HoodOn, Says: record.No}), "checked.hood"},
		{"verified by nobody", check(record.Check{Item: record.AllergenClean, Says: record.Yes, By: " "}), "checked.allergen clean"},
		{"verified", check(record.Check{Item: record.AllergenClean, Says: record.Yes, By: "Bela"}), ""},
		{"no clean needs nobody", check(record.Check{Item: record.AllergenClean, Says: record.No}), ""},
		{"a line in a name", check(record.Check{Item: record.HoodOn, Says: record.Yes, By: "a\nb"}), "checked.hood"},

		{"made", made(func(*record.Made) {}), ""},
		{"nothing made", record.Entry{Batch: id, Made: &record.Made{Scale: "floor"}}, "made"},
		{"one time alone", record.Entry{Batch: id, Made: &record.Made{PouredAt: "10:10"}}, ""},
		{"an edge at no time", made(func(m *record.Made) { m.EdgeAt = "10:61" }), "made.edge_at"},
		{"no time of day", made(func(m *record.Made) { m.PouredAt = "24:00" }), "made.poured_at"},
		{"a short time", made(func(m *record.Made) { m.RolledFrom = "9:42" }), "made.rolled_from"},
		{"the last minute", made(func(m *record.Made) { m.RolledTo = "23:59" }), ""},
		{"500 turns", made(func(m *record.Made) { m.Turns = 500 }), ""},
		{"501 turns", made(func(m *record.Made) { m.Turns = 501 }), "made.turns"},
		{"less than no turn", made(func(m *record.Made) { m.Turns = -1 }), "made.turns"},
		{"2000 sheets", made(func(m *record.Made) { m.Sheets = 2000 }), ""},
		{"2001 sheets", made(func(m *record.Made) { m.Sheets = 2001 }), "made.sheets"},
		{"a million pieces", made(func(m *record.Made) { m.Pieces, m.SoundMg = 1_000_000, 0 }), ""},
		{"and one", made(func(m *record.Made) { m.Pieces, m.SoundMg = 1_000_001, 0 }), "made.pieces"},
		{"half a tonne", made(func(m *record.Made) { m.WasteMg = 500_000_000 }), ""},
		{"and a milligram", made(func(m *record.Made) { m.WasteMg = 500_000_001 }), "made.waste_mg"},
		{"pieces of 0.1 g", made(func(m *record.Made) { m.Pieces, m.SoundMg = 50_000, 5_000_000 }), ""},
		{"lighter", made(func(m *record.Made) { m.Pieces, m.SoundMg = 50_000, 4_999_999 }), "made.sound_mg"},
		{"pieces of 100 g", made(func(m *record.Made) { m.Pieces, m.SoundMg = 50, 5_000_000 }), ""},
		{"heavier", made(func(m *record.Made) { m.Pieces, m.SoundMg = 50, 5_000_001 }), "made.sound_mg"},
		{"a sample", made(func(m *record.Made) { m.Pieces, m.SampleN, m.SampleMg = 0, 50, 120_000 }), ""},
		{"not weighed", made(func(m *record.Made) { m.Pieces, m.SampleN = 0, 50 }), "made.sample_n"},
		{"not counted", made(func(m *record.Made) { m.Pieces, m.SampleMg = 0, 120_000 }), "made.sample_n"},
		{"both ways", made(func(m *record.Made) { m.SampleN, m.SampleMg = 50, 120_000 }), "made.pieces"},
		{"of nothing", made(func(m *record.Made) { m.Pieces, m.SoundMg, m.SampleN, m.SampleMg = 0, 0, 50, 120_000 }), "made.sound_mg"},
		{"more than all", made(func(m *record.Made) { m.Pieces, m.SampleN, m.SampleMg = 0, 5000, 5_000_001 }), "made.sample_mg"},
		{"all cooked back, rounded", made(func(m *record.Made) { m.CookBackMg = 560_004 }), ""},
		{"more than all scraps", made(func(m *record.Made) { m.CookBackMg = 560_005 }), "made.cook_back_mg"},

		{"cook-back", back(1, ""), ""},
		{"none", back(0, ""), "cooked_back.mass_mg"},
		{"of a batch", back(500_000, "2026-03-13-2"), ""},
		{"of no batch", back(500_000, "yesterday's"), "cooked_back.from"},
		{"of itself", back(500_000, id), "cooked_back.from"},

		{"after", after(record.Yes, ""), ""},
		{"nothing after", after("", ""), "after"},
		{"no answer after", after(record.Yes, "perhaps"), "after.glass"},

		{"found", found(record.OfMetal, "a chip of bronze, 4 mm", "in the siftings", "batch held, rolls looked at"), ""},
		{"of nothing", found("", "a chip", "sieve", "held"), "found.of"},
		{"nothing found", found(record.OfGlass, " ", "sieve", "held"), "found.what"},
		{"nowhere", found(record.OfGlass, "a splinter", "", "held"), "found.where"},
		{"nothing done", found(record.OfGlass, "a splinter", "sieve", ""), "found.done"},
		{"too long", found(record.OfGlass, strings.Repeat("a", 201), "sieve", "held"), "found.what"},
		{"long", found(record.OfGlass, strings.Repeat("a", 200), "sieve", "held"), ""},

		{"cleaned", cleaned(record.OnSlab, record.Washed, "Ada", ""), ""},
		{"verified by a second", cleaned(record.OnSlab, record.AllergenCleaned, "Ada", "Bela"), ""},
		{"verified by the same", cleaned(record.OnSlab, record.AllergenCleaned, "Ada", " ada"), "cleaned.verified_by"},
		{"another surface", cleaned("ceiling", record.Washed, "Ada", ""), "cleaned.surface"},
		{"another way", cleaned(record.OnSlab, "licked", "Ada", ""), "cleaned.kind"},
		{"by nobody", cleaned(record.OnSlab, record.Washed, "", ""), "cleaned.by"},

		{"tasted", tasted("", record.Grained, record.Dull), ""},
		{"in words of one's own", tasted("of soap"), ""},
		{"nothing", tasted(" "), "tasted.words"},
		{"another word", tasted("", "nice"), "tasted.words"},
		{"said twice", tasted("", record.Dull, record.Dull), "tasted.words"},
		{"good and grained", tasted("", record.Good, record.Grained), "tasted.words"},

		{"a moment", moment(record.Moment{What: record.Lit}), ""},
		{"no moment", moment(record.Moment{What: "sang"}), "moment.what"},
		{"read", moment(record.Moment{What: record.Looked, ReadC: 104.5, Glass: "probe", At: record.AtSlab}), ""},
		{"read at nothing", moment(record.Moment{What: record.Looked, At: record.AtSlab}), "moment.read_c"},
		{"as cold as is read", moment(record.Moment{What: record.Looked, ReadC: 30, At: record.AtSlab}), ""},
		{"colder", moment(record.Moment{What: record.Looked, ReadC: 29.9, At: record.AtSlab}), "moment.read_c"},
		{"as hot as is read", moment(record.Moment{What: record.Looked, ReadC: 200, At: record.AtKettle}), ""},
		{"hotter", moment(record.Moment{What: record.Looked, ReadC: 200.1, At: record.AtKettle}), "moment.read_c"},
		{"read nowhere", moment(record.Moment{What: record.Looked, ReadC: 90}), "moment.at"},
		{"a reading with a fold", moment(record.Moment{What: record.EdgeUp, ReadC: 90}), "moment.read_c"},

		{"signed", record.Entry{Batch: id, Signed: &record.Signed{Through: 1}}, ""},
		{"nothing read", record.Entry{Batch: id, Signed: &record.Signed{}}, "signed.through_act"},

		{"times alone", lift("09:42", "10:07"), ""},
		{"no time", lift("09:42", "10:60"), "lifted.lifted_at"},
		{"half past nine", lift("half past nine", ""), "lifted.lit_at"},
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
}

// one is an entry of each kind.
func one(kind record.Kind) record.Entry {
	e := record.Entry{Batch: id}
	switch kind {
	case record.Beginning:
		e.Begun = &record.Begun{On: "2026-03-14", Book: 1, Recipe: "pear", ChargeMg: 7e6, Kettle: "big", Glass: "brass"}
	case record.Weighing:
		e.Weighed = &record.Weighed{Ingredient: "sugar", Lot: "r2026-03-14-1", MassMg: 4_000_000}
	case record.Troubling:
		e.Troubled = &record.Troubled{What: record.DidGrain, When: "10:17"}
	case record.Noting:
		e.Noted = &record.Noted{Why: "the lot is on hold", Tried: "{}"}
	case record.Placing:
		e.Placed = &record.Placed{As: record.OnHold}
	case record.CookingBack:
		e.CookedBack = &record.CookedBack{MassMg: 400_000, From: "2026-03-13-1"}
	case record.Checking:
		e.Checked = &record.Checked{Checks: []record.Check{{Item: record.RollsWhole, Says: record.Yes}, {Item: record.GlassWhole, Says: record.Yes}}}
	case record.Timing:
		e.Moment = &record.Moment{What: record.EdgeUp}
	case record.Lifting:
		e.Lifted = &record.Lifted{ReadC: 151}
	case record.Working:
		e.Worked = &record.Worked{PullC: 85, SureK: 2}
	case record.Making:
		e.Made = &record.Made{SoundMg: 5_000_000}
	case record.Finding:
		e.Found = &record.Found{Of: record.OfMetal, What: "a chip", Where: "sieve", Done: "held"}
	case record.Ending:
		e.After = &record.After{Rolls: record.Yes, Glass: record.Yes}
	case record.Cleaning:
		e.Cleaned = &record.Cleaned{Surface: record.OnSlab, Kind: record.AllergenCleaned, By: "Ada", Verified: "Bela"}
	case record.Moist:
		e.Moisture = &record.Moisture{Of: record.OfSweet, WaterFrac: 0.02, SureFrac: 0.003}
	case record.Tasting:
		e.Tasted = &record.Tasted{Words: []record.Word{record.Good}}
	case record.Signing:
		e.Signed = &record.Signed{Through: 1}
	}
	return e
}

// Every part of the union is a kind, and no two are one.
func TestEveryKind(t *testing.T) {
	t.Parallel()
	if parts := reflect.TypeFor[record.Entry]().NumField() - 1; len(record.Kinds()) != parts {
		t.Errorf("%d kinds of %d parts", len(record.Kinds()), parts)
	}
	for _, a := range record.Kinds() {
		e := one(a)
		if e.Kind() != a || e.Check() != nil {
			t.Errorf("%s: of kind %s, %v", a, e.Kind(), e.Check())
		}
		for _, b := range record.Kinds() {
			if a == b {
				continue
			}
			two, other := reflect.ValueOf(&e).Elem(), one(b)
			both := e
			v := reflect.ValueOf(&both).Elem()
			for i := range v.NumField() {
				if f := reflect.ValueOf(other).Field(i); f.Kind() == reflect.Pointer && !f.IsNil() {
					v.Field(i).Set(f)
				}
			}
			if both.Check() == nil {
				t.Errorf("%s and %s in one entry are taken: %v", a, b, two)
			}
		}
	}
	if k := (record.Entry{Batch: id}).Kind(); k != record.Taking {
		t.Errorf("nothing is of kind %s", k)
	}
}

// Kinds that are written once and kinds that are written as often as they happen, played
// against a plain list: whatever is written, corrected and taken back, what stands is
// what nothing corrects, in the order it was taken in.
func TestFoldKindsAgainstAList(t *testing.T) {
	t.Parallel()
	type line struct {
		act  int64
		kind record.Kind
	}
	var kept []record.Kept
	var stand []line
	act := int64(0)
	add := func(e record.Entry, corrects int64) error {
		if err := record.Follow(kept, e, corrects); err != nil {
			return err
		}
		act++
		kept = append(kept, record.Kept{Entry: e, Act: act, Corrects: corrects, Person: "Ada"})
		return nil
	}
	if err := add(one(record.Beginning), 0); err != nil {
		t.Fatal(err)
	}
	state := uint64(11)
	next := func(n int) int {
		state = state*6364136223846793005 + 1442695040888963407
		return int(state >> 33 % uint64(n))
	}
	taken := map[record.Kind]int{}
	several, refused := 0, 0
	for i := range 1600 {
		kind := record.Kinds()[1+next(len(record.Kinds())-1)]
		if next(8) == 0 {
			kind = record.Signing
		}
		e := one(kind)
		if kind == record.Signing {
			e.Signed = &record.Signed{Through: act - int64(next(2))} // of now, or of one act ago
		}
		corrects := int64(0)
		if next(2) == 0 && len(stand) > 0 {
			corrects = stand[next(len(stand))].act
			if j := slices.IndexFunc(stand, func(l line) bool { return l.kind == kind }); j >= 0 && next(2) == 0 {
				corrects = stand[j].act
			}
		}
		if next(9) == 0 {
			corrects = 2 + int64(next(int(act)+1))
		}
		if next(4) == 0 {
			e, kind = record.Entry{Batch: id}, record.Taking
		}
		at := slices.IndexFunc(stand, func(l line) bool { return l.act == corrects })
		var want bool
		switch {
		case kind == record.Signing && e.Signed.Through != act:
			want = false
		case corrects != 0:
			want = at >= 0 && (kind == record.Taking || stand[at].kind == kind)
		case kind == record.Taking:
			want = false
		default:
			want = !kind.Single() || !slices.ContainsFunc(stand, func(l line) bool { return l.kind == kind })
		}
		err := add(e, corrects)
		if (err == nil) != want {
			t.Fatalf("step %d: %s, correcting %d: %v, want it taken %t", i, kind, corrects, err, want)
		}
		if err != nil {
			refused++
			continue
		}
		taken[kind]++
		if at >= 0 {
			stand = slices.Delete(stand, at, at+1)
		}
		if kind != record.Taking {
			stand = append(stand, line{act, kind})
		}
		r := record.Fold(kept)
		for _, k := range record.Kinds()[1:] {
			var want, got []int64
			for _, l := range stand {
				if l.kind == k {
					want = append(want, l.act)
				}
			}
			for _, x := range r.All(k) {
				got = append(got, x.Act)
			}
			if !slices.Equal(got, want) {
				t.Fatalf("step %d: of %s stand %v, want %v", i, k, got, want)
			}
			if len(got) > 1 {
				several++
			}
			if last, ok := r.Stands(k); ok != (len(want) > 0) || ok && last.Act != want[len(want)-1] {
				t.Fatalf("step %d: of %s holds %d, want the last of %v", i, k, last.Act, want)
			}
		}
	}
	for _, k := range append(record.Kinds()[1:], record.Taking) {
		if taken[k] < 10 {
			t.Errorf("%s was taken %d times: too few to tell", k, taken[k])
		}
	}
	if several == 0 || refused < 100 {
		t.Errorf("several stood %d times, %d were refused", several, refused)
	}
}

// Who signs names what was read: what was written since must be read first, and what is
// written after shows as after.
func TestSigning(t *testing.T) {
	t.Parallel()
	var kept []record.Kept
	add := func(e record.Entry, corrects int64) error {
		err := record.Follow(kept, e, corrects)
		if err == nil {
			kept = append(kept, record.Kept{Entry: e, Act: int64(len(kept)) + 1, Corrects: corrects, Person: "Ada"})
		}
		return err
	}
	sign := func(through int64) record.Entry {
		return record.Entry{Batch: id, Signed: &record.Signed{Through: through}}
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := add(sign(1), 0); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("before it is begun: %v", err)
	}
	must(add(one(record.Beginning), 0))
	must(add(one(record.Lifting), 0))
	if err := add(sign(1), 0); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("the lift was not read: %v", err)
	}
	must(add(sign(2), 0))
	if r := record.Fold(kept); r.AfterSigning(2) || r.AfterSigning(3) {
		t.Error("what was signed is after the sign-off")
	}
	must(add(one(record.Tasting), 0))
	if r := record.Fold(kept); !r.AfterSigning(4) {
		t.Error("tasted after the sign-off, and it does not say so")
	}
	if err := add(sign(4), 0); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("signed twice: %v", err)
	}
	if err := add(sign(3), 3); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("signed anew without reading: %v", err)
	}
	must(add(sign(4), 3))
	if r := record.Fold(kept); r.AfterSigning(4) {
		t.Error("read and signed anew, and still after the sign-off")
	}
	must(add(record.Entry{Batch: id}, 5))
	if r := record.Fold(kept); r.AfterSigning(4) || r.AfterSigning(6) {
		t.Error("no sign-off stands, and something is after it")
	}
	if err := add(record.Entry{Batch: id}, 1); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("the beginning taken back under it: %v", err)
	}
}

// keeps is where a record keeps what a rule asks for, by the names of its JSON.
func keeps(t *testing.T, field string) bool {
	t.Helper()
	names := func(typ reflect.Type) map[string]reflect.Type {
		out := map[string]reflect.Type{}
		for _, f := range reflect.VisibleFields(typ) {
			if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" {
				out[name] = f.Type
			}
		}
		return out
	}
	first, rest, deep := strings.Cut(field, ".")
	typ, ok := names(reflect.TypeFor[record.Kept]())[first]
	if !ok || !deep {
		return ok
	}
	typ = typ.Elem()
	if typ == reflect.TypeFor[record.Checked]() {
		return slices.Contains(record.Items(), record.Item(rest))
	}
	return names(typ)[rest] != nil
}

// What the record rules ask, item by item, against what a record keeps: every item that
// is covered names a field there is, and a record that lacks that field alone breaks it.
// The items are recalled from the rules named, whose keys stand beside them: 21 CFR
// 117.305 and 117.315 and subpart B (cfr117), 21 CFR 1.337 and 1.345 (cfr1-j), CPG
// 555.425 (cpg555-425), Regulation 178/2002 art. 18 (reg178-2002), SI 2006/659 reg. 9
// (si2006-659), SOR/2018-108 ss. 84 to 92 (sor2018-108).
func TestRules(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	whole := func(without ...record.Kind) []record.Kept {
		var kept []record.Kept
		for _, k := range record.Kinds() {
			if !slices.Contains(without, k) {
				kept = append(kept, record.Kept{Entry: one(k), Act: int64(len(kept)) + 1, At: at, Received: at, Person: "Ada"})
			}
		}
		return kept
	}
	change := func(f func(k *record.Kept)) []record.Kept {
		kept := whole()
		for i := range kept {
			f(&kept[i])
		}
		return kept
	}
	type broken struct {
		kept []record.Kept
		too  []string // what is broken with it, being kept in one place
	}
	const lot, product, plant = "the lot code", "the product", "the plant, by name and place"
	const accurate, twoYears = "accurate, and not to be wiped out", "kept for 2 years"
	breaks := map[string]broken{ // by what the rule asks
		"the values and observations themselves":      {whole(record.Lifting, record.Working, record.Making, record.Moist, record.Tasting), nil},
		"written when the work is done":               {change(func(k *record.Kept) { k.Received = time.Time{} }), nil},
		"the date, and the time where it matters":     {change(func(k *record.Kept) { k.At = time.Time{} }), []string{"written when the work is done"}},
		"signature or initials of the one who did it": {change(func(k *record.Kept) { k.Person = "" }), nil},
		product:  {change(func(k *record.Kept) { setBegun(k, func(b *record.Begun) { b.Recipe = "" }) }), nil},
		lot:      {whole(record.Beginning), []string{product, plant}},
		plant:    {change(func(k *record.Kept) { setBegun(k, func(b *record.Begun) { b.Book = 0 }) }), nil},
		accurate: {change(func(k *record.Kept) { k.Act = 0 }), []string{twoYears}},
		twoYears: {change(func(k *record.Kept) { k.Act = 0 }), []string{accurate}},
		"rolls and sieve looked at, so that no metal gets in": {change(func(k *record.Kept) { dropCheck(k, record.RollsWhole) }), nil},
		"glass and brittle plastic looked at":                 {change(func(k *record.Kept) { dropCheck(k, record.GlassWhole) }), nil},
		"surfaces cleaned, by whom":                           {change(func(k *record.Kept) { setCleaned(k, func(c *record.Cleaned) { c.By = "" }) }), nil},
		"no allergen carried over: clean done and verified":   {change(func(k *record.Kept) { setCleaned(k, func(c *record.Cleaned) { c.Verified = "" }) }), nil},
		"rework: what was cooked back, and out of which batch": {change(func(k *record.Kept) {
			if k.CookedBack != nil {
				k.CookedBack.From = ""
			}
		}), nil},
		"read and signed by somebody who answers for it": {whole(record.Signing), nil},
		"hard or sharp things found, and what was done":  {whole(record.Finding), nil},
		"lot or code of each ingredient that went in": {change(func(k *record.Kept) {
			if k.Weighed != nil {
				k.Weighed.Lot = ""
			}
		}), nil},
	}
	full := record.Fold(whole())
	covered, not := 0, 0
	for _, x := range record.Rules() {
		if _, ok := source.Lookup(x.Source); !ok || x.Law == "" || x.Asks == "" {
			t.Errorf("%s: %s has no source", x.Law, x.Asks)
		}
		if !x.Covers() {
			not++
			if x.Else == "" || x.Written(full) {
				t.Errorf("%s, %s: not covered, and it does not say why", x.Law, x.Asks)
			}
			continue
		}
		covered++
		for _, f := range strings.Split(x.Field, ", ") {
			if !keeps(t, f) {
				t.Errorf("%s, %s: a record has no field %s", x.Law, x.Asks, f)
			}
		}
		if !x.Written(full) {
			t.Errorf("%s, %s: a whole record does not meet it", x.Law, x.Asks)
		}
		without, ok := breaks[x.Asks]
		if !ok {
			t.Errorf("%s, %s: no record breaks it", x.Law, x.Asks)
			continue
		}
		r := record.Fold(without.kept)
		for _, y := range record.Rules() {
			want := y.Covers() && y.Asks != x.Asks && !slices.Contains(without.too, y.Asks)
			if y.Written(r) != want {
				t.Errorf("without %q, %q is written: %t", x.Asks, y.Asks, y.Written(r))
			}
		}
	}
	if covered != len(breaks) || not < 5 {
		t.Errorf("%d items covered, %d broken, %d not covered", covered, len(breaks), not)
	}
}

func setBegun(k *record.Kept, f func(b *record.Begun)) {
	if k.Begun != nil {
		f(k.Begun)
	}
}

func setCleaned(k *record.Kept, f func(c *record.Cleaned)) {
	if k.Cleaned != nil {
		f(k.Cleaned)
	}
}

func dropCheck(k *record.Kept, item record.Item) {
	if k.Checked != nil {
		k.Checked.Checks = slices.DeleteFunc(k.Checked.Checks, func(c record.Check) bool { return c.Item == item })
	}
}
