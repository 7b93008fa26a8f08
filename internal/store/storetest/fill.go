package storetest

import (
	"fmt"
	"reflect"
	"strings"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// Full returns a book in which every field is set, each to a value of its own,
// and every list holds two entries. Texts hold letters of several scripts. The
// fields are found by reflection, so that a new one is filled, kept and
// compared without anybody remembering it; only ids and what refers to them are
// put in by name. The book is complete, not sensible.
func Full() book.Book {
	var b book.Book
	f := filler{}
	f.fill(reflect.ValueOf(&b).Elem())
	b.Format = book.Format
	b.Shop.TimeZone, b.Shop.Currency, b.Shop.Market = "Pacific/Auckland", "NZD", "uk"
	number(b.Kettles, "kettle")
	number(b.Slabs, "slab")
	number(b.Hooks, "hook")
	number(b.Machines, "machine")
	number(b.Rolls, "rolls")
	number(b.Boards, "board")
	number(b.Benches, "bench")
	number(b.Sieves, "sieve")
	number(b.Scales, "scale")
	number(b.Glasses, "glass")
	number(b.Hands, "hand")
	number(b.Ingredients, "ingredient")
	number(b.Recipes, "recipe")
	number(b.Packs, "pack")
	number(b.Products, "product")
	number(b.Supplies, "supply")
	for i := range b.Recipes {
		r := &b.Recipes[i]
		for j := range r.Boil {
			r.Boil[j].Ingredient = b.Ingredients[j].ID
		}
		for j := range r.Additions {
			r.Additions[j].Ingredient = b.Ingredients[1-j].ID
		}
		r.FinishWith, r.Rolls, r.Kettle = b.Ingredients[i].ID, b.Rolls[i].ID, b.Kettles[i].ID
	}
	for i := range b.Products {
		for j := range b.Products[i].Parts {
			b.Products[i].Parts[j].Recipe = b.Recipes[j].ID
		}
		b.Products[i].In = b.Packs[i].ID
	}
	for i := range b.Supplies {
		for j := range b.Supplies[i].GoesWith {
			b.Supplies[i].GoesWith[j].Pack, b.Supplies[i].GoesWith[j].Product = b.Packs[j].ID, b.Products[1-j].ID
		}
	}
	b.Day.Kettle, b.Day.Glass, b.Day.Mounted = b.Kettles[1].ID, b.Glasses[1].ID, b.Rolls[1].ID
	for i := range b.Day.Pours {
		b.Day.Pours[i].Recipe = b.Recipes[i].ID
	}
	for i := range b.Day.Rules {
		b.Day.Rules[i].Recipe, b.Day.Rules[i].After = b.Recipes[i].ID, b.Recipes[1-i].ID
	}
	for i := range b.Stock {
		b.Stock[i].Product, b.Stock[i].Recipe = b.Products[i].ID, b.Recipes[1-i].ID
	}
	for i := range b.ToMake {
		b.ToMake[i].Product = b.Products[1-i].ID
	}
	return b
}

// Unset lists the fields of v, at any depth, that are zero or empty.
func Unset(v any) []string {
	var all []string
	unset(reflect.ValueOf(v), reflect.TypeOf(v).Name(), &all)
	return all
}

func unset(v reflect.Value, path string, all *[]string) {
	if v.IsZero() || (v.Kind() == reflect.Slice || v.Kind() == reflect.Map) && v.Len() == 0 {
		*all = append(*all, path)
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		unset(v.Elem(), path, all)
	case reflect.Struct:
		for i := range v.NumField() {
			unset(v.Field(i), path+"."+v.Type().Field(i).Name, all)
		}
	case reflect.Slice:
		for i := range v.Len() {
			unset(v.Index(i), fmt.Sprintf("%s[%d]", path, i), all)
		}
	}
}

// number gives the entries of a list ids that do not sort in the list's order.
func number[T any](entries []T, kind string) {
	for i := range entries {
		id := fmt.Sprintf("%s-%c%d", strings.ToLower(kind), 'z'-i, i)
		reflect.ValueOf(&entries[i]).Elem().FieldByName("ID").SetString(id)
	}
}

// filler counts so that no two values are alike.
type filler struct{ n int }

// texts are starts of names: Latin with accents both ways of writing them, an
// emoji, other scripts, quotes, a line break and characters JSON or HTML escape.
var texts = [...]string{"Zoë's dröps", "e\u0301clair", "飴 barley", "🍬 twist", "карамель", "عسل", "\"quoted\" \\ back", "line\nbreak\ttab", "<b>&\u2028"}

// words are the values of the types that have only some.
func words(t reflect.Type) []string {
	switch t {
	case reflect.TypeFor[q.Reader]():
		return []string{string(q.Metric), string(q.US)}
	case reflect.TypeFor[q.Money]():
		return []string{"2.80 GBP", "280 JPY"}
	case reflect.TypeFor[rig.Material]():
		return plain(rig.Materials())
	case reflect.TypeFor[rig.Task]():
		return plain(rig.Tasks())
	case reflect.TypeFor[ingredient.Kind]():
		return plain(ingredient.Kinds())
	case reflect.TypeFor[recipe.Stage]():
		return plain(recipe.Stages())
	case reflect.TypeFor[recipe.Work]():
		return []string{string(recipe.Clear), string(recipe.Pulled)}
	case reflect.TypeFor[recipe.Finish]():
		return []string{string(recipe.Dusted), string(recipe.Sanded)}
	case reflect.TypeFor[bag.Share]():
		return []string{string(bag.ByPiece), string(bag.ByMass)}
	}
	return nil
}

func plain[T ~string](words []T) []string {
	var all []string
	for _, w := range words {
		all = append(all, string(w))
	}
	return all
}

func (f *filler) fill(v reflect.Value) {
	f.n++
	if v.Type() == reflect.TypeFor[q.Duration]() {
		v.SetInt(int64(f.n)*1e9 + int64(f.n)*1e6 + 1) // down to the nanosecond
		return
	}
	if words := words(v.Type()); len(words) > 0 {
		v.SetString(words[f.n%len(words)])
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			f.fill(v.Field(i))
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range 2 {
			f.fill(v.Index(i))
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for range 2 {
			key, member := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
			f.fill(key)
			f.fill(member)
			v.SetMapIndex(key, member)
		}
	case reflect.String:
		v.SetString(fmt.Sprintf("%s %d", texts[f.n%len(texts)], f.n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt(int64(f.n))
	case reflect.Float64:
		v.SetFloat(float64(f.n) / 7) // no short decimal
	default:
		panic("storetest: a book has a field of a kind that is not filled: " + v.Type().String())
	}
}
