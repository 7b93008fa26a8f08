package app_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
)

// A boil scaled to pieces makes so many, as the boil of that charge says itself.
func TestBoilScaledToPieces(t *testing.T) {
	t.Parallel()
	a := newApp(t)
	for _, n := range []int{1500, 1777, 2000, 2111, 2345} {
		r, err := a.Boil(context.Background(), app.BoilRequest{Recipe: "pear-barrels", Pieces: n})
		if err != nil {
			t.Fatal(err)
		}
		if off := r.Pieces.Value/float64(n) - 1; math.Abs(off) > 1e-4 {
			t.Errorf("%d pieces: the boil makes %v", n, r.Pieces.Value)
		}
		again, err := a.Boil(context.Background(), app.BoilRequest{Recipe: "pear-barrels", Charge: q.Kilograms(r.ChargeKg)})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(again.Pieces.Value/r.Pieces.Value-1) > 1e-12 {
			t.Errorf("the same charge makes %v and %v pieces", r.Pieces.Value, again.Pieces.Value)
		}
	}
}

// A boil scaled to bags makes what they hold: the net weight and half a piece over
// it (common practice, no source), each bag of one sweet; of a portion alone, the
// boil is larger by what the other portions take.
func TestBoilScaledToBags(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	a := newApp(t)
	b, _, err := a.Book(ctx)
	if err != nil {
		t.Fatal(err)
	}
	bags := func(recipe, product string, n int) *app.BoilResult {
		t.Helper()
		r, err := a.Boil(ctx, app.BoilRequest{Recipe: recipe, Bags: n, Product: product})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	rolls := func(recipe string) float64 {
		rec, _ := b.Recipe(recipe)
		r, _ := b.RollsOf(rec.Rolls)
		return float64(r.PieceMass())
	}
	pear, _ := b.Product("pear-bag")
	r := bags("pear-barrels", "pear-bag", 30)
	// The finish may add to a piece: a few per cent at most.
	want := 30 * (float64(pear.Net)/rolls("pear-barrels") + 0.5)
	if ratio := r.Pieces.Value / want; ratio < 0.95 || ratio > 1.01 {
		t.Errorf("30 bags want about %.0f pieces, the boil makes %.0f", want, r.Pieces.Value)
	}
	if twice := bags("pear-barrels", "pear-bag", 36); math.Abs(twice.Pieces.Value/r.Pieces.Value-1.2) > 1e-3 {
		t.Errorf("36 bags want %v pieces, 30 want %v", twice.Pieces.Value, r.Pieces.Value)
	}

	// The row mix takes the white beads alone, two kinds of sweet beside them.
	white := 0.0
	beads, _ := b.Recipe("aniseed-beads")
	for _, p := range beads.Portions {
		if p.ID == "white" {
			white = float64(p.Share)
		}
	}
	if white <= 0 || white >= 1 {
		t.Fatalf("the white portion is %v of the boil", white)
	}
	mix, _ := b.Product("row-mix")
	w := 2*rolls("pear-barrels") + 3*rolls("aniseed-beads") + 1*rolls("hazel-leaves") // of six pieces
	want = 40 * 3 * (float64(mix.Net) + w/12) / w / white
	r = bags("aniseed-beads", "row-mix", 40)
	// Air makes a pulled bead lighter, so a mix by pieces holds more of them.
	if ratio := r.Pieces.Value / want; ratio < 0.93 || ratio > 1.07 {
		t.Errorf("40 bags of the mix want about %.0f beads, the boil makes %.0f", want, r.Pieces.Value)
	}
}

// What cannot be scaled to is said, with what to do.
func TestBoilScaledRefused(t *testing.T) {
	t.Parallel()
	a := newApp(t)
	for name, c := range map[string]struct {
		req        app.BoilRequest
		kind       fault.Kind
		text, hint string
	}{
		"far too many pieces": {app.BoilRequest{Recipe: "pear-barrels", Pieces: 30000}, fault.KindOutOfRange, "30000 pieces would need", "goes"},
		"far too few pieces":  {app.BoilRequest{Recipe: "pear-barrels", Pieces: 30}, fault.KindOutOfRange, "too little", "at least"},
		"bags of what":        {app.BoilRequest{Recipe: "pear-barrels", Bags: 3}, fault.KindInvalid, "bags of what?", "pear-bag, row-mix"},
		"bags of another":     {app.BoilRequest{Recipe: "pear-barrels", Bags: 3, Product: "aniseed-jar"}, fault.KindNotFound, "does not go into", "pear-bag, row-mix"},
	} {
		_, err := a.Boil(context.Background(), c.req)
		var f *fault.Error
		if f, _ = err.(*fault.Error); f == nil || f.Kind != c.kind || !strings.Contains(f.Text, c.text) || !strings.Contains(f.Hint, c.hint) {
			t.Errorf("%s: %#v", name, err)
		}
	}
	one := 1
	for name, c := range map[string]struct {
		asked app.BoilAsked
		text  string
	}{
		"two ways":             {app.BoilAsked{Recipe: "x", Pieces: &one, Bags: &one}, "--pieces and --bags do not go together"},
		"no recipe":            {app.BoilAsked{Pieces: &one}, "--pieces without --recipe"},
		"a product of no bags": {app.BoilAsked{Recipe: "x", Product: "y"}, "--product without --bags"},
		"no pieces":            {app.BoilAsked{Recipe: "x", Pieces: new(int)}, "0 pieces cannot be made"},
		"no bags":              {app.BoilAsked{Recipe: "x", Bags: new(int)}, "0 bags cannot be filled"},
	} {
		if _, err := c.asked.Request("--"); err == nil || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
