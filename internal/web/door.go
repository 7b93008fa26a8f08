package web

import (
	"net/http"

	"slabside/internal/fault"
)

// DoorOptions is what the door of the shop's network hands out.
type DoorOptions struct {
	Certificate []byte          // of the shop's own authority, PEM
	Network     func() Network  // what is said of the pages now
	Names       func() []string // what it answers to now
}

// certificatePath is where a tablet gets the certificate.
const certificatePath = "/slabside-ca.crt"

// doorView is the page that says how to install the certificate.
type doorView struct {
	Base    base
	Path    string
	Network Network
}

// Door returns the unencrypted page on the shop's network that hands out the
// certificate of the pages, and nothing else: no book stands behind it.
func Door(opt DoorOptions) http.Handler {
	a := loadAssets()
	s := &server{opt: Options{}.filled(), assets: a, pages: parsePages(a),
		in: entrance{network: true, limits: newLimits(), answers: answersTo(opt.Names)}}
	s.log = s.opt.Log
	s.bare = true
	mux := http.NewServeMux()
	get := func(pattern string, h handler) { mux.Handle(pattern, s.reads(h)) }
	get("/{$}", func(w http.ResponseWriter, r *http.Request) error {
		return s.render(w, http.StatusOK, "door", doorView{Base: base{Title: "Let a tablet in"}, Path: certificatePath, Network: opt.Network()})
	})
	get(certificatePath, func(w http.ResponseWriter, _ *http.Request) error {
		w.Header().Set("Content-Type", "application/x-x509-ca-cert")
		w.Header().Set("Content-Disposition", `attachment; filename="slabside-ca.crt"`)
		w.Header().Set("Cache-Control", "no-store")
		_, _ = w.Write(opt.Certificate)
		return nil
	})
	get("/static/{path...}", s.static)
	get("/", func(http.ResponseWriter, *http.Request) error {
		return fault.NotFound("there is no such page").WithHint("the pages of the shop are at %s", opt.Network().Address)
	})
	return s.guard(mux)
}
