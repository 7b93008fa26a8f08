package web

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"net/http"
	"os"
	"path"
	"strings"
	"testing"
)

// Vendored files are what their lists of sums say, all of them and no other.
func TestVendoredSums(t *testing.T) {
	t.Parallel()
	for _, dir := range []string{"static/vendor", "testdata/axe"} {
		list, err := os.ReadFile(path.Join(dir, "SHA256SUMS"))
		if err != nil {
			t.Fatal(err)
		}
		want := map[string]string{}
		for _, l := range strings.Split(strings.TrimSpace(string(list)), "\n") {
			sum, name, ok := strings.Cut(l, "  ")
			if !ok {
				t.Fatalf("%s: line %q", dir, l)
			}
			want[name] = sum
		}
		if len(want) < 3 {
			t.Fatalf("%s: only %d sums", dir, len(want))
		}
		err = fs.WalkDir(os.DirFS(dir), ".", func(p string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || p == "SHA256SUMS" {
				return err
			}
			b, err := os.ReadFile(path.Join(dir, p))
			if err != nil {
				return err
			}
			sum := sha256.Sum256(b)
			if got := hex.EncodeToString(sum[:]); got != want[p] {
				t.Errorf("%s/%s: sum %s, listed %q", dir, p, got, want[p])
			}
			delete(want, p)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for name := range want {
			t.Errorf("%s: %s is listed and not there", dir, name)
		}
	}
}

func TestAssets_Cached(t *testing.T) {
	t.Parallel()
	site, _ := fixtureSite()
	a := loadAssets()
	for name, want := range map[string]string{
		"slabside.css": "text/css; charset=utf-8", "slabside.js": "text/javascript; charset=utf-8", "mark.svg": "image/svg+xml",
		"vendor/atkinson-hyperlegible-next/latin-400-normal.woff2": "font/woff2", "vendor/atkinson-hyperlegible-next/OFL.txt": "text/plain; charset=utf-8",
	} {
		p := ask(t, site, "GET", a.url(name), nil)
		if p.StatusCode != http.StatusOK || p.Header.Get("Content-Type") != want || !strings.Contains(p.Header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d %q %q", name, p.StatusCode, p.Header.Get("Content-Type"), p.Header.Get("Cache-Control"))
		}
		bare := ask(t, site, "GET", "/static/"+name, nil)
		if bare.Header.Get("Cache-Control") != "no-cache" {
			t.Errorf("%s without its mark: %q", name, bare.Header.Get("Cache-Control"))
		}
		r := newRequest("GET", "/static/"+name, nil)
		r.Header.Set("If-None-Match", bare.Header.Get("ETag"))
		if p := send(t, site, r); p.StatusCode != http.StatusNotModified {
			t.Errorf("%s asked again: %d", name, p.StatusCode)
		}
	}
	// Every address the pages and the style sheet use is there.
	css := string(a["slabside.css"].body)
	for _, part := range strings.Split(css, `url("`)[1:] {
		name, _, _ := strings.Cut(part, `"`)
		if _, ok := a[name]; !ok {
			t.Errorf("the style sheet uses %s, which is not there", name)
		}
	}
}
