package web

import (
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
	"strings"
	"testing"
	"time"

	"slabside/internal/access"
	"slabside/internal/certs"
)

// Of the list that owasp_access_test.go begins: what requests bring and what they are
// answered with.

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
	for _, h := range []http.Handler{Door(DoorOptions{Names: names("192.168.1.20"), Certificate: []byte("cert"), Network: telling(Network{})}), NewSite(x.f, fixtureOptions()).Public()} {
		for _, a := range []string{"/static/../gate.go", "/static/%2e%2e/gate.go", "/people", "/api/v1/book", "/book", "/day.pdf", "/slabside-ca.key"} {
			r := newRequest("GET", a, nil)
			r.Host = sharedHost
			if p := send(t, h, r); p.StatusCode == 200 || strings.Contains(p.body, "Odile") {
				t.Errorf("%s without a shift: status %d", a, p.StatusCode)
			}
		}
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

// Clickjacking (A05) and what else a browser is told.
func TestOWASP_Headers(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	door := Door(DoorOptions{Names: names("192.168.1.20"), Certificate: []byte("cert"), Network: telling(Network{Fingerprint: "AA:BB", Address: "https://" + sharedHost})})
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
	conf, err := ca.Config(names("127.0.0.1", "shop-pc.local"), func(err error) { t.Error(err) })
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewUnstartedServer(NewSite(x.f, fixtureOptions()).Shared(names("127.0.0.1")))
	srv.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	plain := srv.Listener
	srv.Listener = tls.NewListener(plain, conf)
	srv.Start()
	t.Cleanup(srv.Close)
	trusted := x509.NewCertPool() // as on a tablet that has the certificate
	trusted.AppendCertsFromPEM(ca.Certificate())
	get := func(c *tls.Config) (*http.Response, error) {
		client := http.Client{Transport: &http.Transport{TLSClientConfig: c}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		defer client.CloseIdleConnections()
		res, err := client.Get("https://" + plain.Addr().String() + "/")
		if err == nil {
			_ = res.Body.Close()
		}
		return res, err
	}
	if res, err := get(&tls.Config{RootCAs: trusted}); err != nil || res.StatusCode != http.StatusSeeOther || res.Header.Get("Location") != "/pair" {
		t.Errorf("a tablet with the certificate: %v", err)
	}
	if _, err := get(&tls.Config{RootCAs: x509.NewCertPool()}); err == nil {
		t.Error("a tablet without the certificate trusts it")
	}
	if _, err := get(&tls.Config{RootCAs: trusted, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}); err == nil {
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
