package store_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/recipe"
	"slabside/internal/store"
	"slabside/internal/store/storetest"
)

func TestCanonical(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		v    any
		want string
	}{
		{"members sorted, none for nothing", struct {
			B    string   `json:"b"`
			A    int      `json:"a"`
			Nil  []string `json:"nil"`
			None []string `json:"none"`
		}{"x", 1, nil, []string{}}, `{"a":1,"b":"x"}`},
		{"no escaping for HTML", map[string]string{"a": "<&>飴"}, `{"a":"<&>飴"}`},
		{"numbers as written", []float64{0.1, 1e21, 3}, `[0.1,1e+21,3]`},
		{"maps sorted", map[string]int{"mint": 1, "anise": 2}, `{"anise":2,"mint":1}`},
		{"nil pointer", struct {
			P *int `json:"p"`
		}{}, `{}`},
	} {
		got, err := store.Canonical(c.v)
		if err != nil || string(got) != c.want {
			t.Errorf("%s: %s, %v, want %s", c.name, got, err, c.want)
		}
	}
}

// TestDefinitions_roundTrip takes the full book apart and puts it together.
func TestDefinitions_roundTrip(t *testing.T) {
	t.Parallel()
	want := storetest.Full()
	defs, err := store.Definitions(want)
	if err != nil {
		t.Fatal(err)
	}
	got := book.Book{Format: book.Format, ToMake: want.ToMake}
	kinds := map[string]bool{}
	for _, d := range defs {
		kinds[d.Kind] = true
		if err := store.Place(&got, d.Kind, d.Body, true); err != nil {
			t.Errorf("%s: %v", d.Name, err)
		}
		again, err := store.Refs(d.Kind, d.Body)
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
		}
		if diff := cmp.Diff(d.Refs, again, cmpopts.IgnoreFields(store.Ref{}, "Field")); diff != "" {
			t.Errorf("%s: references of the body (-definition +body):\n%s", d.Name, diff)
		}
	}
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("put together (-want +got):\n%s", d)
	}
	if len(kinds) != len(store.Kinds()) {
		t.Errorf("the full book has the kinds %v, want all of %v", kinds, store.Kinds())
	}
}

// TestKinds_order: a definition refers only to kinds before its own, which the
// engines and the reader of exports count on.
func TestKinds_order(t *testing.T) {
	t.Parallel()
	defs, err := store.Definitions(storetest.Full())
	if err != nil {
		t.Fatal(err)
	}
	place := func(kind string) int { return slices.Index(store.Kinds(), kind) }
	last := 0
	for _, d := range defs {
		if p := place(d.Kind); p < last {
			t.Errorf("%s comes after a later kind", d.Name)
		} else {
			last = p
		}
		for _, r := range d.Refs {
			if place(r.Kind) < 0 || place(r.Kind) >= place(d.Kind) {
				t.Errorf("%s refers to %s, a kind that is not before its own", d.Name, r.Name)
			}
		}
	}
}

func TestPlace_unknownField(t *testing.T) {
	t.Parallel()
	var b book.Book
	body := []byte(`{"id":"a","name":"A","kind":"sugar","solids":"1 kg","flavour":"new"}`)
	body = []byte(strings.Replace(string(body), "1 kg", "50 %", 1))
	if err := store.Place(&b, store.KindIngredient, body, true); fault.KindOf(err) != fault.KindInternal {
		t.Errorf("strict: %v, want an internal fault", err)
	}
	if err := store.Place(&b, store.KindIngredient, body, false); err != nil || len(b.Ingredients) != 1 {
		t.Errorf("not strict: %v, %v", err, b.Ingredients)
	}
}

func TestRefs_once(t *testing.T) {
	t.Parallel()
	b := book.Book{
		Recipes: []recipe.Recipe{{ID: "r", Boil: []recipe.Part{{Ingredient: "sugar"}, {Ingredient: "sugar"}},
			Additions: []recipe.Addition{{Ingredient: "sugar"}}}},
		Products: []bag.Product{{ID: "p", Parts: []bag.Part{{Recipe: "r"}, {Recipe: "r"}}}},
	}
	defs, err := store.Definitions(b)
	if err != nil {
		t.Fatal(err)
	}
	want := [][]store.Ref{
		{{Role: "boil", Name: store.Name{Kind: "ingredient", Slug: "sugar"}, Field: "recipe[0].boil[0].ingredient"},
			{Role: "addition", Name: store.Name{Kind: "ingredient", Slug: "sugar"}, Field: "recipe[0].addition[0].ingredient"}},
		{{Role: "part", Name: store.Name{Kind: "recipe", Slug: "r"}, Field: "product[0].part[0].recipe"}},
	}
	if d := cmp.Diff(want, [][]store.Ref{defs[0].Refs, defs[1].Refs}); d != "" {
		t.Errorf("references (-want +got):\n%s", d)
	}
}

// TestMergeOrder_laws: nothing is lost or doubled; the file's things stand in
// the file's order; a file that says what is so changes nothing; and things the
// file does not speak of keep their order unless one of the file's is between.
func TestMergeOrder_laws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.Map(rapid.IntRange(0, 12), func(i int) string { return fmt.Sprint("t", i) })
		old := rapid.SliceOfDistinct(name, rapid.ID).Draw(t, "old")
		file := rapid.SliceOfDistinct(name, rapid.ID).Draw(t, "file")
		got := store.MergeOrder(old, file)
		all := slices.Sorted(slices.Values(append(slices.Clone(file), old...)))
		if d := cmp.Diff(slices.Compact(all), slices.Sorted(slices.Values(got)), cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("not the same things: %s", d)
		}
		in := func(list []string) func(string) bool { return func(s string) bool { return !slices.Contains(list, s) } }
		if d := cmp.Diff(file, slices.DeleteFunc(slices.Clone(got), in(file)), cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("the file's order is not kept: %s", d)
		}
		if again := store.MergeOrder(got, file); !slices.Equal(again, got) {
			t.Fatalf("twice: %v, once: %v", again, got)
		}
		part := slices.DeleteFunc(slices.Clone(old), in(file))
		if merged := store.MergeOrder(old, part); !slices.Equal(merged, old) {
			t.Fatalf("a part in the old order gives %v, want %v", merged, old)
		}
	})
}

func TestCheckLines(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		line  demand.Line
		field string
	}{
		{demand.Line{Bags: 1<<31 - 1, Due: "any", For: "飴"}, ""},
		{demand.Line{Bags: 1 << 31}, "to_make[0].bags"},
		{demand.Line{Bags: -1}, "to_make[0].bags"},
		{demand.Line{Due: "\xff"}, "to_make[0].due"},
		{demand.Line{For: "a\x00"}, "to_make[0].for"},
	} {
		err := store.CheckLines([]demand.Line{c.line})
		f, _ := err.(*fault.Error)
		if (err == nil) != (c.field == "") || f != nil && f.Field != c.field {
			t.Errorf("%+v: %v, want field %q", c.line, err, c.field)
		}
	}
}
