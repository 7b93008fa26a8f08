package app_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// The day before, the stores say by how many grams a colour is short, and what there is in
// its place: not one that holds coumarin, which 21 CFR 189.130 keeps out of food, nor one
// of which nothing is there, nor the acid, which is no colour.
func TestShortSaysWhatThereIsInstead(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := keptApp(t, true)
	b := shoptest.Book()
	colour := func(id string, holds ...ingredient.Hold) ingredient.Ingredient {
		return ingredient.Ingredient{ID: id, Name: "Colour " + id, Kind: ingredient.Colour, Solids: 0.3, Statement: "stated", HoldsAll: true, Holds: holds, MayContain: []string{"soy"}}
	}
	b.Ingredients = append(b.Ingredients, colour("leaf"), colour("tonka", ingredient.Hold{Substance: "Coumarin", Share: 0.1}), colour("gone"))
	if _, err := a.Import(ctx, b, "test", ""); err != nil {
		t.Fatal(err)
	}
	for id, kg := range map[string]float64{"green": 0.001, "leaf": 0.2, "tonka": 0.2, "citric": 1} {
		receive(t, a, func(r *app.ReceiveRequest) { r.Ingredient, r.Mass, r.SupplierLot = id, q.Kilograms(kg), "" })
	}
	const tomorrow = "2026-03-18"
	r, err := a.Stores(ctx, tomorrow)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(r.Short, func(s app.Short) bool { return s.Ingredient == "green" })
	if i < 0 || r.On != tomorrow {
		t.Fatalf("on %s short of %+v", r.On, r.Short)
	}
	s := r.Short[i]
	if s.ShortMg != s.NeededMg-1000 || s.NeededMg < 6000 {
		t.Errorf("short by %d of %d mg", s.ShortMg, s.NeededMg)
	}
	var ids []string
	for _, x := range s.Instead {
		ids = append(ids, x.Ingredient)
	}
	if !slices.Equal(ids, []string{"leaf"}) {
		t.Fatalf("instead of green there are %v", ids)
	}
	x := s.Instead[0]
	if says := strings.Join(x.Changes, "; "); x.FreeMg != 200_000 || !strings.Contains(says, "brings soy") || !strings.Contains(says, "30 % of dry matter instead of 15 %") {
		t.Errorf("leaf: %+v", x)
	}
}
