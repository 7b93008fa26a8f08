package boil

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"slabside/internal/ingredient"
	"slabside/internal/numeric"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
)

// anyBoil draws a boil of up to four additions and three portions, with and
// without a kettle and scales.
func anyBoil(t *rapid.T) Inputs {
	water := q.Kilograms(rapid.Float64Range(0.8, 3).Draw(t, "water"))
	c, err := Raw{
		Sugar:       q.Kilograms(rapid.Float64Range(2, 9).Draw(t, "sugar")),
		Syrup:       q.Kilograms(rapid.Float64Range(0, 6).Draw(t, "syrup")),
		SyrupDE:     rapid.Float64Range(25, 60).Draw(t, "de"),
		SyrupSolids: q.Fraction(rapid.Float64Range(0.75, 0.85).Draw(t, "solids")),
		Water:       &water,
		Tartar:      q.Kilograms(rapid.Float64Range(0, 0.02).Draw(t, "tartar")),
	}.Charge()
	if err != nil {
		t.Fatal(err)
	}
	if butter := rapid.Float64Range(0, 1).Draw(t, "butter"); butter > 0.5 {
		c.Lines = append(c.Lines, Line{ingredient.Ingredient{ID: "butter", Kind: ingredient.Fat, Solids: 0.82}, q.Kilograms(butter)})
	}
	in := Inputs{Recipe: "any", Batch: "any:1", Charge: c, Room: seaRoom(), Glass: goodGlass(), Ensemble: numeric.NewEnsemble(8, 5)}
	if rapid.Bool().Draw(t, "by water") {
		in.End = End{WaterLeft: q.Fraction(rapid.Float64Range(0.02, 0.05).Draw(t, "left"))}
	} else {
		in.End = End{BoilTo: q.Celsius(rapid.Float64Range(138, 153).Draw(t, "to"))}
	}
	if rapid.Bool().Draw(t, "kettle") {
		in.Kettle = pan()
		in.Kettle.LeastCharge, in.Kettle.Volume = 0.1, 100 // takes any of these charges
	}
	if rapid.Bool().Draw(t, "scales") {
		in.Scales = twoScales()
	}
	n := rapid.IntRange(0, 3).Draw(t, "portions")
	for i := range n {
		in.Portions = append(in.Portions, recipe.Portion{ID: string(rune('a' + i)), Share: q.Fraction(1 / float64(n))})
	}
	kinds := []ingredient.Kind{ingredient.Colour, ingredient.Essence, ingredient.Acid, ingredient.Nut, ingredient.Extract, ingredient.Oil}
	for i := range rapid.IntRange(0, 4).Draw(t, "additions") {
		d := Dose{Stage: rapid.SampledFrom(recipe.Stages()).Draw(t, "stage"), Share: q.Fraction(rapid.Float64Range(0.0005, 0.08).Draw(t, "dose"))}
		d.Ingredient = ingredient.Ingredient{ID: string(rune('p' + i)), Kind: rapid.SampledFrom(kinds).Draw(t, "kind"),
			Solids: q.Fraction(rapid.Float64Range(0, 0.6).Draw(t, "dry")), Spirit: q.Fraction(rapid.Float64Range(0, 0.4).Draw(t, "spirit"))}
		if n > 0 && (d.Stage == recipe.AtPour || d.Stage == recipe.AtFold) && rapid.Bool().Draw(t, "one portion") {
			d.Portion = in.Portions[rapid.IntRange(0, n-1).Draw(t, "which")].ID
		}
		in.Additions = append(in.Additions, d)
	}
	return in
}

// TestLaw_MassInIsMassOut: in every world, what goes in is what comes out, water
// that left included, and so is the dry matter.
func TestLaw_MassInIsMassOut(t *testing.T) {
	t.Parallel()
	worst := 0.0
	rapid.Check(t, func(rt *rapid.T) {
		p, err := Prepare(anyBoil(rt))
		if err != nil {
			rt.Fatal(err)
		}
		d, err := p.Simulate()
		if err != nil {
			rt.Fatal(err)
		}
		c, err := p.columns()
		if err != nil {
			rt.Fatal(err)
		}
		for i := range p.in.Ensemble.Len() {
			w := c.world(i)
			var in, out Makeup
			for _, m := range append(append([]Makeup{}, w.kettle...), w.doses...) {
				in = in.Plus(m)
			}
			mass := d.WaterOff[i] + d.Flashed[i] + d.Smear[i]
			for _, portion := range d.Portions {
				mass += portion.Mass[i]
			}
			worst = math.Max(worst, math.Abs(mass/in.Mass()-1))
			if math.Abs(mass-in.Mass()) > 1e-12*in.Mass() {
				rt.Fatalf("draw %d: in %.15g kg, out %.15g kg", i, in.Mass(), mass)
			}
			w.water = 0.03
			b, err := run(w, p.in.Additions, p.portions)
			if err != nil {
				rt.Fatal(err)
			}
			out = b.whole()
			kept := 1 - b.Smear/potMass(b, w, p.in.Additions)
			// The water that inversion binds is dry matter: in the kettle, and on the slab of
			// what sucrose was left.
			pot := w.pot(p.in.Additions)
			dry := (pot.Dry() - world{kettle: w.kettle, doses: w.doses}.pot(p.in.Additions).Dry()) * kept
			for k, a := range p.in.Additions {
				if a.Stage == recipe.AtEnd {
					pot.Sucrose += w.doses[k].Sucrose
				}
			}
			dry += w.slab * pot.Sucrose * kept * 18.02 / 342.30
			for _, m := range w.kettle {
				dry += m.Dry() * kept
			}
			for k, a := range p.in.Additions {
				if a.Stage == recipe.AtBoil || a.Stage == recipe.AtEnd {
					dry += w.doses[k].Dry() * kept
				} else {
					dry += w.doses[k].Dry()
				}
			}
			if math.Abs(out.Dry()-dry) > 1e-12*dry {
				rt.Fatalf("draw %d: dry matter on the slab %.15g kg, want %.15g", i, out.Dry(), dry)
			}
		}
	})
	t.Logf("worst %.1e of the mass", worst)
}

// potMass is what is in the kettle as it is poured.
func potMass(b balance, w world, doses []Dose) float64 {
	m := b.Lift.Mass()
	for k, d := range doses {
		if d.Stage == recipe.AtEnd {
			m += w.doses[k].afterFlash(w.flash[k].water, w.flash[k].spirit).Mass()
		}
	}
	return m
}

// TestLaw_Scaling: without a smear, k times the charge is k times every mass, and
// no temperature or share moves.
func TestLaw_Scaling(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		in := anyBoil(rt)
		in.Kettle, in.Scales = nil, nil
		k := rapid.Float64Range(0.2, 5).Draw(rt, "k")
		big := in
		big.Charge.Lines = nil
		for _, l := range in.Charge.Lines {
			big.Charge.Lines = append(big.Charge.Lines, Line{l.Ingredient, l.Mass * q.Kilograms(k)})
		}
		a, err := Predict(in)
		if err != nil {
			rt.Fatal(err)
		}
		b, err := Predict(big)
		if err != nil {
			rt.Fatal(err)
		}
		near := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-9*math.Max(math.Abs(want), 1e-6) {
				rt.Errorf("%s: %.12g, want %.12g", what, got, want)
			}
		}
		near("mass", b.MassKg.Value, k*a.MassKg.Value)
		near("mass low", b.MassKg.Low, k*a.MassKg.Low)
		near("water off", b.WaterOffKg.Value, k*a.WaterOffKg.Value)
		near("finished high", b.FinishedKg.High, k*a.FinishedKg.High)
		near("water", b.WaterFrac.Value, a.WaterFrac.Value)
		near("dial", b.DialC.Low, a.DialC.Low)
		for i := range a.Weighings {
			near("weighing", float64(b.Weighings[i].Target), k*float64(a.Weighings[i].Target))
		}
	})
}

// TestLaw_DosesAreShares: a dose is its share of the finished mass it is part of.
func TestLaw_DosesAreShares(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		in := anyBoil(rt)
		in.Scales = nil // no stock solution, whose carrier comes after
		p, err := Prepare(in)
		if err != nil {
			rt.Fatal(err)
		}
		for i, d := range in.Additions {
			of := p.nominal.finished()
			for j, portion := range p.portions {
				if d.Portion != "" && portion.ID == d.Portion {
					of = p.nominal.Portions[j].Mass()
				}
			}
			if got := p.doses[i] / of; math.Abs(got-float64(d.Share)) > 1e-12 {
				rt.Errorf("dose %d: share %.15g, want %.15g", i, got, float64(d.Share))
			}
		}
	})
}

// TestLaw_HotterIsDrier: a higher end leaves less water and less mass, takes more
// off, and stands up to more.
func TestLaw_HotterIsDrier(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		in := anyBoil(rt)
		low := rapid.Float64Range(138, 152).Draw(rt, "low")
		in.End = End{BoilTo: q.Celsius(low)}
		a, err := Predict(in)
		if err != nil {
			rt.Fatal(err)
		}
		in.End.BoilTo += q.Celsius(rapid.Float64Range(0.5, 2).Draw(rt, "more"))
		b, err := Predict(in)
		if err != nil {
			rt.Fatal(err)
		}
		if !(b.WaterFrac.Value < a.WaterFrac.Value && b.MassKg.Value < a.MassKg.Value && b.WaterOffKg.Value > a.WaterOffKg.Value) {
			rt.Errorf("from %g to %g °C: water %g to %g, mass %g to %g", low, float64(in.End.BoilTo), a.WaterFrac.Value, b.WaterFrac.Value, a.MassKg.Value, b.MassKg.Value)
		}
		// With much boiled away at the end stage the glass may be out of range for both.
		if a.GlassC != nil && b.GlassC != nil && !(b.GlassC.Value > a.GlassC.Value) {
			rt.Errorf("stands up to %g then %g °C", a.GlassC.Value, b.GlassC.Value)
		}
	})
}

// TestLaw_RangesHoldTheValue: low ≤ value ≤ high for every figure, values add up,
// and the same inputs give the same figures.
func TestLaw_RangesHoldTheValue(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		in := anyBoil(rt)
		in.Ensemble = numeric.NewEnsemble(256, 9)
		r, err := Predict(in)
		if err != nil {
			rt.Fatal(err)
		}
		for name, e := range map[string]q.Estimate{"true": r.BoilC, "dial": r.DialC, "water": r.WaterFrac, "mass": r.MassKg,
			"solids": r.SolidsKg, "off": r.WaterOffKg, "smear": r.SmearKg, "flashed": r.FlashedKg, "finished": r.FinishedKg} {
			if !(e.Low <= e.Value+1e-12 && e.Value <= e.High+1e-12) {
				rt.Errorf("%s: %g not within %g to %g", name, e.Value, e.Low, e.High)
			}
		}
		if got := r.SolidsKg.Value / (1 - r.WaterFrac.Value); math.Abs(got-r.MassKg.Value) > 1e-9 {
			rt.Errorf("mass %.12g, solids over dryness %.12g", r.MassKg.Value, got)
		}
		again, err := Predict(in)
		if err != nil || again.MassKg != r.MassKg || again.DialC != r.DialC {
			rt.Errorf("the same inputs give other figures")
		}
	})
}
