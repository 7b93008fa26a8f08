package entry

import (
	"encoding"
	"errors"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// Fault is something wrong with a form: with the field or list of a name, or, if
// it has none, with the book as it would be.
type Fault struct{ Name, Text, Hint string }

// Put returns the book with the thing of a form in it, at the place of the one it
// changes or after the last of its kind, the thing's id, and what is wrong with
// it. A book with faults must not be kept. The book given is not changed.
//
// Faults are of the form's own fields, and of the rest of the book only those
// that it did not have before: a book that is not finished can be filled in.
func Put(b book.Book, f Form) (out book.Book, id string, faults []Fault) {
	r := reader{schema: rows(), decimal: b.Shop.Units.Decimal(), currency: b.Shop.Currency, form: f, name: map[string]string{}, kept: map[string]reflect.Value{}}
	fail := func(err error) (book.Book, string, []Fault) {
		var e *fault.Error
		if errors.As(err, &e) {
			return b, f.ID, []Fault{{Text: e.Text, Hint: e.Hint}}
		}
		return b, f.ID, []Fault{{Text: err.Error()}}
	}
	at, ok := fieldOf(f.Kind)
	if !ok {
		return fail(fault.NotFound("there is no kind of thing called %q", fault.Clip(f.Kind, fault.Echo)))
	}
	out = b
	var p place
	slot := reflect.ValueOf(&out).Elem().FieldByIndex(at.Index)
	if Single(f.Kind) || f.ID != "" {
		old, err := find(&b, f.Kind, f.ID)
		if err != nil {
			return fail(err)
		}
		r.remember(old, b)
	} else if like, err := find(&b, f.Kind, f.Like); err == nil {
		r.remember(like, b)
	}
	switch {
	case Single(f.Kind):
		p = place{slot, f.Kind, f.Kind}
	default:
		// The list is the old book's too: change a copy.
		list := reflect.MakeSlice(slot.Type(), 0, slot.Len()+1)
		slot.Set(reflect.AppendSlice(list, slot))
		i := slot.Len()
		if f.ID != "" {
			old, _ := find(&b, f.Kind, f.ID)
			i, _ = strconv.Atoi(strings.TrimSuffix(strings.TrimPrefix(old.path, f.Kind+"["), "]"))
		} else {
			slot.Set(reflect.Append(slot, reflect.Zero(slot.Type().Elem())))
		}
		p = place{slot.Index(i), f.Kind + "[" + strconv.Itoa(i) + "]", f.Kind + "[]"}
	}
	fresh := reflect.New(p.v.Type()).Elem()
	if fresh.Kind() == reflect.Slice {
		r.list(fresh, p.pattern, p.path, f.Kind)
	} else {
		r.structure(fresh, p.pattern, p.path, "")
		if !Single(f.Kind) {
			id = r.identify(fresh, List(&b, f.Kind))
		}
	}
	if fresh.Kind() == reflect.Slice && fresh.Len() == 0 && p.v.Len() > 0 {
		fresh.Set(reflect.MakeSlice(fresh.Type(), 0, 0)) // emptied, not left out
	}
	p.v.Set(fresh)
	if out.Format == 0 {
		out.Format = book.Format
	}
	return out, id, r.judge(&b, &out, p.path)
}

// identify gives a new thing an id from its name if none was typed, and keeps
// that of a kept one.
func (r *reader) identify(v reflect.Value, others []Thing) string {
	id := v.FieldByName("ID")
	switch {
	case r.form.ID != "":
		id.SetString(r.form.ID)
	case id.String() == "":
		base := Slug(v.FieldByName("Name").String())
		s := base
		for n := 2; base != "" && slices.ContainsFunc(others, func(t Thing) bool { return t.ID == s }); n++ {
			s = base + "-" + strconv.Itoa(n)
		}
		id.SetString(s)
	}
	return id.String()
}

// Slug makes an id of a name: "Crème drops" gives "creme-drops".
func Slug(name string) string {
	var b strings.Builder
	for _, c := range fold(name) {
		switch {
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	s := b.String()
	return strings.Trim(s[:min(len(s), 50)], "-")
}

// judge gathers what is wrong: what could not be read, and what the book's own
// checks find in the thing or newly elsewhere.
func (r *reader) judge(before, after *book.Book, path string) []Fault {
	out := r.faults
	wrong := map[string]bool{} // one fault a field is enough
	for _, f := range out {
		wrong[f.Name] = true
	}
	old := map[[2]string]bool{}
	for _, p := range book.Errors(book.Validate(before)) {
		old[[2]string{p.Code, p.Text}] = true
	}
	for _, p := range book.Errors(book.Validate(after)) {
		rest, own := strings.CutPrefix(p.Field, path)
		if own && rest != "" && rest[0] != '.' && rest[0] != '[' { // recipe[1] is not recipe[12]
			own = false
		}
		if !own {
			if !old[[2]string{p.Code, p.Text}] && !r.absent(before, p.Field) {
				out = append(out, Fault{Text: book.Place(after, p.Field) + ": " + p.Text, Hint: p.Hint})
			}
			continue
		}
		name := r.nameOf(p.Field)
		if name == "id" && p.Code == book.Missing { // it is made of the name
			name = "name"
		}
		if !wrong[name] {
			wrong[name] = true
			out = append(out, Fault{Name: name, Text: p.Text, Hint: p.Hint})
		}
	}
	return out
}

// absent reports whether a field belongs to something the book did not have at
// all: it is still to be filled in.
func (r *reader) absent(b *book.Book, field string) bool {
	kind, _, _ := strings.Cut(field, ".")
	kind, _, _ = strings.Cut(kind, "[")
	at, ok := fieldOf(kind)
	return ok && reflect.ValueOf(b).Elem().FieldByIndex(at.Index).IsZero()
}

// nameOf returns the form's name of a path of the book, or of what it is in.
func (r *reader) nameOf(path string) string {
	for path != "" {
		if n, ok := r.name[path]; ok {
			return n
		}
		path = path[:max(strings.LastIndexByte(path, '.'), strings.LastIndexByte(path, '['), 0)]
	}
	return ""
}

// reader fills a thing from a form.
type reader struct {
	schema   schema
	form     Form
	name     map[string]string // path in the book → name in the form
	decimal  q.Decimal
	currency string                   // of the shop
	kept     map[string]reflect.Value // field and text → the value that is shown so
	faults   []Fault
}

// remember notes how every value of the kept thing is shown.
func (r *reader) remember(p place, b book.Book) {
	pr := printer{units: b.Shop.Units, schema: r.schema, form: Form{Text: map[string]string{}, Rows: map[string]int{}},
		values: func(pattern, text string, v reflect.Value) { r.kept[pattern+"\x00"+text] = v }}
	if p.v.Kind() == reflect.Slice {
		pr.list(p.v, p.pattern, "")
	} else {
		pr.structure(p.v, p.pattern, "")
	}
}

func (r *reader) structure(v reflect.Value, pattern, path, name string) {
	r.name[path] = name
	for i := range v.NumField() {
		k, _ := book.Key(v.Type().Field(i))
		if f, ok := r.schema.fields[join(pattern, k)]; ok {
			r.field(v.Field(i), f, path+"."+k, join(name, k))
		}
	}
}

func (r *reader) field(v reflect.Value, f book.Field, path, name string) {
	r.name[path] = name
	switch {
	case f.Kind == book.Table && v.Kind() == reflect.Pointer:
		if r.blank(name) {
			return
		}
		v.Set(reflect.New(v.Type().Elem()))
		r.structure(v.Elem(), f.Path, path, name)
	case f.Kind == book.Table:
		r.structure(v, f.Path, path, name)
	case f.Kind == book.List:
		r.list(v, f.Path, path, name)
	default:
		r.value(v, f, path, name)
	}
}

// blank reports whether nothing is typed at a name or below it.
func (r *reader) blank(name string) bool {
	for n, s := range r.form.Text {
		if strings.TrimSpace(s) != "" && (n == name || strings.HasPrefix(n, name+".")) {
			return false
		}
	}
	return true
}

func (r *reader) list(v reflect.Value, pattern, path, name string) {
	r.name[path] = name
	for i := range min(r.form.Rows[name], MostRows) {
		row := name + "." + strconv.Itoa(i)
		if r.blank(row) {
			continue
		}
		v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
		n := v.Len() - 1
		r.structure(v.Index(n), pattern+"[]", path+"["+strconv.Itoa(n)+"]", row)
	}
}

func (r *reader) fail(name string, err error) {
	f := Fault{Name: name, Text: err.Error()}
	var e *fault.Error
	if errors.As(err, &e) {
		f.Text, f.Hint = e.Text, e.Hint
	}
	r.faults = append(r.faults, f)
}

// value reads one field.
func (r *reader) value(v reflect.Value, f book.Field, path, name string) {
	text := strings.TrimSpace(r.form.Text[name])
	if old, ok := r.kept[f.Path+"\x00"+text]; ok {
		v.Set(old)
		return
	}
	if text == "" {
		if f.Need != book.Standing {
			return
		}
		text = f.Default
	} else if f.Kind.Numeric() || f.Kind == book.Money {
		plain, err := r.decimal.Plain(text)
		if err != nil {
			r.fail(name, err)
			return
		}
		text = plain
	}
	if f.Kind == book.Money {
		m, err := q.ParseMoneyIn(text, r.currency)
		if err != nil {
			r.fail(name, err)
		}
		v.SetString(string(m))
		return
	}
	if u, ok := v.Addr().Interface().(encoding.TextUnmarshaler); ok {
		if err := u.UnmarshalText([]byte(text)); err != nil {
			v.SetZero()
			r.fail(name, err)
		}
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(text)
	case reflect.Bool:
		switch strings.ToLower(text) {
		case Yes, "on", "true":
			v.SetBool(true)
		case "no", "false":
		default:
			r.fail(name, fault.Invalid("%q is neither yes nor no", fault.Clip(text, fault.Echo)))
		}
	case reflect.Int:
		n, err := strconv.ParseInt(text, 10, 32)
		if err != nil {
			r.fail(name, fault.Invalid("%q is not a whole number", fault.Clip(text, fault.Echo)).WithHint("write a whole number, such as 3"))
		}
		v.SetInt(n)
	case reflect.Float64:
		x, err := number(text)
		if err != nil {
			r.fail(name, err)
		}
		v.SetFloat(x)
	case reflect.Slice:
		for i, w := range parts(text) {
			v.Set(reflect.Append(v, reflect.ValueOf(w).Convert(v.Type().Elem())))
			r.name[path+"["+strconv.Itoa(i)+"]"] = name
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for _, w := range parts(text) {
			i := strings.LastIndexFunc(w, unicode.IsSpace)
			n, err := strconv.Atoi(w[i+1:])
			if i < 0 || err != nil {
				r.fail(name, fault.Invalid("%q does not end in a level", fault.Clip(w, fault.Echo)).WithHint("write each with its level, such as mint 3, clove 2"))
				return
			}
			k := strings.TrimSpace(w[:i])
			v.SetMapIndex(reflect.ValueOf(k), reflect.ValueOf(n))
			r.name[path+"."+k] = name
		}
	default:
		panic("entry: no rule for a field of kind " + v.Kind().String())
	}
}

// number reads a number without a unit, with a point or a comma.
func number(text string) (float64, error) {
	s := text
	if !strings.Contains(s, ".") && strings.Count(s, ",") == 1 {
		s = strings.Replace(s, ",", ".", 1)
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fault.Invalid("%q is not a number", fault.Clip(text, fault.Echo)).WithHint("write a number without a unit, such as 1.2")
	}
	return x, nil
}

// parts splits words at commas, semicolons and lines.
func parts(text string) []string {
	var out []string
	for _, w := range strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' || c == '\n' }) {
		if w = strings.TrimSpace(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}
