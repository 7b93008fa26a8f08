package storetest

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/store"
)

func nan() q.Kilograms { return q.Kilograms(math.NaN()) }

func contains(s, part string) bool { return strings.Contains(s, part) }

func testTime(t *testing.T, open Open) {
	k := start(t, open)
	zone := time.FixedZone("far", 13*3600+45*60)
	when := time.Date(2026, time.April, 5, 2, 30, 15, 987_654_321, zone)
	m := store.Meta{Person: "Zoë 飴", At: when, Reason: "summer time ends"}
	if _, _, err := k.Import(k.ctx, basis(), 0, m); err != nil {
		t.Fatal(err)
	}
	acts, err := k.Acts(k.ctx, 0, 10)
	if err != nil || len(acts) != 1 {
		t.Fatalf("Acts = %v, %v", acts, err)
	}
	want := time.Date(2026, time.April, 4, 12, 45, 15, 987_000_000, time.UTC)
	if a := acts[0]; a.At != want || a.Received != want || a.Person != m.Person || a.Reason != m.Reason {
		t.Errorf("act = %+v, want the time %v", a, want)
	}
	_, err = k.SetToMake(k.ctx, nil, 1, store.Meta{At: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)})
	wantField(t, "year 10000", err, "at")
}

func testNames(t *testing.T, open Open) {
	k := start(t, open)
	b := book.Book{Format: book.Format, Shop: Full().Shop}
	head, _ := k.put(b, 0)
	for _, id := range []string{"", "Sugar", "sükker", "飴", "a b", "a/b", "-a", ".a", "a'b", "a\x00", "a%", strings.Repeat("a", 65)} {
		_, _, err := k.Import(k.ctx, book.Book{Ingredients: ingredients(id)}, head, meta(1))
		wantField(t, fmt.Sprintf("id %q", id), err, "ingredient[0].id")
	}
	// Binary order and case of what people read: all kept apart, as written.
	names := []string{"Ähre", "ähre", "A\u0308hre", "ahre", "AHRE", "ß", "ss", "İ", "i", "飴", "🍬", "a\u0000b", " lead", ""}
	in := ingredients("a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l", "m", "n")
	for i := range in {
		in[i].Name = names[i]
	}
	k.put(book.Book{Ingredients: in}, head)
	got, _ := k.get()
	if d := cmp.Diff(in, got.Ingredients); d != "" {
		t.Errorf("names (-want +got):\n%s", d)
	}
	k.sound()
}

func testConflict(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	_, err := k.SetToMake(k.ctx, nil, 3, meta(0))
	wantKind(t, "SetToMake of an empty book", err, fault.KindNotFound)
	head, _ := k.put(b, 0)
	old := head
	b.Shop.Name = "Renamed"
	k.put(b, head)
	before := k.export()
	for _, stale := range []store.Head{0, old, 99, -1} {
		b.Shop.Name = "Not to be kept"
		_, _, err := k.Import(k.ctx, b, stale, meta(9))
		wantKind(t, fmt.Sprintf("Import expecting %d", stale), err, fault.KindConflict)
		_, err = k.SetToMake(k.ctx, nil, stale, meta(9))
		wantKind(t, fmt.Sprintf("SetToMake expecting %d", stale), err, fault.KindConflict)
		_, err = k.retire(stale, meta(9), store.KindHook, b.Hooks[0].ID)
		wantKind(t, fmt.Sprintf("Retire expecting %d", stale), err, fault.KindConflict)
	}
	if after := k.export(); after != before {
		t.Errorf("a conflict changed the book")
	}
}

func testTwoKeepers(t *testing.T, open Open) {
	dir := t.TempDir()
	a, b := startIn(t, open, dir), startIn(t, open, dir)
	one := basis()
	head, _ := a.put(one, 0)
	got, seen := b.get()
	same(t, "the other keeper", got, one)
	if seen != head {
		t.Errorf("the other keeper sees head %d, want %d", seen, head)
	}
	one.Shop.Name = "From the other side"
	b.put(one, seen)
	_, err := a.SetToMake(a.ctx, nil, head, meta(3))
	wantKind(t, "with the head from before", err, fault.KindConflict)
	got, _ = a.get()
	same(t, "the first keeper", got, one)
}

// testConcurrency has eight goroutines, on two keepers, each add a line to make
// or a product four times, beginning again whenever another was first: in the
// end all of it is there, and the log tells of each once.
func testConcurrency(t *testing.T, open Open) {
	dir := t.TempDir()
	keepers := []kit{startIn(t, open, dir), startIn(t, open, dir)}
	base := book.Book{Format: book.Format, Shop: Full().Shop, Ingredients: ingredients("sugar")}
	base.Products = []bag.Product{{ID: "bag", Name: "bag"}}
	keepers[0].put(base, 0)

	const goroutines, rounds = 8, 4
	errs := make(chan error, goroutines)
	var wg sync.WaitGroup
	for g := range goroutines {
		k := keepers[g%len(keepers)]
		wg.Go(func() {
			for r := range rounds {
				if err := addOne(k, g, r); err != nil {
					errs <- err
					return
				}
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		t.Errorf("%v (cause %v)", err, cause(err))
	}
	got, head := keepers[1].get()
	if want := store.Head(1 + goroutines*rounds); head != want {
		t.Errorf("head = %d, want %d", head, want)
	}
	var have, want []string
	for _, l := range got.ToMake {
		have = append(have, l.For)
	}
	for _, p := range got.Products {
		have = append(have, p.ID)
	}
	for g := range goroutines {
		for r := range rounds {
			want = append(want, label(g, r))
		}
	}
	want = append(want, "bag")
	slices.Sort(have)
	slices.Sort(want)
	if d := cmp.Diff(want, have); d != "" {
		t.Errorf("lines and products (-want +got):\n%s", d)
	}
	keepers[0].sound()
}

func label(g, r int) string { return fmt.Sprintf("g%d-r%d", g, r) }

// addOne reads the book, adds its own line or product to what it read and saves.
func addOne(k kit, g, r int) error {
	for {
		b, head, err := k.Book(k.ctx)
		if err != nil {
			return err
		}
		if g%2 == 0 {
			_, err = k.SetToMake(k.ctx, append(b.ToMake, demand.Line{Product: "bag", Bags: 1, For: label(g, r)}), head, meta(g))
		} else {
			b.Products = append(b.Products, bag.Product{ID: label(g, r), Name: "p"})
			_, _, err = k.Import(k.ctx, b, head, meta(g))
		}
		if err == nil || fault.KindOf(err) != fault.KindConflict {
			return err
		}
	}
}

func testActs(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	var head store.Head
	for i := range 5 {
		b.Shop.Name = fmt.Sprint("name ", i)
		head, _ = k.put(b, head)
	}
	acts, err := k.Acts(k.ctx, 0, 100)
	if err != nil || len(acts) != 5 {
		t.Fatalf("Acts = %d, %v, want 5", len(acts), err)
	}
	prev := store.FirstHash
	for i, a := range acts {
		if a.Seq != int64(i+1) || a.DeviceSeq != a.Seq || a.Device != "desk" || a.ID != fmt.Sprintf("desk-%d", i+1) ||
			a.Kind != store.ActImport || a.PrevHash != prev || store.HashAct(a) != a.Hash || !a.At.Equal(Noon(i)) {
			t.Errorf("act %d = %+v", i+1, a)
		}
		prev = a.Hash
	}
	part, err := k.Acts(k.ctx, 2, 2)
	if d := cmp.Diff(acts[2:4], part); d != "" || err != nil {
		t.Errorf("acts 3 and 4: %v (-want +got):\n%s", err, d)
	}
	if last, err := k.Acts(k.ctx, 5, 2); len(last) != 0 || err != nil {
		t.Errorf("after the last: %v, %v", last, err)
	}
	_, err = k.Acts(k.ctx, 0, 0)
	wantKind(t, "no limit", err, fault.KindInvalid)
	if a := k.sound(); a.Hash != prev || a.Head != 5 || a.Acts != 5 {
		t.Errorf("audit = %+v, want the hash %s", a, prev)
	}
}

// History gives an empty book a log of some acts of every kind, and readings.
func History(t *testing.T, in store.Keeper) {
	t.Helper()
	k := kit{in, t, context.Background()}
	b := basis()
	b.Ingredients = append(b.Ingredients, ingredients("spare", "other")...)
	head, _ := k.put(b, 0)
	b.Recipes[0].Name = "Another"
	slices.Reverse(b.Glasses)
	head, _ = k.put(b, head)
	head, err := k.retire(head, meta(2), store.KindIngredient, "spare")
	if err != nil {
		k.t.Fatal(err)
	}
	head, _ = k.put(book.Book{Ingredients: ingredients("spare")}, head)
	if head, err = k.retire(head, meta(3), store.KindIngredient, "other"); err != nil {
		k.t.Fatal(err)
	}
	k.enter(begun(b, "2026-03-14-1", head), 0, 4)
	lifted := k.enter(record.Entry{Batch: "2026-03-14-1", Lifted: &record.Lifted{ReadC: 151}}, 0, 4)
	k.enter(record.Entry{Batch: "2026-03-14-1", Lifted: &record.Lifted{ReadC: 152}}, int64(lifted), 4)
	k.someLots("spare")
	head = k.attach("2026-03-14-1", Pixel(1), 4)
	lines := []demand.Line{{Product: b.Products[1].ID, Bags: 7, Must: true, Due: "2026-03-20", For: "shelf"}, {Product: b.Products[0].ID, Bags: 2}}
	if _, err = k.SetToMake(k.ctx, lines, head, meta(4)); err != nil {
		k.t.Fatal(err)
	}
	k.someReadings(b.Glasses[0].ID, "2026-03-14-1")
}

// Acts is how many acts History does.
const Acts = 14

func testWhole(t *testing.T, open Open) {
	from, to := start(t, open), start(t, open)
	History(t, from)
	text := from.export()
	head, err := to.ImportAll(to.ctx, strings.NewReader(text))
	if err != nil || head != Acts {
		t.Fatalf("ImportAll = %d, %v (cause %v), want %d", head, err, cause(err), Acts)
	}
	if d := cmp.Diff(text, to.export()); d != "" {
		t.Errorf("export of the import (-first +second):\n%s", d)
	}
	want, _ := from.get()
	got, _ := to.get()
	same(t, "the book", got, want)
	to.sound()

	// It goes on where the first one stopped, and in the same way.
	want.Room.Air++
	from.put(want, head)
	to.put(want, head)
	if d := cmp.Diff(from.export(), to.export()); d != "" {
		t.Errorf("one act later (-first +second):\n%s", d)
	}
	_, err = to.ImportAll(to.ctx, strings.NewReader(text))
	wantKind(t, "into a book that is not empty", err, fault.KindConflict)

	// Blank lines, other line ends and spaces between tokens do no harm.
	loose := start(t, open)
	spaced := strings.ReplaceAll(strings.ReplaceAll(text, "\n", "\r\n\r\n"), `{"line":`, ` { "line" : `)
	if _, err := loose.ImportAll(loose.ctx, strings.NewReader(spaced)); err != nil {
		t.Fatalf("spaced: %v (cause %v)", err, cause(err))
	}
	if d := cmp.Diff(text, loose.export()); d != "" {
		t.Errorf("export of the spaced import (-want +got):\n%s", d)
	}
	broken := start(t, open)
	_, err = broken.ImportAll(broken.ctx, &failing{strings.NewReader(text[:len(text)/2])})
	wantKind(t, "a reader that fails", err, fault.KindInternal)
	if head, _ := broken.Head(broken.ctx); head != 0 {
		t.Errorf("a reader that failed left head %d", head)
	}
}

type failing struct{ r *strings.Reader }

func (f *failing) Read(p []byte) (int, error) {
	if n, err := f.r.Read(p); err == nil {
		return n, nil
	}
	return 0, errors.New("the stick was pulled out")
}

// testBrokenLines spoils every line of an export in turn, in several ways, and
// wants the line named and nothing kept. Many more spoiled bytes are tried on
// the reader alone, in the tests of package store.
func testBrokenLines(t *testing.T, open Open) {
	from, k := start(t, open), start(t, open)
	History(t, from)
	text := from.export()
	var lines []string
	for s := bufio.NewScanner(strings.NewReader(text)); s.Scan(); {
		lines = append(lines, s.Text())
	}
	refuse := func(what string, spoiled []string, n ...int) {
		t.Helper()
		_, err := k.ImportAll(k.ctx, strings.NewReader(strings.Join(spoiled, "\n")))
		wantKind(t, what, err, fault.KindInvalid)
		if f, ok := err.(*fault.Error); ok && !slices.ContainsFunc(n, func(n int) bool { return f.Field == fmt.Sprint("line ", n) }) {
			t.Errorf("%s: the fault names %q, want one of the lines %v: %v", what, f.Field, n, err)
		}
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for i, line := range lines {
		n := i + 1
		with := func(s ...string) []string { return slices.Concat(lines[:i], s, lines[n:]) }
		// A line that is gone, there twice or swapped shows there or at the next one.
		refuse(fmt.Sprintf("without line %d", n), with(), n, n+1)
		refuse(fmt.Sprintf("line %d twice", n), with(line, line), n+1)
		refuse(fmt.Sprintf("line %d cut", n), with(line[:len(line)/2]), n)
		refuse(fmt.Sprintf("nothing from line %d on", n), lines[:i], n, n-1)
		at := rnd.IntN(len(line))
		bad := []byte(line)
		bad[at]++
		if !inFor(line, at) { // whom a line is for is kept outside the chain, on purpose
			refuse(fmt.Sprintf("line %d, byte %d: %q for %q", n, at, bad[at], line[at]), with(string(bad)), n)
		}
	}
	if head, err := k.Head(k.ctx); head != 0 || err != nil {
		t.Errorf("after broken imports the head is %d, %v", head, err)
	}
	if _, err := k.ImportAll(k.ctx, bytes.NewReader([]byte(text))); err != nil {
		t.Errorf("the unbroken export afterwards: %v", err)
	}
	k.sound()
}

// inFor reports whether the byte is in the value of a to_make line's "for".
func inFor(line string, at int) bool {
	i := strings.Index(line, `,"for":"`)
	return strings.HasPrefix(line, `{"line":"to_make"`) && at >= i+len(`,"for":"`)
}
