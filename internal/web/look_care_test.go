package web

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/care"
)

// Cracked rolls are put out of use by two presses and nothing typed, with script and
// without; the page then shows what other rolls come to, has nothing for the checker to
// find and fits a phone. Put right, they are in use again.
func stopTheRolls(t *testing.T, tab context.Context)         { stopRolls(t, tab, true) }
func stopTheRollsNoScript(t *testing.T, tab context.Context) { stopRolls(t, tab, false) }

// choosePress goes to a radio button or a box and chooses it.
func choosePress(t *testing.T, tab context.Context, sel string) {
	t.Helper()
	do(t, tab, chromedp.Focus(chromedp.CSS(sel)), chromedp.KeyEvent(" "))
}

func stopRolls(t *testing.T, tab context.Context, on bool) {
	t.Helper()
	site, a := keptSite(t)
	srv := serve(t, site)
	out := func() bool {
		t.Helper()
		c, err := a.CareOf(context.Background(), care.Thing{Kind: care.Rolls, ID: "leaf"})
		if err != nil {
			t.Fatal(err)
		}
		return c.OutOfUse
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
	do(t, tab, scripts(on), size(390, 844), chromedp.Navigate(srv.URL+"/care"))
	press(t, tab, "[aria-labelledby=all-h] a[href='/care/rolls/leaf']")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#found")))
	check("rolls in use")
	choosePress(t, tab, "form[aria-labelledby=found] input[value=cracked]")
	press(t, tab, "form[aria-labelledby=found] button.big-stop")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#instead")))
	if !out() {
		t.Fatal("after two presses the rolls are in use")
	}
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#instead"))); !strings.Contains(got, "Barrel") || !strings.Contains(got, "bags of about") {
		t.Errorf("instead of them it says %q", got)
	}
	check("rolls out of use")
	do(t, tab, chromedp.Navigate(srv.URL+"/room"), chromedp.WaitVisible(chromedp.CSS("#out-h")))
	check("a room with rolls out of use")
	do(t, tab, chromedp.Navigate(srv.URL+"/care/rolls/leaf"))
	press(t, tab, ".trouble details.more summary")
	choosePress(t, tab, ".trouble form input[value=replaced]")
	press(t, tab, ".trouble form button.primary")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#was-h")))
	if out() {
		t.Error("put right, the rolls are out of use")
	}
	check("rolls put right")
}
