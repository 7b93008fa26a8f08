package book

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/fault"
)

// Validate returns everything in the book that does not hang together, errors
// and cautions, in the order of the book. An empty answer is a sound book.
func Validate(b *Book) []Problem {
	c := &check{book: b, index: map[string]map[string]int{}}
	for list, ids := range c.names() {
		at := map[string]int{}
		for i, id := range slices.Backward(ids) { // of two with one id the first counts
			at[id] = i
		}
		c.index[list] = at
	}
	c.fields()
	c.ids()
	c.room()
	c.rigs()
	c.ingredients()
	c.recipes()
	c.packs()
	c.products()
	c.supplies()
	c.day()
	c.demand()
	c.hands()
	c.means()
	return c.out
}

// fields checks every value on its own against its row of the schema.
func (c *check) fields() {
	schema := map[string]Field{}
	for _, f := range Schema() {
		schema[f.Path] = f
	}
	refs := c.names()
	walk(reflect.ValueOf(c.book), "", "", func(pattern, path string, v reflect.Value) {
		f, ok := schema[pattern]
		if !ok { // an element of a list; its own fields have rows
			return
		}
		c.field(f, path, v, refs)
	})
}

// names returns the ids of every list that others refer to, in their order.
func (c *check) names() map[string][]string {
	n := map[string][]string{}
	v := reflect.ValueOf(c.book).Elem()
	for i := range v.NumField() {
		list := v.Field(i)
		if list.Kind() != reflect.Slice {
			continue
		}
		key, _ := Key(v.Type().Field(i))
		for j := range list.Len() {
			if id := list.Index(j).FieldByName("ID"); id.IsValid() {
				n[key] = append(n[key], id.String())
			}
		}
	}
	return n
}

func (c *check) field(f Field, path string, v reflect.Value, refs map[string][]string) {
	switch f.Kind {
	case Table, Flag:
	case List:
		if v.Len() == 0 && f.Need == Required {
			c.fail(path, Missing, "add at least one", "has no entries: "+f.Text)
		}
	case Levels:
		for _, k := range sortedKeys(v.Interface().(map[string]int)) {
			at := join(path, k)
			if !goodID(k) {
				c.badID(at, k)
			}
			c.number(f, at, float64(v.Interface().(map[string]int)[k]))
		}
	case Words:
		c.words(f, path, v)
	default:
		if f.Kind.Numeric() {
			c.number(f, path, base(f, v))
			return
		}
		s := TextOf(v)
		switch {
		case s != "":
			c.text(f, path, s, refs)
		case f.Need == Required:
			c.fail(path, Missing, howTo(f), "is missing: "+f.Text)
		case f.Need == Standing:
			c.fail(path, Missing, howTo(f), "is empty")
		}
	}
}

// base returns a numeric field's value in the base unit of its kind.
func base(f Field, v reflect.Value) float64 {
	switch {
	case f.Kind == Duration:
		return float64(v.Int()) / 1e9
	case v.CanInt():
		return float64(v.Int())
	}
	return v.Float()
}

// number checks a value against the least and the greatest; 0 is unset where
// the field is optional and 0 cannot be meant.
func (c *check) number(f Field, path string, x float64) {
	const slack = 1e-12 // relative: 20 % written in per cent is not exactly 0.2
	low, high := f.Low-slack*abs(f.Low), f.High+slack*abs(f.High)
	if x >= low && x <= high || x == 0 && f.Need == Optional {
		return
	}
	if x == 0 && f.Need == Required {
		c.fail(path, Missing, howTo(f), "is missing or zero: "+f.Text)
		return
	}
	lo, hi := f.Limits()
	hint := "it must lie between " + lo + " and " + hi
	if f.Low == f.High {
		hint = "it must be " + lo
	}
	said := f.print(x)
	switch {
	case x < 0 && f.Low >= 0:
		c.fail(path, Range, hint, said+" is below zero")
	case x < f.Low:
		c.fail(path, Range, hint, said+" is too little")
	default:
		c.fail(path, Range, hint, said+" is too much")
	}
}

func abs(x float64) float64 { return max(x, -x) }

func (c *check) words(f Field, path string, v reflect.Value) {
	if v.Len() == 0 && f.Need == Required {
		c.fail(path, Missing, "words: "+strings.Join(f.Words, ", "), "names nothing: "+f.Text)
	}
	seen := map[string]bool{}
	for i := range v.Len() {
		s := v.Index(i).String()
		at := path + "[" + strconv.Itoa(i) + "]"
		if seen[s] {
			c.fail(at, Duplicate, "name each once", fmt.Sprintf("%q stands here twice", s))
		}
		seen[s] = true
		c.word(f, at, s)
	}
}

func (c *check) word(f Field, path, s string) {
	for _, w := range f.Words {
		if s == w {
			return
		}
	}
	c.fail(path, BadWord, didYouMean(s, f.Words), fmt.Sprintf("%s is not a word known here", quoted(s)))
}

// didYouMean points at the likeliest of the known words, or lists them.
func didYouMean(s string, known []string) string {
	if n := Nearest(s, known[:min(len(known), 500)]); n != "" {
		return fmt.Sprintf("did you mean %q?", n)
	}
	switch {
	case len(known) == 0:
		return "there are none in this book"
	case len(known) > 20:
		return fmt.Sprintf("known are %s and %d more", strings.Join(known[:20], ", "), len(known)-20)
	}
	return "known are " + strings.Join(known, ", ")
}

// quoted echoes a piece of input, kept short.
func quoted(s string) string {
	return strconv.Quote(fault.Clip(s, fault.Echo))
}

// howTo says how a value of the field is written.
func howTo(f Field) string {
	switch f.Kind {
	case Word:
		return "one of " + strings.Join(f.Words, ", ")
	case ID:
		return "lower-case words with hyphens, such as damson-leaves"
	case Ref:
		return "the id of " + f.Named()
	case Clock:
		return `a clock time such as "08:30"`
	case Date:
		return `a date such as "2026-03-14"`
	case Paint:
		return `a colour such as "#7fae5a"`
	case Currency:
		return `three capital letters such as "GBP"`
	case Money:
		return `an amount with its currency, such as "2.80 GBP"`
	case Zone:
		return `an IANA name such as "Europe/London"`
	case Text:
		return "any words"
	}
	lo, hi := f.Limits()
	return "between " + lo + " and " + hi
}
