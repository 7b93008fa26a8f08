package bookfile

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/book"
	"slabside/internal/store"
)

// merge lays b over old: things of the same id are replaced, new ones put in
// their place of b's order, none deleted. A shop, room or day that is all zero
// counts as absent; lines to make and stock replace the kept ones if they are not
// nil.
func merge(old, b book.Book) (book.Book, store.Changes) {
	out := old
	out.Format = book.Format
	var ch store.Changes
	vo, vb := reflect.ValueOf(&out).Elem(), reflect.ValueOf(b)
	for i := range vb.NumField() {
		key, _ := book.Key(vb.Type().Field(i))
		o, n := vo.Field(i), vb.Field(i)
		name := key
		if key == toMakeKey {
			name = store.LinesToMake
		}
		switch {
		case key == "format":
		case n.Kind() == reflect.Slice && key != toMakeKey && key != store.KindStock:
			o.Set(mergeList(key, o, n, &ch))
		case empty(n) && (key != store.KindStock && key != toMakeKey || n.IsNil()):
			if !empty(o) && key != toMakeKey {
				ch.Kept = append(ch.Kept, name)
			}
		default:
			count(&ch, name, !empty(o), same(o, n))
			o.Set(n)
		}
	}
	return out, ch
}

// count notes what happened to one thing.
func count(ch *store.Changes, name string, there, equal bool) {
	switch {
	case !there:
		ch.Added = append(ch.Added, name)
	case equal:
		ch.Unchanged++
	default:
		ch.Revised = append(ch.Revised, name)
	}
}

// ids returns the ids of a list of things.
func ids(v reflect.Value) []string {
	out := make([]string, v.Len())
	for i := range out {
		out[i] = v.Index(i).FieldByName("ID").String()
	}
	return out
}

// mergeList lays the new things over the old ones, by id.
func mergeList(kind string, o, n reflect.Value, ch *store.Changes) reflect.Value {
	oldIDs, newIDs := ids(o), ids(n)
	for i, id := range newIDs {
		j := slices.Index(oldIDs, id)
		count(ch, kind+" "+id, j >= 0, j >= 0 && same(o.Index(j), n.Index(i)))
	}
	for _, id := range oldIDs {
		if !slices.Contains(newIDs, id) {
			ch.Kept = append(ch.Kept, kind+" "+id)
		}
	}
	if n.Len() == 0 {
		return o
	}
	out := reflect.MakeSlice(o.Type(), 0, o.Len()+n.Len())
	for _, id := range store.MergeOrder(oldIDs, newIDs) {
		if j := slices.Index(newIDs, id); j >= 0 {
			out = reflect.Append(out, n.Index(j))
		} else {
			out = reflect.Append(out, o.Index(slices.Index(oldIDs, id)))
		}
	}
	return out
}

// same compares two values as a file would show them: none and an empty list
// are the same.
func same(a, b reflect.Value) bool { return show(a) == show(b) }

func show(v reflect.Value) string {
	var s strings.Builder
	switch {
	case v.Kind() == reflect.Pointer && v.IsNil():
		return "-"
	case v.Kind() == reflect.Pointer:
		return "&" + show(v.Elem())
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			s.WriteString(show(v.Field(i)) + ";")
		}
		return "{" + s.String() + "}"
	case v.Kind() == reflect.Slice:
		for i := range v.Len() {
			s.WriteString(show(v.Index(i)) + ";")
		}
		return "[" + s.String() + "]"
	case v.Kind() == reflect.String:
		return strconv.Quote(book.TextOf(v))
	case v.Kind() == reflect.Map && v.Len() == 0:
		return "-"
	}
	return fmt.Sprintf("%#v", v.Interface()) // maps in the order of their keys, texts quoted
}
