package app

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/fault"
	"slabside/internal/shoptest"
)

// A recipe with figures typed otherwise is the recipe a person would have saved,
// and the book it came from stays as it is.
func TestTryRecipe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		typed map[string]string
		want  func(b *book.Book)
	}{
		{"as it is", map[string]string{"boil.0.mass": " 3 kg "}, nil},
		{"more sugar", map[string]string{"boil.0.mass": "3.5 kg"}, func(b *book.Book) { b.Recipes[0].Boil[0].Mass = 3.5 }},
		{"another end", map[string]string{"boil_to": "150 C"}, func(b *book.Book) { b.Recipes[0].BoilTo = 150 }},
		{"the end said the other way", map[string]string{"boil_to": "@", "water_left": "2.5 %"}, func(b *book.Book) { b.Recipes[0].BoilTo, b.Recipes[0].WaterLeft = 0, 0.025 }},
	} {
		b := shoptest.Book()
		b.Shop.Units = "metric"
		b.Recipes[0].BoilTo, b.Recipes[0].WaterLeft = 152, 0
		b.Recipes[0].Boil[0].Mass = 3
		if c.typed["boil_to"] == "@" { // sent back as it was shown
			f, _ := entry.Print(&b, "recipe", b.Recipes[0].ID)
			c.typed["boil_to"] = f.Text["boil_to"]
		}
		before := clone(t, b)
		got, diff, err := TryRecipe(b, b.Recipes[0].ID, c.typed)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		want := clone(t, before)
		if c.want != nil {
			c.want(&want)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
		if (len(diff) > 0) != (c.want != nil) {
			t.Errorf("%s: differs in %v", c.name, diff)
		}
		if d := cmp.Diff(before, b); d != "" {
			t.Errorf("%s: the kept book has changed:\n%s", c.name, d)
		}
	}
}

// clone copies a book by its form on disk, so that nothing is shared.
func clone(t *testing.T, b book.Book) book.Book {
	t.Helper()
	a, _ := keepBook(t, b)
	out, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	out.Format = b.Format
	return out
}

func TestTryRecipe_Refused(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	for typed, field := range map[string]string{"boil.0.mass=lots": "boil.0.mass", "boil.0.mass=-1 kg": "boil.0.mass", "boil_to=20 C": "boil_to", "boil.0.mass=": "boil.0.mass"} {
		name, text, _ := strings.Cut(typed, "=")
		_, _, err := TryRecipe(b, b.Recipes[0].ID, map[string]string{name: text})
		var p Problems
		if !errors.As(err, &p) || p[0].Field != field {
			t.Errorf("%s: %v", typed, err)
		}
	}
	if _, _, err := TryRecipe(b, "none", nil); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("a recipe that is not there: %v", err)
	}
}

// A recipe as it was in a version boils as it did then.
func TestAsOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := shoptest.Book()
	id := b.Recipes[0].ID
	a, _ := keepBook(t, b)
	kept, head, _ := a.Book(ctx)
	f, _ := entry.Print(&kept, "recipe", id)
	f.Text["boil.0.mass"] = "9 kg"
	if _, _, err := a.Save(ctx, f, head, "test", ""); err != nil {
		t.Fatal(err)
	}
	now, _, _ := a.Book(ctx)
	was, err := a.AsOf(ctx, id, 1)
	if err != nil {
		t.Fatal(err)
	}
	if now.Recipes[0].Boil[0].Mass != 9 || was.Recipes[0].Boil[0].Mass != kept.Recipes[0].Boil[0].Mass {
		t.Errorf("now %v kg, then %v kg", now.Recipes[0].Boil[0].Mass, was.Recipes[0].Boil[0].Mass)
	}
	if d := cmp.Diff(now.Recipes[1:], was.Recipes[1:]); d != "" {
		t.Errorf("the other recipes differ:\n%s", d)
	}
	for _, n := range []int{0, 3, -1} {
		if _, err := a.AsOf(ctx, id, n); fault.KindOf(err) != fault.KindNotFound {
			t.Errorf("version %d: %v", n, err)
		}
	}
}
