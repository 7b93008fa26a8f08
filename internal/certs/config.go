package certs

import (
	"crypto/tls"
	"slices"
	"sync"
	"time"
)

// retryEvery is how soon a certificate that could not be made is tried again.
const retryEvery = time.Minute

// Config returns the server's side of the encryption for what names returns: TLS 1.2
// for the older tablets and 1.3, and a certificate of the authority that is made anew
// while the program runs, before it ends and when the names change. Connections that
// stand go on. What cannot be made anew is told to failed, and the one of before is
// shown; names and failed are called at a handshake, so they must be quick.
//
// Faults: those of [Authority.Server] for the names of the beginning.
func (a *Authority) Config(names func() []string, failed func(error)) (*tls.Config, error) {
	c := &current{authority: a, names: names, failed: failed}
	if err := c.renew(names()); err != nil {
		return nil, err
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return c.get(), nil }}, nil
}

// current is the server's certificate as it is now.
type current struct {
	authority *Authority
	names     func() []string
	failed    func(error)

	mu    sync.Mutex
	shown *tls.Certificate
	of    []string  // the names it is for
	retry time.Time // not before, after a failure
}

func (c *current) get() *tls.Certificate {
	names, now := c.names(), c.authority.now()
	c.mu.Lock()
	defer c.mu.Unlock()
	ends := now.After(c.shown.Leaf.NotAfter.Add(-renewDays * 24 * time.Hour))
	if (ends || !slices.Equal(names, c.of)) && !now.Before(c.retry) {
		if err := c.renew(names); err != nil {
			c.retry = now.Add(retryEvery)
			c.failed(err)
		}
	}
	return c.shown
}

func (c *current) renew(names []string) error {
	next, err := c.authority.Server(names)
	if err == nil {
		c.shown, c.of = next, slices.Clone(names)
	}
	return err
}
