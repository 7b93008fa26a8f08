package entry_test

import (
	"reflect"
	"testing"

	"slabside/internal/book"
	"slabside/internal/entry"
	"slabside/internal/shoptest"
)

// Whatever is typed anywhere, the book that is given stays as it is, a fault is
// of a field of the form or of the whole, and a thing without faults is sound.
func FuzzPut(f *testing.F) {
	b := shoptest.Book()
	f.Add("recipe", b.Recipes[0].ID, "boil.0.mass", "6,35 kg", 2)
	f.Add("kettle", b.Kettles[0].ID, "volume", "-1 gal", 0)
	f.Add("kettle", "", "name", "Crème 1", 0)
	f.Add("day", "", "rule.0.kind", "first", 1)
	f.Add("stock", "", "stock.0.bags", "1e9", 400)
	f.Add("hand", b.Hands[0].ID, "may", "boil, boil;\n,x", 0)
	f.Add("recipe", b.Recipes[0].ID, "flavour.tolerates", "mint 3, \x00 4", 0)
	f.Add("nothing", "none", "", "", -5)
	f.Fuzz(func(t *testing.T, kind, id, name, text string, rows int) {
		before := shoptest.Book()
		form, err := entry.Print(&before, kind, id)
		if err != nil {
			form = entry.Form{Kind: kind, Text: map[string]string{}, Rows: map[string]int{}}
		}
		form.Text[name] = text
		form.Rows["boil"] = rows
		form.AddRow(name)
		form.TakeRow("portion", rows)
		out, _, faults := entry.Put(before, form)
		if len(faults) == 0 && len(book.Errors(book.Validate(&out))) > 0 {
			t.Errorf("no fault, but %v", book.Errors(book.Validate(&out)))
		}
		entry.Layout(&before, form, faults)
		if !reflect.DeepEqual(before, shoptest.Book()) {
			t.Error("the book that was given is changed")
		}
	})
}
