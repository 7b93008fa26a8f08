package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"slabside/internal/app"
	"slabside/internal/shoptest"
)

// wire is the network between a tablet and the program: it can be dead, or die between
// what is asked and what is answered.
type wire struct {
	http.Handler
	dead, deaf atomic.Bool // nothing is heard; all is heard and nothing answered
}

func (w *wire) ServeHTTP(out http.ResponseWriter, r *http.Request) {
	if w.deaf.Load() && r.Method == http.MethodPost {
		w.Handler.ServeHTTP(httptest.NewRecorder(), r)
		w.dead.Store(true)
	}
	if w.dead.Load() {
		panic(http.ErrAbortHandler) // closes the connection without an answer
	}
	w.Handler.ServeHTTP(out, r)
}

// weighedOf is what stands weighed of a batch, line by line, and whether that is what the
// sheet says.
func weighedOf(t *testing.T, a *app.App, batch string) []string {
	t.Helper()
	w, err := a.WeighInOf(context.Background(), batch)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, l := range w.Lines {
		for _, x := range l.Weighed {
			out = append(out, fmt.Sprintf("%s %s %t %s", l.Ingredient, l.State, x.Scanned, x.Lot))
		}
	}
	return out
}

// A batch is weighed in by a scanner: the wrong pot is red and says what it is, the right
// one green. The network dies between a tap and its answer, then altogether; the page is
// closed with taps that wait. In the end each is written once, with its own time.
func weighInTaps(t *testing.T, tab context.Context) {
	t.Helper()
	site, a := keptSite(t)
	net := &wire{Handler: site}
	srv := serve(t, net)
	ctx := context.Background()
	sack := func(what, mark string) string {
		id, err := a.Receive(ctx, app.ReceiveRequest{Ingredient: what, Supplier: "Mill Lane Stores", SupplierLot: mark, Mass: 25}, "Ada", "")
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	sugar, syrup := sack("sugar", "S-200"), sack("syrup-42", "G-7")
	for _, what := range []string{"citric", "pear-flavour", "green", "salt"} {
		sack(what, "X-"+what)
	}
	id, err := a.Begin(ctx, app.BeginRequest{Recipe: "pear-barrels"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	w, err := a.WeighInOf(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	at := func(n int, sel string) string { return fmt.Sprintf("#w-%d %s", n, sel) }
	shown := func(n int) {
		t.Helper()
		do(t, tab, chromedp.WaitVisible(chromedp.CSS(at(n, "h2"))))
	}
	scan := func(n int, code string) {
		t.Helper()
		do(t, tab, chromedp.Focus(chromedp.CSS(at(n, "[data-scan]"))), chromedp.KeyEvent("a", chromedp.KeyModifiers(kb.ModifierCtrl)), chromedp.SendKeys(chromedp.CSS(at(n, "[data-scan]")), code), chromedp.KeyEvent(kb.Enter))
	}
	weighed := func(n int) {
		t.Helper()
		time.Sleep(550 * time.Millisecond) // a scanner's second Enter must not be one
		press(t, tab, at(n, ".weigh-go"))
	}
	do(t, tab, size(768, 1024), chromedp.Navigate(srv.URL+"/weigh-in/"+id))
	shown(1)
	if !testing.Short() {
		clean(t, tab, "a sheet that is weighed in")
	}

	scan(1, "G-7")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#w-1.wrong-pot")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS(at(1, ".said")))); !strings.Contains(got, "WRONG POT") || !strings.Contains(got, "Glucose syrup") {
		t.Errorf("the wrong pot says %q", got)
	}
	weighed(1) // and is not written, whatever is pressed
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#w-1.wrong-pot [aria-invalid]")))
	scan(1, "s-200")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#w-1.right")))
	weighed(1)
	shown(2)
	want := []string{"sugar done true " + sugar}
	if got := weighedOf(t, a, id); !slices.Equal(got, want) {
		t.Fatalf("weighed %v, want %v", got, want)
	}

	// It is heard, and the answer is lost: it comes again and is not written twice.
	scan(2, "]C110G-7")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#w-2.right")))
	net.deaf.Store(true)
	weighed(2)
	shown(3)
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#taps.lost")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#taps"))); !strings.HasPrefix(got, "1 tap waits") || !strings.Contains(got, "NOT LIVE since") {
		t.Errorf("of a lost answer it says %q", got)
	}
	// Then nobody hears: water and the next line go on.
	weighed(3)
	shown(4)
	do(t, tab, chromedp.Evaluate[chromedp.Void](`document.querySelector('#w-4 .picks [name=lot]').click()`))
	weighed(4)
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#taps.lost")))
	for i := 0; i < 100 && !strings.HasPrefix(value(t, tab, chromedp.Text(chromedp.CSS("#taps"))), "3 taps wait"); i++ {
		time.Sleep(20 * time.Millisecond)
	}
	do(t, tab, chromedp.Navigate("about:blank")) // the page is gone, its taps are not
	net.deaf.Store(false)
	net.dead.Store(false)
	do(t, tab, chromedp.Navigate(srv.URL+"/weigh-in/"+id))
	want = append(want, "syrup-42 done true "+syrup, "water done false ")
	var got []string
	for i := 0; i < 1500; i++ {
		if got = weighedOf(t, a, id); len(got) >= 4 {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if len(got) != 4 || !slices.Equal(got[:3], want) {
		t.Errorf("in the end weighed %v, want %v and one more", got, want)
	}
	r, err := a.Record(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	waited := 0 // the clock of the program stands still here: what waited is as much before it
	for _, e := range r.Entries {
		if e.Weighed != nil && e.At.Before(fixtureNow().Add(-300*time.Millisecond)) {
			waited++
		}
		if e.Noted != nil {
			t.Errorf("noted: %+v", e.Noted)
		}
	}
	if waited != 2 {
		t.Errorf("%d weighings have the time at which they were tapped before they came, want 2", waited)
	}
	if l, _ := a.Lot(ctx, syrup); l.UsedMg < w.Lines[1].LowMg || l.UsedMg > w.Lines[1].HighMg {
		t.Errorf("%d mg of syrup are off the lot", l.UsedMg)
	}
}

// Without script the lines stand one under the other, each with its form.
func weighInNoScript(t *testing.T, tab context.Context) {
	t.Helper()
	site, a := keptSite(t)
	srv := serve(t, site)
	ctx := context.Background()
	lot, err := a.Receive(ctx, app.ReceiveRequest{Ingredient: "sugar", Supplier: "Mill Lane Stores", SupplierLot: "S-200", Mass: 25}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	if p := ask(t, site, "POST", "/records", url.Values{"recipe": {"pear-barrels"}, "then": {"weigh-in"}}); p.StatusCode != 303 || p.Header.Get("Location") != "/weigh-in/"+shoptest.Date+"-1" {
		t.Fatalf("begun: %d, to %s", p.StatusCode, p.Header.Get("Location"))
	}
	id := shoptest.Date + "-1"
	do(t, tab, scripts(false), size(390, 844), chromedp.Navigate(srv.URL+"/weigh-in/"+id))
	press(t, tab, "#w-1 .weigh-go")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#w-1 .field-error")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#w-1 .field-error"))); !strings.Contains(got, "out of which lot") {
		t.Errorf("without a lot it says %q", got)
	}
	do(t, tab, chromedp.SendKeys(chromedp.CSS("#w-1-code"), "S-200"))
	press(t, tab, "#w-1 .weigh-go")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	if got := weighedOf(t, a, id); len(got) != 1 || !strings.HasSuffix(got[0], "true "+lot) {
		t.Errorf("weighed %v", got)
	}
	press(t, tab, "#w-1 .weighed form button")
	do(t, tab, chromedp.WaitNotPresent(chromedp.CSS("#w-1 .weighed")))
	if got := weighedOf(t, a, id); len(got) != 0 {
		t.Errorf("taken back, and weighed is %v", got)
	}
}

// What is written on the page of a record while nobody hears waits too, comes when
// somebody does, and what is wrong with it is said at its field.
func recordTaps(t *testing.T, tab context.Context) {
	t.Helper()
	site, a := keptSite(t)
	net := &wire{Handler: site}
	srv := serve(t, net)
	id, err := a.Begin(context.Background(), app.BeginRequest{Recipe: "pear-barrels"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	do(t, tab, size(390, 844), chromedp.Navigate(srv.URL+"/records/"+id))
	// What somebody else has tapped on this tablet waits for them, and stops nobody.
	do(t, tab, chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`localStorage.setItem('slabside-taps', JSON.stringify({device: 'tap-here', next: 1, queue: [{id: 'x', at: Date.now(), by: 'Bela', to: '/records/%s', form: 'kind=tasted&words=dull', late: true}]}))`, id)),
		chromedp.Navigate(srv.URL+"/records/"+id), chromedp.WaitVisible(chromedp.CSS("#taps")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS("#taps"))); got != "Taps of Bela wait until Bela signs in." {
		t.Errorf("of another's taps it says %q", got)
	}
	write := func(water string) {
		t.Helper()
		retype(t, tab, "#n-water", water)
		retype(t, tab, "#n-sure", "0.3 %")
		do(t, tab, chromedp.KeyEvent(kb.Enter))
	}
	write("60 %")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#n-water[aria-invalid]")))
	net.dead.Store(true)
	write("2.4 %")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#taps.lost")))
	if r, err := a.Record(context.Background(), id); err != nil || len(r.Entries) != 1 {
		t.Errorf("before anybody hears %d entries, %v", len(r.Entries), err)
	}
	net.dead.Store(false)
	for range 400 {
		r, err := a.Record(context.Background(), id)
		if err != nil {
			t.Fatal(err)
		}
		if m := r.Record().Moisture(); m != nil {
			if m.WaterFrac != 0.024 || len(r.Entries) != 2 {
				t.Errorf("written: %+v", m)
			}
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Error("it never came")
}
