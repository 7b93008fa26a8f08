package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"time"

	"slabside/internal/certs"
	"slabside/internal/cli"
	"slabside/internal/web"
)

// watch says where the pages are, and again when the machine's addresses change.
type watch struct {
	machine *certs.Machine
	network *network // nil: not served there
	public  net.Listener
	mqtt    net.Listener
	fixed   []*fixed
	told    web.Network
}

// fixed is a listener on one address, which the machine may lose.
type fixed struct {
	flag    string // that sets it
	address *net.TCPAddr
	gone    bool
}

func newWatch(machine *certs.Machine, e cli.Entrances, n *network) *watch {
	w := &watch{machine: machine, network: n, public: e.Public, mqtt: e.MQTT}
	for _, x := range []struct {
		flag string
		ln   net.Listener
	}{{"--network-listen", e.Network}, {"--door", e.Door}, {"--public", e.Public}, {"--mqtt", e.MQTT}} {
		if x.ln == nil {
			continue
		}
		if a, ok := x.ln.Addr().(*net.TCPAddr); ok && !a.IP.IsUnspecified() {
			w.fixed = append(w.fixed, &fixed{flag: x.flag, address: a})
		}
	}
	return w
}

// begin says where the pages are.
func (w *watch) begin(out io.Writer) {
	if w.network != nil {
		w.tell(out, w.network.tells())
	}
	if w.public != nil {
		fmt.Fprintf(out, "For visitors: http://%s\n", w.public.Addr())
	}
	if w.mqtt != nil {
		how := "encrypted, with the shop's own certificate"
		if w.network == nil {
			how = "NOT encrypted: tokens and readings can be read along the way; --network encrypts them"
		}
		fmt.Fprintf(out, "For thermometers (MQTT): %s, %s\n", w.mqtt.Addr(), how)
	}
}

func (w *watch) tell(out io.Writer, n web.Network) {
	w.told = n
	fmt.Fprintf(out, "On the shop's network: %s\n", n.Address)
	if n.Door != "" {
		fmt.Fprintf(out, "Certificate for tablets: %s\n  its fingerprint: %s\n", n.Door, n.Fingerprint)
	}
}

// run looks at the machine until ctx ends.
func (w *watch) run(ctx context.Context, out io.Writer) {
	tick := time.NewTicker(certs.LookEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			w.look(out)
		}
	}
}

// look says what has changed.
func (w *watch) look(out io.Writer) {
	if w.network != nil {
		if n := w.network.tells(); n != w.told {
			fmt.Fprintf(out, "The address of this machine has changed. Tablets need no other certificate. Those that open the pages as %s.local go on; at the new address a tablet is paired again.\n", w.machine.Host())
			w.tell(out, n)
		}
	}
	for _, f := range w.fixed {
		gone := !w.machine.Has(f.address.IP)
		switch {
		case gone && !f.gone:
			fmt.Fprintf(out, "%s is no address of this machine any more: nobody reaches what is served at %s. Give the machine that address back, or start the program again with %s 0.0.0.0:%d.\n", f.address.IP, f.address, f.flag, f.address.Port)
		case !gone && f.gone:
			fmt.Fprintf(out, "%s is an address of this machine again: %s is reached.\n", f.address.IP, f.address)
		}
		f.gone = gone
	}
}
