package main

import (
	"bytes"
	"context"
	"log/slog"
	"net"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"slabside/internal/certs"
	"slabside/internal/cli"
)

// at is a listener of which the address alone is asked.
type at struct {
	net.Listener
	addr net.TCPAddr
}

func (a at) Addr() net.Addr { return &a.addr }

func listening(ip string, port int) net.Listener {
	return at{addr: net.TCPAddr{IP: net.ParseIP(ip), Port: port}}
}

// While the program serves it says where the pages are, where they are once the
// machine's address has changed, and that an address which alone is listened on is
// gone, each once and with what to do.
func TestWatch(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		listen              string
		first, moved, again []string
	}{
		"on every address": {"0.0.0.0",
			[]string{"On the shop's network: https://192.168.1.20:7443\n", "Certificate for tablets: http://192.168.1.20:7380\n"},
			[]string{"The address of this machine has changed.", "shop-pc.local go on", "On the shop's network: https://192.168.7.31:7443\n", "Certificate for tablets: http://192.168.7.31:7380\n"},
			[]string{"The address of this machine has changed.", "On the shop's network: https://192.168.1.20:7443\n"}},
		"on one address": {"192.168.1.20",
			[]string{"On the shop's network: https://192.168.1.20:7443\n", "For visitors: http://192.168.1.20:7390\n"},
			[]string{"192.168.1.20 is no address of this machine any more: nobody reaches what is served at 192.168.1.20:7443.", "start the program again with --network-listen 0.0.0.0:7443.", "with --door 0.0.0.0:7380.", "with --public 0.0.0.0:7390."},
			[]string{"192.168.1.20 is an address of this machine again: 192.168.1.20:7443 is reached.\n"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				address := "192.168.1.20"
				m := &certs.Machine{Now: time.Now, Host: func() string { return "shop-pc" }, Addresses: func() ([]net.Addr, error) {
					return []net.Addr{&net.IPNet{IP: net.ParseIP(address), Mask: net.CIDRMask(24, 32)}}, nil
				}}
				e := cli.Entrances{Network: listening(c.listen, 7443), Door: listening(c.listen, 7380), Public: listening(c.listen, 7390), Keys: filepath.Join(t.TempDir(), "keys")}
				n, err := openNetwork(e, m, slog.New(slog.DiscardHandler))
				if err != nil {
					t.Fatal(err)
				}
				var out bytes.Buffer
				says := func(when string, want []string) {
					t.Helper()
					for _, s := range want {
						if strings.Count(out.String(), s) != 1 {
							t.Errorf("%s it says %q, want once %q", when, out.String(), s)
						}
					}
					out.Reset()
				}
				w := newWatch(m, e, n)
				w.begin(&out)
				says("at the beginning", c.first)
				for _, step := range []struct {
					address string
					says    []string
				}{{"192.168.1.20", nil}, {"192.168.7.31", c.moved}, {"192.168.1.20", c.again}} {
					address = step.address
					ctx, stop := context.WithTimeout(t.Context(), 4*certs.LookEvery)
					w.run(ctx, &out)
					stop()
					if step.says == nil && out.Len() > 0 {
						t.Errorf("nothing has changed and it says %q", out.String())
					}
					says("at "+address, step.says)
					if leaf, err := n.conf.GetCertificate(nil); err != nil || leaf.Leaf.VerifyHostname(n.names()[0]) != nil {
						t.Errorf("at %s the certificate is for %v, %v", address, leaf.Leaf.IPAddresses, err)
					}
				}
			})
		})
	}
}
