package web

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"

	"slabside/internal/fault"
)

func TestListen_Refuses(t *testing.T) {
	t.Parallel()
	for addr, want := range map[string]fault.Kind{
		"0.0.0.0:0": fault.KindForbidden, ":7373": fault.KindForbidden, "192.0.2.1:80": fault.KindForbidden, "[::]:0": fault.KindForbidden,
		"shop.example:80": fault.KindForbidden, "7373": fault.KindInvalid, "127.0.0.1:notaport": fault.KindInvalid,
	} {
		ln, err := Listen(t.Context(), addr, true)
		if err == nil {
			_ = ln.Close()
			t.Errorf("%s was opened", addr)
			continue
		}
		if got := fault.KindOf(err); got != want {
			t.Errorf("%s: %v (%s), want %s", addr, err, got, want)
		}
	}
}

func TestServe_together(t *testing.T) {
	t.Parallel()
	log := slog.New(slog.DiscardHandler)
	site, _ := fixtureSite()
	ctx, cancel := context.WithCancel(t.Context())
	ln, err := Listen(ctx, "127.0.0.1:0", true)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, ln, site, log) }()

	_, err = Listen(ctx, ln.Addr().String(), true)
	if fault.KindOf(err) != fault.KindBusy || !strings.Contains(err.Error(), "--listen 127.0.0.1:") || !strings.Contains(err.Error(), "make run LISTEN=127.0.0.1:") {
		t.Errorf("the same port again: %v", err)
	}
	res, err := http.Get("http://" + ln.Addr().String() + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(res.Body)
	_ = res.Body.Close()
	if string(body) != "ok\n" {
		t.Errorf("answered %q", body)
	}
	cancel()
	if err := <-done; err != nil {
		t.Errorf("after the end: %v", err)
	}
}

// The pages on the network answer to the names of the machine as they are now, and say
// where they are now.
func TestShared_FollowsTheMachine(t *testing.T) {
	t.Parallel()
	x := staffed(t)
	address := "192.168.1.20"
	here := func() []string { return []string{address} }
	opt := fixtureOptions()
	opt.Network = func() Network { return Network{Address: "https://" + address + ":7443"} }
	site := NewSite(x.f, opt)
	x.shared = site.Shared(here)
	door := Door(DoorOptions{Names: here, Network: opt.Network})
	for _, c := range []struct {
		address        string
		asked, refused string
	}{{"192.168.1.20", "192.168.1.20", "192.168.7.31"}, {"192.168.7.31", "192.168.7.31", "192.168.1.20"}} {
		address = c.address
		for name, h := range map[string]http.Handler{"pages": x.shared, "door": door} {
			ask := func(host string) page {
				r := x.request("GET", map[string]string{"pages": "/people", "door": "/"}[name], x.tablet, x.shift["Odile"], nil)
				r.Host = host
				return send(t, h, r)
			}
			if p := ask(c.asked); p.StatusCode != http.StatusOK || !strings.Contains(p.body, "https://"+c.asked+":7443") {
				t.Errorf("%s at %s: status %d, or it says another address", name, c.asked, p.StatusCode)
			}
			if p := ask(c.refused); p.StatusCode != http.StatusMisdirectedRequest {
				t.Errorf("%s under %s: status %d", name, c.refused, p.StatusCode)
			}
		}
	}
}
