package web

import (
	"context"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"slabside/internal/access"
	"slabside/internal/lot"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// A delivery is taken in, used, counted, put on hold by one button and released, typed
// with bare numbers in the shop's units and without script.
func TestStoresPages(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	site, a := keptSite(t)
	ask(t, site, "GET", "/stores", nil).says(t, "main", "Nothing was taken in yet")
	form := url.Values{"ingredient": {"sugar"}, "mass": {"55"}, "supplier": {"Mill Lane Stores"}, "supplier_lot": {"S-200"}, "best_before": {"2028-01-01"}, "on": {shoptest.Date},
		"statement_on": {"2026-01-05"}}
	p := ask(t, site, "POST", "/stores", form)
	at := p.Header.Get("Location")
	if p.StatusCode != 303 || at != "/stores/r"+shoptest.Date+"-1?saved" {
		t.Fatalf("taken in: %d to %q", p.StatusCode, at)
	}
	at, _, _ = strings.Cut(at, "?")
	id := strings.TrimPrefix(at, "/stores/")
	do := func(want int, values ...string) page {
		t.Helper()
		f := url.Values{}
		for i := 0; i < len(values); i += 2 {
			f.Set(values[i], values[i+1])
		}
		p := ask(t, site, "POST", at, f)
		if p.StatusCode != want {
			t.Fatalf("%v: %d, want %d", values, p.StatusCode, want)
		}
		return p
	}
	balance := func() lot.Balance {
		t.Helper()
		l, err := a.Lot(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		return l.Balance
	}
	lb := func(v float64) int64 { return q.Kilograms(v * q.KilogramsPerPound).Milligrams() }
	do(303, "kind", "used", "mass", "10", "batch", "2026-03-17-1")
	do(303, "kind", "wasted", "mass", "1 lb", "why", "spilt")
	do(303, "kind", "counted", "mass", "42", "sure", "0.5")
	b := balance()
	if b.UsedMg != lb(10) || b.WastedMg != lb(1) || b.OnHandMg != lb(42) || b.UnaccountedMg != lb(55)-lb(10)-lb(1)-lb(42) {
		t.Errorf("%+v", b)
	}
	l, _ := a.Lot(ctx, id)
	used := l.Entries[1].Act
	do(303, "kind", "used", "mass", "12", "corrects", itoa(used), "reason", "misread")
	if b := balance(); b.UsedMg != lb(12) || b.OnHandMg != lb(42) || b.UnaccountedMg != lb(55)-lb(12)-lb(1)-lb(42) {
		t.Errorf("corrected: %+v", b)
	}

	// One button, no text: on hold; then nothing is taken of it.
	do(303, "kind", "hold")
	held := ask(t, site, "GET", at, nil)
	held.says(t, "#hold-h", "ON HOLD")
	if strings.Contains(held.body, "HOLD THIS LOT") || strings.Contains(held.body, `id="use-h"`) {
		t.Error("a lot on hold offers to be held or used")
	}
	do(409, "kind", "used", "mass", "1").says(t, "#wrong", "is on hold")
	do(409, "kind", "wasted", "mass", "1", "why", "spilt")
	do(303, "kind", "hold", "why", "glass in the next sack")
	ask(t, site, "GET", "/stores", nil).says(t, "main", "ON HOLD")
	do(422, "kind", "usable").says(t, "#wrong", "not said why")
	do(303, "kind", "usable", "why", "looked through")
	do(303, "kind", "used", "mass", "1")
	ask(t, site, "GET", at, nil).says(t, "main", "looked through")

	// What is refused stands in the form again.
	p = ask(t, site, "POST", "/stores", url.Values{"ingredient": {"sugar"}, "mass": {"many"}, "supplier": {"Someone"}})
	if p.StatusCode != 422 || valueOf(p, "mass") != "many" || valueOf(p, "supplier") != "Someone" || !invalid(p, "mass") {
		t.Errorf("%d, %q", p.StatusCode, valueOf(p, "mass"))
	}
	do(422, "kind", "counted", "mass", "").says(t, "#wrong", "not said what was found")
	do(422, "kind", "sold")
	do(422, "kind", "used", "mass", "1", "batch", "nine").says(t, "#wrong", "no number of a batch")
	do(422, "kind", "counted", "mass", "1", "corrects", "first")
	if p := ask(t, site, "GET", "/stores/r2026-03-17-9", nil); p.StatusCode != 404 {
		t.Errorf("a lot that never came: %d", p.StatusCode)
	}
}

// The count sheet takes many counts at once, and 0 is a count where empty is none.
func TestCountSheet(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	site, a := keptSite(t)
	for range 3 {
		p := ask(t, site, "POST", "/stores", url.Values{"ingredient": {"salt"}, "mass": {"2 kg"}, "supplier": {"Mill Lane Stores"}})
		if p.StatusCode != 303 {
			t.Fatalf("%d %s", p.StatusCode, p.body)
		}
	}
	id := func(n string) string { return "r" + shoptest.Date + "-" + n }
	p := ask(t, site, "POST", "/stores/count", url.Values{"found-" + id("1"): {"0"}, "found-" + id("2"): {"1.5 kg"}, "found-" + id("3"): {""}, "sure": {"5 g"}})
	if p.StatusCode != 303 || p.Header.Get("Location") != "/stores/count?saved=2" {
		t.Fatalf("%d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	for n, want := range map[string]int64{"1": 0, "2": 1_500_000, "3": 2_000_000} {
		l, err := a.Lot(ctx, id(n))
		if err != nil || l.OnHandMg != want || (l.CountedOn == "") != (n == "3") {
			t.Errorf("lot %s: %d mg, %v", n, l.OnHandMg, err)
		}
	}
	for name, form := range map[string]url.Values{"nothing": {}, "no mass": {"found-" + id("2"): {"some"}}, "below zero": {"found-" + id("2"): {"-1 kg"}}, "no lot": {"found-x": {"1 kg"}}} {
		if p := ask(t, site, "POST", "/stores/count", form); p.StatusCode != 422 {
			t.Errorf("%s: %d", name, p.StatusCode)
		}
	}
	if l, _ := a.Lot(ctx, id("2")); len(l.Entries) != 2 {
		t.Errorf("%d entries after refusals", len(l.Entries))
	}
}

// A helper writes down and holds; releasing and condemning are for those who may change
// the book.
func TestReleaseNeedsTheRightToChange(t *testing.T) {
	t.Parallel()
	for role, may := range map[access.Role]bool{access.Helper: false, access.Maker: true} {
		s := &server{shop: newFakeShop()}
		for _, kind := range []string{"usable", "condemned", "hold", "quarantine", "used"} {
			r := httptest.NewRequest("POST", "/stores/"+fixtureLot, strings.NewReader(url.Values{"kind": {kind}, "why": {"looked"}, "mass": {"1 kg"}}.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.SetPathValue("lot", fixtureLot)
			v := visitor{person: &access.Person{Name: "Ada", Role: role}}
			r = r.WithContext(context.WithValue(r.Context(), visitorKey{}, v))
			w := httptest.NewRecorder()
			err := s.postLot(w, r)
			refused := !may && slices.Contains([]string{"usable", "condemned"}, kind)
			if refused != (err != nil) || !refused && w.Code != 303 {
				t.Errorf("%s does %s: %d, %v", role, kind, w.Code, err)
			}
		}
	}
}

// What a program sends has the field that is wrong named as it was sent.
func TestAPI_StoresFaults(t *testing.T) {
	t.Parallel()
	site := apiSite(t)
	lot := apiRoot + "/stores/r" + shoptest.Date + "-1"
	if p := send(t, site, put(lot+"/received", `{"ingredient":"sugar","supplier":"a","mass_mg":5000000}`)); p.StatusCode != 201 {
		t.Fatalf("%d %s", p.StatusCode, p.body)
	}
	for _, c := range []struct {
		path, body string
		status     int
		field      string
	}{
		{"/received", `{"ingredient":"sugar","supplier":"a","mass_mg":5000000}`, 409, "lot"},
		{"/received", `{"corrects_act":2,"ingredient":"none"}`, 404, "ingredient"},
		{"/used", `{"mass_mg":0}`, 422, "mass_mg"},
		{"/counted", `{"found_mg":-1}`, 422, "found_mg"},
		{"/placed", `{"as":"usable","why":"x"}`, 409, "as"},
		{"/placed", `{"as":"attic"}`, 422, "as"},
		{"/taken-back", `{"corrects_act":9}`, 404, "corrects_act"},
		{"/wasted", `{"mass_mg":5}`, 422, "why"},
	} {
		p := send(t, site, put(lot+c.path, c.body))
		if p.StatusCode != c.status || !strings.Contains(p.body, `"field": "`+c.field+`"`) {
			t.Errorf("%s %s: %d %s", c.path, c.body, p.StatusCode, p.body)
		}
	}
}
