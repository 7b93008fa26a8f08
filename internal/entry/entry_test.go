package entry_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/entry"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
	"slabside/internal/store/storetest"
)

// every visits every thing of a book.
func every(b *book.Book, visit func(kind, id string)) {
	for _, kind := range entry.Kinds() {
		if entry.Single(kind) {
			visit(kind, "")
			continue
		}
		for _, t := range entry.List(b, kind) {
			visit(kind, t.ID)
		}
	}
}

// What is printed and read back unchanged is what it was, to the last bit, in
// both systems of units and with every field set.
func TestRoundTrip(t *testing.T) {
	t.Parallel()
	full := storetest.Full()
	full.Format = book.Format
	if missing := storetest.Unset(full); len(missing) > 0 {
		t.Fatalf("the full book leaves out %v", missing)
	}
	for name, b := range map[string]book.Book{"sample": shoptest.Book(), "full": full} {
		for _, u := range []q.Reader{q.Plain, q.US.With(q.Point), q.Metric.With(q.Comma), q.US.With(q.Comma)} {
			b.Shop.Units = u
			n := 0
			every(&b, func(kind, id string) {
				n++
				f, err := entry.Print(&b, kind, id)
				if err != nil {
					t.Fatal(err)
				}
				got, gotID, faults := entry.Put(b, f)
				if d := cmp.Diff(b, got); d != "" || gotID != id {
					t.Errorf("%s, %s: %s %s comes back as %q (-kept +read):\n%s", name, u, kind, id, gotID, d)
				}
				if name == "sample" && len(faults) > 0 {
					t.Errorf("%s, %s: %s %s: %v", name, u, kind, id, faults)
				}
			})
			if n < len(entry.Kinds()) {
				t.Errorf("%s: only %d things", name, n)
			}
		}
	}
}

// A copy under another name is the same thing with an id of its own.
func TestDuplicate(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	r := b.Recipes[0]
	f, err := entry.Duplicate(&b, "recipe", r.ID)
	if err != nil {
		t.Fatal(err)
	}
	f.Text["name"] = "Crème & Äpple drops"
	got, id, faults := entry.Put(b, f)
	if len(faults) > 0 || id != "creme-apple-drops" {
		t.Fatalf("id %q, faults %v", id, faults)
	}
	made := got.Recipes[len(got.Recipes)-1]
	made.ID, made.Name = r.ID, r.Name
	if len(got.Recipes) != len(b.Recipes)+1 || !reflect.DeepEqual(made, r) {
		t.Errorf("the copy differs:\n%s", cmp.Diff(r, made))
	}
	again, id, _ := entry.Put(got, f)
	if id != "creme-apple-drops-2" || len(again.Recipes) != len(b.Recipes)+2 {
		t.Errorf("the second copy is called %q", id)
	}
}

// Amounts are read in any unit, with point or comma, and kept as they were if
// they are shown the same.
func TestUnits(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		field, text string
		want        float64
	}{
		{"usual_charge", "14 lb", 14 * q.KilogramsPerPound},
		{"usual_charge", "6,35 kg", 6.35},
		{"usual_charge", "6350 g", 6.35},
		{"volume", "6 qt", 6 * q.LitresPerUSGallon / 4},
		{"burner", "18 kW", 18000},
		{"foam_room", "50%", 0.5},
	} {
		b := shoptest.Book()
		k := b.Kettles[0]
		f, _ := entry.Print(&b, "kettle", k.ID)
		f.Text[c.field] = c.text
		got, _, _ := entry.Put(b, f)
		v := reflect.ValueOf(got.Kettles[0])
		for i := range v.NumField() {
			if key, _ := book.Key(v.Type().Field(i)); key == c.field {
				if x := v.Field(i).Float(); x < c.want*(1-1e-12) || x > c.want*(1+1e-12) {
					t.Errorf("%s %q is %v, want %v", c.field, c.text, x, c.want)
				}
			}
		}
	}
}

// Every field that is typed wrongly is named, and nothing else is.
func TestEveryFieldSpoiled(t *testing.T) {
	t.Parallel()
	full := shoptest.Book()
	schema := map[string]book.Field{}
	for _, f := range book.Schema() {
		schema[f.Path] = f
	}
	spoiled := map[string]bool{}
	every(&full, func(kind, id string) {
		f, err := entry.Print(&full, kind, id)
		if err != nil {
			t.Fatal(err)
		}
		names := make([]string, 0, len(f.Text))
		for n := range f.Text {
			names = append(names, n)
		}
		slices.Sort(names)
		for _, name := range names {
			pattern := patternOf(kind, name)
			field, ok := schema[pattern]
			if !ok {
				t.Fatalf("%s.%s: no row %q in the schema", kind, name, pattern)
			}
			if field.Kind == book.Flag || field.Kind == book.ID && name == "id" {
				continue // a box is ticked or not; an id stays
			}
			was := f.Text[name]
			f.Text[name] = "\x01"
			if field.Kind == book.Text {
				f.Text[name] = strings.Repeat("x", 5000)
			}
			_, _, faults := entry.Put(full, f)
			f.Text[name] = was
			if !slices.ContainsFunc(faults, func(x entry.Fault) bool { return x.Name == name && x.Text != "" }) {
				t.Errorf("%s %s: %s spoiled, faults %v", kind, id, name, faults)
			}
			spoiled[pattern] = true
		}
	})
	if len(spoiled) < 100 {
		t.Errorf("only %d fields were spoiled", len(spoiled))
	}
}

func patternOf(kind, name string) string {
	out := kind
	if !entry.Single(kind) {
		out += "[]"
	}
	parts := strings.Split(name, ".")
	if parts[0] == kind { // the stock is a list itself
		parts = parts[1:]
	}
	for _, p := range parts {
		if p[0] >= '0' && p[0] <= '9' {
			out += "[]"
		} else {
			out += "." + p
		}
	}
	return out
}

// An empty book is filled in thing by thing; what is not there yet is not wrong.
func TestEmptyBook(t *testing.T) {
	t.Parallel()
	want := shoptest.Book()
	var b book.Book
	b.Shop.Units = want.Shop.Units
	for _, kind := range entry.Kinds() {
		if entry.Single(kind) {
			fill(t, &b, &want, kind, "")
			continue
		}
		for _, x := range entry.List(&want, kind) {
			fill(t, &b, &want, kind, x.ID)
		}
	}
	if errs := book.Errors(book.Validate(&b)); len(errs) > 0 {
		t.Errorf("the filled book is not sound: %v", errs)
	}
	for _, kind := range entry.Kinds() {
		if got, w := entry.List(&b, kind), entry.List(&want, kind); !slices.Equal(got, w) {
			t.Errorf("%s: %v, want %v", kind, got, w)
		}
	}
}

func fill(t *testing.T, b, want *book.Book, kind, id string) {
	t.Helper()
	f, err := entry.Print(want, kind, id)
	if err != nil {
		t.Fatal(err)
	}
	if f.ID = ""; id != "" {
		f.Text["id"] = id
	}
	out, gotID, faults := entry.Put(*b, f)
	if len(faults) > 0 || gotID != id {
		t.Errorf("%s %s: id %q, faults %v", kind, id, gotID, faults)
	}
	*b = out
}

// A thing that others use cannot take away what they need.
func TestFaultsElsewhere(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	r := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool { return len(r.Portions) > 1 })
	if r < 0 {
		t.Fatal("no recipe with two portions")
	}
	f, _ := entry.Print(&b, "recipe", b.Recipes[r].ID)
	f.Text["portion.0.share"] = "10 %"
	_, _, faults := entry.Put(b, f)
	if len(faults) == 0 || !strings.HasPrefix(faults[0].Name, "portion") {
		t.Errorf("shares that do not sum to one: %v", faults)
	}
	f, _ = entry.Print(&b, "recipe", b.Recipes[r].ID)
	f.TakeRow("portion", 0)
	if f.Rows["portion"] != len(b.Recipes[r].Portions)-1 || f.Text["portion.0.id"] != b.Recipes[r].Portions[1].ID {
		t.Errorf("a row taken out leaves %v", f.Text)
	}
	if f, err := entry.Print(&b, "recipe", "none"); err == nil {
		t.Errorf("a recipe that is not there prints as %v", f)
	}
}
