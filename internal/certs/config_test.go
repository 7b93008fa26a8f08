package certs

import (
	"bufio"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"net"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// get is the certificate a handshake is answered with.
func get(t *testing.T, conf *tls.Config) *tls.Certificate {
	t.Helper()
	c, err := conf.GetCertificate(&tls.ClientHelloInfo{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The certificate of the server is renewed before it ends, without a restart.
func TestConfig_Renews(t *testing.T) {
	t.Parallel()
	now := noon
	a, err := Open(filepath.Join(t.TempDir(), "keys"), "shop-pc", rand.Reader, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	conf, err := a.Config(func() []string { return []string{"shop-pc.local"} }, func(err error) { t.Error(err) })
	if err != nil {
		t.Fatal(err)
	}
	first := get(t, conf)
	now = noon.AddDate(0, 0, serverDays-renewDays-1)
	if get(t, conf) != first {
		t.Error("renewed too early")
	}
	now = noon.AddDate(0, 0, serverDays-renewDays+1)
	if next := get(t, conf); next == first || !next.Leaf.NotAfter.After(first.Leaf.NotAfter) {
		t.Error("not renewed in time")
	}
	if conf.MinVersion < tls.VersionTLS12 {
		t.Error("older encryption is taken")
	}
}

// When the machine gets another address or another name, tablets that trust the
// authority take its certificate there; a connection that stands goes on.
func TestConfig_FollowsTheMachine(t *testing.T) {
	t.Parallel()
	m := newFakeMachine("127.0.0.1/8", "192.168.1.20/24")
	a, err := Open(filepath.Join(t.TempDir(), "keys"), "shop-pc", rand.Reader, m.Now)
	if err != nil {
		t.Fatal(err)
	}
	conf, err := a.Config(m.Names, func(err error) { t.Error(err) })
	if err != nil {
		t.Fatal(err)
	}
	ln, err := tls.Listen("tcp", "127.0.0.1:0", conf)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ln.Close() })
	go echo(ln)
	dial := func(name string) (*tls.Conn, error) {
		return tls.Dial("tcp", ln.Addr().String(), &tls.Config{RootCAs: pool(a), ServerName: name, Time: m.Now})
	}
	said := func(c *tls.Conn) string {
		if _, err := c.Write([]byte("still there\n")); err != nil {
			return err.Error()
		}
		line, _ := bufio.NewReader(c).ReadString('\n')
		return line
	}
	standing, err := dial("192.168.1.20")
	if err != nil {
		t.Fatal(err)
	}
	defer standing.Close()
	if got := said(standing); got != "still there\n" {
		t.Fatalf("before: %q", got)
	}
	first := get(t, conf)

	m.addresses, m.now = []string{"127.0.0.1/8", "192.168.7.31/24"}, m.now.Add(LookEvery)
	m.Host = func() string { return "kitchen-pc" }
	for name, want := range map[string]bool{"192.168.7.31": true, "kitchen-pc.local": true, "localhost": true, "192.168.1.20": false, "shop-pc.local": false} {
		c, err := dial(name)
		if (err == nil) != want {
			t.Errorf("%s after the change: %v", name, err)
		}
		if err == nil {
			c.Close()
		}
	}
	if got := said(standing); got != "still there\n" {
		t.Errorf("the connection of before says %q", got)
	}
	next := get(t, conf)
	if next == first || !slices.Equal(next.Certificate[1], first.Certificate[1]) {
		t.Error("not a new certificate of the same authority")
	}
	m.now = m.now.Add(time.Hour)
	if get(t, conf) != next {
		t.Error("made anew though nothing has changed")
	}
}

// A certificate that cannot be made is told, once a minute, and the one of before shown.
func TestConfig_CannotFollow(t *testing.T) {
	t.Parallel()
	names, now, failures := []string{"shop-pc.local"}, noon, 0
	a, err := Open(filepath.Join(t.TempDir(), "keys"), "shop-pc", rand.Reader, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	conf, err := a.Config(func() []string { return names }, func(error) { failures++ })
	if err != nil {
		t.Fatal(err)
	}
	first := get(t, conf)
	names = []string{"shop-pc.example"}
	for range 2 {
		if get(t, conf) != first || failures != 1 {
			t.Errorf("another certificate is shown, or %d failures are told", failures)
		}
	}
	now = now.Add(retryEvery)
	if get(t, conf); failures != 2 {
		t.Errorf("%d failures are told a minute later", failures)
	}
	if _, err := a.Config(func() []string { return nil }, nil); err == nil {
		t.Error("it begins without a name")
	}
}

// echo says back what it is told.
func echo(ln net.Listener) {
	for {
		c, err := ln.Accept()
		if err != nil {
			return
		}
		go func() {
			defer c.Close()
			for r := bufio.NewReader(c); ; {
				line, err := r.ReadString('\n')
				if err != nil {
					return
				}
				_, _ = c.Write([]byte(line))
			}
		}()
	}
}

// pool trusts the authority alone, as a tablet does that has its certificate.
func pool(a *Authority) *x509.CertPool {
	p := x509.NewCertPool()
	p.AppendCertsFromPEM(a.Certificate())
	return p
}
