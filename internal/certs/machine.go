package certs

import (
	"cmp"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"time"
)

// LookEvery is how often at most a machine's addresses and name are looked at.
const LookEvery = 5 * time.Second

// Machine is a machine on its networks, whose addresses and name may change while the
// program runs.
type Machine struct {
	Addresses func() ([]net.Addr, error) // its own, as net.InterfaceAddrs gives them
	Host      func() string              // its name, in small letters and without its domain
	Now       func() time.Time

	mu     sync.Mutex
	looked time.Time
	own    []net.IP
	names  []string
}

// ThisMachine returns the machine the program runs on.
func ThisMachine() *Machine {
	return &Machine{Addresses: net.InterfaceAddrs, Host: Host, Now: time.Now}
}

// Names returns what the machine answers to on its own networks: its private
// addresses, those on the network first, and its host name under .local. The slice is
// not to be changed.
func (m *Machine) Names() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.look()
	return m.names
}

// Has reports whether an address is one of the machine's.
func (m *Machine) Has(address net.IP) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.look()
	return slices.ContainsFunc(m.own, address.Equal)
}

// look looks at the machine if it is time to. When its addresses cannot be read, those
// of before stand.
func (m *Machine) look() {
	now := m.Now()
	if since := now.Sub(m.looked); m.names != nil && since >= 0 && since < LookEvery {
		return
	}
	m.looked = now
	if addresses, err := m.Addresses(); err == nil {
		m.own = nil
		for _, x := range addresses {
			if n, ok := x.(*net.IPNet); ok {
				m.own = append(m.own, n.IP)
			}
		}
	}
	var names []string
	add := func(s string) {
		if !slices.Contains(names, s) {
			names = append(names, s)
		}
	}
	for _, ip := range m.own {
		if !ip.IsLinkLocalUnicast() && !ip.IsLoopback() && slices.ContainsFunc(privateNets(), func(r *net.IPNet) bool { return r.Contains(ip) }) {
			add(ip.String())
		}
	}
	// The older kind of address is the easier to type.
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(strings.Count(a, ":"), strings.Count(b, ":")) })
	add(m.Host() + ".local")
	add("localhost")
	add("127.0.0.1")
	m.names = names
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
