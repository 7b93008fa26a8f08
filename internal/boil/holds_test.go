package boil

import (
	"math"
	"slices"
	"testing"

	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/validation"
)

// A dose is a share of the finished mass of what it is for: that is what is found of
// it there, and nothing of it in the other portion. What was in the kettle is in both
// alike, and what all portions hold of it is what was weighed, less the smear.
func TestHolds(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	p := prepare(t, in)
	d, err := p.Simulate()
	if err != nil {
		t.Fatal(err)
	}
	holds, err := p.Holds(d)
	if err != nil {
		t.Fatal(err)
	}
	r, err := p.Result(d)
	if err != nil {
		t.Fatal(err)
	}
	find := func(portion, id string) (q.Estimate, bool) {
		for _, h := range holds {
			for _, x := range h.Ingredients {
				if h.ID == portion && x.Ingredient.ID == id {
					return x.Share, true
				}
			}
		}
		return q.Estimate{}, false
	}
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %.10f, want %.10f", what, got, want)
		}
	}
	for _, portion := range []string{"clear", "pulled"} {
		e, _ := find(portion, "citric")
		near("citric in "+portion, e.Value, 0.008*r.FinishedKg.Value*p.shares[map[string]int{"clear": 0, "pulled": 1}[portion]]/r.Portions[map[string]int{"clear": 0, "pulled": 1}[portion]].MassKg.Value)
		if e.Low >= e.High || e.Low > e.Value || e.High < e.Value {
			t.Errorf("citric in %s: %+v", portion, e)
		}
	}
	green, ok := find("clear", "green")
	near("green in clear", green.Value, 0.001)
	if _, other := find("pulled", "green"); !ok || other {
		t.Error("green is in the other portion")
	}
	essence, _ := find("pulled", "essence")
	near("essence in pulled", essence.Value, 0.001)
	// Back to the masses: sugar is weighed, and only the smear of it is lost.
	var sugar, colour float64
	for j, portion := range []string{"clear", "pulled"} {
		s, _ := find(portion, "sugar")
		c, _ := find(portion, "colour")
		sugar += s.Value * r.Portions[j].MassKg.Value
		colour += c.Value * r.Portions[j].MassKg.Value
	}
	flashes, _ := p.flashOf(0).middle()
	kept := 1 - p.nominal.Smear/(p.nominal.Lift.Mass()+p.doses[0]*(1-0.9*flashes)) // a tenth of it is solid
	near("sugar", sugar, 4.5*kept)
	near("colour", colour, p.doses[0]*kept)
}

// The same ingredient in the kettle and on the slab stands once, with both.
func TestHolds_Once(t *testing.T) {
	t.Parallel()
	in := fruit(t)
	in.Additions = append(in.Additions, Dose{in.Additions[2].Ingredient, recipe.AtBoil, 0.002, ""})
	p := prepare(t, in)
	d, err := p.Simulate()
	if err != nil {
		t.Fatal(err)
	}
	holds, err := p.Holds(d)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, x := range holds[0].Ingredients {
		if x.Ingredient.ID == "citric" {
			seen++
			if x.Share.Value < 0.0098 || x.Share.Value > 0.0101 {
				t.Errorf("citric %v", x.Share)
			}
		}
	}
	if seen != 1 {
		t.Errorf("citric stands %d times", seen)
	}
}

func BenchmarkHolds(b *testing.B) {
	p, err := Prepare(fruit(b))
	if err != nil {
		b.Fatal(err)
	}
	d, err := p.Simulate()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.Holds(d); err != nil {
			b.Fatal(err)
		}
	}
}

// Acid, oils and essences of the old recipes in the finished sweet, from the printed
// quantities, within the rounding of the figures and of the masses (10 mg a line).
func TestOldRecipes_Levels(t *testing.T) {
	t.Parallel()
	charges := oldCharges(t)
	rows := validation.Records(t, "old-levels.csv")
	for _, row := range rows {
		c := charges[row.Text("recipe")]
		p := prepare(t, Inputs{Recipe: row.Text("recipe"), Charge: c, End: End{WaterLeft: 0.02}, Room: seaRoom()})
		d, err := p.Simulate()
		if err != nil {
			t.Fatal(err)
		}
		holds, err := p.Holds(d)
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(holds[0].Ingredients, func(h Held) bool { return h.Ingredient.ID == row.Text("ingredient") })
		if at < 0 {
			t.Errorf("%s holds no %s", row.Text("recipe"), row.Text("ingredient"))
			continue
		}
		e, tol := holds[0].Ingredients[at].Share.Scale(1e6), 1.0
		if row.Text("unit") == "%" {
			e, tol = e.Scale(1e-4), 0.0051
		}
		if want := row.Number("level"); math.Abs(e.Value-want) > tol || e.Low > want+tol || e.High < want-tol {
			t.Errorf("%s, %s: %.4g (%.4g to %.4g) %s, want %g (%s)", row.Text("recipe"), row.Text("ingredient"), e.Value, e.Low, e.High, row.Text("unit"), want, row.Text("key"))
		}
	}
	t.Logf("%d levels", len(rows))
}
