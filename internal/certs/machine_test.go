package certs

import (
	"errors"
	"net"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// fakeMachine is a machine whose addresses and clock the test sets.
type fakeMachine struct {
	*Machine
	addresses []string // with their networks
	now       time.Time
	broken    error
	looks     int
}

func newFakeMachine(addresses ...string) *fakeMachine {
	f := &fakeMachine{addresses: addresses, now: noon}
	f.Machine = &Machine{Host: func() string { return "shop-pc" }, Now: func() time.Time { return f.now }, Addresses: func() ([]net.Addr, error) {
		f.looks++
		var out []net.Addr
		for _, s := range f.addresses {
			ip, n, err := net.ParseCIDR(s)
			if err != nil {
				return nil, err
			}
			out = append(out, &net.IPNet{IP: ip, Mask: n.Mask})
		}
		return out, f.broken
	}}
	return f
}

// Names come in the order they are printed; the machine is looked at every few seconds
// at most, and what could not be read does not take an address away.
func TestMachine(t *testing.T) {
	t.Parallel()
	m := newFakeMachine("127.0.0.1/8", "fd00::7/64", "8.8.8.8/24", "169.254.3.4/16", "192.168.1.20/24", "::1/128")
	want := []string{"192.168.1.20", "fd00::7", "shop-pc.local", "localhost", "127.0.0.1"}
	for range 3 {
		if got := m.Names(); !slices.Equal(got, want) {
			t.Errorf("names %v, want %v", got, want)
		}
	}
	if !m.Has(net.ParseIP("8.8.8.8")) || !m.Has(net.ParseIP("192.168.1.20")) || m.Has(net.ParseIP("192.168.1.21")) || m.looks != 1 {
		t.Errorf("its own addresses are not known, or it is looked at %d times", m.looks)
	}
	m.addresses, m.broken, m.now = nil, errors.New("cannot be read"), m.now.Add(LookEvery)
	if got := m.Names(); !slices.Equal(got, want) || !m.Has(net.ParseIP("192.168.1.20")) || m.looks != 2 {
		t.Errorf("names %v after %d looks, of which the last failed", got, m.looks)
	}
	m.broken, m.now = nil, m.now.Add(LookEvery)
	if got := m.Names(); !slices.Equal(got, want[2:]) || m.Has(net.ParseIP("192.168.1.20")) {
		t.Errorf("names %v without a network", got)
	}
}

// What this machine answers to is what its authority may vouch for.
func TestThisMachine(t *testing.T) {
	t.Parallel()
	a := open(t, filepath.Join(t.TempDir(), "keys"), noon)
	m := ThisMachine()
	if names := m.Names(); len(names) < 3 {
		t.Errorf("names %v", names)
	} else if _, err := a.Server(names); err != nil {
		t.Errorf("%v: %v", names, err)
	}
	if !m.Has(net.ParseIP("127.0.0.1")) {
		t.Error("this machine has no loopback address")
	}
}
