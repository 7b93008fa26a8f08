package certs

import (
	"cmp"
	"crypto/tls"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"time"
)

// Config returns the server's side of the encryption for the names: TLS 1.2 for the
// older tablets and 1.3, and a certificate that is renewed before it ends while the
// program runs.
func (a *Authority) Config(names []string) (*tls.Config, error) {
	current, err := a.Server(names)
	if err != nil {
		return nil, err
	}
	var mu sync.Mutex
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
			mu.Lock()
			defer mu.Unlock()
			if a.now().After(current.Leaf.NotAfter.Add(-renewDays * 24 * time.Hour)) {
				if next, err := a.Server(names); err == nil {
					current = next
				}
			}
			return current, nil
		},
	}, nil
}

// Names returns what this machine answers to on its own networks: its private
// addresses, those on the network first, and its host name under .local.
func Names() []string {
	var out []string
	add := func(s string) {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	addresses, _ := net.InterfaceAddrs() // none is told below by an empty list
	for _, x := range addresses {
		n, ok := x.(*net.IPNet)
		if !ok || n.IP.IsLinkLocalUnicast() || n.IP.IsLoopback() {
			continue
		}
		if slices.ContainsFunc(privateNets(), func(r *net.IPNet) bool { return r.Contains(n.IP) }) {
			add(n.IP.String())
		}
	}
	// The older kind of address is the easier to type.
	slices.SortStableFunc(out, func(a, b string) int { return cmp.Compare(strings.Count(a, ":"), strings.Count(b, ":")) })
	add(Host() + ".local")
	add("localhost")
	add("127.0.0.1")
	return out
}

// Host is this machine's name, in small letters and without its domain.
func Host() string {
	name, err := os.Hostname()
	if err != nil || name == "" {
		return "slabside"
	}
	name, _, _ = strings.Cut(strings.ToLower(name), ".")
	return name
}
