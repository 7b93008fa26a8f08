package book

import (
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	q "slabside/internal/quantity"
)

// Key returns the key under which a struct field stands in a shop-book file,
// and whether a zero value is left out there.
func Key(f reflect.StructField) (key string, omit bool) {
	key, rest, _ := strings.Cut(f.Tag.Get("toml"), ",")
	return key, strings.Contains(rest, "omitempty")
}

// TextOf returns the text of a field as it is kept, without what is its reader's own.
func TextOf(v reflect.Value) string {
	if r, ok := v.Interface().(q.Reader); ok {
		return string(r.System())
	}
	return v.String()
}

// Pattern returns the schema path of a field path: "recipe[2].portion[0].share"
// gives "recipe[].portion[].share".
func Pattern(path string) string {
	var b strings.Builder
	inside := false
	for _, r := range path {
		switch {
		case r == '[':
			inside = true
			b.WriteByte('[')
		case r == ']':
			inside = false
			b.WriteByte(']')
		case !inside:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// walk visits every struct, list and leaf under v, parents first, lists in
// their order. Pattern is the schema path, path the path with indices.
func walk(v reflect.Value, pattern, path string, visit func(pattern, path string, v reflect.Value)) {
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	if path != "" {
		visit(pattern, path, v)
	}
	switch {
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			key, _ := Key(v.Type().Field(i))
			walk(v.Field(i), join(pattern, key), join(path, key), visit)
		}
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.Struct:
		for i := range v.Len() {
			walk(v.Index(i), pattern+"[]", path+"["+strconv.Itoa(i)+"]", visit)
		}
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// Nearest returns the word of the list that the given one was most likely meant
// to be, "" if none comes near. Among equals the first in the list wins.
func Nearest(word string, list []string) string {
	best, bestD := "", len([]rune(word))/3+2
	if len(word) > 64 {
		return ""
	}
	for _, w := range list {
		if d := distance([]rune(strings.ToLower(word)), []rune(strings.ToLower(w))); d < bestD {
			best, bestD = w, d
		}
	}
	return best
}

// distance is the number of letters to insert, delete or replace.
func distance(a, b []rune) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diag := row[0]
		row[0] = i + 1
		for j := range b {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			diag, row[j+1] = row[j+1], min(row[j+1]+1, row[j]+1, diag+cost)
		}
	}
	return row[len(b)]
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
