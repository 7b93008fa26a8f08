package bookfile

import (
	"encoding"
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// value fills one field from a value of the file.
func (d *decoder) value(v reflect.Value, n *node, f book.Field, path string) {
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.New(v.Type().Elem()))
		v = v.Elem()
	}
	switch {
	case v.Kind() == reflect.Struct:
		d.structure(v, n, f, path)
	case v.Kind() == reflect.Map:
		d.levels(v, n, f, path)
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct:
		d.list(v, n, f, path)
	case v.Kind() == reflect.Slice:
		d.words(v, n, f, path)
	default:
		d.scalar(v, n, f, path)
	}
}

func (d *decoder) wrong(n *node, f book.Field, path, hint string) {
	d.fail(n.from, path, WrongType, fmt.Sprintf("is %s, but %s is wanted here", name(n.kind), wanted(f)), hint)
}

func (d *decoder) structure(v reflect.Value, n *node, f book.Field, path string) {
	if !n.table() {
		hint := "write [" + book.Pattern(path) + "] above its keys, or { … }"
		if n.kind == unstable.ArrayTable {
			hint = "there is only one: write it between single brackets"
		}
		d.wrong(n, f, path, hint)
		return
	}
	d.at[path] = n.from
	d.table(v, n, f.Path, path, n.from)
}

func (d *decoder) list(v reflect.Value, n *node, f book.Field, path string) {
	if !n.array() {
		d.wrong(n, f, path, "write [["+strings.ReplaceAll(book.Pattern(path), "[]", "")+"]] for each, or [ { … }, { … } ]")
		return
	}
	if len(n.items) == 0 {
		return // an empty list and none are the same
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		at := path + "[" + strconv.Itoa(i) + "]"
		d.at[at] = item.from
		if !item.table() {
			d.fail(item.from, at, WrongType, fmt.Sprintf("is %s, but a table is wanted here", name(item.kind)), "write { key = value, … }")
			continue
		}
		d.table(v.Index(i), item, f.Path+"[]", at, item.from)
	}
}

func (d *decoder) words(v reflect.Value, n *node, f book.Field, path string) {
	if n.kind != unstable.Array {
		d.wrong(n, f, path, `write a list of words between brackets, such as ["weigh", "pack"]`)
		return
	}
	if len(n.items) == 0 {
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		at := path + "[" + strconv.Itoa(i) + "]"
		d.at[at] = item.from
		if item.kind != unstable.String {
			d.fail(item.from, at, WrongType, fmt.Sprintf("is %s, but a word is wanted here", name(item.kind)), "put the word between quotes")
			continue
		}
		v.Index(i).SetString(item.text)
	}
}

func (d *decoder) levels(v reflect.Value, n *node, f book.Field, path string) {
	if !n.table() {
		d.wrong(n, f, path, "write { family = level, … }, such as { mint = 3 }")
		return
	}
	if len(n.keys) == 0 {
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for _, e := range n.keys {
		at := join(path, fault.Clip(e.name, fault.Echo))
		d.at[at] = e.at
		k, ok := d.whole(e.val, at)
		if ok {
			v.SetMapIndex(reflect.ValueOf(e.name), reflect.ValueOf(int(k)))
		}
	}
}

func (d *decoder) scalar(v reflect.Value, n *node, f book.Field, path string) {
	if f.Kind.Quantity() {
		d.quantity(v, n, f, path)
		return
	}
	switch v.Kind() {
	case reflect.String:
		if n.kind != unstable.String {
			d.wrong(n, f, path, `put it between quotes`)
			return
		}
		if f.Kind == book.Money {
			d.money(v, n, path)
			return
		}
		v.SetString(n.text)
	case reflect.Bool:
		if n.kind != unstable.Bool {
			d.wrong(n, f, path, "write true or false, without quotes")
			return
		}
		v.SetBool(n.text == "true")
	case reflect.Int:
		if k, ok := d.whole(n, path); ok {
			v.SetInt(k)
		}
	case reflect.Float64:
		x, err := strconv.ParseFloat(strings.ReplaceAll(n.text, "_", ""), 64)
		switch {
		case n.kind != unstable.Float && n.kind != unstable.Integer:
			d.wrong(n, f, path, "write a number without quotes, such as 1.2")
		case err != nil || math.IsNaN(x) || math.IsInf(x, 0):
			d.fail(n.from, path, BadAmount, fmt.Sprintf("%s is not a number that can be meant", fault.Clip(n.text, fault.Echo)), "write a decimal number, such as 1.2")
		default:
			v.SetFloat(x)
		}
	default:
		panic("bookfile: no rule for a field of kind " + v.Kind().String())
	}
}

// money reads an amount of money, which is kept in one form.
func (d *decoder) money(v reflect.Value, n *node, path string) {
	m, err := q.ParseMoney(n.text)
	var f *fault.Error
	if errors.As(err, &f) {
		d.fail(n.from, path, book.BadText, f.Text, f.Hint)
		return
	}
	v.SetString(string(m))
}

// whole reads a whole number.
func (d *decoder) whole(n *node, path string) (int64, bool) {
	if n.kind != unstable.Integer {
		d.fail(n.from, path, WrongType, fmt.Sprintf("is %s, but a whole number is wanted here", name(n.kind)), "write a whole number without quotes, such as 3")
		return 0, false
	}
	k, err := strconv.ParseInt(strings.ReplaceAll(n.text, "_", ""), 0, 32)
	if err != nil {
		d.fail(n.from, path, BadAmount, fault.Clip(n.text, fault.Echo)+" is too large a number", "")
		return 0, false
	}
	return k, true
}

// quantity reads an amount written as text with its unit.
func (d *decoder) quantity(v reflect.Value, n *node, f book.Field, path string) {
	text := n.text
	switch n.kind {
	case unstable.String, unstable.Integer, unstable.Float:
	default:
		d.wrong(n, f, path, "write an amount with its unit between quotes")
		return
	}
	err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(text))
	if err == nil {
		return
	}
	v.SetZero()
	var fe *fault.Error
	if !errors.As(err, &fe) {
		fe = fault.Invalid("%v", err)
	}
	d.fail(n.from, path, BadAmount, fe.Text, fe.Hint)
}

// stand gives a field its standing value.
func (d *decoder) stand(v reflect.Value, f book.Field) {
	if err := parse(v, f, f.Default); err != nil {
		panic(fmt.Sprintf("bookfile: the default of %s: %v", f.Path, err)) // a test reads every default
	}
}

// parse sets a field to a value written as in a file, but without quotes.
func parse(v reflect.Value, f book.Field, s string) error {
	switch {
	case f.Kind.Quantity():
		return v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(s))
	case v.Kind() == reflect.String:
		v.SetString(s)
	case v.Kind() == reflect.Bool:
		b, err := strconv.ParseBool(s)
		if err != nil {
			return err
		}
		v.SetBool(b)
	case v.Kind() == reflect.Float64:
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return err
		}
		v.SetFloat(x)
	default:
		return fmt.Errorf("no rule for %s", v.Kind())
	}
	return nil
}

// name says what stands in the file.
func name(k unstable.Kind) string {
	switch k {
	case unstable.String:
		return "text"
	case unstable.Bool:
		return "true or false"
	case unstable.Integer, unstable.Float:
		return "a number"
	case unstable.Array:
		return "a list"
	case unstable.ArrayTable:
		return "a list of tables"
	case unstable.Table, unstable.InlineTable:
		return "a table"
	case unstable.LocalDate, unstable.LocalTime, unstable.LocalDateTime, unstable.DateTime:
		return "a bare date or time"
	}
	return "something else"
}

// wanted says what a field wants.
func wanted(f book.Field) string {
	switch k := f.Kind; {
	case k.Quantity():
		return "a " + string(k) + " with its unit"
	case k == book.Flag:
		return "true or false"
	case k == book.List:
		return "a list of tables"
	case k == book.Words:
		return "a list of words"
	case k == book.Levels:
		return "a table of levels"
	case k == book.Ref:
		return "the id of " + f.Named()
	case k == book.ID:
		return "an id"
	case k == book.Text:
		return "text"
	default:
		return "a " + string(k)
	}
}
