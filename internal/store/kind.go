package store

import "slabside/internal/fault"

// The kinds of thing a book defines. Shop, room, day and stock are single: a
// book has one of each, and its slug is its kind.
const (
	KindShop       = "shop"
	KindRoom       = "room"
	KindKettle     = "kettle"
	KindSlab       = "slab"
	KindHook       = "hook"
	KindMachine    = "machine"
	KindRolls      = "rolls"
	KindBoard      = "board"
	KindBench      = "bench"
	KindSieve      = "sieve"
	KindScale      = "scale"
	KindGlass      = "glass"
	KindHand       = "hand"
	KindIngredient = "ingredient"
	KindRecipe     = "recipe"
	KindPack       = "pack"
	KindProduct    = "product"
	KindSupply     = "supply"
	KindDay        = "day"
	KindStock      = "stock"
)

// Kinds lists the kinds so that a definition refers only to kinds before its own.
func Kinds() []string {
	return []string{KindShop, KindRoom, KindKettle, KindSlab, KindHook, KindMachine, KindRolls, KindBoard, KindBench,
		KindSieve, KindScale, KindGlass, KindHand, KindIngredient, KindRecipe, KindPack, KindProduct, KindSupply, KindDay, KindStock}
}

// Single reports whether a book has just one thing of the kind.
func Single(kind string) bool {
	return kind == KindShop || kind == KindRoom || kind == KindDay || kind == KindStock
}

// Name is a thing's kind and slug, which never change.
type Name struct {
	Kind string `json:"kind"`
	Slug string `json:"slug"`
}

// String returns "recipe damson-leaves", or just "day" for a single thing.
func (n Name) String() string {
	if Single(n.Kind) {
		return n.Kind
	}
	return n.Kind + " " + n.Slug
}

// mostSlug is the longest slug [bytes].
const mostSlug = 64

// CheckSlug refuses a slug that could be read, sorted or filed in two ways: it
// must be plain lower-case letters and digits, with - _ . inside. Names, which
// people read, may hold any text.
func CheckSlug(slug string) error {
	ok := slug != "" && len(slug) <= mostSlug
	for i := 0; ok && i < len(slug); i++ {
		c := slug[i]
		letter := c >= 'a' && c <= 'z' || c >= '0' && c <= '9'
		ok = letter || i > 0 && (c == '-' || c == '_' || c == '.')
	}
	if !ok {
		return fault.Invalid("id %q cannot be kept", fault.Clip(slug, fault.Echo)).
			WithHint("use up to %d lower-case letters a to z, digits, and - _ . inside; the name may be anything", mostSlug)
	}
	return nil
}

// CheckName refuses an unknown kind and a slug that does not go with it.
func CheckName(n Name) error {
	for _, k := range Kinds() {
		if k == n.Kind {
			if Single(k) && n.Slug != k {
				return fault.Invalid("the id of the %s is %q, not %q", k, k, fault.Clip(n.Slug, fault.Echo))
			}
			return CheckSlug(n.Slug)
		}
	}
	return fault.Invalid("there is no kind of thing called %q", fault.Clip(n.Kind, fault.Echo))
}
