package web

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"slabside/internal/app"
	ledger "slabside/internal/lot"
	"slabside/internal/shoptest"
	"slabside/internal/supply"
)

// suppliedSite is the sample shop with bags, liners, gas and gloves in its shop book.
func suppliedSite(t *testing.T) (http.Handler, *app.App) {
	t.Helper()
	site, a := keptSite(t)
	b := shoptest.Book()
	b.Supplies = append(b.Supplies, []supply.Supply{
		{ID: "liners", Name: "Jar liners", Kind: supply.Packaging, Touches: true},
		{ID: "propane", Name: "Propane", Kind: supply.Gas, Unit: supply.ByMass, HeatMJKg: 46.3},
		{ID: "gloves", Name: "Gloves", Kind: supply.Consumable},
	}...)
	if _, err := a.Import(context.Background(), b, "test", "with supplies"); err != nil {
		t.Fatal(err)
	}
	return site, a
}

// Without script: a delivery of each kind, the count sheet in the order of the walk, the
// page of a lot, bags packed out of it, and the hold that freezes them.
func TestSupplyPages(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	site, a := suppliedSite(t)
	take := func(form url.Values) string {
		t.Helper()
		form.Set("act", "supply")
		p := ask(t, site, "POST", "/stores", form)
		if p.StatusCode != http.StatusSeeOther {
			t.Fatalf("%v: %d\n%s", form, p.StatusCode, p.body)
		}
		return strings.TrimSuffix(strings.TrimPrefix(p.Header.Get("Location"), "/stores/"), "?saved")
	}
	ask(t, site, "GET", "/stores", nil).says(t, "main", "Nothing on hand: Clear bags, Jar liners")
	bags := take(url.Values{"supply": {"clear-bags"}, "amount": {"100"}, "supplier_lot": {"B-7"}})
	liners := take(url.Values{"supply": {"liners"}, "amount": {"60"}, "supplier": {"Paper mill"}})
	gas := take(url.Values{"supply": {"propane"}, "amount": {"38 kg"}, "supplier": {"Gas works"}})
	gloves := take(url.Values{"supply": {"gloves"}, "amount": {"50"}, "supplier": {"Bag works"}})
	if l, err := a.SupplyLot(ctx, gas); err != nil || l.OnHand != 38e6 {
		t.Errorf("gas: %+v, %v", l.Balance, err)
	}
	p := ask(t, site, "GET", "/stores", nil)
	p.says(t, "#g-packaging", "Packaging")
	p.says(t, "#g-gas", "Gas")
	p.says(t, "#g-consumable", "Consumables")
	p.says(t, "main", "100 pieces on hand; order at 50 pieces")
	p.says(t, "main", "waits in quarantine")
	ask(t, site, "GET", "/stores/"+liners, nil).says(t, ".trouble", "no declaration is on file that it may touch food")
	for name, form := range map[string]url.Values{
		"is no number of pieces":       {"act": {"supply"}, "supply": {"gloves"}, "amount": {"2.5"}, "supplier": {"x"}},
		"who delivered it":             {"act": {"supply"}, "supply": {"gloves"}, "amount": {"2"}},
		"Such a delivery cannot be":    {"act": {"supply"}, "supply": {"gloves"}, "supplier": {"x"}},
		"It was past its date when it": {"act": {"supply"}, "supply": {"gloves"}, "amount": {"2"}, "supplier": {"x"}, "best_before": {"2020-01-01"}},
	} {
		p := ask(t, site, "POST", "/stores", form)
		if p.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", name, p.StatusCode)
		}
		p.says(t, ".field-error", name)
	}

	// The count sheet, in the order of the shop book, each in its unit.
	sheet := ask(t, site, "GET", "/stores/count", nil)
	at := []int{strings.Index(sheet.body, "found-"+bags), strings.Index(sheet.body, "found-"+liners), strings.Index(sheet.body, "found-"+gas), strings.Index(sheet.body, "found-"+gloves)}
	for i := 1; i < len(at); i++ {
		if at[i-1] < 0 || at[i] < at[i-1] {
			t.Errorf("the walk is %v", at)
		}
	}
	if p := ask(t, site, "POST", "/stores/count", url.Values{"found-" + gloves: {"30"}, "found-" + gas: {"30.5 kg"}}); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("counted: %d\n%s", p.StatusCode, p.body)
	}
	if p := ask(t, site, "POST", "/stores/count", url.Values{"found-" + gloves: {"many"}}); p.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("many gloves: %d", p.StatusCode)
	}
	ask(t, site, "GET", "/stores/"+gloves, nil).says(t, ".sums", "− 20 pieces")

	// Packed out of the lot that the station shows as open.
	batch := pearBatch(t, a, 6)
	st := ask(t, site, "GET", "/packing?product=pear-bag", nil)
	st.says(t, ".from", "open: Clear bags, B-7 ("+bags)
	if p := ask(t, site, "POST", "/packing", url.Values{"act": {"pack"}, "product": {"pear-bag"}, "batch": {batch}, "bags": {"10"}, "opened": {bags}}); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("packed: %d\n%s", p.StatusCode, p.body)
	}
	lot := "b" + shoptest.Date + "-1"
	ask(t, site, "GET", "/packing/"+lot, nil).says(t, "main", "10 pieces of Clear bags, lot "+bags)
	page := ask(t, site, "GET", "/stores/"+bags, nil)
	page.says(t, ".sums", "− 10 pieces")
	page.says(t, "main", lot)
	for _, form := range []url.Values{{"kind": {"used"}, "amount": {"5"}, "for": {"samples"}}, {"kind": {"wasted"}, "amount": {"3"}, "why": {"torn"}}, {"kind": {"counted"}, "amount": {"80"}, "sure": {"2"}}, {"kind": {"hold"}}, {"kind": {"hold"}, "why": {"seams open"}}} {
		if p := ask(t, site, "POST", "/stores/"+bags, form); p.StatusCode != http.StatusSeeOther {
			t.Fatalf("%v: %d\n%s", form, p.StatusCode, p.body)
		}
	}
	l, err := a.SupplyLot(ctx, bags)
	if want := (supply.Balance{Received: 100, Packed: 10, Used: 5, Wasted: 3, Unaccounted: 2, OnHand: 80}); err != nil || l.Balance != want || l.Status != ledger.Hold {
		t.Errorf("%+v, %v, want %+v", l.Balance, err, want)
	}
	ask(t, site, "GET", "/stores/"+bags, nil).says(t, "main", "Frozen with it: 1 lot of bags")
	ask(t, site, "GET", "/packing/"+lot, nil).says(t, ".trouble", bags+" is on hold (seams open)")
	ask(t, site, "GET", "/trace/"+bags, nil).says(t, "main", lot)
	ask(t, site, "GET", "/hold", nil).says(t, "main", "Clear bags")
	ask(t, site, "GET", "/packing?product=pear-bag", nil).says(t, ".from .bad", "no Clear bags in the stores may be used")
	if p := ask(t, site, "POST", "/stores/"+bags, url.Values{"kind": {"usable"}, "why": {"another roll"}}); p.StatusCode != http.StatusSeeOther {
		t.Errorf("released: %d", p.StatusCode)
	}
	first := l.Entries[0].Act
	form := url.Values{"kind": {"received"}, "corrects": {"1"}, "amount": {"90"}, "supply": {"clear-bags"}, "supplier": {"Bag works"}}
	if p := ask(t, site, "POST", "/stores/"+bags, form); p.StatusCode == http.StatusSeeOther {
		t.Errorf("another act is put right: %d", p.StatusCode)
	}
	form.Set("corrects", strconv.FormatInt(first, 10))
	if p := ask(t, site, "POST", "/stores/"+bags, form); p.StatusCode != http.StatusSeeOther {
		t.Errorf("put right: %d\n%s", p.StatusCode, p.body)
	}
	if p := ask(t, site, "POST", "/stores/"+bags, url.Values{"kind": {"counted"}}); p.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("counted nothing: %d", p.StatusCode)
	}
	ask(t, site, "GET", "/stores/s2026-03-17-99", nil).says(t, "main", "There is no lot")
}
