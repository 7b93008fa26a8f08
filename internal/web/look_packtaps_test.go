package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

// sameClock is a shop whose pages have the clock of its use cases, and on which it runs:
// what waited has the time at which it was tapped and not that at which it came.
func sameClock(t *testing.T) (http.Handler, *app.App) {
	t.Helper()
	_, a := keptSite(t)
	opt := fixtureOptions()
	start := time.Now()
	opt.Now = func() time.Time { return shoptest.Now().Add(time.Since(start)) }
	return New(a, opt), a
}

// Bags are packed and a trouble is pressed on one tablet. The network dies between a press
// and its answer, then altogether; the page is closed with presses that wait. In the end
// each is written once, in its order, with its own time, and the bags are of one lot.
func packTaps(t *testing.T, tab context.Context) {
	t.Helper()
	site, a := sameClock(t)
	net := &wire{Handler: site}
	srv := serve(t, net)
	ctx := context.Background()
	batch := pearBatch(t, a, 6)
	lot := "b" + shoptest.Date + "-1"
	bags := func() []int64 {
		var out []int64
		l, err := a.BagLot(ctx, lot)
		if err != nil {
			return nil
		}
		for _, e := range l.Entries {
			out = append(out, e.Entry.Packed.Bags)
		}
		return out
	}
	waits := func(says string) {
		t.Helper()
		do(t, tab, chromedp.WaitVisible(chromedp.CSS("#taps.lost")))
		got := ""
		for range 100 {
			if got = value(t, tab, chromedp.Text(chromedp.CSS("#taps"))); strings.HasPrefix(got, says) {
				return
			}
			time.Sleep(20 * time.Millisecond)
		}
		t.Errorf("it says %q, want %q", got, says)
	}
	const one, ten = ".presses button[value='1']", ".presses button[value='10']"
	do(t, tab, size(390, 844), chromedp.Navigate(srv.URL+"/packing?product=pear-bag&new=1"), chromedp.WaitVisible(chromedp.CSS(one)))
	// Heard, and the answer is lost: it comes again and is not packed twice.
	net.deaf.Store(true)
	press(t, tab, one)
	waits("1 tap waits")
	press(t, tab, ten)
	waits("2 taps wait")
	said := ""
	for range 1500 { // it is said once the second was tried
		if said = value(t, tab, chromedp.Text(chromedp.CSS(".presses .said"))); said == "2 wait to be sent." {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if said != "2 wait to be sent." {
		t.Errorf("under the buttons it says %q", said)
	}
	if d := overflow(t, tab); d > 0 {
		t.Errorf("while presses wait: %.0f pixels wider than the window", d)
	}
	net.deaf.Store(false)
	net.dead.Store(false)
	for i := 0; i < 400 && len(bags()) < 2; i++ {
		time.Sleep(20 * time.Millisecond)
	}
	if got := fmt.Sprint(bags()); got != "[1 10]" {
		t.Fatalf("packed in one lot: %s", got)
	}
	// Shown anew where it was, by the lot that is filled now.
	do(t, tab, chromedp.Navigate(srv.URL+"/packing?product=pear-bag"), chromedp.WaitVisible(chromedp.CSS(one)))
	press(t, tab, one)
	for i := 0; i < 200 && len(bags()) < 3; i++ {
		time.Sleep(20 * time.Millisecond)
	}
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	if at := value(t, tab, chromedp.Location()); !strings.Contains(at, "product=pear-bag") || !strings.Contains(at, "lot="+lot) {
		t.Errorf("the station goes on at %s", at)
	}
	if got := value(t, tab, chromedp.Evaluate[string](`document.activeElement.value`)); got != "1" {
		t.Errorf("the button that was pressed has lost the focus: %q", got)
	}

	// Nobody hears: one more bag, and then glass in the batch. What to do is shown at once.
	net.dead.Store(true)
	press(t, tab, one)
	waits("1 tap waits")
	net.dead.Store(false) // the page of trouble is still to be had, and what waits is not sent in that moment
	do(t, tab, chromedp.Navigate(srv.URL+troubleHref(batch)), chromedp.WaitVisible(chromedp.CSS(".pic")))
	net.dead.Store(true)
	glass := fmt.Sprintf(".pic[value='%s']", record.Foreign)
	press(t, tab, glass)
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".now-do")))
	if got, want := value(t, tab, chromedp.Text(chromedp.CSS(".now-do"))), app.ThirtySeconds(record.Foreign)[0]; !strings.Contains(got, want) {
		t.Errorf("while nobody hears it says %q, want %q", got, want)
	}
	do(t, tab, chromedp.Navigate("about:blank")) // the page is gone, its taps are not
	net.dead.Store(false)
	do(t, tab, chromedp.Navigate(srv.URL+troubleHref(batch)), chromedp.WaitVisible(chromedp.CSS("#place-h")))
	if got := fmt.Sprint(bags()); got != "[1 10 1 1]" {
		t.Errorf("packed in the end: %s", got)
	}
	r, err := a.Record(ctx, batch)
	if err != nil {
		t.Fatal(err)
	}
	troubles, last := 0, time.Time{}
	for _, e := range r.Entries {
		switch {
		case e.Troubled != nil:
			troubles++
			last = e.At
		case e.Noted != nil:
			t.Errorf("noted: %+v", e.Noted)
		}
	}
	if place := r.Record().Place().As; troubles != 1 || place != record.OnHold {
		t.Errorf("%d troubles, the batch is %s", troubles, place)
	}
	l, err := a.BagLot(ctx, lot)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(l.Entries); i++ {
		if !l.Entries[i].At.After(l.Entries[i-1].At) {
			t.Errorf("press %d is of %v, the one before it of %v", i+1, l.Entries[i].At, l.Entries[i-1].At)
		}
	}
	if bag := l.Entries[len(l.Entries)-1].At; !last.After(bag) {
		t.Errorf("the glass is of %v, the last bag of %v", last, bag)
	}
	if notes, err := a.TapNotes(ctx); len(notes) > 0 || err != nil {
		t.Errorf("notes: %+v, %v", notes, err)
	}
}
