package web

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/lot"
	"slabside/internal/shoptest"
)

// A lot is frozen by one press on the list, and the reason comes after: with script and
// without. The page of a lot in each of its places has nothing for the checker to find
// and fits a phone.
func holdALot(t *testing.T, tab context.Context)         { hold(t, tab, true) }
func holdALotNoScript(t *testing.T, tab context.Context) { hold(t, tab, false) }

func hold(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	site, a := keptSite(t)
	srv := serve(t, site)
	if p := ask(t, site, "POST", "/stores", url.Values{"ingredient": {"sugar"}, "mass": {"55"}, "supplier": {"Mill Lane Stores"}}); p.StatusCode != 303 {
		t.Fatalf("taken in: %d", p.StatusCode)
	}
	id := "r" + shoptest.Date + "-1"
	do(t, tab, scripts(on), size(390, 844), chromedp.Navigate(srv.URL+"/stores"))
	press(t, tab, ".lots button.stop")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#hold-h")))
	if l, err := a.Lot(context.Background(), id); err != nil || l.Status != lot.Hold {
		t.Fatalf("after one press it is %s, %v", l.Status, err)
	}
	check := func(what string) {
		t.Helper()
		if d := overflow(t, tab); d > 0 {
			t.Errorf("%s: %.0f pixels wider than the window", what, d)
		}
		if on {
			clean(t, tab, what)
		}
	}
	check("a lot on hold")
	retype(t, tab, "#hold-why", "glass in the next sack")
	press(t, tab, "[aria-labelledby=hold-h] form button")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#hold-h + p strong")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#hold-h + p strong"))); got != "glass in the next sack" {
		t.Errorf("the reason is %q", got)
	}
	press(t, tab, "button[value=usable]")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#wrong")))
	check("a release without a reason")
	retype(t, tab, "#p-why", "looked through")
	press(t, tab, "button[value=condemned]")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#stop-h")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#stop-h"))); !strings.Contains(got, "Condemned") {
		t.Errorf("condemned, it says %q", got)
	}
	check("a condemned lot")
}
