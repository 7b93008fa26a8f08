package entry

import (
	"strings"

	"slabside/internal/book"
)

// schema is the book's schema by the table or list element that a field is in.
type schema struct {
	fields map[string]book.Field
	in     map[string][]book.Field
}

func rows() schema {
	s := schema{fields: map[string]book.Field{}, in: map[string][]book.Field{}}
	for _, f := range book.Schema() {
		s.fields[f.Path] = f
		parent, _ := cutKey(f.Path)
		s.in[parent] = append(s.in[parent], f)
	}
	return s
}

// below returns the fields of a table or of an element of a list.
func (s schema) below(pattern string) []book.Field { return s.in[pattern] }

// cutKey takes the last key off a path.
func cutKey(path string) (parent, key string) {
	i := strings.LastIndexByte(path, '.')
	if i < 0 {
		return "", path
	}
	return path[:i], path[i+1:]
}

func key(f book.Field) string { _, k := cutKey(f.Path); return k }

func join(name, key string) string {
	if name == "" {
		return key
	}
	return name + "." + key
}
