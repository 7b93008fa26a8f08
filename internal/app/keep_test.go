package app_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/rig"
	"slabside/internal/shoptest"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
)

// keptApp is an app over a new database, with the sample shop in it or empty.
func keptApp(t *testing.T, empty bool) *app.App {
	t.Helper()
	if !empty {
		a, _ := keptIn(t)
		return a
	}
	return app.New(keeper(t), shoptest.Now)
}

// keptIn is an app over a new database with the sample shop in it, and its keeper.
func keptIn(t testing.TB) (*app.App, store.Keeper) {
	t.Helper()
	k := keeper(t)
	a := app.New(k, shoptest.Now)
	if _, err := a.Import(context.Background(), shoptest.Book(), "test", "the sample shop"); err != nil {
		t.Fatal(err)
	}
	return a, k
}

func keeper(t testing.TB) store.Keeper {
	t.Helper()
	k, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return k
}

func kept(t *testing.T, a *app.App) (book.Book, store.Head) {
	t.Helper()
	b, head, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return b, head
}

// A changed field makes a version that says who, why and what; the undo brings
// the thing back to the bit, and is undone in its turn.
func TestSaveHistoryUndo(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	before, head := kept(t, a)
	k := before.Kettles[0]
	f, err := entry.Print(&before, "kettle", k.ID)
	if err != nil {
		t.Fatal(err)
	}
	f.Text["smear"] = "250 g"
	id, now, err := a.Save(ctx, f, head, "Ann", "weighed it")
	if err != nil || id != k.ID || now == head {
		t.Fatalf("id %q, head %d after %d, %v", id, now, head, err)
	}
	after, _ := kept(t, a)
	if got := after.Kettles[0].Smear; got != 0.25 {
		t.Errorf("the smear is %v", got)
	}
	if _, _, err := a.Save(ctx, f, head, "Ben", ""); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("a stale save gives %v", err)
	}
	versions, err := a.History(ctx, "kettle", k.ID, 0, 9)
	if err != nil {
		t.Fatal(err)
	}
	was, _ := entry.Print(&before, "kettle", k.ID)
	is, _ := entry.Print(&after, "kettle", k.ID)
	want := []entry.Difference{{Name: "smear", From: was.Text["smear"], To: is.Text["smear"]}}
	if len(versions) != 2 || versions[0].Person != "Ann" || versions[0].Reason != "weighed it" || !slices.Equal(versions[0].Changes, want) {
		t.Errorf("versions %+v", versions)
	}
	last, err := a.Last(ctx)
	if err != nil || last == nil || !slices.Equal(last.What, []string{"kettle " + k.ID}) {
		t.Fatalf("the last change is %+v, %v", last, err)
	}
	if err := a.Undo(ctx, head, "Ben"); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("an undo of a change not seen gives %v", err)
	}
	if err := a.Undo(ctx, now, "Ben"); err != nil {
		t.Fatal(err)
	}
	undone, head := kept(t, a)
	if d := cmp.Diff(before, undone); d != "" {
		t.Errorf("undone (-before +after):\n%s", d)
	}
	if err := a.Undo(ctx, head, "Ben"); err != nil {
		t.Fatal(err)
	}
	again, _ := kept(t, a)
	if d := cmp.Diff(after, again); d != "" {
		t.Errorf("the undo undone:\n%s", d)
	}
}

// What was added is retired by an undo, what was retired comes back.
func TestUndoAddAndRetire(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	before, head := kept(t, a)
	f, err := entry.Duplicate(&before, "recipe", before.Recipes[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	f.Text["name"] = "Second thoughts"
	id, head, err := a.Save(ctx, f, head, "Ann", "")
	if err != nil || id != "second-thoughts" {
		t.Fatal(id, err)
	}
	if err := a.Undo(ctx, head, "Ann"); err != nil {
		t.Fatal(err)
	}
	b, head := kept(t, a)
	if d := cmp.Diff(before, b); d != "" {
		t.Errorf("an addition undone (-before +after):\n%s", d)
	}
	if err := a.Undo(ctx, head, "Ann"); err != nil {
		t.Fatal(err)
	}
	b, head = kept(t, a)
	if !slices.ContainsFunc(entry.List(&b, "recipe"), func(x entry.Thing) bool { return x.ID == id }) {
		t.Error("the retirement undone does not bring the recipe back")
	}
	if err := a.Retire(ctx, "recipe", id, head, "Ann", "not liked"); err != nil {
		t.Fatal(err)
	}
	if err := a.Retire(ctx, "ingredient", before.Recipes[0].Boil[0].Ingredient, head+1, "Ann", ""); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("an ingredient in use is retired: %v", err)
	}
}

// Versions come in parts, and each says what it changed from the one before, also
// where a part begins.
func TestHistoryInParts(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	b, head := kept(t, a)
	for i := range 7 {
		f, err := entry.Print(&b, "kettle", b.Kettles[0].ID)
		if err != nil {
			t.Fatal(err)
		}
		f.Text["smear"] = fmt.Sprintf("%d g", 200+i)
		if _, head, err = a.Save(ctx, f, head, "Ann", fmt.Sprint(i)); err != nil {
			t.Fatal(err)
		}
	}
	whole, err := a.History(ctx, "kettle", b.Kettles[0].ID, 0, 100)
	if err != nil || len(whole) != 8 {
		t.Fatalf("%d versions, %v", len(whole), err)
	}
	for i, v := range whole[:6] {
		if c, older := v.Changes, whole[i+1].Changes; len(c) != 1 || c[0].Name != "smear" || c[0].From != older[0].To {
			t.Errorf("version %d changed %+v, the one before %+v", v.N, c, older)
		}
	}
	for _, limit := range []int{1, 2, 3, 8} {
		var parts []app.Version
		for before := 0; before != 1; {
			p, err := a.History(ctx, "kettle", b.Kettles[0].ID, before, limit)
			if err != nil || len(p) == 0 {
				t.Fatalf("%d below %d: %v, %v", limit, before, p, err)
			}
			parts = append(parts, p...)
			before = p[len(p)-1].N
		}
		if d := cmp.Diff(whole, parts); d != "" {
			t.Errorf("%d at once (-whole +parts):\n%s", limit, d)
		}
	}
}

// Whatever one act did to the definitions and the lines to make, one act takes it
// back to the bit, the order of every list with it and whom every line is for; and
// that is taken back in its turn.
func TestUndoProperty(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("one act after the other: nothing for the race detector, and all of it without")
	}
	ctx := context.Background()
	a := keptApp(t, false)
	fresh := 0
	rapid.Check(t, func(rt *rapid.T) {
		for range rapid.IntRange(1, 3).Draw(rt, "acts") {
			before, head := kept(t, a)
			change := before
			change.ToMake = nil
			if rapid.Bool().Draw(rt, "lines too") {
				change.ToMake = otherLines(rt, shoptest.Book().ToMake)
			}
			change.Ingredients = shuffledWithNew(rt, &fresh, before.Ingredients, func(x *ingredient.Ingredient, s string) { x.ID, x.Name = s, s })
			change.Rolls = shuffledWithNew(rt, &fresh, before.Rolls, func(x *rig.Rolls, s string) { x.ID, x.Name = s, s })
			if rapid.Bool().Draw(rt, "shop too") {
				change.Shop.Place += "x"
			}
			var err error
			spare := slices.IndexFunc(before.Ingredients, func(x ingredient.Ingredient) bool { return strings.HasPrefix(x.ID, "new-") })
			if spare >= 0 && rapid.Bool().Draw(rt, "retire") {
				err = a.Retire(ctx, "ingredient", before.Ingredients[spare].ID, head, "Ann", "")
			} else if rapid.Bool().Draw(rt, "lines alone") {
				err = a.SetToMake(ctx, otherLines(rt, shoptest.Book().ToMake), head, "Ann", "")
			} else {
				_, err = a.Import(ctx, change, "Ann", "")
			}
			if err != nil {
				rt.Fatal(err)
			}
			after, now := kept(t, a)
			if now == head {
				continue
			}
			for _, want := range []book.Book{before, after} {
				_, head := kept(t, a)
				if err := a.Undo(ctx, head, "Ann"); err != nil {
					rt.Fatal(err)
				}
				got, next := kept(t, a)
				if d := cmp.Diff(want, got); d != "" || next != head+1 {
					rt.Fatalf("undone by %d acts (-want +got):\n%s", next-head, d)
				}
			}
		}
	})
}

// otherLines returns some lines to make, none perhaps, for others than before.
func otherLines(rt *rapid.T, list []demand.Line) []demand.Line {
	out := rapid.Permutation(list).Draw(rt, "lines")
	out = append([]demand.Line{}, out[:rapid.IntRange(0, len(out)).Draw(rt, "so many")]...)
	for i := range out {
		out[i].For = rapid.SampledFrom([]string{"", "shelf", "Quay Café"}).Draw(rt, "for")
		out[i].Bags = rapid.IntRange(1, 9).Draw(rt, "bags")
	}
	return out
}

// A trial of the day is kept with its lines by one act and taken back by one, the
// last line too.
func TestUndoKeptTrial(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for _, c := range []struct {
		name string
		said []string // kind, text
	}{
		{"day and lines", []string{"break", "tea 10:30-11:00 20min", "bags", "row-mix=9", "hand", "Dora weigh,pack"}},
		{"lines alone", []string{"without", "row-mix"}},
		{"no line left", []string{"break", "tea 10:30-11:00 20min", "without", "row-mix", "without", "pear-bag", "without", "aniseed-jar"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a := keptApp(t, false)
			before, head := kept(t, a)
			req := app.PlanRequest{Date: "2026-03-16"}
			for i := 0; i < len(c.said); i += 2 {
				x, err := app.ReadChange(c.said[i], c.said[i+1])
				if err != nil {
					t.Fatal(err)
				}
				req.If = append(req.If, x)
			}
			now, err := a.KeepTrial(ctx, req, head, "Ann", "")
			if err != nil || now != head+1 {
				t.Fatalf("head %d after %d, %v", now, head, err)
			}
			after, _ := kept(t, a)
			last, err := a.Last(ctx)
			if err != nil || !last.Undoable || !slices.Contains(last.What, "lines to make") {
				t.Fatalf("the last change is %+v, %v", last, err)
			}
			for _, want := range []book.Book{before, after} {
				if err := a.Undo(ctx, now, "Ann"); err != nil {
					t.Fatal(err)
				}
				got, next := kept(t, a)
				if d := cmp.Diff(want, got); d != "" || next != now+1 {
					t.Errorf("undone by %d acts (-want +got):\n%s", next-now, d)
				}
				now = next
			}
		})
	}
}

// The lines of before travel in no export: there the last change of them says that
// it cannot be undone, and is not.
func TestUndoLinesUnknown(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a, k := keptIn(t)
	b, head := kept(t, a)
	if err := a.SetToMake(ctx, b.ToMake[:1], head, "Ann", ""); err != nil {
		t.Fatal(err)
	}
	var lines bytes.Buffer
	if err := k.ExportAll(ctx, &lines); err != nil {
		t.Fatal(err)
	}
	other, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "other.db"), sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	now, err := other.ImportAll(ctx, &lines)
	if err != nil {
		t.Fatal(err)
	}
	moved := app.New(other, shoptest.Now)
	if last, err := moved.Last(ctx); err != nil || last.Undoable {
		t.Errorf("the last change is %+v, %v", last, err)
	}
	if err := moved.Undo(ctx, now, "Ann"); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("undone: %v", err)
	}
}

// shuffledWithNew returns part of a list in another order, with up to two things
// that are new.
func shuffledWithNew[T any](rt *rapid.T, fresh *int, list []T, rename func(*T, string)) []T {
	out := slices.Clone(list)
	for range rapid.IntRange(0, 2).Draw(rt, "new") {
		x := list[0]
		*fresh++
		rename(&x, fmt.Sprintf("new-%d", *fresh))
		out = append(out, x)
	}
	out = rapid.Permutation(out).Draw(rt, "order")
	return out[:rapid.IntRange(0, len(out)).Draw(rt, "part")]
}

// The stock can be emptied, and the undo brings it back.
func TestSaveEmptyStock(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	before, head := kept(t, a)
	if len(before.Stock) == 0 {
		t.Fatal("the sample shop has nothing on hand")
	}
	f, err := entry.Print(&before, "stock", "")
	if err != nil {
		t.Fatal(err)
	}
	f.Rows["stock"] = 0
	_, head, err = a.Save(ctx, f, head, "Ann", "counted")
	if err != nil {
		t.Fatal(err)
	}
	if b, _ := kept(t, a); len(b.Stock) != 0 {
		t.Errorf("on hand is still %v", b.Stock)
	}
	if err := a.Undo(ctx, head, "Ann"); err != nil {
		t.Fatal(err)
	}
	if b, _ := kept(t, a); !slices.Equal(b.Stock, before.Stock) {
		t.Errorf("undone, on hand is %v", b.Stock)
	}
}

// What cannot be meant is refused at its field and changes nothing.
func TestSaveRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, false)
	b, head := kept(t, a)
	f, _ := entry.Print(&b, "recipe", b.Recipes[0].ID)
	f.Text["rolls"], f.Text["boil.0.mass"] = "none-such", "3"
	_, _, err := a.Save(ctx, f, head, "Ann", "")
	var p app.Problems
	if !errors.As(err, &p) || len(p) != 2 {
		t.Fatalf("got %v", err)
	}
	fields := []string{p[0].Field, p[1].Field}
	if slices.Sort(fields); !slices.Equal(fields, []string{"boil.0.mass", "rolls"}) {
		t.Errorf("faults at %v", fields)
	}
	if _, now := kept(t, a); now != head {
		t.Error("a refused save changed the book")
	}
}

// Every thing knows what it is used by: each recipe's rolls and ingredients, each
// product's sweets.
func TestUses(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	for _, r := range b.Recipes {
		for kind, ids := range map[string][]string{"ingredient": r.Ingredients(), "rolls": {r.Rolls}} {
			for _, id := range ids {
				uses, err := app.UsesOf(&b, kind, id)
				if err != nil {
					t.Fatal(err)
				}
				if !slices.ContainsFunc(uses, func(u app.Use) bool { return u.Kind == "recipe" && u.ID == r.ID && u.Name == r.Name }) {
					t.Errorf("%s %s is not used by %s: %v", kind, id, r.ID, uses)
				}
			}
		}
	}
	for _, l := range b.ToMake {
		uses, _ := app.UsesOf(&b, "product", l.Product)
		if !slices.ContainsFunc(uses, func(u app.Use) bool { return u.Kind == "to_make" }) {
			t.Errorf("product %s is asked for and not used: %v", l.Product, uses)
		}
	}
}

// An empty book is begun with its shop and filled thing by thing.
func TestSaveIntoEmptyBook(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, true)
	want := shoptest.Book()
	head := store.Head(0)
	n := 0
	for _, kind := range entry.Kinds() {
		ids := []string{""}
		if !entry.Single(kind) {
			ids = nil
			for _, x := range entry.List(&want, kind) {
				ids = append(ids, x.ID)
			}
		}
		for _, id := range ids {
			f, err := entry.Print(&want, kind, id)
			if err != nil {
				t.Fatal(err)
			}
			if f.ID = ""; id != "" {
				f.Text["id"] = id
			}
			if _, head, err = a.Save(ctx, f, head, "Ann", ""); err != nil {
				t.Fatalf("%s %s: %v", kind, id, err)
			}
			n++
		}
	}
	if n < 30 {
		t.Fatalf("only %d things", n)
	}
	b, head := kept(t, a)
	if err := a.SetToMake(ctx, want.ToMake, head, "Ann", ""); err != nil {
		t.Fatal(err)
	}
	p, err := a.Plan(ctx, app.PlanRequest{})
	if err != nil || len(p.Batches) == 0 {
		t.Fatalf("no plan: %v", err)
	}
	for _, line := range p.Bags {
		if !strings.Contains(strings.Join(names(&b), "|"), line.Name) {
			t.Errorf("no product %q", line.Name)
		}
	}
}

func names(b *book.Book) []string {
	var out []string
	for _, x := range entry.List(b, "product") {
		out = append(out, x.Name)
	}
	return out
}
