package web

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/packing"
	"slabside/internal/shoptest"
)

// packAtTheScales packs bags by one press each and holds the lot by one more, with script
// and without; each state of the pages has nothing for the checker to find and is no
// wider than a phone, and what is pressed is large enough for a wet glove.
func packAtTheScales(t *testing.T, tab context.Context)         { packBags(t, tab, true) }
func packAtTheScalesNoScript(t *testing.T, tab context.Context) { packBags(t, tab, false) }

func packBags(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	site, a := sameClock(t)
	srv := serve(t, site)
	check := func(what string) {
		t.Helper()
		for _, s := range [][2]int64{{390, 844}, {768, 1024}, {1024, 768}, {1280, 800}} {
			do(t, tab, size(s[0], s[1]))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s at %d: %.0f pixels wider than the window", what, s[0], d)
			}
		}
		do(t, tab, size(390, 844))
		if on {
			clean(t, tab, what)
			darkIsClean(t, tab, what)
			do(t, tab, theme("light"))
		}
	}
	do(t, tab, scripts(on), size(390, 844), chromedp.Navigate(srv.URL+"/packing?product=pear-bag"))
	check("no batch yet")
	batch := pearBatch(t, a, 6)
	do(t, tab, chromedp.Navigate(srv.URL+"/packing"))
	press(t, tab, ".pick")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#station")))
	check("the station")
	if on {
		const heights = `Array.from(document.querySelectorAll('.presses button, .pick')).map(b => b.getBoundingClientRect().height)`
		for _, h := range value(t, tab, chromedp.Evaluate[[]float64](heights)) {
			if h < 72 {
				t.Errorf("a button of the station is %.0f pixels high", h)
			}
		}
	}
	press(t, tab, ".presses button")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	press(t, tab, ".presses button + button")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	id := "b" + shoptest.Date + "-1"
	for range 50 {
		if l, err := a.BagLot(context.Background(), id); err == nil && l.OnHand == 11 {
			break
		}
		do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	}
	if l, err := a.BagLot(context.Background(), id); err != nil || l.OnHand != 11 || l.Of[0].Batch != batch {
		t.Fatalf("two presses made %+v, %v", l, err)
	}
	check("eleven bags")
	do(t, tab, chromedp.Navigate(srv.URL+packedHref(id)))
	check("a bag lot")
	press(t, tab, "button.big-stop")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#hold-h")))
	if l, err := a.BagLot(context.Background(), id); err != nil || l.Status != packing.Hold {
		t.Fatalf("after one press it is %s, %v", l.Status, err)
	}
	check("a bag lot on hold")
	for _, at := range []string{"/packing/l" + batch, "/packing/when?product=pear-bag&bags=4"} {
		do(t, tab, chromedp.Navigate(srv.URL+at))
		check(at)
	}
}

// shots takes pictures of the packing of the fake shop at every size, where a folder for
// them is named.
func TestPackingShots(t *testing.T) {
	dir := os.Getenv("SHOTS")
	if dir == "" {
		t.Skip("no folder for pictures is named")
	}
	tab := newTab(t, newBrowser(t))
	srv := serve(t, New(newFakeShop(), fixtureOptions()))
	for name, at := range map[string]string{"list": "/packing", "station": "/packing?product=pear-113&tare=4.2", "lot": "/packing/" + fixtureBags, "jar": "/packing/j-counter-3", "loose": "/packing/l" + fixtureBatch, "when": "/packing/when?product=pear-113&bags=40"} {
		for _, s := range [][2]int64{{390, 844}, {768, 1024}, {1024, 768}, {1280, 800}} {
			do(t, tab, size(s[0], s[1]), chromedp.Navigate(srv.URL+at))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s at %d: %.0f pixels too wide", at, s[0], d)
			}
			png := value(t, tab, chromedp.CaptureScreenshot())
			if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%d.png", name, s[0])), png, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
}
