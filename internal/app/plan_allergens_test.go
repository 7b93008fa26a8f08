package app

import (
	"slices"
	"strings"
	"testing"

	"slabside/internal/book"
	"slabside/internal/day"
	"slabside/internal/ingredient"
	"slabside/internal/recipe"
	"slabside/internal/shoptest"
)

// Common practice, no source: a sweet with an allergen goes last, however mild.
func TestAllergenLast(t *testing.T) {
	t.Parallel()
	b, strength := strongMildMiddling()
	mild := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool { return strength[r.ID] == 1 })
	own := slices.IndexFunc(b.Ingredients, func(in ingredient.Ingredient) bool {
		return slices.Equal(recipesWith(b, in.ID), []string{b.Recipes[mild].ID})
	})
	if own < 0 {
		t.Fatal("the mild recipe has no ingredient of its own")
	}
	b.Ingredients[own].Contains = []string{"milk"}
	p := plan(t, b, PlanRequest{})
	if last := p.Batches[len(p.Batches)-1]; last.Recipe != b.Recipes[mild].ID {
		t.Errorf("%s is last, and %s has the milk", last.Name, b.Recipes[mild].Name)
	}
	for _, c := range p.Changeovers {
		if strings.Contains(c.Why, "allergen clean") {
			t.Errorf("an allergen clean that the order makes needless: %s", c.Why)
		}
	}
}

func recipesWith(b book.Book, ingredient string) []string {
	var out []string
	for _, r := range b.Recipes {
		if slices.Contains(r.Ingredients(), ingredient) {
			out = append(out, r.ID)
		}
	}
	return out
}

// A sweet made without an allergen, after one made with it, needs an allergen
// clean; nothing a person can ask for in a plan takes that away.
func TestAllergenOrder(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	nut := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool {
		m := dayline{b: &b}
		contains, _ := m.allergensOf(r.Ingredients())
		return slices.Contains(contains, "tree nut")
	})
	if nut < 0 {
		t.Fatal("the sample shop has no recipe with a tree nut")
	}
	b.Day.Rules = []book.Rule{{Kind: "first", Recipe: b.Recipes[nut].ID}}
	p := plan(t, b, PlanRequest{})
	if p.Batches[0].Recipe != b.Recipes[nut].ID {
		t.Fatalf("the rule is not kept: %s is first", p.Batches[0].Name)
	}
	found := false
	for _, c := range p.Changeovers {
		found = found || slices.Contains(c.Acts, "allergen clean") && strings.Contains(c.Why, "tree nut")
	}
	// What the timed cleans leave out, the boil after them says at the weighing.
	for _, c := range p.Changeovers {
		if !slices.Contains(c.Acts, "allergen clean") {
			continue
		}
		i := slices.IndexFunc(p.Batches, func(x Batch) bool { return x.ID == c.To })
		if !slices.ContainsFunc(p.Batches[i].Cautions, func(x Caution) bool { return x.Code == "allergen-beyond-line" && x.At == "weigh" }) {
			t.Errorf("batch %d follows an allergen clean and does not say what that leaves out", i+1)
		}
		if strings.Contains(c.Why, "and rolls") {
			t.Errorf("the clean claims the rolls: %s", c.Why)
		}
	}
	if !found && slices.ContainsFunc(p.Batches, func(x Batch) bool { return x.Recipe != b.Recipes[nut].ID }) {
		t.Error("a boil without nuts follows one with nuts, and no allergen clean stands between")
	}
}

// The kettle is loaded with a sweet made without an allergen only after its own
// clean, which ends as the charge begins; what is added on the slab never was in it.
func TestAllergenInKettle(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		stage recipe.Stage
		clean bool
	}{{recipe.AtEnd, true}, {recipe.AtFold, false}} {
		b := shoptest.Book()
		m := dayline{b: &b}
		nut := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool {
			contains, _ := m.allergensOf(r.Ingredients())
			return slices.Contains(contains, "tree nut")
		})
		r := &b.Recipes[nut]
		for i := range r.Additions {
			if contains, _ := m.allergensOf([]string{r.Additions[i].Ingredient}); len(contains) > 0 {
				r.Additions[i].Stage = c.stage
			}
		}
		if contains, _ := m.allergensOf(r.KettleIngredients()); slices.Contains(contains, "tree nut") != c.clean {
			t.Fatalf("%s: the nuts are not where the test wants them", c.stage)
		}
		b.Day.Rules = []book.Rule{{Kind: "first", Recipe: r.ID}}
		p := plan(t, b, PlanRequest{})
		found := false
		for _, change := range p.Changeovers {
			k := slices.Index(change.Acts, "allergen clean of the kettle")
			if k < 0 {
				continue
			}
			found = true
			x := change.SetUps[k]
			next := p.Batches[slices.IndexFunc(p.Batches, func(y Batch) bool { return y.ID == change.To })]
			if !x.End.Equal(next.ChargeAt) || x.Minutes != int(b.Room.Times.KettleClean.Minutes()) || x.Hand == "" || !strings.Contains(x.Why, "tree nut was in it") {
				t.Errorf("the clean of the kettle before %s, charged at %v: %+v", next.Name, next.ChargeAt, x)
			}
		}
		if found != c.clean {
			t.Errorf("nuts added at %q: kettle cleaned %v, want %v", c.stage, found, c.clean)
		}
	}
}

// An ingredient whose supplier has said nothing blocks like an allergen: unknown is not none.
func TestUnstatedIsNotNone(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	r := b.Recipes[0]
	b.Day.Rules = []book.Rule{{Kind: "first", Recipe: r.ID}}
	own := r.Boil[0].Ingredient
	for _, a := range r.Additions {
		own = a.Ingredient
	}
	for i := range b.Ingredients {
		if b.Ingredients[i].ID == own {
			b.Ingredients[i].Statement = ""
		}
	}
	p := plan(t, b, PlanRequest{})
	found := 0
	for _, batch := range p.Batches {
		if batch.Recipe != r.ID {
			continue
		}
		found++
		if len(batch.Sheet.Unstated) == 0 {
			t.Error("the sheet does not name the ingredient nobody has stated")
		}
		if !slices.ContainsFunc(batch.Cautions, func(c Caution) bool { return c.Code == "allergen-unknown" }) {
			t.Error("no caution for the unknown statement")
		}
	}
	if found == 0 {
		t.Fatalf("%s is not in the day", r.ID)
	}
	next := slices.IndexFunc(p.Batches, func(batch Batch) bool { return batch.Recipe != r.ID })
	if next < 0 {
		t.Fatal("no other sweet follows it")
	}
	if id := p.Batches[next].ID; !slices.ContainsFunc(p.Changeovers, func(c Changeover) bool {
		return c.To == id && slices.Contains(c.Acts, day.AllergenClean.String())
	}) {
		t.Errorf("%s follows what nobody has stated without an allergen clean", p.Batches[next].Name)
	}
}

// Rolls that stay on through an allergen clean are cleaned of it too, and somebody
// signs for that; what is only wiped or washed nobody signs for.
func TestAllergenCleansAreVerified(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	m := dayline{b: &b}
	for i := range b.Recipes {
		b.Recipes[i].Rolls = b.Recipes[0].Rolls
	}
	nut := slices.IndexFunc(b.Recipes, func(r recipe.Recipe) bool {
		contains, _ := m.allergensOf(r.Ingredients())
		return slices.Contains(contains, "tree nut")
	})
	b.Day.Rules = []book.Rule{{Kind: "first", Recipe: b.Recipes[nut].ID}}
	verified := map[string]bool{}
	for _, c := range plan(t, b, PlanRequest{}).Changeovers {
		for _, s := range c.SetUps {
			if s.Verify != strings.Contains(s.Why, "verified by name") {
				t.Errorf("%s, to be verified %v: %s", s.Act, s.Verify, s.Why)
			}
			if s.Verify {
				verified[s.Act] = true
			}
		}
	}
	for _, act := range []string{"allergen clean", "allergen clean of rolls"} {
		if !verified[act] {
			t.Errorf("nobody signs for the %s", act)
		}
	}
}
