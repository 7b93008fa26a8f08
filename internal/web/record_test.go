package web

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/entry"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
	"slabside/internal/store"
)

// valueOf is what stands in a field of a page, and invalid whether it is marked.
func valueOf(p page, name string) string {
	for _, n := range all(p.root, "[name="+name+"]") {
		v, _ := attrOf(n, "value")
		return v
	}
	return ""
}

func invalid(p page, name string) bool {
	for _, n := range all(p.root, "[name="+name+"]") {
		v, _ := attrOf(n, "aria-invalid")
		return v == "true"
	}
	return false
}

// A batch is begun, what was seen is typed with bare numbers in the shop's units,
// corrected and taken back, all without script; the page shows it and who did it.
func TestRecordPages(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	recipe := shoptest.Book().Recipes[0].ID
	p := ask(t, site, "POST", "/records", url.Values{"recipe": {recipe}, "on": {shoptest.Date}, "charge": {"22"}})
	at := p.Header.Get("Location")
	if p.StatusCode != 303 || at != "/records/"+shoptest.Date+"-1" {
		t.Fatalf("begun: %d to %q", p.StatusCode, at)
	}
	page := ask(t, site, "GET", at, nil)
	page.says(t, "h1", shoptest.Date+"-1")
	page.says(t, ".date", "22 lb into the kettle")
	if !strings.Contains(page.body, "not seen yet") {
		t.Error("before anything is seen the page does not say so")
	}
	lift := url.Values{"kind": {"lifted"}, "read": {"305"}, "gross": {"32.5 lb"}, "empty": {"13.2"}, "scale": {"floor"}, "flame": {"24"}}
	if p := ask(t, site, "POST", at, lift); p.StatusCode != 303 {
		t.Fatalf("the lift: %d %s", p.StatusCode, p.body)
	}
	r, err := a.Record(context.Background(), shoptest.Date+"-1")
	if err != nil {
		t.Fatal(err)
	}
	l := r.Record().Lifted()
	if l == nil || l.ReadC < 151.6 || l.ReadC > 151.7 || l.GrossMg != q.Kilograms(32.5*q.KilogramsPerPound).Milligrams() || l.FlameS != 24*60 || l.Scale != "floor" {
		t.Errorf("kept as %+v", l)
	}
	page = ask(t, site, "GET", at+"?saved", nil)
	if page.count("[name=corrects]") != 1 || !strings.Contains(page.body, "Written down") || strings.Contains(page.body, "not seen yet") {
		t.Error("the page does not show what was written")
	}

	// What cannot be meant stays in its field and says why; nothing is kept.
	wrong := url.Values{"kind": {"worked"}, "pull": {"185"}, "roll": {"hot"}, "last": {""}, "probe": {"4"}}
	page = ask(t, site, "POST", at, wrong)
	if page.StatusCode != 422 || !invalid(page, "roll") || valueOf(page, "pull") != "185" {
		t.Errorf("a word for a temperature: %d", page.StatusCode)
	}
	page = ask(t, site, "POST", at, url.Values{"kind": {"worked"}, "roll": {"170"}, "last": {"180"}, "probe": {"4"}})
	if page.StatusCode != 422 || !invalid(page, "last") {
		t.Errorf("the last sheet hotter than the first: %d", page.StatusCode)
	}
	if p := ask(t, site, "POST", at, url.Values{"kind": {"worked"}, "pull": {"185"}, "roll": {"176"}, "last": {"160"}, "probe": {"4"}}); p.StatusCode != 303 {
		t.Fatalf("the slab: %d", p.StatusCode)
	}

	// A second tablet that writes the same loses nothing and overwrites nothing.
	page = ask(t, site, "POST", at, lift)
	if page.StatusCode != 409 || valueOf(page, "gross") != "32.5 lb" || page.count("#wrong") != 1 {
		t.Errorf("written twice: %d", page.StatusCode)
	}
	act := r.Record().Entries[1].Act
	lift.Set("corrects", q.Plain.Number(float64(act), 0))
	lift.Set("read", "306")
	lift.Set("why", "read off again")
	if p := ask(t, site, "POST", at, lift); p.StatusCode != 303 {
		t.Fatalf("a correction: %d", p.StatusCode)
	}
	page = ask(t, site, "GET", at, nil)
	if page.count("s") != 1 || !strings.Contains(page.body, "read off again") {
		t.Error("the correction does not show")
	}
	if p := ask(t, site, "POST", at, lift); p.StatusCode != 409 {
		t.Errorf("corrected twice: %d", p.StatusCode)
	}
	list := ask(t, site, "GET", "/records?from="+shoptest.Date, nil)
	list.says(t, "tbody", "the lift, slab and rolls")
	if none := ask(t, site, "GET", "/records?to=2026-01-01", nil); none.count("tbody tr") != 0 {
		t.Error("found on another day")
	}

	// What it teaches, and the glass's look back.
	learned := ask(t, site, "GET", "/learned", nil)
	for _, say := range []string{"learned from 1 batch", "Boils hotter than the equation", "Heat that reaches the kettle"} {
		if !strings.Contains(learned.body, say) && !strings.Contains(learned.body, strings.ReplaceAll(say, "'", "&#39;")) {
			t.Errorf("the page of what is learned does not say %q", say)
		}
	}
	if learned.count("svg.curve") < 3 {
		t.Error("nothing is drawn")
	}
	ask(t, site, "GET", "/look-back/glass", nil).says(t, ".lead", "No check has found it off")
	b, head := bookOf(t, a)
	f, err := entry.Print(&b, store.KindGlass, "glass")
	if err != nil {
		t.Fatal(err)
	}
	f.AddRow("check")
	for name, text := range map[string]string{"on": shoptest.Date, "against": "reference", "read": "316 °F", "true": "302 °F"} {
		f.Text["check.0."+name] = text
	}
	if _, _, err := a.Save(context.Background(), f, head, "Ada", ""); err != nil {
		t.Fatal(err)
	}
	back := ask(t, site, "GET", "/look-back/glass", nil)
	if back.count("tbody tr") != 1 || !strings.Contains(back.body, "No good check is known before it") {
		t.Errorf("looking back: %d rows", back.count("tbody tr"))
	}
	back.says(t, "tbody strong", app.AdviceHold)
}

// The batch sheet leads to its record, and begins it once.
func TestRecordFromTheSheet(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	sheet := ask(t, site, "GET", "/batch/"+shoptest.Date+"-2", nil)
	form := url.Values{}
	for _, name := range []string{"batch", "recipe", "charge"} {
		form.Set(name, valueOf(sheet, name))
	}
	for range 2 {
		p := ask(t, site, "POST", "/records", form)
		if want := "/records/" + shoptest.Date + "-2"; p.StatusCode != 303 || p.Header.Get("Location") != want {
			t.Fatalf("%d to %q, want %q", p.StatusCode, p.Header.Get("Location"), want)
		}
	}
}

// A record that cannot be begun says why and keeps what was typed.
func TestBeginRefused(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	p := ask(t, site, "POST", "/records", url.Values{"recipe": {shoptest.Book().Recipes[0].ID}, "charge": {"a lot"}, "on": {"2026-03-20"}})
	if p.StatusCode != 422 || valueOf(p, "charge") != "a lot" || valueOf(p, "on") != "2026-03-20" || p.count("#wrong") != 1 {
		t.Errorf("status %d", p.StatusCode)
	}
	for _, path := range []string{"/records/2026-03-17-9", "/records/nothing", "/look-back/none"} {
		if p := ask(t, site, "GET", path, nil); p.StatusCode != 404 && p.StatusCode != 422 {
			t.Errorf("%s: %d", path, p.StatusCode)
		}
	}
}
