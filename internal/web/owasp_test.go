package web

import (
	"bytes"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"slabside/internal/access"
	"slabside/internal/certs"
)

// The list of what a small application must refuse, by the OWASP Top Ten of 2021
// and the application security verification standard (chapters from memory), each
// tried against the pages of a shop on its network.

// staffedShop is a shop with an owner, a maker and a helper, one paired tablet, and
// its pages on both entrances.
type staffedShop struct {
	t             *testing.T
	f             *fakeShop
	local, shared http.Handler
	tablet        string            // the paired tablet's secret
	shift         map[string]string // at that tablet, by name
	here          map[string]string // on the machine itself
	token         map[string]string // by role
	log           *bytes.Buffer
	asked         int
}

const sharedHost = "192.168.1.20:7443"

var pins = map[string]string{"Odile": "204713", "Bram": "880315", "Wilma": "713094"}

func staffed(t *testing.T) *staffedShop {
	t.Helper()
	x := &staffedShop{t: t, f: newFakeShop(), shift: map[string]string{}, here: map[string]string{}, token: map[string]string{}, log: new(bytes.Buffer)}
	ctx := t.Context()
	for _, p := range []struct {
		name string
		role access.Role
	}{{"Odile", access.Owner}, {"Bram", access.Maker}, {"Wilma", access.Helper}} {
		if err := x.f.AddPerson(ctx, p.name, p.role, pins[p.name], rand.Reader); err != nil {
			t.Fatal(err)
		}
		token, err := x.f.NewToken(ctx, string(p.role)+" program", p.role, rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		x.token[string(p.role)] = token
	}
	x.tablet = x.pair("slab")
	st := x.state()
	for _, p := range st.People {
		for at, into := range map[string]map[string]string{st.Tablets[0].ID: x.shift, access.Here: x.here} {
			secret, err := x.f.SignIn(ctx, at, p.ID, pins[p.Name], rand.Reader)
			if err != nil {
				t.Fatal(err)
			}
			into[p.Name] = secret
		}
	}
	opt := fixtureOptions()
	opt.Log = slog.New(slog.NewTextHandler(x.log, nil))
	opt.Network = &Network{Address: "https://" + sharedHost, Door: "http://192.168.1.20:7380", Fingerprint: "AA:BB"}
	site := NewSite(x.f, opt)
	x.local, x.shared = site.Local(), site.Shared([]string{"192.168.1.20", "shop-pc.local"})
	return x
}

func (x *staffedShop) pair(name string) string {
	x.t.Helper()
	code, _, err := x.f.NewPairing(x.t.Context(), rand.Reader)
	if err != nil {
		x.t.Fatal(err)
	}
	secret, err := x.f.Pair(x.t.Context(), code, name, rand.Reader)
	if err != nil {
		x.t.Fatal(err)
	}
	return secret
}

func (x *staffedShop) state() access.State {
	x.t.Helper()
	st, err := x.f.Access(x.t.Context())
	if err != nil {
		x.t.Fatal(err)
	}
	return st
}

// ask sends a request over the shop's network with a tablet's and a shift's cookie.
func (x *staffedShop) ask(method, target, tablet, shift string, form url.Values) page {
	x.t.Helper()
	return send(x.t, x.shared, x.request(method, target, tablet, shift, form))
}

func (x *staffedShop) request(method, target, tablet, shift string, form url.Values) *http.Request {
	r := newRequest(method, target, form)
	r.Host = sharedHost
	x.asked++
	r.RemoteAddr = fmt.Sprintf("10.0.%d.%d:4000", x.asked/250, x.asked%250) // so that no limit of an address is met by the way
	for name, v := range map[string]string{"__Host-slabside-tablet": tablet, "__Host-slabside-shift": shift} {
		if v != "" {
			r.AddCookie(&http.Cookie{Name: name, Value: v})
		}
	}
	return r
}

// who may do what, written down: every route, by whom it may be seen and changed.
// A route that is not here fails the test.
var routeRights = map[string][2]string{
	"/{$}": {"look", "change"}, "/to-make": {"look", "change"}, "/to-make/csv": {"change", "change"}, "/batch/{id}": {"look", ""},
	"/recipes": {"look", ""}, "/recipes/{id}": {"look", ""}, "/room": {"look", ""}, "/start": {"govern", "govern"},
	"/book": {"look", "change"}, "/book/{kind}": {"look", "change"}, "/book/{kind}/{id}": {"look", "change"}, "/new/{kind}": {"change", "change"},
	"/versions/{kind}": {"look", ""}, "/versions/{kind}/{id}": {"look", ""},
	"/people": {"govern", "govern"}, "/sign-in": {"anyone", "anyone"}, "/sign-out": {"", "anyone"}, "/pin": {"look", "look"}, "/pair": {"anyone", "anyone"},
	"/day.pdf": {"look", ""}, "/sheets.pdf": {"look", ""}, "/healthz": {"anyone", ""}, "/static/{path...}": {"anyone", ""}, "/": {"look", ""},
	"/api/":        {"look", ""},
	"/api/v1/plan": {"look", ""}, "/api/v1/boil": {"look", ""}, "/api/v1/sugar": {"look", ""}, "/api/v1/pieces": {"look", ""}, "/api/v1/mix": {"look", ""},
	"/api/v1/book": {"look", ""}, "/api/v1/things/{kind}": {"look", ""}, "/api/v1/things/{kind}/{id}": {"look", "change"},
	"/api/v1/things/{kind}/{id}/versions": {"look", ""}, "/api/v1/uses/{kind}/{id}": {"look", ""}, "/api/v1/to-make": {"look", "change"}, "/api/v1/openapi.json": {"look", ""},
}

// A01 Broken access control: every route × everybody, against the table. Nobody who
// may not gets further than the page that says so, on either entrance, with cookies
// or with a token.
func TestOWASP_AccessControl(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	mays := map[string]string{"Odile": "anyone look change govern", "Bram": "anyone look change", "Wilma": "anyone look", "": "anyone"}
	seen := map[string]bool{}
	for _, rt := range (&server{}).routes() {
		rights, ok := routeRights[rt.pattern]
		if !ok {
			t.Errorf("%s is not in the table of who may do what", rt.pattern)
			continue
		}
		seen[rt.pattern] = true
		target := strings.NewReplacer("{$}", "", "{kind}", "ingredient", "{id}", "sugar", "{path...}", "slabside.css").Replace(rt.pattern)
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

// CSRF (ASVS 4.2.2): another site's page cannot act with a tablet's cookies.
func TestOWASP_CSRF(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	for _, target := range []string{"/to-make", "/people", "/sign-out", "/pin", "/book", "/sign-in"} {
		for name, set := range map[string]func(http.Header){
			"cross-site":     func(h http.Header) { h.Set("Sec-Fetch-Site", "cross-site") },
			"another origin": func(h http.Header) { h.Set("Origin", "https://evil.example") },
			"another port":   func(h http.Header) { h.Set("Origin", "https://192.168.1.20:9999") },
		} {
			r := x.request("POST", target, x.tablet, x.shift["Odile"], url.Values{"act": {"pair"}})
			set(r.Header)
			if p := send(t, x.shared, r); p.StatusCode != http.StatusForbidden {
				t.Errorf("%s of %s: status %d", name, target, p.StatusCode)
			}
		}
	}
	if st := x.state(); len(st.Pairings) > 0 || x.f.head != 7 || len(st.Shifts) != 6 {
		t.Error("something was done")
	}
}

// A02, A07: cookies that another page or an eavesdropper could read or set; a PIN or
// a secret in an address, a page or the log.
func TestOWASP_CookiesAndSecrets(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	st := x.state()
	p := x.ask("POST", "/sign-in", x.tablet, "", url.Values{"person": {st.People[0].ID}, "pin": {pins["Odile"]}, "next": {"/room"}})
	if p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/room" {
		t.Fatalf("signing in: %d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	c := p.Header.Get("Set-Cookie")
	for _, want := range []string{"__Host-slabside-shift=", "Path=/", "HttpOnly", "Secure", "SameSite=Strict"} {
		if !strings.Contains(c, want) {
			t.Errorf("cookie %q has no %s", c, want)
		}
	}
	if strings.Contains(c, "Domain") {
		t.Errorf("cookie %q names a domain", c)
	}
	secret := regexp.MustCompile(`shift=([^;]+)`).FindStringSubmatch(c)[1]
	if p := x.ask("GET", "/", x.tablet, secret, nil); p.StatusCode != 200 || strings.Contains(p.body, secret) {
		t.Errorf("status %d, or the secret stands on the page", p.StatusCode)
	}
	if p := x.ask("GET", "/sign-in?person="+st.People[0].ID+"&pin="+pins["Odile"], x.tablet, "", nil); p.Header.Get("Set-Cookie") != "" {
		t.Error("a PIN in an address signs in")
	}
	for _, s := range append([]string{secret, x.tablet}, pins["Odile"], x.token["owner"]) {
		if strings.Contains(x.log.String(), s) {
			t.Errorf("the log holds %q", s)
		}
	}
	if p := x.ask("GET", "/people", x.tablet, secret, nil); p.Header.Get("Cache-Control") != "no-store" || strings.Contains(p.body, "argon2") {
		t.Error("the page of people may be stored, or shows a hash")
	}
}

// XSS (A03): what people type is text, wherever it is shown.
func TestOWASP_XSS(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	const evil = `<script>alert(1)</script>"'><img src=x>`
	if err := x.f.AddPerson(t.Context(), evil, access.Owner, "509126", rand.Reader); err != nil {
		t.Fatal(err)
	}
	x.pair(evil)
	if _, err := x.f.NewToken(t.Context(), evil, access.Helper, rand.Reader); err != nil {
		t.Fatal(err)
	}
	st := x.state()
	shift, err := x.f.SignIn(t.Context(), st.Tablets[0].ID, st.People[3].ID, "509126", rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	x.f.book.Shop.Name, x.f.book.Recipes[0].Name, x.f.book.Kettles[0].Name = evil, evil, evil
	shown := 0
	for _, a := range append(pageAddresses(t), "/nowhere"+url.PathEscape(evil), "/book?find="+url.QueryEscape(evil), "/sign-in?next="+url.QueryEscape(evil), "/recipes/pear?scale="+url.QueryEscape(evil)) {
		p := x.ask("GET", a, x.tablet, shift, nil)
		if strings.Contains(p.body, "<script>alert") || strings.Contains(p.body, "<img src=x") {
			t.Errorf("%s runs what was typed", a)
		}
		shown += strings.Count(p.body, "&lt;script&gt;alert")
		if csp := p.Header.Get("Content-Security-Policy"); csp != contentPolicy {
			t.Errorf("%s: policy %q", a, csp)
		}
	}
	if shown < 20 {
		t.Errorf("the text is shown %d times: too few to tell", shown)
	}
	p := x.ask("POST", "/pair", "", "", url.Values{"code": {evil}, "name": {evil}})
	if strings.Contains(p.body, "<script>alert") {
		t.Error("the page of a refused code runs what was typed")
	}
}

// Path traversal (A01): nothing outside the program's own files is served.
func TestOWASP_Traversal(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	for _, a := range []string{"/static/../gate.go", "/static/%2e%2e/gate.go", "/static/..%5cgate.go", "/static/%00", "/book/..%2f..%2fetc/passwd", "/api/v1/things/recipe/..%2f..%2fetc%2fpasswd"} {
		p := x.ask("GET", a, x.tablet, x.shift["Odile"], nil)
		if p.StatusCode == 200 || strings.Contains(p.body, "package web") || strings.Contains(p.body, "root:") {
			t.Errorf("%s: status %d", a, p.StatusCode)
		}
	}
	for _, h := range []http.Handler{Door(DoorOptions{Names: []string{"192.168.1.20"}, Certificate: []byte("cert")}), NewSite(x.f, fixtureOptions()).Public()} {
		for _, a := range []string{"/static/../gate.go", "/static/%2e%2e/gate.go", "/people", "/api/v1/book", "/book", "/day.pdf", "/slabside-ca.key"} {
			r := newRequest("GET", a, nil)
			r.Host = sharedHost
			if p := send(t, h, r); p.StatusCode == 200 || strings.Contains(p.body, "Odile") {
				t.Errorf("%s without a shift: status %d", a, p.StatusCode)
			}
		}
	}
}

// Brute force (A07, ASVS 2.2.1): PINs, codes and tokens. After a few tries an address
// waits, and a person's PIN cannot be tried at that tablet, the right one neither.
func TestOWASP_BruteForce(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	odile := x.state().People[0].ID
	try := func(from, pin string) page {
		r := x.request("POST", "/sign-in", x.tablet, "", url.Values{"person": {odile}, "pin": {pin}})
		r.RemoteAddr = from + ":4000"
		return send(t, x.shared, r)
	}
	statuses := map[int]int{}
	for i := range 40 {
		p := try("192.168.1.50", fmt.Sprintf("%06d", 302010+i))
		statuses[p.StatusCode]++
		if p.StatusCode >= 429 && p.Header.Get("Retry-After") == "" {
			t.Error("no word of when to try again")
		}
	}
	if statuses[403] != 5 || statuses[503] == 0 || statuses[429] < 20 {
		t.Errorf("forty wrong PINs: statuses %v", statuses)
	}
	// From another address at the same tablet the right PIN still waits.
	if p := try("192.168.1.51", pins["Odile"]); p.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("the right PIN while waiting: status %d", p.StatusCode)
	}
	// Codes: five wrong ones and the code that stands is dead.
	code, _, err := x.f.NewPairing(t.Context(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	pair := func(from, code string) page {
		r := x.request("POST", "/pair", "", "", url.Values{"code": {code}, "name": {"thief"}})
		r.RemoteAddr = from + ":4000"
		return send(t, x.shared, r)
	}
	for i := range 6 {
		if p := pair("192.168.1.52", fmt.Sprintf("%08d", i)); p.StatusCode != http.StatusForbidden {
			t.Errorf("a wrong code: status %d", p.StatusCode)
		}
	}
	if p := pair("192.168.1.53", code); p.StatusCode != http.StatusForbidden || len(x.state().Tablets) != 1 {
		t.Errorf("the code after five wrong ones: status %d", p.StatusCode)
	}
	// Tokens: 256 bits are not guessed; a flood from one address is cut all the same.
	flooded := 0
	for range 2 * usualBurst {
		r := x.request("GET", apiRoot+"/book", "", "", nil)
		r.RemoteAddr = "192.168.1.54:4000"
		r.Header.Set("Authorization", "Bearer slabside_guess")
		if p := send(t, x.shared, r); p.StatusCode == http.StatusTooManyRequests {
			flooded++
			if kind := p.Header.Get("Content-Type"); kind != "application/problem+json" {
				t.Fatalf("a program is told in %s", kind)
			}
		}
	}
	if flooded < usualBurst/2 {
		t.Errorf("%d of %d guesses were cut off", flooded, 2*usualBurst)
	}
}

// User enumeration (ASVS 2.2, 3.2): somebody who is not there is told what a wrong
// PIN is told.
func TestOWASP_Enumeration(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	answer := func(person string) string {
		p := x.ask("POST", "/sign-in", x.tablet, "", url.Values{"person": {person}, "pin": {"302017"}})
		if p.StatusCode != http.StatusForbidden {
			t.Errorf("%s: status %d", person, p.StatusCode)
		}
		return regexp.MustCompile(`(?s)<div role="alert">.*?</div>`).FindString(p.body)
	}
	if a, b := answer(x.state().People[0].ID), answer("person-99"); a != b || a == "" {
		t.Errorf("told %q and %q", a, b)
	}
	if p := x.ask("GET", "/sign-in", "", "", nil); p.StatusCode != http.StatusSeeOther || strings.Contains(p.body, "Odile") {
		t.Errorf("a tablet that was not paired sees who works here: status %d", p.StatusCode)
	}
}

// Oversize (A05): bodies, headers, and a PIN as long as a book, which never reaches
// the costly hash.
func TestOWASP_Oversize(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	long := strings.Repeat("1", 200<<10)
	begin := time.Now()
	p := x.ask("POST", "/sign-in", x.tablet, "", url.Values{"person": {x.state().People[0].ID}, "pin": {long}})
	if p.StatusCode != http.StatusForbidden || time.Since(begin) > 5*time.Second {
		t.Errorf("a PIN of 200 kB: status %d", p.StatusCode)
	}
	for _, a := range []string{"/sign-in", "/pair", "/people", "/pin", "/to-make"} {
		tablet, shift := x.tablet, x.shift["Odile"]
		if a == "/pair" {
			tablet, shift = "", ""
		}
		p := x.ask("POST", a, tablet, shift, url.Values{"pin": {strings.Repeat("1", mostBody+1)}})
		if p.StatusCode != http.StatusRequestEntityTooLarge && p.StatusCode != http.StatusTooManyRequests {
			t.Errorf("%s with more than it takes: status %d", a, p.StatusCode)
		}
	}
	if p := x.ask("POST", "/people", x.tablet, x.shift["Odile"], url.Values{"act": {"add"}, "role": {"maker"}, "pin": {"509126"}, "name": {strings.Repeat("a", 5000)}}); p.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a name of 5000 letters: status %d", p.StatusCode)
	}
}

// Reuse: a code that paired, a token that was taken back, a shift that ended, a
// shift carried to another tablet.
func TestOWASP_Reuse(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	code, _, err := x.f.NewPairing(t.Context(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if p := x.ask("POST", "/pair", "", "", url.Values{"code": {code[:4] + " " + code[4:]}, "name": {"packing"}}); p.StatusCode != http.StatusSeeOther || !strings.Contains(p.Header.Get("Set-Cookie"), "__Host-slabside-tablet=") {
		t.Fatalf("pairing: status %d, %q", p.StatusCode, p.Header.Get("Set-Cookie"))
	}
	if p := x.ask("POST", "/pair", "", "", url.Values{"code": {code}, "name": {"again"}}); p.StatusCode != http.StatusForbidden {
		t.Errorf("a code used before: status %d", p.StatusCode)
	}
	other := x.pair("counter")
	if p := x.ask("GET", "/", other, x.shift["Odile"], nil); p.StatusCode != http.StatusSeeOther || !strings.Contains(p.Header.Get("Set-Cookie"), "Max-Age=0") {
		t.Errorf("a shift carried to another tablet: status %d, %q", p.StatusCode, p.Header.Get("Set-Cookie"))
	}
	if p := x.ask("GET", "/", x.tablet, x.shift["Odile"], nil); p.StatusCode != http.StatusSeeOther {
		t.Errorf("and it goes on at its own: status %d", p.StatusCode)
	}
	if p := x.ask("GET", "/", "", x.shift["Wilma"], nil); p.StatusCode != http.StatusSeeOther || p.Header.Get("Location") != "/pair" {
		t.Errorf("a shift carried to a device that was not paired: status %d to %q", p.StatusCode, p.Header.Get("Location"))
	}
	if p := x.ask("GET", "/", x.tablet, x.shift["Wilma"], nil); p.StatusCode != http.StatusSeeOther {
		t.Errorf("and it goes on at its own: status %d", p.StatusCode)
	}
	if !strings.Contains(x.log.String(), "turned up at another tablet") {
		t.Error("the log does not tell of it")
	}
	if p := x.ask("POST", "/sign-out", x.tablet, x.shift["Bram"], url.Values{}); p.StatusCode != http.StatusSeeOther {
		t.Errorf("signing out: status %d", p.StatusCode)
	}
	if p := x.ask("GET", "/", x.tablet, x.shift["Bram"], nil); p.StatusCode != http.StatusSeeOther {
		t.Errorf("a shift that was ended goes on: status %d", p.StatusCode)
	}
	with := func() int {
		r := x.request("GET", apiRoot+"/book", "", "", nil)
		r.Header.Set("Authorization", "Bearer "+x.token["helper"])
		return send(t, x.shared, r).StatusCode
	}
	if st := with(); st != 200 {
		t.Fatalf("a token: status %d", st)
	}
	for _, k := range x.state().Tokens {
		if err := x.f.RemoveToken(t.Context(), k.ID); err != nil {
			t.Fatal(err)
		}
	}
	if st := with(); st != http.StatusUnauthorized {
		t.Errorf("a token taken back: status %d", st)
	}
}

// Session fixation (ASVS 3.2.1): a shift's secret is made at sign-in, whatever was
// brought along; the one of before ends.
func TestOWASP_Fixation(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	bram := x.state().People[1].ID
	for _, planted := range []string{"planted-by-somebody", x.shift["Bram"]} {
		p := x.ask("POST", "/sign-in", x.tablet, planted, url.Values{"person": {bram}, "pin": {pins["Bram"]}})
		if p.StatusCode != http.StatusSeeOther || strings.Contains(p.Header.Get("Set-Cookie"), planted) {
			t.Errorf("status %d, cookie %q", p.StatusCode, p.Header.Get("Set-Cookie"))
		}
		if p := x.ask("GET", "/", x.tablet, planted, nil); p.StatusCode != http.StatusSeeOther {
			t.Errorf("what was planted is signed in: status %d", p.StatusCode)
		}
	}
}

// Open redirects (A01): one is sent on to these pages alone.
func TestOWASP_OpenRedirect(t *testing.T) {
	t.Parallel()
	for next, want := range map[string]string{
		"/room": "/room", "/?date=2026-11-28&start=08:30": "/?date=2026-11-28&start=08:30", "/recipes/a%2Fb": "/recipes/a%2Fb",
		"": "/", "//evil.example": "/", "https://evil.example/": "/", "/\\evil.example": "/", "javascript:alert(1)": "/", "evil": "/", "/\nSet-Cookie: a=b": "/", "http:/evil": "/", "///evil": "/", "/%0d%0aX: y": "/%0D%0AX:%20y",
	} {
		if got := localPath(next); got != want {
			t.Errorf("%q leads to %q, want %q", next, got, want)
		}
	}
}

// Clickjacking (A05) and what else a browser is told.
func TestOWASP_Headers(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	door := Door(DoorOptions{Names: []string{"192.168.1.20"}, Certificate: []byte("cert"), Fingerprint: "AA:BB", Address: "https://" + sharedHost})
	public := NewSite(x.f, fixtureOptions()).Public()
	for name, p := range map[string]page{
		"pages": x.ask("GET", "/people", x.tablet, x.shift["Odile"], nil), "refused": x.ask("GET", "/people", x.tablet, x.shift["Wilma"], nil),
		"door": send(t, door, x.request("GET", "/", "", "", nil)), "public": send(t, public, x.request("GET", "/", "", "", nil)),
	} {
		for k, want := range map[string]string{"X-Frame-Options": "DENY", "Content-Security-Policy": contentPolicy, "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "Cache-Control": "no-store"} {
			if got := p.Header.Get(k); got != want {
				t.Errorf("%s: %s %q", name, k, got)
			}
		}
		if p.Header.Get("Server") != "" || p.Header.Get("X-Powered-By") != "" {
			t.Errorf("%s tells what it is", name)
		}
	}
	if p := send(t, public, x.request("GET", "/", x.tablet, x.shift["Odile"], nil)); p.Header.Get("Set-Cookie") != "" || strings.Contains(p.body, "Odile") || strings.Contains(p.body, "/to-make") {
		t.Error("the public page sets a cookie, names somebody or leads into the shop")
	}
	if p := x.ask("GET", "/", x.tablet, x.shift["Odile"], nil); p.Header.Get("Set-Cookie") != "" {
		t.Error("a cookie is set again on every page")
	}
	r := x.request("GET", "/", x.tablet, x.shift["Odile"], nil)
	r.Host = "evil.example"
	if p := send(t, x.shared, r); p.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("under another name: status %d", p.StatusCode)
	}
}

// A02 Cryptographic failures: the network's entrance speaks TLS 1.2 or later with the
// shop's own certificate, and nothing else.
func TestOWASP_Encryption(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	ca, err := certs.Open(filepath.Join(t.TempDir(), "keys"), "shop-pc", rand.Reader, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	conf, err := ca.Config([]string{"127.0.0.1", "shop-pc.local"})
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewUnstartedServer(NewSite(x.f, fixtureOptions()).Shared([]string{"127.0.0.1"}))
	srv.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	plain := srv.Listener
	srv.Listener = tls.NewListener(plain, conf)
	srv.Start()
	t.Cleanup(srv.Close)
	get := func(c *tls.Config) (*http.Response, error) {
		client := http.Client{Transport: &http.Transport{TLSClientConfig: c}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		defer client.CloseIdleConnections()
		res, err := client.Get("https://" + plain.Addr().String() + "/")
		if err == nil {
			_ = res.Body.Close()
		}
		return res, err
	}
	if res, err := get(&tls.Config{RootCAs: ca.Pool()}); err != nil || res.StatusCode != http.StatusSeeOther || res.Header.Get("Location") != "/pair" {
		t.Errorf("a tablet with the certificate: %v", err)
	}
	if _, err := get(&tls.Config{RootCAs: x509.NewCertPool()}); err == nil {
		t.Error("a tablet without the certificate trusts it")
	}
	if _, err := get(&tls.Config{RootCAs: ca.Pool(), MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}); err == nil {
		t.Error("TLS 1.1 is spoken")
	}
	c, err := net.Dial("tcp", plain.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
	answer, _ := io.ReadAll(c)
	if strings.Contains(string(answer), "200 OK") || strings.Contains(string(answer), "<html") {
		t.Errorf("unencrypted it answers %.80q", answer)
	}
}

// A book without an owner is open to this machine alone.
func TestOWASP_OpenBook(t *testing.T) {
	t.Parallel()
	f := newFakeShop()
	site := NewSite(f, fixtureOptions())
	if p := ask(t, site.Local(), "GET", "/people", nil); p.StatusCode != 200 {
		t.Errorf("on the machine itself: status %d", p.StatusCode)
	}
	shared := site.Shared([]string{"192.168.1.20"})
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
// a change.
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
						if name == "Wilma" {
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
