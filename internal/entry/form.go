package entry

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/book"
	"slabside/internal/fault"
)

// Form is a thing as typed. A field is named by its keys below the thing, rows
// counted from 0: "portion.0.share".
type Form struct {
	Kind string            // the key of its list or table in the book: "recipe", "day"
	ID   string            // of the thing that is changed; "" for a new one and for what a book has one of
	Like string            // of the thing a new one is a copy of, "" none
	Text map[string]string // by name, as typed; what is missing is empty
	Rows map[string]int    // rows of every list, by name
}

// Clone returns a form that can be changed without changing this one.
func (f Form) Clone() Form {
	f.Text, f.Rows = maps.Clone(f.Text), maps.Clone(f.Rows)
	return f
}

// Kinds returns the kinds of thing a form can hold, in the book's order, without
// the lines to make, which have a page of their own.
func Kinds() []string {
	var out []string
	t := reflect.TypeFor[book.Book]()
	for i := range t.NumField() {
		key, _ := book.Key(t.Field(i))
		if k := t.Field(i).Type.Kind(); key != "to_make" && (k == reflect.Struct || k == reflect.Slice) {
			out = append(out, key)
		}
	}
	return out
}

// Single reports whether a book has just one thing of the kind.
func Single(kind string) bool {
	f, ok := fieldOf(kind)
	return ok && (f.Type.Kind() == reflect.Struct || !hasID(f.Type))
}

func hasID(t reflect.Type) bool {
	_, ok := t.Elem().FieldByName("ID")
	return ok
}

// fieldOf returns the field of a book that holds a kind.
func fieldOf(kind string) (reflect.StructField, bool) {
	t := reflect.TypeFor[book.Book]()
	for i := range t.NumField() {
		if key, _ := book.Key(t.Field(i)); key == kind && slices.Contains(Kinds(), kind) {
			return t.Field(i), true
		}
	}
	return reflect.StructField{}, false
}

// place is where a thing stands in a book.
type place struct {
	v       reflect.Value
	path    string // "recipe[2]"
	pattern string // "recipe[]"
}

// find returns where a thing stands. NotFound if the book has none.
func find(b *book.Book, kind, id string) (place, error) {
	f, ok := fieldOf(kind)
	if !ok {
		return place{}, fault.NotFound("there is no kind of thing called %q", fault.Clip(kind, fault.Echo))
	}
	v := reflect.ValueOf(b).Elem().FieldByIndex(f.Index)
	if Single(kind) {
		return place{v, kind, kind}, nil
	}
	for i := range v.Len() {
		if v.Index(i).FieldByName("ID").String() == id && id != "" {
			return place{v.Index(i), fmt.Sprintf("%s[%d]", kind, i), kind + "[]"}, nil
		}
	}
	return place{}, fault.NotFound("no %s with the id %q", kind, fault.Clip(id, fault.Echo)).WithHint("it may have been renamed or taken out")
}

// Thing is a thing of a book as a list names it.
type Thing struct{ ID, Name string }

// List returns the things of a kind, in the book's order.
func List(b *book.Book, kind string) []Thing {
	f, ok := fieldOf(kind)
	if !ok || Single(kind) {
		return nil
	}
	v := reflect.ValueOf(b).Elem().FieldByIndex(f.Index)
	out := make([]Thing, v.Len())
	for i := range out {
		out[i] = Thing{v.Index(i).FieldByName("ID").String(), v.Index(i).FieldByName("Name").String()}
		if out[i].Name == "" {
			out[i].Name = out[i].ID
		}
	}
	return out
}

// NameOf returns the name of a thing, its id if it has none or is not there.
func NameOf(b *book.Book, kind, id string) string {
	for _, t := range List(b, kind) {
		if t.ID == id {
			return t.Name
		}
	}
	return id
}

// New returns the form of a new thing with the usual values filled in.
func New(b *book.Book, kind string) (Form, error) {
	if _, ok := fieldOf(kind); !ok || Single(kind) {
		return Form{}, fault.NotFound("there is no kind of thing called %q", fault.Clip(kind, fault.Echo))
	}
	form := Form{Kind: kind, Text: map[string]string{}, Rows: map[string]int{}}
	for _, c := range rows().below(kind + "[]") {
		switch {
		case c.Need == book.Standing:
			form.Text[key(c)] = c.Default
		case c.Kind == book.List && c.Need == book.Required:
			form.Rows[key(c)] = 1
		}
	}
	return form, nil
}

// Print returns a kept thing as it would be typed, in the shop's units.
func Print(b *book.Book, kind, id string) (Form, error) {
	p, err := find(b, kind, id)
	if err != nil {
		return Form{}, err
	}
	f := Form{Kind: kind, ID: id, Text: map[string]string{}, Rows: map[string]int{}}
	pr := printer{units: b.Shop.Units, schema: rows(), form: f}
	if p.v.Kind() == reflect.Slice {
		pr.list(p.v, p.pattern, kind)
	} else {
		pr.structure(p.v, p.pattern, "")
		if !Single(kind) {
			delete(f.Text, "id") // it stays what it is
		}
	}
	return f, nil
}

// Duplicate returns the form of a new thing like a kept one.
func Duplicate(b *book.Book, kind, id string) (Form, error) {
	f, err := Print(b, kind, id)
	if err != nil {
		return f, err
	}
	f.ID, f.Like = "", id
	if n := f.Text["name"]; n != "" {
		f.Text["name"] = n + " (copy)"
	}
	return f, nil
}

// AddRow gives a list one empty row more.
func (f Form) AddRow(list string) { f.Rows[list] = min(f.Rows[list]+1, MostRows) }

// MostRows is the most rows a list of a form holds.
const MostRows = 400

// TakeRow takes a row out of a list and moves those below it up.
func (f Form) TakeRow(list string, row int) {
	n := f.Rows[list]
	if row < 0 || row >= n {
		return
	}
	move := func(from, to int) {
		a, b := list+"."+strconv.Itoa(from)+".", list+"."+strconv.Itoa(to)+"."
		for name := range f.Text {
			if strings.HasPrefix(name, b) {
				delete(f.Text, name)
			}
		}
		for name, s := range f.Text {
			if rest, ok := strings.CutPrefix(name, a); ok {
				f.Text[b+rest] = s
			}
		}
		for name, k := range f.Rows {
			if rest, ok := strings.CutPrefix(name, a); ok {
				f.Rows[b+rest] = k
			}
		}
	}
	for i := row; i < n-1; i++ {
		move(i+1, i)
	}
	last := list + "." + strconv.Itoa(n-1) + "."
	for name := range f.Text {
		if strings.HasPrefix(name, last) {
			delete(f.Text, name)
		}
	}
	f.Rows[list] = n - 1
}
