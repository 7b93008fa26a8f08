package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/bag"
	q "slabside/internal/quantity"
)

// What makers usually give stands under the field, why it is asked and whose figure
// it is on its slip, in the units of the shop.
func TestThing_Help(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	at := thingHref("recipe", f.book.Recipes[0].ID)
	p := ask(t, site, "GET", at, nil)
	p.says(t, ".field .help", "usually 146–154 °C with glucose syrup")
	p.says(t, ".field .slip summary", "why boil to is asked")
	p.says(t, ".field .slip-in", "as it stands at the sea")
	p.says(t, ".field .slip .inputs", "accepted 100 °C to 175 °C")
	p.says(t, ".field .slip .sources", "guide1896")
	p.says(t, ".usual-from", "common practice, no source")
	f.book.Shop.Units = q.US.With(q.Point)
	ask(t, site, "GET", at, nil).says(t, ".field .help", "usually 295–309 °F with glucose syrup")
	ask(t, site, "GET", thingHref("room", ""), nil).says(t, ".field .slip-in", "The shop decides how much lower it is set")
}

// A form shows what is rare under a heading that opens it: closed at first, open if
// something in it is given or wrong.
func TestThing_Fold(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	const folded, opened = "details.fold", "details.fold[open]"
	p := ask(t, site, "GET", "/new/kettle", nil)
	if p.count(folded) != 1 || p.count(opened) != 0 || p.count(folded+" input[id=f-efficiency_low]") != 1 || p.count(folded+" input[id=f-efficiency]") != 0 {
		t.Errorf("a new kettle: %d folds, %d of them open", p.count(folded), p.count(opened))
	}
	p.says(t, folded+" summary", "More about the kettle")
	p.says(t, folded+" summary", "short name; low end of the efficiency")

	form := sentBack(p)
	form.Set("f.name", "Second pan")
	form.Set("f.efficiency_low", "a third")
	form.Set("act", "save")
	p = ask(t, site, "POST", "/new/kettle", form)
	if p.StatusCode != http.StatusUnprocessableEntity || p.count(opened+" input[aria-invalid=true]") != 1 {
		t.Errorf("status %d: a fault is folded away", p.StatusCode)
	}
	p.says(t, opened+" .field-error", "a third")

	// So is one that lies in what is not given: dusted, but with what?
	at := thingHref("recipe", "lemon")
	form = sentBack(ask(t, site, "GET", at, nil))
	form.Set("f.finish", "dusted") // it was sanded, and says with nothing
	form.Set("act", "save")
	p = ask(t, site, "POST", at, form)
	if p.StatusCode != http.StatusUnprocessableEntity || p.count(opened+" input[id=f-finish_gain]") != 1 {
		t.Errorf("status %d: what is missing is folded away", p.StatusCode)
	}

	// A row with something rare in it opens its own fold and no other.
	f.book.Products[0].Parts = []bag.Part{{Recipe: "pear", Share: 1, Least: 6}, {Recipe: "clove", Share: 1}}
	p = ask(t, site, "GET", thingHref("product", f.book.Products[0].ID), nil)
	if n := p.count(".rows " + opened); n != 1 || p.count(".rows "+folded) != 2 {
		t.Errorf("%d of %d rows open their fold", n, p.count(".rows "+folded))
	}
}

// foldsAndSlips opens what is folded by the keyboard and by an address, with script
// and without, and looks at it.
func foldsAndSlips(t *testing.T, tab context.Context) {
	if testing.Short() {
		t.Skip("looked at without the race detector")
	}
	t.Helper()
	site, _ := fixtureSite()
	srv := httptest.NewServer(site)
	t.Cleanup(srv.Close)
	const shown = `document.querySelector('[id="f-lining"]').checkVisibility()`
	for _, on := range []bool{true, false} {
		do(t, tab, scripts(on), size(1280, 800), chromedp.Navigate(srv.URL+"/new/kettle"))
		if value(t, tab, chromedp.Evaluate[bool](shown)) {
			t.Fatal("a lining is asked for at once")
		}
		press(t, tab, "details.fold > summary")
		if !value(t, tab, chromedp.Evaluate[bool](shown)) {
			t.Error("the keyboard does not open the fold")
		}
		do(t, tab, chromedp.Navigate("about:blank"), chromedp.Navigate(srv.URL+"/new/kettle#f-lining"))
		if !value(t, tab, chromedp.Evaluate[bool](shown)) {
			t.Error("an address does not open the fold")
		}
	}
	do(t, tab, scripts(true))
	for _, a := range []string{"/new/recipe", "/new/kettle", "/book/recipe/clove", "/book/room"} {
		do(t, tab, chromedp.Navigate(srv.URL+a))
		n := value(t, tab, chromedp.Evaluate[int](`[...document.querySelectorAll('form.thing details')].map(d => d.open = true).length`))
		if n < 5 {
			t.Errorf("%s: only %d folds and slips", a, n)
		}
		for _, s := range screens {
			do(t, tab, size(s[0], s[1]))
			clean(t, tab, a+" with all open")
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s at %d with all open: %.0f pixels wider than the window", a, s[0], d)
			}
		}
	}
}
