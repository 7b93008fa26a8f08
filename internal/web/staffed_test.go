package web

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"testing"

	"slabside/internal/access"
)

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

// names and telling are what a machine answers to, and says of its pages, that stays
// where it is.
func names(list ...string) func() []string { return func() []string { return list } }

func telling(n Network) func() Network { return func() Network { return n } }

var pins = map[string]string{"Odile": "204713", "Bram": "880315", "Wilma": "713094"}

// staffed is the shop with its people, paired and signed in.
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
	opt.Network = telling(Network{Address: "https://" + sharedHost, Door: "http://192.168.1.20:7380", Fingerprint: "AA:BB"})
	site := NewSite(x.f, opt)
	x.local, x.shared = site.Local(), site.Shared(names("192.168.1.20", "shop-pc.local"))
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
