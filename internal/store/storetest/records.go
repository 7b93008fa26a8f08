package storetest

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/record"
	"slabside/internal/store"
)

// enter writes an entry that must be taken.
func (k kit) enter(e record.Entry, corrects int64, minutes int) store.Head {
	k.t.Helper()
	head, err := k.Enter(k.ctx, e, corrects, meta(minutes))
	if err != nil {
		k.t.Fatalf("Enter %s: %v (cause %v)", e.Kind(), err, cause(err))
	}
	return head
}

// begun is the beginning of a batch of the first recipe of a book.
func begun(b book.Book, id string, at store.Head) record.Entry {
	return record.Entry{Batch: id, Begun: &record.Begun{On: id[:10], Book: int64(at), Recipe: b.Recipes[0].ID, ChargeMg: 7e6,
		Kettle: b.Kettles[0].ID, Glass: b.Glasses[0].ID}}
}

// batches returns the numbers of the records that are found.
func (k kit) batches(f store.Find) []string {
	k.t.Helper()
	if f.Limit == 0 {
		f.Limit = 100
	}
	list, err := k.Records(k.ctx, f)
	if err != nil {
		k.t.Fatalf("Records %+v: %v (cause %v)", f, err, cause(err))
	}
	out := []string{}
	for _, r := range list {
		out = append(out, r.ID)
	}
	return out
}

func testRecords(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	for _, id := range []string{"2026-03-14-1", "2026-03-14-10", "2026-03-14-2", "2026-03-13-1", "2026-03-15-1"} {
		k.enter(begun(b, id, head), 0, 1)
	}
	if d := cmp.Diff([]string{"2026-03-15-1", "2026-03-14-10", "2026-03-14-2", "2026-03-14-1", "2026-03-13-1"}, k.batches(store.Find{})); d != "" {
		t.Errorf("the list (-want +got):\n%s", d)
	}
	for _, c := range []struct {
		f    store.Find
		want []string
	}{
		{store.Find{From: "2026-03-14", To: "2026-03-14"}, []string{"2026-03-14-10", "2026-03-14-2", "2026-03-14-1"}},
		{store.Find{Before: "2026-03-14-2"}, []string{"2026-03-14-1", "2026-03-13-1"}},
		{store.Find{Limit: 1}, []string{"2026-03-15-1"}},
		{store.Find{Recipe: b.Recipes[0].ID, Limit: 2}, []string{"2026-03-15-1", "2026-03-14-10"}},
		{store.Find{Recipe: "other"}, []string{}},
		{store.Find{Glass: "other"}, []string{}},
		{store.Find{Batch: "2026-03-14-2"}, []string{"2026-03-14-2"}},
		{store.Find{Batch: "2026-03-14-3"}, []string{}},
	} {
		if d := cmp.Diff(c.want, k.batches(c.f)); d != "" {
			t.Errorf("%+v (-want +got):\n%s", c.f, d)
		}
	}

	// What is written and corrected stands as it was corrected, and both are kept.
	const id = "2026-03-14-2"
	first := k.enter(record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 151, FlameS: 1500}}, 0, 2)
	k.enter(record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 152}}, int64(first), 3)
	work := k.enter(record.Entry{Batch: id, Worked: &record.Worked{PullC: 85, SureK: 2}}, 0, 4)
	k.enter(record.Entry{Batch: id}, int64(work), 5)
	list, err := k.Records(k.ctx, store.Find{Batch: id, Limit: 1})
	if err != nil || len(list) != 1 {
		t.Fatalf("Records = %d, %v", len(list), err)
	}
	r := list[0]
	if l := r.Lifted(); l == nil || *l != (record.Lifted{ReadC: 152}) || r.Worked() != nil || len(r.Entries) != 5 {
		t.Errorf("the record stands as lifted %+v, worked %+v, %d entries", r.Lifted(), r.Worked(), len(r.Entries))
	}
	if e := r.Entries[2]; e.Person != meta(3).Person || !e.At.Equal(Noon(3)) || e.Reason != meta(3).Reason || e.Corrects != int64(first) {
		t.Errorf("the correction is kept as %+v", e)
	}

	k.kinds("2026-03-14-10")

	// A beginning that is taken back leaves the list, and the number can be begun anew.
	kept, _ := k.Records(k.ctx, store.Find{Batch: "2026-03-15-1", Limit: 1})
	k.enter(record.Entry{Batch: "2026-03-15-1"}, kept[0].Entries[0].Act, 6)
	if got := k.batches(store.Find{Limit: 1}); got[0] != "2026-03-14-10" {
		t.Errorf("taken back and still listed: %v", got)
	}
	if got := k.batches(store.Find{Batch: "2026-03-15-1"}); len(got) != 1 {
		t.Error("taken back and not found by its number")
	}
	k.sound()
	k.enter(begun(b, "2026-03-15-1", head), 0, 7)
	if got := k.batches(store.Find{Limit: 1}); got[0] != "2026-03-15-1" {
		t.Errorf("begun anew and not listed: %v", got)
	}
	k.sound()
}

// kinds writes an entry of every kind with all its fields, several of those that may be
// written more than once, and holds what is read back to what was written.
func (k kit) kinds(id string) {
	k.t.Helper()
	checked := &record.Checked{}
	for _, x := range record.Items() {
		checked.Checks = append(checked.Checks, record.Check{Item: x, Says: record.Yes, By: "Bela"})
	}
	written := []record.Entry{
		{Weighed: &record.Weighed{Ingredient: "sugar", MassMg: 4e6, Stage: "pour", Portion: "green", Instead: "beet", Why: "out of it", Scale: "floor", Second: "Bela"}},
		{CookedBack: &record.CookedBack{MassMg: 400_000, From: "2026-03-13-1"}}, {CookedBack: &record.CookedBack{MassMg: 1}},
		{Checked: checked},
		{Moment: &record.Moment{What: record.EdgeUp}}, {Moment: &record.Moment{What: record.Looked, ReadC: 104.5, Glass: "brass", At: record.AtSlab}},
		{Lifted: &record.Lifted{ReadC: 151, GrossMg: 11e6, EmptyMg: 5e6, Scale: "floor", FlameS: 1500, StationPa: 98_000, LitAt: "09:42", LiftedAt: "10:07"}},
		{Worked: &record.Worked{PullC: 85, RollC: 80, LastC: 70, SureK: 2}},
		{Troubled: &record.Troubled{What: record.Dropped, When: "10:20", Note: "a sheet"}},
		{Made: &record.Made{PouredAt: "10:09", EdgeAt: "10:12", RolledFrom: "10:21", RolledTo: "10:38", Turns: 24, Sheets: 14, SampleN: 50, SampleMg: 190_000, SoundMg: 5_000_000, EndsMg: 420_000,
			WebMg: 310_000, SiftingsMg: 95_000, LeftMg: 20_000, WasteMg: 60_000, CookBackMg: 700_000, Scale: "floor"}},
		{Found: &record.Found{Of: record.OfMetal, What: "a chip", Where: "sieve", Done: "held"}},
		{After: &record.After{Rolls: record.No, Glass: record.NotHere}},
		{Cleaned: &record.Cleaned{Surface: record.OnSlab, Kind: record.AllergenCleaned, By: "Ada", Verified: "Bela"}}, {Cleaned: &record.Cleaned{Surface: record.OnRolls, Kind: record.Wiped, By: "Ada"}},
		{Moisture: &record.Moisture{Of: record.OfSweet, WaterFrac: 0.024, SureFrac: 0.003, Method: "oven"}},
		{Tasted: &record.Tasted{Words: []record.Word{record.Dull, record.Pale}, Note: "of soap"}},
		{Noted: &record.Noted{Why: "written by Bela", Tried: `{"batch":"x"}`}},
		{Placed: &record.Placed{As: record.OnHold}}, {Placed: &record.Placed{As: record.Diverted, Why: "as broken drops"}},
	}
	want := map[record.Kind][]record.Entry{}
	last := store.Head(0)
	for _, e := range written {
		e.Batch = id
		last = k.enter(e, 0, 3)
		want[e.Kind()] = append(want[e.Kind()], e)
	}
	sign := record.Entry{Batch: id, Signed: &record.Signed{Through: int64(last), Note: "held"}}
	stale := sign
	stale.Signed = &record.Signed{Through: int64(last) - 1}
	_, err := k.Enter(k.ctx, stale, 0, meta(3))
	wantKind(k.t, "signed unread", err, fault.KindConflict)
	k.enter(sign, 0, 3)
	want[record.Signing] = []record.Entry{sign}
	list, err := k.Records(k.ctx, store.Find{Batch: id, Limit: 1})
	if err != nil || len(list) != 1 {
		k.t.Fatalf("Records = %d, %v", len(list), err)
	}
	for _, kind := range record.Kinds()[1:] {
		var got []record.Entry
		for _, x := range list[0].All(kind) {
			got = append(got, x.Entry)
		}
		if d := cmp.Diff(want[kind], got); d != "" || len(got) == 0 {
			k.t.Errorf("%s (-written +read):\n%s", kind, d)
		}
	}
	k.sound()
}

// testWeighed weighs for a batch out of lots: the ledger of a lot follows what the record
// says, through every correction, and never says it twice.
func testWeighed(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	const id, one, two = "2026-03-14-1", "r2026-03-14-1", "r2026-03-14-2"
	sugar := b.Ingredients[0].ID
	k.lot(came(one, sugar, ""), 0, 1)
	k.lot(came(two, sugar, ""), 0, 1)
	k.enter(begun(b, id, head), 0, 1)
	weigh := func(lot string, mg int64) record.Entry {
		return record.Entry{Batch: id, Weighed: &record.Weighed{Ingredient: sugar, Lot: lot, MassMg: mg}}
	}
	used := func(what string, want ...int64) {
		t.Helper()
		for i, id := range []string{one, two} {
			list, err := k.Lots(k.ctx, store.FindLots{Lot: id, Limit: 1})
			if err != nil || list[0].UsedMg != want[i] || list[0].OnHandMg != 25e6-want[i] {
				t.Errorf("%s: of %s %d mg are used and %d on hand, want %d used; %v", what, id, list[0].UsedMg, list[0].OnHandMg, want[i], err)
			}
		}
		k.sound()
	}
	first := int64(k.enter(weigh(one, 4e6), 0, 2))
	k.enter(weigh(one, 1e6), 0, 2)
	used("weighed twice", 5e6, 0)
	second := int64(k.enter(weigh(one, 3e6), first, 3))
	used("less of the same lot", 4e6, 0)
	third := int64(k.enter(weigh(two, 3e6), second, 4))
	used("out of another lot", 1e6, 3e6)
	fourth := int64(k.enter(weigh("", 3e6), third, 5))
	used("out of no lot", 1e6, 0)
	fifth := int64(k.enter(weigh(two, 2e6), fourth, 6))
	used("out of a lot again", 1e6, 2e6)

	_, err := k.EnterLot(k.ctx, lot.Entry{Lot: two, Used: &lot.Used{MassMg: 1, Batch: id}}, fifth, meta(7))
	wantKind(t, "corrected in the ledger alone", err, fault.KindConflict)
	_, err = k.EnterLot(k.ctx, lot.Entry{Lot: two}, fifth, meta(7))
	wantKind(t, "taken back in the ledger alone", err, fault.KindConflict)
	k.lot(lot.Entry{Lot: one, Placed: &lot.Placed{As: lot.Hold}}, 0, 7)
	_, err = k.Enter(k.ctx, weigh(one, 1e6), 0, meta(8))
	wantKind(t, "out of a lot on hold", err, fault.KindConflict)
	_, err = k.Enter(k.ctx, weigh("r2026-03-14-9", 1e6), 0, meta(8))
	wantKind(t, "out of no such lot", err, fault.KindNotFound)
	k.enter(record.Entry{Batch: id}, fifth, 9)
	used("taken back", 1e6, 0)
}

// testTaps has a device tell what was tapped on it while nobody heard: each tap is taken
// in once and in its order, with its own time and that of its coming.
func testTaps(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	const id, tablet, other = "2026-03-14-1", "tap-0a1b", "tap-2c3d"
	k.enter(begun(b, id, head), 0, 1)
	tap := func(device string, n int64) (store.Head, error) {
		m := meta(5)
		m.Tap = store.Tap{Device: device, N: n, Offset: -3 * time.Second}
		return k.Enter(k.ctx, record.Entry{Batch: id, Tasted: &record.Tasted{Note: fmt.Sprint(device, " ", n)}}, 0, m)
	}
	notes := func() []string {
		list, err := k.Records(k.ctx, store.Find{Batch: id, Limit: 1})
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, x := range list[0].All(record.Tasting) {
			out = append(out, x.Tasted.Note)
		}
		return out
	}
	for _, c := range []struct {
		device string
		n      int64
		kind   fault.Kind // 0: it is taken
	}{
		{tablet, 2, fault.KindConflict}, {tablet, 1, 0}, {tablet, 1, 0}, {other, 1, 0}, {tablet, 3, fault.KindConflict}, {tablet, 2, 0}, {tablet, 1, 0}, {other, 1, 0}, {tablet, 3, 0},
		{"laptop", 1, fault.KindInvalid}, {tablet, 0, fault.KindInvalid},
	} {
		_, err := tap(c.device, c.n)
		if c.kind == 0 && err != nil || c.kind != 0 && fault.KindOf(err) != c.kind {
			t.Errorf("tap %d of %s: %v", c.n, c.device, err)
		}
	}
	if d := cmp.Diff([]string{tablet + " 1", other + " 1", tablet + " 2", tablet + " 3"}, notes()); d != "" {
		t.Errorf("taken in (-want +got):\n%s", d)
	}
	acts, err := k.Acts(k.ctx, int64(head)+1, 9)
	if err != nil || len(acts) != 4 || acts[2].Device != tablet || acts[2].DeviceSeq != 2 || !acts[2].At.Equal(Noon(5)) {
		t.Errorf("kept as %+v, %v", acts, err)
	}
	k.sound()
}

// testStopped finds the batches of which nothing is to leave the house, as their records
// stand.
func testStopped(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	const one, two = "2026-03-14-1", "2026-03-15-1"
	k.enter(begun(b, one, head), 0, 1)
	k.enter(begun(b, two, head), 0, 1)
	found := func(what string, want ...string) {
		t.Helper()
		if got := k.batches(store.Find{Stopped: true}); !slices.Equal(got, want) {
			t.Errorf("%s: found %v, want %v", what, got, want)
		}
		k.sound()
	}
	place := func(id string, as record.Place, corrects int64) int64 {
		return int64(k.enter(record.Entry{Batch: id, Placed: &record.Placed{As: as, Why: "looked at"}}, corrects, 2))
	}
	found("nothing is stopped")
	held := place(one, record.OnHold, 0)
	place(two, record.Binned, 0)
	found("one held, one binned", two, one)
	place(two, record.Diverted, 0)
	found("the other is sold as something else", one)
	k.enter(record.Entry{Batch: one}, held, 3)
	found("the hold is taken back")
}

func testRecordsRefused(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	const id = "2026-03-14-1"
	refuse := func(what string, e record.Entry, corrects int64, kind fault.Kind) {
		t.Helper()
		before := k.export()
		_, err := k.Enter(k.ctx, e, corrects, meta(9))
		wantKind(t, what, err, kind)
		if d := cmp.Diff(before, k.export()); d != "" {
			t.Errorf("%s: refused and yet (-before +after):\n%s", what, d)
		}
	}
	lifted := record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 151}}
	refuse("before it is begun", lifted, 0, fault.KindNotFound)
	late := begun(b, id, head+1)
	refuse("by a state to come", late, 0, fault.KindNotFound)
	other := begun(b, id, head)
	other.Begun.Recipe = "never"
	refuse("of no recipe", other, 0, fault.KindNotFound)
	begins := int64(k.enter(begun(b, id, head), 0, 1))
	refuse("begun twice", begun(b, id, head), 0, fault.KindConflict)
	refuse("an act of another kind", lifted, 1, fault.KindNotFound)
	refuse("an entry of another kind", lifted, begins, fault.KindInvalid)
	refuse("nothing taken back", record.Entry{Batch: id}, 0, fault.KindInvalid)
	refuse("what cannot be meant", record.Entry{Batch: id, Lifted: &record.Lifted{ReadC: 15}}, 0, fault.KindInvalid)
	refuse("no number", record.Entry{Batch: "14-1", Lifted: lifted.Lifted}, 0, fault.KindInvalid)
	first := int64(k.enter(lifted, 0, 2))
	refuse("written twice", lifted, 0, fault.KindConflict)
	refuse("begun taken back under it", record.Entry{Batch: id}, begins, fault.KindConflict)
	k.enter(record.Entry{Batch: id}, first, 3)
	refuse("corrected twice", lifted, first, fault.KindConflict)
	refuse("no reason to correct a taking back", lifted, first+1, fault.KindInvalid)
	k.sound()
}

func testBookAt(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	b.Ingredients = append(b.Ingredients, ingredients("spare")...)
	first, _ := k.put(b, 0)
	want, _ := k.get()
	changed, _ := k.get()
	changed.Room.Air += 3
	changed.Recipes[0].Name = "Another"
	second, _ := k.put(changed, first)
	third, err := k.retire(second, meta(2), store.KindIngredient, "spare")
	if err != nil {
		t.Fatal(err)
	}
	k.enter(begun(b, "2026-03-14-1", third), 0, 3)
	for _, c := range []struct {
		at, last store.Head
		want     book.Book
	}{{first, first, want}, {second, second, changed}, {third, second, changed}, {third + 1, second, changed}} {
		got, last, err := k.BookAt(k.ctx, c.at)
		if err != nil || last != c.last {
			t.Errorf("state %d: last changed by act %d, %v (cause %v), want %d", c.at, last, err, cause(err), c.last)
		}
		c.want.ToMake = nil
		same(t, "the book as it was", got, c.want)
	}
	for _, at := range []store.Head{0, third + 2, -1} {
		_, _, err := k.BookAt(k.ctx, at)
		wantKind(t, "a state that never was", err, fault.KindNotFound)
	}
}
