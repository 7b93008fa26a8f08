package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// page is an answer with its parsed HTML.
type page struct {
	*http.Response
	root *html.Node
	body string
}

// ask sends a request to a handler as a browser on this machine would.
func ask(t testing.TB, h http.Handler, method, target string, form url.Values) page {
	t.Helper()
	return send(t, h, newRequest(method, target, form))
}

// serve puts a handler on a port of this machine until the test ends.
func serve(t testing.TB, h http.Handler) *httptest.Server {
	t.Helper()
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	return srv
}

func newRequest(method, target string, form url.Values) *http.Request {
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r := httptest.NewRequest(method, target, body)
	r.Host = "127.0.0.1:7373"
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return r
}

func send(t testing.TB, h http.Handler, r *http.Request) page {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	p := page{Response: w.Result(), body: w.Body.String()}
	if strings.HasPrefix(p.Header.Get("Content-Type"), "text/html") {
		root, err := html.Parse(strings.NewReader(p.body))
		if err != nil {
			t.Fatalf("%s %s: %v", r.Method, r.URL, err)
		}
		p.root = root
	}
	return p
}

// all returns the elements that a simple selector of the form tag, .class,
// #id, tag.class or tag[attr=value] names, descendants by spaces.
func all(n *html.Node, selector string) []*html.Node {
	if n == nil {
		return nil
	}
	list := []*html.Node{n}
	for _, part := range strings.Fields(selector) {
		var next []*html.Node
		for _, from := range list {
			for d := range from.Descendants() {
				if matches(d, part) {
					next = append(next, d)
				}
			}
		}
		list = next
	}
	return list
}

func matches(n *html.Node, part string) bool {
	if n.Type != html.ElementNode {
		return false
	}
	if i := strings.IndexByte(part, '['); i >= 0 {
		key, val, has := strings.Cut(strings.Trim(part[i:], "[]"), "=")
		got, ok := attrOf(n, key)
		if !ok || has && got != val {
			return false
		}
		part = part[:i]
	}
	if i := strings.IndexByte(part, '#'); i >= 0 {
		if id, _ := attrOf(n, "id"); id != part[i+1:] {
			return false
		}
		part = part[:i]
	}
	if i := strings.IndexByte(part, '.'); i >= 0 {
		class, _ := attrOf(n, "class")
		found := false
		for _, c := range strings.Fields(class) {
			found = found || c == part[i+1:]
		}
		if !found {
			return false
		}
		part = part[:i]
	}
	return part == "" || n.Data == part
}

func attrOf(n *html.Node, key string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val, true
		}
	}
	return "", false
}

// words returns the text of an element with single spaces.
func words(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// one returns the words of the only element a selector names.
func (p page) one(t testing.TB, selector string) string {
	t.Helper()
	list := all(p.root, selector)
	if len(list) != 1 {
		t.Fatalf("%d elements %q on the page, want 1", len(list), selector)
	}
	return words(list[0])
}

func (p page) count(selector string) int { return len(all(p.root, selector)) }

// says reports a missing text.
func (p page) says(t testing.TB, selector, want string) {
	t.Helper()
	var got []string
	for _, n := range all(p.root, selector) {
		w := words(n)
		if strings.Contains(w, want) {
			return
		}
		got = append(got, w)
	}
	t.Errorf("no %q says %q; they say %q", selector, want, got)
}
