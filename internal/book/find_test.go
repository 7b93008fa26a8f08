package book_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/rig"
	"slabside/internal/shoptest"
)

func TestFind(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	for _, r := range b.Recipes {
		if got, ok := b.Recipe(r.ID); !ok || got.Name != r.Name {
			t.Errorf("recipe %s: %v %v", r.ID, got.Name, ok)
		}
		if rolls, ok := b.RollsOf(r.Rolls); !ok || rolls.ID != r.Rolls {
			t.Errorf("rolls %s not found", r.Rolls)
		}
	}
	for _, p := range b.Products {
		if got, ok := b.Product(p.ID); !ok || got.Name != p.Name {
			t.Errorf("product %s: %v %v", p.ID, got.Name, ok)
		}
	}
	if _, ok := b.Ingredient("no-such"); ok {
		t.Error("found an ingredient that is not there")
	}
}

func TestDayKettleSlabGlass(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	trial := b.Kettles[0]
	trial.ID, trial.TrialsOnly = "trial", true
	b.Kettles = append([]rig.Kettle{trial}, b.Kettles...)
	b.Day.Kettle = ""
	if k, ok := b.DayKettle(); !ok || k.ID != "tall-pan" {
		t.Errorf("the day's kettle is %q", k.ID)
	}
	r := b.Recipes[0]
	if k, ok := b.KettleFor(r); !ok || k.ID != "tall-pan" {
		t.Errorf("the recipe's kettle is %q", k.ID)
	}
	r.Kettle = "trial"
	if k, ok := b.KettleFor(r); !ok || k.ID != "trial" {
		t.Errorf("the recipe's own kettle is %q", k.ID)
	}
	b.Slabs[0].TrialsOnly = true
	if s, ok := b.DaySlab(); ok {
		t.Errorf("the trial slab %q is the day's", s.ID)
	}
	b.Day.Glass = ""
	if g, ok := b.DayGlass(); !ok || g.ID != "glass" {
		t.Errorf("the day's glass is %q", g.ID)
	}
	b.Glasses, b.Kettles = nil, nil
	if _, ok := b.DayGlass(); ok {
		t.Error("a glass out of nothing")
	}
	if _, ok := b.DayKettle(); ok {
		t.Error("a kettle out of nothing")
	}
}

func TestAllergensOf(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	contains, may, unstated := b.AllergensOf(b.Recipes[2])
	if d := cmp.Diff([][]string{{"tree nut"}, {"peanut"}, nil}, [][]string{contains, may, unstated}); d != "" {
		t.Errorf("hazel leaves (-want +got):\n%s", d)
	}
	b.Ingredients[0].Statement = ""
	b.Ingredients[1].MayContain = []string{"tree nut", "sulphites"}
	contains, may, unstated = b.AllergensOf(b.Recipes[2])
	if d := cmp.Diff([][]string{{"tree nut"}, {"peanut", "sulphites"}, {"sugar"}}, [][]string{contains, may, unstated}); d != "" {
		t.Errorf("sugar not stated, syrup with traces (-want +got):\n%s", d)
	}
}
