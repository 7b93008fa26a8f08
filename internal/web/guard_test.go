package web

import (
	"bytes"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"

	"slabside/internal/app"
	"slabside/internal/fault"
)

func bodyOf(s string) io.ReadCloser { return io.NopCloser(strings.NewReader(s)) }

func problems(list ...*fault.Error) app.Problems { return list }

// Every kind of fault has its status, and there is no status without a kind.
func TestStatusOf_Complete(t *testing.T) {
	t.Parallel()
	n := 0
	for k := fault.KindInvalid; k <= fault.KindInternal; k++ {
		if statusOf[k] < 400 {
			t.Errorf("kind %s has no status", k)
		}
		n++
	}
	if len(statusOf) != n {
		t.Errorf("%d statuses for %d kinds", len(statusOf), n)
	}
	if got := status(errors.New("bare")); got != http.StatusInternalServerError {
		t.Errorf("an error without a kind answers %d", got)
	}
}

func TestForeignOrigin(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	for name, set := range map[string]func(http.Header){
		"cross-site":     func(h http.Header) { h.Set("Sec-Fetch-Site", "cross-site") },
		"same-site":      func(h http.Header) { h.Set("Sec-Fetch-Site", "same-site") },
		"foreign origin": func(h http.Header) { h.Set("Origin", "http://elsewhere.example") },
		"null origin":    func(h http.Header) { h.Set("Origin", "null") },
	} {
		r := newRequest("POST", "/to-make", lineForm("7"))
		set(r.Header)
		p := send(t, site, r)
		if p.StatusCode != http.StatusForbidden {
			t.Errorf("%s: status %d", name, p.StatusCode)
		}
		p.says(t, ".wrong", "another site")
	}
	if f.head != 7 {
		t.Fatal("a foreign page has changed the book")
	}
	r := newRequest("POST", "/to-make", lineForm("7"))
	r.Header.Set("Origin", "http://127.0.0.1:7373")
	if p := send(t, site, r); p.StatusCode != http.StatusSeeOther {
		t.Errorf("own origin: status %d", p.StatusCode)
	}
}

func TestForeignHost(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	for host, want := range map[string]int{
		"127.0.0.1:7373": 200, "localhost": 200, "localhost:1": 200, "[::1]:7373": 200, "[::1]": 200, "127.0.0.2": 200,
		"shop.example": 421, "shop.example:7373": 421, "192.0.2.7": 421, "localhost.example": 421, "": 421,
	} {
		r := newRequest("GET", "/room", nil)
		r.Host = host
		if p := send(t, site, r); p.StatusCode != want {
			t.Errorf("host %q: status %d, want %d", host, p.StatusCode, want)
		}
	}
}

func TestHeaders(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	for _, a := range append(pageAddresses(t), "/healthz", "/static/slabside.css", "/nowhere", "/day.pdf") {
		h := ask(t, site, "GET", a, nil).Header
		if got := h.Get("Content-Security-Policy"); got != contentPolicy || strings.Contains(got, "unsafe") {
			t.Errorf("%s: policy %q", a, got)
		}
		for k, want := range map[string]string{"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "same-origin", "Cross-Origin-Opener-Policy": "same-origin"} {
			if h.Get(k) != want {
				t.Errorf("%s: %s %q", a, k, h.Get(k))
			}
		}
	}
}

func TestMethods(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	for _, rt := range (&server{}).routes() {
		a, ok := addresses[rt.pattern]
		if !ok {
			continue
		}
		for _, m := range []string{"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"} {
			p := send(t, site, newRequest(m, a, nil))
			if p.StatusCode != http.StatusMethodNotAllowed || !strings.HasPrefix(p.Header.Get("Allow"), "GET, HEAD") {
				t.Errorf("%s %s: %d, allow %q", m, a, p.StatusCode, p.Header.Get("Allow"))
			}
		}
		if p := send(t, site, newRequest("POST", a, map[string][]string{})); rt.post == nil && a != "/to-make" && p.StatusCode != http.StatusMethodNotAllowed {
			t.Errorf("POST %s: %d", a, p.StatusCode)
		}
		if p := send(t, site, newRequest("HEAD", a, nil)); p.StatusCode != http.StatusOK {
			t.Errorf("HEAD %s: %d", a, p.StatusCode)
		}
	}
	if f.head != 7 {
		t.Error("the book was changed")
	}
}

func TestTraversal(t *testing.T) {
	t.Parallel()
	f := newFakeShop()
	srv := serve(t, New(f, fixtureOptions()))
	for _, a := range []string{
		"/static/../server.go", "/static/%2e%2e/server.go", "/static/..%2fserver.go", "/static/vendor/../../doc.go", "/static//etc/passwd",
		"/static/%2fetc%2fpasswd", "/static/", "/static/vendor", "/batch/..%2f..%2fetc%2fpasswd", "/recipes/..%2fx", "/../../etc/passwd",
	} {
		req, err := http.NewRequest("GET", srv.URL, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.URL.Opaque = "//" + req.URL.Host + a
		res, err := srv.Client().Do(req)
		if err != nil {
			t.Fatalf("%s: %v", a, err)
		}
		body, _ := io.ReadAll(res.Body)
		_ = res.Body.Close()
		if res.StatusCode != http.StatusNotFound || bytes.Contains(body, []byte("package web")) || bytes.Contains(body, []byte("root:")) {
			t.Errorf("%s: status %d", a, res.StatusCode)
		}
	}
}

func TestOversizeBody(t *testing.T) {
	t.Parallel()
	site, f := fixtureSite()
	form := lineForm("7", line("pear-113", "5"))
	form.Set("pad", strings.Repeat("x", mostBody))
	p := ask(t, site, "POST", "/to-make", form)
	if p.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("status %d", p.StatusCode)
	}
	form.Set("pad", strings.Repeat("x", mostBody/2))
	if p := ask(t, site, "POST", "/to-make", form); p.StatusCode != http.StatusSeeOther {
		t.Errorf("half of it: status %d", p.StatusCode)
	}
	if f.head != 8 {
		t.Errorf("head %d", f.head)
	}
}

// A defect answers with a page, tells nothing of its inside, and is logged once.
func TestPanicAndInternal(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	f := newFakeShop()
	opt := fixtureOptions()
	opt.Log = slog.New(slog.NewTextHandler(&log, nil))
	site := New(f, opt)
	f.panics = true
	p := ask(t, site, "GET", "/", nil)
	if p.StatusCode != http.StatusInternalServerError || strings.Contains(p.body, "a defect put in") {
		t.Errorf("status %d", p.StatusCode)
	}
	if n := strings.Count(log.String(), "a defect put in by the test"); n < 1 {
		t.Error("the panic is not in the log")
	}
	f.panics, log = false, bytes.Buffer{}
	f.planErr = fault.Internal(errors.New("disk secret-path broke"), "read the book")
	p = ask(t, site, "GET", "/", nil)
	if p.StatusCode != http.StatusInternalServerError || strings.Contains(p.body, "secret-path") {
		t.Errorf("status %d, or the cause is shown", p.StatusCode)
	}
	p.says(t, ".wrong", "nothing was changed")
	if n := strings.Count(log.String(), "secret-path"); n != 1 {
		t.Errorf("the cause is %d times in the log, want once", n)
	}
	if !strings.Contains(log.String(), "status=500") {
		t.Error("the request is not in the log")
	}
}

func TestNowhere(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	for _, a := range []string{"/nowhere", "/recipes/none", "/static/none.css", "/batch/", "/room/x"} {
		if p := ask(t, site, "GET", a, nil); p.StatusCode != http.StatusNotFound || p.count("main h1") != 1 {
			t.Errorf("%s: status %d", a, p.StatusCode)
		}
	}
	if p := ask(t, site, "GET", "/healthz", nil); p.StatusCode != 200 || p.body != "ok\n" {
		t.Errorf("healthz: %d %q", p.StatusCode, p.body)
	}
}
