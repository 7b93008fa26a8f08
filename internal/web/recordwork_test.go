package web

import (
	"context"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/caution"
	q "slabside/internal/quantity"
	"slabside/internal/record"
	"slabside/internal/shoptest"
)

// formWith are the fields of a form as a browser sends them: the page's own, with
// answers in their place. A form is found by its kind and the act that it corrects.
func formWith(t *testing.T, p page, kind, act string, answers url.Values) url.Values {
	t.Helper()
	for _, f := range all(p.root, "form") {
		v := url.Values{}
		for _, n := range all(f, "input") {
			name, _ := attrOf(n, "name")
			value, _ := attrOf(n, "value")
			typ, _ := attrOf(n, "type")
			if _, on := attrOf(n, "checked"); on || typ != "radio" && typ != "checkbox" {
				v.Add(name, value)
			}
		}
		if v.Get("kind") != kind || v.Get("corrects") != act {
			continue
		}
		for name, list := range answers {
			found := false
			for _, tag := range []string{"input", "select"} {
				for _, n := range all(f, tag) {
					got, _ := attrOf(n, "name")
					found = found || got == name
				}
			}
			if !found {
				t.Errorf("the form of %s has no field %s", kind, name)
			}
			v[name] = list
		}
		return v
	}
	t.Fatalf("no form of %s that corrects %q", kind, act)
	return nil
}

// All of the work is written by the page's own forms without script, in the shop's units,
// corrected, read and signed; what comes after stands as after.
func TestRecordWork(t *testing.T) {
	t.Parallel()
	site, a := keptSite(t)
	ask(t, site, "POST", "/records", url.Values{"recipe": {"hazel-leaves"}, "on": {shoptest.Date}})
	ask(t, site, "POST", "/records", url.Values{"recipe": {"pear-barrels"}, "on": {shoptest.Date}})
	const at, id = "/records/" + shoptest.Date + "-2", shoptest.Date + "-2"
	now := func() record.Record {
		t.Helper()
		r, err := a.Record(context.Background(), id)
		if err != nil {
			t.Fatal(err)
		}
		return r.Record()
	}
	write := func(kind, act string, answers url.Values) {
		t.Helper()
		p := ask(t, site, "POST", at, formWith(t, ask(t, site, "GET", at, nil), kind, act, answers))
		if p.StatusCode != 303 {
			t.Fatalf("%s: %d %s", kind, p.StatusCode, words(all(p.root, "main")[0])[:600])
		}
	}
	last := func() string { return strconv.FormatInt(now().Through(), 10) }

	first := ask(t, site, "GET", at, nil)
	first.says(t, "[aria-labelledby=h-checked] .danger", "Not before the flame: not all is looked at.")
	if n := first.count("[name=c-allergen-clean]"); n != 3 {
		t.Errorf("after a nut the allergen clean is asked by %d buttons", n)
	}
	checks := url.Values{"by": {"Bela"}}
	for _, x := range []string{"machine", "guards", "stop", "rolls", "glass", "hood", "co-alarm", "allergen-clean"} {
		checks["c-"+x] = []string{"yes"}
	}
	checks.Set("c-stop", "no")
	write("checked", "", checks)
	page := ask(t, site, "GET", at, nil)
	page.says(t, "[aria-labelledby=h-checked] .danger", caution.Text(caution.NotBeforeFlame))
	if !strings.Contains(page.body, caution.Text(caution.StopDead)) {
		t.Error("the stop does not work, and no caution says so")
	}
	write("checked", last(), url.Values{"c-stop": {"yes"}, "why": {"plugged in"}})
	if page = ask(t, site, "GET", at, nil); strings.Contains(page.body, caution.Text(caution.NotBeforeFlame)) || !strings.Contains(page.body, "All looked at") {
		t.Error("put right, and it does not show")
	}

	write("cooked_back", "", url.Values{"mass": {"12 oz"}})
	write("lifted", "", url.Values{"read": {"305"}, "lit_at": {"09:42"}, "lifted_at": {"10:07"}})
	write("made", "", url.Values{"sound": {"14.2"}, "ends": {"1"}, "web": {"8 oz"}, "kept": {"1.5"}, "pieces": {"1700"}, "scale": {"counter"}, "poured": {"10:09"}, "turns": {"24"}, "sheets": {"14"}})
	write("found", "", url.Values{"of": {"metal"}, "what": {"a chip"}, "where": {"sieve"}, "done": {"held"}})
	write("after", "", url.Values{"rolls": {"yes"}, "glass": {"does not apply"}})
	write("cleaned", "", url.Values{"surface": {"slab"}, "how": {"allergen clean"}, "by": {"Ada"}, "verified": {"Bela"}})
	write("cleaned", "", url.Values{"surface": {"rolls"}, "how": {"wash"}, "by": {"Ada"}})
	write("tasted", "", url.Values{"words": {"dull", "pale"}, "note": {"of soap"}})
	r := now()
	lb := func(n float64) int64 { return q.Kilograms(n * q.KilogramsPerPound).Milligrams() }
	want := record.Made{PouredAt: "10:09", Turns: 24, Sheets: 14, Pieces: 1700, SoundMg: lb(14.2), EndsMg: lb(1), WebMg: lb(0.5), CookBackMg: lb(1.5), Scale: "counter"}
	if d := cmp.Diff(&want, r.Made()); d != "" {
		t.Errorf("made (-want +got):\n%s", d)
	}
	if l := r.Lifted(); l.LitAt != "09:42" || l.LiftedAt != "10:07" {
		t.Errorf("lifted %+v", l)
	}
	if c := r.All(record.CookingBack); len(c) != 1 || c[0].CookedBack.MassMg != lb(0.75) {
		t.Errorf("cooked back %+v", c)
	}
	if c := r.All(record.Cleaning); len(c) != 2 || c[0].Cleaned.Verified != "Bela" || c[1].Cleaned.Verified != "" {
		t.Errorf("cleaned %+v", c)
	}
	if x := r.Checked().Of(record.AllergenClean); x.Says != record.Yes || x.By != "Bela" {
		t.Errorf("checked %+v", x)
	}
	// One of several is corrected by itself, the other stays; what stands is in its form.
	write("cleaned", strconv.FormatInt(r.All(record.Cleaning)[1].Act, 10), url.Values{"how": {"wipe"}})
	if c := now().All(record.Cleaning); len(c) != 2 || c[0].Cleaned.Kind != record.AllergenCleaned || c[1].Cleaned.Kind != record.Wiped || c[1].Cleaned.By != "Ada" {
		t.Errorf("corrected %+v", c)
	}
	page = ask(t, site, "GET", at, nil)
	for _, say := range []string{"1700 pieces", "unaccounted", "Where the sugar went", "not covered"} {
		if !strings.Contains(page.body, say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	page.says(t, "[aria-labelledby=h-signed] .danger", "something was found")

	// Signed as it was read, and not if it was written to meanwhile.
	stale := formWith(t, page, "signed", "", url.Values{"note": {"held"}})
	write("tasted", "", url.Values{"words": {"dull"}})
	if p := ask(t, site, "POST", at, stale); p.StatusCode != 409 || p.count("#wrong") != 1 {
		t.Errorf("signed unread: %d", p.StatusCode)
	}
	write("signed", "", url.Values{"note": {"held"}})
	write("tasted", "", url.Values{"note": {"better the day after"}})
	page = ask(t, site, "GET", at, nil)
	page.says(t, "[aria-labelledby=h-signed] .lead", "Signed off by")
	page.says(t, "[aria-labelledby=h-signed]", "1 written since")
	if n := strings.Count(page.body, ">after the sign-off<"); n != 2 { // at the sign-off and in the log
		t.Errorf("what came after the sign-off is marked %d times", n)
	}
	ask(t, site, "GET", "/records", nil).says(t, "tbody", "look")
}

// What cannot be meant stays in its form, opened, with the fault at its field; the other
// forms stay as they are.
func TestRecordWorkRefused(t *testing.T) {
	t.Parallel()
	site, _ := keptSite(t)
	ask(t, site, "POST", "/records", url.Values{"recipe": {"pear-barrels"}, "on": {shoptest.Date}})
	const at = "/records/" + shoptest.Date + "-1"
	for name, c := range map[string]struct {
		form   url.Values
		id     string // of the field; empty: said above all
		status int
	}{
		"no mass":           {url.Values{"kind": {"cooked_back"}, "mass": {"some"}}, "n-cooked_back-mass", 422},
		"of no record":      {url.Values{"kind": {"cooked_back"}, "mass": {"1"}, "from": {"2026-01-01-1"}}, "n-cooked_back-from", 404},
		"no answers":        {url.Values{"kind": {"checked"}}, "", 422},
		"verified by none":  {url.Values{"kind": {"checked"}, "c-allergen-clean": {"yes"}}, "n-checked-by", 422},
		"no count":          {url.Values{"kind": {"made"}, "pieces": {"many"}}, "n-made-pieces", 422},
		"too many turns":    {url.Values{"kind": {"made"}, "turns": {"501"}}, "n-made-turns", 422},
		"no time":           {url.Values{"kind": {"made"}, "poured": {"soon"}}, "n-made-poured", 422},
		"lit when":          {url.Values{"kind": {"lifted"}, "lit_at": {"soon"}}, "n-lit_at", 422},
		"found nowhere":     {url.Values{"kind": {"found"}, "of": {"glass"}, "what": {"a splinter"}, "done": {"held"}}, "n-found-where", 422},
		"verified by self":  {url.Values{"kind": {"cleaned"}, "surface": {"slab"}, "how": {"wash"}, "by": {"Ada"}, "verified": {"Ada"}}, "n-cleaned-verified", 422},
		"nothing tasted":    {url.Values{"kind": {"tasted"}}, "n-tasted-note", 422},
		"good and dull":     {url.Values{"kind": {"tasted"}, "words": {"good", "dull"}}, "n-tasted-note", 422},
		"signed unread":     {url.Values{"kind": {"signed"}, "through": {"1"}}, "", 409},
		"signed by a slip":  {url.Values{"kind": {"signed"}}, "", 422},
		"a kind of nothing": {url.Values{"kind": {"poured"}}, "", 422},
	} {
		p := ask(t, site, "POST", at, c.form)
		if p.StatusCode != c.status {
			t.Errorf("%s: %d, want %d", name, p.StatusCode, c.status)
			continue
		}
		var wrong []string
		for _, n := range all(p.root, "[aria-invalid=true]") {
			at, _ := attrOf(n, "id")
			wrong = append(wrong, at)
		}
		if got := strings.Join(wrong, " "); got != c.id || (p.count("#wrong") == 1) != (c.id == "") {
			t.Errorf("%s: wrong at %q, want %q", name, got, c.id)
		}
	}
}

// A helper writes down all of the work and signs nothing off, nor takes a sign-off back.
func TestHelperDoesNotSign(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	const at = "/records/" + fixtureBatch
	for name, c := range map[string]struct {
		form   url.Values
		helper int
	}{
		"a taste":              {url.Values{"kind": {"tasted"}, "words": {"good"}}, 303},
		"a clean":              {url.Values{"kind": {"cleaned"}, "surface": {"slab"}, "how": {"wash"}, "by": {"Wilma"}}, 303},
		"taking a taste back":  {url.Values{"act": {"back"}, "corrects": {"16"}}, 303},
		"a sign-off":           {url.Values{"kind": {"signed"}, "through": {"16"}}, 403},
		"signing anew":         {url.Values{"kind": {"signed"}, "through": {"16"}, "corrects": {"15"}}, 403},
		"taking it back":       {url.Values{"act": {"back"}, "corrects": {"15"}}, 403},
		"taking it back twice": {url.Values{"kind": {"signed"}, "act": {"back"}, "corrects": {"15"}}, 403},
	} {
		if p := x.ask("POST", at, x.tablet, x.shift["Wilma"], c.form); p.StatusCode != c.helper {
			t.Errorf("%s by a helper: %d, want %d", name, p.StatusCode, c.helper)
		}
		if p := x.ask("POST", at, x.tablet, x.shift["Bram"], c.form); p.StatusCode != 303 {
			t.Errorf("%s by a maker: %d", name, p.StatusCode)
		}
	}
	for name, want := range map[string]int{"Wilma": 0, "Bram": 1} {
		p := x.ask("GET", at, x.tablet, x.shift[name], nil)
		if n := p.count("[value=signed]"); n != want {
			t.Errorf("%s is offered %d sign-offs, want %d", name, n, want)
		}
	}
}
