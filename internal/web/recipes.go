package web

import (
	"net/http"
	"net/url"

	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// recipesView lists the recipes.
type recipesView struct {
	Base  base
	First *firstStep
	List  []recipeLine
}

type recipeLine struct {
	Href, Name, End, Rolls, Flavour string
	Paints                          []paintView
}

func (s *server) recipes(w http.ResponseWriter, r *http.Request) error {
	b, _, err := s.shop.Book(r.Context())
	if err != nil && fault.KindOf(err) == fault.KindNotFound {
		return s.render(w, http.StatusOK, "recipes", recipesView{Base: frame("Recipes", "/recipes"), First: noBook()})
	}
	if err != nil {
		return err
	}
	v := recipesView{Base: s.base(r, "Recipes", "/recipes")}
	if len(b.Recipes) == 0 {
		v.First = &firstStep{Text: "The shop book has no recipes yet.", Href: "/new/recipe", Do: "Add a recipe"}
	}
	for _, rc := range b.Recipes {
		l := recipeLine{Href: "/recipes/" + url.PathEscape(rc.ID), Name: rc.Name, End: boilEnd(b.Shop.Units, rc),
			Rolls: rollsName(&b, rc.Rolls), Flavour: rc.Flavour.Family, Paints: paintsOf(rc)}
		v.List = append(v.List, l)
	}
	return s.render(w, http.StatusOK, "recipes", v)
}

// boilEnd says where the recipe ends the boil.
func boilEnd(u q.Reader, rc recipe.Recipe) string {
	if rc.WaterLeft > 0 {
		return u.Percent(rc.WaterLeft, 1) + " water left"
	}
	return u.Temperature(rc.BoilTo, 1) + " at sea level"
}

func paintsOf(rc recipe.Recipe) []paintView {
	var out []paintView
	for _, p := range rc.Portions {
		out = append(out, paintView{paintOf(p.Paint), p.Colour, workWord(string(p.Work))})
	}
	return out
}
