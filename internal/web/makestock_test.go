package web

import (
	"context"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/shoptest"
)

// greenLot takes a lot of green colour into the stores of the sample shop.
func greenLot(t *testing.T, post func(at string, form url.Values) page) string {
	t.Helper()
	if p := post("/stores", url.Values{"ingredient": {"green"}, "mass": {"0.2 kg"}, "supplier": {"Mill Lane Stores"}, "supplier_lot": {"G-1"}}); p.StatusCode != 303 {
		t.Fatalf("taken in: %d", p.StatusCode)
	}
	return "r" + shoptest.Date + "-1"
}

// A stock solution is made on the page of a lot, weighed from at the weigh-in, and shown
// as what it is: 50 g in 200 g of water is 20 %.
func TestMakeStockPages(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	site, a := keptSite(t)
	post := func(at string, form url.Values) page { t.Helper(); return ask(t, site, "POST", at, form) }
	at := "/stores/" + greenLot(t, post)
	form := func(values ...string) url.Values {
		f := url.Values{"kind": {"made"}, "mass": {"50 g"}, "carrier": {"water"}, "strength": {"20"}, "best_before": {"2026-03-24"}}
		for i := 0; i < len(values); i += 2 {
			f.Set(values[i], values[i+1])
		}
		return f
	}
	for _, c := range []struct {
		form url.Values
		says string
		want int
	}{
		{form("mass", ""), "how much was taken", 422},
		{form("carrier", ""), "dissolved in", 422},
		{form("best_before", ""), "until when it keeps", 422},
		{form("carrier_mass", "250 g"), "makes 16.67", 422},
		{form("also", "r2020-01-01-1", "also_mass", "1 g"), "There is no lot", 404},
		{form("packets", "some"), "no count", 422},
	} {
		p := post(at, c.form)
		if p.StatusCode != c.want || valueOf(p, "strength") != "20" {
			t.Errorf("%v: %d, strength %q", c.form, p.StatusCode, valueOf(p, "strength"))
		}
		p.says(t, "#wrong", c.says)
	}
	if p := post(at, form()); p.StatusCode != 303 || p.Header.Get("Location") != "/stores/r"+shoptest.Date+"-2?saved" {
		t.Fatalf("made: %d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	made := "r" + shoptest.Date + "-2"
	l, err := a.Lot(ctx, made)
	if err != nil || l.Made == nil || l.Made.Strength != 0.2 || l.OnHandMg != 250_000 {
		t.Fatalf("%+v, %v", l, err)
	}
	p := ask(t, site, "GET", "/stores/"+made, nil)
	p.says(t, "main", "20 % in water")
	p.says(t, "main", "made here")
	p.says(t, "main", "Take it back")
	ask(t, site, "GET", at, nil).says(t, "main", "in lot "+made)
	ask(t, site, "GET", "/stores", nil).says(t, "main", "20 % in water")

	// A hold of the colour shows at the solution, and is not released there.
	post(at, url.Values{"kind": {"hold"}, "why": {"another colour"}})
	held := ask(t, site, "GET", "/stores/"+made, nil)
	held.says(t, "#hold-h", "ON HOLD")
	held.says(t, "main", "free again when what it is made of is released")
	post(at, url.Values{"kind": {"usable"}, "why": {"looked through"}})

	// Taken back, its colour is on hand again.
	if p := post("/stores/"+made, url.Values{"kind": {"back"}, "corrects": {itoa(l.Entries[0].Act)}}); p.StatusCode != 303 {
		t.Errorf("taken back: %d", p.StatusCode)
	}
	if l, err := a.Lot(ctx, "r"+shoptest.Date+"-1"); err != nil || l.OnHandMg != 200_000 {
		t.Errorf("the colour: %+v, %v", l, err)
	}
}

// The form fits a phone and a screen and has nothing for the checker to find.
func lookAtMakeStock(t *testing.T, tab context.Context) {
	t.Helper()
	site, _ := keptSite(t)
	srv := serve(t, site)
	id := greenLot(t, func(at string, form url.Values) page { t.Helper(); return ask(t, site, "POST", at, form) })
	for _, width := range []int64{390, 1280} {
		do(t, tab, scripts(true), size(width, 844), chromedp.Navigate(srv.URL+"/stores/"+id), chromedp.WaitVisible(chromedp.CSS("#make-h")))
		if d := overflow(t, tab); d > 0 {
			t.Errorf("at %d: %.0f pixels wider than the window", width, d)
		}
		clean(t, tab, "the form of a stock solution")
	}
	retype(t, tab, "#k-mass", "50 g")
	retype(t, tab, "#k-strength", "20")
	press(t, tab, "[aria-labelledby=make-h] button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#wrong")))
	clean(t, tab, "a stock solution that is refused")
}
