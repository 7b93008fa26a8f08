package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/certs"
	"slabside/internal/cli"
	"slabside/internal/paper"
	"slabside/internal/store"
	"slabside/internal/store/sqlite"
	"slabside/internal/web"
)

// wire joins the commands with the adapters; no adapter knows another.
func wire() cli.Env {
	return cli.Env{
		Open:     open,
		Decode:   decode,
		Encode:   bookfile.Encode,
		DemoBook: bookfile.Demo,
		Sheets:   paper.Sheets,
		Listen:   web.Listen,
		Serve:    serve,
		Random:   rand.Reader,
		Language: language(os.Getenv),
	}
}

// language names the locale that numbers are printed in, as POSIX ranks its variables.
func language(getenv func(string) string) string {
	for _, name := range []string{"LC_ALL", "LC_NUMERIC", "LANG"} {
		if v := getenv(name); v != "" {
			v, _, _ = strings.Cut(v, ".")
			v, _, _ = strings.Cut(v, "@")
			return v
		}
	}
	return ""
}

// open opens a shop book by the ending of its name: a shop-book file or a database.
func open(ctx context.Context, path string, create bool) (store.Keeper, error) {
	if strings.EqualFold(filepath.Ext(path), ".toml") {
		return bookfile.Open(path)
	}
	return sqlite.Open(ctx, path, sqlite.Options{MustExist: !create})
}

func decode(name string, data []byte) (book.Book, []cli.Problem, error) {
	b, found, err := bookfile.Decode(name, data)
	problems := make([]cli.Problem, len(found))
	for i, p := range found {
		problems[i] = cli.Problem{Line: p.Line, Field: p.Field, Place: p.Place, Text: p.Text, Hint: p.Hint, Caution: p.Severity == book.Caution}
	}
	if len(found) > 0 {
		err = nil // it only repeats the first of them
	}
	return b, problems, err
}

// serve shows the pages on every entrance until ctx ends or one of them fails.
func serve(ctx context.Context, a *app.App, e cli.Entrances) error {
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	opt := web.Options{Log: log, Now: time.Now, DaySheet: paper.DaySheet, BatchSheets: paper.BatchSheets}
	var shared *network
	if e.Network != nil {
		var err error
		if shared, err = openNetwork(e); err != nil {
			return err
		}
		opt.Network = &shared.Network
	}
	site := web.NewSite(a, opt)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var group sync.WaitGroup
	failed := make(chan error, 4)
	run := func(ln net.Listener, h web.Pages) {
		if ln == nil {
			return
		}
		group.Go(func() {
			if err := web.Serve(ctx, ln, h, log); err != nil {
				failed <- err
				stop()
			}
		})
	}
	run(e.Local, site.Local())
	run(e.Public, site.Public())
	if shared != nil {
		run(tls.NewListener(e.Network, shared.conf), site.Shared(shared.names))
		run(e.Door, web.Door(web.DoorOptions{Certificate: shared.certificate, Fingerprint: shared.Fingerprint, Address: shared.Address, Names: shared.names}))
		fmt.Fprintf(os.Stderr, "On the shop's network: %s\n", shared.Address)
		if e.Door != nil {
			fmt.Fprintf(os.Stderr, "Certificate for tablets: %s\n  its fingerprint: %s\n", shared.Door, shared.Fingerprint)
		}
	}
	if e.Public != nil {
		fmt.Fprintf(os.Stderr, "For visitors: http://%s\n", e.Public.Addr())
	}
	group.Wait()
	close(failed)
	return <-failed
}

// network is what the pages on the shop's network are served with.
type network struct {
	web.Network
	names       []string
	conf        *tls.Config
	certificate []byte
}

func openNetwork(e cli.Entrances) (*network, error) {
	ca, err := certs.Open(e.Keys, certs.Host(), rand.Reader, time.Now)
	if err != nil {
		return nil, err
	}
	names := certs.Names()
	host, _, _ := net.SplitHostPort(e.Network.Addr().String())
	if ip := net.ParseIP(host); ip != nil && !ip.IsUnspecified() {
		names = append([]string{host}, slices.DeleteFunc(names, func(n string) bool { return n == host })...)
	}
	n := &network{names: names, certificate: ca.Certificate()}
	if n.conf, err = ca.Config(names); err != nil {
		return nil, err
	}
	n.Fingerprint = ca.Fingerprint()
	n.Address = "https://" + portOf(names[0], e.Network)
	if e.Door != nil {
		n.Door = "http://" + portOf(names[0], e.Door)
	}
	return n, nil
}

func portOf(host string, ln net.Listener) string {
	_, port, _ := net.SplitHostPort(ln.Addr().String())
	return net.JoinHostPort(host, port)
}
