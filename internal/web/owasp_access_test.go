package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"slabside/internal/access"
)

// The list of what a small application must refuse, by the OWASP Top Ten of 2021
// and the application security verification standard (chapters from memory), each
// tried against the pages of a shop on its network. In this file: who may do what.

// routeRights is who may do what, written down: every route, by whom it may be seen and changed.
// A route that is not here fails the test.
var routeRights = map[string][2]string{
	"/{$}": {"look", "change"}, "/to-make": {"look", "change"}, "/to-make/csv": {"change", "change"}, "/batch/{id}": {"look", ""},
	"/recipes": {"look", ""}, "/recipes/{id}": {"look", ""}, "/room": {"look", ""}, "/care": {"look", ""}, "/care/{kind}/{id}": {"look", "note"}, "/records": {"look", "note"}, "/records/{id}": {"look", "note"}, "/trouble/{id}": {"look", "note"},
	"/records/{id}/attachments": {"look", "note"}, "/stores/{lot}/attachments": {"look", "note"}, "/attachments/{sha256}": {"look", ""}, "/hold": {"look", ""}, "/trace/{id}": {"look", "note"}, "/weigh-in": {"look", ""}, "/weigh-in/{batch}": {"look", "note"}, "/taps": {"", "note"}, "/slab": {"look", ""}, "/slab/{batch}": {"look", "note"}, "/slab/{batch}/events": {"look", ""}, "/stores": {"look", "note"}, "/stores/count": {"look", "note"}, "/stores/{lot}": {"look", "note"}, "/learned": {"look", ""}, "/look-back/{glass}": {"look", ""}, "/start": {"govern", "govern"},
	"/book": {"look", "change"}, "/book/{kind}": {"look", "change"}, "/book/{kind}/{id}": {"look", "change"}, "/new/{kind}": {"change", "change"},
	"/versions/{kind}": {"look", ""}, "/versions/{kind}/{id}": {"look", ""},
	"/people": {"govern", "govern"}, "/sign-in": {"anyone", "anyone"}, "/sign-out": {"", "anyone"}, "/pin": {"look", "look"}, "/pair": {"anyone", "anyone"},
	"/day.pdf": {"look", ""}, "/sheets.pdf": {"look", ""}, "/healthz": {"anyone", ""}, "/static/{path...}": {"anyone", ""}, "/": {"look", ""},
	"/api/":        {"look", ""},
	"/api/v1/plan": {"look", ""}, "/api/v1/boil": {"look", ""}, "/api/v1/limits": {"look", ""}, "/api/v1/shelf-life": {"look", ""}, "/api/v1/sugar": {"look", ""}, "/api/v1/slab": {"look", ""}, "/api/v1/pieces": {"look", ""}, "/api/v1/mix": {"look", ""},
	"/api/v1/book": {"look", ""}, "/api/v1/things/{kind}": {"look", ""}, "/api/v1/things/{kind}/{id}": {"look", "change"},
	"/api/v1/kept-trial": {"", "change"}, "/api/v1/retired/{kind}/{id}": {"", "change"}, "/api/v1/last-change": {"look", "change"},
	"/api/v1/things/{kind}/{id}/versions": {"look", ""}, "/api/v1/uses/{kind}/{id}": {"look", ""}, "/api/v1/to-make": {"look", "change"}, "/api/v1/openapi.json": {"look", ""},
	"/api/v1/readings": {"look", "measure"}, "/readings": {"look", "note"},
	"/api/v1/records": {"look", ""}, "/api/v1/records/{batch}": {"look", ""}, "/api/v1/learned": {"look", ""}, "/api/v1/look-back/{glass}": {"look", ""},
	"/api/v1/records/{batch}/weigh-in": {"look", ""}, "/api/v1/records/{batch}/weighed": {"", "note"}, "/api/v1/scan": {"look", ""}, "/api/v1/held": {"look", ""}, "/api/v1/trace/{id}": {"look", ""}, "/api/v1/trace/{id}/hold": {"", "note"},
	"/api/v1/records/{batch}/begun": {"", "note"}, "/api/v1/records/{batch}/lifted": {"", "note"}, "/api/v1/records/{batch}/moisture": {"", "note"},
	"/api/v1/records/{batch}/cooked-back": {"", "note"}, "/api/v1/records/{batch}/checked": {"", "note"}, "/api/v1/records/{batch}/made": {"", "note"}, "/api/v1/records/{batch}/found": {"", "note"},
	"/api/v1/records/{batch}/after": {"", "note"}, "/api/v1/records/{batch}/cleaned": {"", "note"}, "/api/v1/records/{batch}/tasted": {"", "note"}, "/api/v1/records/{batch}/signed": {"", "note"},
	"/api/v1/batches/{batch}/slab": {"look", ""},
	"/api/v1/care":                 {"look", ""}, "/api/v1/care/{kind}/{id}": {"look", ""}, "/api/v1/care/{kind}/{id}/found": {"", "note"}, "/api/v1/care/{kind}/{id}/done": {"", "note"}, "/api/v1/care/{kind}/{id}/due": {"", "note"},
	"/api/v1/care/{kind}/{id}/taken-back": {"", "note"}, "/api/v1/rolls": {"look", ""},
	"/api/v1/stores": {"look", ""}, "/api/v1/stores/{lot}": {"look", ""}, "/api/v1/stores/{lot}/received": {"", "note"}, "/api/v1/stores/{lot}/made": {"", "note"}, "/api/v1/stores/{lot}/hold": {"", "note"},
	"/api/v1/stores/{lot}/placed": {"", "change"}, "/api/v1/stores/{lot}/used": {"", "note"}, "/api/v1/stores/{lot}/wasted": {"", "note"},
	"/api/v1/stores/{lot}/counted": {"", "note"}, "/api/v1/stores/{lot}/taken-back": {"", "note"},
	"/api/v1/supplies": {"look", ""}, "/api/v1/supplies/{lot}": {"look", ""}, "/api/v1/supplies/{lot}/received": {"", "note"}, "/api/v1/supplies/{lot}/hold": {"", "note"}, "/api/v1/supplies/{lot}/placed": {"", "change"},
	"/api/v1/supplies/{lot}/used": {"", "note"}, "/api/v1/supplies/{lot}/wasted": {"", "note"}, "/api/v1/supplies/{lot}/counted": {"", "note"}, "/api/v1/supplies/{lot}/taken-back": {"", "note"}, "/api/v1/open/{product}": {"look", ""},
	"/api/v1/packing/notes/{day}/read": {"", "note"},
	"/packing":                         {"look", "note"}, "/packing/when": {"look", ""}, "/packing/{lot}": {"look", "note"},
	"/api/v1/packing": {"look", ""}, "/api/v1/pack-window": {"look", ""}, "/api/v1/when": {"look", ""}, "/api/v1/bag-lots": {"look", ""}, "/api/v1/bag-lots/{lot}": {"look", ""},
	"/api/v1/bag-lots/{lot}/packed": {"", "note"}, "/api/v1/bag-lots/{lot}/moved": {"", "note"}, "/api/v1/bag-lots/{lot}/counted": {"", "note"}, "/api/v1/bag-lots/{lot}/hold": {"", "note"},
	"/api/v1/bag-lots/{lot}/placed": {"", "change"}, "/api/v1/bag-lots/{lot}/taken-back": {"", "note"},
	"/api/v1/jars/{jar}": {"look", ""}, "/api/v1/jars/{jar}/filled": {"", "note"}, "/api/v1/jars/{jar}/taken": {"", "note"}, "/api/v1/jars/{jar}/left": {"", "note"}, "/api/v1/jars/{jar}/emptied": {"", "note"},
	"/api/v1/jars/{jar}/washed": {"", "note"}, "/api/v1/jars/{jar}/hold": {"", "note"}, "/api/v1/jars/{jar}/placed": {"", "change"}, "/api/v1/jars/{jar}/taken-back": {"", "note"},
	"/api/v1/loose/{batch}": {"look", ""}, "/api/v1/loose/{batch}/taken": {"", "note"}, "/api/v1/loose/{batch}/left": {"", "note"}, "/api/v1/loose/{batch}/taken-back": {"", "note"},
	"/api/v1/records/{batch}/trouble": {"look", "note"}, "/api/v1/records/{batch}/washed": {"", "note"}, "/api/v1/records/{batch}/placed": {"", "change"},
	"/api/v1/records/{batch}/worked": {"", "note"}, "/api/v1/records/{batch}/taken-back": {"", "note"},
}

// A01 Broken access control: every route × everybody, against the table. Nobody who
// may not gets further than the page that says so, on either entrance, with cookies
// or with a token.
func TestOWASP_AccessControl(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	mays := map[string]string{"Odile": "anyone measure look note change govern", "Bram": "anyone measure look note change", "Wilma": "anyone measure look note", "": "anyone"}
	seen := map[string]bool{}
	for _, rt := range (&server{}).routes() {
		rights, ok := routeRights[rt.pattern]
		if !ok {
			t.Errorf("%s is not in the table of who may do what", rt.pattern)
			continue
		}
		seen[rt.pattern] = true
		target := strings.NewReplacer("{$}", "", "{kind}", "ingredient", "{id}", "sugar", "{batch}", fixtureDay+"-1", "{glass}", "glass", "{path...}", "slabside.css").Replace(rt.pattern)
		if strings.HasSuffix(target, "/versions/ingredient") || strings.HasSuffix(target, "/book/ingredient") {
			target = strings.Replace(target, "ingredient", "room", 1)
		}
		for i, method := range []string{"GET", map[bool]string{true: "PUT", false: "POST"}[rt.put != nil]} {
			right := rights[i]
			if right == "" || target == "/sign-out" { // it ends the shift, and is tried by itself
				continue
			}
			for name, may := range mays {
				allowed := strings.Contains(may, right)
				for entrance, ask := range map[string]func() page{
					"network": func() page { return x.ask(method, target, x.tablet, x.shift[name], formFor(method)) },
					"machine": func() page {
						r := newRequest(method, target, formFor(method))
						if name != "" {
							r.AddCookie(&http.Cookie{Name: "slabside-shift", Value: x.here[name]})
						}
						return send(t, x.local, r)
					},
				} {
					p := ask()
					refused := p.StatusCode == 401 || p.StatusCode == 403 && strings.Contains(p.body, "may not do that") || p.StatusCode == 303 && strings.HasPrefix(p.Header.Get("Location"), "/sign-in?")
					if refused == allowed {
						t.Errorf("%s %s as %q by the %s: status %d", method, target, name, entrance, p.StatusCode)
					}
				}
			}
			// A tablet that was not paired is let in nowhere.
			p := x.ask(method, target, "", "", formFor(method))
			if in := p.StatusCode == 401 || p.StatusCode == 303 && p.Header.Get("Location") == "/pair"; in != (right != "anyone") && target != "/sign-in" {
				t.Errorf("%s %s by a tablet that was not paired: status %d to %q", method, target, p.StatusCode, p.Header.Get("Location"))
			}
			if !strings.HasPrefix(target, "/api/") {
				continue
			}
			for role, token := range x.token {
				r := x.request(method, target, "", "", formFor(method))
				r.Header.Set("Authorization", "Bearer "+token)
				p := send(t, x.shared, r)
				if refused := p.StatusCode == 401 || p.StatusCode == 403; refused == access.Role(role).May(map[string]access.Right{"look": access.Look, "change": access.Change}[right]) {
					t.Errorf("%s %s with the token of a %s: status %d", method, target, role, p.StatusCode)
				}
			}
		}
	}
	for p := range routeRights {
		if !seen[p] {
			t.Errorf("%s is in the table and not in the router", p)
		}
	}
	if x.f.head != 7 {
		t.Error("the book was changed")
	}
}

func formFor(method string) url.Values {
	if method == "POST" {
		return url.Values{"nothing": {"x"}}
	}
	return nil
}

// The shop's own page is the owner's: a maker changes the rest of the book.
func TestOWASP_ShopIsTheOwners(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	form := sentBack(x.ask("GET", "/book/shop", x.tablet, x.shift["Odile"], nil))
	form.Set("act", "save")
	form.Set("f.name", "Another name")
	if p := x.ask("POST", "/book/shop", x.tablet, x.shift["Bram"], form); p.StatusCode != http.StatusForbidden {
		t.Errorf("a maker names the shop: status %d", p.StatusCode)
	}
	r := put(apiRoot+"/things/shop/shop", `{"head":7,"text":{"name":"x"}}`)
	r.Host = sharedHost
	r.Header.Set("Authorization", "Bearer "+x.token["maker"])
	if p := send(t, x.shared, r); p.StatusCode != http.StatusForbidden {
		t.Errorf("a maker's program names the shop: status %d", p.StatusCode)
	}
	if p := x.ask("POST", "/book/shop", x.tablet, x.shift["Odile"], form); p.StatusCode != http.StatusSeeOther || x.f.book.Shop.Name != "Another name" {
		t.Errorf("the owner names the shop: status %d", p.StatusCode)
	}
}

// What is done is done in the name of who is signed in.
func TestOWASP_Accountable(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	at := thingHref("kettle", x.f.book.Kettles[0].ID)
	form := sentBack(x.ask("GET", at, x.tablet, x.shift["Bram"], nil))
	form.Set("act", "save")
	form.Set("f.smear", "0.31 kg")
	if p := x.ask("POST", at, x.tablet, x.shift["Bram"], form); p.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d", p.StatusCode)
	}
	if who := x.f.was[len(x.f.was)-1].person; who != "Bram" {
		t.Errorf("changed by %q", who)
	}
	x.ask("GET", "/", x.tablet, x.shift["Bram"], nil).says(t, ".foot", "Signed in: Bram")
}

// A book without an owner is open to this machine alone.
func TestOWASP_OpenBook(t *testing.T) {
	t.Parallel()
	f := newFakeShop()
	site := NewSite(f, fixtureOptions())
	if p := ask(t, site.Local(), "GET", "/people", nil); p.StatusCode != 200 {
		t.Errorf("on the machine itself: status %d", p.StatusCode)
	}
	shared := site.Shared(names("192.168.1.20"))
	for _, a := range []string{"/", "/people", "/api/v1/book", "/book", "/day.pdf"} {
		r := newRequest("GET", a, nil)
		r.Host = sharedHost
		if p := send(t, shared, r); p.StatusCode != http.StatusForbidden {
			t.Errorf("%s over the network: status %d", a, p.StatusCode)
		}
	}
	// The first owner is made, and from then on everybody signs in.
	p := ask(t, site.Local(), "POST", "/people", url.Values{"act": {"add"}, "name": {"Odile"}, "role": {"owner"}, "pin": {"204713"}})
	if p.StatusCode != http.StatusSeeOther {
		t.Fatalf("making the owner: status %d: %s", p.StatusCode, p.body)
	}
	if p := ask(t, site.Local(), "GET", "/people", nil); p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/sign-in?next=%2Fpeople" {
		t.Errorf("after that: status %d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	if p := ask(t, site.Local(), "GET", apiRoot+"/book", nil); p.StatusCode != http.StatusUnauthorized || p.Header.Get("WWW-Authenticate") == "" {
		t.Errorf("a program without a token: status %d", p.StatusCode)
	}
}

// What a program is told that is not let in is a problem as the description has it.
func TestAPI_NotLetIn(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	d := describedBy(t, apiSite(t))
	for want, token := range map[string]string{"401": "slabside_unknown", "403": x.token["helper"]} {
		r := put(apiRoot+"/to-make", `{"head":7,"lines":[]}`)
		r.Host = sharedHost
		r.Header.Set("Authorization", "Bearer "+token)
		p := send(t, x.shared, r)
		if fmt.Sprint(p.StatusCode) != want {
			t.Errorf("status %d, want %s: %s", p.StatusCode, want, p.body)
		}
		if err := d.check(p.body, "paths", apiRoot+"/to-make", "put", "responses", want, "content", "application/problem+json", "schema"); err != nil {
			t.Error(err)
		}
	}
	r := put(apiRoot+"/to-make", `{"head":7,"why":"by a program","lines":[]}`)
	r.Host = sharedHost
	r.Header.Set("Authorization", "Bearer "+x.token["maker"])
	if p := send(t, x.shared, r); p.StatusCode != 200 || x.f.head != 8 {
		t.Errorf("a maker's program: status %d: %s", p.StatusCode, p.body)
	}
}

// Nobody is offered what would be refused: a helper's pages have no form that sends
// a change but to write down what was done.
func TestNoOfferThatIsRefused(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	offers := map[string]int{}
	for _, name := range []string{"Wilma", "Bram"} {
		for _, a := range pageAddresses(t) {
			p := x.ask("GET", a, x.tablet, x.shift[name], nil)
			if p.StatusCode != http.StatusOK || a == "/pin" || a == "/sign-in" {
				continue
			}
			for _, form := range all(p.root, "main form[method=post]") {
				for _, b := range all(form, "button") {
					if !inDisabled(b, form) {
						offers[name]++
						to, _ := attrOf(form, "action")
						kind, _ := attrOf(b, "value")
						noted := helperMay(form, to, kind)
						if name == "Wilma" && !noted {
							t.Errorf("%s offers a helper %q", a, words(b))
						}
					}
				}
			}
		}
	}
	if offers["Bram"] < 10 {
		t.Errorf("a maker is offered %d changes: too few to tell", offers["Bram"])
	}
}

// helperMay tells which buttons a helper may be offered: what writes down, and nothing
// that releases, condemns or decides.
func helperMay(form *html.Node, to, kind string) bool {
	switch where, _, _ := strings.Cut(strings.TrimPrefix(to, "/"), "/"); where {
	case "records", "weigh-in", "trace", "readings", "slab":
		return true
	case "stores", "packing":
		return kind != "usable" && kind != "condemned"
	case "trouble":
		return !decides(form)
	case "care":
		return attrIn(form, "input[name=kind]", "value") != "settles" || attrIn(form, "input[name=settles]", "value") != "40"
	}
	return false
}

// attrIn is an attribute of the first of some elements, empty without.
func attrIn(n *html.Node, query, name string) string {
	for _, x := range all(n, query) {
		v, _ := attrOf(x, name)
		return v
	}
	return ""
}

// decides reports whether a form says what becomes of a batch.
func decides(form *html.Node) bool {
	for _, n := range all(form, "input") {
		if v, _ := attrOf(n, "value"); v == "decide" {
			return true
		}
	}
	return false
}

// inDisabled reports whether a control stands in a disabled group of its form.
func inDisabled(n, form *html.Node) bool {
	for ; n != nil && n != form; n = n.Parent {
		if n.Data == "fieldset" {
			if _, ok := attrOf(n, "disabled"); ok {
				return true
			}
		}
	}
	return false
}
