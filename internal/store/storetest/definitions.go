package storetest

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
	"slabside/internal/store"
)

func testEmpty(t *testing.T, open Open) {
	k := start(t, open)
	_, _, err := k.Book(k.ctx)
	wantKind(t, "Book", err, fault.KindNotFound)
	wantKind(t, "ExportAll", k.ExportAll(k.ctx, &discard{}), fault.KindNotFound)
	_, err = k.Versions(k.ctx, store.KindRecipe, "none", 0, 9)
	wantKind(t, "Versions", err, fault.KindNotFound)
	_, err = k.retire(0, meta(0), store.KindRecipe, "none")
	wantKind(t, "Change", err, fault.KindNotFound)
	if head, err := k.Head(k.ctx); head != 0 || err != nil {
		t.Errorf("Head = %d, %v, want 0 and no error", head, err)
	}
	if acts, err := k.Acts(k.ctx, 0, 10); len(acts) != 0 || err != nil {
		t.Errorf("Acts = %v, %v, want none", acts, err)
	}
	if a := k.sound(); a.Head != 0 || a.Hash != store.FirstHash {
		t.Errorf("Verify of an empty book = %+v", a)
	}
	_, _, err = k.Import(k.ctx, book.Book{}, 0, meta(0))
	wantField(t, "a first import without a shop", err, "shop")
}

type discard struct{ n int }

func (d *discard) Write(p []byte) (int, error) { d.n += len(p); return len(p), nil }

func testEveryField(t *testing.T, open Open) {
	full := Full()
	if missing := Unset(full); len(missing) > 0 {
		t.Fatalf("the full book leaves fields unset: %v", missing)
	}
	dir := t.TempDir()
	k := startIn(t, open, dir)
	head, changes := k.put(full, 0)
	if head != 1 {
		t.Errorf("head = %d, want 1", head)
	}
	defs, err := store.Definitions(full)
	if err != nil {
		t.Fatal(err)
	}
	if len(changes.Added) != len(defs)+1 || len(changes.Revised)+len(changes.Kept)+changes.Unchanged != 0 {
		t.Errorf("changes = %+v, want %d added", changes, len(defs)+1)
	}
	got, _ := k.get()
	same(t, "read back", got, full)
	k.sound()
	if err := k.Close(); err != nil {
		t.Fatalf("Close: %v", err)
	}
	again := startIn(t, open, dir)
	got, head = again.get()
	same(t, "read back after reopening", got, full)
	if head != 1 {
		t.Errorf("head after reopening = %d, want 1", head)
	}
}

// testSample keeps the shop that the other packages' tests use.
func testSample(t *testing.T, open Open) {
	k := start(t, open)
	want := shoptest.Book()
	head, _ := k.put(want, 0)
	got, _ := k.get()
	same(t, "the sample shop", got, want)
	if again, _ := k.put(got, head); again != head {
		t.Error("the sample shop read back differs from itself")
	}
	k.sound()
}

// basis is a small book for tests that change it.
func basis() book.Book {
	b := Full()
	b.ToMake, b.Stock = b.ToMake[:1], b.Stock[:1]
	return b
}

func ingredients(ids ...string) []ingredient.Ingredient {
	var all []ingredient.Ingredient
	for _, id := range ids {
		all = append(all, ingredient.Ingredient{ID: id, Name: id, Kind: ingredient.Sugar, Solids: 0.5})
	}
	return all
}

func ids(all []ingredient.Ingredient) []string {
	var out []string
	for _, i := range all {
		out = append(out, i.ID)
	}
	return out
}

func testOrder(t *testing.T, open Open) {
	k := start(t, open)
	b := book.Book{Format: book.Format, Shop: Full().Shop, Ingredients: ingredients("m", "b", "z", "a")}
	head, _ := k.put(b, 0)
	for _, c := range []struct {
		name       string
		file, want []string
	}{
		{"only one of them", []string{"z"}, []string{"m", "b", "z", "a"}},
		{"a new one", []string{"n"}, []string{"m", "b", "z", "a", "n"}},
		{"new order of all", []string{"n", "a", "z", "b", "m"}, []string{"n", "a", "z", "b", "m"}},
		{"one moved to the front of another", []string{"b", "z"}, []string{"n", "a", "b", "m", "z"}},
		{"a new one before an old one", []string{"c", "m"}, []string{"n", "a", "b", "c", "m", "z"}},
	} {
		head, _ = k.put(book.Book{Ingredients: ingredients(c.file...)}, head)
		got, _ := k.get()
		if d := cmp.Diff(c.want, ids(got.Ingredients)); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
	k.sound()
}

func testPartial(t *testing.T, open Open) {
	k := start(t, open)
	want := basis()
	head, _ := k.put(want, 0)

	r := want.Recipes[1]
	r.Note = "a shorter note"
	p := bag.Product{ID: "new-bag", Name: "New", Net: 0.2, Parts: []bag.Part{{Recipe: r.ID, Share: 1}}}
	head, changes := k.put(book.Book{Recipes: want.Recipes[1:2:2], Products: []bag.Product{p}}, head)
	if d := cmp.Diff([]string{"product new-bag"}, changes.Added); d != "" || len(changes.Revised) > 0 || changes.Unchanged != 1 {
		t.Errorf("one new, one the same: %+v", changes)
	}
	head, changes = k.put(book.Book{Recipes: append(want.Recipes[:0:0], r)}, head)
	if d := cmp.Diff([]string{"recipe " + r.ID}, changes.Revised); d != "" || len(changes.Added) > 0 || changes.Unchanged != 0 {
		t.Errorf("one revised: %+v", changes)
	}
	defs, err := store.Definitions(want)
	if err != nil {
		t.Fatal(err)
	}
	// Everything but the one recipe is kept, with the lines to make, and the new product.
	if got, wantN := len(changes.Kept), len(defs)-1+1+1; got != wantN {
		t.Errorf("%d kept, want %d: %v", got, wantN, changes.Kept)
	}
	want.Recipes[1] = r
	want.Products = append(want.Products, p)
	got, now := k.get()
	same(t, "after partial imports", got, want)
	if now != head || head != 3 {
		t.Errorf("head = %d and %d, want 3", now, head)
	}
	k.sound()
}

func testNothingNew(t *testing.T, open Open) {
	k := start(t, open)
	want := basis()
	head, _ := k.put(want, 0)
	before := k.export()
	b, _ := k.get()
	again, changes := k.put(b, head)
	if again != head || len(changes.Added)+len(changes.Revised)+len(changes.Kept) > 0 {
		t.Errorf("importing the book into itself: head %d, %+v", again, changes)
	}
	if again, err := k.SetToMake(k.ctx, b.ToMake, head, meta(3)); again != head || err != nil {
		t.Errorf("the same lines: head %d, %v, want %d", again, err, head)
	}
	// Only in what means nothing: an empty list instead of none.
	b.Ingredients[0].Lots, b.Ingredients[0].Contains = b.Ingredients[0].Lots[:0:0], nil
	head, _ = k.put(b, head)
	b.Ingredients[0].Lots, b.Ingredients[0].Contains = nil, []string{}
	if again, _ := k.put(b, head); again != head {
		t.Errorf("an empty list for none made an act")
	}
	if after := k.export(); len(after) <= len(before) || after[:100] != before[:100] {
		t.Errorf("the log was not appended to")
	}
	if again, _ := k.put(book.Book{}, head); again != head {
		t.Errorf("an empty file made an act")
	}
}

func testRevisions(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	id := b.Recipes[0].ID
	first, err := k.Versions(k.ctx, store.KindRecipe, id, 0, 9)
	if err != nil || len(first) != 1 {
		t.Fatalf("Versions = %v, %v, want one", first, err)
	}
	name := b.Recipes[0].Name
	b.Recipes[0].Name = "Another"
	head, _ = k.put(b, head)
	b.Recipes[0].Name = name // back to what it was: a third revision, not the first
	k.put(b, head)
	revs, err := k.Versions(k.ctx, store.KindRecipe, id, 0, 9)
	if err != nil || len(revs) != 3 {
		t.Fatalf("Versions = %v, %v, want three", revs, err)
	}
	if d := cmp.Diff(first[0], revs[2]); d != "" {
		t.Errorf("the first revision changed (-was +is):\n%s", d)
	}
	acts, err := k.Acts(k.ctx, 0, 9)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range revs {
		n := 3 - i
		if r.N != n || r.Act != int64(n) || store.Sum(r.Body) != r.SHA256 {
			t.Errorf("version %d = %+v", n, r)
		}
		if a := acts[n-1]; r.Person != a.Person || !r.At.Equal(a.At) || r.Reason != a.Reason {
			t.Errorf("version %d is said to be made by %+v, its act by %s at %s: %s", n, r.Meta, a.Person, a.At, a.Reason)
		}
	}
	if revs[0].SHA256 != revs[2].SHA256 || revs[1].SHA256 == revs[0].SHA256 || revs[0].ID <= revs[1].ID {
		t.Errorf("sums or ids do not tell the revisions apart: %v", revs)
	}
	for _, c := range []struct{ before, limit int }{{0, 1}, {0, 2}, {3, 9}, {3, 1}, {2, 5}, {9, 9}} {
		want := revs
		if c.before > 0 {
			want = revs[max(0, 3-(c.before-1)):]
		}
		want = want[:min(c.limit, len(want))]
		got, err := k.Versions(k.ctx, store.KindRecipe, id, c.before, c.limit)
		if d := cmp.Diff(want, got); d != "" || err != nil {
			t.Errorf("%d below %d: %v (-want +got):\n%s", c.limit, c.before, err, d)
		}
	}
	_, err = k.Versions(k.ctx, store.KindRecipe, id, 1, 9)
	wantKind(t, "below the first", err, fault.KindNotFound)
	_, err = k.Versions(k.ctx, store.KindRecipe, id, 0, 0)
	wantField(t, "no versions", err, "limit")
	_, err = k.Versions(k.ctx, store.KindRecipe, id, -1, 9)
	wantField(t, "below nothing", err, "before")
	if all, err := k.Versions(k.ctx, store.KindProduct, b.Products[0].ID, 0, 9); err != nil || len(all) != 1 {
		t.Errorf("an unchanged product has %d revisions, %v", len(all), err)
	}
	k.sound()
}

func testRefused(t *testing.T, open Open) {
	k := start(t, open)
	head, _ := k.put(basis(), 0)
	before := k.export()
	for _, c := range []struct {
		name, field string
		spoil       func(b *book.Book)
	}{
		{"unknown ingredient", "recipe[1].boil[1].ingredient", func(b *book.Book) { b.Recipes[1].Boil[1].Ingredient = "none" }},
		{"unknown rolls", "recipe[0].rolls", func(b *book.Book) { b.Recipes[0].Rolls = "none" }},
		{"unknown recipe in a product", "product[0].part[1].recipe", func(b *book.Book) { b.Products[0].Parts[1].Recipe = "none" }},
		{"unknown kettle of the day", "day.kettle", func(b *book.Book) { b.Day.Kettle = "none" }},
		{"unknown product in stock", "stock[0].product", func(b *book.Book) { b.Stock[0].Product = "none" }},
		{"unknown product to make", "to_make[0].product", func(b *book.Book) { b.ToMake[0].Product = "none" }},
		{"a negative count", "to_make[0].bags", func(b *book.Book) { b.ToMake[0].Bags = -1 }},
		{"the same id twice", "kettle[1].id", func(b *book.Book) { b.Kettles[1].ID = b.Kettles[0].ID }},
		{"an id that is not plain", "hand[1].id", func(b *book.Book) { b.Hands[1].ID = "zoë" }},
		{"bytes that are no text", "ingredient[1].name", func(b *book.Book) { b.Ingredients[1].Name = "a\xff" }},
		{"a mass that is no number", "kettle[0]", func(b *book.Book) { b.Kettles[0].Mass = nan() }},
		{"a rate that is no number", "room", func(b *book.Book) { b.Room.Times.PullRate = float64(nan()) }},
		{"another format", "format", func(b *book.Book) { b.Format = book.Format + 1 }},
	} {
		b := basis()
		b.Shop.Name = "changed, and not to be kept"
		c.spoil(&b)
		_, _, err := k.Import(k.ctx, b, head, meta(5))
		wantField(t, c.name, err, c.field)
	}
	m := meta(5)
	m.Person = "a\x00b"
	b := basis()
	b.Shop.Name = "changed, and not to be kept"
	_, _, err := k.Import(k.ctx, b, head, m)
	wantField(t, "a zero byte", err, "person")
	_, _, err = k.Import(k.ctx, b, head, store.Meta{})
	wantField(t, "no time", err, "at")
	if after := k.export(); after != before {
		t.Errorf("a refused import changed the book")
	}
}

func testToMake(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	head, _ := k.put(b, 0)
	lines := []demand.Line{
		{Product: b.Products[1].ID, Bags: 7, Must: true, Due: "2026-03-20", For: "Ørsted & Söhne"},
		{Product: b.Products[0].ID, Bags: 0},
		{Product: b.Products[1].ID, Bags: 7, Must: true, Due: "2026-03-20", For: "Ørsted & Söhne"}, // twice is meant
	}
	head, err := k.SetToMake(k.ctx, lines, head, meta(2))
	if err != nil || head != 2 {
		t.Fatalf("SetToMake = %d, %v, want 2", head, err)
	}
	got, _ := k.get()
	if d := cmp.Diff(lines, got.ToMake); d != "" {
		t.Errorf("lines (-want +got):\n%s", d)
	}
	_, err = k.SetToMake(k.ctx, []demand.Line{{Product: "none", Bags: 1}}, head, meta(3))
	wantField(t, "unknown product", err, "to_make[0].product")
	if head, err = k.SetToMake(k.ctx, nil, head, meta(4)); err != nil || head != 3 {
		t.Fatalf("no lines: %d, %v, want 3", head, err)
	}
	if got, _ := k.get(); len(got.ToMake) != 0 {
		t.Errorf("lines left: %v", got.ToMake)
	}
	head, changes := k.put(b, head) // an import with lines puts its own in
	if !slices.Contains(changes.Added, "lines to make") || head != 4 {
		t.Errorf("head %d, changes %+v, want the lines added", head, changes)
	}
	a := k.sound()
	if a.Acts != 4 {
		t.Errorf("%d acts, want 4", a.Acts)
	}
	// Whom a line is for may be a customer: it is not in the log for good.
	acts, err := k.Acts(k.ctx, 1, 1)
	if err != nil || len(acts) != 1 || acts[0].Kind != store.ActToMake {
		t.Fatalf("Acts = %v, %v", acts, err)
	}
	if body := string(acts[0].Body); slices.Contains([]bool{contains(body, "Ørsted"), !contains(body, "2026-03-20")}, true) {
		t.Errorf("the act's body is %s", body)
	}
}

// testToMakeBefore: the lines that the last act changed are known as they were, and
// no others.
func testToMakeBefore(t *testing.T, open Open) {
	k := start(t, open)
	unknown := func(what string) {
		t.Helper()
		_, err := k.ToMakeBefore(k.ctx)
		wantKind(t, what, err, fault.KindNotFound)
	}
	known := func(what string, want []demand.Line) {
		t.Helper()
		if got, err := k.ToMakeBefore(k.ctx); err != nil || got == nil || len(got)+len(want) > 0 && !slices.Equal(got, want) {
			t.Errorf("%s: %v, %v, want %v", what, got, err, want)
		}
		k.sound()
	}
	unknown("an empty book")
	b := Full()
	head, _ := k.put(b, 0)
	known("the first lines", nil)
	other := slices.Clone(b.ToMake)
	for i := range other {
		other[i].For = "Ørsted & Söhne"
	}
	head, err := k.SetToMake(k.ctx, other, head, meta(2))
	if err != nil {
		t.Fatal(err)
	}
	known("other names alone", b.ToMake)
	if _, err := k.SetToMake(k.ctx, nil, head-1, meta(3)); err == nil {
		t.Fatal("an old head is no error")
	}
	known("a refused change", b.ToMake)
	head, _ = k.put(book.Book{Shop: book.Shop{Name: "a", Units: "us"}, ToMake: []demand.Line{}}, head)
	known("emptied in passing", other)
	if got, _ := k.get(); len(got.ToMake) != 0 {
		t.Errorf("lines left: %v", got.ToMake)
	}
	if head, err = k.Change(k.ctx, store.Change{Put: book.Book{ToMake: b.ToMake}}, head, meta(4)); err != nil {
		t.Fatal(err)
	}
	known("put back", nil)
	if acts, err := k.Acts(k.ctx, int64(head)-1, 1); err != nil || acts[0].Kind != store.ActToMake {
		t.Errorf("lines alone make %+v, %v", acts, err)
	}
	k.put(book.Book{Shop: b.Shop}, head)
	unknown("an act that leaves them alone")
}

func testRetire(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	b.Ingredients = append(b.Ingredients, ingredients("spare")...)
	head, _ := k.put(b, 0)

	for _, c := range []struct {
		kind, slug string
		want       fault.Kind
	}{
		{store.KindIngredient, b.Ingredients[0].ID, fault.KindConflict}, // a recipe uses it
		{store.KindRecipe, b.Recipes[0].ID, fault.KindConflict},
		{store.KindKettle, b.Kettles[1].ID, fault.KindConflict},
		{store.KindProduct, b.ToMake[0].Product, fault.KindConflict},
		{store.KindIngredient, "none", fault.KindNotFound},
		{"biscuit", "none", fault.KindNotFound},
		{store.KindDay, store.KindDay, fault.KindInvalid},
	} {
		_, err := k.retire(head, meta(3), c.kind, c.slug)
		wantKind(t, "Retire "+c.kind+" "+c.slug, err, c.want)
	}
	head, err := k.retire(head, meta(4), store.KindIngredient, "spare")
	if err != nil || head != 2 {
		t.Fatalf("Retire = %d, %v, want 2", head, err)
	}
	got, _ := k.get()
	same(t, "the retired one is out of the book", got, basis())
	revs, err := k.Versions(k.ctx, store.KindIngredient, "spare", 0, 9)
	if err != nil || len(revs) != 1 {
		t.Errorf("revisions of the retired one: %v, %v, want one", revs, err)
	}
	_, err = k.retire(head, meta(5), store.KindIngredient, "spare")
	wantKind(t, "retired twice", err, fault.KindNotFound)
	r := basis().Recipes[:1:1]
	r[0].Boil = slices.Clone(r[0].Boil)
	r[0].Boil[0].Ingredient = "spare"
	_, _, err = k.Import(k.ctx, book.Book{Recipes: r}, head, meta(6))
	wantField(t, "using a retired one", err, "recipe[0].boil[0].ingredient")
	k.sound()

	head, changes := k.put(book.Book{Ingredients: ingredients("spare")}, head)
	if d := cmp.Diff([]string{"ingredient spare"}, changes.Added); d != "" || head != 3 {
		t.Errorf("brought back: head %d, %+v", head, changes)
	}
	got, _ = k.get()
	same(t, "brought back", got, b)
	if revs, _ := k.Versions(k.ctx, store.KindIngredient, "spare", 0, 9); len(revs) != 1 {
		t.Errorf("bringing it back unchanged made a revision: %v", revs)
	}
	k.sound()
}

// testChange puts in and takes out in one act.
func testChange(t *testing.T, open Open) {
	k := start(t, open)
	b := basis()
	b.ToMake = b.ToMake[:0]
	b.Ingredients = append(b.Ingredients, ingredients("spare", "other")...)
	extra := b.Recipes[0]
	extra.ID, extra.Boil = "extra", slices.Clone(extra.Boil)
	extra.Boil[0].Ingredient = "spare"
	b.Recipes = append(b.Recipes, extra)
	bagOf := bag.Product{ID: "extra-bag", Name: "Extra", Net: 0.2, Parts: []bag.Part{{Recipe: "extra", Share: 1}}}
	b.Products = append(b.Products, bagOf)
	head, _ := k.put(b, 0)
	name := func(kind, slug string) store.Name { return store.Name{Kind: kind, Slug: slug} }
	spare, sweet, product := name(store.KindIngredient, "spare"), name(store.KindRecipe, "extra"), name(store.KindProduct, "extra-bag")
	other := extra
	other.Boil = slices.Clone(extra.Boil)
	other.Boil[0].Ingredient = "other"
	line := []demand.Line{{Product: "extra-bag", Bags: 1}}

	before := k.export()
	for _, c := range []struct {
		what string
		c    store.Change
		want fault.Kind
	}{
		{"used by what stays", store.Change{Out: []store.Name{spare, sweet}}, fault.KindConflict},
		{"used by what is put in", store.Change{Put: book.Book{Recipes: []recipe.Recipe{extra}}, Out: []store.Name{spare}}, fault.KindConflict},
		{"put in and taken out", store.Change{Put: book.Book{Recipes: []recipe.Recipe{other}}, Out: []store.Name{sweet, product}}, fault.KindConflict},
		{"asked for by the same act", store.Change{Put: book.Book{ToMake: line}, Out: []store.Name{product}}, fault.KindConflict},
		{"the same twice", store.Change{Out: []store.Name{product, product}}, fault.KindNotFound},
		{"one that is not there", store.Change{Out: []store.Name{product, name(store.KindRecipe, "none")}}, fault.KindNotFound},
	} {
		_, err := k.Change(k.ctx, c.c, head, meta(2))
		wantKind(t, c.what, err, c.want)
	}
	_, err := k.Change(k.ctx, store.Change{Out: []store.Name{product}}, head-1, meta(2))
	wantKind(t, "an old head", err, fault.KindConflict)
	if k.export() != before {
		t.Error("a refused change changed the book")
	}

	// The recipe lets go of the ingredient in the act that takes it out.
	head, err = k.Change(k.ctx, store.Change{Put: book.Book{Recipes: []recipe.Recipe{other}}, Out: []store.Name{spare}}, head, meta(3))
	if err != nil || head != 2 {
		t.Fatalf("Change = %d, %v, want 2", head, err)
	}
	// All that hangs together goes out at once, in any order.
	head, err = k.Change(k.ctx, store.Change{Out: []store.Name{name(store.KindIngredient, "other"), sweet, product}}, head, meta(4))
	if err != nil || head != 3 {
		t.Fatalf("Change = %d, %v, want 3", head, err)
	}
	want := basis()
	want.ToMake = nil
	got, _ := k.get()
	same(t, "what is left", got, want)
	k.sound()
	// And comes back at once.
	head, err = k.Change(k.ctx, store.Change{Put: b}, head, meta(5))
	if err != nil || head != 4 {
		t.Fatalf("Change = %d, %v, want 4", head, err)
	}
	got, _ = k.get()
	same(t, "all back", got, b)
	if again, err := k.Change(k.ctx, store.Change{}, head, meta(6)); again != head || err != nil {
		t.Errorf("no change: %d, %v", again, err)
	}
	k.sound()
}
