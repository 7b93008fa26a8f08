package store

import (
	"fmt"

	"slabside/internal/bag"
	"slabside/internal/book"
	"slabside/internal/demand"
	"slabside/internal/recipe"
	"slabside/internal/supply"
)

// The roles in which a definition uses another.
const (
	RoleBoil     = "boil"      // recipe: in the kettle's charge
	RoleAddition = "addition"  // recipe: added later
	RoleFinish   = "finish"    // recipe: dusted or sanded with
	RoleRolls    = "rolls"     // recipe: goes through these rolls
	RoleKettle   = "kettle"    // recipe, day: boiled in
	RolePart     = "part"      // product: sweets in it
	RolePack     = "pack"      // product: packed in
	RoleGoesWith = "goes_with" // supply: what is packed with it
	RoleGlass    = "glass"     // day: read with
	RoleMounted  = "mounted"   // day: rolls on the machine at opening
	RolePour     = "pour"      // day: announced
	RoleRule     = "rule"      // day: pinned or forbidden
	RoleHeld     = "held"      // stock
)

// refList gathers references; an empty slug is none, a repeat is one.
type refList struct {
	field string // of the definition, put before each reference's own
	refs  []Ref
}

func (l *refList) add(role, kind, slug, field string, index ...any) {
	if slug == "" {
		return
	}
	for _, r := range l.refs {
		if r.Role == role && r.Kind == kind && r.Slug == slug {
			return
		}
	}
	l.refs = append(l.refs, Ref{Role: role, Name: Name{kind, slug}, Field: l.field + fmt.Sprintf(field, index...)})
}

func recipeRefs(r *recipe.Recipe, l *refList) {
	for i, p := range r.Boil {
		l.add(RoleBoil, KindIngredient, p.Ingredient, ".boil[%d].ingredient", i)
	}
	for i, a := range r.Additions {
		l.add(RoleAddition, KindIngredient, a.Ingredient, ".addition[%d].ingredient", i)
	}
	l.add(RoleFinish, KindIngredient, r.FinishWith, ".finish_with")
	l.add(RoleRolls, KindRolls, r.Rolls, ".rolls")
	l.add(RoleKettle, KindKettle, r.Kettle, ".kettle")
}

func productRefs(p *bag.Product, l *refList) {
	for i, part := range p.Parts {
		l.add(RolePart, KindRecipe, part.Recipe, ".part[%d].recipe", i)
	}
	l.add(RolePack, KindPack, p.In, ".packed_in")
}

func supplyRefs(s *supply.Supply, l *refList) {
	for i, g := range s.GoesWith {
		l.add(RoleGoesWith, KindPack, g.Pack, ".goes_with[%d].pack", i)
		l.add(RoleGoesWith, KindProduct, g.Product, ".goes_with[%d].product", i)
	}
}

func dayRefs(d *book.Day, l *refList) {
	l.add(RoleKettle, KindKettle, d.Kettle, ".kettle")
	l.add(RoleGlass, KindGlass, d.Glass, ".glass")
	l.add(RoleMounted, KindRolls, d.Mounted, ".mounted")
	for i, p := range d.Pours {
		l.add(RolePour, KindRecipe, p.Recipe, ".announced_pour[%d].recipe", i)
	}
	for i, r := range d.Rules {
		l.add(RoleRule, KindRecipe, r.Recipe, ".rule[%d].recipe", i)
		l.add(RoleRule, KindRecipe, r.After, ".rule[%d].after", i)
	}
}

func stockRefs(s *[]demand.Stock, l *refList) {
	for i, held := range *s {
		l.add(RoleHeld, KindProduct, held.Product, "[%d].product", i)
		l.add(RoleHeld, KindRecipe, held.Recipe, "[%d].recipe", i)
	}
}
