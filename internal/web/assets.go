package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"time"

	"slabside/internal/fault"
)

//go:embed static
var staticFiles embed.FS

// asset is one file of the site, ready to send.
type asset struct {
	body []byte
	tag  string // first half of its SHA-256
	kind string // content type
}

// assets holds the files by their path below static/. Only what is in it can
// be asked for, so that no path reaches outside.
type assets map[string]asset

func loadAssets() assets {
	out := assets{}
	err := fs.WalkDir(staticFiles, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := staticFiles.ReadFile(p)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(b)
		kind := mime.TypeByExtension(path.Ext(p))
		switch path.Ext(p) { // the machine's own table may lack these
		case ".woff2":
			kind = "font/woff2"
		case ".js":
			kind = "text/javascript; charset=utf-8"
		case ".css":
			kind = "text/css; charset=utf-8"
		case ".svg":
			kind = "image/svg+xml"
		case ".txt", "":
			kind = "text/plain; charset=utf-8"
		}
		out[p[len("static/"):]] = asset{body: b, tag: hex.EncodeToString(sum[:16]), kind: kind}
		return nil
	})
	if err != nil {
		panic("web: embedded files: " + err.Error()) // the files are part of the program
	}
	return out
}

// url returns the address of a file with its content's mark, so that a browser
// may keep it for good.
func (a assets) url(name string) string { return "/static/" + name + "?v=" + a[name].tag }

func (s *server) static(w http.ResponseWriter, r *http.Request) error {
	a, ok := s.assets[r.PathValue("path")]
	if !ok {
		return fault.NotFound("there is no such file")
	}
	h := w.Header()
	h.Set("Content-Type", a.kind)
	h.Set("ETag", `"`+a.tag+`"`)
	if r.URL.Query().Get("v") == a.tag {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		h.Set("Cache-Control", "no-cache")
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(a.body))
	return nil
}
