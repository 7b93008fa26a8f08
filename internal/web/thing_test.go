package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"slabside/internal/entry"
)

// sentBack returns what a browser would send of the thing's form on a page.
func sentBack(p page) url.Values {
	out := url.Values{}
	for _, n := range append(all(p.root, "form.thing input"), all(p.root, "form.thing select")...) {
		name, _ := attrOf(n, "name")
		value, _ := attrOf(n, "value")
		kind, _ := attrOf(n, "type")
		_, checked := attrOf(n, "checked")
		switch {
		case name == "":
		case n.Data == "select":
			for _, o := range all(n, "option") {
				if _, chosen := attrOf(o, "selected"); chosen {
					v, _ := attrOf(o, "value")
					out.Add(name, v)
				}
			}
		case kind != "checkbox" || checked:
			out.Add(name, value)
		}
	}
	return out
}

// Every thing of the book has a form, and a form that is sent back as it stands
// changes nothing in what it says.
func TestThing_EveryForm(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	b := f.book
	n := 0
	for _, kind := range entry.Kinds() {
		ids := []string{""}
		if !entry.Single(kind) {
			ids = nil
			for _, x := range entry.List(&b, kind) {
				ids = append(ids, x.ID)
			}
		}
		for _, id := range ids {
			p := ask(t, site, "GET", thingHref(kind, id), nil)
			if p.StatusCode != http.StatusOK {
				t.Fatalf("%s %s: %d", kind, id, p.StatusCode)
			}
			want, _ := entry.Print(&b, kind, id)
			got, _, err := readThing(kind, id, sentBack(p))
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range entry.Differences(want, got) {
				t.Errorf("%s %s: %s is %q, sent back as %q", kind, id, d.Name, d.From, d.To)
			}
			n++
		}
	}
	if n < 20 {
		t.Errorf("only %d things", n)
	}
}

// A change is saved, shown in the versions, and undone.
func TestThing_Save(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	at := thingHref("kettle", f.book.Kettles[0].ID)
	form := sentBack(ask(t, site, "GET", at, nil))
	form.Set("f.smear", "0,25 kg")
	form.Set("why", "weighed it")
	form.Set("act", "save")
	p := ask(t, site, "POST", at, form)
	if p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != at+"?saved=8" {
		t.Fatalf("%d to %q: %s", p.StatusCode, p.Header.Get("Location"), p.body)
	}
	if f.book.Kettles[0].Smear != 0.25 {
		t.Errorf("the smear is %v", f.book.Kettles[0].Smear)
	}
	p = ask(t, site, "GET", at+"?saved=8", nil)
	p.says(t, ".saved a[href=/?saved=8]", "See what it does to the day")
	ask(t, site, "GET", "/?saved=8", nil).says(t, "#changed-h", "What it does to the day")
	p = ask(t, site, "GET", "/versions/kettle/"+f.book.Kettles[0].ID, nil)
	p.says(t, ".card tbody tr", "smear")
	p.says(t, ".card tbody tr", "250 g")
	p.says(t, ".card p", "weighed it")
	p = ask(t, site, "GET", "/book", nil)
	p.says(t, "#last-h", "The last change")
	p = ask(t, site, "POST", "/book", url.Values{"act": {"undo"}, "head": {"8"}})
	if p.StatusCode != http.StatusSeeOther || f.book.Kettles[0].Smear == 0.25 {
		t.Errorf("undo: %d, the smear is %v", p.StatusCode, f.book.Kettles[0].Smear)
	}
}

// A form that lost a list on its way empties nothing.
func TestThing_NotWhole(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	at := thingHref("recipe", f.book.Recipes[0].ID)
	form := sentBack(ask(t, site, "GET", at, nil))
	form.Set("act", "save")
	form.Del("rows.portion")
	p := ask(t, site, "POST", at, form)
	if p.StatusCode != http.StatusUnprocessableEntity || f.head != 7 {
		t.Fatalf("status %d, head %d", p.StatusCode, f.head)
	}
	if !strings.Contains(p.body, "not whole") {
		t.Errorf("the page does not say so: %s", p.body)
	}
	if p = ask(t, site, "POST", "/book/stock", url.Values{"act": {"save"}, "head": {"7"}}); p.StatusCode != http.StatusUnprocessableEntity || f.head != 7 {
		t.Errorf("the stock: status %d, head %d", p.StatusCode, f.head)
	}
}

// What is wrong stands by its field, and all that was typed is still there.
func TestThing_Wrong(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	head := f.head
	at := thingHref("recipe", f.book.Recipes[0].ID)
	form := sentBack(ask(t, site, "GET", at, nil))
	form.Set("f.boil.0.mass", "six kilos")
	form.Set("f.portion.0.share", "40 %")
	form.Set("f.note", "keep me")
	form.Set("act", "save")
	p := ask(t, site, "POST", at, form)
	if p.StatusCode != http.StatusUnprocessableEntity || f.head != head {
		t.Fatalf("status %d, head %d", p.StatusCode, f.head)
	}
	again := sentBack(p)
	for _, name := range []string{"f.boil.0.mass", "f.portion.0.share", "f.note"} {
		if again.Get(name) != form.Get(name) {
			t.Errorf("%s holds %q", name, again.Get(name))
		}
	}
	marked := p.count("input[aria-invalid=true]")
	if marked < 1 || marked > 2 {
		t.Errorf("%d fields are marked", marked)
	}
	p.says(t, ".field-error", "such as 6.35 kg")
	p.says(t, "#wrong", "another look")
}

func boilRows(p page) int {
	n := 0
	for name := range sentBack(p) {
		if strings.HasPrefix(name, "f.boil.") && strings.HasSuffix(name, ".mass") {
			n++
		}
	}
	return n
}

// Rows are added and taken out without script, and nothing is kept by that.
func TestThing_Rows(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	head := f.head
	r := f.book.Recipes[0]
	at := thingHref("recipe", r.ID)
	form := sentBack(ask(t, site, "GET", at, nil))
	form.Set("act", "add.boil")
	p := ask(t, site, "POST", at, form)
	if got := boilRows(p); got != len(r.Boil)+1 {
		t.Errorf("%d rows after adding one to %d", got, len(r.Boil))
	}
	form = sentBack(p)
	form.Set("act", "out.boil.0")
	p = ask(t, site, "POST", at, form)
	if got := boilRows(p); got != len(r.Boil) {
		t.Errorf("%d rows after taking one out", got)
	}
	if got := sentBack(p).Get("f.boil.0.ingredient"); got != r.Boil[1].Ingredient {
		t.Errorf("the first row is %q", got)
	}
	if f.head != head {
		t.Error("a row changed the book")
	}
}

// A copy gets a name and an id of its own; a thing in use cannot be taken out.
func TestThing_NewAndRetire(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	in := f.book.Ingredients[0]
	form := sentBack(ask(t, site, "GET", "/new/ingredient?like="+in.ID, nil))
	form.Set("f.name", "Another sugar")
	form.Set("act", "save")
	p := ask(t, site, "POST", "/new/ingredient", form)
	if p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/book/ingredient/another-sugar?saved=8" {
		t.Fatalf("%d to %q: %s", p.StatusCode, p.Header.Get("Location"), p.body)
	}
	if p = ask(t, site, "GET", "/book/ingredient/"+in.ID, nil); p.count("#uses-h") != 1 || p.count("button[value=retire]") != 0 {
		t.Error("an ingredient in use does not say so")
	}
	p = ask(t, site, "POST", "/book/ingredient/"+in.ID, url.Values{"act": {"retire"}, "head": {"8"}})
	p.says(t, "#wrong-h", "Not taken out")
	p.says(t, "#wrong", "It is still used")
	if p.StatusCode != http.StatusConflict || p.count("#uses-h") != 1 {
		t.Errorf("taken out in use: status %d", p.StatusCode)
	}
	p = ask(t, site, "POST", "/book/ingredient/another-sugar", url.Values{"act": {"retire"}, "head": {"7"}})
	p.says(t, "#wrong", "Somebody else changed the book")
	if p.StatusCode != http.StatusConflict || f.head != 8 {
		t.Errorf("taken out of an older book: status %d, head %d", p.StatusCode, f.head)
	}
	p = ask(t, site, "GET", "/book/ingredient/another-sugar", nil)
	if p.count("button[value=retire]") != 1 {
		t.Fatal("an ingredient that nothing uses cannot be taken out")
	}
	p = ask(t, site, "POST", "/book/ingredient/another-sugar", url.Values{"act": {"retire"}, "head": {"8"}})
	if p.StatusCode != http.StatusSeeOther {
		t.Errorf("retire: %d", p.StatusCode)
	}
	if p = ask(t, site, "GET", "/book/ingredient/another-sugar", nil); p.StatusCode != http.StatusNotFound {
		t.Errorf("a thing taken out answers %d", p.StatusCode)
	}
}

// Somebody else's change is shown beside what was typed, and nothing is lost.
func TestThing_Conflict(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	at := thingHref("kettle", f.book.Kettles[0].ID)
	form := sentBack(ask(t, site, "GET", at, nil))
	other := sentBack(ask(t, site, "GET", at, nil))
	other.Set("f.smear", "300 g")
	other.Set("act", "save")
	ask(t, site, "POST", at, other)
	form.Set("f.smear", "200 g")
	form.Set("act", "save")
	p := ask(t, site, "POST", at, form)
	if p.StatusCode != http.StatusConflict {
		t.Fatalf("status %d", p.StatusCode)
	}
	p.says(t, "#wrong tr", "smear 300 g 200 g")
	again := sentBack(p)
	again.Set("act", "save")
	if p = ask(t, site, "POST", at, again); p.StatusCode != http.StatusSeeOther || f.book.Kettles[0].Smear != 0.2 {
		t.Errorf("saved again: %d, %v", p.StatusCode, f.book.Kettles[0].Smear)
	}
}

// What is looked for is found by name and by id.
func TestShopBook_Find(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	r := f.book.Recipes[0]
	for _, find := range []string{strings.ToUpper(r.Name), r.ID} {
		p := ask(t, site, "GET", "/book?find="+url.QueryEscape(find), nil)
		p.says(t, ".groups a", r.Name)
	}
	if p := ask(t, site, "GET", "/book?find=nothing-like-this", nil); p.count(".groups a") != 0 {
		t.Error("something was found")
	}
}
