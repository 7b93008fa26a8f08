package book

import (
	"fmt"
	"reflect"
)

// ids checks that no two things of a list share an id.
func (c *check) ids() {
	walk(reflect.ValueOf(c.book), "", "", func(_, path string, v reflect.Value) {
		if v.Kind() != reflect.Slice || v.Type().Elem().Kind() != reflect.Struct {
			return
		}
		at := -1
		for i := range v.Type().Elem().NumField() {
			if key, _ := Key(v.Type().Elem().Field(i)); key == "id" {
				at = i
			}
		}
		if at < 0 {
			return
		}
		first := map[string]int{}
		for i := range v.Len() {
			id := v.Index(i).Field(at).String()
			if id == "" {
				continue
			}
			if n, dup := first[id]; dup {
				c.fail(fmt.Sprintf("%s[%d].id", path, i), Duplicate, "give each its own id", fmt.Sprintf("the id %s is taken already by %s", quoted(id), Place(c.book, fmt.Sprintf("%s[%d]", path, n))))
				continue
			}
			first[id] = i
		}
	})
}
