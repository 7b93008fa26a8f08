package app_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"slabside/internal/app"
	"slabside/internal/bookfile"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// demoApp is the demo shop with one text of its book in place of another.
func demoApp(t *testing.T, from, to string) *app.App {
	t.Helper()
	text := bookfile.Demo()
	if !bytes.Contains(text, []byte(from)) {
		t.Fatalf("the demo book does not say %q", from)
	}
	file := filepath.Join(t.TempDir(), "demo.toml")
	if err := os.WriteFile(file, bytes.Replace(text, []byte(from), []byte(to), 1), 0o644); err != nil {
		t.Fatal(err)
	}
	k, err := bookfile.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { k.Close() })
	return app.New(k, shoptest.Now)
}

func answersOf(t *testing.T, a *app.App, recipe string) (*app.BoilResult, [3]string) {
	t.Helper()
	r, err := a.Boil(context.Background(), app.BoilRequest{Recipe: recipe})
	if err != nil {
		t.Fatal(err)
	}
	var out [3]string
	for i, v := range r.Verdicts.List {
		out[i] = string(v.Answer)
	}
	return r, out
}

// The sweets that a shop sells over the counter keep in its store; none of them grains
// or is scorched; what is posted in summer is at most borderline.
func TestBoil_VerdictsOfTheDemoShop(t *testing.T) {
	t.Parallel()
	a := demoApp(t, `store_most = "26 C"`, `store_most = "26 C"`)
	b, _, err := a.Book(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range b.Recipes {
		r, got := answersOf(t, a, rec.ID)
		room, store := r.Verdicts.List[0].Limits[0], r.Verdicts.List[0].Limits[1]
		if room.Answer != "no" || store.Answer != "no" || got[0] == "likely" || got[0] == "not known" {
			t.Errorf("%s: sticks %s (room %s, store %s)", rec.ID, got[0], room.Answer, store.Answer)
		}
		if got[1] != "no" || got[2] != "no" && got[2] != "not known" {
			t.Errorf("%s: grains %s, browns %s", rec.ID, got[1], got[2])
		}
		if m := r.Verdicts.Map; m == nil || len(m.Lines) != 2 {
			t.Errorf("%s: no map", rec.ID)
		}
	}
	if _, got := answersOf(t, a, "butterscotch-pebbles"); got[2] != "not known" {
		t.Errorf("butter browns: %s", got[2])
	}
}

// The store, the post and the air are those of the shop book, in its units.
func TestBoil_VerdictsAreOfThisRoom(t *testing.T) {
	t.Parallel()
	limit := func(r *app.BoilResult, i int) (q.Number, bool) {
		l := r.Verdicts.List[0].Limits[i]
		return *l.C, l.Usual
	}
	const id = "barley-barrels"
	r, got := answersOf(t, demoApp(t, `post_most = "40 C"`, `post_most = "60 C"`), id)
	if c, usual := limit(r, 2); c != 60 || usual || got[0] != "likely" {
		t.Errorf("the post reaches %g °C, usual %v: sticks %s", c, usual, got[0])
	}
	r, _ = answersOf(t, demoApp(t, `post_most = "40 C"`, ``), id)
	if c, usual := limit(r, 2); c != 40 || !usual {
		t.Errorf("not stated, the post reaches %g °C, usual %v", c, usual)
	}
	r, got = answersOf(t, demoApp(t, `store_most = "26 C"`, `store_most = "58 C"`), id)
	if c, usual := limit(r, 1); c != 58 || usual || got[0] != "likely" {
		t.Errorf("the store reaches %g °C, usual %v: sticks %s", c, usual, got[0])
	}
	dry, _ := answersOf(t, demoApp(t, `humidity = "42 %"`, `humidity = "35 %"`), id)
	damp, _ := answersOf(t, demoApp(t, `humidity = "42 %"`, `humidity = "60 %"`), id)
	if !(dry.Verdicts.Open.TimeS.Value > damp.Verdicts.Open.TimeS.Value) || !(dry.Verdicts.Air.DewC < damp.Verdicts.Air.DewC) {
		t.Errorf("at 35 %%: %s; at 60 %%: %s", dry.Verdicts.Open.Text, damp.Verdicts.Open.Text)
	}
	us, _ := answersOf(t, demoApp(t, `units = "metric"`, `units = "us"`), id)
	if want := "the post reaches 104 °F"; !bytes.Contains([]byte(us.Verdicts.List[0].Text), []byte(want)) {
		t.Errorf("%q does not say %q", us.Verdicts.List[0].Text, want)
	}
}

// Without a book the room, the store and the post are the usual ones, and so said.
func TestBoilRaw_Verdicts(t *testing.T) {
	t.Parallel()
	r, err := app.BoilRaw(app.BoilRequest{Sugar: 6, Water: -1, Tartar: 0.012, To: 150}, q.Plain)
	if err != nil {
		t.Fatal(err)
	}
	v := r.Verdicts.List
	if len(v) != 3 || !v[0].Limits[1].Usual || !v[0].Limits[2].Usual {
		t.Fatalf("%+v", v)
	}
	if r.InvertFrac == nil && v[1].Answer != "not known" {
		t.Errorf("a tartar boil grains: %s", v[1].Answer)
	}
}
