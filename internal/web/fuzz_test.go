package web

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// sane fails if a request, whatever is in it, is answered as if the program had
// failed, or by nothing a reader can use.
func sane(t *testing.T, r *http.Request) {
	t.Helper()
	site, _ := fixtureSite()
	w := httptest.NewRecorder()
	site.ServeHTTP(w, r)
	body := w.Body.String()
	if w.Code >= 500 {
		t.Fatalf("%s %s: status %d: %s", r.Method, r.URL, w.Code, body)
	}
	if w.Code >= 300 && w.Code < 400 {
		return
	}
	if forProgram(r) {
		if !json.Valid([]byte(body)) {
			t.Errorf("%s %s: no JSON: %q", r.Method, r.URL, body)
		}
		return
	}
	if !strings.Contains(body, "<h1") || !strings.HasSuffix(strings.TrimSpace(body), "</html>") {
		t.Errorf("%s %s: no whole page: %q", r.Method, r.URL, body)
	}
}

// withQuery puts any text behind an address; false if it cannot be sent at all.
func withQuery(target, text string) (string, bool) {
	u, err := url.ParseRequestURI(target + "?" + text)
	if err != nil || strings.ContainsAny(text, " \r\n\t\x00\x7f") {
		return "", false
	}
	return u.String(), true
}

func FuzzAPIQuery(f *testing.F) {
	var paths []string
	for _, e := range everyOperation() {
		path, text, _ := strings.Cut(e.target, "?")
		if e.method == "get" {
			paths = append(paths, path)
			f.Add(uint(len(paths)-1), text)
		}
	}
	f.Add(uint(0), "date=2026-02-30&start=25:00")
	f.Add(uint(2), "sugar=1e400kg&to=NaNC&to=1C")
	f.Add(uint(6), "bag=999999999&shares=1,1,1,1,1,1,1&pool=-1")
	f.Fuzz(func(t *testing.T, i uint, text string) {
		target, ok := withQuery(apiRoot+paths[i%uint(len(paths))], text)
		if !ok {
			return
		}
		sane(t, newRequest("GET", target, nil))
	})
}

func FuzzAPIBody(f *testing.F) {
	var paths []string
	for _, e := range everyOperation() {
		if e.method == "put" {
			paths = append(paths, e.target)
			f.Add(uint(len(paths)-1), e.body)
		}
	}
	f.Add(uint(0), `{"head":7,"text":{"portion.-1.share":"1"},"rows":{"portion":-1}}`)
	f.Add(uint(2), `{"head":7,"lines":[{"product":"pear-113","bags":1e99}]}`)
	f.Add(uint(2), `{"head":7,"lines":null} {}`)
	f.Fuzz(func(t *testing.T, i uint, body string) { sane(t, put(apiRoot+paths[i%uint(len(paths))], body)) })
}

// postPaths are the pages that take a form.
func postPaths() []string {
	return []string{"/to-make", "/to-make/csv", "/start", "/book", "/book/kettle/pan", "/book/recipe/pear", "/book/day", "/book/stock", "/new/recipe", "/new/nothing"}
}

func FuzzForm(f *testing.F) {
	for i := range postPaths() {
		f.Add(uint(i), "act=save&head=7&f.name=x&rows.boil=3&f.boil.0.mass=6%2C35+kg")
	}
	f.Add(uint(0), "head=7&lines=1&line.0.product=pear-113&line.0.bags=12&act=save")
	f.Add(uint(0), "head=7&lines=99999999&line.-1.bags=12&act=preview")
	f.Add(uint(3), "head=8&act=undo")
	f.Add(uint(5), "head=7&act=add.portion.99999999999999999999&rows.portion=-2")
	f.Add(uint(5), "head=7&act=out.boil.0.mass&%zz=1")
	f.Fuzz(func(t *testing.T, i uint, body string) {
		paths := postPaths()
		r := httptest.NewRequest("POST", paths[i%uint(len(paths))], strings.NewReader(body))
		r.Host = "127.0.0.1:7373"
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		sane(t, r)
	})
}

func FuzzPageQuery(f *testing.F) {
	paths := []string{"/", "/to-make", "/recipes/pear", "/book", "/new/recipe", "/versions/kettle/pan", "/batch/2026-11-28-1", "/book/recipe/pear"}
	f.Add(uint(0), "date=2026-11-29&start=08:30")
	f.Add(uint(0), "saved=9223372036854775808")
	f.Add(uint(2), "scale=40&of=pear-113")
	f.Add(uint(2), "f.boil.0.mass=7+kg&f.water_left=2%2C5+%25&stands=43+C&invert=12+%25&beside=version-2&doctor=switch")
	f.Add(uint(2), "f.boil.-1.mass=1e400+kg&f.boil_to=&of=ingredient-&scale=1.250+kg")
	f.Add(uint(7), "f.boil.999999999.mass=1+kg&f.name=")
	f.Add(uint(4), "like=pear&doctor=switch&f.boil.3.mass=1+g")
	f.Add(uint(3), "find=%00%ff")
	f.Add(uint(4), "like=pear&like=")
	f.Add(uint(5), "before=-1")
	f.Fuzz(func(t *testing.T, i uint, text string) {
		target, ok := withQuery(paths[i%uint(len(paths))], text)
		if !ok {
			return
		}
		sane(t, newRequest("GET", target, nil))
	})
}
