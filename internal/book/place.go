package book

import (
	"reflect"
	"strconv"
	"strings"
)

// Place says where a field path points in words a person can find in the book:
// a thing by its own id or name, one without by its number counted from 1, then
// the key. "recipe[2].addition[1].mass" becomes `recipe "damson", addition 2,
// mass`. What the book does not hold is named as the path has it; an id that
// stands twice in its list is passed over for the number.
func Place(b *Book, path string) string {
	v := reflect.ValueOf(b).Elem()
	var out strings.Builder
	between := "" // what stands before the next key
	for part := range strings.SplitSeq(path, ".") {
		out.WriteString(between)
		between = "."
		key, rest, _ := strings.Cut(part, "[")
		v = under(v, key)
		n, err := strconv.Atoi(strings.TrimSuffix(rest, "]"))
		if err != nil {
			out.WriteString(part)
			continue
		}
		between = ", "
		name := called(v, n)
		if name == "" {
			name = strconv.Itoa(n + 1)
		}
		out.WriteString(key + " " + name)
		v = entry(v, n)
	}
	return out.String()
}

// under returns the field of a struct that stands under a key, the zero Value
// where there is none.
func under(v reflect.Value, key string) reflect.Value {
	if v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if v.Kind() != reflect.Struct {
		return reflect.Value{}
	}
	for i := range v.NumField() {
		if k, _ := Key(v.Type().Field(i)); k == key {
			return v.Field(i)
		}
	}
	return reflect.Value{}
}

func entry(list reflect.Value, n int) reflect.Value {
	if list.Kind() != reflect.Slice || n < 0 || n >= list.Len() {
		return reflect.Value{}
	}
	return list.Index(n)
}

// called returns the quoted id or name of an entry, "" where it has none of its own.
func called(list reflect.Value, n int) string {
	e := entry(list, n)
	if e.Kind() != reflect.Struct {
		return ""
	}
	for _, field := range []string{"ID", "Name"} {
		f := e.FieldByName(field)
		if f.Kind() != reflect.String || f.String() == "" {
			continue
		}
		for i := range list.Len() {
			if i != n && list.Index(i).FieldByName(field).String() == f.String() {
				return ""
			}
		}
		return quoted(f.String())
	}
	return ""
}
