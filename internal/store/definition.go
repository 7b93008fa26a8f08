package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"reflect"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/supply"
)

// Definition is one thing of a book, ready to be kept.
type Definition struct {
	Name
	Body []byte // canonical JSON
	Refs []Ref  // what it uses, in the order of the definition, no repeats
}

// Ref is a use of another thing: "recipe mint-clears uses ingredient sugar in its boil".
type Ref struct {
	Role string
	Name
	Field string // where in the book it is written, "recipe[2].boil[0].ingredient"
}

// shelf knows how one kind of thing is taken out of a book and put back.
type shelf struct {
	kind string
	take func(b *book.Book) ([]Definition, error)
	put  func(b *book.Book, body []byte, strict bool) error
	refs func(body []byte) ([]Ref, error)
}

// Definitions takes a book apart into its things, in the order of Kinds and of
// the book's lists. Invalid names the field that cannot be kept. Whether what
// is referred to exists is not looked at.
func Definitions(b book.Book) ([]Definition, error) {
	if b.Format != 0 && b.Format != book.Format {
		return nil, fault.Invalid("the book's format is %d, this program keeps format %d", b.Format, book.Format).At("format")
	}
	var all []Definition
	for _, s := range shelves() {
		defs, err := s.take(&b)
		if err != nil {
			return nil, err
		}
		seen := map[string]bool{}
		for i, d := range defs {
			if seen[d.Slug] {
				return nil, fault.Invalid("the id %q is used twice", d.Slug).At(fmt.Sprintf("%s[%d].id", d.Kind, i))
			}
			seen[d.Slug] = true
		}
		all = append(all, defs...)
	}
	return all, nil
}

// Place puts the definition of a thing back into a book, after those of its
// kind already there. Strict refuses fields this program does not know, which
// it would lose.
func Place(b *book.Book, kind string, body []byte, strict bool) error {
	for _, s := range shelves() {
		if s.kind == kind {
			return s.put(b, body, strict)
		}
	}
	return fault.Invalid("there is no kind of thing called %q", fault.Clip(kind, fault.Echo))
}

// Refs returns what a kept definition uses.
func Refs(kind string, body []byte) ([]Ref, error) {
	for _, s := range shelves() {
		if s.kind == kind {
			return s.refs(body)
		}
	}
	return nil, fault.Invalid("there is no kind of thing called %q", fault.Clip(kind, fault.Echo))
}

// shelves lists the kinds in the order of Kinds.
func shelves() []shelf {
	return []shelf{
		single(KindShop, func(b *book.Book) *book.Shop { return &b.Shop }, nil),
		single(KindRoom, func(b *book.Book) *rig.Room { return &b.Room }, nil),
		list(KindKettle, func(b *book.Book) *[]rig.Kettle { return &b.Kettles }, func(v *rig.Kettle) string { return v.ID }, nil),
		list(KindSlab, func(b *book.Book) *[]rig.Slab { return &b.Slabs }, func(v *rig.Slab) string { return v.ID }, nil),
		list(KindHook, func(b *book.Book) *[]rig.Hook { return &b.Hooks }, func(v *rig.Hook) string { return v.ID }, nil),
		list(KindMachine, func(b *book.Book) *[]rig.Machine { return &b.Machines }, func(v *rig.Machine) string { return v.ID }, nil),
		list(KindRolls, func(b *book.Book) *[]rig.Rolls { return &b.Rolls }, func(v *rig.Rolls) string { return v.ID }, nil),
		list(KindBoard, func(b *book.Book) *[]rig.Board { return &b.Boards }, func(v *rig.Board) string { return v.ID }, nil),
		list(KindBench, func(b *book.Book) *[]rig.Bench { return &b.Benches }, func(v *rig.Bench) string { return v.ID }, nil),
		list(KindSieve, func(b *book.Book) *[]rig.Sieve { return &b.Sieves }, func(v *rig.Sieve) string { return v.ID }, nil),
		list(KindScale, func(b *book.Book) *[]rig.Scale { return &b.Scales }, func(v *rig.Scale) string { return v.ID }, nil),
		list(KindGlass, func(b *book.Book) *[]rig.Glass { return &b.Glasses }, func(v *rig.Glass) string { return v.ID }, nil),
		list(KindHand, func(b *book.Book) *[]rig.Hand { return &b.Hands }, func(v *rig.Hand) string { return v.ID }, nil),
		list(KindIngredient, func(b *book.Book) *[]ingredient.Ingredient { return &b.Ingredients },
			func(v *ingredient.Ingredient) string { return v.ID }, nil),
		list(KindRecipe, func(b *book.Book) *[]recipe.Recipe { return &b.Recipes }, func(v *recipe.Recipe) string { return v.ID }, recipeRefs),
		list(KindPack, func(b *book.Book) *[]bag.Pack { return &b.Packs }, func(v *bag.Pack) string { return v.ID }, nil),
		list(KindProduct, func(b *book.Book) *[]bag.Product { return &b.Products }, func(v *bag.Product) string { return v.ID }, productRefs),
		list(KindSupply, func(b *book.Book) *[]supply.Supply { return &b.Supplies }, func(v *supply.Supply) string { return v.ID }, supplyRefs),
		single(KindDay, func(b *book.Book) *book.Day { return &b.Day }, dayRefs),
		single(KindStock, func(b *book.Book) *[]demand.Stock { return &b.Stock }, stockRefs),
	}
}

// single is the shelf of a kind of which a book has one; all zero is absent, and
// a list that is there and empty is empty on purpose.
func single[T any](kind string, in func(*book.Book) *T, uses func(*T, *refList)) shelf {
	return shelf{
		kind: kind,
		take: func(b *book.Book) ([]Definition, error) {
			if reflect.ValueOf(in(b)).Elem().IsZero() {
				return nil, nil
			}
			d, err := define(kind, kind, kind, in(b), uses)
			if err != nil {
				return nil, err
			}
			return []Definition{d}, nil
		},
		put: func(b *book.Book, body []byte, strict bool) error {
			v, err := read[T](kind, body, strict)
			if err == nil {
				*in(b) = v
			}
			return err
		},
		refs: refsOf(kind, uses),
	}
}

// list is the shelf of a kind of which a book has any number.
func list[T any](kind string, in func(*book.Book) *[]T, slug func(*T) string, uses func(*T, *refList)) shelf {
	return shelf{
		kind: kind,
		take: func(b *book.Book) ([]Definition, error) {
			var defs []Definition
			for i := range *in(b) {
				v := &(*in(b))[i]
				field := fmt.Sprintf("%s[%d]", kind, i)
				if err := CheckSlug(slug(v)); err != nil {
					return nil, at(err, field+".id")
				}
				d, err := define(kind, slug(v), field, v, uses)
				if err != nil {
					return nil, err
				}
				defs = append(defs, d)
			}
			return defs, nil
		},
		put: func(b *book.Book, body []byte, strict bool) error {
			v, err := read[T](kind, body, strict)
			if err == nil {
				*in(b) = append(*in(b), v)
			}
			return err
		},
		refs: refsOf(kind, uses),
	}
}

// define makes a definition and makes sure that it reads back as it was
// written: what would not must not be kept.
func define[T any](kind, slug, field string, v *T, uses func(*T, *refList)) (Definition, error) {
	body, err := Canonical(*v)
	if err != nil {
		return Definition{}, at(err, field)
	}
	again, err := read[T](kind, body, true)
	if err != nil {
		return Definition{}, fault.Invalid("this cannot be kept, it would not read back").At(field).WithCause(err)
	}
	if text, err := Canonical(again); err != nil || !bytes.Equal(text, body) {
		return Definition{}, fault.Invalid("this cannot be kept, it would read back changed").At(field).WithCause(err)
	}
	refs := refList{field: field}
	if uses != nil {
		uses(v, &refs)
	}
	return Definition{Name: Name{kind, slug}, Body: body, Refs: refs.refs}, nil
}

func refsOf[T any](kind string, uses func(*T, *refList)) func([]byte) ([]Ref, error) {
	return func(body []byte) ([]Ref, error) {
		if uses == nil {
			return nil, nil
		}
		v, err := read[T](kind, body, false)
		if err != nil {
			return nil, err
		}
		var refs refList
		uses(&v, &refs)
		return refs.refs, nil
	}
}

// read decodes a kept definition.
func read[T any](kind string, body []byte, strict bool) (T, error) {
	var v T
	d := json.NewDecoder(bytes.NewReader(body))
	if strict {
		d.DisallowUnknownFields()
	}
	err := d.Decode(&v)
	if err == nil {
		if _, more := d.Token(); more != io.EOF {
			err = fmt.Errorf("more text after the definition")
		}
	}
	if err != nil {
		return v, fault.Internal(err, "the kept definition of a %s cannot be read", kind)
	}
	return v, nil
}

// at puts the field in front of the one the fault already names.
func at(err error, field string) error {
	if f, ok := err.(*fault.Error); ok {
		return f.At(join(field, f.Field))
	}
	return err
}
