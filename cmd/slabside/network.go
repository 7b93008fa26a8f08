package main

import (
	"crypto/rand"
	"crypto/tls"
	"log/slog"
	"net"
	"slices"
	"time"

	"slabside/internal/certs"
	"slabside/internal/cli"
	"slabside/internal/web"
)

// network is what the pages on the shop's network are served with.
type network struct {
	machine     *certs.Machine
	fixed       string // the one address listened on; empty: all
	shared      net.Listener
	door        net.Listener // nil: none
	fingerprint string
	certificate []byte
	conf        *tls.Config
}

func openNetwork(e cli.Entrances, machine *certs.Machine, log *slog.Logger) (*network, error) {
	ca, err := certs.Open(e.Keys, machine.Host(), rand.Reader, time.Now)
	if err != nil {
		return nil, err
	}
	n := &network{machine: machine, shared: e.Network, door: e.Door, fingerprint: ca.Fingerprint(), certificate: ca.Certificate()}
	host, _, _ := net.SplitHostPort(e.Network.Addr().String())
	if ip := net.ParseIP(host); ip != nil && !ip.IsUnspecified() {
		n.fixed = host
	}
	n.conf, err = ca.Config(n.names, func(err error) {
		log.Warn("no certificate could be made for the machine's new addresses; the one of before is shown", "error", err.Error())
	})
	return n, err
}

// names is what the pages answer to now, the one to print first.
func (n *network) names() []string {
	names := n.machine.Names()
	if n.fixed == "" {
		return names
	}
	return append([]string{n.fixed}, slices.DeleteFunc(slices.Clone(names), func(x string) bool { return x == n.fixed })...)
}

// tells is what the pages say of themselves now.
func (n *network) tells() web.Network {
	first := n.names()[0]
	t := web.Network{Address: "https://" + portOf(first, n.shared), Fingerprint: n.fingerprint}
	if n.door != nil {
		t.Door = "http://" + portOf(first, n.door)
	}
	return t
}

func portOf(host string, ln net.Listener) string {
	_, port, _ := net.SplitHostPort(ln.Addr().String())
	return net.JoinHostPort(host, port)
}
