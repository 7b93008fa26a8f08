package web

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"slabside/internal/app"
	ledger "slabside/internal/lot"
	"slabside/internal/shoptest"
)

// A roll of bags is taken in, bags are packed out of it by a press that waited, and it is
// held by one more: each state of the pages has nothing for the checker to find and is no
// wider than the window.
func faultyBags(t *testing.T, tab context.Context) {
	t.Helper()
	site, a := sameClock(t)
	srv := serve(t, site)
	ctx := context.Background()
	pearBatch(t, a, 6)
	check := func(what string) {
		t.Helper()
		for _, s := range [][2]int64{{390, 844}, {768, 1024}, {1280, 800}} {
			do(t, tab, size(s[0], s[1]))
			if d := overflow(t, tab); d > 0 {
				t.Errorf("%s at %d: %.0f pixels wider than the window", what, s[0], d)
			}
		}
		do(t, tab, size(390, 844))
		clean(t, tab, what)
		if dir := os.Getenv("SHOTS"); dir != "" {
			png := value(t, tab, chromedp.FullScreenshot(100))
			if err := os.WriteFile(filepath.Join(dir, strings.ReplaceAll(what, " ", "-")+".png"), png, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	do(t, tab, size(390, 844), chromedp.Navigate(srv.URL+"/stores"))
	check("nothing taken in")
	roll, err := a.ReceiveSupply(ctx, app.SupplyReceipt{Supply: "clear-bags", Amount: 100, SupplierLot: "B-7", BestBefore: "2028-01-01"}, "Ada", "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.ReceiveSupply(ctx, app.SupplyReceipt{Supply: "clear-bags", Amount: 500, SupplierLot: "B-9", BestBefore: "2029-01-01"}, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	do(t, tab, chromedp.Navigate(srv.URL+"/packing?product=pear-bag"), chromedp.WaitVisible(chromedp.CSS("#station")))
	check("the station with bags open")
	press(t, tab, ".presses button[value='10']")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS(".saved")))
	if l, err := a.SupplyLot(ctx, roll); err != nil || l.Packed != 10 || l.Bags[0].Lot != "b"+shoptest.Date+"-1" {
		t.Fatalf("packed of the roll: %+v, %v", l, err)
	}
	do(t, tab, chromedp.Navigate(srv.URL+"/stores"))
	check("the stores with bags")
	do(t, tab, chromedp.Navigate(srv.URL+"/stores/count"))
	check("the count sheet with bags")
	do(t, tab, chromedp.Navigate(srv.URL+lotHref(roll)))
	check("a roll of bags")
	press(t, tab, "button.big-stop")
	do(t, tab, chromedp.WaitVisible(chromedp.CSS("#hold-h")))
	if l, err := a.SupplyLot(ctx, roll); err != nil || l.Status != ledger.Hold || l.Frozen != 1 {
		t.Errorf("after one press it is %+v, %v", l.SupplyLine, err)
	}
	check("a roll of bags on hold")
	do(t, tab, chromedp.Navigate(srv.URL+packedHref("b"+shoptest.Date+"-1")), chromedp.WaitVisible(chromedp.CSS("#frozen-h")))
	check("bags that are frozen")
	do(t, tab, chromedp.Navigate(srv.URL+"/packing?product=pear-bag"), chromedp.WaitVisible(chromedp.CSS("#station")))
	if got := value(t, tab, chromedp.Text(chromedp.CSS(".from"))); !strings.Contains(got, "B-9") {
		t.Errorf("the station goes on with %q", got)
	}
}
