package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"reflect"
	"strings"
	"unicode/utf8"

	"slabside/internal/fault"
)

// Canonical returns the one JSON text of a definition: members sorted by name,
// no white space, no members that are null or an empty list. Two definitions are the same revision exactly when their texts are
// the same, so the order of fields in the program and the difference between a
// nil and an empty list do not matter.
func Canonical(v any) ([]byte, error) {
	if path, ok := badText(reflect.ValueOf(v)); ok {
		return nil, fault.Invalid("the text is not valid UTF-8").At(path)
	}
	raw, err := json.Marshal(v)
	if err != nil {
		return nil, fault.Invalid("this cannot be written down, a number may not be finite").WithCause(err)
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	var tree any
	if err := d.Decode(&tree); err != nil {
		return nil, fault.Internal(err, "could not write a definition")
	}
	return plainJSON(prune(tree))
}

// Sum returns the SHA-256 of a body in lower-case hexadecimal.
func Sum(body []byte) string {
	s := sha256.Sum256(body)
	return hex.EncodeToString(s[:])
}

// plainJSON writes v without white space and without escaping for HTML.
func plainJSON(v any) ([]byte, error) {
	var buf bytes.Buffer
	e := json.NewEncoder(&buf)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte("\n")), nil
}

// prune takes out the members that say nothing.
func prune(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for name, member := range v {
			member = prune(member)
			if nothing(member) {
				delete(v, name)
			} else {
				v[name] = member
			}
		}
	case []any:
		for i := range v {
			v[i] = prune(v[i])
		}
	}
	return v
}

func nothing(v any) bool {
	switch v := v.(type) {
	case nil:
		return true
	case []any:
		return len(v) == 0
	}
	return false
}

// badText finds a string that is not valid UTF-8: JSON would alter it silently.
func badText(v reflect.Value) (path string, found bool) {
	switch v.Kind() {
	case reflect.String:
		return "", !utf8.ValidString(v.String())
	case reflect.Pointer:
		return badText(v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			if p, bad := badText(v.Field(i)); bad {
				return join(jsonName(v.Type().Field(i)), p), true
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			if p, bad := badText(v.Index(i)); bad {
				return p, true
			}
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			if _, bad := badText(k); bad {
				return "", true
			}
			if p, bad := badText(v.MapIndex(k)); bad {
				return p, true
			}
		}
	}
	return "", false
}

func jsonName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	if name == "" {
		return f.Name
	}
	return name
}

func join(a, b string) string {
	if b == "" {
		return a
	}
	return a + "." + b
}
