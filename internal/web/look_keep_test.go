package web

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/fault"
)

// From nothing to the first plan by one form, and a wrong answer on the way: by
// keys alone, with script and without.
func beginAShop(t *testing.T, tab context.Context)         { begin(t, tab, true) }
func beginAShopNoScript(t *testing.T, tab context.Context) { begin(t, tab, false) }

func begin(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	f := newFakeShop()
	f.bookErr = fault.NotFound("no shop book here")
	srv := serve(t, New(f, fixtureOptions()))
	do(t, tab, scripts(on), size(390, 844), chromedp.Navigate(srv.URL+"/"))
	press(t, tab, ".first a.button")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(`[id="f-shop.name"]`)))
	for name, text := range map[string]string{"shop.name": "Drops & Co", "shop.place": "Anywhere", "hand.0": "Ann", "hand.1": "Ben",
		"recipe.name": "Lemon drops", "recipe.flavour": "lemon", "kettle.volume": "24"} {
		retype(t, tab, `[id="f-`+name+`"]`, text)
	}
	if d := overflow(t, tab); d > 0 {
		t.Errorf("the questions are %.0f pixels wider than the window", d)
	}
	press(t, tab, "form.thing button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(`[id="e-kettle.volume"]`)))
	if on { // what is wrong is read first
		do(t, tab, chromedp.WaitVisible(chromedp.CSS("#wrong:focus")))
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS(`[id="e-kettle.volume"]`))); !strings.Contains(got, "no unit") {
		t.Errorf("a volume without a unit is refused with %q", got)
	}
	if on {
		clean(t, tab, "the questions with a fault")
	}
	retype(t, tab, `[id="f-kettle.volume"]`, "24 L")
	press(t, tab, "form.thing button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#next-time")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS(".mark .shop"))); got != "Drops & Co" {
		t.Errorf("the pages are of %q", got)
	}
}

// A figure of the boiling room is changed in the maker's own unit, a row of a
// recipe is added and taken out again, and the last change is undone.
func changeAThing(t *testing.T, tab context.Context)         { changeThing(t, tab, true) }
func changeAThingNoScript(t *testing.T, tab context.Context) { changeThing(t, tab, false) }

func changeThing(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	f := newFakeShop()
	srv := serve(t, New(f, fixtureOptions()))
	was := f.book.Kettles[0].Smear
	do(t, tab, scripts(on), size(768, 1024), chromedp.Navigate(srv.URL+thingHref("kettle", f.book.Kettles[0].ID)))
	retype(t, tab, `[id="f-smear"]`, "8 oz")
	retype(t, tab, "#why", "weighed it")
	press(t, tab, "form.thing button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	if got := value(t, tab, chromedp.Value(chromedp.CSS(`[id="f-smear"]`))); got != "226.8 g" {
		t.Errorf("8 oz are shown as %q", got)
	}
	do(t, tab, chromedp.Navigate(srv.URL+"/book"))
	press(t, tab, "button[value=undo]")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	f.mu.Lock()
	now := f.book.Kettles[0].Smear
	f.mu.Unlock()
	if now != was {
		t.Errorf("undone, the smear is %v, it was %v", now, was)
	}

	do(t, tab, chromedp.Navigate(srv.URL+thingHref("recipe", f.book.Recipes[0].ID)))
	press(t, tab, "button[value='add.boil']")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(`[id="f-boil.3.mass"]`)))
	if on {
		clean(t, tab, "a recipe with a new row")
	}
	press(t, tab, "button[value='out.boil.3']")
	do(t, tab, chromedp.WaitNotPresent(chromedp.CSS(`[id="f-boil.3.mass"]`)))
}
