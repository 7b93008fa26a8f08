package web

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// Of the list that owasp_access_test.go begins: PINs, codes, tokens and shifts.

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
