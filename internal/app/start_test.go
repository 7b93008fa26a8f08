package app_test

import (
	"context"
	"errors"
	"slices"
	"testing"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
)

// answers are the usual ones, with names for what has none.
func answers() map[string]string {
	out := map[string]string{}
	for _, g := range app.StartQuestions() {
		for _, x := range g.Questions {
			out[x.Name] = x.Usual
		}
	}
	out["shop.name"], out["shop.place"], out["hand.0"], out["hand.1"] = "Drops & Co", "Anywhere", "Ann", "Ben"
	out["recipe.name"], out["recipe.flavour"] = "Lemon drops", "lemon"
	return out
}

// The usual answers make a sound book and a plan that fills the bags.
func TestStart(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for _, units := range []string{"metric", "us"} {
		a := keptApp(t, true)
		text := answers()
		text["shop.units"] = units
		if err := a.Start(ctx, text, "Ann"); err != nil {
			t.Fatal(err)
		}
		p, err := a.Plan(ctx, app.PlanRequest{})
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Batches) != 1 || len(p.Unplaced) != 0 || p.Bags[0].Asked != 10 || !p.ProvedBest {
			t.Errorf("%s: %d boils, %d unplaced, %d bags", units, len(p.Batches), len(p.Unplaced), p.Bags[0].Asked)
		}
		if err := a.Start(ctx, text, "Ann"); fault.KindOf(err) != fault.KindConflict {
			t.Errorf("a second start gives %v", err)
		}
	}
}

// Whatever answer is spoiled, its question is named, and nothing is begun.
func TestStartNamesTheQuestion(t *testing.T) {
	t.Parallel()
	for _, g := range app.StartQuestions() {
		for _, x := range g.Questions {
			text := answers()
			if text[x.Name] = "\x01"; x.Name == "recipe.flavour" {
				text[x.Name] = "!"
			}
			_, _, err := app.Begin(text)
			var p app.Problems
			if !errors.As(err, &p) || !slices.ContainsFunc(p, func(e *fault.Error) bool { return e.Field == x.Name && e.Text != "" }) {
				t.Errorf("%s spoiled: %v", x.Name, err)
			}
		}
	}
}

// What may be left out leaves a sound book too.
func TestStartLeavesOut(t *testing.T) {
	t.Parallel()
	text := answers()
	text["recipe.acid"], text["recipe.colour_dose"], text["board.have"] = "", "", "no"
	b, lines, err := app.Begin(text)
	if err != nil {
		t.Fatal(err)
	}
	if len(b.Recipes[0].Additions) != 1 || len(lines) != 1 || len(book.Errors(book.Validate(&b))) != 0 {
		t.Errorf("%d additions, %d lines", len(b.Recipes[0].Additions), len(lines))
	}
}
